"""What must hold of the state of a reel whatever the readings."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.reel.explanations import Priors
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation, design
from sparkout.core.reel.posterior import posterior
from sparkout.core.reel.state import reel_state

N, L = 5, 533.0
REEL = Reel(N, 127.0, L, helix_angle=0.35)
PRIORS = Priors.from_limits(most_faults=1)

places = st.sampled_from([0.0, 100.0, 266.5, 433.0, 533.0])
us = st.sampled_from([1e-3, 0.01, 0.05, 1.0])
departures = st.floats(-0.5, 0.5, allow_subnormal=False)


@st.composite
def readings(draw: st.DrawFn) -> Observation:
    kind = draw(st.sampled_from(["radius", "run-out", "frame", "knife", "shaft", "rest gap"]))
    value = draw(departures)
    blades: tuple[int, ...] = ()
    if kind in ("radius", "run-out"):
        blades = draw(st.sampled_from([(), (0,), (3,), (1, 3), (2, 2, 4, 0)]))
    if kind == "radius":
        value += 63.2
    if kind == "rest gap":
        value = abs(value)
    angle = draw(st.floats(-3.0, 3.0)) if kind == "shaft" else None
    return Observation("", kind, draw(places), value, draw(us), blades, angle, draw(st.sampled_from(["", "A"])))


sets = st.lists(readings(), max_size=8)


@settings(max_examples=60, deadline=None)
@given(sets, readings())
def test_another_reading_never_widens_anything_within_one_explanation(
    before: list[Observation], more: Observation
) -> None:
    """Per alternative and place of contact, every linear quantity; rounding allowed: 1e-9 of the prior's variance."""
    found = []
    for observations in (before, [*before, more]):
        made = posterior(design(observations, REEL), REEL, PRIORS)
        whole = [[made.covariance(a, k) for k in range(len(made.places))] for a in range(len(made.owner))]
        found.append(np.array(whole)[:, :, : 11 + N, : 11 + N])
    known, better = np.broadcast_arrays(*found)
    least = np.linalg.eigvalsh(known - better).min()
    assert least >= -1e-9 * PRIORS.mean_radius_sd**2


@settings(max_examples=60, deadline=None)
@given(sets)
def test_any_readings_give_finite_weights_that_sum_to_one(observations: list[Observation]) -> None:
    state = reel_state(REEL, observations, PRIORS)
    weights = np.array([e.weight for e in state.explanations])
    assert weights.sum() == pytest.approx(1.0, abs=1e-9)
    assert (np.diff(weights) <= 1e-11).all()
    assert np.isfinite(state.mixture.means).all()
    assert np.linalg.eigvalsh(state.mixture.covariances).min() > -1e-9
    blades = slice(11, 11 + N)
    assert np.abs(state.mixture.means[:, blades].sum(axis=1)).max() < 1e-12
    low, high = state.interval("cone")
    assert low <= state.cone.value + 4 * state.cone.u
    assert high >= state.cone.value - 4 * state.cone.u
    assert low < high
    fit = state.generalised_least_squares()
    assert fit.chi_squared >= 0
    assert (fit.estimate is None) == bool(fit.undetermined)


@settings(max_examples=40, deadline=None)
@given(sets, st.randoms(use_true_random=False))
def test_the_order_of_readings_does_not_matter(observations: list[Observation], random) -> None:
    shuffled = observations[:]
    random.shuffle(shuffled)
    one, two = (reel_state(REEL, readings, PRIORS) for readings in (observations, shuffled))
    weights = {e.faults: e.weight for e in two.explanations}
    for e in one.explanations:
        assert weights[e.faults] == pytest.approx(e.weight, abs=1e-6)
    assert two.cone.value == pytest.approx(one.cone.value, abs=1e-6)


@settings(max_examples=40, deadline=None)
@given(sets)
def test_mirroring_changes_nothing_but_the_signs(observations: list[Observation]) -> None:
    turned = [Observation("", o.kind, L - o.x, o.value, o.u, o.blades, o.angle, o.group) for o in observations]
    here = reel_state(REEL, observations, PRIORS)
    there = reel_state(Reel(N, 127.0, L, helix_angle=-0.35), turned, PRIORS)
    assert there.cone.value == pytest.approx(-here.cone.value, abs=1e-6)
    assert there.frame_out.value == pytest.approx(-here.frame_out.value, abs=1e-6)
    assert there.barrel.value == pytest.approx(here.barrel.value, abs=1e-6)
    weights = {e.faults: e.weight for e in there.explanations}
    for e in here.explanations:
        assert weights[e.faults] == pytest.approx(e.weight, abs=1e-6)
