"""Distributions: against scipy.stats (reference library)."""

import math

import numpy as np
import pytest
from scipy import stats

from sparkout.core.distributions import Arcsine, Normal, Rectangular, Student, of_measured
from sparkout.core.errors import OutOfRange
from sparkout.core.measured import Measured

PAIRS = [
    (Normal(2.0, 0.5), stats.norm(2.0, 0.5)),
    (Rectangular(2.0, 0.5), stats.uniform(1.5, 1.0)),
    (Arcsine(2.0, 0.5), stats.arcsine(1.5, 1.0)),
    (Student(2.0, 0.5, 5.0), stats.t(5.0, 2.0, 0.5)),
]


@pytest.mark.parametrize(("ours", "reference"), PAIRS)
def test_draws_follow_the_reference_distribution(ours, reference) -> None:
    """Kolmogorov-Smirnov; a right generator fails this seed with probability 0.001."""
    drawn = ours.draw(20_000, np.random.default_rng(11))
    assert drawn.shape == (20_000,)
    assert stats.kstest(drawn, reference.cdf).pvalue > 0.001


@pytest.mark.parametrize(("ours", "reference"), PAIRS[:3])
def test_mean_and_standard_deviation(ours, reference) -> None:
    assert ours.measured().value == pytest.approx(reference.mean())
    assert ours.measured().u == pytest.approx(reference.std(), rel=1e-12)


def test_measured_values_there_and_back() -> None:
    few = Measured(1.0, 0.1, 4.0)
    assert of_measured(few).measured() == few
    assert of_measured(Measured(1.0, 0.1)) == Normal(1.0, 0.1)


@pytest.mark.parametrize("make", [Normal, Rectangular, Arcsine])
def test_refusals(make) -> None:
    with pytest.raises(OutOfRange, match="allowed: at least 0"):
        make(0.0, -1.0)
    with pytest.raises(OutOfRange, match="mean"):
        make(math.nan, 1.0)


def test_student_refusals() -> None:
    with pytest.raises(OutOfRange, match=r"dof is 0\.5; allowed: at least 1"):
        Student(0.0, 1.0, 0.5)
    with pytest.raises(OutOfRange, match="scale"):
        Student(0.0, -1.0, 5.0)
