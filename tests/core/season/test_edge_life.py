"""Edge life against a general optimiser, simulated lives and the intervals' own promise."""

import math

import numpy as np
import pytest
from scipy import optimize

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.season.edge_life import compared, edge_life


def drawn(seed, n=200, effect=0.3, shape=2.5, life=40.0, until=60.0):
    rng = np.random.default_rng(seed)
    relief = rng.integers(0, 2, n)
    lives = life * np.exp(effect * relief) * rng.weibull(shape, n)
    watched = rng.uniform(0.3 * until, until, n)
    return np.minimum(lives, watched), lives <= watched, np.column_stack([np.ones(n), relief])


def test_no_other_parameters_are_likelier():
    hours, ended, x = drawn(1)
    found = edge_life(hours, ended, x, ("all", "relief"))

    def minus(theta):
        z = (np.log(hours) - x @ theta[:2]) / math.exp(theta[2])
        return -np.sum(np.where(ended, z - theta[2] - np.log(hours), 0.0) - np.exp(z))

    other = optimize.minimize(minus, [3.0, 0.0, 0.0], method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-10})
    assert found.log_likelihood == pytest.approx(-other.fun, abs=1e-7)
    assert [*found.coefs, math.log(found.scale)] == pytest.approx(other.x, abs=1e-4)


def test_intervals_cover_and_telling_apart_is_rarely_wrong():
    inside, told = 0, 0
    for seed in range(400):
        hours, ended, x = drawn(seed, n=60, effect=0.0)
        ratio = compared(edge_life(hours, ended, x, ("all", "relief")), "relief")
        inside += ratio.low <= 1.0 <= ratio.high
        told += ratio.told_apart
    assert 0.91 <= inside / 400 <= 0.975
    assert told == 400 - inside


def test_the_sharpenings_asked_for_are_enough():
    """With as many more lives as asked for, a difference of the size promised is told about four times in five."""
    told, asked = 0, 0
    for seed in range(300):
        hours, ended, x = drawn(seed, n=40, effect=0.0, until=1e9)
        first = compared(edge_life(hours, ended, x, ("all", "relief")), "relief", to_tell=1.5)
        if first.told_apart or first.to_tell > 1.5:
            continue
        again = drawn(1000 + seed, n=40 + first.more_sharpenings, effect=math.log(1.5), until=1e9)
        told += compared(edge_life(*again, ("all", "relief")), "relief").told_apart
        asked += 1
    assert asked > 200
    assert 0.72 <= told / asked <= 0.88


def test_lives_and_what_remains():
    hours, ended, x = drawn(3, n=4000, effect=0.5)
    found = edge_life(hours, ended, x, ("all", "relief"))
    assert found.life([1, 0]) == pytest.approx(40 * math.log(2) ** (1 / 2.5), rel=0.05)
    assert found.life([1, 1]) / found.life([1, 0]) == pytest.approx(math.exp(0.5), rel=0.06)
    assert found.shape == pytest.approx(2.5, rel=0.06)
    assert found.remaining([1, 0], 0.0) == pytest.approx(found.life([1, 0]))
    lives = found.characteristic_life([1, 0]) * np.random.default_rng(0).weibull(found.shape, 400_000)
    assert found.remaining([1, 0], 30.0) == pytest.approx(np.median(lives[lives > 30]) - 30, rel=0.02)
    assert found.ended + found.running == 4000


def test_bad_lives_are_named():
    ones = np.ones((4, 1))
    with pytest.raises(OutOfRange, match="hours"):
        edge_life([10, 0, 3, 4], [True] * 4, ones, ("all",))
    with pytest.raises(NotEnough, match="edge life"):
        edge_life([10, 9, 3, 4], [False] * 4, ones, ("all",))
    with pytest.raises(NotEnough, match="relief"):
        edge_life([10, 9, 3, 4], [True, True, True, False], [[1, 0], [1, 0], [1, 0], [1, 1]], ("all", "relief"))
    with pytest.raises(Contradiction, match="told apart"):
        edge_life([10, 9, 3, 4], [True] * 4, [[1, 0, 0], [1, 1, 1]] * 2, ("all", "relief", "sand"))


def test_lives_all_alike_settle_nothing():
    with pytest.raises(NotEnough):
        edge_life([10.0] * 5, [True] * 5, np.ones((5, 1)), ("all",))
