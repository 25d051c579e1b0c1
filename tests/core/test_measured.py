"""Measured values and coverage factors; the t quantiles against scipy.stats (reference library)."""

import math

import pytest
from scipy import stats

from sparkout.core.errors import OutOfRange
from sparkout.core.measured import Measured, coverage_factor


@pytest.mark.parametrize("coverage", [0.5, 0.9, 0.95, 0.99, 0.9973])
@pytest.mark.parametrize("dof", [1.0, 2.5, 9.0, 60.0])
def test_students_t(coverage: float, dof: float) -> None:
    assert coverage_factor(coverage, dof) == pytest.approx(stats.t.ppf((1 + coverage) / 2, dof), rel=1e-10)


def test_normal() -> None:
    assert coverage_factor(0.95) == pytest.approx(stats.norm.ppf(0.975), rel=1e-12)


def test_interval_and_scaling() -> None:
    value = Measured(10.0, 0.5, 9.0)
    half = 0.5 * stats.t.ppf(0.975, 9.0)
    assert value.interval() == pytest.approx((10.0 - half, 10.0 + half))
    assert value.scaled(-2.0) == Measured(-20.0, 1.0, 9.0)


@pytest.mark.parametrize(
    ("make", "says"),
    [
        (lambda: Measured(math.nan, 0.1), "value is nan"),
        (lambda: Measured(1.0, -0.1), "u is -0.1; allowed: at least 0"),
        (lambda: Measured(1.0, math.inf), "u is inf"),
        (lambda: coverage_factor(0.0), "coverage is 0"),
        (lambda: coverage_factor(95.0), "coverage is 95"),
        (lambda: coverage_factor(0.95, 0.5), "dof is 0.5; allowed: at least 1"),
    ],
)
def test_refusals(make, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        make()
