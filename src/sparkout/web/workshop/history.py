"""What was and what became, told to a reader."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.changes import changes_of
from sparkout.records.models.workshop import DECIMALS, UNITS, VOCABULARIES
from sparkout.translation import LANGUAGES
from sparkout.web.shell.labels import LABELS
from sparkout.web.shell.read import as_read

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable, Mapping

    from django.db.models import Model

    from sparkout.records.changes import Change
    from sparkout.showing import Showing

_SETTINGS: dict[str, list[tuple[str, str]]] = {
    "units": UNITS,
    "vocabulary": [(code, AsTyped(words)) for code, words in VOCABULARIES],
    "decimal": DECIMALS,
    "language": [(code, AsTyped(name)) for code, name in LANGUAGES.items()],
}
"""Settings kept by a sign of the code's own, with the words for it."""
_WORDS = {"kind", "pattern", "quantity", "relief", "relief_datum", "work"}
"""Entries that hold one of the code's own words."""

ACTIONS = {
    "make_token": phrase("made"),
    "end_token": phrase("ended"),
    "add": phrase("added"),
    "change": phrase("changed"),
    "set": phrase("laid down"),
    "set_up_workshop": phrase("set up"),
    "end": phrase("put out of use"),
    "end_limit": phrase("ended"),
    "retire_gauge": phrase("put out of use"),
    "take_up_again": phrase("put into use again"),
    "calibrate_gauge": phrase("calibrated"),
    "move_part": phrase("part moved"),
    "fit_reel": phrase("reel fitted"),
    "fit_knife": phrase("knife fitted"),
    "remove_reel": phrase("reel taken out"),
    "remove_knife": phrase("knife taken out"),
    "correct_fitting": phrase("day or hours of a part put right"),
    "place_unit": phrase("put in another place"),
    "record_hours": phrase("hours read"),
    "correct_hours": phrase("hours corrected"),
    "withdraw_hours": phrase("hours withdrawn"),
    "record_event": phrase("recorded"),
    "correct_event": phrase("corrected"),
    "withdraw_event": phrase("withdrawn"),
    "keep_stance": phrase("how it stands kept"),
    "keep_ranking": phrase("looked for a fault"),
    "enter_run_down": phrase("run-down entered from a recording"),
    "hear_recording": phrase("listened to"),
    "end_authorisation": phrase("withdrawn"),
    "record_exposure": phrase("put on file"),
    "withdraw_exposure": phrase("withdrawn"),
    "keep_fault_table": phrase("put in use"),
    "record_learnt": phrase("learnt from a grind"),
    "open_visit": phrase("visit opened"),
    "added by a table": phrase("added by a table brought in"),
    "changed by a table": phrase("changed by a table brought in"),
}


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry that changed."""

    label: str
    was: str
    became: str


@dataclass(frozen=True, slots=True)
class Told:
    """One action, told."""

    at: datetime.datetime
    who: str
    action: str
    entries: tuple[Entry, ...]
    file: str


def history(
    showing: Showing,
    *things: Model,
    labels: Mapping[str, str] | None = None,
    told: Callable[[str, Any], str | None] = lambda _name, _value: None,
) -> list[Told]:
    """Return what was done to these things, the last first.

    `labels` name entries as the page's own form does where another form asks something else by that name; `told` tells
    an entry's value, or None for the usual telling.
    """

    def entry(change: Change, name: str) -> Entry:
        sides = []
        for side in (change.was, change.became):
            value = side.get(name)
            said = told(name, value) if value is not None else ""
            sides.append(_value(name, value, showing) if said is None else said)
        return Entry(label_of(name, showing, labels or {}), *sides)

    return [_told(change, showing, entry) for change in changes_of(*things)]


def _told(change: Change, showing: Showing, entry: Callable[[Change, str], Entry]) -> Told:
    entries = tuple(entry(change, name) for name in dict.fromkeys((*change.was, *change.became)))
    who = change.who
    if change.through:
        who = showing.say(phrase("{who}, by API ({token})", who=AsTyped(who), token=AsTyped(change.through)))
    return Told(change.at, who, action_words(change.action, showing), entries, change.file)


def label_of(name: str, showing: Showing, labels: Mapping[str, str]) -> str:
    """Return an entry's name for people."""
    return showing.say(labels.get(name) or LABELS.get(name) or phrase(name.replace("_", " ")))


def action_words(action: str, showing: Showing) -> str:
    """Return an action's name for people."""
    known = ACTIONS.get(action) or ACTIONS.get(action.partition("_")[0])
    return showing.say(known or phrase(action.replace("_", " ")))


def _value(name: str, value: Any, showing: Showing) -> str:
    """Return a value on file as it is read, not typed: days, numbers and the code's own words told to the reader."""
    if isinstance(value, list):
        return "; ".join(_value(name, item, showing) for item in value)
    if isinstance(value, dict):
        return ", ".join(_value(each, item, showing) for each, item in value.items())
    if isinstance(value, bool):
        return showing.say(phrase("yes") if value else phrase("no"))
    text = "" if value is None else str(value)
    if name in _SETTINGS:
        text = showing.say(dict(_SETTINGS[name]).get(text, AsTyped(text)))
    elif name in _WORDS:
        text = showing.say(phrase(text))
    elif name == "origin":
        text = showing.typed(text)
    else:
        text = as_read(text, showing)
    return text
