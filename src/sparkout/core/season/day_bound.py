"""A stronger bound on a season: units get prices for being done, and each day takes the best set it can hold whole.

The relaxation of `bound` lets a day do two thirds of a unit. Here days stay whole. For any prices u_j, none above what
leaving unit j undone costs,

    cost of any plan ≥ Σ u_j + Σ over days of the least, over sets that fit the day, of Σ (cost_jd − u_j) + overtime,

because a plan does each unit once or pays for leaving it undone. What fits a day is counted in hours of all people
together and in hours of the scarcest kind of grinder, on a grid of time: hours of units rounded down, and of days too
(a whole number below a number is below its floor). In a large season the grinder's hours have a price by day instead,
its toll: units pay it for their hours, and the bound is less by the toll of all hours there are. Everything else that
makes a plan dearer is left out, so the bound holds. A day on which an empty workshop could not do a unit, were travel
free, is closed to it. The best set of a day is
found exactly (dynamic programming); the prices climb by subgradients.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.season.assign import Workshop
from sparkout.core.season.jobs import Floats, Job, Season, day_cost, overtime, undone_cost

GRIDS = (0.5, 0.25, 0.2, 0.1)
"""Hours of a step of the grid: the coarsest that all units' hours are whole steps of, else the finest."""
MOST_STATES = 60_000_000
"""Above so many states (units x days x hours x grinder hours) the grinder's hours are not counted, but have a toll."""
_SLACK = 1e-9

MOST_SETS = 4000
"""Sets kept at most, the latest: the climb's end is where the good ones are."""

AIM = 1.1
"""Times the best bound so far that a step aims at, where the known plan is dearer: it may be far from the best."""
MOST_STALE, LEAST_STEP = 10, 1e-3
"""Rounds without a better bound before the steps are halved, and the step at which the climb ends."""

Flags: TypeAlias = NDArray[np.bool_]
Counts: TypeAlias = NDArray[np.intp]


DaySet: TypeAlias = tuple[int, tuple[Job, ...]]
"""A day, and units that it could do whole."""


@dataclass(frozen=True, slots=True)
class Climbed:
    """A proven bound on a season's cost, and the sets of units that days chose on the way to it."""

    bound: float
    sets: tuple[DaySet, ...]
    prices: Floats
    """At which the bound was found; and the tolls."""
    tolls: Floats


@dataclass(frozen=True, slots=True)
class _Unit:
    """A unit in steps of the grid: of people, of the scarce grinder; first and one past the last day worth asking."""

    people: int
    grinder: int
    first: int
    last: int
    cost: Floats
    """By open day between first and last; infinite where it cannot be had."""
    tolled: float
    """Hours for which it pays the toll."""


@dataclass(frozen=True, slots=True)
class _Days:
    """What the days hold, in steps, and what each number of steps costs in overtime."""

    grid: float
    people: Counts
    grinder: Counts
    extra: Floats
    """(days, steps + 1): overtime cost, infinite above what there is."""
    tolled: Floats
    """Hours of the grinder that has a toll; 0 where none has."""


class DayPrices:
    """A season whose days can be asked, for any prices of its units, what they would do."""

    def __init__(self, season: Season, left_out: frozenset[str] = frozenset()) -> None:
        fixed = [job for job in season.jobs if job.fixed is not None and job.unit not in left_out]
        self.constant = sum(day_cost(job, job.fixed) for job in fixed if job.fixed is not None)
        self.constant += sum(undone_cost(season, job) for job in season.jobs if job.unit in left_out)
        self.at = [i for i, job in enumerate(season.jobs) if job.fixed is None and job.unit not in left_out]
        self.jobs = [season.jobs[i] for i in self.at]
        self.undone = np.array([undone_cost(season, job) for job in self.jobs])
        self.days, scarce = _days(season, self.jobs)
        empty = Workshop(replace(season, travel={}))
        self.units = [_unit(job, empty, self.undone[i], self.days, scarce) for i, job in enumerate(self.jobs)]
        self.scarce = scarce
        self.tolled = np.array([unit.tolled for unit in self.units])
        self.tolls = np.zeros(season.days)
        """What an hour of the grinder costs by day: at which days are asked."""

    def asked(self, u: Floats) -> tuple[float, Floats, list[DaySet]]:
        """Return the bound at these prices, on how many days each unit is done in it, and which units each day does."""
        value, done, sets = self.least(u)
        return value, done, [(day, tuple(self.jobs[i] for i in chosen)) for day, chosen in sets]

    def least(self, u: Floats) -> tuple[float, Floats, list[tuple[int, tuple[int, ...]]]]:
        """Return what `asked` does, units by their number."""
        value, done, sets = _least(self.units, self.days, u, self.tolls)
        return value + self.constant, done, sets

    def left(self, sets: list[tuple[int, tuple[int, ...]]]) -> Floats:
        """Return the hours that days' sets leave of the grinder that has a toll; below 0 where they take too many."""
        left = self.days.tolled.copy()
        for day, chosen in sets:
            left[day] -= self.tolled[list(chosen)].sum()
        return left


