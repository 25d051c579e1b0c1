"""The least turning that brings units to one height: any part of a turn, or whole steps. See `matching`."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.setting.clicks import Ends

ROUNDING = 1e-6
"""mm; ten times what the linear programme's own arithmetic leaves."""
_AT_ONCE = 2_000_000


class Turnable(Protocol):
    """A unit as far as its turns go."""

    @property
    def start(self) -> NDArray[np.float64]:
        """Height at (left, right), mm."""

    @property
    def rise(self) -> NDArray[np.float64]:
        """Rise at (left, right) for one turn at (left, right), mm, (2, 2)."""

    @property
    def step(self) -> float | None:
        """Least part of a turn that can be set."""

    @property
    def least(self) -> Ends:
        """Turns left downwards, negative."""

    @property
    def most(self) -> Ends:
        """Turns left upwards."""

    @property
    def weight(self) -> float:
        """How dear a turn is."""


@dataclass(frozen=True, slots=True, eq=False)
class Turned:
    """What to turn, and where the units then stand."""

    turns: NDArray[np.float64]
    """(n, 2)."""
    heights: NDArray[np.float64]
    """(n, 2), after."""
    height: float


class Room(NamedTuple):
    """What may differ: each unit's ends (n,), a unit's mean from the height, and the lowest and highest height; mm."""

    ends: NDArray[np.float64]
    off: float
    low: float
    high: float


def _found(units: Sequence[Turnable], turns: NDArray[np.float64], height: float) -> Turned:
    turns[np.abs(turns) < ROUNDING * ROUNDING] = 0.0
    heights = np.array([u.start + u.rise @ turned for u, turned in zip(units, turns, strict=True)])
    return Turned(turns, heights, height)


def any_turns(units: Sequence[Turnable], room: Room) -> Turned:
    """Linear programme. Columns: turns up and down at each adjuster, the height, what is out of tolerance."""
    count = len(units)
    columns = 6 * count + 1
    lines, above = [], []
    for i, unit in enumerate(units):
        left, right = unit.rise
        start = unit.start
        for part, own, most, off in (
            (right - left, start[1] - start[0], room.ends[i], 4 * count + 1 + i),
            ((left + right) / 2.0, start.mean(), room.off, 5 * count + 1 + i),
        ):
            for sign in (1.0, -1.0):
                line = np.zeros(columns)
                line[4 * i : 4 * i + 4] = sign * np.concatenate([part, -part])
                line[4 * count] = -sign if off > 5 * count else 0.0
                line[off] = -1.0
                lines.append(line)
                above.append(most - sign * own)
    outside, turning = np.zeros(columns), np.zeros(columns)
    outside[4 * count + 1 :] = 1.0
    turning[: 4 * count] = np.repeat([unit.weight for unit in units], 4)
    bounds = [
        *((0.0, way) for u in units for way in (*u.most, *(-low for low in u.least))),
        (room.low, room.high),
        *[(0.0, None)] * (2 * count),
    ]
    out = float(outside @ _least(outside, lines, above, bounds))
    if out <= ROUNDING:
        found = _least(turning, lines, above, [*bounds[: 4 * count + 1], *[(0.0, 0.0)] * (2 * count)])
    else:
        found = _least(turning, [*lines, outside], [*above, out + ROUNDING], bounds)
    ways = found[: 4 * count].reshape(count, 2, 2)
    return _found(units, ways[:, 0] - ways[:, 1], float(found[4 * count]))


def _least(
    cost: NDArray[np.float64], lines: list[NDArray[np.float64]], above: list[float], bounds: list[Any]
) -> NDArray[np.float64]:
    from scipy.optimize import linprog

    done = linprog(cost, A_ub=np.array(lines), b_ub=above, bounds=bounds, method="highs")
    assert done.x is not None  # there always is an answer: what is out of tolerance has no bound
    return np.asarray(done.x, dtype=np.float64)


