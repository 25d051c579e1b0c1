"""Circle through points: exact circles, brute force for its uncertainty, refusals."""

import math

import numpy as np
import pytest
from scipy.optimize import least_squares

from sparkout.core.circle import circle_from_points
from sparkout.core.errors import NotEnough, OutOfRange


def arc(start: float, stop: float, count: int, radius: float = 0.25) -> tuple[np.ndarray, np.ndarray]:
    theta = np.linspace(start, stop, count)
    return 12.0 + radius * np.cos(theta), -7.0 + radius * np.sin(theta)


@pytest.mark.parametrize("method", ["geometric", "algebraic"])
@pytest.mark.parametrize(("start", "stop"), [(0.0, 6.0), (0.0, 1.2), (2.0, 2.3)])
def test_points_on_a_circle_give_it_back(method: str, start: float, stop: float) -> None:
    circle = circle_from_points(*arc(start, stop, 9), method)
    assert (circle.x, circle.y, circle.radius) == pytest.approx((12.0, -7.0, 0.25), abs=1e-8)
    assert circle.residuals == pytest.approx(np.zeros(9), abs=1e-9)


def test_three_points_have_no_uncertainty_to_tell() -> None:
    circle = circle_from_points([0.0, 2.0, 1.0], [0.0, 0.0, 1.0])
    assert (circle.x, circle.y, circle.radius) == pytest.approx((1.0, 0.0, 1.0), abs=1e-12)
    with pytest.raises(NotEnough, match="at least 4 points"):
        _ = circle.measured_radius


def test_radius_uncertainty_against_repeating_the_trace() -> None:
    """Brute force: a quarter circle traced 2,000 times with 2 um scatter on each point."""
    generator = np.random.default_rng(8)
    x, y = arc(0.0, math.pi / 2, 12)
    found = [
        circle_from_points(x + generator.normal(0, 0.002, 12), y + generator.normal(0, 0.002, 12)) for _ in range(2000)
    ]
    radii = [circle.radius for circle in found]
    stated = math.sqrt(np.mean([circle.measured_radius.u**2 for circle in found]))
    assert np.std(radii) == pytest.approx(stated, rel=0.08)
    assert found[0].measured_radius.dof == 9


def test_covariance_against_scipys_jacobian() -> None:
    """Reference library: all three unknowns fitted by scipy, its own numerical Jacobian, s² (J^T J)^-1."""
    generator = np.random.default_rng(5)
    x, y = (values + generator.normal(0, 0.01, 8) for values in arc(0.0, 2.5, 8))
    found = least_squares(
        lambda c: np.hypot(x - c[0], y - c[1]) - c[2], (12, -7, 0.3), "3-point", xtol=1e-15, gtol=1e-15
    )
    covariance = 2 * found.cost / (8 - 3) * np.linalg.inv(found.jac.T @ found.jac)
    circle = circle_from_points(x, y)
    assert (circle.x, circle.y, circle.radius) == pytest.approx(tuple(found.x), rel=1e-7)
    assert circle.covariance == pytest.approx(covariance, rel=1e-5)
    assert circle.measured_radius.u == pytest.approx(math.sqrt(covariance[2, 2]), rel=1e-5)


def test_geometric_is_never_worse_than_algebraic() -> None:
    generator = np.random.default_rng(2)
    for _ in range(50):
        x, y = arc(0.0, generator.uniform(1.0, 6.0), 8)
        x, y = x + generator.normal(0, 0.03, 8), y + generator.normal(0, 0.03, 8)
        assert circle_from_points(x, y).sum_squared <= circle_from_points(x, y, "algebraic").sum_squared * (1 + 1e-12)


@pytest.mark.parametrize(
    ("x", "y", "method", "error", "says"),
    [
        ([0, 1], [0, 1], "geometric", NotEnough, "at least 3 points"),
        ([0, 1, 2], [0, 1, 2], "geometric", NotEnough, "straight line"),
        ([1, 1, 1], [2, 2, 2], "geometric", NotEnough, "3 different points"),
        ([0, 0, 1], [0, 0, 1], "algebraic", NotEnough, "3 different points"),
        ([0, 1, 2], [0, 1], "geometric", OutOfRange, "one for each x"),
        ([0, 1, 2], [0, 1, 3], "magic", OutOfRange, "geometric or algebraic"),
        ([0, 1, math.nan], [0, 1, 3], "geometric", OutOfRange, r"x\[2\]"),
    ],
)
def test_refusals(x, y, method: str, error, says: str) -> None:
    with pytest.raises(error, match=says):
        circle_from_points(x, y, method)


@pytest.mark.parametrize("y", [(0, 0.1, 0, 0.1, 0, 0.1), (0, 0.1, 0.1, 0, 0, 0.1), (0, 0.1, -0.025, -0.025, 0.1, 0)])
def test_points_that_a_line_fits_best(y) -> None:
    """Points about a line: the circle runs away to infinity, or sticks where a line would fit far better."""
    with pytest.raises(NotEnough, match="longer arc"):
        circle_from_points([0, 1, 2, 3, 4, 5], y)


def test_search_cut_off_is_refused_not_passed_off_as_an_answer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sparkout.core.circle._STEPS", 1)
    with pytest.raises(NotEnough, match="longer arc"):
        circle_from_points([36, 36, 19, 18, 33, 26], [14, 10, 28, 31, 18, 26])
