"""The next reading: closed forms for one explanation, brute force for several."""

import math
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest
from scipy import integrate, stats

from sparkout.core.errors import OutOfRange, Refusal
from sparkout.core.measured import Measured
from sparkout.core.mixture import GaussianMixture
from sparkout.core.verdict.conformity import verdict
from sparkout.core.verdict.limit import Limit
from sparkout.core.verdict.next_reading import (
    Candidate,
    Prospect,
    next_readings,
    separating_reading,
    telling_reading,
    worth_taking,
)

ONE = GaussianMixture(np.array([1.0]), np.array([[0.05, 0.0]]), np.array([np.diag([0.02**2, 1.0])]))
CONE = np.array([1.0, 0.0])
NORMAL = NormalDist()


def limit(lower, upper, risk=0.05):
    return Limit("cone", lower, upper, "house", risk=risk)


def frame_or_reel():
    """Invented: a gap is cone (first parameter) or frame (second); two explanations and a doubtful third."""
    return GaussianMixture(
        np.array([0.5, 0.4, 0.1]),
        np.array([[0.20, 0.0], [0.0, 0.10], [0.1, 0.05]]),
        np.array([np.diag([0.03, 0.004]) ** 2, np.diag([0.02, 0.02]) ** 2, np.diag([0.1, 0.1]) ** 2]),
    )


READINGS = (
    Candidate("gap again", np.array([0.5, 1.0]), 0.02, 1.0),
    Candidate("tape at both ends", np.array([1.0, 0.0]), 0.08, 6.0),
    Candidate("dial on the frame", np.array([0.0, 1.0]), 0.01, 10.0),
    Candidate("caliper", np.array([1.0, 0.0]), 0.02, 4.0),
)


@pytest.mark.parametrize("u", [0.002, 0.01, 0.05])
@pytest.mark.parametrize(("lower", "upper"), [(None, 0.055), (0.04, None), (0.02, 0.08)])
def test_one_explanation_against_an_integral_over_the_posterior_mean(u, lower, upper):
    """Independent, by scipy.integrate.quad: posterior mean N(m, s^4/(s^2 + u^2)), spread s u / sqrt(s^2 + u^2)."""
    s, m = 0.02, 0.05
    moves, left = s**2 / math.hypot(s, u), s * u / math.hypot(s, u)
    low, high = -math.inf if lower is None else lower, math.inf if upper is None else upper

    law = NormalDist(m, moves)

    def good(mean):
        return NORMAL.cdf((high - mean) / left) - NORMAL.cdf((low - mean) / left)

    def expected(loss):
        marks = [m + step * moves for step in np.linspace(-8, 8, 65)]
        marks += [edge + step * left for edge in (low, high) if math.isfinite(edge) for step in np.linspace(-4, 4, 33)]
        ends = sorted(mark for mark in marks if abs(mark - m) <= 8 * moves)
        return sum(
            integrate.quad(lambda x: law.pdf(x) * loss(good(x)), a, b, epsabs=1e-10)[0] for a, b in pairwise(ends)
        )

    (found,) = next_readings(ONE, CONE, limit(lower, upper), [Candidate("dial", CONE, u)])
    assert found.risk_after == pytest.approx(expected(lambda g: min(g, 1 - g, 0.05)), abs=1e-5)
    assert found.wrong_after == pytest.approx(expected(lambda g: min(g, 1 - g)), abs=3e-5)
    g = stats.norm.cdf((high - m) / s) - stats.norm.cdf((low - m) / s)
    assert found.risk_before == pytest.approx(min(g, 1 - g, 0.05))
    assert found.wrong_before == pytest.approx(min(g, 1 - g))


@pytest.mark.parametrize("u", [0.001, 0.004, 0.01, 0.03, 0.3])
def test_the_chance_of_a_verdict_in_closed_form(u):
    """One limit: decided when the posterior mean is k times its spread away from it; a normal probability."""
    s, m, upper = 0.02, 0.05, 0.055
    moves, left, k = s**2 / math.hypot(s, u), s * u / math.hypot(s, u), stats.norm.ppf(0.95)
    exact = stats.norm.cdf((upper - k * left - m) / moves) + stats.norm.sf((upper + k * left - m) / moves)
    (found,) = next_readings(ONE, CONE, limit(None, upper), [Candidate("dial", CONE, u)])
    assert found.chance_decided == pytest.approx(exact, abs=0.005)


