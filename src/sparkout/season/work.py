"""The season's work: which jobs there are, on which days they can be done, and the plan of them."""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from sparkout.core.days import dated
from sparkout.core.errors import NotEnough
from sparkout.core.phrase import AsTyped, Phrase, phrase
from sparkout.core.season.jobs import Grinder, Job, Phase, Season, Technician
from sparkout.core.season.plan import Plan, Progress, on_days, planned, replanned
from sparkout.season.forecast import Forecast, UnitAhead
from sparkout.season.sheet import DAYS, GROUND, HOUR, PHASES, WEEK, Occasion, SeasonSheet

FRESH_IMPORTANCE = 3.0
"""By how much a sharpening for an occasion counts more than another. Common practice, no source."""
MOST_OVERDUE = 2000
"""Days beyond which overdue is overdue."""
CHANGE_DAYS = 1.0
"""A changed day counts like so many late days of the most important unit when a plan is made anew. Own choice."""


@dataclass(frozen=True, slots=True)
class NewPart:
    """A new reel or knife that goes in with a job, because the one in it is at its limit by then."""

    part: str
    """Its type."""
    comes: datetime.date | None
    """When it is there where it must be ordered first, today; None: on the shelf, or the sheet tells nothing of it."""
    on_sheet: bool
    """Whether the season sheet tells what is there."""


@dataclass(frozen=True, slots=True)
class Work:
    """The season as a planning problem, with whose job is which, and which units have none and why."""

    season: Season
    start: datetime.date
    units: tuple[UnitAhead, ...]
    """Of each job."""
    occasions: tuple[Occasion | None, ...]
    """What each job is to be fresh for."""
    parts: tuple[tuple[NewPart, ...], ...]
    """The new parts that go in with each job, where something is at its limit by then."""
    without: tuple[tuple[UnitAhead, str], ...]
    notes: tuple[Phrase, ...]
    """Entries of the sheet that nothing in this season answers to, each named."""

    def date(self, day: int) -> datetime.date:
        """Return the date of a day of the season."""
        return self.start + datetime.timedelta(days=day)

    def waiting(self, name: str, day: int) -> Phrase | None:
        """Return that a job waits on a day for a new part that is ordered, and until when; None where it does not."""
        parts = next(parts for parts, job in zip(self.parts, self.season.jobs, strict=True) if job.unit == name)
        ordered = [(part.comes, part.part) for part in parts if part.comes is not None]
        comes, last = max(ordered, default=(self.date(day), ""))
        if self.date(day) >= comes:
            return None
        return phrase(
            "its new '{part}' is there on {day} at the soonest, ordered today",
            part=AsTyped(last), day=dated(comes),
        )  # fmt: skip


def work_of(forecast: Forecast, sheet: SeasonSheet, today: datetime.date) -> Work:
    """Return the jobs of the season: each unit as often as it comes due, and once more for each occasion it is not fresh for.

    Raises
    ------
    NotEnough
        Nobody to do the work, a season that is over, or no unit that is due within it. Nothing is planned before today.
    """  # noqa: E501
    first = sheet.start or today
    start, end = max(first, today), first + datetime.timedelta(weeks=sheet.weeks)
    days = (end - start).days
    if days < 1:
        raise NotEnough(phrase("plan"), phrase("a season that has not ended: it ran until {day}", day=dated(end)))
    if not sheet.people:
        raise NotEnough(phrase("plan"), phrase("somebody with hours on the season sheet"))
    asked: list[tuple[UnitAhead, int, int, Occasion | None]] = []
    without: list[tuple[UnitAhead, str]] = []
    early = (start - today).days
    for one in forecast.units:
        if one.due is None:
            without.append((one, one.missing[0]))
            continue
        mine = wanted(one, sheet, start, days, early)
        if not mine:
            without.append((one, phrase("not due within the season")))
        asked += [(one, k, due, occasion) for k, (due, occasion) in enumerate(mine)]
    if not asked:
        raise NotEnough(phrase("plan"), phrase("at least one unit that is due"))
    parts = _new_parts([(one, due + early) for one, _, due, _ in asked], sheet, today)
    jobs = [
        _job(one, sheet, start, days, k, due, occasion, [part.comes for part in mine if part.comes is not None])
        for (one, k, due, occasion), mine in zip(asked, parts, strict=True)
    ]
    people = _people(sheet, start, days)
    if not any(any(one.hours) for one in people):
        raise NotEnough(phrase("plan"), phrase("somebody with hours in the season"))
    travel = {row.place: row.travel / HOUR for row in sheet.fetching}
    season = Season(days, people, _grinders(sheet, start, days), tuple(jobs), travel)
    units, occasions = tuple(one for one, *_ in asked), tuple(occasion for *_, occasion in asked)
    notes = (*_unanswered(forecast, sheet, season, start), *_unknown_parts(asked, parts))
    return Work(season, start, units, occasions, parts, tuple(without), notes)


