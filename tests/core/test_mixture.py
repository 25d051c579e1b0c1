"""The mixture of explanations against scipy.stats, sampling, and Bayes' rule on a grid."""

import numpy as np
import pytest
from scipy import stats

from sparkout.core.errors import OutOfRange, Refusal
from sparkout.core.mixture import GaussianMixture, MixedQuantity


@pytest.fixture
def three():
    generator = np.random.default_rng(3)
    roots = generator.normal(size=(3, 2, 2))
    return GaussianMixture(
        np.array([0.5, 0.3, 0.2]), generator.normal(size=(3, 2)), roots @ roots.transpose(0, 2, 1) + 0.1 * np.eye(2)
    )


ROW = np.array([0.7, -0.4])


def test_a_quantity_is_the_row_times_the_parameters(three):
    draws = three.draw(200_000, np.random.default_rng(1)) @ ROW + 0.5
    quantity = three.quantity(ROW, 0.5)
    measured = quantity.measured()
    assert measured.value == pytest.approx(draws.mean(), abs=5 * draws.std() / len(draws) ** 0.5)
    assert measured.u == pytest.approx(draws.std(), rel=0.01)
    assert three.measured(ROW).value == pytest.approx(measured.value - 0.5)
    for level in (-1.0, 0.2, 1.5):
        assert quantity.below(level) == pytest.approx((draws <= level).mean(), abs=0.006)


def test_below_against_weighted_normals_and_a_known_value():
    quantity = MixedQuantity(np.array([0.25, 0.75]), np.array([1.0, 2.0]), np.array([0.0, 0.5]))
    assert quantity.below(1.0) == pytest.approx(0.25 + 0.75 * stats.norm.cdf(-2.0), abs=1e-15)
    assert quantity.below(0.999) == pytest.approx(0.75 * stats.norm.cdf((0.999 - 2) / 0.5), abs=1e-15)


@pytest.mark.parametrize("probability", [1e-6, 0.05, 0.5, 0.95, 1 - 1e-6])
def test_quantile_turns_below_round(three, probability):
    quantity = three.quantity(ROW)
    assert quantity.below(quantity.quantile(probability)) == pytest.approx(probability, rel=1e-9)


def test_interval_of_one_explanation_is_the_normal_one():
    one = MixedQuantity(np.array([1.0]), np.array([2.0]), np.array([0.5]))
    assert one.interval(0.95) == pytest.approx(stats.norm.interval(0.95, 2.0, 0.5), rel=1e-12)


def test_quantile_and_interval_name_bad_input():
    one = MixedQuantity(np.array([1.0]), np.array([2.0]), np.array([0.5]))
    with pytest.raises(OutOfRange, match="probability"):
        one.quantile(0.0)
    with pytest.raises(OutOfRange, match="coverage"):
        one.interval(1.0)


def test_updating_is_bayes_rule_on_a_grid(three):
    """Independent brute force: prior density times likelihood on a grid of the two parameters."""
    reading, u = 0.8, 0.35
    axis = np.linspace(-24.0, 24.0, 961)
    points = np.stack(np.meshgrid(axis, axis, indexing="ij"), axis=-1)
    likelihood = stats.norm.pdf(reading, points @ ROW, u)
    after = three.updated(ROW, reading, u)
    pieces = [
        w * stats.multivariate_normal(m, c).pdf(points) * likelihood
        for w, m, c in zip(three.weights, three.means, three.covariances, strict=True)
    ]
    total = sum(piece.sum() for piece in pieces)
    for h, piece in enumerate(pieces):
        mass = piece / piece.sum()
        mean = np.einsum("ij,ijp->p", mass, points)
        off = points - mean
        assert after.weights[h] == pytest.approx(piece.sum() / total, rel=1e-6)
        assert after.means[h] == pytest.approx(mean, abs=1e-6)
        assert after.covariances[h] == pytest.approx(np.einsum("ij,ijp,ijq->pq", mass, off, off), abs=1e-6)


def test_a_surprise_far_beyond_all_explanations_still_weighs_them(three):
    after = three.updated(ROW, 1e6, 0.01)
    assert np.isfinite(after.weights).all()
    assert after.weights.sum() == pytest.approx(1.0)


def test_an_excluded_explanation_stays_excluded(three):
    closed = GaussianMixture(np.array([0.0, 0.6, 0.4]), three.means, three.covariances)
    assert closed.updated(ROW, 0.1, 0.2).weights[0] == 0.0


def test_updating_names_bad_input(three):
    with pytest.raises(OutOfRange, match="u is 0"):
        three.updated(ROW, 0.0, 0.0)
    with pytest.raises(OutOfRange, match="reading"):
        three.updated(ROW, np.nan, 0.1)


def test_pieces_that_do_not_belong_together_are_refused(three):
    with pytest.raises(Refusal, match="do not describe the same explanations"):
        GaussianMixture(three.weights[:2], three.means, three.covariances)
    with pytest.raises(Refusal, match="do not describe the same explanations"):
        GaussianMixture(three.weights, three.means, three.covariances[:, :1])
    for weights in ([0.5, 0.5, 0.5], [1.2, -0.1, -0.1], [np.nan, 0.5, 0.5]):
        with pytest.raises(OutOfRange, match="weights"):
            GaussianMixture(np.array(weights), three.means, three.covariances)