def chance_of_conforming(mixture, candidate, readings, bounds):
    """g after each reading, by Bayes' rule written out with scipy.stats for all readings at once."""
    low, high = (-np.inf if bounds[0] is None else bounds[0]), (np.inf if bounds[1] is None else bounds[1])
    likelihoods, chances = [], []
    for w, m, c in zip(mixture.weights, mixture.means, mixture.covariances, strict=True):
        variance = candidate.row @ c @ candidate.row + candidate.u**2
        gain = (CONE @ c @ candidate.row) / variance
        law = stats.norm(
            CONE @ m + gain * (readings - candidate.row @ m), math.sqrt(CONE @ c @ CONE - gain**2 * variance)
        )
        likelihoods.append(w * stats.norm.pdf(readings, candidate.row @ m, math.sqrt(variance)))
        chances.append(law.cdf(high) - law.cdf(low))
    return (np.array(likelihoods) * chances).sum(axis=0) / np.sum(likelihoods, axis=0)


@pytest.mark.parametrize("bounds", [(None, 0.1), (0.05, None), (-0.02, 0.15)])
def test_several_explanations_by_brute_force(bounds):
    """Independent: draw the truth and a reading 40,000 times, update by Bayes, apply the rule; five standard errors."""
    mixture, generator = frame_or_reel(), np.random.default_rng(20)
    for ours in next_readings(mixture, CONE, limit(*bounds), READINGS):
        candidate = ours.candidate
        truths = mixture.draw(40_000, generator)
        readings = truths @ candidate.row + generator.normal(0.0, candidate.u, len(truths))
        g = chance_of_conforming(mixture, candidate, readings, bounds)
        for value, sample in (
            (ours.risk_after, np.minimum(np.minimum(g, 1 - g), 0.05)),
            (ours.wrong_after, np.minimum(g, 1 - g)),
            (ours.chance_decided, (g <= 0.05) | (g >= 0.95)),
        ):
            assert value == pytest.approx(sample.mean(), abs=5 * sample.std() / len(sample) ** 0.5 + 1e-5)


@pytest.mark.parametrize("bounds", [(None, 0.1), (-0.02, 0.15)])
def test_the_forecast_uses_the_same_rule_as_the_verdict(bounds):
    mixture = frame_or_reel()
    candidate = READINGS[3]
    readings = np.linspace(-0.1, 0.4, 26)
    g = chance_of_conforming(mixture, candidate, readings, bounds)
    for reading, chance in zip(readings, g, strict=True):
        found = verdict(mixture.updated(candidate.row, float(reading), candidate.u).quantity(CONE), limit(*bounds))
        assert found.probability == pytest.approx(chance, abs=1e-12)
        assert (found.outcome == "undecided") == (0.05 < chance < 0.95)


def test_best_first_and_the_input_order_does_not_matter():
    house = limit(None, 0.1)
    found = next_readings(frame_or_reel(), CONE, house, READINGS)
    assert found[0].candidate.label == "caliper"
    risks = [each.risk_after for each in found]
    assert risks == sorted(risks)
    turned = next_readings(frame_or_reel(), CONE, house, READINGS[::-1])
    assert [each.candidate.label for each in turned] == [each.candidate.label for each in found]
    assert [each.risk_after for each in turned] == pytest.approx(risks, abs=1e-12)


def test_equal_readings_go_by_minutes_then_label():
    same = [Candidate(label, CONE, 0.01, minutes) for label, minutes in (("c", 5.0), ("b", 2.0), ("a", 5.0))]
    found = next_readings(ONE, CONE, limit(None, 0.06), same)
    assert [each.candidate.label for each in found] == ["b", "a", "c"]


def test_readings_that_cannot_decide_alone_are_ranked_by_the_forced_decision():
    rough = [Candidate("rougher", CONE, 2.0), Candidate("rough", CONE, 0.5)]
    found = next_readings(ONE, CONE, limit(None, 0.05), rough)
    assert [each.risk_after for each in found] == pytest.approx([0.05, 0.05], abs=1e-9)
    assert [each.chance_decided for each in found] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert found[0].candidate.label == "rough"
    assert found[0].wrong_after < found[1].wrong_after < found[0].wrong_before


