"""What a season's plan is made of: days, people, grinders and the units that are due. Days are counted from 0."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from sparkout.core.season.assign import Workshop

Floats: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Phase:
    """One phase of a job: the skill it takes, its hours, and the kind of grinder it stands on (None: the bench)."""

    skill: str
    hours: float
    grinder: str | None = None


@dataclass(frozen=True, slots=True)
class Technician:
    """A person: skills, hours by day, and how many more hours a day can be asked for, at what cost each."""

    name: str
    skills: frozenset[str]
    hours: tuple[float, ...]
    overtime: float = 0.0
    overtime_cost: float = 0.0
    overtime_by_day: tuple[float, ...] | None = None
    """Overtime left on each day; None: `overtime` wherever there are hours at all."""


@dataclass(frozen=True, slots=True)
class Grinder:
    """A grinder: the kinds of work it does, and its hours by day."""

    name: str
    kinds: frozenset[str]
    hours: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """One unit's work, done within one day: a day after `due` costs `importance`, a day before `early_cost`."""

    unit: str
    phases: tuple[Phase, ...]
    due: int
    importance: float = 1.0
    early_cost: float = 0.0
    ready: int = 0
    """First day on which the unit can be had and its parts are there."""
    spared: frozenset[int] | None = None
    """Days on which its machine can be spared; None: any."""
    place: str = ""
    """Where the work is done, when that is not the workshop."""
    fixed: int | None = None
    """Day chosen by hand: kept whatever it costs."""
    was: int | None = None
    """Day in the plan this one replaces; moving away from it costs `change_cost`."""
    change_cost: float = 0.0

    def __hash__(self) -> int:
        """Return the hash of the name: each job of a season has its own, and plans look jobs up all the time."""
        return hash(self.unit)

    @property
    def hours(self) -> float:
        """Hours of work in all."""
        return sum(phase.hours for phase in self.phases)


@dataclass(frozen=True, slots=True)
class Season:
    """Everything a plan is made from; `travel` is hours to a place and back, once a day that somebody goes."""

    days: int
    technicians: tuple[Technician, ...]
    grinders: tuple[Grinder, ...]
    jobs: tuple[Job, ...]
    travel: dict[str, float] = field(default_factory=dict)
    undone_days: int = 20
    """A job not done in the season counts as done so many days after its end."""


@dataclass(frozen=True, slots=True)
class CannotBeDone:
    """A job that no day of the season can take, and why."""

    unit: str
    why: str


def overtime(person: Technician) -> tuple[float, ...]:
    """Return the overtime a person can be asked for, by day."""
    if person.overtime_by_day is not None:
        return person.overtime_by_day
    return tuple(person.overtime if hours > 0 else 0.0 for hours in person.hours)


def day_cost(job: Job, day: int) -> float:
    """Return what doing a job on a day costs: lateness, or life wasted by grinding early, and being moved.

    Examples
    --------
    >>> job = Job("A", (), due=5, importance=3.0, early_cost=0.5, was=6, change_cost=1.0)
    >>> day_cost(job, 7), day_cost(job, 6), day_cost(job, 3)
    (7.0, 3.0, 2.0)
    """
    off = day - job.due
    cost = job.importance * off if off > 0 else -job.early_cost * off
    return cost + (job.change_cost if job.was is not None and job.was != day else 0.0)


def undone_cost(season: Season, job: Job) -> float:
    """Return what leaving a job undone counts: as if done `undone_days` after the season."""
    return day_cost(job, season.days - 1 + season.undone_days)


def days_open(season: Season, job: Job) -> NDArray[np.bool_]:
    """Return for each day whether the unit and its machine can be had for the job."""
    if job.fixed is not None:
        open_ = np.zeros(season.days, dtype=bool)
        open_[job.fixed] = True
        return open_
    open_ = np.arange(season.days) >= job.ready
    if job.spared is not None:
        spared = np.zeros(season.days, dtype=bool)
        spared[[day for day in job.spared if 0 <= day < season.days]] = True
        open_ &= spared
    return open_


def checked(season: Season) -> tuple[CannotBeDone, ...]:
    """Return the jobs no day can take, each with why; refuse a season in which nothing can be done.

    Raises
    ------
    OutOfRange
        Days, hours, due days or costs out of range, named with the job or person.
    Contradiction
        A calendar that is not as long as the season, or two jobs of one unit with the same name.
    NotEnough
        No job, or no hours at all.
    """
    within("days", season.days, 1, 2000)
    if not season.jobs:
        raise NotEnough(phrase("plan"), phrase("at least one unit that is due"))
    calendars = [(one.name, one.hours) for one in season.technicians] + [(g.name, g.hours) for g in season.grinders]
    for name, calendar in calendars:
        if len(calendar) != season.days:
            text = phrase("{n} days of hours for a season of {days}", n=len(calendar), days=season.days)
            raise Contradiction([name], text)
        for hours in calendar:
            within(f"hours of {name}", hours, 0.0, 24.0, "h")
    for job in season.jobs:
        _checked_job(season, job)
    names = [job.unit for job in season.jobs]
    twice = sorted({name for name in names if names.count(name) > 1}) if len(set(names)) < len(names) else []
    if twice:
        raise Contradiction(twice, phrase("each job needs a name of its own"))
    if not any(sum(person.hours) + person.overtime for person in season.technicians):
        raise NotEnough(phrase("plan"), phrase("somebody with hours in the season"))
    from sparkout.core.season.assign import Workshop

    empty = Workshop(season)
    return tuple(found for job in season.jobs if (found := _cannot(season, job, empty)) is not None)


def _checked_job(season: Season, job: Job) -> None:
    within(f"importance of {job.unit}", job.importance, 0.0, 1e9)
    within(f"early_cost of {job.unit}", job.early_cost, 0.0, 1e9)
    within(f"change_cost of {job.unit}", job.change_cost, 0.0, 1e9)
    within(f"due day of {job.unit}", job.due, -2000, 4000, "days")
    if job.fixed is not None and not 0 <= job.fixed < season.days:
        raise OutOfRange(f"fixed day of {job.unit}", job.fixed, f"0 to {season.days - 1}", "days")
    for phase in job.phases:
        within(f"hours of {phase.skill} for {job.unit}", phase.hours, 0.0, 24.0, "h")
    if not job.phases or job.hours == 0.0:
        raise NotEnough(phrase("job {unit}", unit=job.unit), phrase("at least one phase with hours"))


def _cannot(season: Season, job: Job, empty: Workshop) -> CannotBeDone | None:
    """Return why a job fits no day even in an empty workshop, or None."""
    for item in job.phases:
        if item.hours and not any(item.skill in person.skills for person in season.technicians):
            return CannotBeDone(job.unit, phrase("nobody has the skill {skill}", skill=item.skill))
        if item.grinder is not None and not any(item.grinder in one.kinds for one in season.grinders):
            return CannotBeDone(job.unit, phrase("there is no grinder for {kind}", kind=item.grinder))
    open_ = days_open(season, job)
    if not open_.any():
        return CannotBeDone(job.unit, phrase("its machine can be spared on no day after it is ready"))
    if job.fixed is None and not (open_ & np.isfinite(empty.prices(job))).any():
        return CannotBeDone(job.unit, phrase("no day it can be had has hours enough for it"))
    return None
