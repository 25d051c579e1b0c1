"""A value with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sparkout.core.errors import within


@dataclass(frozen=True, slots=True)
class Measured:
    """A measured value: best estimate, standard uncertainty (same unit), degrees of freedom (JCGM 100)."""

    value: float
    u: float
    dof: float = math.inf

    def __post_init__(self) -> None:
        within("value", self.value)
        within("u", self.u, 0.0)

    def interval(self, coverage: float = 0.95) -> tuple[float, float]:
        """Return the symmetric coverage interval (normal, or Student's t when dof is finite)."""
        half = coverage_factor(coverage, self.dof) * self.u
        return self.value - half, self.value + half

    def scaled(self, factor: float) -> Measured:
        """Return factor times this quantity."""
        return Measured(self.value * factor, self.u * abs(factor), self.dof)


def coverage_factor(coverage: float = 0.95, dof: float = math.inf) -> float:
    """Return k such that +-k u covers `coverage` (normal; Student's t for finite dof).

    Equation: k = Phi^-1((1 + coverage)/2), or t_dof^-1 of the same.

    Examples
    --------
    >>> round(coverage_factor(0.9545), 3)
    2.0

    References
    ----------
    NIST TN 1297 section 6.2 (k = 1, 1.645, 2, 2.576, 3 for 68.27, 90, 95.45, 99, 99.73 %).
    """
    within("coverage", coverage, 0.0, 0.999999, above=True)
    within("dof", dof if math.isfinite(dof) else 1e9, 1.0)
    tail = (1.0 + coverage) / 2.0
    if math.isinf(dof):
        from statistics import NormalDist  # slow to import for the quick sums that never ask

        return NormalDist().inv_cdf(tail)
    from scipy.special import stdtrit

    return float(stdtrit(dof, tail))
