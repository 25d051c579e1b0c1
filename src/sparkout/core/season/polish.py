"""Setting stretches of a plan anew, all units of a stretch at once: sets of units that days can do whole, chosen among.

The sets come from the climb of `day_bound`; which of them make the cheapest plan is a small set-packing programme.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from typing import Any

import numpy as np
from scipy.sparse import csr_array

from sparkout.core.season.assign import Assigned, Assigning, Workshop, freed, replayed
from sparkout.core.season.bound import bounded
from sparkout.core.season.day_bound import MOST_SETS, DayPrices, DaySet, climbed
from sparkout.core.season.jobs import Floats, Job, Season

PART_JOBS = 36
"""Units set anew at once."""
PART_SECONDS = 1.5
SURE, LEAST_SHARE = 0.8, 0.01
"""Share of a set in the best mixture above which it is settled beside a surer one, and below which it is none."""
_HARD = 1e-9


def polished(
    season: Season,
    start: Assigned,
    rng: np.random.Generator,
    go_on: Callable[[int, float], bool],
    left_out: frozenset[str] = frozenset(),
) -> Assigned:
    """Return a plan no dearer than `start`: the units of a stretch of days are set anew all at once, again and again.

    `go_on` as in `assign.improved`.
    """
    made = replayed(season, start, left_out)
    movable = [job for job in made.jobs if job.fixed is None]
    rounds = 0
    while movable and go_on(rounds, made.cost):
        rounds += 1
        set_anew(made, _stretch(made, movable, rng))
        if len(movable) <= PART_JOBS and rounds >= 3:
            break  # the stretch is everything, and each round the same
    return made.frozen(rounds)


def set_anew(made: Assigning, jobs: list[Job], seconds: float = PART_SECONDS) -> None:
    """Set these units' days anew, all others staying; the plan stays as it is where nothing cheaper is found."""
    before, chosen = made.cost, set(jobs)
    back = [(job, taken.day) for job, taken in made.taken.items() if job in chosen]
    part = freed(made, jobs)
    sets = DaySets(part)
    sets.add(by_day(back))
    sets.gathered(before - made.cost + sum(made.undone[job] for job in jobs), seconds)
    for job, day in sets.chosen(seconds / 2.0):
        if np.isfinite(made.workshop.prices(job)[day]):
            made.put(job, day)
    for job in jobs:
        if job not in made.taken:
            made.place(job)
    if made.cost > before + 1e-9:
        for job in jobs:
            if job in made.taken:
                made.remove(job)
        for job, day in back:
            made.put(job, day)


def settled_about(
    season: Season, settled: list[tuple[Job, int]], left_out: frozenset[str], seconds: float = 2.0 * PART_SECONDS
) -> Assigned:
    """Return the plan with days chosen by hand and these, all other units set at once in what hours are left."""
    made = Assigning(season, left_out)
    for job in made.jobs:
        if job.fixed is not None:
            made.put(job, job.fixed)
    for job, day in settled:
        if np.isfinite(made.workshop.prices(job)[day]):
            made.put(job, day)
    rest = [job for job in made.jobs if job not in made.taken]
    if rest:
        set_anew(made, rest, seconds)
    return made.frozen(0)


def by_day(placed: Iterable[tuple[Job, int]]) -> list[DaySet]:
    """Return placed units as sets by day."""
    days: dict[int, list[Job]] = {}
    for job, day in placed:
        days.setdefault(day, []).append(job)
    return [(day, tuple(jobs)) for day, jobs in days.items()]


