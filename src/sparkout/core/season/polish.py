"""Setting stretches of a plan anew, all units of a stretch at once: sets of units that days can do whole, chosen among.

The sets come from the climb of `day_bound`; which of them make the cheapest plan is a small set-packing programme.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable
from collections.abc import Set as AbstractSet
from itertools import chain
from typing import Any, TypeAlias

import numpy as np
from scipy.sparse import csr_array

from sparkout.core.season.assign import Assigned, Assigning, Workshop, freed, replayed
from sparkout.core.season.bound import bounded
from sparkout.core.season.day_bound import MOST_SETS, DayPrices, DaySet, climbed
from sparkout.core.season.jobs import Floats, Job, Season
from sparkout.core.season.solver import Programme, solved

Rows: TypeAlias = tuple[int, ...]
"""A set as rows of the set-packing programme: its units', and last its day's, after those of all units."""

PART_JOBS = 36
"""Units set anew at once."""
PART_SECONDS = 1.5
SURE, LEAST_SHARE = 0.8, 0.01
"""Share of a set in the best mixture above which it is settled beside a surer one, and below which it is none."""
ASKED, LEAST_GAIN = 10, 1e-3
"""Times that days are asked again before sets are settled, and the share of the cost by which each must help."""
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


def by_day(placed: Iterable[tuple[Job, int]]) -> list[DaySet]:
    """Return placed units as sets by day."""
    days: dict[int, list[Job]] = {}
    for job, day in placed:
        days.setdefault(day, []).append(job)
    return [(day, tuple(jobs)) for day, jobs in days.items()]


class DaySets:
    """Sets of units that days of a season can do whole, each with its cost."""

    def __init__(self, season: Season, left_out: frozenset[str] = frozenset()) -> None:
        self.season, self.left_out = season, left_out
        self.days = DayPrices(season, left_out)
        self.shop = Workshop(season)
        self.row = {job: i for i, job in enumerate(self.days.jobs)}
        self.cost: dict[Rows, float] = {}
        self.nearest: list[int | None] = [None] * len(self.days.jobs)
        """Days of the units in the relaxation: that which has most of each."""
        self.bound = 0.0
        self.prices = np.zeros(len(self.days.jobs))
        """At which days asked prove the bound, or nearly."""
        self.worth = self.days.undone
        """Most that a unit's being done may be worth in a mixture; once prices are known, a day late above them."""

    def add(self, sets: Iterable[DaySet]) -> int:
        """Take in the sets that people and grinders can really do; returns how many were new."""
        before = len(self.cost)
        for day, jobs in sets:
            if not all(job in self.row for job in jobs):
                continue  # a day chosen by hand: not asked about
            one = (*sorted(self.row[job] for job in jobs), len(self.row) + day)
            if one not in self.cost and (cost := self._priced(day, jobs)) is not None:
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
        return sum(one.cost for _, one in taken)

    def gathered(self, target: float, seconds: float, more: Callable[[], bool] = lambda: True) -> None:
        """Look for sets: by climbing, at the prices of the best mixture of sets so far, and about the best prices."""
        began = time.monotonic()

        def until(share: float) -> Callable[[], bool]:
            return lambda: time.monotonic() - began < share * seconds and more()

        relaxed = bounded(self.season, seconds / 2.0, self.left_out, whole=False)
        prices, self.bound = relaxed.prices, relaxed.bound
        if relaxed.days is not None:
            self.nearest = [relaxed.days[i] for i in self.days.at]
        start = np.array(prices)[self.days.at] if prices else np.zeros(len(self.days.jobs))
        if self.days.days.tolled.any():
            kind = str(self.days.scarce)
            self.days.tolls = np.array([relaxed.tolls.get((kind, day), 0.0) for day in range(self.season.days)])
        found = climbed(self.days, start, target, until(0.35))
        self.bound, self.prices, u = max(self.bound, found.bound), found.prices, found.prices
        self.add(found.sets)
        # A mixture of too few sets leaves units out; asked for at the price of that, days would do nothing but those.
        self.worth = np.minimum(self.days.undone, u + [job.importance for job in self.days.jobs])
        go_on = until(0.65)
        while go_on() and self.cost:
            value, mixed, _ = self._mixed()
            u = 0.5 * (mixed + u)
            asked = np.clip(u, 0.0, self.days.undone)
            bound, _, sets = self.days.asked(asked)
            if bound > self.bound:
                self.bound, self.prices = bound, asked
            new = self.add(sets)
            if value <= self.bound + 1e-6 * abs(self.bound) or (not new and np.allclose(u, mixed)):
                break
        go_on, rng = until(1.0), np.random.default_rng(0)
        while go_on() and len(self.cost) < MOST_SETS:
            self.add(
                self.days.asked(np.clip(u * (1.0 + 0.1 * rng.random() * rng.standard_normal(u.size)), 0.0, None))[2]
            )

    def _programme(self, sets: list[Rows], worth: Floats) -> tuple[Floats, Any]:
        """Return what each set costs less what its units are worth, and sets as columns of a sparse matrix."""
        rows = np.fromiter(chain.from_iterable(sets), dtype=np.intp)
        columns = np.repeat(np.arange(len(sets)), [len(one) for one in sets])
        shape = (len(self.row) + self.season.days, len(sets))
        matrix = csr_array((np.ones(rows.size), (rows, columns)), shape=shape)
        return np.array([self.cost[one] for one in sets]) - matrix[: len(self.row)].T @ worth, matrix

    def _mixed(self, settled: AbstractSet[int] = frozenset()) -> tuple[float, Floats, dict[Rows, float]]:
        """Return the cost of the best mixture of sets, the prices of the units in it, and each set's share in it.

        `settled`: rows of units and days that are no longer asked about; their units have the price 0.
        """
        from scipy.optimize import linprog

        open_ = np.array([row not in settled for row in range(len(self.row))])
        sets = [one for one in self.cost if settled.isdisjoint(one)]
        left = np.where(open_, self.worth, 0.0)
        if not sets:
            return float(left.sum()) + self.days.constant, left, {}
        cost, matrix = self._programme(sets, self.worth)
        found = linprog(cost, A_ub=matrix, b_ub=np.ones(matrix.shape[0]), method="highs")
        prices = np.where(open_, self.worth + np.asarray(found.ineqlin.marginals)[: len(self.row)], 0.0)
        share = dict(zip(sets, np.asarray(found.x).tolist(), strict=True))
        return float(found.fun or 0.0) + float(left.sum()) + self.days.constant, prices, share

    def dived(self, seconds: float, go_on: Callable[[], bool] = lambda: True) -> list[tuple[Job, int]]:
        """Return units and days of sets settled one after the other, those first that the best mixture is surest of.

        After each, days are asked again at the prices of what is left, so that sets fit about what is settled. As many
        are settled at once as the days there are and the time ask for.
        """
        began, days = time.monotonic(), np.count_nonzero(self.days.days.people)
        settled: list[Rows] = []
        rows: set[int] = set()
        while self.cost and go_on():
            share, before = self._asked_again(rows), len(settled)
            least = max(before + 1, days * (time.monotonic() - began) / seconds)
            for one in sorted(share, key=lambda one: -share[one]):
                if share[one] < (SURE if len(settled) >= least else LEAST_SHARE):
                    break
                if rows.isdisjoint(one):
                    settled.append(one)
                    rows.update(one)
            if len(settled) == before:
                break
        return self._placed(settled)

    def _asked_again(self, settled: AbstractSet[int]) -> dict[Rows, float]:
        """Ask the days at the prices of the best mixture until it gets no cheaper; return each set's share in it."""
        value, prices, share = self._mixed(settled)
        for _ in range(ASKED):
            sets = self.days.asked(np.clip(prices, 0.0, self.worth))[2]
            if not self.add(one for one in sets if len(self.row) + one[0] not in settled):
                break
            before = value
            value, prices, share = self._mixed(settled)
            if value > before - LEAST_GAIN * abs(before):
                break
        return share

    def chosen(self, seconds: float, go_on: Callable[[], bool] = lambda: True) -> list[tuple[Job, int]]:
        """Return the cheapest choice of sets found, a day at most one and a unit at most once, as units and days."""
        if not self.cost:
            return []
        sets = list(self.cost)
        cost, matrix = self._programme(sets, self.days.undone)
        whole = np.ones(cost.size, dtype=np.intp)
        found = solved(Programme(cost, 1.0, whole, matrix, -np.inf, 1.0, 1e-4), seconds, go_on)
        if found.columns is None:
            return []
        return self._placed([sets[k] for k in np.flatnonzero(found.columns > 0.5).tolist()])

    def _placed(self, sets: list[Rows]) -> list[tuple[Job, int]]:
        """Return units and days of sets, the longest unit of a day first, as the sets were priced."""
        days = [(day - len(self.row), [self.days.jobs[i] for i in units]) for *units, day in sets]
        return [(job, day) for day, jobs in days for job in sorted(jobs, key=lambda job: -job.hours)]


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
