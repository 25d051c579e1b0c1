"""The numbers that describe a reel, its knife line and its shaft, as one vector, and the rows that read it.

Signs and shapes: docs/decisions/0002-definitions.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import NotEnough

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.geometry import Reel

MEAN_RADIUS, CONE, BARREL, FRAME_OUT, KNIFE_BOW = range(5)
OFFSET = slice(5, 7)
SKEW = slice(7, 9)
SHAFT_BOW = slice(9, 11)
FIRST_BLADE = 11

_SHAPE_NAMES = (
    "mean radius",
    "cone",
    "barrel",
    "frame out",
    "knife bow",
    "offset cos",
    "offset sin",
    "skew cos",
    "skew sin",
    "shaft bow cos",
    "shaft bow sin",
)


@dataclass(frozen=True, slots=True)
class Parameters:
    """The order of the parameter vector: eleven shape numbers, N blade heights, then the readings' own nuisances.

    Examples
    --------
    >>> Parameters(3, ("zero of dial",)).names[-4:]
    ('blade 1', 'blade 2', 'blade 3', 'zero of dial')
    """

    blade_count: int
    nuisances: tuple[str, ...] = ()

    @property
    def names(self) -> tuple[str, ...]:
        """Every parameter's name, in order; blades are counted from 1 as on the reel."""
        return (*_SHAPE_NAMES, *(f"blade {b + 1}" for b in range(self.blade_count)), *self.nuisances)

    @property
    def of_the_reel(self) -> int:
        """How many parameters describe the unit itself; nuisances of the readings come after them."""
        return FIRST_BLADE + self.blade_count

    @property
    def count(self) -> int:
        """Length of the parameter vector."""
        return self.of_the_reel + len(self.nuisances)

    @property
    def blades(self) -> slice:
        """Where the blade heights stand."""
        return slice(FIRST_BLADE, self.of_the_reel)

    def index(self, name: str) -> int:
        """Place of a named parameter.

        Raises
        ------
        NotEnough
            When there is no parameter of that name.
        """
        try:
            return self.names.index(name)
        except ValueError:
            raise NotEnough(f"a quantity named {name!r}", f"one of {', '.join(self.names)}") from None

    def row(self, name: str) -> NDArray[np.float64]:
        """Row that picks one named parameter, shape (count,)."""
        row = np.zeros(self.count)
        row[self.index(name)] = 1.0
        return row

    def embed(self, rows: NDArray[np.float64]) -> NDArray[np.float64]:
        """Rows over the unit's own parameters (..., of_the_reel) made rows over the whole vector (..., count)."""
        whole = np.zeros((*rows.shape[:-1], self.count))
        whole[..., : rows.shape[-1]] = rows
        return whole


def station(x: NDArray[np.float64], length: float) -> NDArray[np.float64]:
    """Station t = (2x - L)/L: -1 at the left end, +1 at the right (this form mirrors without rounding)."""
    mirrored: NDArray[np.float64] = (2.0 * x - length) / length
    return mirrored


def mean_radius_rows(blade_count: int, t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rows of the radius averaged over all blades at stations t: R0 + cone t/4 + barrel (1/3 - t²), shape (S, 11+N).

    Offset, skew and bow average out over equally spaced blades, and blade heights sum to zero.
    Source: definition (docs/decisions/0002-definitions.md).

    Examples
    --------
    >>> mean_radius_rows(3, np.array([1.0]))[0, :3].round(3).tolist()
    [1.0, 0.25, -0.667]
    """
    rows = np.zeros((t.size, FIRST_BLADE + blade_count))
    rows[:, MEAN_RADIUS] = 1.0
    rows[:, CONE] = t / 4.0
    rows[:, BARREL] = 1.0 / 3.0 - t * t
    return rows


def knife_line_rows(blade_count: int, t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rows of the knife line's height against the bearing axis, less its mean: frame t/2 + bow (1/3 - t²), (S, 11+N).

    Source: definition; positive stands farther from the axis.
    """
    rows = np.zeros((t.size, FIRST_BLADE + blade_count))
    rows[:, FRAME_OUT] = t / 2.0
    rows[:, KNIFE_BOW] = 1.0 / 3.0 - t * t
    return rows


def swing(
    rows: NDArray[np.float64], t: NDArray[np.float64], cos: NDArray[np.float64], sin: NDArray[np.float64]
) -> None:
    """Write the columns of [e + g t + k (1 - t²)] . (cos, sin) into `rows`; all arrays share their leading shape."""
    for place, factor in ((OFFSET, 1.0), (SKEW, t), (SHAFT_BOW, 1.0 - t * t)):
        rows[..., place.start] = factor * cos
        rows[..., place.start + 1] = factor * sin


def edge_rows(reel: Reel, x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Rows of r(x, b) for every blade at stations x, shape (N, S, 11+N).

    r = R0 + cone t/4 + barrel (1/3 - t²) + [e + g t + k (1 - t²)] . u(theta) + h_b. Source: definition.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> edge_rows(Reel(5, 127.0, 533.0), np.array([0.0]))[0, 0, :5].round(3).tolist()
    [1.0, -0.25, -0.667, 0.0, 0.0]
    """
    t = station(x, reel.length)
    rows = np.repeat(mean_radius_rows(reel.blade_count, t)[None], reel.blade_count, axis=0)
    theta = reel.angles(x)
    swing(rows, t[None, :], np.cos(theta), np.sin(theta))
    blades = np.arange(reel.blade_count)
    rows[blades, :, FIRST_BLADE + blades] = 1.0
    return rows


def sum_zero_basis(count: int) -> NDArray[np.float64]:
    """Orthonormal basis of the vectors of length `count` that sum to zero, shape (count, count - 1).

    All columns but the first of the reflection that carries (1, ..., 1)/sqrt(count) to the first axis: with equal
    independent coordinates of variance s² the heights have covariance s² (I - 11'/count), whatever the basis.

    Examples
    --------
    >>> bool(np.allclose(sum_zero_basis(4).sum(axis=0), 0.0))
    True
    """
    normal = np.full(count, 1.0 / np.sqrt(count))
    normal[0] += 1.0
    reflection: NDArray[np.float64] = np.eye(count) - np.outer(normal, normal) * (2.0 / (normal @ normal))
    return reflection[:, 1:]