def whole_steps(units: Sequence[Turnable], room: Room) -> Turned:
    """Every unit by itself at every height that can be best: those at which some unit's mean enters its room."""
    starts = np.array([u.start for u in units])
    low, high = min(float(starts.min()), room.high), max(float(starts.max()), room.low)
    choices = [
        _choices(u, ends, low - 2 * room.off, high + 2 * room.off) for u, ends in zip(units, room.ends, strict=True)
    ]
    entered = np.concatenate([[*(c.mean - room.off), *(c.mean + room.off)] for c in choices])
    heights = np.unique(np.clip(entered, room.low, room.high))
    rows = [_within(choice, heights, room.off) for choice in choices]
    if not np.isfinite(np.sum([r.turning for r in rows], axis=0)).any():  # something stays out of tolerance
        rows = [_nearest(choice, heights, room.off) for choice in choices]
    outside, turning = (np.sum([getattr(r, name) for r in rows], axis=0) for name in ("outside", "turning"))
    at = int(np.argmin(np.where(outside <= outside.min() + ROUNDING, turning, np.inf)))
    turns = np.array([c.turns[r.which[at]] for c, r in zip(choices, rows, strict=True)])
    return _found(units, turns, float(heights[at]))


class _Choices(NamedTuple):
    """What one unit can be set to: (m,), turns (m, 2)."""

    mean: NDArray[np.float64]
    outside: NDArray[np.float64]
    turning: NDArray[np.float64]
    turns: NDArray[np.float64]


class _Best(NamedTuple):
    which: NDArray[np.intp]
    outside: NDArray[np.float64]
    turning: NDArray[np.float64]


def _choices(unit: Turnable, end_room: float, low: float, high: float) -> _Choices:
    step = unit.step or 1.0
    start = unit.start
    corners = np.array([[a, b] for a in (low, high) for b in (low, high)]) - start
    needed = np.linalg.solve(unit.rise, corners.T) / step  # (2, corners)
    ranges = []
    for side in (0, 1):
        least, most = math.floor(needed[side].min()) - 2, math.ceil(needed[side].max()) + 2
        least = max(least, math.ceil(max(unit.least[side] / step, -1e9) - 1e-9))
        most = min(most, math.floor(min(unit.most[side] / step, 1e9) + 1e-9))
        ranges.append(np.arange(min(least, 0), max(most, 0) + 1))
    counts = np.stack(np.meshgrid(*ranges, indexing="ij"), axis=-1).reshape(-1, 2)
    turns = counts * step
    after = start + turns @ unit.rise.T
    outside = np.abs(after[:, 1] - after[:, 0]) - end_room
    outside[outside < 1e-9] = 0.0
    mean, turning = after.mean(axis=1), unit.weight * np.abs(turns).sum(axis=1)
    # of those with one mean only the best can matter
    order = np.lexsort((turning, np.round(outside, 9), np.round(mean, 9)))
    first = np.concatenate([[True], np.diff(np.round(mean, 9)[order]) > 0.0])
    keep = order[first]
    return _Choices(mean[keep], outside[keep], turning[keep], turns[keep])


def _within(choice: _Choices, heights: NDArray[np.float64], off: float) -> _Best:
    """Least turning with nothing out of tolerance, at each height; infinite where there is none."""
    inside = np.flatnonzero(choice.outside == 0.0)
    mean, turning = choice.mean[inside], choice.turning[inside]
    first, last = np.searchsorted(mean, heights - off - 1e-9), np.searchsorted(mean, heights + off + 1e-9)
    which, least = np.zeros(heights.size, dtype=np.intp), np.full(heights.size, np.inf)
    some = last > first
    best, wide = np.arange(inside.size), 1  # best[i]: the least among `wide` choices from i on
    while inside.size and some.any():
        here = some & (last - first >= wide) & (last - first < 2 * wide)
        one, other = best[first[here]], best[last[here] - wide]
        which[here] = np.where(turning[one] <= turning[other], one, other)
        some &= ~here
        nearer, farther = best[:-wide], best[wide:]
        best, wide = np.where(turning[nearer] <= turning[farther], nearer, farther), 2 * wide
    told = last > first
    least[told] = turning[which[told]]
    return _Best(inside[which] if inside.size else which, np.zeros(heights.size), least)


def _nearest(choice: _Choices, heights: NDArray[np.float64], off: float) -> _Best:
    """Least out of tolerance at each height, and the least turning that leaves no more."""
    which, outside, turning = [], [], []
    for some in np.array_split(heights, heights.size * choice.mean.size // _AT_ONCE + 1):
        out = choice.outside + np.maximum(0.0, np.abs(choice.mean - some[:, None]) - off)
        least = out.min(axis=1, keepdims=True)
        at = np.where(out <= least + 1e-9, choice.turning, np.inf).argmin(axis=1)
        which.append(at)
        outside.append(np.take_along_axis(out, at[:, None], axis=1)[:, 0])
        turning.append(choice.turning[at])
    return _Best(np.concatenate(which), np.concatenate(outside), np.concatenate(turning))
