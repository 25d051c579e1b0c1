"""The table of a life: the same figures as its picture, and what has no place in one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.reckoning.in_figures import OUTCOMES, InFigures
from sparkout.records.models.visits import SET_ASIDE

if TYPE_CHECKING:
    import datetime

    from sparkout.core.measured import Measured
    from sparkout.reckoning.in_figures import Stage
    from sparkout.records.models import Fitting, Visit
    from sparkout.web.unit.lived import Lived

NEWEST = 40
"""So many rows stand on the page unless all are asked for."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One cell: as found and as left; empty where nothing was read."""

    head: str
    found: str = ""
    left: str = ""


@dataclass(frozen=True, slots=True)
class Outcome:
    """How many limits came out in one way, and which, where that matters."""

    word: str
    told: str


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    on: datetime.date | None
    hours: str
    what: str
    told: str = ""
    visit: Visit | None = None
    state: str = ""
    figures: tuple[Figure, ...] = ()
    found: tuple[Outcome, ...] = ()
    left: tuple[Outcome, ...] = ()


def columns(lived: Lived) -> list[tuple[str, str]]:
    """Return the figures that were read at any visit, each with the head of its column."""
    names = {"diameter": phrase("mean diameter"), "land": phrase("land")} if lived.tells_of_reel else {}
    names["height"] = phrase("height of cut")
    if lived.tells_of_knife:
        names["lip"] = phrase("lip height")
    stages = [stage for told in lived.worked.figures.values() for stage in (told.found, told.left)]
    return [
        (name, lived.showing.say(head))
        for name, head in names.items()
        if any(getattr(stage, name) is not None for stage in stages)
    ]


def rows(lived: Lived) -> list[Row]:
    """Return all that happened, newest first."""
    names = columns(lived)
    made = [_visit(lived, visit, names) for visit in lived.life.visits]
    for fitting in lived.life.fittings:
        made += _fitting(lived, fitting)
    say = lived.showing.say
    made += [Row(event.on, "", say(phrase(str(event.get_kind_display()))), event.note) for event in lived.life.events]
    made += [
        Row(entry.on, str(entry.hours), say(phrase("hours read")), "" if lived.of_unit else entry.unit.name)
        for entry in lived.life.hours
        if entry.visit_id is None
    ]
    return sorted(made, key=lambda row: (row.on is not None, str(row.on)), reverse=True)


def _fitting(lived: Lived, fitting: Fitting) -> list[Row]:
    say, kind = lived.showing.say, "reel" if fitting.reel_id else "knife"
    part = fitting.part.label if lived.of_unit else fitting.unit.name
    came = phrase("reel fitted") if kind == "reel" else phrase("knife fitted")
    went = phrase("reel taken out") if kind == "reel" else phrase("knife taken out")
    made = [Row(fitting.since, str(fitting.since_hours or ""), say(came), part)]
    if fitting.until is not None:
        made.append(Row(fitting.until, str(fitting.until_hours or ""), say(went), part))
    return made


def _visit(lived: Lived, visit: Visit, names: list[tuple[str, str]]) -> Row:
    entry, told = getattr(visit, "hours_entry", None), lived.figures(visit)
    words = phrase("visit") if visit.corrects_id is None else phrase("visit that corrects another")
    state = str(visit.get_state_display())
    if visit not in lived.life.drawn_visits and visit.state != SET_ASIDE:
        state = phrase("corrected by a later one")
    say = lived.showing.say
    told = told or InFigures()
    note = visit.complaint or ""
    if not lived.of_unit:
        note = " · ".join(filter(None, (visit.unit.name, note)))
    return Row(
        visit.date,
        "" if entry is None else str(entry.hours),
        say(words),
        say(told.trouble) if told.trouble else note,
        visit,
        say(phrase(state)),
        _figures(lived, told, names),
        _outcomes(lived, told.found),
        _outcomes(lived, told.left),
    )


def _figures(lived: Lived, told: InFigures, names: list[tuple[str, str]]) -> tuple[Figure, ...]:
    def figure(name: str, head: str) -> Figure:
        values: list[Measured | None] = [getattr(told.found, name), getattr(told.left, name)]
        return Figure(head, *("" if value is None else lived.showing.measured(value) for value in values))

    return tuple(figure(name, head) for name, head in names)


def _outcomes(lived: Lived, stage: Stage) -> tuple[Outcome, ...]:
    """Return the outcomes of a stage, the weightiest first; those that conform are only counted."""
    say, made = lived.showing.say, []
    for outcome in OUTCOMES:
        quantities = stage.with_outcome(outcome)
        if quantities:
            names = joined(", ", [phrase(quantity) for quantity in quantities])
            told = AsTyped(str(len(quantities))) if outcome == "conforms" else names
            made.append(Outcome(outcome, say(told)))
    return tuple(made)
