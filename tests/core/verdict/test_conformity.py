"""The verdict, against scipy.stats and against its own definition at the edges of its zones."""

import math
from statistics import NormalDist

import numpy as np
import pytest
from scipy import stats

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.mixture import MixedQuantity
from sparkout.core.verdict.conformity import probability_conforming, verdict
from sparkout.core.verdict.limit import Limit


def limit(lower, upper, risk=0.05):
    return Limit("cone", lower, upper, "house", risk=risk)


@pytest.mark.parametrize(("value", "u", "lower", "upper"), [(1.0, 0.3, None, 1.2), (1.0, 0.3, 0.4, None), (1, 2, 0, 3)])
def test_probability_against_statistics_normal(value, u, lower, upper):
    law = NormalDist(value, u)
    expected = (1.0 if upper is None else law.cdf(upper)) - (0.0 if lower is None else law.cdf(lower))
    assert probability_conforming(value, u, lower, upper) == pytest.approx(expected, abs=1e-15)


@pytest.mark.parametrize("dof", [1.0, 4.0, 9.0, 60.0])
def test_probability_with_few_degrees_of_freedom_against_scipy_stats_t(dof):
    law = stats.t(dof, loc=0.04, scale=0.01)
    assert probability_conforming(0.04, 0.01, 0.02, 0.05, dof) == pytest.approx(
        law.cdf(0.05) - law.cdf(0.02), rel=1e-12
    )
    far = stats.t(dof, loc=-1.0, scale=0.1)
    assert probability_conforming(-1.0, 0.1, lower=0.5, dof=dof) == pytest.approx(far.sf(0.5), rel=1e-9)


def test_a_far_tail_keeps_its_digits_on_both_sides():
    tail = stats.norm.sf(20.0) - stats.norm.sf(21.0)
    assert probability_conforming(0.0, 1.0, 20.0, 21.0) == pytest.approx(tail, rel=1e-12)
    assert probability_conforming(0.0, 1.0, -21.0, -20.0) == pytest.approx(tail, rel=1e-12)


def test_without_uncertainty_the_limit_itself_still_conforms():
    assert probability_conforming(0.05, 0.0, upper=0.05) == 1.0
    assert probability_conforming(0.0500001, 0.0, upper=0.05) == 0.0
    assert verdict(Measured(0.05, 0.0), limit(None, 0.05)).outcome == "conforms"
    assert verdict(Measured(0.06, 0.0), limit(0.0, 0.05)).outcome == "does not conform"


def test_bad_input_is_named():
    with pytest.raises(OutOfRange, match="value"):
        probability_conforming(math.nan, 0.1, upper=1.0)
    with pytest.raises(OutOfRange, match=r"u is -0\.1"):
        probability_conforming(0.0, -0.1, upper=1.0)
    with pytest.raises(OutOfRange, match="dof"):
        probability_conforming(0.0, 0.1, upper=1.0, dof=0.5)
    with pytest.raises(NotEnough):
        probability_conforming(0.0, 0.1)
    with pytest.raises(Contradiction):
        probability_conforming(0.0, 0.1, 2.0, 1.0)


def test_one_limit_gives_the_guard_band_k_u_on_either_side():
    k = NormalDist().inv_cdf(0.95)
    found = verdict(Measured(0.03, 0.01), limit(None, 0.05))
    assert found.guard_band == pytest.approx(k * 0.01, rel=1e-12)
    assert found.acceptance == (None, pytest.approx(0.05 - k * 0.01))
    assert found.rejection == (None, pytest.approx(0.05 + k * 0.01))
    assert found.margin == pytest.approx(0.02)
    found = verdict(Measured(0.03, 0.01), limit(0.02, None))
    assert found.acceptance == (pytest.approx(0.02 + k * 0.01), None)
    assert found.rejection == (pytest.approx(0.02 - k * 0.01), None)
    assert found.guard_band == pytest.approx(k * 0.01, rel=1e-12)


@pytest.mark.parametrize(
    ("value", "outcome"),
    [(0.03, "conforms"), (0.045, "undecided"), (0.05, "undecided"), (0.055, "undecided"), (0.07, "does not conform")],
)
def test_the_three_outcomes(value, outcome):
    assert verdict(Measured(value, 0.01), limit(None, 0.05)).outcome == outcome


