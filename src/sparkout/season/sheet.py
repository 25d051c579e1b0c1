"""The season sheet: who works when, on which grinder, when machines can be spared, what to be fresh for, what it costs.

Declared as a visit file is, so that entries carry units and errors read the same: plain tables in (a TOML file, the
records), a checked `SeasonSheet` out.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from typing import Annotated, Any, Literal, get_args

from sparkout.core.phrase import AsTyped, phrase
from sparkout.visit.asked import Many, Quantity, a_number, a_share
from sparkout.visit.checking import checked_as
from sparkout.visit.contradictions import Finding
from sparkout.visit.entered import Entered
from sparkout.visit.problems import Path
from sparkout.visit.sections import Section
from sparkout.visit.words import Day, Text, Whole, Word

Step = Literal["strip", "spin", "relief", "knife", "set"]
Ground = Literal["spin", "relief", "knife"]
Weekday = Literal["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
PHASES: tuple[Step, ...] = get_args(Step)
"""What a unit's work is made of, in order."""
GROUND: tuple[Ground, ...] = get_args(Ground)
"""Phases that stand on a grinder."""
DAYS: tuple[Weekday, ...] = get_args(Weekday)
HOUR = 3600.0
WEEK = 7.0
"""Days."""


def _h(hours: float) -> Entered:
    return Entered(hours * HOUR, f"{hours:g} h")


FIVE_DAYS = (*(_h(7.5),) * 5, *(_h(0.0),) * 2)
_A_DAY = Quantity(phrase("hours of work in a day"), "7.5 h", "time", 0.0, 24.0, "h")
_BETWEEN = Quantity(phrase("hours of mowing between sharpenings"), "120 h", "time", 1.0, 5000.0, "h")
Week = Annotated[tuple[Annotated[float, _A_DAY], ...], Many(phrase("hours of each day, Monday to Sunday"), FIVE_DAYS)]


def _phase(example: str) -> Quantity:
    return Quantity(phrase("hours this phase takes"), example, "time", 0.0, 24.0, "h")


def _money(meaning: str, example: float) -> Quantity:
    return Quantity(meaning, example, "money", 0.0, 1e7, "")


class Worker(Section):
    """A technician."""

    name: Annotated[str, Text(phrase("who works here"), "technician A", 100, 1)]
    skills: Annotated[
        tuple[Annotated[Step, Word(phrase("a phase they can do"), "spin", PHASES)], ...],
        Many(phrase("what they can do")),
    ] = PHASES
    week: Week = FIVE_DAYS
    overtime: Annotated[
        float, Quantity(phrase("overtime that can be asked for on a day"), "2 h", "time", 0.0, 12.0, "h")
    ] = _h(0.0)


class Station(Section):
    """A grinder."""

    name: Annotated[str, Text(phrase("name of the grinder"), "spin grinder", 100, 1)]
    work: Annotated[
        tuple[Annotated[Ground, Word(phrase("a phase that stands on it"), "spin", GROUND)], ...],
        Many(phrase("what it can do")),
    ] = GROUND
    week: Week = FIVE_DAYS


class Rule(Section):
    """What holds for one machine's units; what is left out is as the records tell, or the workshop's usual."""

    name: Annotated[str, Text(phrase("name of the machine"), "greens machine 1", 100, 1)]
    spared: Annotated[
        tuple[Annotated[Weekday, Word(phrase("a day of the week"), "Mon", DAYS)], ...],
        Many(phrase("days on which it can be spared")),
    ] = DAYS
    hours_a_week: Annotated[
        float | None, Quantity(phrase("hours it mows in a week"), "18 h", "time", 0.1, 168.0, "h")
    ] = None
    interval: Annotated[float | None, _BETWEEN] = None
    importance: Annotated[float, a_number(0.0, 1000.0, phrase("how many times a late day of it counts"), 1.0)] = (
        Entered(1.0, 1.0)
    )