def day_bound(
    season: Season,
    prices: Floats,
    target: float,
    go_on: Callable[[], bool],
    left_out: frozenset[str] = frozenset(),
    rounds: int = 3000,
) -> Climbed:
    """Return a proven bound on the cost of any plan of the season, with the sets that days chose at the prices tried.

    Parameters
    ----------
    prices : (jobs,) to begin with: the relaxation's (`bound.Bounded.prices`), or anything
    target : cost of a plan that is known; steers the steps (Polyak), and ends the climb when it is reached
    go_on : asked before each round

    Validity: travel, skills and the other grinders are left out; units whose day was chosen by hand cost what that day
    costs and take no hours.
    Source: Lagrangian relaxation of the assignment, days as knapsacks; standard method, own working.
    """
    days = DayPrices(season, left_out)
    return climbed(days, prices[days.at], target, go_on, rounds)


def climbed(days: DayPrices, prices: Floats, target: float, go_on: Callable[[], bool], rounds: int = 3000) -> Climbed:
    """Return what `day_bound` does, for days made ready; prices of the units it asks about only."""
    if not days.jobs:
        return Climbed(days.constant, (), prices, days.tolls)
    jobs = len(days.jobs)
    most = np.append(days.undone, np.where(days.days.tolled > 0.0, np.inf, 0.0))
    u = best_u = np.clip(np.append(np.nan_to_num(prices), days.tolls), 0.0, most)
    best, step, stale = days.constant, 1.0, 0
    direction = np.zeros(u.size)
    sets: dict[DaySet, None] = {}
    for _ in range(rounds):
        if not go_on():
            break
        days.tolls = u[jobs:]
        value, done, chosen = days.least(u[:jobs])
        sets.update(dict.fromkeys((day, tuple(days.jobs[i] for i in one)) for day, one in chosen))
        if value > best + 1e-7 * max(1.0, best):
            best, best_u, stale = value, u, 0
        else:
            stale += 1
            if stale == MOST_STALE:
                step, stale, u = step / 2.0, 0, best_u
                direction[:] = 0.0
                if step < LEAST_STEP:
                    break
                continue
        slope = np.append(1.0 - done, -days.left(chosen))
        slope[(u >= most) & (slope > 0.0)] = 0.0  # left undone at its full price: settled
        slope[(u <= 0.0) & (slope < 0.0)] = 0.0
        direction = slope + 0.5 * direction
        size = float(direction @ direction)
        if size < _SLACK or best >= target - 1e-6:
            break
        aim = min(target, AIM * best) if best > 0.0 else target
        u = np.clip(u + step * max(aim - value, 1e-3) / size * direction, 0.0, most)
    days.tolls = best_u[jobs:]
    return Climbed(best, tuple(list(sets)[-MOST_SETS:]), best_u[:jobs], days.tolls)


def _days(season: Season, jobs: list[Job]) -> tuple[_Days, str | None]:
    """Return what the days hold, and the kind of grinder that is scarcest."""
    kinds: dict[str, float] = {}
    for job in jobs:
        for phase in job.phases:
            if phase.grinder is not None:
                kinds[phase.grinder] = kinds.get(phase.grinder, 0.0) + phase.hours
    there = {k: np.sum([g.hours for g in season.grinders if k in g.kinds], axis=0) for k in kinds}
    scarce = max(kinds, key=lambda k: kinds[k] / max(float(np.sum(there[k])), 1e-9), default=None)
    hours = {phase.hours for job in jobs for phase in job.phases}
    grid = next((g for g in GRIDS if all(abs(h / g - round(h / g)) < 1e-6 for h in hours)), GRIDS[-1])
    normal = np.sum([person.hours for person in season.technicians], axis=0)
    more = np.sum([overtime(person) for person in season.technicians], axis=0)
    rate = min((p.overtime_cost for p in season.technicians if sum(overtime(p)) > 0.0), default=0.0)
    people = _floor((normal + more) / grid)
    grinder = _floor(there[scarce] / grid) if scarce is not None else np.zeros(season.days, dtype=np.intp)
    states = (int(people.max()) + 1) * (int(grinder.max()) + 1) * season.days * len(jobs)
    tolled = np.zeros(season.days)
    if scarce is not None and states > MOST_STATES:
        tolled, grinder = np.array(there[scarce], dtype=np.float64), np.zeros(season.days, dtype=np.intp)
    steps = np.arange(int(people.max()) + 1)
    extra = rate * np.maximum(0.0, steps * grid - normal[:, None])
    extra[steps > people[:, None]] = np.inf
    return _Days(grid, people, grinder, extra, tolled), scarce


