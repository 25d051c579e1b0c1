"""Every set of units that days could do in a plan cheaper than one known, and the cheapest choice among them.

At any prices of the units, a plan that costs less than the bound they prove (`day_bound`) plus a gap has on each day a
set that comes within the gap of the day's best: the plan's cost above the bound is the sum of what its days' sets lie
above their days' best, and none of these is negative. Where the bound is near, such sets are few enough to be had one
and all; the cheapest choice among them is then the best plan there is, or every plan is dearer than bound and gap.

Source: enumeration within the gap, a standard device of set partitioning (routes: Baldacci et al. 2008, from memory);
own working.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sparkout.core.season.day_bound import Counts, DayPrices
from sparkout.core.season.jobs import Floats, Job
from sparkout.core.season.solver import Programme, solved

MOST_SETS = 25_000
"""So many sets are chosen among at most."""
LEAST_GAP = 0.1
"""Share of the whole gap down to which it is halved while there are too many sets."""


@dataclass(frozen=True, slots=True)
class Near:
    """Sets within a gap of their days' best: the day and cost of each, and its units as pairs of unit and set."""

    day: Counts
    cost: Floats
    unit: Counts
    of_set: Counts


@dataclass(frozen=True, slots=True)
class Cheapest:
    """A proven bound, and units with their days in the cheapest choice found, none where no cheaper than known."""

    bound: float
    placed: list[tuple[Job, int]]


def cheapest(
    days: DayPrices, prices: Floats, target: float, seconds: float, go_on: Callable[[], bool] = lambda: True
) -> Cheapest:
    """Return a proven bound and the cheapest choice of sets that costs less than the target.

    Parameters
    ----------
    prices : of the units, at which the bound is good
    target : cost of a plan that is known
    go_on : asked while the solver works; False ends it

    Validity: as `day_bound.day_bound`; what it leaves out may keep the choice from being a plan.
    """
    bound = days.asked(prices)[0]
    gap = target - bound
    near = near_sets(days, prices, gap, MOST_SETS)
    while near is None and gap > LEAST_GAP * (target - bound):
        gap /= 2.0
        near = near_sets(days, prices, gap, MOST_SETS)
    if near is None:
        return Cheapest(bound, [])
    cost, proven, placed = _chosen(days, near, seconds, go_on)
    return Cheapest(max(bound, min(proven, bound + gap)), placed if cost < target else [])


def near_sets(days: DayPrices, prices: Floats, gap: float, most: int) -> Near | None:
    """Return every set of units that comes within a gap of its day's best at these prices; None: more than `most`."""
    found: list[tuple[int, Floats, Counts, Counts]] = []
    count = 0
    for day in range(days.days.people.size):
        one = _of_day(days, prices, day, gap, most - count)
        if one is None:
            return None
        found.append((day, one[0], one[1], one[2] + count))
        count += one[0].size
    return Near(
        np.concatenate([np.full(cost.size, day, dtype=np.intp) for day, cost, _, _ in found]),
        *(np.concatenate([one[i] for one in found]) for i in (1, 2, 3)),
    )


def _of_day(days: DayPrices, prices: Floats, day: int, gap: float, most: int) -> tuple[Floats, Counts, Counts] | None:
    """Return the cost of each set of a day, and which unit is in which set: those within the gap of the day's best.

    A set is made unit by unit, and let go when even the best that may still join it leaves it above the gap.
    """
    of_day = days.days
    people, grinder = int(of_day.people[day]), int(of_day.grinder[day])
    units = [(i, one) for i, one in enumerate(days.units) if one.first <= day < one.last]
    worth = [(i, one, one.cost[day - one.first]) for i, one in units if one.people <= people and one.grinder <= grinder]
    items = [(i, one, cost) for i, one, cost in worth if np.isfinite(cost)]
    best = [np.repeat(of_day.extra[day, : people + 1, None], grinder + 1, axis=1)]
    for i, one, cost in reversed(items):  # least that this unit and those after may bring, by steps taken before
        with_it = best[-1][one.people :, one.grinder :] + (cost - prices[i])
        best.append(best[-1].copy())
        here = best[-1][: with_it.shape[0], : with_it.shape[1]]
        np.minimum(here, with_it, out=here)
    best.reverse()
    above, h, g = np.array([-best[0][0, 0]]), np.zeros(1, dtype=np.intp), np.zeros(1, dtype=np.intp)
    dear, last = np.zeros(1), np.zeros(1, dtype=np.intp)  # what it costs, and its last link
    before, unit, links = [np.zeros(1, dtype=np.intp)], [np.full(1, -1, dtype=np.intp)], 1
    for (i, one, cost), rest in zip(items, best[1:], strict=True):
        could = np.flatnonzero((h + one.people <= people) & (g + one.grinder <= grinder))
        more = above[could] + (cost - prices[i])
        could = could[more + rest[h[could] + one.people, g[could] + one.grinder] <= gap]
        stay = np.flatnonzero(above + rest[h, g] <= gap)
        before.append(last[could])
        unit.append(np.full(could.size, i, dtype=np.intp))
        last = np.concatenate([last[stay], np.arange(links, links + could.size)])
        links += could.size
        above = np.concatenate([above[stay], above[could] + (cost - prices[i])])
        dear = np.concatenate([dear[stay], dear[could] + cost])
        h, g = (
            np.concatenate([h[stay], h[could] + one.people]),
            np.concatenate([g[stay], g[could] + one.grinder]),
        )
        if last.size > most:
            return None
    dear = dear + of_day.extra[day, h]
    back, units_of = np.concatenate(before), np.concatenate(unit)
    full = np.flatnonzero(last > 0)  # nothing done needs no set
    dear, last, at = dear[full], last[full], np.arange(full.size)
    of, in_set = [], []
    while at.size:
        of.append(units_of[last])
        in_set.append(at)
        last = back[last]
        at, last = at[last > 0], last[last > 0]
    none = np.zeros(0, dtype=np.intp)
    return dear, np.concatenate([none, *of]), np.concatenate([none, *in_set])


def _chosen(
    days: DayPrices, near: Near, seconds: float, go_on: Callable[[], bool]
) -> tuple[float, float, list[tuple[Job, int]]]:
    """Return cost and proven bound of the cheapest choice of these sets, and its units with their days."""
    from scipy.sparse import csr_array

    sets, jobs = near.day.size, len(days.jobs)
    none = float(days.undone.sum()) + days.constant
    if not sets:
        return none, none, []
    rows = np.concatenate([near.unit, jobs + near.day])
    columns = np.concatenate([near.of_set, np.arange(sets)])
    matrix = csr_array((np.ones(rows.size), (rows, columns)), shape=(jobs + days.days.people.size, sets))
    whole = np.ones(sets, dtype=np.intp)
    cost = near.cost - matrix[:jobs].T @ days.undone
    found = solved(Programme(cost, 1.0, whole, matrix, -np.inf, 1.0, 1e-6), seconds, go_on)
    bound = -np.inf if found.bound is None else none + found.bound
    if found.columns is None:
        return np.inf, bound, []
    taken = found.columns[near.of_set] > 0.5
    at = near.day[near.of_set[taken]].tolist()
    return (
        none + found.cost,
        bound,
        [(days.jobs[i], day) for i, day in zip(near.unit[taken].tolist(), at, strict=True)],
    )
