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
    lowest = of_blade[each, blades]
    places = edges[each, blades].argmin(axis=1)
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
