"""The batched posterior against independent routes: dense formulas, exact fractions, plain Monte Carlo."""

import math
from fractions import Fraction

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.stats import multivariate_normal

from sparkout.core.errors import OutOfRange, Refusal
from sparkout.core.reel.explanations import (
    FAULTS,
    UNEVEN_SHARE,
    WORK,
    FaultPrior,
    Priors,
    contact_sd,
    explanations,
    log_prior,
)
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation, design
from sparkout.core.reel.posterior import Posterior, posterior
from sparkout.core.reel.weighing import UNEVEN

REEL = Reel(5, 127.0, 533.0, helix_angle=0.35)
PRIORS = Priors.from_limits()


def mixed_readings(seed: int = 1) -> list[Observation]:
    g = np.random.default_rng(seed)
    out = [
        Observation("tape", "radius", x, 63.4 + g.normal(0, 0.1), 0.05, group="tape", u_group=0.03)
        for x in (0.0, 266.5, 533.0)
    ]
    out += [
        Observation("dial", "run-out", x, g.normal(0, 0.05), 0.006, (b,), group="rail", u_rail=0.02)
        for x in (0.0, 533.0)
        for b in range(5)
    ]
    out += [Observation("shaft", "shaft", 266.5, g.normal(0, 0.05), 0.01, angle=a) for a in (0.0, 2.0, 4.0)]
    out += [Observation("knife", "knife", x, g.normal(0, 0.03), 0.02) for x in (0.0, 266.5, 533.0)]
    out += [Observation("frame", "frame", x, g.normal(0, 0.03), 0.02) for x in (0.0, 533.0)]
    return out


def prior_covariance(faults: tuple[str, ...], blade: int, made: Posterior) -> NDArray[np.float64]:
    """Written out from the definition, parameter by parameter; blade -2 means all uneven."""
    p = PRIORS.by_fault()
    sd = {name: (prior.worn if name in faults else prior.sound) for name, prior in p.items()}
    shape = [3.0, sd["cone"], sd["barrel"], sd["frame out"], sd["knife bowed"], *[sd["shaft bent"]] * 6]
    n = made.design.parameters.blade_count
    odd = p["odd blade"]
    s2 = odd.sound * odd.worn if blade == UNEVEN else odd.sound**2
    heights = s2 * (np.eye(n) - 1 / n)
    if blade >= 0:
        bump = np.eye(n)[blade] - 1 / n
        heights = heights + odd.worn**2 * np.outer(bump, bump)
    nuisance = np.where(made.design.touching, contact_sd(PRIORS, faults), made.design.nuisance_sd)
    whole = np.diag(np.concatenate([shape, np.zeros(n), nuisance]) ** 2)
    whole[11 : 11 + n, 11 : 11 + n] = heights
    return whole


def test_every_alternative_against_the_dense_marginal_covariance() -> None:
    """Independent route: N(mean, A S A' + D) by scipy.stats and the gain S A' C^-1 written out."""
    made = posterior(design(mixed_readings(), REEL), REEL, PRIORS)
    d = made.design
    weighed = made.weigh(d.values[None])
    prior = log_prior(PRIORS, made.faults)
    logs = np.empty(len(made.owner))
    for a, h in enumerate(made.owner):
        s = prior_covariance(made.faults[h], int(made.blade[a]), made)
        c = d.rows @ s @ d.rows.T + np.diag(d.u**2)
        predicted = d.rows @ made.prior_mean + d.constants
        share = 1.0
        if made.blade[a] == UNEVEN:
            share = UNEVEN_SHARE
        elif made.blade[a] >= 0:
            share = (1 - UNEVEN_SHARE) / 5
        logs[a] = multivariate_normal(predicted, c).logpdf(d.values) + prior[h] + math.log(share)
        gain = np.linalg.solve(c, d.rows @ s).T
        mean = weighed.mean(a, 0)
        assert mean == pytest.approx(made.prior_mean + gain @ (d.values - predicted), abs=1e-7)
        assert made.covariance(a, 0) == pytest.approx(s - gain @ d.rows @ s, abs=1e-7)
        chi = (d.values - predicted) @ np.linalg.solve(c, d.values - predicted)
        assert weighed.chi_squared[a, 0, 0] == pytest.approx(chi, rel=1e-6)
    assert weighed.logs[:, 0, 0] == pytest.approx(logs, abs=1e-6)
    weights = np.exp(logs - logs.max())
    by_hand = [weights[made.owner == h].sum() for h in range(len(made.faults))]
    # the dense route squares a zero of 10 mm against 0.005 mm and keeps about seven digits
    assert weighed.weights()[0] == pytest.approx(np.array(by_hand) / sum(by_hand), abs=1e-6)