@pytest.mark.parametrize("u", [0.005, 0.01, 0.02])
@pytest.mark.parametrize("dof", [math.inf, 8.0])
def test_two_limits_the_edges_of_the_zones_are_exactly_at_the_risk(u, dof):
    found = verdict(Measured(0.01, u, dof), limit(-0.05, 0.05))
    for edge in found.acceptance:
        assert probability_conforming(edge, u, -0.05, 0.05, dof) == pytest.approx(0.95, abs=1e-9)
    for edge in found.rejection:
        assert probability_conforming(edge, u, -0.05, 0.05, dof) == pytest.approx(0.05, abs=1e-9)
    assert found.acceptance[0] == pytest.approx(-found.acceptance[1])
    assert found.guard_band == pytest.approx(0.05 - found.acceptance[1])


def test_nearest_limit_decides_which_guard_band_is_shown():
    law = MixedQuantity(np.array([0.9, 0.1]), np.array([0.0, 0.02]), np.array([0.005, 0.01]))
    wide_above, wide_below = verdict(law, limit(-0.03, 1.0)), verdict(law, limit(-1.0, 0.05))
    assert wide_above.guard_band == pytest.approx(wide_above.acceptance[0] + 0.03)
    assert wide_below.guard_band == pytest.approx(0.05 - wide_below.acceptance[1])
    assert wide_below.guard_band > wide_above.guard_band  # the tail is on the upper side


@pytest.mark.parametrize("value", [0.0, 0.049, -0.049])
def test_a_gauge_too_coarse_for_the_zone_has_no_acceptance_zone(value):
    found = verdict(Measured(value, 0.03), limit(-0.05, 0.05))
    assert found.acceptance is None
    assert found.outcome == "undecided"
    assert found.guard_band == pytest.approx(NormalDist().inv_cdf(0.95) * 0.03)


def test_knowing_nearly_nothing_is_not_nonconformity():
    """A zone of 0.1 mm seen through 2 mm of uncertainty: g is 2 %, but nothing has been found wrong."""
    found = verdict(Measured(0.0, 2.0), limit(-0.05, 0.05))
    assert found.probability < 0.05
    assert (found.outcome, found.acceptance) == ("undecided", None)
    mixed = MixedQuantity(np.array([0.5, 0.5]), np.array([0.0, 0.1]), np.array([2.0, 3.0]))
    assert verdict(mixed, limit(-0.05, 0.05)).outcome == "undecided"


@pytest.mark.parametrize("value", [10.0, -10.0])
def test_far_beyond_one_limit_does_not_conform_however_coarse_the_gauge(value):
    found = verdict(Measured(value, 2.0), limit(-0.05, 0.05))
    assert found.outcome == "does not conform"
    assert not found.rejection[0] <= value <= found.rejection[1]


def test_two_sharp_explanations_on_either_side_do_not_conform():
    """Either way it is out, though no one limit is surely passed."""
    law = MixedQuantity(np.array([0.5, 0.5]), np.array([-0.5, 0.5]), np.array([0.02, 0.02]))
    found = verdict(law, limit(-0.1, 0.1))
    assert found.probability < 1e-9
    assert found.outcome == "does not conform"


@pytest.mark.parametrize(("lower", "upper"), [(None, 0.05), (-0.05, None), (-0.05, 0.05)])
def test_one_explanation_is_the_same_as_a_measured_value(lower, upper):
    alone = verdict(Measured(0.04, 0.012), limit(lower, upper))
    mixed = verdict(MixedQuantity(np.array([1.0]), np.array([0.04]), np.array([0.012])), limit(lower, upper))
    assert mixed.outcome == alone.outcome
    assert mixed.probability == pytest.approx(alone.probability, abs=1e-14)
    assert mixed.guard_band == pytest.approx(alone.guard_band, abs=1e-9)
    for ours, theirs in zip(mixed.acceptance + mixed.rejection, alone.acceptance + alone.rejection, strict=True):
        assert ours == (None if theirs is None else pytest.approx(theirs, abs=1e-9))


def test_mixture_probability_against_a_weighted_sum():
    law = MixedQuantity(np.array([0.7, 0.3]), np.array([0.03, 0.08]), np.array([0.01, 0.03]))
    by_hand = 0.7 * stats.norm.cdf(2.0) + 0.3 * stats.norm.cdf(-1.0)
    assert verdict(law, limit(None, 0.05)).probability == pytest.approx(by_hand, abs=1e-14)


def test_a_risk_of_one_half_leaves_nothing_undecided():
    for value in np.linspace(0.0, 0.1, 21):
        found = verdict(Measured(float(value), 0.01), limit(None, 0.05, risk=0.5))
        assert found.outcome == ("conforms" if value <= 0.05 else "does not conform")
        assert found.guard_band == 0.0
