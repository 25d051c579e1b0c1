"""The order within a day: who does which phase of which unit from when to when, on which grinder."""

from __future__ import annotations

from dataclasses import dataclass

from sparkout.core.season.jobs import Job, Phase
from sparkout.core.season.plan import Plan

TRAVEL = "travel"
"""The phase of fetching from a place and bringing back: nobody's skill, whoever works on the units does it."""


@dataclass(frozen=True, slots=True)
class Slot:
    """One phase of one unit: who, on which grinder (None: the bench), from and to in hours after the day's start."""

    unit: str
    phase: Phase
    who: str
    grinder: str | None
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class DayTable:
    """A day's phases in order of their start; `over` is by how much it runs past anybody's hours with overtime."""

    day: int
    slots: tuple[Slot, ...]
    over: float


def day_table(plan: Plan, day: int) -> DayTable:
    """Return the timetable of a day of the plan.

    Each unit's phases follow one another; a person and a grinder do one phase at a time. What is at a place away is
    fetched (and brought back, which counts with it) before anything there begins. Several orders are tried, each phase
    as soon as can be, and the one that runs over least, then ends earliest, is kept.

    Validity: not proven best; a day that runs over says by how much. Common practice (list scheduling), own working.
    """
    jobs = [
        job
        for job, taken in zip(plan.season.jobs, plan.assigned.taken, strict=True)
        if taken is not None and taken.day == day
    ]
    orders = [
        sorted(jobs, key=lambda job: -job.hours),
        sorted(jobs, key=lambda job: job.hours),
        sorted(jobs, key=lambda job: -job.importance),
        sorted(jobs, key=lambda job: -sum(phase.hours for phase in job.phases if phase.grinder is not None)),
    ]
    tables = [_listed(plan, day, order) for order in orders]
    return min(tables, key=lambda table: (round(table.over, 6), max((slot.end for slot in table.slots), default=0.0)))


def _listed(plan: Plan, day: int, order: list[Job]) -> DayTable:
    """Return the table made by starting, again and again, the phase that can start first; `order` breaks ties."""
    season = plan.season
    people = {person.name: 0.0 for person in season.technicians if person.hours[day] > 0}
    grinders = {one.name: 0.0 for one in season.grinders if one.hours[day] > 0}
    able = {p.name: p.skills for p in season.technicians if p.name in people}
    fit = {one.name: one.kinds for one in season.grinders if one.name in grinders}
    ready, at = [0.0] * len(order), [0] * len(order)
    work = [job.phases for job in order]
    first = {job.place: i for i, job in reversed(list(enumerate(order))) if season.travel.get(job.place)}
    for place, i in first.items():
        work[i] = (Phase(TRAVEL, season.travel[place]), *work[i])
    slots: list[Slot] = []
    while True:
        starts = []
        for i, job in enumerate(order):
            fetched_with = first.get(job.place, i)
            if at[i] == len(work[i]) or (fetched_with != i and at[fetched_with] == 0):
                continue
            phase = work[i][at[i]]
            wanted = {each.skill for each in job.phases} if phase.skill == TRAVEL else {phase.skill}
            who = _first_free(people, [name for name, skills in able.items() if not wanted.isdisjoint(skills)])
            where = _first_free(grinders, [name for name, kinds in fit.items() if phase.grinder in kinds])
            if who is None or (phase.grinder is not None and where is None):
                continue
            starts.append((max(ready[i], people[who], grinders[where] if where else 0.0), i, phase, who, where))
        if not starts:
            break
        start, i, phase, who, where = min(starts, key=lambda item: (round(item[0], 6), item[1]))
        slots.append(Slot(order[i].unit, phase, who, where, start, start + phase.hours))
        people[who] = ready[i] = start + phase.hours
        if phase.skill == TRAVEL:
            for k, job in enumerate(order):
                if job.place == order[i].place:
                    ready[k] = ready[i]
        if where is not None:
            grinders[where] = start + phase.hours
        at[i] += 1
    hours = {p.name: p.hours[day] + p.overtime for p in season.technicians}
    over = max((slot.end - hours[slot.who] for slot in slots), default=0.0)
    return DayTable(day, tuple(sorted(slots, key=lambda slot: (slot.start, slot.who))), max(0.0, over))


def _first_free(free_from: dict[str, float], names: list[str]) -> str | None:
    """Return who of these is free first."""
    return min(names, key=lambda name: free_from[name], default=None)