def test_posterior_mean_is_least_squares_with_the_prior_as_rows() -> None:
    """Independent route: numpy lstsq on readings and prior stacked, for the cone explanation."""
    made = posterior(design(mixed_readings(3), REEL), REEL, PRIORS)
    h = made.faults.index(("cone",))
    s = prior_covariance(("cone",), -1, made)
    values, vectors = np.linalg.eigh(s)
    keep = values > 1e-12
    root = vectors[:, keep] / np.sqrt(values[keep])
    d = made.design
    predicted = d.rows @ made.prior_mean + d.constants
    whitened = np.vstack([(d.rows / d.u[:, None]) @ vectors[:, keep], (root.T @ vectors[:, keep])])
    aim = np.concatenate([(d.values - predicted) / d.u, np.zeros(int(keep.sum()))])
    solved = vectors[:, keep] @ np.linalg.lstsq(whitened, aim, rcond=None)[0] + made.prior_mean
    mean = made.weigh(d.values[None]).moments()[1][h]
    assert mean == pytest.approx(solved, abs=1e-8)
    assert mean[d.parameters.blades].sum() == pytest.approx(0.0, abs=1e-14)


def test_broad_priors_against_exact_fractions() -> None:
    """Priors of 1000 mm against gauges of 0.001 mm: solved in exact rational arithmetic (standard library)."""
    wide = FaultPrior(1000.0, 1000.0, 0.5)
    priors = Priors(wide, wide, wide, wide, wide, wide, mean_radius=63.5, mean_radius_sd=1000.0, most_faults=0)
    reel = Reel(2, 127.0, 533.0)
    readings = [
        Observation("", "radius", x, v, 0.001, b)
        for x, v, b in (
            (0.0, 63.4, ()),
            (266.5, 63.55, ()),
            (533.0, 63.3, ()),
            (533.0, 63.301, ()),
            (100.0, 63.4, (0,)),
            (100.0, 63.6, (1,)),
        )
    ]
    made = posterior(design(readings, reel), reel, priors)
    weighed = made.weigh(made.design.values[None])
    d = made.design
    s = np.diag([1e6] * 13)
    s[11:, 11:] = np.array([[0.5, -0.5], [-0.5, 0.5]]) * 1e6

    def exact(array: NDArray[np.float64]) -> list[list[Fraction]]:
        return [[Fraction(float(v)) for v in row] for row in array]

    rows, cov = exact(d.rows), exact(s)
    seen = [[sum(r[i] * cov[i][j] for i in range(13)) for j in range(13)] for r in rows]
    c = [[sum(a[i] * b[i] for i in range(13)) for b in rows] for a in seen]
    for i in range(6):
        c[i][i] += Fraction(float(d.u[i])) ** 2
    off = [Fraction(float(v)) - 63 - Fraction(1, 2) for v in d.values]
    solved, log_det = _solve_fractions(c, off)
    mean = [float(sum(seen[i][j] * solved[i] for i in range(6))) for j in range(13)]
    chi = float(sum(o * v for o, v in zip(off, solved, strict=True)))
    assert weighed.moments()[1][0] - made.prior_mean == pytest.approx(np.array(mean), abs=1e-6)  # u / 1000
    assert weighed.chi_squared[0, 0, 0] == pytest.approx(chi, rel=1e-7)
    assert weighed.logs[0, 0, 0] == pytest.approx(-(6 * math.log(2 * math.pi) + log_det + chi) / 2, rel=1e-9)


