import math

import numpy as np
import pytest

from sparkout.core.line import straight_line
from sparkout.core.reel.checks import consistency, least_squares, left_out, limit_of_surprise
from sparkout.core.reel.explanations import FaultPrior, Priors
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation, design
from sparkout.core.reel.posterior import posterior
from sparkout.core.reel.state import reel_state

REEL = Reel(5, 127.0, 533.0, helix_angle=0.35)
L = REEL.length
NOTHING = FaultPrior(0.0, 0.5, 0.2)
EXACT = Priors(NOTHING, NOTHING, NOTHING, NOTHING, NOTHING, NOTHING)
"""A sound part departs by nothing at all, so least squares is the textbook one."""


def place_of(state, *faults: str) -> int:
    return next(i for i, e in enumerate(state.explanations) if e.faults == faults)


def test_cone_only_is_the_straight_line_of_the_guide() -> None:
    """core/line.py reproduces GUM H.3 and ISO/TS 28037 (tests/published); here the same line through radii."""
    g = np.random.default_rng(1)
    x = np.linspace(0.0, L, 7)
    radii = 63.3 + 0.1 * (x - L / 2) / L + g.normal(0, 0.02, 7)
    u = np.linspace(0.01, 0.03, 7)
    readings = [Observation("", "radius", a, r, s) for a, r, s in zip(x, radii, u, strict=True)]
    state = reel_state(REEL, readings, EXACT)
    fit = state.generalised_least_squares(place_of(state, "cone"))
    line = straight_line(x - L / 2, radii, u)
    assert fit.names == ("mean radius", "cone")
    assert fit.undetermined == ()
    assert fit.estimate == pytest.approx([line.intercept, 2 * line.slope * L], abs=1e-10)
    sides = [line.u_intercept**2, 2 * L * line.covariance, (2 * L * line.u_slope) ** 2]
    assert fit.covariance[np.triu_indices(2)] == pytest.approx(sides, rel=1e-9)
    assert (fit.chi_squared, fit.degrees) == (pytest.approx(line.chi_squared), line.degrees_of_freedom)


def test_broad_prior_posterior_approaches_least_squares() -> None:
    """With enough readings the posterior is the generalised least-squares answer; the prior's share is (u/sd)²."""
    g = np.random.default_rng(2)
    readings = [Observation("", "radius", x, 63.3 + g.normal(0, 0.02), 0.02) for x in np.linspace(0, L, 9)]
    wide = FaultPrior(0.0, 1000.0, 0.2)
    priors = Priors(wide, wide, NOTHING, NOTHING, NOTHING, NOTHING, mean_radius_sd=1000.0)
    state = reel_state(REEL, readings, priors)
    i = place_of(state, "cone", "barrel")
    fit = state.generalised_least_squares(i)
    assert state.mixture.means[i, :3] == pytest.approx(fit.estimate, abs=1e-8)
    assert state.mixture.covariances[i, :3, :3] == pytest.approx(fit.covariance, abs=1e-9)


def test_least_squares_with_shared_calibration_and_sound_departures_against_dense_aitken() -> None:
    """Independent route: (X' V^-1 X)^-1 X' V^-1 y with V written out."""
    g = np.random.default_rng(3)
    x = np.array([0.0, 100.0, 266.5, 400.0, 533.0])
    readings = [Observation("", "radius", a, 63.2 + g.normal(0, 0.05), 0.03, group="tape", u_group=0.05) for a in x]
    priors = Priors.from_limits()
    state = reel_state(REEL, readings, priors)
    fit = state.generalised_least_squares(place_of(state, "cone"))
    t = 2 * x / L - 1
    design_matrix = np.stack([np.ones(5), t / 4], axis=1)
    arc = 1 / 3 - t * t
    v = np.eye(5) * 0.03**2 + 0.05**2 + np.outer(arc, arc) * priors.barrel.sound**2
    information = design_matrix.T @ np.linalg.solve(v, design_matrix)
    values = np.array([o.value for o in readings])
    estimate = np.linalg.solve(information, design_matrix.T @ np.linalg.solve(v, values))
    off = values - design_matrix @ estimate
    assert fit.estimate == pytest.approx(estimate, abs=1e-9)
    assert fit.covariance == pytest.approx(np.linalg.inv(information), abs=1e-10)
    assert fit.chi_squared == pytest.approx(off @ np.linalg.solve(v, off), rel=1e-8)


