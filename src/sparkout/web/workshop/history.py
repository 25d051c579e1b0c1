"""What was and what became, told to a reader."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.changes import changes_of
from sparkout.web.shell.labels import LABELS

if TYPE_CHECKING:
    import datetime

    from django.db.models import Model

    from sparkout.records.changes import Change
    from sparkout.showing import Showing

ACTIONS = {
    "make_token": phrase("made"),
    "end_token": phrase("ended"),
    "add": phrase("added"),
    "change": phrase("changed"),
    "set": phrase("set"),
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


def history(showing: Showing, *things: Model) -> list[Told]:
    """Return what was done to these things, the last first."""
    return [_told(change, showing) for change in changes_of(*things)]


def _told(change: Change, showing: Showing) -> Told:
    names = dict.fromkeys((*change.was, *change.became))
    entries = tuple(
        Entry(label_of(name, showing), _value(change.was.get(name)), _value(change.became.get(name))) for name in names
    )
    who = change.who
    if change.through:
        who = showing.say(phrase("{who}, by API ({token})", who=AsTyped(who), token=AsTyped(change.through)))
    return Told(change.at, who, action_words(change.action, showing), entries, change.file)


def label_of(name: str, showing: Showing) -> str:
    """Return an entry's name for people."""
    return showing.say(LABELS.get(name) or phrase(name.replace("_", " ")))


def action_words(action: str, showing: Showing) -> str:
    """Return an action's name for people."""
    known = ACTIONS.get(action) or ACTIONS.get(action.partition("_")[0])
    return showing.say(known or phrase(action.replace("_", " ")))


def _value(value: Any) -> str:
    if isinstance(value, list):
        return "; ".join(", ".join(map(str, item.values())) if isinstance(item, dict) else str(item) for item in value)
    return "" if value is None else str(value)
