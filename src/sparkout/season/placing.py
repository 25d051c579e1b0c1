"""A plan told job by job: on which date, who does what on which grinder, how late and why; and hours by week."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass, replace
from typing import Any

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, Phrase, frozen, joined, phrase, thawed
from sparkout.core.season.plan import Late, Plan, late, load
from sparkout.core.season.timetable import DayTable, day_table
from sparkout.season.work import Work, job_name


@dataclass(frozen=True, slots=True)
class Doing:
    """One phase of a job: who, on which grinder (empty: the bench), from and to in hours after the day's start."""

    phase: str
    who: str
    grinder: str
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Placed:
    """One job of the season as planned."""

    job: str
    """The unit, with #2 for its second time and so on."""
    unit: str
    machine: str
    place: str
    on: datetime.date | None
    """None: left undone."""
    due: datetime.date
    by_hand: bool
    """Whether a person chose its day."""
    fresh_for: str
    """What it is to be fresh for, empty where nothing."""
    doing: tuple[Doing, ...]
    why: str = ""
    """Why it is late or left undone, and what would clear it."""
    over: float = 0.0
    """Hours by which its day runs past somebody's, overtime counted."""
    new_part: str = ""
    """The types of a new reel and knife that go in, because the old one is at its limit by then; empty where none."""

    @property
    def days_late(self) -> int | None:
        """Days after it is due; 0 or less in time, None when left undone."""
        return None if self.on is None else (self.on - self.due).days

    @property
    def is_late(self) -> bool:
        """Whether it is done after it is due, or not at all."""
        return self.days_late is None or self.days_late > 0


@dataclass(frozen=True, slots=True)
class Week:
    """Hours taken and hours there are in a week, by person and grinder."""

    first: datetime.date
    taken: dict[str, float]
    there: dict[str, float]


@dataclass(frozen=True, slots=True)
class Tally:
    """What the jobs of a plan come to together."""

    jobs: int
    late: int
    """Done after they are due; those left undone are not among them."""
    days_late: int
    undone: int
    over: float
    """Hours by which its days run past what there is."""


def tally(made: Sequence[Placed]) -> Tally:
    """Return what jobs come to together.

    Examples
    --------
    >>> due = datetime.date(2026, 12, 2)
    >>> days = (due, due + datetime.timedelta(days=3), None)
    >>> tally([Placed("A", "A", "", "", day, due, False, "", (), over=0.5) for day in days])
    Tally(jobs=3, late=1, days_late=3, undone=1, over=1.0)
    """
    late = [one.days_late for one in made if one.days_late is not None and one.days_late > 0]
    undone = sum(1 for one in made if one.on is None)
    over = sum({one.on: one.over for one in made if one.on is not None}.values())
    return Tally(len(made), len(late), sum(late), undone, over)


def placed(work: Work, plan: Plan) -> tuple[Placed, ...]:
    """Return each job as planned, in the order of days, those left undone last."""
    tables = {taken.day: day_table(plan, taken.day) for taken in plan.assigned.taken if taken is not None}
    whys = {one.unit: why_late(work, one) for one in late(plan)}
    made = []
    for job, one, occasion, parts in zip(plan.season.jobs, work.units, work.occasions, work.parts, strict=True):
        day = plan.day(job)
        made.append(
            Placed(
                job.unit,
                one.unit.name,
                one.unit.machine,
                one.unit.place,
                None if day is None else work.date(day),
                work.date(job.due),
                job.fixed is not None,
                "" if occasion is None else occasion.name or occasion.at,
                () if day is None else _doing(tables[day], job.unit),
                whys.get(job.unit, ""),
                0.0 if day is None else tables[day].over,
                joined("; ", [part.part for part in parts]) if parts else "",
            )
        )
    return tuple(sorted(made, key=lambda one: (one.on or datetime.date.max, one.job)))


def _doing(table: DayTable, job: str) -> tuple[Doing, ...]:
    return tuple(
        Doing(slot.phase.skill, slot.who, slot.grinder or "", slot.start, slot.end)
        for slot in table.slots
        if slot.unit == job
    )


