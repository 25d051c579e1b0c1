"""A search over a whole season at once: the best move of one unit, or exchange of two units' days, over and over.

What every exchange of two units would bring stands in one table, of which a step changes only the rows of the two days
it touches; so a step costs little even with hundreds of units. Days may hold too much for a while, at a price by the
hour. A unit just moved stays for some steps, so that the search leaves the places where nothing near is better.

Source: tabu search, a standard method; own working.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from sparkout.core.season.assign import Workshop
from sparkout.core.season.day_bound import Counts
from sparkout.core.season.jobs import Floats, Job, Season, overtime, undone_cost

MOST_UNITS = 2000
"""More have too large a table."""
STAYS, IN_VAIN = 12, 1000
"""Steps for which a unit just moved stays, and after which without anything better the search ends."""
EXCESS = 20.0
"""What an hour more than a day holds costs in the search, at first; twice as much after so many steps without a plan
that fits."""
DEARER = 50
_FEASIBLE = 1e-6


class Exchange:
    """Units on days (the last column: left undone), what days hold, and what each exchange and move would bring."""

    def __init__(self, season: Season, jobs: Sequence[Job], days: Sequence[int | None]) -> None:
        shop = Workshop(season)
        undone = np.array([undone_cost(season, job) for job in jobs])
        self.cost: Floats = np.column_stack([np.array([shop.base[job] for job in jobs]), undone])
        self.cost[np.isinf(self.cost)] = 1e9
        self.at: Counts = np.array([season.days if day is None else day for day in days], dtype=np.intp)
        self.use, self.most = _resources(season, jobs, shop)
        self.normal = np.append(np.sum([person.hours for person in season.technicians], axis=0), np.inf)
        self.rate = min((p.overtime_cost for p in season.technicians if sum(overtime(p)) > 0.0), default=0.0)
        self.excess_cost = EXCESS
        self.load: Floats = np.zeros(self.most.shape)
        np.add.at(self.load, self.at, self.use)
        self.exchange = np.zeros((len(jobs), len(jobs)))
        self.move = np.zeros(self.cost.shape)
        self._renewed(np.arange(season.days + 1))

    def _over(self, load: Floats, day: Counts) -> Floats:
        """Return what such a load (..., resources) costs on days: overtime, and hours above what they hold."""
        extra = self.rate * np.maximum(load[..., 0] - self.normal[day], 0.0)
        for r in range(self.use.shape[1]):
            extra += self.excess_cost * np.maximum(load[..., r] - self.most[day, r] - 1e-9, 0.0)
        return np.asarray(extra)

    def excess(self) -> float:
        """Return the hours that days are asked for beyond what they hold."""
        return float(np.maximum(self.load - self.most, 0.0).sum())

    def dearer(self) -> None:
        """Let hours beyond what days hold cost twice as much."""
        self.excess_cost *= 2.0
        self._renewed(np.arange(self.load.shape[0]))

    def total(self) -> float:
        """Return what the plan costs as it stands."""
        return float(self._own().sum() + self._over(self.load, np.arange(self.load.shape[0])).sum())

    def _own(self) -> Floats:
        """Return what each unit costs on its day."""
        return np.take_along_axis(self.cost, self.at[:, None], axis=1)[:, 0]

    def _renewed(self, days: Counts) -> None:
        """Reckon anew what moves and exchanges would bring that touch these days."""
        at, load, use = self.at, self.load, self.use
        own, every = self._own(), np.arange(load.shape[0])
        now = self._over(load, every)
        rid = self._over(load[at] - use, at) - now[at] - own
        there = self._over(np.expand_dims(load[days], 0) + np.expand_dims(use, 1), days) - now[days]
        self.move[:, days] = self.cost[:, days] + there + rid[:, None]
        some = np.flatnonzero(np.isin(at, days))
        there = self._over(np.expand_dims(load, 0) + np.expand_dims(use[some], 1), every) - now
        self.move[some] = self.cost[some] + there + rid[some, None]
        self.move[np.arange(at.size), at] = 0.0
        to = self.cost[some][:, at] + self._over(load[at][None] + use[some, None] - use[None], at) - now[at]
        back = self.cost[:, at[some]].T + self._over(
            load[at[some]][:, None] + use[None] - use[some, None], at[some, None]
        )
        found = to + back - now[at[some], None] - own[some, None] - own[None]
        found[at[some, None] == at[None]] = 0.0
        self.exchange[some] = found
        self.exchange[:, some] = found.T

    def step(self, stay: Floats) -> list[int]:
        """Make the best move or exchange; `stay` (units,) is infinite for units that stay. Returns which moved."""
        moves = self.move + stay[:, None]
        moves[np.arange(self.at.size), self.at] = np.inf
        pairs = self.exchange + stay
        pairs += stay[:, None]
        pairs[self.exchange == 0.0] = np.inf
        one, two = int(moves.argmin()), int(pairs.argmin())
        if moves.flat[one] <= pairs.flat[two]:
            unit, day = divmod(one, moves.shape[1])
            return self._put([unit], [day])
        a, b = divmod(two, self.at.size)
        return self._put([a, b], [int(self.at[b]), int(self.at[a])])

    def _put(self, units: list[int], days: list[int]) -> list[int]:
        touched = np.unique([*self.at[units].tolist(), *days])
        for unit, day in zip(units, days, strict=True):
            self.load[self.at[unit]] -= self.use[unit]
            self.load[day] += self.use[unit]
            self.at[unit] = day
        self._renewed(touched)
        return units


def exchanged(
    season: Season, jobs: Sequence[Job], days: Sequence[int | None], go_on: Callable[[int, float], bool]
) -> list[int | None]:
    """Return days of units that cost no more than those given, as far as hours summed up by day can tell.

    Parameters
    ----------
    jobs : without a day chosen by hand
    days : of each, to begin with; None: left undone
    go_on : asked before each step, with the steps done and the best cost
    """
    made = Exchange(season, jobs, days)
    best, kept, steps, last = np.inf, made.at.copy(), 0, 0
    free, fits = np.zeros(len(jobs), dtype=np.intp), False
    while steps - last < IN_VAIN and go_on(steps, best):
        total, fit = made.total(), made.excess() < _FEASIBLE
        if best == np.inf or (fit and (not fits or total < best - 1e-9)):
            best, kept, last, fits = total, made.at.copy(), steps, fit
        if not fits and steps % DEARER == DEARER - 1:
            made.dearer()
        for unit in made.step(np.where(free > steps, np.inf, 0.0)):
            free[unit] = steps + STAYS + (7 * steps) % 5
        steps += 1
    return [None if day == season.days else day for day in kept.tolist()]


def _resources(season: Season, jobs: Sequence[Job], shop: Workshop) -> tuple[Floats, Floats]:
    """Return what units use (units, resources) and days hold (days and undone, resources).

    All hours of people first; then those of each skill that not all have, and of each kind of grinder.
    """
    for job in season.jobs:
        if job.fixed is not None:  # what a day chosen by hand takes is not there
            shop.take(job, job.fixed)
    hours = shop.free + shop.over
    use, most = [[job.hours for job in jobs]], [hours.sum(axis=0)]
    groups = {frozenset(able) for able in shop.able.values() if len(able) < len(season.technicians)}
    for people in sorted(groups, key=sorted):
        inside = {skill for skill, able in shop.able.items() if people.issuperset(able)}
        use.append([sum(phase.hours for phase in job.phases if phase.skill in inside) for job in jobs])
        most.append(hours[sorted(people)].sum(axis=0))
    for kind, fit in shop.fit.items():
        use.append([sum(phase.hours for phase in job.phases if phase.grinder == kind) for job in jobs])
        most.append(shop.grinding[fit].sum(axis=0))
    return np.array(use).T, np.column_stack([np.array(most), np.full(len(most), np.inf)]).T
