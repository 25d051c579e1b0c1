"""What is not linear in the parameters, from reels drawn from the posterior (JCGM 101): run-out, low point and more."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import within
from sparkout.core.measured import Measured
from sparkout.core.reel.parameters import OFFSET, SHAFT_BOW, SKEW, edge_rows

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.geometry import Reel

_AT_ONCE = 500
"""Reels drawn whose edges are worked out together: few enough to stay in a processor's cache."""
REGIONS = ("left third", "middle third", "right third")


@dataclass(frozen=True, slots=True)
class Simulated:
    """A quantity from draws: mean and standard deviation, and the interval with equal shares outside either end."""

    value: Measured
    interval: tuple[float, float]

    @classmethod
    def of(cls, draws: NDArray[np.float64], coverage: float = 0.95) -> Simulated:
        """Summarise draws (count,).

        Examples
        --------
        >>> Simulated.of(np.arange(101.0), 0.5).interval
        (25.0, 75.0)
        """
        within("coverage", coverage, 0.0, 0.999999, above=True)
        tail = (1.0 - coverage) / 2.0
        low, high = np.quantile(draws, [tail, 1.0 - tail])
        return cls(Measured(float(draws.mean()), float(draws.std())), (float(low), float(high)))


@dataclass(frozen=True, slots=True)
class LowestPoint:
    """The lowest point of the whole edge: its radius, and on which blade and where it most likely lies.

    `blade_chances` (N,) and `region_chances` (3,) say how likely each blade, and each third of the length, holds it;
    `chance` is that of the named blade. `x` is the mean place within the likeliest third on that blade.
    """

    radius: Measured
    interval: tuple[float, float]
    blade: int
    x: float
    chance: float
    region: str
    blade_chances: tuple[float, ...]
    region_chances: tuple[float, ...]


def edge_draws(reel: Reel, draws: NDArray[np.float64], x: NDArray[np.float64]) -> NDArray[np.float64]:
    """r(x, b) of every drawn reel, shape (draws, N, S), from draws of the unit's parameters (draws, 11+N).

    All draws of one place stand side by side in memory: what is asked is the largest or least over places, draw by
    draw.
    """
    rows = edge_rows(reel, x)
    flat = rows.reshape(-1, rows.shape[2]) @ draws.T
    return flat.reshape(*rows.shape[:2], len(draws)).transpose(2, 0, 1)


@dataclass(frozen=True, slots=True, eq=False)
class EdgeBounds:
    """Of every drawn reel the largest and least radius over its blades at each station, (S, draws), mm.

    `blade` (draws,) is the one, from 0, on which the lowest point of the whole edge lies.
    """

    high: NDArray[np.float64]
    low: NDArray[np.float64]
    blade: NDArray[np.int_]
    blade_count: int

    def run_out(self, station: int) -> NDArray[np.float64]:
        """Highest less lowest blade at one station, (draws,), mm."""
        around: NDArray[np.float64] = self.high[station] - self.low[station]
        return around

    def total_run_out(self, every: int = 1) -> NDArray[np.float64]:
        """Highest less lowest point over every so many-th station, (draws,), mm."""
        over_all: NDArray[np.float64] = self.high[::every].max(axis=0) - self.low[::every].min(axis=0)
        return over_all

    def lowest_point(self, x: NDArray[np.float64], coverage: float) -> LowestPoint:
        """Lowest point of the whole edge; x (S,) are the stations. Equation and validity: `lowest_point`."""
        return _told(self.low.min(axis=0), self.blade, self.low.argmin(axis=0), self.blade_count, x, coverage)


def edge_bounds(reel: Reel, draws: NDArray[np.float64], x: NDArray[np.float64]) -> EdgeBounds:
    """Bounds of the edges `edge_draws` gives, without room for all of them at once.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> reel = np.zeros((1, 14)); reel[0, 0] = 63.0; reel[0, 12] = -0.25
    >>> found = edge_bounds(Reel(3, 127.0, 533.0), reel, np.array([0.0, 533.0]))
    >>> found.low.tolist(), found.blade.tolist(), found.total_run_out().tolist()
    ([[62.75], [62.75]], [1], [0.25])
    """
    rows = edge_rows(reel, x)
    flat = rows.reshape(-1, rows.shape[2])
    bounds = EdgeBounds(
        np.empty((len(x), len(draws))), np.empty((len(x), len(draws))), np.empty(len(draws), np.int_), len(rows)
    )
    room = np.empty((len(flat), min(_AT_ONCE, len(draws))))
    for first in range(0, len(draws), _AT_ONCE):
        part = slice(first, first + _AT_ONCE)
        count = len(draws[part])
        edges = np.matmul(flat, draws[part].T, out=room[:, :count]).reshape(*rows.shape[:2], count)
        edges.max(axis=0, out=bounds.high[:, part])
        edges.min(axis=0, out=bounds.low[:, part])
        at = bounds.low[:, part].argmin(axis=0)
        bounds.blade[part] = edges[:, at, np.arange(count)].argmin(axis=0)
    return bounds


def eccentricity_draws(draws: NDArray[np.float64], t: float) -> NDArray[np.float64]:
    """Distance of the blade circle's centre from the bearing axis at station t, shape (draws,).

    Equation: |e + g t + k (1 - t²)|. Source: definition (docs/decisions/0002-definitions.md).

    Examples
    --------
    >>> reel = np.zeros((1, 14)); reel[0, 5] = 0.3; reel[0, 10] = 0.4
    >>> float(eccentricity_draws(reel, 0.0)[0]), float(eccentricity_draws(reel, 1.0)[0])
    (0.5, 0.3)
    """
    centre = draws[:, OFFSET] + draws[:, SKEW] * t + draws[:, SHAFT_BOW] * (1.0 - t * t)
    distance: NDArray[np.float64] = np.hypot(centre[:, 0], centre[:, 1])
    return distance


def lowest_point(edges: NDArray[np.float64], x: NDArray[np.float64], coverage: float) -> LowestPoint:
    """Lowest point over all blades and the places x (S,), from 0 to the reel's length, of drawn edges (draws, N, S).

    Equation: min over b and x of r(x, b), draw by draw. Validity: the edge is smooth between stations; with 41 of them
    a parabola's least is missed by at most barrel/1600.
    """
    draws, blade_count, _ = edges.shape
    each, of_blade = np.arange(draws), edges.min(axis=2)
    blades = of_blade.argmin(axis=1)
    return _told(of_blade[each, blades], blades, edges[each, blades].argmin(axis=1), blade_count, x, coverage)


def _told(
    lowest: NDArray[np.float64],
    blades: NDArray[np.int_],
    places: NDArray[np.int_],
    blade_count: int,
    x: NDArray[np.float64],
    coverage: float,
) -> LowestPoint:
    draws = len(lowest)
    blade_chances = np.bincount(blades, minlength=blade_count) / draws
    thirds = np.minimum((3.0 * x[places] / x[-1]).astype(np.int_), 2)
    region_chances = np.bincount(thirds, minlength=3) / draws
    blade = int(blade_chances.argmax())
    on_blade = thirds[blades == blade]
    third = int(np.bincount(on_blade, minlength=3).argmax())
    summary = Simulated.of(lowest, coverage)
    return LowestPoint(
        summary.value,
        summary.interval,
        blade,
        float(x[places[blades == blade][on_blade == third]].mean()),
        float(blade_chances[blade]),
        REGIONS[third],
        tuple(blade_chances.tolist()),
        tuple(region_chances.tolist()),
    )