def _floor(steps: Floats) -> Counts:
    return np.asarray(np.floor(steps + 1e-6), dtype=np.intp)


def _unit(job: Job, empty: Workshop, undone: float, days: _Days, scarce: str | None) -> _Unit:
    cost = np.where(np.isfinite(empty.prices(job)), empty.base[job], np.inf)
    cost[cost >= undone] = np.inf
    at = np.flatnonzero(np.isfinite(cost))
    first, last = (int(at[0]), int(at[-1]) + 1) if at.size else (0, 0)
    on_grinder = sum(phase.hours for phase in job.phases if scarce is not None and phase.grinder == scarce)
    tolled = on_grinder if np.any(days.tolled) else 0.0
    steps = _floor(np.array([job.hours, on_grinder - tolled]) / days.grid)
    return _Unit(int(steps[0]), int(steps[1]), first, last, cost[first:last], tolled)


def _least(
    units: list[_Unit], days: _Days, u: Floats, tolls: Floats
) -> tuple[float, Floats, list[tuple[int, tuple[int, ...]]]]:
    """Return the bound at these prices, on how many days each unit is done in it, and which units each day does."""
    width, depth = days.extra.shape[1], int(days.grinder.max()) + 1
    value = np.zeros((days.people.size, width, depth))
    took: list[tuple[int, int, Flags] | None] = []
    for unit, price in zip(units, u, strict=True):
        cost = unit.cost + unit.tolled * tolls[unit.first : unit.last] if unit.tolled else unit.cost
        worth = np.flatnonzero(cost < price)
        if worth.size == 0 or unit.people >= width or unit.grinder >= depth:
            took.append(None)
            continue
        first, last = unit.first + int(worth[0]), unit.first + int(worth[-1]) + 1
        gain = cost[worth[0] : worth[-1] + 1] - price
        here = value[first:last, unit.people :, unit.grinder :]
        with_it = value[first:last, : width - unit.people, : depth - unit.grinder] + gain[:, None, None]
        better = with_it < here
        np.minimum(here, with_it, out=here)
        took.append((first, last, better))
    closed = np.arange(depth)[None, None, :] > days.grinder[:, None, None]
    whole = value + days.extra[:, :, None] + np.where(closed, np.inf, 0.0)
    flat = whole.reshape(days.people.size, -1)
    at = flat.argmin(axis=1)
    total = float(u.sum() + flat[np.arange(at.size), at].sum() - tolls @ days.tolled)
    done, sets = _done(units, took, at // depth, at % depth)
    return total, done, [(day, tuple(chosen)) for day, chosen in enumerate(sets) if chosen]


def _done(
    units: list[_Unit], took: list[tuple[int, int, Flags] | None], people: Counts, grinder: Counts
) -> tuple[Floats, list[list[int]]]:
    """Return on how many days each unit is done, and which units by day, going back through the choices."""
    done = np.zeros(len(units))
    sets: list[list[int]] = [[] for _ in range(people.size)]
    for i in range(len(units) - 1, -1, -1):
        kept = took[i]
        if kept is None:
            continue
        unit, (first, last, better) = units[i], kept
        h, g = people[first:last] - unit.people, grinder[first:last] - unit.grinder
        could = (h >= 0) & (g >= 0)
        chosen = could & better[np.arange(last - first), np.maximum(h, 0), np.maximum(g, 0)]
        people[first:last] -= unit.people * chosen
        grinder[first:last] -= unit.grinder * chosen
        done[i] = chosen.sum()
        for day in np.flatnonzero(chosen).tolist():
            sets[first + day].append(i)
    return done, sets