def _new_parts(
    jobs: Sequence[tuple[UnitAhead, int]], sheet: SeasonSheet, today: datetime.date
) -> tuple[tuple[NewPart, ...], ...]:
    """Return the new parts that go in with each job (unit, days to when it is due).

    A reel or knife as likely as not at its limit when the unit is sharpened is replaced then, once. Pieces on the shelf
    go to whichever is due first; for the others one is ordered today.
    """
    shelf = {row.part: row.on_shelf for row in sheet.parts}
    lead = {row.part: row.lead_weeks for row in sheet.parts}
    found: list[list[NewPart]] = [[] for _ in jobs]
    replaced: set[tuple[str, str]] = set()
    for i in sorted(range(len(jobs)), key=lambda i: jobs[i][1]):
        one, due = jobs[i]
        for name in one.at_limit_by(due):
            if (one.unit.name, name) in replaced:
                continue
            replaced.add((one.unit.name, name))
            comes = None
            if shelf.get(name, 0) > 0:
                shelf[name] -= 1
            elif name in lead:
                comes = today + datetime.timedelta(weeks=lead[name])
            found[i].append(NewPart(name, comes, name in lead))
    return tuple(map(tuple, found))


def _unknown_parts(
    asked: Sequence[tuple[UnitAhead, int, int, Occasion | None]], parts: Sequence[Sequence[NewPart]]
) -> Iterator[Phrase]:
    """Yield each new part of which the season sheet does not say whether it is there."""
    for (one, *_), mine in zip(asked, parts, strict=True):
        for part in mine:
            if not part.on_sheet:
                yield phrase(
                    "{unit}: a new '{part}' goes in, and the season sheet does not say what is on the shelf",
                    unit=AsTyped(one.unit.name), part=AsTyped(part.part),
                )  # fmt: skip


def _unanswered(forecast: Forecast, sheet: SeasonSheet, season: Season, start: datetime.date) -> Iterator[Phrase]:
    """Yield each entry of the sheet that is about nothing there is, or a day outside the season."""
    last = start + datetime.timedelta(days=season.days - 1)
    names = {job.unit for job in season.jobs}
    for choice in sheet.chosen:
        if choice.job not in names:
            yield phrase("chosen by hand: there is no job '{job}' in this season", job=AsTyped(choice.job))
        elif not start <= choice.on <= last:
            yield phrase("chosen by hand: {day} lies outside the season", day=dated(choice.on))
    for occasion in sheet.fresh:
        if not any(concerns(occasion, one) for one in forecast.units):
            yield phrase("to be fresh for: nothing on file is at '{place}'", place=AsTyped(occasion.at))
        elif not start < occasion.on <= last + datetime.timedelta(days=1):
            yield phrase("to be fresh for: {day} lies outside the season", day=dated(occasion.on))
    places = {one.unit.place for one in forecast.units}
    for row in sheet.fetching:
        if row.place not in places:
            yield phrase("places away: nothing on file is at '{place}'", place=AsTyped(row.place))
    machines = {one.unit.machine for one in forecast.units}
    for rule in sheet.machines:
        if rule.name not in machines:
            yield phrase("there is no machine '{name}' with units on file", name=AsTyped(rule.name))


def wanted(
    one: UnitAhead, sheet: SeasonSheet, start: datetime.date, days: int, early: int
) -> list[tuple[int, Occasion | None]]:
    """Return the days of the season by which a unit that comes due is to be sharpened, and for which occasion.

    Parameters
    ----------
    early : days from today to the season's first
    """
    return _merged(usual_times(one, days, early), _for_occasions(one, sheet, start, days), sheet.fresh_days)


def usual_times(one: UnitAhead, days: int, early: int) -> list[int]:
    """Return the days on which a unit comes due, counted from the season's first; below 0: overdue by then.

    Whatever it is overdue by, it is sharpened once for that; the next falls due an interval after it can be.
    """
    assert one.due is not None
    assert one.weekly is not None
    step = max(1, math.floor(one.interval / one.weekly * WEEK))
    first = max(one.due.day - early, -MOST_OVERDUE)
    return [due for due in (first, *range(max(first, 0) + step, days, step)) if due < days]


def concerns(occasion: Occasion, one: UnitAhead) -> bool:
    """Return whether a unit is to be fresh for an occasion: it names the unit, its machine or its place."""
    return occasion.at in (one.unit.machine, one.unit.place, one.unit.name)


def _for_occasions(one: UnitAhead, sheet: SeasonSheet, start: datetime.date, days: int) -> list[tuple[int, Occasion]]:
    eves = [((occasion.on - start).days - 1, occasion) for occasion in sheet.fresh if concerns(occasion, one)]
    return [(day, occasion) for day, occasion in eves if 0 <= day < days]


