"""Feeler leaves: the interval, its uncertainty, refusals."""

import math

import numpy as np
import pytest

from sparkout.core.errors import Contradiction, OutOfRange
from sparkout.core.gauges.feeler import Interval, cone_from_rest_gap, gap_from_leaves, gap_interval


def test_cone_against_a_drawn_cone() -> None:
    """Brute force: radii along a coned reel, a parallel knife lying on the largest; the gap at the small end."""
    radius = 63.5 + np.linspace(-0.4, 0.6, 101)
    knife = radius.max()
    assert cone_from_rest_gap(float(knife - radius[0])) == pytest.approx(2 * radius[-1] - 2 * radius[0], rel=1e-12)


@pytest.mark.parametrize("gap", [-0.01, 20.1, float("nan")])
def test_gap_out_of_range(gap: float) -> None:
    with pytest.raises(OutOfRange, match=r"gap is .* mm; allowed: 0 to 20 mm"):
        cone_from_rest_gap(gap)


def test_uncertainty_against_drawing_the_gap() -> None:
    """Brute force: a gap anywhere between the leaves, plus a normal error: its standard deviation."""
    generator = np.random.default_rng(20)
    gaps = generator.uniform(0.05, 0.10, 400_000) + generator.normal(0.0, 0.01, 400_000)
    found = gap_from_leaves(0.05, 0.10, 0.01)
    assert found.value == pytest.approx(gaps.mean(), abs=1e-4)
    assert found.u == pytest.approx(gaps.std(), rel=5e-3)


def test_interval_is_the_leaves_moved_out() -> None:
    found = gap_interval(0.05, 0.08, 0.005)
    assert (found.low, found.high) == pytest.approx((0.04, 0.09))
    assert found.middle == pytest.approx(0.065)
    assert found.width == pytest.approx(0.05)
    assert gap_interval(0.05, 0.08, 0.005, coverage_factor=0.0) == Interval(0.05, 0.08)


def test_no_leaf_goes_and_the_gap_is_not_below_nothing() -> None:
    assert gap_interval(0.0, 0.03, 0.005).low == 0.0


def test_one_leaf_just_felt_leaves_its_own_uncertainty() -> None:
    found = gap_from_leaves(0.05, 0.05, 0.004)
    assert (found.value, found.u) == (0.05, 0.004)


@pytest.mark.parametrize("calculate", [gap_interval, gap_from_leaves])
def test_thicker_leaf_goes_than_does_not_go(calculate) -> None:
    with pytest.raises(Contradiction, match=r"0\.08 mm goes, so the thinner one of 0\.05 mm must go too"):
        calculate(0.08, 0.05, 0.0)


@pytest.mark.parametrize(
    ("leaves", "says"),
    [
        ((-0.01, 0.05, 0.0), "goes is -0.01 mm; allowed: 0 to 20 mm"),
        ((0.0, 0.0, 0.0), "does_not_go is 0 mm; allowed: above 0 up to 20 mm"),
        ((0.0, math.inf, 0.0), "does_not_go is inf mm"),
        ((0.0, 0.05, -1.0), "leaf_u is -1 mm; allowed: 0 to 1 mm"),
    ],
)
def test_refusals(leaves, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        gap_from_leaves(*leaves)