class Absence(Section):
    """Somebody away, or a grinder out of work, from one day to another, both included."""

    who: Annotated[str, Text(phrase("who is away, or which grinder"), "technician A", 100, 1)]
    first: Annotated[datetime.date, Day(phrase("first day away"), "2026-12-07")]
    last: Annotated[datetime.date, Day(phrase("last day away"), "2026-12-11")]
    note: Annotated[str | None, Text(phrase("why"), "leave", 200)] = None


class Occasion(Section):
    """A day for which the units of a machine, or of all machines at a place, are to be fresh."""

    at: Annotated[str, Text(phrase("place, machine or unit"), "bowling green north", 100, 1)]
    on: Annotated[datetime.date, Day(phrase("the day"), "2026-12-20")]
    name: Annotated[str | None, Text(phrase("what it is"), "final", 200)] = None


class Fetching(Section):
    """A place whose machines are not at the workshop: hours to fetch what is there and bring it back."""

    place: Annotated[str, Text(phrase("the place"), "cricket ground", 100, 1)]
    travel: Annotated[
        float, Quantity(phrase("hours to fetch what is there and bring it back"), "45 min", "time", 0.0, 12.0, "h")
    ]


class Shelf(Section):
    """A kind of reel or knife as it is kept: on the shelf, weeks to come, how many come together, its price."""

    part: Annotated[str, Text(phrase("the type of reel or knife"), "greens reel, 11 blades", 100, 1)]
    on_shelf: Annotated[int, Whole(phrase("pieces on the shelf"), 0, 0, 10_000)] = 0
    lead_weeks: Annotated[int, Whole(phrase("weeks from ordering to having"), 4, 0, 52)] = 4
    pack: Annotated[int, Whole(phrase("pieces that come together"), 1, 1, 1000)] = 1
    price: Annotated[float, _money(phrase("price of one"), 400.0)] = Entered(0.0)


class Choice(Section):
    """A day chosen by hand for one job."""

    job: Annotated[str, Text(phrase("the unit, with #2 for its second time and so on"), "G3 left", 120, 1)]
    on: Annotated[datetime.date, Day(phrase("the day"), "2026-12-02")]


class Hours(Section):
    """How long each phase takes. What stands here is common practice, no source, until the workshop says its own."""

    strip: Annotated[float, _phase("30 min")] = _h(0.5)
    spin: Annotated[float, _phase("45 min")] = _h(0.75)
    relief: Annotated[float, _phase("1 h")] = _h(1.0)
    knife: Annotated[float, _phase("30 min")] = _h(0.5)
    set: Annotated[float, _phase("30 min")] = _h(0.5)

    def of(self, phase: str) -> float:
        """Return the hours of a phase, h."""
        return float(getattr(self, phase)) / HOUR


class Costs(Section):
    """The workshop's own figures in its own money. What stands here is common practice, no source."""

    hour: Annotated[float, _money(phrase("an hour of work"), 30.0)] = Entered(30.0)
    overtime_hour: Annotated[float, _money(phrase("an hour of overtime"), 45.0)] = Entered(45.0)
    late_day: Annotated[float, _money(phrase("a day late, for a unit of importance 1"), 20.0)] = Entered(20.0)
    early_day: Annotated[float, _money(phrase("life wasted by grinding a day early"), 1.0)] = Entered(1.0)
    wheel: Annotated[float, _money(phrase("wheel used up by one grind"), 3.0)] = Entered(3.0)
    sooner: Annotated[float, _money(phrase("extra for a sharpening that came because the cut was spoilt"), 60.0)] = (
        Entered(60.0)
    )
    busier: Annotated[
        float, a_share(0.0, 0.5, phrase("share by which a season may turn out busier or quieter than forecast"), "10 %")
    ] = Entered(0.1, "10 %")
    dearer: Annotated[float, a_share(0.0, 0.5, phrase("share by which prices may turn out higher or lower"), "5 %")] = (
        Entered(0.05, "5 %")
    )


