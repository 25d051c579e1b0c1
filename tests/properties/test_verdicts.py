"""What must hold for every verdict and every next reading."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.measured import Measured
from sparkout.core.mixture import GaussianMixture
from sparkout.core.verdict.conformity import probability_conforming, verdict
from sparkout.core.verdict.guard_band import acceptance_limit
from sparkout.core.verdict.limit import Limit
from sparkout.core.verdict.next_reading import Candidate, next_readings, separating_reading

VALUES = st.floats(-2.0, 2.0)
SPREADS = st.floats(1e-4, 3.0)
RISKS = st.sampled_from([0.001, 0.01, 0.05, 0.2, 0.5])
SIDES = st.sampled_from([(None, 0.3), (-0.4, None), (-0.4, 0.3)])
DOFS = st.sampled_from([math.inf, 3.0, 20.0])


def limit(sides, risk):
    return Limit("cone", *sides, "house", risk=risk)


@settings(deadline=None)
@given(VALUES, SPREADS, SIDES, RISKS, DOFS)
def test_the_outcome_is_what_the_zones_say(value, u, sides, risk, dof):
    found = verdict(Measured(value, u, dof), limit(sides, risk))
    low, high = found.acceptance or (math.inf, -math.inf)
    inside = (low is None or value >= low) and (high is None or value <= high)
    outside = any(
        (edge is not None and (value < edge if below else value > edge))
        for edge, below in zip(found.rejection, (True, False), strict=True)
    )
    near = min(abs(value - edge) for edge in (*(found.acceptance or ()), *found.rejection) if edge is not None)
    if near > 1e-9:
        assert found.outcome == ("conforms" if inside else "does not conform" if outside else "undecided")


@settings(deadline=None)
@given(VALUES, SPREADS, SIDES, RISKS, DOFS)
def test_turning_left_and_right_round_changes_nothing(value, u, sides, risk, dof):
    mirrored = tuple(None if side is None else -side for side in reversed(sides))
    ours, theirs = (
        verdict(Measured(sign * value, u, dof), limit(each, risk)) for sign, each in ((1, sides), (-1, mirrored))
    )
    assert ours.outcome == theirs.outcome
    assert ours.probability == pytest.approx(theirs.probability, abs=1e-12)
    assert ours.margin == pytest.approx(theirs.margin)


@settings(deadline=None)
@given(VALUES, SPREADS, SIDES, st.floats(1e-3, 1e3))
def test_the_unit_changes_nothing(value, u, sides, factor):
    scaled = [None if side is None else factor * side for side in sides]
    ours = probability_conforming(value, u, *sides)
    assert probability_conforming(factor * value, factor * u, *scaled) == pytest.approx(ours, abs=1e-12)


@settings(deadline=None)
@given(st.floats(-0.39, 0.29), SPREADS, st.floats(1.0, 10.0))
def test_a_finer_gauge_never_loses_confidence_in_a_value_within_its_limits(value, u, factor):
    coarse, fine = (probability_conforming(value, each, -0.4, 0.3) for each in (u * factor, u))
    assert fine >= coarse - 1e-12


@settings(max_examples=40, deadline=None)
@given(st.floats(0.3, 20.0), st.floats(0.05, 1.0), st.floats(1.2, 3.0), st.floats(0.02, 0.9), st.floats(1e-3, 1e3))
def test_acceptance_limits_scale_with_the_unit_and_grow_with_the_share(shape, spread, far, part, factor):
    from scipy.special import gammaincc

    upper, u = shape * far, spread * math.sqrt(shape)
    everything = float(gammaincc(shape, upper))
    wanted = part * everything
    try:
        accept = acceptance_limit(shape, 1.0, u, upper, wanted)
    except ValueError as refusal:
        assert "wanted_false_accept" in str(refusal)  # noqa: PT017 - such a share needs a limit below zero
        return
    assert acceptance_limit(shape, factor, factor * u, factor * upper, wanted) == pytest.approx(
        factor * accept, rel=1e-9
    )
    assert acceptance_limit(shape, 1.0, u, upper, wanted + 0.5 * (everything - wanted)) > accept


def mixture_of(seed, explanations):
    generator = np.random.default_rng(seed)
    roots = generator.normal(size=(explanations, 3, 3)) * np.exp(generator.normal(-2.0, 1.5, (explanations, 1, 1)))
    weights = generator.dirichlet(np.ones(explanations))
    return GaussianMixture(
        weights, generator.normal(0.0, 0.3, (explanations, 3)), roots @ roots.transpose(0, 2, 1)
    ), generator


QUADRATURE = 1e-4  # what next_readings states for its expectations
SEEDS = st.integers(0, 2**32 - 1)


@settings(max_examples=60, deadline=None)
@given(SEEDS, st.integers(1, 6), SIDES, RISKS)
def test_a_reading_is_never_expected_to_do_harm(seed, explanations, sides, risk):
    mixture, generator = mixture_of(seed, explanations)
    candidates = [
        Candidate(str(i), generator.normal(size=3), float(np.exp(generator.uniform(-7, 1)))) for i in range(4)
    ]
    for each in next_readings(mixture, generator.normal(size=3), limit(sides, risk), candidates):
        assert each.risk_after <= each.risk_before + QUADRATURE
        assert each.wrong_after <= each.wrong_before + QUADRATURE
        assert -1e-12 <= each.chance_decided <= 1 + 1e-12
        assert 0.0 <= each.risk_after <= risk + 1e-12


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.integers(1, 5), SIDES, st.floats(1.0, 30.0))
def test_a_finer_gauge_at_the_same_place_is_never_worth_less(seed, explanations, sides, factor):
    mixture, generator = mixture_of(seed, explanations)
    row, u = generator.normal(size=3), float(np.exp(generator.uniform(-6, 0)))
    coarse, fine = Candidate("coarse", row, factor * u), Candidate("fine", row, u)
    judged = generator.normal(size=3)
    found = {each.candidate.label: each for each in next_readings(mixture, judged, limit(sides, 0.05), [coarse, fine])}
    assert found["fine"].risk_after <= found["coarse"].risk_after + QUADRATURE
    assert found["fine"].wrong_after <= found["coarse"].wrong_after + QUADRATURE
    if explanations > 1:
        told = {each.candidate.label: each for each in separating_reading(mixture, (0, 1), [coarse, fine])}
        assert told["fine"].evidence >= told["coarse"].evidence - 1e-9


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.integers(1, 5), SIDES)
def test_neither_order_nor_side_nor_a_hopeless_reading_matters(seed, explanations, sides):
    mixture, generator = mixture_of(seed, explanations)
    judged = generator.normal(size=3)
    candidates = [Candidate(str(i), generator.normal(size=3), 0.05 * (i + 1)) for i in range(4)]
    hopeless = Candidate("hopeless", np.ones(3), 1e9)
    found = next_readings(mixture, judged, limit(sides, 0.05), [*candidates, hopeless])
    turned = next_readings(mixture, judged, limit(sides, 0.05), [hopeless, *reversed(candidates)])
    assert [each.candidate for each in found] == [each.candidate for each in turned]
    mirrored = tuple(None if side is None else -side for side in reversed(sides))
    other = {each.candidate.label: each for each in next_readings(mixture, -judged, limit(mirrored, 0.05), candidates)}
    for each in found:
        if each.candidate is hopeless:
            assert each.risk_after == pytest.approx(each.risk_before, abs=1e-7)
        else:
            assert each.risk_after == pytest.approx(other[each.candidate.label].risk_after, abs=QUADRATURE)
