"""Acceptance limits and global risks against scipy double integrals and brute force."""

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate, stats

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.verdict.guard_band import acceptance_limit, global_risks
from sparkout.core.verdict.quadrature import panel_nodes, panels_between

RUN_OUT = (4.0, 0.01, 0.008, 0.08, 0.002)  # invented: gamma mean 0.04 mm, gauge 8 um, limit 80 um


def test_the_share_accepted_and_over_the_limit_by_a_double_integral():
    """Independent: scipy.integrate.dblquad over true value and reading with scipy.stats densities."""
    shape, scale, u, upper, wanted = RUN_OUT
    accept = acceptance_limit(*RUN_OUT)
    share, _ = integrate.dblquad(
        lambda reading, true: stats.gamma.pdf(true, shape, scale=scale) * stats.norm.pdf(reading, true, u),
        upper,
        upper + 0.3,
        accept - 12 * u,
        accept,
        epsabs=1e-12,
        epsrel=1e-10,
    )
    assert share == pytest.approx(wanted, rel=1e-7)


def test_the_share_accepted_and_over_the_limit_by_brute_force():
    """Independent: two million simulated units and readings, five standard errors."""
    shape, scale, u, upper, wanted = RUN_OUT
    accept, given = acceptance_limit(*RUN_OUT), acceptance_limit(*RUN_OUT, given_accepted=True)
    generator = np.random.default_rng(106)
    true = generator.gamma(shape, scale, 2_000_000)
    reading = true + generator.normal(0.0, u, true.size)
    joint = np.mean((true > upper) & (reading <= accept))
    assert joint == pytest.approx(wanted, abs=5 * math.sqrt(wanted / true.size))
    among = true[reading <= given] > upper
    assert among.mean() == pytest.approx(wanted, abs=5 * math.sqrt(wanted / among.size))


@pytest.mark.parametrize(
    ("shape", "scale", "u", "upper", "wanted"),
    [
        (0.05, 1.0, 0.1, 0.5, 1e-3),
        (0.5, 1.0, 0.1, 2.0, 1e-2),
        (1.0, 3.0, 1.0, 2.0, 1e-1),
        (2.0, 1.0, 1e-3, 5.0, 3e-2),
        (100.0, 0.01, 0.05, 1.2, 1e-3),
        (1e4, 0.01, 1.0, 102.0, 1e-3),
    ],
)
def test_far_corners_against_scipy_quad(shape, scale, u, upper, wanted):
    prior = stats.gamma(shape, scale=scale)
    top = prior.isf(prior.sf(upper) * 1e-16)

    def joint(accept):
        marks = sorted({min(max(upper, accept + step * u), top) for step in (-6, -2, 0, 2, 6)})
        ends = [upper, *marks, top]
        return sum(
            integrate.quad(lambda t: prior.pdf(t) * stats.norm.cdf((accept - t) / u), a, b, epsabs=0, epsrel=1e-11)[0]
            for a, b in pairwise(ends)
            if b > a
        )

    assert joint(acceptance_limit(shape, scale, u, upper, wanted)) == pytest.approx(wanted, rel=1e-9)
    accept = acceptance_limit(shape, scale, u, upper, wanted, given_accepted=True)
    inside, _ = integrate.quad(  # over probability instead of length: no singularity for a shape below 1
        lambda p: stats.norm.cdf((accept - prior.ppf(p)) / u), 0.0, prior.cdf(upper), epsabs=1e-12, limit=500
    )
    assert joint(accept) / (joint(accept) + inside) == pytest.approx(wanted, rel=1e-7)


def test_a_better_gauge_needs_no_guard_band_to_speak_of():
    fine = acceptance_limit(4.0, 0.01, 1e-6, 0.08, 1e-6)
    assert fine == pytest.approx(0.08, abs=3e-6)


@pytest.mark.parametrize("wanted", [0.043, 0.5, 1e-25])
@pytest.mark.parametrize("given_accepted", [False, True])
def test_an_impossible_wish_names_what_is_attainable(wanted, given_accepted):
    with pytest.raises(OutOfRange, match=r"wanted_false_accept .*allowed: above .* and below 0\.0423801"):
        acceptance_limit(4.0, 0.25, 0.25, 2.0, wanted, given_accepted=given_accepted)


def test_nearly_everything_and_nearly_nothing_are_still_found():
    everything = stats.gamma.sf(2.0, 4.0, scale=0.25)
    assert acceptance_limit(4.0, 0.25, 0.25, 2.0, everything * (1 - 1e-9)) > 3.0
    assert acceptance_limit(4.0, 0.25, 0.25, 2.0, everything * (1 - 1e-15)) > 3.0
    assert 0.0 < acceptance_limit(4.0, 0.25, 0.25, 2.0, 1e-15) < 1.0