def _solve_fractions(matrix: list[list[Fraction]], aim: list[Fraction]) -> tuple[list[Fraction], float]:
    """Gauss elimination; also the log determinant of a positive definite matrix."""
    rows = [[*row, a] for row, a in zip(matrix, aim, strict=True)]
    log_det = 0.0
    for i, pivot in enumerate(rows):
        log_det += math.log(pivot[i])
        for j, row in enumerate(rows):
            if j != i:
                share = row[i] / pivot[i]
                rows[j] = [b - share * a for a, b in zip(pivot, row, strict=True)]
    return [row[-1] / row[i] for i, row in enumerate(rows)], log_det


def test_resting_knife_weights_against_plain_monte_carlo() -> None:
    """Independent route: reels drawn from each prior, the knife set on the least of the five gaps, likelihood averaged.

    The gauge is coarse so that plain sampling converges; 300,000 draws give about 1 % on each evidence.
    """
    readings = [Observation("", "rest gap", x, v, 0.1) for x, v in ((0.0, 0.5), (266.5, 0.22), (533.0, 0.05))]
    priors = Priors.from_limits(most_faults=1)
    made = posterior(design(readings, REEL), REEL, priors)
    weighed = made.weigh(made.design.values[None])
    ours = weighed.log_evidence()[0]
    g = np.random.default_rng(5)
    t, places = np.array([-1.0, 0.0, 1.0]), np.linspace(-1, 1, 5)
    for h, faults in enumerate(made.faults):
        if "odd blade" in faults or "shaft bent" in faults:
            continue
        table = priors.by_fault()
        cone, barrel, frame, bow = (
            g.normal(0.0, table[name].worn if name in faults else table[name].sound, 300_000) for name in FAULTS[:4]
        )

        def gap(at: NDArray[np.float64]) -> NDArray[np.float64]:
            slope, arc = at / 2, 1 / 3 - at**2
            return (frame - cone / 2)[:, None] * slope + (bow - barrel)[:, None] * arc  # noqa: B023

        shown = gap(t) - gap(places).min(axis=1, keepdims=True)
        shown += g.normal(0.0, priors.contact_u, (300_000, 1)) + g.normal(0.0, priors.contact_u, (300_000, 3))
        z = (np.array([0.5, 0.22, 0.05]) - shown) / 0.1
        likelihood = np.exp(-0.5 * (z**2).sum(axis=1)) / (0.1 * math.sqrt(2 * math.pi)) ** 3
        error = likelihood.std() / math.sqrt(300_000) / likelihood.mean()
        assert ours[h] == pytest.approx(math.log(likelihood.mean()), abs=5 * error + 0.01)


def test_no_readings_give_the_prior_back() -> None:
    made = posterior(design([], REEL), REEL, PRIORS)
    weights, means, covariances = made.weigh(np.zeros((1, 0))).moments()
    assert weights == pytest.approx(np.exp(log_prior(PRIORS, made.faults)), abs=1e-12)
    assert means[0][0] == REEL.radius
    assert means[0][1:] == pytest.approx(np.zeros(15), abs=0.0)
    for h, faults in enumerate(made.faults):
        if "odd blade" not in faults:
            assert covariances[h] == pytest.approx(prior_covariance(faults, -1, made), abs=1e-12)


def test_many_sets_of_values_at_once_equal_one_at_a_time() -> None:
    readings = [*mixed_readings(), *(Observation("", "rest gap", x, 0.1, 0.02) for x in (0.0, 533.0))]
    made = posterior(design(readings, REEL), REEL, PRIORS)
    g = np.random.default_rng(2)
    values = made.design.values + g.normal(0, 0.05, (7, len(readings)))
    rows = np.eye(made.design.parameters.count)[:16]
    weights, means, sds = made.weigh(values).along(rows)
    for whole, part in zip((weights, means, sds), made.diagnose(values, rows, chunk=3), strict=True):
        assert part == pytest.approx(whole, abs=1e-9)
    for i in range(7):
        one = made.weigh(values[i : i + 1])
        w, m, c = one.moments()
        assert weights[i] == pytest.approx(w, abs=1e-9)
        big = w > 1e-6
        assert means[i][big] == pytest.approx((m @ rows.T)[big], abs=1e-9)
        assert sds[i][big] == pytest.approx(np.sqrt(np.einsum("qp,hpr,qr->hq", rows, c, rows))[big], abs=1e-8)


