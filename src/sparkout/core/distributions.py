"""How a quantity may lie about its estimate: normal, rectangular, arcsine, Student's t."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from sparkout.core.errors import within
from sparkout.core.measured import Measured

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class Distribution(Protocol):
    """Anything that can be drawn from and has a mean and a standard deviation."""

    def draw(self, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
        """Return `count` independent draws."""
        ...

    def measured(self) -> Measured:
        """Return mean and standard deviation."""
        ...


@dataclass(frozen=True, slots=True)
class Normal:
    """Normal (Gaussian)."""

    mean: float
    sd: float

    def __post_init__(self) -> None:
        within("mean", self.mean)
        within("sd", self.sd, 0.0)

    def draw(self, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
        """Return `count` independent draws."""
        return generator.normal(self.mean, self.sd, count)

    def measured(self) -> Measured:
        """Return mean and standard deviation."""
        return Measured(self.mean, self.sd)


@dataclass(frozen=True, slots=True)
class Rectangular:
    """Anywhere within mean +- half_width alike; u = half_width / sqrt(3) (JCGM 100 4.3.7)."""

    mean: float
    half_width: float

    def __post_init__(self) -> None:
        within("mean", self.mean)
        within("half_width", self.half_width, 0.0)

    def draw(self, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
        """Return `count` independent draws."""
        return self.mean + self.half_width * generator.uniform(-1.0, 1.0, count)

    def measured(self) -> Measured:
        """Return mean and standard deviation."""
        return Measured(self.mean, self.half_width / math.sqrt(3.0))


@dataclass(frozen=True, slots=True)
class Arcsine:
    """Of something swinging within mean +- half_width (U-shaped); u = half_width / sqrt(2)."""

    mean: float
    half_width: float

    def __post_init__(self) -> None:
        within("mean", self.mean)
        within("half_width", self.half_width, 0.0)

    def draw(self, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
        """Return `count` independent draws."""
        import numpy as np

        swing: NDArray[np.float64] = np.sin(generator.uniform(0.0, 2.0 * math.pi, count))
        return self.mean + self.half_width * swing

    def measured(self) -> Measured:
        """Return mean and standard deviation."""
        return Measured(self.mean, self.half_width / math.sqrt(2.0))


@dataclass(frozen=True, slots=True)
class Student:
    """Scaled and shifted Student's t: a mean of few readings (JCGM 101 6.4.9)."""

    mean: float
    scale: float
    dof: float

    def __post_init__(self) -> None:
        within("mean", self.mean)
        within("scale", self.scale, 0.0)
        within("dof", self.dof, 1.0)

    def draw(self, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
        """Return `count` independent draws."""
        return self.mean + self.scale * generator.standard_t(self.dof, count)

    def measured(self) -> Measured:
        """Return mean, scale and degrees of freedom, as the linear route takes them (the scale, not the wider sd)."""
        return Measured(self.mean, self.scale, self.dof)


def of_measured(quantity: Measured) -> Distribution:
    """Return the distribution a measured value stands for: normal, or Student's t when its dof is finite.

    Examples
    --------
    >>> of_measured(Measured(1.0, 0.1, 9.0))
    Student(mean=1.0, scale=0.1, dof=9.0)

    References
    ----------
    JCGM 101:2008 6.4.7, 6.4.9 (from memory).
    """
    if math.isinf(quantity.dof):
        return Normal(quantity.value, quantity.u)
    return Student(quantity.value, quantity.u, quantity.dof)
