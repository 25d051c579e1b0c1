import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.parameters import (
    FIRST_BLADE,
    Parameters,
    edge_rows,
    knife_line_rows,
    mean_radius_rows,
    station,
    sum_zero_basis,
)

REEL = Reel(11, 127.0, 533.0, helix_angle=0.35)


def test_names_stand_where_the_indices_say() -> None:
    parameters = Parameters(11, ("zero of dial",))
    assert parameters.names[:5] == ("mean radius", "cone", "barrel", "frame out", "knife bow")
    assert parameters.names[parameters.blades] == tuple(f"blade {b}" for b in range(1, 12))
    assert parameters.index("zero of dial") == parameters.of_the_reel
    assert parameters.row("cone").tolist() == [0.0, 1.0, *[0.0] * 21]
    assert parameters.embed(np.ones((2, FIRST_BLADE + 11))).sum() == 2 * (FIRST_BLADE + 11)


def test_an_unknown_name_is_refused_with_the_known_ones() -> None:
    with pytest.raises(NotEnough, match=r"taper.*cone"):
        Parameters(3).index("taper")


def test_definitions_of_cone_barrel_frame_and_bow_hold_on_the_rows() -> None:
    """docs/decisions/0002-definitions.md, read off the rows at the ends and the middle."""
    parameters = np.zeros(FIRST_BLADE + 11)
    parameters[:5] = (63.0, 0.4, -0.06, 0.3, 0.05)
    ends = np.array([-1.0, 0.0, 1.0])
    left, middle, right = mean_radius_rows(11, ends) @ parameters
    assert 2 * right - 2 * left == pytest.approx(0.4, abs=1e-12)
    assert middle - (left + right) / 2 == pytest.approx(-0.06, abs=1e-12)
    left, middle, right = knife_line_rows(11, ends) @ parameters
    assert right - left == pytest.approx(0.3, abs=1e-12)
    assert middle - (left + right) / 2 == pytest.approx(0.05, abs=1e-12)


def test_mean_radius_is_the_mean_over_the_whole_edge() -> None:
    """Brute force: Gauss-Legendre mean over x, plain mean over blades, of an arbitrary reel."""
    parameters = np.random.default_rng(3).normal(0.0, 0.1, FIRST_BLADE + 11)
    parameters[0] = 63.1
    parameters[FIRST_BLADE:] -= parameters[FIRST_BLADE:].mean()
    nodes, weights = np.polynomial.legendre.leggauss(20)
    heights = edge_rows(REEL, (nodes + 1) * REEL.length / 2) @ parameters
    assert float(heights.mean(axis=0) @ weights / 2) == pytest.approx(63.1, abs=1e-9)


@pytest.mark.parametrize("count", [2, 3, 11, 40])
def test_sum_zero_basis_gives_exactly_the_sum_zero_covariance(count: int) -> None:
    basis = sum_zero_basis(count)
    assert np.allclose(basis.T @ basis, np.eye(count - 1), atol=1e-14)
    assert np.allclose(basis @ basis.T, np.eye(count) - 1.0 / count, atol=1e-14)


def test_stations_mirror_without_rounding() -> None:
    x = np.array([0.0, 0.25, 133.25, 266.5])
    assert (station(533.0 - x, 533.0) == -station(x, 533.0)).all()


@pytest.mark.parametrize("count", [0, 1, 41])
def test_a_reel_with_too_few_or_too_many_blades_is_refused(count: int) -> None:
    with pytest.raises(OutOfRange, match="blade_count"):
        Reel(count, 127.0, 533.0)