@pytest.mark.parametrize("u", [1e6, 1e12])
def test_a_hopeless_reading_brings_nothing(u):
    (found,) = next_readings(frame_or_reel(), CONE, limit(None, 0.1), [Candidate("guess", np.ones(2), u)])
    assert found.risk_after == pytest.approx(found.risk_before, abs=1e-9)
    assert found.wrong_after == pytest.approx(found.wrong_before, abs=1e-9)


def test_a_reading_of_something_else_brings_nothing():
    (found,) = next_readings(ONE, CONE, limit(None, 0.055), [Candidate("elsewhere", np.array([0.0, 1.0]), 0.001)])
    assert found.wrong_after == pytest.approx(found.wrong_before, abs=1e-12)


def test_a_near_perfect_reading_settles_it():
    (found,) = next_readings(ONE, CONE, limit(0.02, 0.055), [Candidate("perfect", CONE, 1e-9)])
    assert found.chance_decided == pytest.approx(1.0, abs=1e-5)
    assert found.risk_after == pytest.approx(0.0, abs=1e-6)


def test_a_quantity_already_known_exactly():
    known = GaussianMixture(np.array([1.0]), np.array([[0.03, 0.0]]), np.array([np.diag([0.0, 1.0])]))
    (found,) = next_readings(known, CONE, limit(None, 0.05), [Candidate("dial", np.ones(2), 0.01)])
    assert (found.risk_before, found.risk_after, found.chance_decided) == (0.0, 0.0, pytest.approx(1.0))


def test_the_constant_shifts_the_quantity():
    shifted = next_readings(ONE, CONE, limit(None, 0.06), READINGS, constant=0.01)
    plain = next_readings(ONE, CONE, limit(None, 0.05), READINGS)
    assert [each.risk_after for each in shifted] == pytest.approx([each.risk_after for each in plain], abs=1e-9)


def test_an_explanation_nobody_believes_changes_nothing():
    more = GaussianMixture(
        np.array([1.0 - 1e-12, 1e-12]),
        np.vstack([ONE.means, [[5.0, 5.0]]]),
        np.concatenate([ONE.covariances, ONE.covariances]),
    )
    (plain,) = next_readings(ONE, CONE, limit(None, 0.055), [Candidate("dial", CONE, 0.01)])
    (crowded,) = next_readings(more, CONE, limit(None, 0.055), [Candidate("dial", CONE, 0.01)])
    assert crowded.risk_after == pytest.approx(plain.risk_after, abs=1e-10)


def test_wide_ignorance_of_a_narrow_zone_counts_as_undecided():
    """As in `verdict`: g is below the risk at once, yet only a reading fine enough brings a verdict."""
    ignorant = GaussianMixture(np.array([1.0]), np.array([[0.0, 0.0]]), np.array([np.diag([2.0**2, 1.0])]))
    house = limit(-0.05, 0.05)
    assert verdict(Measured(0.0, 2.0), house).outcome == "undecided"
    rough, fine = Candidate("rough", CONE, 50.0), Candidate("fine", CONE, 0.01)
    found = {each.candidate.label: each for each in next_readings(ignorant, CONE, house, [rough, fine])}
    assert found["rough"].chance_decided == pytest.approx(0.0, abs=1e-3)
    assert found["fine"].chance_decided > 0.97
    middling = next_readings(ignorant, CONE, house, [Candidate("middling", CONE, 1.5)])[0]
    moves, left = 2.0**2 / 2.5, 2.0 * 1.5 / 2.5
    one_sided = 2 * stats.norm.sf((0.05 + stats.norm.ppf(0.95) * left) / moves)
    assert middling.chance_decided == pytest.approx(one_sided, abs=0.005)


def test_no_candidates_no_prospects():
    assert next_readings(ONE, CONE, limit(None, 0.05), []) == ()
    assert separating_reading(frame_or_reel(), (0, 1), []) == ()