def why_late(work: Work, one: Late) -> Phrase:
    """Return why a unit is late, with dates; and what would clear it."""
    waiting = work.waiting(one.unit, next(job.due for job in work.season.jobs if job.unit == one.unit))
    if waiting is not None:
        return waiting
    if not one.full or one.first is None or one.last is None:
        return Phrase(one.why) if not isinstance(one.why, Phrase) else one.why
    who = joined(", ", map(AsTyped, one.full))
    first, last = dated(work.date(one.first)), dated(work.date(one.last))
    if not _there(work, one, range(one.first, one.last + 1)):
        why = phrase("{who} not at work on any day on which it could be had in time", who=who)
    elif one.first == one.last:
        why = phrase("{who} full on {day}", who=who, day=first)
    else:
        why = phrase("{who} full from {first} to {last}", who=who, first=first, last=last)
    return (
        why
        if one.helps is None
        else phrase("{why}; {hours:g} more hours a week would clear it", why=why, hours=one.helps)
    )


def _there(work: Work, one: Late, days: range) -> bool:
    """Return whether anybody or anything that is short for a unit has hours at all on the days it could be done."""
    spared = next(job.spared for job in work.season.jobs if job.unit == one.unit)
    hours = [each.hours for each in work.season.technicians if each.name in one.full]
    hours += [each.hours for each in work.season.grinders if each.name in one.full]
    return any(each[day] > 0.0 for each in hours for day in days if spared is None or day in spared)


def weeks(work: Work, plan: Plan) -> tuple[Week, ...]:
    """Return the load of each week, Monday to Sunday, the first and the last perhaps shorter."""
    taken, there = load(plan)
    names = [one.name for one in plan.season.technicians] + [one.name for one in plan.season.grinders]
    starts = [day for day in range(plan.season.days) if day == 0 or work.date(day).weekday() == 0]
    ends = [*starts[1:], plan.season.days]
    return tuple(
        Week(
            work.date(first),
            {name: float(taken[i, first:end].sum()) for i, name in enumerate(names)},
            {name: float(there[i, first:end].sum()) for i, name in enumerate(names)},
        )
        for first, end in zip(starts, ends, strict=True)
    )


def as_data(one: Placed) -> dict[str, Any]:
    """Return a placement fit for JSON; `from_data` reads it back.

    Examples
    --------
    >>> day = datetime.date(2026, 12, 2)
    >>> one = Placed("A #2", "A", "M", "P", day, day, False, "", (Doing("spin", "B", "G", 0.5, 1.25),))
    >>> from_data(as_data(one)) == one, one.is_late
    (True, False)
    """
    told = asdict(one)
    told |= {"on": None if one.on is None else one.on.isoformat(), "due": one.due.isoformat(), "why": frozen(one.why)}
    told["doing"] = [asdict(step) for step in one.doing]
    return told


def from_data(told: Mapping[str, Any]) -> Placed:
    """Return a placement from what `as_data` made of it."""
    on = told["on"]
    rest = {
        "on": None if on is None else datetime.date.fromisoformat(on),
        "due": datetime.date.fromisoformat(told["due"]),
        "doing": tuple(Doing(**step) for step in told["doing"]),
        "why": thawed(told["why"]) if told["why"] else "",
    }
    return Placed(**{**told, **rest})


def still_to_come(made: Sequence[Placed], done: Mapping[str, int]) -> tuple[Placed, ...]:
    """Return what of a plan is left when units have been sharpened so often since it was made.

    The first jobs of a unit are those done; what is left is named anew, as a forecast of today names it.
    """
    left: list[Placed] = []
    for unit, jobs in _by_unit(made).items():
        for k, job in enumerate(jobs[done.get(unit, 0) :]):
            left.append(replace(job, job=job_name(unit, k)))
    return tuple(sorted(left, key=lambda one: (one.on or datetime.date.max, one.job)))


def _by_unit(made: Iterable[Placed]) -> dict[str, list[Placed]]:
    found: dict[str, list[Placed]] = {}
    for one in made:
        found.setdefault(one.unit, []).append(one)
    return {unit: sorted(jobs, key=lambda one: one.due) for unit, jobs in found.items()}


def days_of(made: Iterable[Placed], start: datetime.date) -> dict[str, int]:
    """Return the day of each job counted from a day on, as plans are made and held on to; earlier days are gone."""
    return {one.job: (one.on - start).days for one in made if one.on is not None and one.on >= start}
