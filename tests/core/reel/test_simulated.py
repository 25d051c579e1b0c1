import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.parameters import FIRST_BLADE
from sparkout.core.reel.simulated import Simulated, eccentricity_draws, edge_draws, lowest_point

REEL = Reel(11, 127.0, 533.0, helix_angle=0.35)


def reels(count: int = 400) -> np.ndarray:
    g = np.random.default_rng(1)
    drawn = g.normal(0.0, 0.05, (count, FIRST_BLADE + 11))
    drawn[:, 0] += 63.3
    drawn[:, FIRST_BLADE:] -= drawn[:, FIRST_BLADE:].mean(axis=1, keepdims=True)
    return drawn


def radius(p: np.ndarray, x: float, b: int) -> float:
    """The definition, one number at a time."""
    t = 2 * x / 533.0 - 1
    theta = 2 * math.pi * b / 11 + x * math.tan(0.35) / 63.5
    c = [p[5 + i] + p[7 + i] * t + p[9 + i] * (1 - t * t) for i in (0, 1)]
    return p[0] + p[1] / 4 * t + p[2] * (1 / 3 - t * t) + c[0] * math.cos(theta) + c[1] * math.sin(theta) + p[11 + b]


def test_edges_one_at_a_time() -> None:
    drawn, x = reels(3), np.array([0.0, 77.0, 533.0])
    edges = edge_draws(REEL, drawn, x)
    for d in range(3):
        for b in (0, 6):
            for s in range(3):
                assert edges[d, b, s] == pytest.approx(radius(drawn[d], x[s], b), abs=1e-12)


def test_lowest_point_by_plain_search() -> None:
    drawn = reels()
    x = np.linspace(0, 533, 21)
    found = lowest_point(edge_draws(REEL, drawn, x), x, 0.9)
    lowest, blades, thirds = [], [], []
    for p in drawn:
        height, b, s = min((radius(p, at, b), b, at) for b in range(11) for at in x)
        lowest.append(height)
        blades.append(b)
        thirds.append(min(int(3 * s / 533), 2))
    assert found.radius.value == pytest.approx(np.mean(lowest), abs=1e-12)
    assert found.radius.u == pytest.approx(np.std(lowest), abs=1e-12)
    assert found.interval == pytest.approx(tuple(np.quantile(lowest, [0.05, 0.95])), abs=1e-12)
    counts = np.bincount(blades, minlength=11) / len(drawn)
    assert found.blade_chances == pytest.approx(counts.tolist())
    assert found.blade == counts.argmax()
    assert found.chance == counts.max()
    assert found.region_chances == pytest.approx((np.bincount(thirds, minlength=3) / len(drawn)).tolist())


def test_a_known_low_blade_at_the_small_end_is_found() -> None:
    drawn = np.zeros((50, FIRST_BLADE + 11))
    drawn[:, 0], drawn[:, 1] = 63.0, -0.5
    drawn[:, FIRST_BLADE + 4] = -0.1
    x = np.linspace(0.0, 533.0, 41)
    found = lowest_point(edge_draws(REEL, drawn, x), x, 0.95)
    assert (found.blade, found.region, found.chance) == (4, "right third", 1.0)
    assert found.x == pytest.approx(533.0)
    assert found.radius.value == pytest.approx(63.0 - 0.125 - 0.1)
    assert found.radius.u == 0.0


def test_eccentricity_is_the_distance_of_the_centre() -> None:
    drawn = reels(5)
    for t in (-1.0, 0.0, 0.5):
        wanted = [math.hypot(*(p[5 + i] + p[7 + i] * t + p[9 + i] * (1 - t * t) for i in (0, 1))) for p in drawn]
        assert eccentricity_draws(drawn, t) == pytest.approx(wanted, abs=1e-15)


def test_run_out_of_a_bent_round_reel_is_twice_the_eccentricity() -> None:
    """Geometry: a round section off its axis by e runs out by 2 e; 40 blades see it within 1 - cos(pi/40)."""
    reel = Reel(40, 127.0, 533.0, helix_angle=0.35)
    drawn = np.zeros((1, FIRST_BLADE + 40))
    drawn[0, 9] = 0.1
    spread = np.ptp(edge_draws(reel, drawn, np.array([266.5])))
    assert 0.2 * math.cos(math.pi / 40) <= spread <= 0.2


def test_summary_refuses_a_coverage_outside_nought_to_one() -> None:
    with pytest.raises(OutOfRange, match="coverage"):
        Simulated.of(np.arange(9.0), 1.0)