def test_values_that_do_not_fit_the_design_are_refused() -> None:
    made = posterior(design(mixed_readings(), REEL), REEL, PRIORS)
    for wrong in (np.zeros((1, 3)), np.full((1, 21), np.nan), np.zeros(21)):
        with pytest.raises(Refusal, match="do not fit"):
            made.weigh(wrong)


def test_five_hundred_readings_and_duplicates_of_one() -> None:
    """Many equal readings act like one with u / sqrt(count)."""
    many = [Observation("", "radius", 0.0, 63.3, 0.1) for _ in range(500)]
    one = [Observation("", "radius", 0.0, 63.3, 0.1 / math.sqrt(500))]
    found = []
    for readings in (many, one):
        made = posterior(design(readings, REEL), REEL, PRIORS)
        found.append(made.weigh(made.design.values[None]).moments())
    for of_many, of_one in zip(*found, strict=True):
        assert of_many == pytest.approx(of_one, abs=1e-9)


def test_explanations_are_all_sets_and_their_prior_sums_to_one() -> None:
    assert explanations(0) == ((),)
    assert len(explanations(3)) == 1 + 6 + 15 + 20
    assert np.exp(log_prior(PRIORS, explanations())).sum() == pytest.approx(1.0, abs=1e-12)
    odds = log_prior(PRIORS, ((), ("cone",)))
    assert math.exp(odds[1] - odds[0]) == pytest.approx(0.3 / 0.7, rel=1e-12)
    assert set(WORK) == set(FAULTS)


def test_priors_from_limits_scale_and_refuse() -> None:
    made = Priors.from_limits(cone=0.3, probabilities={"cone": 0.5})
    assert (made.of("cone").sound, made.of("cone").worn, made.of("cone").probability) == (
        pytest.approx(0.1),
        pytest.approx(1.8),
        0.5,
    )
    assert made.shaft_bent.worn == pytest.approx(0.3)
    for wrong in ({"cone": 0.0}, {"run_out": -1.0}, {"knife_straightness": math.nan}, {"most_faults": 7}):
        with pytest.raises(OutOfRange, match=next(iter(wrong))):
            Priors.from_limits(**wrong)
    with pytest.raises(OutOfRange, match="probabilities"):
        Priors.from_limits(probabilities={"wobble": 0.1})
    with pytest.raises(OutOfRange, match="probability"):
        Priors.from_limits(probabilities={"cone": 1.0})
    with pytest.raises(OutOfRange, match="worn"):
        FaultPrior(0.2, 0.1, 0.5)
    with pytest.raises(OutOfRange, match="mean_radius"):
        Priors.from_limits(mean_radius=5.0)


def test_contact_is_looser_when_the_shaft_may_run_out() -> None:
    assert contact_sd(PRIORS, ("cone",)) == pytest.approx(PRIORS.contact_u)
    assert contact_sd(PRIORS, ("odd blade",)) == pytest.approx(PRIORS.contact_u)
    g = np.random.default_rng(4)  # brute force: how far the high side of a bent shaft stands out at an end
    e, skew = g.normal(0.0, PRIORS.shaft_bent.worn, (2, 2, 200_000))
    amplitude = np.hypot(*(e + skew))
    assert contact_sd(PRIORS, ("cone", "shaft bent")) == pytest.approx(float(amplitude.std()), rel=0.02)


def test_an_arbitrary_zero_takes_nothing_from_the_answer() -> None:
    """The same dial over all blades with its zero moved by 3 mm says the same of the blades."""
    found = []
    for zero in (0.0, 3.0):
        readings = [Observation("", "run-out", 0.0, zero + 0.02 * b, 0.005, (b,)) for b in range(5)]
        made = posterior(design(readings, REEL), REEL, PRIORS)
        found.append(made.weigh(made.design.values[None]).moments()[1][:, 11:16])
    assert found[0] == pytest.approx(found[1], abs=1e-9)
