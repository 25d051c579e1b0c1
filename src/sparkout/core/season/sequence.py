"""In which order jobs on one grinder go, so that lateness by importance is least: single-machine weighted tardiness.

Many sequences are improved side by side. For each, one table holds what the first k jobs would cost if all of them were
shifted by s; with it every swap and every move of one job to another place is priced at once.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sparkout.core.errors import OutOfRange, all_within, within

Whole: TypeAlias = NDArray[np.int64]
Orders: TypeAlias = NDArray[np.intp]
LONGEST = 400
"""Longest processing time in steps of time: the table of shifts grows with it."""
_AT_ONCE = 4_000_000
"""Table entries worked at a time: what fits in the processor's cache with room for copies."""


@dataclass(frozen=True, slots=True)
class Sequenced:
    """The best order found for each set of jobs, (sets, jobs), its cost, and the rounds of search spent."""

    orders: Orders
    costs: Whole
    rounds: int


def weighted_tardiness(times: ArrayLike, weights: ArrayLike, due: ArrayLike, orders: ArrayLike) -> Whole:
    """Return Σ weight · max(0, completion − due) of jobs done in these orders.

    Examples
    --------
    >>> weighted_tardiness([[3, 2]], [[1, 4]], [[3, 2]], [[0, 1], [1, 0]]).tolist()
    [12, 2]
    """
    order = np.asarray(orders, dtype=np.intp)
    p, w, d = (np.broadcast_to(np.asarray(one, dtype=np.int64), order.shape) for one in (times, weights, due))
    p, w, d = (np.take_along_axis(one, order, axis=1) for one in (p, w, d))
    return np.asarray((w * np.maximum(np.cumsum(p, axis=1) - d, 0)).sum(axis=1))


def sequenced(
    times: ArrayLike,
    weights: ArrayLike,
    due: ArrayLike,
    rng: np.random.Generator,
    rounds: int = 50,
    starts: int = 4,
    enough: ArrayLike | None = None,
    go_on: Callable[[int, Whole], bool] | None = None,
) -> Sequenced:
    """Return orders with little weighted tardiness: local search over swaps and insertions, kicked and repeated.

    Parameters
    ----------
    times, weights, due : (sets, jobs) whole numbers, steps of time
        Several sets of jobs at once; a set with fewer jobs is filled up with jobs of no time and no weight.
    rounds : kicks after which the search ends
    starts : sequences kept for each set
    enough : (sets,) costs at which a set is done (a bound, or a known optimum)
    go_on : called after each round with its number and the costs so far; False ends the search

    Raises
    ------
    OutOfRange
        Times above `LONGEST` or below 0, weights below 0, arrays that differ in shape.

    Examples
    --------
    >>> found = sequenced([[3, 2, 4]], [[1, 4, 2]], [[3, 2, 6]], np.random.default_rng(1))
    >>> found.orders.tolist(), found.costs.tolist()
    ([[1, 2, 0]], [6])

    Validity: one machine, jobs ready at 0 and not interrupted. Optimal in each of the 125 public instances of 40 jobs
    tried (tests/published); no proof comes with an order: compare with a bound.
    """
    p, w, d = _checked(times, weights, due)
    sets, jobs = p.shape
    done_at = np.full(sets, -1) if enough is None else np.asarray(enough, dtype=np.int64)
    order = _first_orders(p, w, d, starts, rng)
    of = np.repeat(np.arange(sets), starts)
    order, cost = _descended(p[of], w[of], d[of], order)
    best, best_cost = order.copy(), cost.copy()
    spent = 0
    for spent in range(1, rounds + 1):
        least = best_cost.reshape(sets, starts).min(axis=1)
        open_ = np.flatnonzero((least > np.maximum(done_at, 0))[of])
        if open_.size == 0 or (go_on is not None and not go_on(spent, least)):
            break
        at = of[open_]
        kicked = _kicked(best[open_], rng)
        tried, tried_cost = _descended(p[at], w[at], d[at], kicked)
        better = tried_cost <= best_cost[open_]
        best[open_[better]], best_cost[open_[better]] = tried[better], tried_cost[better]
        if spent % 20 == 0:
            _spread(best, best_cost, sets, starts)
    costs = best_cost.reshape(sets, starts)
    winner = costs.argmin(axis=1)
    return Sequenced(best.reshape(sets, starts, jobs)[np.arange(sets), winner], costs.min(axis=1), spent)


def _checked(times: ArrayLike, weights: ArrayLike, due: ArrayLike) -> tuple[Whole, Whole, Whole]:
    arrays = [np.atleast_2d(np.asarray(one)) for one in (times, weights, due)]
    if len({one.shape for one in arrays}) > 1 or arrays[0].size == 0:
        raise OutOfRange("times, weights, due", [one.shape for one in arrays], "the same shape, not empty")
    all_within("times", arrays[0], 0, LONGEST, "steps")
    all_within("weights", arrays[1], 0, 1e6)
    all_within("due", arrays[2], -1e6, 1e6, "steps")
    p, w, d = (np.asarray(one, dtype=np.int64) for one in arrays)
    return p, w, d


def _first_orders(p: Whole, w: Whole, d: Whole, starts: int, rng: np.random.Generator) -> Orders:
    """Return, for each set: by due date, by the apparent tardiness cost rule with a few looks ahead, then at random."""
    within("starts", starts, 1, 10_000)
    found = [np.argsort(d, axis=1, kind="stable")]
    found += [_by_apparent_cost(p, w, d, look) for look in (0.5, 2.0, 4.0)]
    while len(found) < starts:
        found.append(rng.permuted(np.broadcast_to(np.arange(p.shape[1]), p.shape), axis=1))
    return np.stack(found[:starts], axis=1).reshape(-1, p.shape[1]).astype(np.intp)


