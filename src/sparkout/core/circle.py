"""Circle through points, as traced on a photograph of a rounded edge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from sparkout.core.errors import NotEnough, OutOfRange, all_within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

Method = Literal["geometric", "algebraic"]

_STEPS = 500


@dataclass(frozen=True, slots=True, eq=False)
class Circle:
    """Centre and radius, how far each point stands off (outside positive), and the covariance of (x, y, radius)."""

    x: float
    y: float
    radius: float
    residuals: NDArray[np.float64]
    covariance: NDArray[np.float64] | None
    """None for three points, which any circle through them fits exactly."""

    @property
    def sum_squared(self) -> float:
        """Sum of the squared distances of the points from the circle."""
        return float(self.residuals @ self.residuals)

    @property
    def measured_radius(self) -> Measured:
        """Radius with the uncertainty the scatter of the points gives it."""
        if self.covariance is None:
            raise NotEnough(phrase("the uncertainty of a radius"), phrase("at least 4 points"))
        return Measured(self.radius, float(np.sqrt(self.covariance[2, 2])), len(self.residuals) - 3)


def circle_from_points(x: ArrayLike, y: ArrayLike, method: Method = "geometric") -> Circle:
    """Return the least-squares circle through points.

    Equation: geometric: minimise sum (d_i - R)² with d_i the distance from the centre. Algebraic: minimise
    sum (d_i² - R²)² (linear), then R = mean of d_i. Covariance s² (J^T J)^-1 with s² = sum (d_i - R)²/(n - 3).

    Parameters
    ----------
    x, y : (n,), mm.
    method : "geometric" unless speed matters; on a short arc the algebraic radius is badly too small.

    Raises
    ------
    OutOfRange
        Not a number, lengths that differ, an unknown method.
    NotEnough
        Fewer than three different points, or points that a straight line fits as well.

    Validity: scatter small against the radius, alike in all directions. A short arc leaves the radius badly
    determined: look at its uncertainty.

    Examples
    --------
    >>> fitted = circle_from_points([9, 35, -13, 10, 23, 0], [34, 10, 6, -14, 27, -10])
    >>> round(fitted.x, 4), round(fitted.y, 4), round(fitted.radius, 4)
    (10.5001, 9.6599, 23.3335)

    References
    ----------
    SciPy Cookbook, least squares circle (both data sets). Gander, Golub, Strebel, BIT 34 (1994) 558-578.
    """
    px, py = all_within("x", x, -1e6, 1e6, "mm"), all_within("y", y, -1e6, 1e6, "mm")
    if px.ndim != 1 or px.shape != py.shape:
        raise OutOfRange("y", phrase("{size} values", size=py.size), phrase("one for each x ({size})", size=px.size))
    if method not in ("geometric", "algebraic"):
        raise OutOfRange("method", method, "geometric or algebraic")
    if len(px) < 3:
        raise NotEnough("a circle", phrase("at least 3 points"))
    origin = np.array((px.mean(), py.mean()))
    points = np.column_stack((px, py)) - origin
    center = _algebraic_center(points)
    if method == "geometric":
        center = _geometric_center(points, center)
    distances = np.hypot(*(points - center).T)
    radius = float(distances.mean())
    residuals = distances - radius
    spare = len(px) - 3
    covariance = None
    if spare:
        directions = (points - center) / distances[:, None]
        jacobian = np.column_stack((directions, np.ones(len(px))))
        covariance = float(residuals @ residuals) / spare * np.linalg.inv(jacobian.T @ jacobian)
    return Circle(float(center[0] + origin[0]), float(center[1] + origin[1]), radius, residuals, covariance)


def _algebraic_center(points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Solve 2 x cx + 2 y cy + c = x² + y² for points about their own mean."""
    scale = float(np.abs(points).max())
    singular = np.linalg.svd(points / scale, compute_uv=False) if scale else np.zeros(2)
    if singular[-1] <= 1e-8 * singular[0]:
        raise NotEnough("a circle", phrase("at least 3 different points that do not lie on a straight line"))
    design = np.column_stack((2.0 * points, np.full(len(points), scale)))
    solved: NDArray[np.float64] = np.linalg.lstsq(design, (points**2).sum(axis=1), rcond=None)[0]
    return solved[:2]


def _geometric_center(points: NDArray[np.float64], center: NDArray[np.float64]) -> NDArray[np.float64]:
    """Gauss-Newton on the centre (the best radius is the mean distance), damped so that no step makes it worse."""
    scale = float(np.abs(points).max())
    damping = 0.0

    def off(at: NDArray[np.float64]) -> NDArray[np.float64]:
        distances = np.hypot(*(points - at).T)
        centred: NDArray[np.float64] = distances - distances.mean()
        return centred

    residuals = off(center)
    for _ in range(_STEPS):
        away = points - center
        directions = away / np.hypot(*away.T)[:, None]
        jacobian = directions.mean(axis=0) - directions
        normal = jacobian.T @ jacobian
        step = -np.linalg.solve(normal + damping * np.trace(normal) * np.eye(2), jacobian.T @ residuals)
        tried = off(center + step)
        if tried @ tried <= residuals @ residuals:
            center, residuals, damping = center + step, tried, damping / 10.0
        else:
            damping = max(10.0 * damping, 1e-6)
        moved, reach = np.hypot(*step), scale + np.hypot(*center)
        if moved <= 1e-14 * reach or reach > 1e5 * scale:
            break
    straight = np.linalg.svd(points, compute_uv=False)[-1] ** 2
    if reach > 1e5 * scale or moved > 1e-6 * reach or residuals @ residuals > straight:
        raise NotEnough(
            "a circle", phrase("points on a longer arc; these tell a circle no better than a straight line")
        )
    return center
