"""Straight line through readings along the reel, and how well it is known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


@dataclass(frozen=True, slots=True)
class Line:
    """y = intercept + slope x, with standard uncertainties and the covariance of both."""

    intercept: float
    slope: float
    u_intercept: float
    u_slope: float
    covariance: float
    chi_squared: float | None
    """Sum of squared residuals over u_y; None when u_y was not given and had to come from the residuals."""
    degrees_of_freedom: int
    residual_sd: float | None
    """sqrt(sum of squared residuals / degrees of freedom), unit of y; None for two points."""

    @property
    def correlation(self) -> float:
        """Correlation coefficient of intercept and slope."""
        if self.u_intercept == 0.0 or self.u_slope == 0.0:
            raise NotEnough("a correlation", phrase("readings that scatter, or their uncertainty"))
        return self.covariance / (self.u_intercept * self.u_slope)

    @property
    def _dof(self) -> float:
        return self.degrees_of_freedom if self.chi_squared is None else math.inf

    def _variance(self, x: float) -> float:
        variance = self.u_intercept**2 + 2.0 * x * self.covariance + (x * self.u_slope) ** 2
        return max(0.0, variance)

    def at(self, x: float, u_x: float = 0.0) -> Measured:
        """Return the line's own height at x (not what a new reading there would show).

        Equation: y = a + b x; u² = u_a² + 2 x cov + x² u_b² + b² u_x².

        Examples
        --------
        >>> here = straight_line([0, 250, 500], [0.00, 0.02, 0.05], 0.01).at(250)
        >>> round(here.value, 4), round(here.u, 4)
        (0.0233, 0.0058)

        References
        ----------
        JCGM 100:2008 H.3.4; ISO/TS 28037:2010, forward evaluation (example 1).
        """
        within("x", x)
        variance = self._variance(x) + (self.slope * within("u_x", u_x, 0.0)) ** 2
        return Measured(self.intercept + self.slope * x, math.sqrt(variance), self._dof)

    def new_reading(self, x: float, u_y: float | None = None) -> Measured:
        """Return what one more reading at x would show: the line's uncertainty and the reading's own u_y.

        Equation: u² = u_line² + u_y²; without u_y the scatter of the readings fitted is taken.

        Examples
        --------
        >>> round(straight_line([0, 250, 500], [0.00, 0.02, 0.05], 0.01).new_reading(250, 0.01).u, 4)
        0.0115

        References
        ----------
        Own working: sum of two independent parts. (JCGM 100:2008 H.3 prints the line's part alone.)
        """
        own = self.residual_sd if u_y is None else within("u_y", u_y, 0.0)
        if own is None:
            raise NotEnough(
                phrase("the scatter of a new reading"), phrase("u_y, or a line through three readings or more")
            )
        here = self.at(x)
        return Measured(here.value, math.hypot(here.u, own), here.dof)

    def inverse(self, y: float, u_y: float = 0.0) -> Measured:
        """Return the x at which the line has the height y.

        Equation: x = (y - a)/b; u² = (u_a² + 2 x cov + x² u_b² + u_y²)/b².

        Raises
        ------
        NotEnough
            The slope is not told from zero (within 2 u): x could be anywhere.

        Examples
        --------
        >>> there = straight_line([1, 2, 3, 4, 5, 6], [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], 0.5).inverse(10.5, 0.5)
        >>> round(there.value, 3), round(there.u, 3)
        (4.913, 0.322)

        References
        ----------
        ISO/TS 28037:2010, inverse evaluation (example 1).
        """
        if abs(self.slope) <= 2.0 * self.u_slope:
            raise NotEnough(
                phrase("a place on the line"), phrase("readings whose slope stands out of its uncertainty (2 u)")
            )
        x = (within("y", y) - self.intercept) / self.slope
        variance = self._variance(x) + within("u_y", u_y, 0.0) ** 2
        return Measured(x, math.sqrt(variance) / abs(self.slope), self._dof)


def straight_line(x: ArrayLike, y: ArrayLike, u_y: ArrayLike | None = None) -> Line:
    """Return the straight line of least squares through (x, y) with its uncertainties.

    Equation: minimise sum[(y_i - a - b x_i)² / u_i²]; with w = 1/u², x0 = sum(w x)/sum(w), S = sum[w (x - x0)²]:
    b = sum[w (x - x0) y]/S, a = sum(w y)/sum(w) - b x0, u_b² = 1/S, u_a² = 1/sum(w) + x0²/S, cov = -x0/S. Without u_y
    all are taken alike and unknown, u² = sum of squared residuals / (n - 2).

    Parameters
    ----------
    x, y : (n,), places and readings; any units.
    u_y : (n,) or one for all, standard uncertainty of each reading; None: estimated from the scatter.

    Raises
    ------
    OutOfRange
        Not a number or beyond 1e12, lengths that differ, an uncertainty outside 1e-12 to 1e12.
    NotEnough
        Fewer than two readings (three without u_y), or all at one place.

    Validity: readings independent, x exact. An uncertainty shared by all readings (calibration) is not in u_y: it
    belongs to the intercept alone, and not to the slope.

    Examples
    --------
    >>> line = straight_line([1, 2, 3, 4, 5, 6], [3.3, 5.6, 7.1, 9.3, 10.7, 12.1], 0.5)
    >>> round(line.intercept, 3), round(line.slope, 3), round(line.u_slope, 3), round(line.chi_squared, 3)
    (1.867, 1.757, 0.12, 1.665)

    References
    ----------
    ISO/TS 28037:2010 clause 6 (u_y given); JCGM 100:2008 H.3 (u_y unknown). NIST StRD Norris.
    """
    places, readings = all_within("x", x, -1e12, 1e12), all_within("y", y, -1e12, 1e12)
    if places.ndim != 1 or places.shape != readings.shape:
        raise OutOfRange(
            "y", phrase("{size} values", size=readings.size), phrase("one for each x ({size})", size=places.size)
        )
    least = 3 if u_y is None else 2
    if len(places) < least:
        raise NotEnough("a straight line", phrase("at least {least} readings", least=least))
    own = all_within("u_y", 1.0 if u_y is None else u_y, 1e-12, 1e12)
    if own.ndim and own.shape != places.shape:
        raise OutOfRange(
            "u_y", phrase("{size} values", size=own.size), phrase("one, or one for each x ({size})", size=places.size)
        )
    unit = float(np.min(own))
    weights = np.broadcast_to((unit / own) ** 2, places.shape)
    total = float(weights.sum())
    middle = float(weights @ places) / total
    off = places - middle
    spread = float(weights @ off**2)
    if spread <= total * (1e-12 * float(np.abs(places).max())) ** 2:
        raise NotEnough("the slope", phrase("readings at two different places"))
    height = float(weights @ readings) / total
    slope = float((weights * off) @ (readings - height)) / spread
    residuals = readings - height - slope * off
    squares, dof = float(weights @ residuals**2), len(places) - 2
    variance = squares / dof if u_y is None else unit**2
    return Line(
        intercept=height - slope * middle,
        slope=slope,
        u_intercept=math.sqrt(variance * (1.0 / total + middle**2 / spread)),
        u_slope=math.sqrt(variance / spread),
        covariance=-variance * middle / spread,
        chi_squared=None if u_y is None else squares / unit**2,
        degrees_of_freedom=dof,
        residual_sd=math.sqrt(float(residuals @ residuals) / dof) if dof else None,
    )
