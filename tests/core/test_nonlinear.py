"""Curve through points: uncertainty by brute force, refusals. Certified values: tests/published/test_nist_strd.py."""

import math

import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.line import straight_line
from sparkout.core.nonlinear import curve_through_points

HOURS = np.linspace(0.0, 400.0, 12)


def wear(hours, b):
    return b[0] * (1.0 - np.exp(-b[1] * hours))


def test_a_straight_curve_is_the_straight_line() -> None:
    """Two routes: the line's closed form."""
    y = np.array((0.1, 0.9, 2.2, 2.8, 4.1))
    line = straight_line(np.arange(5.0), y)
    curve = curve_through_points(lambda x, b: b[0] + b[1] * x, np.arange(5.0), y, [0.0, 0.0])
    assert curve.estimates == pytest.approx((line.intercept, line.slope), rel=1e-11)
    assert curve.sds == pytest.approx((line.u_intercept, line.u_slope), rel=1e-10)
    assert curve.covariance[0, 1] == pytest.approx(line.covariance, rel=1e-10)
    assert curve.residual_sd == pytest.approx(line.residual_sd, rel=1e-11)


def test_standard_deviations_against_repeating_the_readings() -> None:
    generator = np.random.default_rng(12)
    found = [
        curve_through_points(wear, HOURS, wear(HOURS, (2.0, 0.01)) + generator.normal(0, 0.01, 12), [1.5, 0.02])
        for _ in range(200)
    ]
    scatter = np.std([curve.estimates for curve in found], axis=0)
    stated = np.sqrt(np.mean([curve.sds**2 for curve in found], axis=0))
    assert scatter == pytest.approx(stated, rel=0.2)


def test_misfit_is_not_sent_astray_by_the_last_steps() -> None:
    """A minimum with large bent residuals, where plain Gauss-Newton steps lead away: the search's answer is kept."""
    x = np.array((-1.0, 0.0, 1.0, 2.0))
    y = np.array((6.0, -5.0, 6.0, 6.0))
    curve = curve_through_points(lambda x, b: np.exp(b[0] * x) - 1.0, x, y, [0.2])
    grid = np.linspace(-2.0, 2.0, 400_001)
    sums = sum((np.exp(grid * a) - 1.0 - b) ** 2 for a, b in zip(x, y, strict=True))
    assert curve.sum_squared <= sums.min() * (1 + 1e-9)


@pytest.mark.parametrize(
    ("model", "x", "y", "start", "error", "says"),
    [
        (wear, [0, 1, 2], [0, 1], [1, 1], OutOfRange, "one for each x"),
        (wear, [0, 1], [0, 1], [1, 1], NotEnough, "at least 3 points"),
        (wear, [0, 1, 2], [0, 1, math.nan], [1, 1], OutOfRange, r"y\[2\]"),
        (lambda x, b: b[0] / (x - x[0]), [1, 2, 3], [1, 2, 3], [1], OutOfRange, "constants at which the curve is"),
        (lambda x, b: b[0] * x + 0 * b[1], [0, 1, 2], [0, 1, 2.1], [1, 1], NotEnough, "depend on every constant"),
        (lambda x, b: (b[0] + b[1]) * x, [0, 1, 2], [0, 1, 2.1], [1, 1], NotEnough, "tell every constant"),
    ],
)
def test_refusals(model, x, y, start, error, says: str) -> None:
    with pytest.raises(error, match=says):
        curve_through_points(model, x, y, start)


def test_search_that_does_not_end(monkeypatch: pytest.MonkeyPatch) -> None:
    """Cut off after two looks, far from the answer: refused, not passed off as an answer."""
    import scipy.optimize

    real = scipy.optimize.least_squares
    monkeypatch.setattr(scipy.optimize, "least_squares", lambda *a, **k: real(*a, **{**k, "max_nfev": 2}))
    with pytest.raises(NotEnough, match="a start nearer"):
        curve_through_points(wear, HOURS, wear(HOURS, (2.0, 0.01)), [40.0, 1e-6])