class SeasonSheet(Section):
    """Everything about the season that is a workshop's own choice."""

    start: Annotated[
        datetime.date | None, Day(phrase("first day; the day it is asked when left out"), "2026-11-30")
    ] = None
    weeks: Annotated[int, Whole(phrase("length of the season in weeks"), 12, 1, 104)] = 12
    interval: Annotated[float, _BETWEEN] = _h(120.0)
    """Where neither the machine's own nor the records tell it. Common practice, no source."""
    life_per_land: Annotated[
        float | None,
        a_share(0.05, 1.0, phrase("share of its life that an edge keeps with each further mm of land"), "80 %"),
    ] = None
    """1, and said so, where left out."""
    fresh_days: Annotated[int, Whole(phrase("days for which a sharpening counts as fresh"), 7, 0, 60)] = 7
    hours: Hours = Hours()
    people: tuple[Worker, ...] = ()
    grinders: tuple[Station, ...] = ()
    machines: tuple[Rule, ...] = ()
    away: tuple[Absence, ...] = ()
    fresh: tuple[Occasion, ...] = ()
    chosen: tuple[Choice, ...] = ()
    parts: tuple[Shelf, ...] = ()
    fetching: tuple[Fetching, ...] = ()
    costs: Costs = Costs()

    def rule(self, machine: str) -> Rule:
        """Return what holds for a machine."""
        return next((rule for rule in self.machines if rule.name == machine), Rule(name=machine or "-"))


def sheet_of(tables: Mapping[str, Any], line_of: Callable[[Path], int | None] = lambda _: None) -> SeasonSheet:
    """Return the season sheet that these tables make.

    Raises
    ------
    VisitProblems
        With everything wrong: path, its line in a file, value, what is allowed and its unit.

    Examples
    --------
    >>> sheet_of({"people": [{"name": "A", "overtime": "90 min"}], "costs": {"hour": "32,5"}}).people[0].overtime
    Entered(5400.0, '90 min')
    >>> sheet_of({"weeks": 0})
    Traceback (most recent call last):
    sparkout.visit.problems.VisitProblems: weeks: 0 is too small; allowed: 1 to 104.
    """
    return checked_as(SeasonSheet, dict(tables), _contradictions, line_of)


def _contradictions(sheet: SeasonSheet) -> Iterator[Finding]:
    """Names twice, weeks that have no seven days, somebody away who does not work here, days the wrong way round."""
    named = {
        ("people", "name"): [row.name for row in sheet.people],
        ("grinders", "name"): [row.name for row in sheet.grinders],
        ("machines", "name"): [row.name for row in sheet.machines],
        ("chosen", "job"): [row.job for row in sheet.chosen],
        ("parts", "part"): [row.part for row in sheet.parts],
        ("fetching", "place"): [row.place for row in sheet.fetching],
    }
    for (table, key), names in named.items():
        for i, name in enumerate(names):
            if name in names[:i]:
                yield Finding((table, i, key), phrase("'{name}' stands here twice", name=AsTyped(name)), name)
    weeks = (("people", [one.week for one in sheet.people]), ("grinders", [one.week for one in sheet.grinders]))
    for table, found in weeks:
        for i, week in enumerate(found):
            if len(week) != len(DAYS):
                text = phrase("{n} days of hours; wanted: seven, Monday to Sunday", n=len(week))
                yield Finding((table, i, "week"), text)
    here = [worker.name for worker in sheet.people] + [grinder.name for grinder in sheet.grinders]
    for i, gap in enumerate(sheet.away):
        if gap.who not in here:
            text = phrase("'{name}' is nobody and no grinder of this sheet", name=AsTyped(gap.who))
            yield Finding(("away", i, "who"), text, gap.who, AsTyped(", ".join(here)))
        if gap.last < gap.first:
            text = phrase("{day} is before the first day", day=gap.last)
            yield Finding(("away", i, "last"), text, str(gap.last), phrase("from {day}", day=gap.first))


def as_tables(sheet: SeasonSheet) -> dict[str, Any]:
    """Return what was entered as plain tables, as it was typed: `sheet_of` reads it back to the same sheet."""
    return sheet.model_dump(mode="json", exclude_unset=True)