def test_a_limit_that_nothing_ever_passes_is_refused():
    with pytest.raises(OutOfRange, match="wanted_false_accept"):
        acceptance_limit(4.0, 0.25, 0.25, 2000.0, 0.01)


@pytest.mark.parametrize(
    ("at", "name"),
    list(enumerate(["prior_shape", "prior_scale", "standard_uncertainty", "upper", "wanted_false_accept"])),
)
@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_bad_input_is_named(at, name, bad):
    values = [4.0, 0.25, 0.25, 2.0, 0.001]
    values[at] = bad
    with pytest.raises(OutOfRange, match=name):
        acceptance_limit(*values)


@pytest.mark.parametrize(
    ("limits", "acceptance"),
    [((-1.0, 1.0), None), ((None, 0.8), (None, 0.6)), ((-0.5, None), (-0.3, None)), ((-1.0, 1.0), (0.9, 3.0))],
)
def test_global_risks_by_brute_force(limits, acceptance):
    """Independent: a million simulated units, five standard errors."""
    found = global_risks(0.2, 0.7, 0.25, limits, acceptance)
    generator = np.random.default_rng(9)
    true = generator.normal(0.2, 0.7, 1_000_000)
    reading = true + generator.normal(0.0, 0.25, true.size)

    def within(values, zone):
        low, high = zone
        return (values >= (-np.inf if low is None else low)) & (values <= (np.inf if high is None else high))

    good, taken = within(true, limits), within(reading, acceptance or limits)
    for ours, theirs in (
        (found.consumer, ~good & taken),
        (found.producer, good & ~taken),
        (found.accepted, taken),
    ):
        assert ours == pytest.approx(theirs.mean(), abs=5 * math.sqrt(max(theirs.mean(), 1e-5) / true.size))
    assert found.consumer_given_accepted == pytest.approx(found.consumer / found.accepted)


def test_the_share_accepted_is_the_reading_within_the_zone():
    found = global_risks(0.0, 1.0, 0.5, (-2.0, 2.0), (-1.5, 1.7))
    spread = stats.norm(0.0, math.hypot(1.0, 0.5))
    assert found.accepted == pytest.approx(spread.cdf(1.7) - spread.cdf(-1.5), rel=1e-12)


@pytest.mark.parametrize("share", [0.6, 0.95, 0.99])
def test_two_limits_against_scipy_quad(share):
    """Independent: the table of tests/published/test_tolerance_risk.py to more digits than it prints."""
    spread = 1.0 / stats.norm.ppf((1.0 + share) / 2.0)
    u = spread / 4
    accepted_beyond, _ = integrate.quad(
        lambda t: stats.norm.pdf(t, 0, spread) * (stats.norm.cdf((1 - t) / u) - stats.norm.cdf((-1 - t) / u)),
        1.0,
        1.0 + 12 * u,
        epsabs=1e-14,
        epsrel=1e-12,
    )
    assert global_risks(0.0, spread, u, (-1.0, 1.0)).consumer == pytest.approx(2 * accepted_beyond, rel=1e-10)


def test_work_far_outside_its_limits():
    found = global_risks(1000.0, 1.0, 0.5, (-2.0, 2.0))
    assert (found.consumer, found.producer, found.accepted) == (0.0, 0.0, 0.0)
    assert math.isnan(found.consumer_given_accepted)


def test_global_risks_name_bad_input():
    with pytest.raises(OutOfRange, match="sd"):
        global_risks(0.0, 0.0, 0.5, (-2.0, 2.0))
    with pytest.raises(OutOfRange, match="mean"):
        global_risks(math.nan, 1.0, 0.5, (-2.0, 2.0))
    with pytest.raises(OutOfRange, match="u is 0"):
        global_risks(0.0, 1.0, 0.0, (-2.0, 2.0))
    with pytest.raises(NotEnough, match="the work"):
        global_risks(0.0, 1.0, 0.5, (None, None))
    with pytest.raises(Contradiction):
        global_risks(0.0, 1.0, 0.5, (-2.0, 2.0), (1.0, -1.0))


def test_panels_integrate_polynomials_exactly():
    left, right = panels_between(0.0, 2.0, np.array([-1.0, 0.5, 0.5, 1.7, 9.0]))
    assert left.tolist() == [0.0, 0.5, 1.7]
    assert right.tolist() == [0.5, 1.7, 2.0]
    nodes, weights = panel_nodes(left, right, 4)
    assert (weights * nodes**7).sum() == pytest.approx(2.0**8 / 8, rel=1e-13)