class DaySets:
    """Sets of units that days of a season can do whole, each with its cost less that of leaving its units undone."""

    def __init__(self, season: Season, left_out: frozenset[str] = frozenset()) -> None:
        self.season, self.left_out = season, left_out
        self.days = DayPrices(season, left_out)
        self.shop = Workshop(season)
        self.row = {job: i for i, job in enumerate(self.days.jobs)}
        self.cost: dict[DaySet, float] = {}
        self.bound = 0.0

    def add(self, sets: Iterable[DaySet]) -> int:
        """Take in the sets that people and grinders can really do; returns how many were new."""
        before = len(self.cost)
        for day, jobs in sets:
            if not all(job in self.row for job in jobs):
                continue  # a day chosen by hand: not asked about
            one = (day, tuple(sorted(jobs, key=self.row.__getitem__)))
            if one not in self.cost and (cost := self._priced(*one)) is not None:
                self.cost[one] = cost
        return len(self.cost) - before

    def _priced(self, day: int, jobs: tuple[Job, ...]) -> float | None:
        """Return what a set costs on a day, None when it does not fit. The longest unit first, as a plan takes them."""
        taken = []
        for job in sorted(jobs, key=lambda job: -job.hours):
            taken.append((job, self.shop.take(job, day)))
            if taken[-1][1].forced > _HARD:
                break
        for job, one in reversed(taken):
            self.shop.give_back(job, one)
        if taken[-1][1].forced > _HARD:
            return None
        return sum(one.cost for _, one in taken) - sum(float(self.days.undone[self.row[job]]) for job in jobs)

    def gathered(self, target: float, seconds: float, more: Callable[[], bool] = lambda: True) -> None:
        """Look for sets: by climbing, at the prices of the best mixture of sets so far, and about the best prices."""
        began = time.monotonic()

        def until(share: float) -> Callable[[], bool]:
            return lambda: time.monotonic() - began < share * seconds and more()

        relaxed = bounded(self.season, seconds / 2.0, self.left_out, whole=False)
        prices, self.bound = relaxed.prices, relaxed.bound
        start = np.array(prices)[self.days.at] if prices else np.zeros(len(self.days.jobs))
        found = climbed(self.days, start, target, until(0.35))
        self.bound, u = max(self.bound, found.bound), found.prices
        self.add(found.sets)
        go_on = until(0.65)
        while go_on() and self.cost:
            value, mixed, _ = self._mixed()
            u = 0.5 * (mixed + u)
            bound, _, sets = self.days.asked(np.clip(u, 0.0, self.days.undone))
            self.bound = max(self.bound, bound)
            new = self.add(sets)
            if value <= self.bound + 1e-6 * abs(self.bound) or (not new and np.allclose(u, mixed)):
                break
        go_on, rng = until(1.0), np.random.default_rng(0)
        while go_on() and len(self.cost) < MOST_SETS:
            self.add(
                self.days.asked(np.clip(u * (1.0 + 0.1 * rng.random() * rng.standard_normal(u.size)), 0.0, None))[2]
            )

    def _programme(self) -> tuple[Floats, Any]:
        sets = list(self.cost)
        rows = [row for day, jobs in sets for row in (*(self.row[job] for job in jobs), len(self.row) + day)]
        columns = [k for k, (_, jobs) in enumerate(sets) for _ in range(len(jobs) + 1)]
        shape = (len(self.row) + self.season.days, len(sets))
        matrix = csr_array((np.ones(len(rows)), (rows, columns)), shape=shape)
        return np.array([self.cost[one] for one in sets]), matrix

    def _mixed(self, limits: Floats | None = None) -> tuple[float, Floats, Floats]:
        """Return the cost of the best mixture of sets, the prices of the units in it, and each set's share in it.

        `limits`: 0 for units (first) and days (then) that are settled, 1 for those that are not.
        """
        from scipy.optimize import linprog

        cost, matrix = self._programme()
        limits = np.ones(len(self.row) + self.season.days) if limits is None else limits
        found = linprog(cost, A_ub=matrix, b_ub=limits, method="highs")
        prices = self.days.undone + np.asarray(found.ineqlin.marginals)[: len(self.row)]
        value = float(found.fun or 0.0) + float(self.days.undone.sum()) + self.days.constant
        return value, prices, np.asarray(found.x)

    def dived(self, go_on: Callable[[], bool]) -> list[tuple[Job, int]]:
        """Return units and days of sets settled one after the other, those first that the best mixture is surest of.

        After each, days are asked again at the prices of what is left, so that sets fit about what is settled; until so
        few units are left that they can be set all at once.
        """
        units = len(self.row)
        limits = np.ones(units + self.season.days)
        settled: list[DaySet] = []
        while self.cost and limits[:units].sum() > PART_JOBS and go_on():
            _, prices, _ = self._mixed(limits)
            self.add(self.days.asked(np.where(limits[:units] > 0.0, np.clip(prices, 0.0, self.days.undone), 0.0))[2])
            share, sets, before = self._mixed(limits)[2], list(self.cost), len(settled)
            for k in np.argsort(-share, kind="stable").tolist():
                if share[k] < (SURE if len(settled) > before else LEAST_SHARE):
                    break
                day, jobs = sets[k]
                rows = [units + day, *(self.row[job] for job in jobs)]
                if limits[rows].all():
                    settled.append(sets[k])
                    limits[rows] = 0.0
            if len(settled) == before:
                break
        return _in_order(settled)

    def chosen(self, seconds: float) -> list[tuple[Job, int]]:
        """Return the cheapest choice of sets found, a day at most one and a unit at most once, as units and days."""
        from scipy.optimize import Bounds, LinearConstraint, milp

        if not self.cost:
            return []
        sets = list(self.cost)
        cost, matrix = self._programme()
        found = milp(
            cost,
            integrality=np.ones(cost.size, dtype=np.intp),
            bounds=Bounds(0.0, 1.0),
            constraints=LinearConstraint(matrix, -np.inf, 1.0),
            options={"time_limit": seconds, "mip_rel_gap": 1e-4},
        )
        if found.x is None:
            return []
        return _in_order([sets[k] for k in np.flatnonzero(found.x > 0.5).tolist()])


def _in_order(sets: list[DaySet]) -> list[tuple[Job, int]]:
    """Return units and days of sets, the longest unit of a day first, as the sets were priced."""
    return [(job, day) for day, jobs in sets for job in sorted(jobs, key=lambda job: -job.hours)]


def _stretch(made: Assigning, movable: list[Job], rng: np.random.Generator) -> list[Job]:
    """Return the jobs nearest one costly job in time, about `PART_JOBS` of them, visits to a place whole."""
    costs = np.array([made.taken[job].cost if job in made.taken else made.undone[job] for job in movable])
    chance = costs + 0.1 * costs.mean() + 1e-9
    seed = movable[int(rng.choice(len(movable), p=chance / chance.sum()))]
    middle = made.taken[seed].day if seed in made.taken and rng.random() < 0.5 else seed.due

    def away(job: Job) -> float:
        at = made.taken[job].day if job in made.taken else job.due
        return min(abs(at - middle), 2.0 * abs(job.due - middle)) + float(rng.random())

    chosen: dict[Job, None] = {seed: None}
    for job in sorted(movable, key=away)[:PART_JOBS]:
        chosen.update(dict.fromkeys(made.together(job)))
    return [job for job in chosen if job.fixed is None]
