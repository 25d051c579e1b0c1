import math

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from sparkout.core.reel.parameters import knife_line_rows, mean_radius_rows
from sparkout.core.reel.resting import PLACES, log_quadrant, shape_rows, wedges


def test_shape_rows_are_the_gap_as_a_parabola() -> None:
    parameters = np.random.default_rng(1).normal(size=14)
    b, q = shape_rows(14) @ parameters
    t = np.linspace(-1, 1, 9)
    gap = (knife_line_rows(3, t) - mean_radius_rows(3, t)) @ parameters
    assert gap - gap[4] == pytest.approx(b * t + q * t * t, abs=1e-12)


def test_wedges_share_out_the_plane_as_a_search_over_places_does() -> None:
    """Brute force: the least of b t + q t² over the five places, for many b and q."""
    shapes = np.random.default_rng(2).normal(size=(5000, 2))
    inside = (np.einsum("kij,nj->nki", wedges(), shapes) >= 0).all(axis=2)
    least = (shapes[:, :1] * PLACES + shapes[:, 1:] * PLACES**2).argmin(axis=1)
    assert (inside.sum(axis=1) == 1).all()
    assert (inside.argmax(axis=1) == least).all()
    assert set(least) == set(range(5))


@pytest.mark.parametrize("rho", [-0.999, -0.6, 0.0, 0.3, 0.95])
@pytest.mark.parametrize("means", [(0.0, 0.0), (0.5, -1.2), (-2.0, -1.0), (3.0, 0.0), (-0.3, 2.2)])
def test_quadrant_chance_against_scipy(rho: float, means: tuple[float, float]) -> None:
    """scipy.stats.multivariate_normal (reference library) integrates the density; we use Owen's function."""
    sds = np.array([0.7, 2.0])
    covariance = np.array([[0.49, rho * 1.4], [rho * 1.4, 4.0]])
    ours = math.exp(log_quadrant(np.array(means) * sds, covariance))
    reference = multivariate_normal(np.zeros(2), covariance).cdf(np.array(means) * sds)
    assert ours == pytest.approx(float(reference), abs=2e-6)


def test_quadrant_orthant_value_and_certain_cases() -> None:
    """1/4 + asin(rho)/(2 pi): the orthant probability (Sheppard 1899, from memory)."""
    for rho in (-0.9, -0.2, 0.0, 0.5):
        ours = math.exp(log_quadrant(np.zeros(2), np.array([[1.0, rho], [rho, 1.0]])))
        assert ours == pytest.approx(0.25 + math.asin(rho) / (2 * math.pi), abs=1e-9)
    certain = np.zeros((2, 2))
    assert log_quadrant(np.array([1.0, 2.0]), certain) == pytest.approx(0.0, abs=1e-12)
    assert log_quadrant(np.array([1.0, -2.0]), certain) == -46.0