def _by_apparent_cost(p: Whole, w: Whole, d: Whole, look: float) -> Orders:
    """Return orders by w/p · exp(−slack / (look · mean p)), the dearest next (Vepsalainen and Morton 1987)."""
    sets, jobs = p.shape
    free, now, rows = np.ones(p.shape, dtype=bool), np.zeros(sets), np.arange(sets)
    mean = np.maximum(p.mean(axis=1), 1e-9)
    order = np.empty((sets, jobs), dtype=np.intp)
    for place in range(jobs):
        slack = np.maximum(d - p - now[:, None], 0)
        urgency = w / np.maximum(p, 0.5) * np.exp(-slack / (look * mean[:, None]))
        order[:, place] = np.where(free, urgency, -1.0).argmax(axis=1)
        free[rows, order[:, place]] = False
        now += p[rows, order[:, place]]
    return order


def _kicked(orders: Orders, rng: np.random.Generator) -> Orders:
    """Return orders with three to six swaps of jobs near one another."""
    orders = orders.copy()
    many, jobs = orders.shape
    rows = np.arange(many)
    if jobs < 2:
        return orders
    for _ in range(int(rng.integers(3, 7))):
        i = rng.integers(0, jobs, many)
        j = np.clip(i + rng.integers(1, max(2, jobs // 3), many) * rng.choice([-1, 1], many), 0, jobs - 1)
        orders[rows, i], orders[rows, j] = orders[rows, j], orders[rows, i]
    return orders


def _spread(best: Orders, cost: Whole, sets: int, starts: int) -> None:
    """Let each set's worst sequence go on from its best."""
    by_set = cost.reshape(sets, starts)
    first = np.arange(sets) * starts
    worst, winner = first + by_set.argmax(axis=1), first + by_set.argmin(axis=1)
    best[worst], cost[worst] = best[winner], cost[winner]


def _descended(p: Whole, w: Whole, d: Whole, orders: Orders) -> tuple[Orders, Whole]:
    """Return orders that no swap and no move of one job improves, and their costs."""
    orders = orders.copy()
    width = int(p.max(initial=1))
    at_once = max(1, _AT_ONCE // (p.shape[1] * (2 * width + 1)))
    for start in range(0, orders.shape[0], at_once):
        part = slice(start, start + at_once)
        _descend(p[part], w[part], d[part], orders[part], width)
    return orders, weighted_tardiness(p, w, d, orders)


def _descend(p: Whole, w: Whole, d: Whole, orders: Orders, width: int) -> None:
    """Improve orders in place by the best move of each, until none has one."""
    moving = np.arange(orders.shape[0])
    while moving.size:
        now = orders[moving]
        times, weights, due = (np.take_along_axis(one[moving], now, axis=1) for one in (p, w, d))
        gain, kind, i, j = _best_moves(times, weights, due, width)
        better = gain < 0
        moving, now, kind, i, j = moving[better], now[better], kind[better], i[better], j[better]
        place = np.tile(np.arange(now.shape[1], dtype=np.float64), (moving.size, 1))
        rows = np.arange(moving.size)
        place[rows, i] = np.where(kind == 0, j, np.where(kind == 1, j + 0.5, i))
        place[rows, j] = np.where(kind == 0, i, np.where(kind == 2, i - 0.5, j))
        orders[moving] = np.take_along_axis(now, np.argsort(place, axis=1), axis=1)


def _best_moves(p: Whole, w: Whole, d: Whole, width: int) -> tuple[Whole, Whole, Whole, Whole]:
    """Return each sequence's best change of cost, its kind (0 swap, 1 later, 2 earlier) and the two places."""
    many, jobs = p.shape
    if jobs < 2:
        nothing = np.zeros(many, dtype=np.int64)
        return nothing, nothing, nothing, nothing
    i, j = np.triu_indices(jobs, 1)
    done = np.cumsum(p, axis=1)
    late = w * np.maximum(done - d, 0)
    shifts = np.arange(-width, width + 1, dtype=np.int32)
    table = np.empty((many, jobs + 1, shifts.size), dtype=np.int64)
    table[:, 0] = 0
    np.cumsum(w[:, :, None] * np.maximum((done - d)[:, :, None] + shifts, 0), axis=1, out=table[:, 1:])
    flat = table.reshape(many, -1)

    def shifted(first: Whole, last: Whole, shift: Whole) -> Whole:
        """What the jobs at first .. last − 1 cost when shifted, less what they cost now."""
        column = shift + width
        to, since = last * shifts.size, first * shifts.size
        moved = np.take_along_axis(flat, to + column, axis=1) - np.take_along_axis(flat, since + column, axis=1)
        return np.asarray(moved - (table[:, last, width] - table[:, first, width]))

    pi, pj, di, dj, wi, wj = p[:, i], p[:, j], d[:, i], d[:, j], w[:, i], w[:, j]
    begin, end = done[:, i] - pi, done[:, j]
    i_last = wi * np.maximum(end - di, 0) - late[:, i]
    j_first = wj * np.maximum(begin + pj - dj, 0) - late[:, j]
    changes = np.stack(
        [
            shifted(i + 1, j, pj - pi) + i_last + j_first,
            shifted(i + 1, j + 1, -pi) + i_last,
            shifted(i, j, pj) + j_first,
        ],
        axis=1,
    ).reshape(many, -1)
    at = changes.argmin(axis=1)
    kind, pair = at // i.size, at % i.size
    return changes[np.arange(many), at], kind, i[pair], j[pair]