def _merged(
    plain: Sequence[int], special: Sequence[tuple[int, Occasion]], fresh_days: int
) -> list[tuple[int, Occasion | None]]:
    """Return due days in order; one that falls within an occasion's fresh days is done for the occasion."""
    alone = [(due, None) for due in plain if not any(day - fresh_days <= due <= day for day, _ in special)]
    return sorted([*alone, *special], key=lambda item: item[0])


def job_name(unit: str, k: int) -> str:
    """Return the name of a unit's k-th job of the season, counted from 0.

    Examples
    --------
    >>> job_name("A", 0), job_name("A", 1)
    ('A', 'A #2')
    """
    return unit if k == 0 else f"{unit} #{k + 1}"


def _job(
    one: UnitAhead,
    sheet: SeasonSheet,
    start: datetime.date,
    days: int,
    k: int,
    due: int,
    occasion: Occasion | None,
    comes: Sequence[datetime.date],
) -> Job:
    rule = sheet.rule(one.unit.machine)
    name = job_name(one.unit.name, k)
    relief = one.wants_relief if k == 0 else one.unit.relief
    kept = [p for p in PHASES if sheet.hours.of(p) > 0.0 and (p != "relief" or relief)]
    phases = tuple(Phase(p, sheet.hours.of(p), p if p in GROUND else None) for p in kept)
    spared = None
    if set(rule.spared) != set(DAYS):
        first = start.weekday()
        spared = frozenset(d for d in range(days) if DAYS[(first + d) % 7] in rule.spared)
    chosen = next((choice.on for choice in sheet.chosen if choice.job == name), None)
    fixed = None if chosen is None else (chosen - start).days
    return Job(
        name,
        phases,
        due,
        rule.importance * sheet.costs.late_day * (1.0 if occasion is None else FRESH_IMPORTANCE),
        sheet.costs.early_day,
        max(0, due - sheet.fresh_days if occasion is not None else 0, *((day - start).days for day in comes)),
        spared,
        one.unit.place if any(row.place == one.unit.place for row in sheet.fetching) else "",
        fixed=fixed if fixed is not None and 0 <= fixed < days else None,
    )


def _hours(name: str, week: Sequence[float], sheet: SeasonSheet, start: datetime.date, days: int) -> tuple[float, ...]:
    first = start.weekday()
    gone = {
        day
        for gap in sheet.away
        if gap.who == name
        for day in range(max(0, (gap.first - start).days), min(days, (gap.last - start).days + 1))
    }
    return tuple(0.0 if day in gone else week[(first + day) % 7] / HOUR for day in range(days))


def _people(sheet: SeasonSheet, start: datetime.date, days: int) -> tuple[Technician, ...]:
    return tuple(
        Technician(
            one.name,
            frozenset(one.skills),
            _hours(one.name, one.week, sheet, start, days),
            one.overtime / HOUR,
            sheet.costs.overtime_hour,
        )
        for one in sheet.people
    )


def _grinders(sheet: SeasonSheet, start: datetime.date, days: int) -> tuple[Grinder, ...]:
    return tuple(
        Grinder(one.name, frozenset(one.work), _hours(one.name, one.week, sheet, start, days)) for one in sheet.grinders
    )


def plan_of(
    work: Work,
    seconds: float = 10.0,
    before: Mapping[str, int] | None = None,
    told: Callable[[Progress], bool] | None = None,
) -> Plan:
    """Return the plan of the season; with the days of an earlier plan, one that changes as few of them as pays."""
    season = work.season
    if before:
        season = replanned(season, before, CHANGE_DAYS * max(job.importance for job in season.jobs))
    return planned(season, seconds, told=told)


def plan_kept(work: Work, days: Mapping[str, int], bound: float = 0.0) -> Plan:
    """Return the plan that was kept as days by job."""
    return on_days(work.season, [days.get(job.unit) for job in work.season.jobs], bound)


def why_not_on(work: Work, job: Job, day: int) -> Phrase:
    """Return why a job that a plan had on a day does not stand there today."""
    if day < 0:
        return phrase("that day has gone by")
    if job.spared is not None and day not in job.spared:
        return phrase("its machine cannot be spared on that day")
    if day < job.ready:
        return work.waiting(job.unit, day) or phrase("it would not be fresh any more when it is to be")
    people = work.season.technicians
    if day < work.season.days and not any(one.hours[day] > 0.0 for one in people):
        return phrase("nobody works on that day")
    return phrase("there are no hours left on that day")


def moved(work: Work, days: Mapping[str, int], job: str, day: int) -> Plan:
    """Return the plan with one job on another day by hand, all others where they are."""
    jobs = tuple(replace(one, fixed=day) if one.unit == job else one for one in work.season.jobs)
    season = replace(work.season, jobs=jobs)
    return on_days(season, [day if one.unit == job else days.get(one.unit) for one in jobs])
