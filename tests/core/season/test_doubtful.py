"""Doubts about a unit's own readings: what is planted is found, and clean fleets are left alone."""

import numpy as np
import pytest

from sparkout.core.season.doubtful import (
    Runs,
    grown,
    hours_out_of_line,
    meter_replaced,
    reading_noise,
    unrecorded_grinds,
)


def drawn(seed, units=400, per=10, noise=0.04):
    rng = np.random.default_rng(seed)
    hours = np.sort(rng.uniform(0, 1000, (units, per)), axis=1)
    slope = rng.normal(0.0015, 0.0003, (units, 1))
    level = 127 - slope * hours + rng.normal(0, noise, hours.shape)
    return np.arange(units + 1) * per, hours, level


def test_noise_is_told_whatever_the_lines_and_some_steps():
    starts, hours, level = drawn(1, units=4000)
    level[::20] -= 0.5 * (np.arange(10) >= 5)
    assert reading_noise(Runs(starts, hours.ravel(), level.ravel())) == pytest.approx(0.04, rel=0.05)


def test_unrecorded_grinds_are_found_and_clean_units_left_alone():
    starts, hours, level = drawn(2, units=1000)
    level[:100] -= 0.4 * (np.arange(10) >= 5)
    found = unrecorded_grinds(Runs(starts, hours.ravel(), level.ravel()), 0.04)
    planted = found.run < 100
    assert planted.sum() >= 95
    assert (~planted).sum() <= 9
    assert np.mean(np.isin(found.row[planted] - starts[found.run[planted]], (4, 5, 6))) > 0.97
    assert np.mean(found.size[planted]) == pytest.approx(0.4, abs=0.03)


def test_odds_of_a_step_are_those_of_least_squares_written_out():
    """Independent route: the marginal likelihoods of dense normal models with a very wide line."""
    rng = np.random.default_rng(5)
    hours, noise, mean, spread = np.sort(rng.uniform(0, 9, 7)), 0.1, 0.3, 0.2
    y = 3 - 0.1 * hours - 0.6 * (np.arange(7) >= 3) + rng.normal(0, noise, 7)
    found = unrecorded_grinds(Runs(np.array([0, 7]), hours, y), noise)
    wide = 1e4 * (np.ones((7, 7)) + np.outer(hours - hours.mean(), hours - hours.mean()))

    def log(step, centre):
        v = wide + noise**2 * np.eye(7) + spread**2 * np.outer(step, step)
        rest = y - 3 + centre * step
        return -0.5 * (rest @ np.linalg.solve(v, rest) + np.linalg.slogdet(v)[1])

    without = log(np.zeros(7), 0.0)
    factors = [np.exp(log((np.arange(7) >= j).astype(float), mean) - without) for j in range(1, 7)]
    assert found.odds[0] == pytest.approx(0.05 * np.mean(factors), rel=2e-2)


def test_a_meter_replaced_carries_on():
    starts, hours, level = drawn(3, units=3)
    hours[1, 6:] -= hours[1, 5]
    rows, carried = meter_replaced(Runs(starts, hours.ravel(), level.ravel()))
    assert rows.tolist() == [16]
    assert np.all(np.diff(carried.reshape(3, 10), axis=1) >= 0)
    assert carried[:10].tolist() == hours[0].tolist()
    assert carried[20:].tolist() == hours[2].tolist()


def test_one_reading_out_of_line_is_no_new_meter():
    hours = np.array([0.0, 100, 900, 200, 300, 0, 100, 20, 200, 300])
    assert np.flatnonzero(hours_out_of_line(Runs(np.array([0, 5, 10]), hours, hours))).tolist() == [2, 7]


def test_growth_beyond_the_gauge_is_named():
    starts, hours, level = drawn(4)
    assert grown(Runs(starts, hours.ravel(), level.ravel()), 0.04).size <= 1
    level[7, 5:] += 2.0
    assert 75 in grown(Runs(starts, hours.ravel(), level.ravel()), 0.04)


def test_too_few_readings_raise_no_doubt():
    runs = Runs(np.array([0, 1, 3]), np.array([0.0, 0.0, 9.0]), np.array([127.0, 127.0, 120.0]))
    assert reading_noise(runs) == 0.0
    assert unrecorded_grinds(runs, 0.05).run.size == 0
    assert unrecorded_grinds(runs, 0.0).run.size == 0
    assert not hours_out_of_line(Runs(np.array([0, 2]), np.zeros(2), np.zeros(2))).any()
