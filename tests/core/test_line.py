"""Straight line: against numpy.polyfit (reference library), brute force, and refusals."""

import math

import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.line import straight_line

X = np.array((0.0, 100.0, 250.0, 400.0, 533.0))
Y = np.array((63.48, 63.52, 63.55, 63.61, 63.66))
U = np.array((0.01, 0.02, 0.01, 0.05, 0.02))


def test_weighted_against_numpy() -> None:
    (slope, intercept), covariance = np.polyfit(X, Y, 1, w=1 / U, cov="unscaled")
    line = straight_line(X, Y, U)
    assert (line.intercept, line.slope) == pytest.approx((intercept, slope), rel=1e-11)
    assert (line.u_slope, line.u_intercept) == pytest.approx(tuple(np.sqrt(np.diag(covariance))), rel=1e-11)
    assert line.covariance == pytest.approx(covariance[0, 1], rel=1e-11)
    residuals = Y - intercept - slope * X
    assert line.chi_squared == pytest.approx(np.sum((residuals / U) ** 2), rel=1e-9)
    assert line.residual_sd == pytest.approx(math.sqrt(np.sum(residuals**2) / 3), rel=1e-9)


def test_unknown_scatter_against_numpy() -> None:
    (slope, intercept), covariance = np.polyfit(X, Y, 1, cov=True)
    line = straight_line(X, Y)
    assert (line.intercept, line.slope) == pytest.approx((intercept, slope), rel=1e-11)
    assert (line.u_slope, line.u_intercept) == pytest.approx(tuple(np.sqrt(np.diag(covariance))), rel=1e-11)
    assert line.chi_squared is None
    assert line.at(0.0).dof == 3


def test_one_uncertainty_for_all_is_a_list_of_it() -> None:
    assert straight_line(X, Y, 0.02) == straight_line(X, Y, [0.02] * 5)


def test_uncertainties_against_repeating_the_readings() -> None:
    """Brute force: 5,000 sets of readings with known errors; scatter of line, new reading and inverse."""
    generator = np.random.default_rng(6)
    truth = 63.5 + 0.001 * X
    lines = [straight_line(X, truth + generator.normal(0, U), U) for _ in range(5000)]
    exact = straight_line(X, truth, U)
    assert np.std([line.at(300.0).value for line in lines]) == pytest.approx(exact.at(300.0).u, rel=0.03)
    new = [line.at(300.0).value + generator.normal(0, 0.03) for line in lines]
    assert np.std(new) == pytest.approx(exact.new_reading(300.0, 0.03).u, rel=0.03)
    places = [line.inverse(63.8 + generator.normal(0, 0.01)).value for line in lines]
    assert np.std(places) == pytest.approx(exact.inverse(63.8, 0.01).u, rel=0.03)
    moved = [line.at(300.0 + generator.normal(0, 20.0)).value for line in lines]
    assert np.std(moved) == pytest.approx(exact.at(300.0, 20.0).u, rel=0.03)


def test_two_points_with_known_uncertainty() -> None:
    line = straight_line([0.0, 10.0], [1.0, 3.0], 0.1)
    assert (line.intercept, line.slope) == pytest.approx((1.0, 0.2))
    assert line.u_slope == pytest.approx(math.sqrt(2) * 0.1 / 10)
    assert (line.degrees_of_freedom, line.residual_sd) == (0, None)
    assert line.chi_squared == pytest.approx(0.0, abs=1e-20)
    assert math.isinf(line.at(5.0).dof)
    assert line.new_reading(5.0, 0.1).u == pytest.approx(math.hypot(0.1 / math.sqrt(2), 0.1))
    with pytest.raises(NotEnough, match="u_y, or a line through three readings"):
        line.new_reading(5.0)


def test_far_away_places_lose_no_digits() -> None:
    """Same line a million away: slope and its uncertainty stay to 9 digits."""
    near, far = straight_line(X, Y, U), straight_line(X + 1e6, Y, U)
    assert (far.slope, far.u_slope) == pytest.approx((near.slope, near.u_slope), rel=1e-9)


def test_readings_on_a_line_have_no_scatter_and_no_correlation() -> None:
    line = straight_line([0.0, 1.0, 2.0], [0.0, 1.0, 2.0])
    assert line.u_slope == 0.0
    with pytest.raises(NotEnough, match="a correlation"):
        _ = line.correlation


@pytest.mark.parametrize("y", [[1.0, 1.0, 1.0], [1.0, 1.3, 0.9]])
def test_inverse_refuses_a_slope_not_told_from_zero(y) -> None:
    with pytest.raises(NotEnough, match="stands out of its uncertainty"):
        straight_line([0.0, 1.0, 2.0], y, 0.2).inverse(1.0)


@pytest.mark.parametrize(
    ("x", "y", "u_y", "error", "says"),
    [
        ([1, 2], [1, 2], None, NotEnough, "at least 3 readings"),
        ([1], [1], 0.1, NotEnough, "at least 2 readings"),
        ([], [], 0.1, NotEnough, "at least 2 readings"),
        ([5, 5, 5], [1, 2, 3], 0.1, NotEnough, "two different places"),
        ([0, 0, 0], [1, 2, 3], None, NotEnough, "two different places"),
        ([1, 2, 3], [1, 2], 0.1, OutOfRange, "one for each x"),
        ([[1, 2, 3]], [[1, 2, 3]], 0.1, OutOfRange, "one for each x"),
        ([1, 2, 3], [1, 2, 3], [0.1, 0.1], OutOfRange, "u_y is '2 values'"),
        ([1, 2, 3], [1, 2, 3], 0.0, OutOfRange, "u_y is 0"),
        ([1, 2, 3], [1, 2, 3], [0.1, -0.1, 0.1], OutOfRange, r"u_y\[1\] is -0.1"),
        ([1, 2, math.nan], [1, 2, 3], 0.1, OutOfRange, r"x\[2\] is nan"),
        ([1, 2, 3], [1, 2, 1e300], 0.1, OutOfRange, r"y\[2\]"),
    ],
)
def test_refusals(x, y, u_y, error, says: str) -> None:
    with pytest.raises(error, match=says):
        straight_line(x, y, u_y)


def test_line_methods_refuse_what_is_no_number() -> None:
    line = straight_line(X, Y, U)
    for call in (lambda: line.at(math.nan), lambda: line.at(0.0, -1.0), lambda: line.inverse(math.inf)):
        with pytest.raises(OutOfRange):
            call()
    with pytest.raises(OutOfRange, match="u_y"):
        line.new_reading(0.0, -0.1)