def test_bad_input_is_named():
    with pytest.raises(OutOfRange, match="u is 0"):
        Candidate("x", CONE, 0.0)
    with pytest.raises(OutOfRange, match="minutes"):
        Candidate("x", CONE, 0.1, 0.0)
    with pytest.raises(OutOfRange, match=r"row\[1\] is nan"):
        Candidate("x", np.array([1.0, np.nan]), 0.1)
    with pytest.raises(Refusal, match="row of long has shape"):
        next_readings(ONE, CONE, limit(None, 0.05), [Candidate("long", np.ones(3), 0.1)])
    with pytest.raises(Refusal, match="row has shape"):
        next_readings(ONE, np.ones(3), limit(None, 0.05), READINGS)
    with pytest.raises(OutOfRange, match="constant"):
        next_readings(ONE, CONE, limit(None, 0.05), READINGS, constant=math.nan)
    with pytest.raises(OutOfRange, match="pair is 3"):
        separating_reading(frame_or_reel(), (0, 3), READINGS)
    with pytest.raises(OutOfRange, match="two different explanations"):
        separating_reading(frame_or_reel(), (1, 1), READINGS)
    with pytest.raises(Refusal, match="row of long"):
        separating_reading(frame_or_reel(), (0, 1), [Candidate("long", np.ones(3), 0.1)])


def test_what_tells_reel_from_frame_is_not_the_gap_again():
    """A gap of 0.1 mm is a cone of 0.2 mm or a frame out by 0.1 mm: reading it again says nothing."""
    found = separating_reading(frame_or_reel(), (0, 1), READINGS)
    assert found[-1].candidate.label == "gap again"
    assert found[0].candidate.label == "dial on the frame"
    assert found[-1].evidence < 0.1 < found[0].evidence


def test_expected_evidence_by_brute_force():
    """Independent: average log likelihood ratio over simulated readings, five standard errors."""
    mixture = frame_or_reel()
    generator = np.random.default_rng(7)
    for each in separating_reading(mixture, (0, 1), READINGS):
        row, u = each.candidate.row, each.candidate.u
        laws = [
            stats.norm(row @ mixture.means[h], math.sqrt(row @ mixture.covariances[h] @ row + u**2)) for h in (0, 1)
        ]
        for (true, other), ours in (((0, 1), each.evidence_if_first), ((1, 0), each.evidence_if_second)):
            y = laws[true].rvs(20_000, random_state=generator)
            ratios = laws[true].logpdf(y) - laws[other].logpdf(y)
            assert ours == pytest.approx(ratios.mean(), abs=5 * ratios.std() / len(y) ** 0.5 + 1e-9)
        share = mixture.weights[:2] / mixture.weights[:2].sum()
        assert each.evidence == pytest.approx(share @ [each.evidence_if_first, each.evidence_if_second])


def test_two_explanations_without_weight_count_alike():
    base = frame_or_reel()
    silent = GaussianMixture(np.array([0.0, 0.0, 1.0]), base.means, base.covariances)
    for each in separating_reading(silent, (0, 1), READINGS):
        assert each.evidence == pytest.approx(0.5 * (each.evidence_if_first + each.evidence_if_second))


def prospect(label: str, after: float, *, again: bool, wrong_after: float = 0.05) -> Prospect:
    return Prospect(Candidate(label, CONE, 0.01, again=again), 0.05, after, 0.5, 0.2, wrong_after)


def test_a_repeat_is_named_only_when_it_brings_clearly_more() -> None:
    repeat = prospect("repeat", 0.01, again=True)
    assert worth_taking([]) is None
    assert worth_taking([repeat]) is repeat
    near, poor = prospect("near", 0.03, again=False), prospect("poor", 0.045, again=False)
    assert worth_taking([repeat, near, poor]) is near
    assert worth_taking([repeat, poor]) is repeat
    assert worth_taking([near, repeat]) is near


def test_when_no_reading_lowers_the_risk_the_forced_decision_counts() -> None:
    repeat, fresh = (
        prospect("repeat", 0.05, again=True, wrong_after=0.1),
        prospect("fresh", 0.05, again=False, wrong_after=0.14),
    )
    assert worth_taking([repeat, fresh]) is fresh
    assert worth_taking([repeat, prospect("fresh", 0.05, again=False, wrong_after=0.19)]) is repeat


def test_of_what_tells_explanations_apart_fresh_goes_first_too() -> None:
    found = separating_reading(
        frame_or_reel(), (0, 1), [Candidate("gap, again", CONE, 0.02, again=True), Candidate("gap", CONE, 0.021)]
    )
    assert telling_reading(found) is not None
    assert telling_reading(found).candidate.label == "gap"  # type: ignore[union-attr]
