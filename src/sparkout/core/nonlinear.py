"""A curve with unknown constants through points, for curves that saturate, as wear may."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.derivative import slope
from sparkout.core.errors import NotEnough, OutOfRange, all_within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import ArrayLike, NDArray

_POLISH = 30
"""Gauss-Newton steps after the search, each with an accurate Jacobian: they bring the last digits."""


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """Estimates of the curve's constants, their standard deviations and covariance, and the fit's residuals."""

    estimates: NDArray[np.float64]
    sds: NDArray[np.float64]
    covariance: NDArray[np.float64]
    sum_squared: float
    degrees_of_freedom: int

    @property
    def residual_sd(self) -> float:
        """Residual standard deviation, unit of y."""
        return math.sqrt(self.sum_squared / self.degrees_of_freedom)


def curve_through_points(
    model: Callable[[NDArray[np.float64], NDArray[np.float64]], NDArray[np.float64]],
    x: ArrayLike,
    y: ArrayLike,
    start: ArrayLike,
) -> Curve:
    """Return the least-squares constants of a curve through (x, y), starting from a guess.

    Equation: minimise S = sum [y_i - f(x_i, b)]²; covariance S/(n - p) (J^T J)^-1, J = df/db.

    Parameters
    ----------
    model : f(x, b), (n,) from (n,) and (p,).
    x, y : (n,).
    start : (p,), near enough for descent to lead to the wanted minimum.

    Raises
    ------
    OutOfRange
        Not a number, lengths that differ, or a model that is not finite at the start.
    NotEnough
        No more points than constants, no convergence, or points that do not determine every constant.

    Validity: equal independent scatter in y; standard deviations linear, so doubtful for strongly bent models.

    Examples
    --------
    >>> hours = np.array([0.0, 1.0, 2.0, 3.0, 4.0])
    >>> fit = curve_through_points(lambda t, b: b[0] * (1 - np.exp(-b[1] * t)), hours, 2 * (1 - np.exp(-hours)), [1, 2])
    >>> np.round(fit.estimates, 6).tolist()
    [2.0, 1.0]

    References
    ----------
    NIST StRD, nonlinear regression (certified values).
    """
    from scipy.optimize import least_squares

    places, readings, guess = all_within("x", x), all_within("y", y), all_within("start", start)
    if places.shape != readings.shape:
        raise OutOfRange(
            "y", phrase("{size} values", size=readings.size), phrase("one for each x ({size})", size=places.size)
        )
    dof = len(readings) - len(guess)
    if dof < 1:
        raise NotEnough(phrase("the constants of the curve"), phrase("at least {guess} points", guess=len(guess) + 1))

    def residuals(b: NDArray[np.float64]) -> NDArray[np.float64]:
        with np.errstate(all="ignore"):
            return model(places, b) - readings

    if not np.isfinite(residuals(guess)).all():
        raise OutOfRange("start", guess.tolist(), phrase("constants at which the curve is finite"))
    found = least_squares(residuals, guess, jac="3-point", x_scale="jac", xtol=1e-15, ftol=1e-15, gtol=1e-15)
    if not found.success:
        raise NotEnough(phrase("the constants of the curve"), phrase("a start nearer to the answer"))
    best = _polished(residuals, np.asarray(found.x, dtype=np.float64))
    jacobian, left = _jacobian(residuals, best), residuals(best)
    squares = float(left @ left)
    root = np.linalg.inv(np.linalg.qr(jacobian, mode="r"))
    covariance = squares / dof * (root @ root.T)
    return Curve(best, np.sqrt(np.diag(covariance)), covariance, squares, dof)


def _polished(
    residuals: Callable[[NDArray[np.float64]], NDArray[np.float64]], found: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Return the last digits of a minimum already found; the search's own answer where that leads away from it."""
    best = found.copy()
    for _ in range(_POLISH):
        step = _solved(_jacobian(residuals, best), residuals(best))
        best = best - step
        if np.all(np.abs(step) <= 1e-13 * np.abs(best)):
            break
    before, after = residuals(found), residuals(best)
    return best if after @ after <= before @ before * (1.0 + 1e-9) else found


def _jacobian(
    residuals: Callable[[NDArray[np.float64]], NDArray[np.float64]], at: NDArray[np.float64]
) -> NDArray[np.float64]:
    columns = []
    for j, value in enumerate(at):
        scale = 0.01 * abs(value) or 0.01

        def along(moved: float, j: int = j) -> NDArray[np.float64]:
            b = at.copy()
            b[j] = moved
            return residuals(b)

        columns.append(slope(along, float(value), scale))
    return np.column_stack(columns)


def _solved(jacobian: NDArray[np.float64], residuals: NDArray[np.float64]) -> NDArray[np.float64]:
    size = np.linalg.norm(jacobian, axis=0)
    if not np.isfinite(jacobian).all() or not size.all():
        raise NotEnough(phrase("the constants of the curve"), phrase("points that depend on every constant"))
    step, _, rank, _ = np.linalg.lstsq(jacobian / size, residuals, rcond=1e-13)
    if rank < jacobian.shape[1]:
        raise NotEnough(phrase("the constants of the curve"), phrase("points that tell every constant from the others"))
    solved: NDArray[np.float64] = step / size
    return solved