@pytest.mark.parametrize(
    ("kind", "places", "faults", "lost"),
    [
        ("rest gap", (0.0, 266.5, 533.0), ("cone", "frame out"), ("mean radius", "cone", "frame out")),
        ("rest gap", (0.0, 266.5, 533.0), ("barrel", "knife bowed"), ("mean radius", "barrel", "knife bow")),
        ("radius", (0.0, 266.5, 533.0), ("shaft bent",), None),
        ("radius", (0.0,), ("cone",), ("mean radius", "cone")),
    ],
)
def test_what_readings_do_not_determine_is_named(kind, places, faults, lost) -> None:
    state = reel_state(REEL, [Observation("", kind, x, 63.0 if kind == "radius" else 0.1, 0.02) for x in places])
    fit = state.generalised_least_squares(place_of(state, *faults))
    assert fit.estimate is None
    assert fit.covariance is None
    if lost is None:
        assert {name.split()[0] for name in fit.undetermined} == {"offset", "skew", "shaft"}
    else:
        assert set(fit.undetermined) == set(lost)


def test_dial_alone_does_not_determine_the_radius_but_does_the_odd_blade() -> None:
    readings = [
        Observation("", "run-out", x, 0.2 * (b == 2), 0.005, (b,)) for x in (0.0, 266.5, 533.0) for b in range(5)
    ]
    readings += [Observation("", "radius", 266.5, 63.2, 0.05)]
    state = reel_state(REEL, readings)
    assert state.explanations[0].faults == ("odd blade",)
    fit = state.generalised_least_squares()
    assert fit.undetermined == ()
    third = fit.names.index("blade 3")
    assert fit.estimate[third] == pytest.approx(0.16, abs=0.01)  # 0.2 above the other four is 0.16 above the mean
    alone = reel_state(REEL, readings[:-1]).generalised_least_squares()
    assert "mean radius" in alone.undetermined


def test_left_out_residuals_by_leaving_each_reading_out() -> None:
    """Independent route: the dense prediction of each reading from the others."""
    g = np.random.default_rng(4)
    readings = [Observation("", "radius", x, 63.3 + g.normal(0, 0.05), 0.03) for x in (0.0, 200.0, 266.5, 533.0)]
    readings += [Observation("", "run-out", 0.0, g.normal(0, 0.05), 0.005, (b,)) for b in range(5)]
    made = posterior(design(readings, REEL), REEL, Priors.from_limits())
    d = made.design
    h = made.faults.index(("cone", "odd blade"))
    for alternative in (h, int(np.flatnonzero((made.owner == h) & (made.blade == 2))[0])):
        ours = left_out(made, d.values, alternative, 0)
        columns = d.rows @ made.coordinates(alternative)
        c = columns @ columns.T + np.diag(d.u**2)
        off = d.values - d.rows @ made.prior_mean - d.constants
        for i in range(len(readings)):
            rest = np.arange(len(readings)) != i
            pull = np.linalg.solve(c[np.ix_(rest, rest)], c[rest, i])
            expected = (off[i] - pull @ off[rest]) / math.sqrt(c[i, i] - pull @ c[rest, i])
            assert ours[i] == pytest.approx(expected, abs=1e-5)


def test_a_reading_nothing_else_bears_on_is_not_called_outlying() -> None:
    """Each dial at its own station with its own zero, millimetres apart."""
    readings = [
        Observation("", "run-out", x, v, 1e-6, (0,)) for x, v in zip((0, 99, 266, 533), (-5, 5, 3, 0), strict=True)
    ]
    state = reel_state(REEL, readings)
    assert state.outliers == ()
    made = state.posterior
    assert np.abs(left_out(made, made.design.values, 0, 0)).max() < 1.0


def test_limit_of_surprise_keeps_the_chance_over_all_readings() -> None:
    """Brute force: of 20,000 sets of 30 normal residuals at most 5 % have one beyond the limit, and not far fewer."""
    largest = np.abs(np.random.default_rng(5).normal(size=(20_000, 30))).max(axis=1)
    share = float((largest > limit_of_surprise(30, 0.05)).mean())
    assert 0.045 < share < 0.053


def test_chi_squared_over_many_visits_follows_its_distribution() -> None:
    """Independent gauges, sound exact reel: the p-values are uniform; mean of 300 within 4 standard errors of 1/2."""
    g = np.random.default_rng(6)
    chances = []
    for _ in range(300):
        readings = [Observation("", "radius", x, 63.4 + g.normal(0, 0.03), 0.03) for x in np.linspace(0, L, 6)]
        made = posterior(design(readings, REEL), REEL, EXACT)
        weighed = made.weigh(made.design.values[None])
        fit = least_squares(made, made.design.values, 0, *weighed.leading(0))
        chances.append(consistency(fit).probability)
    assert np.mean(chances) == pytest.approx(0.5, abs=4 / math.sqrt(12 * 300))
    assert np.std(chances) == pytest.approx(1 / math.sqrt(12), abs=0.04)


def test_readings_that_disagree_are_noted() -> None:
    readings = [Observation("", "radius", 0.0, r, 0.01) for r in (63.0, 63.1, 63.2)]
    state = reel_state(REEL, readings)
    assert state.consistency.degrees == 2
    assert state.consistency.probability < 1e-6
    assert state.consistency.birge_ratio == pytest.approx(math.sqrt(state.consistency.chi_squared / 2))
