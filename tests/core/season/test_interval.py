"""The best sharpening interval against closed forms and simulated lives."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.errors import OutOfRange
from sparkout.core.season.interval import best_interval, cost_an_hour


def test_an_edge_that_does_not_age_is_left_alone():
    found = best_interval(40, 1.0, 20, 200)
    assert found.hours == math.inf
    assert found.cost == pytest.approx(200 / 40)
    assert found.within_high == math.inf


def test_waiting_is_best_where_a_sharpening_that_came_by_itself_is_no_dearer():
    assert best_interval(40, 3.0, 20, 20).hours == math.inf


@given(k=st.floats(0.1, 50), shape=st.floats(1.3, 6), ratio=st.floats(1.5, 50))
@settings(max_examples=30, deadline=None)
def test_time_scales(k, shape, ratio):
    one, other = best_interval(1.0, shape, 1.0, ratio), best_interval(k, shape, 1.0, ratio)
    if math.isfinite(one.hours):
        assert other.hours == pytest.approx(k * one.hours, rel=1e-4)
        assert other.cost == pytest.approx(one.cost / k, rel=1e-6)
        assert one.within_low < one.hours < one.within_high


def test_the_cost_is_what_simulated_lives_cost():
    rng = np.random.default_rng(4)
    lives = 1000 * rng.weibull(2.5, 400_000)
    cut = np.minimum(lives, 493)
    cost = np.where(lives < 493, 5.0, 1.0).sum() / cut.sum()
    assert cost_an_hour(493, 1000, 2.5, 1, 5) == pytest.approx(cost, rel=0.01)


def test_the_cost_of_cutting_blunt_is_what_simulated_lives_cost():
    rng = np.random.default_rng(5)
    lives = 50 * rng.weibull(3.0, 400_000)
    cost = np.mean(30 + 4.0 * np.maximum(0, 40 - lives)) / 40
    assert cost_an_hour(40, 50, 3.0, 30, 0, 4.0) == pytest.approx(cost, rel=0.01)
    found = best_interval(50, 3.0, 30, blunt_per_hour=4.0)
    around = [cost_an_hour(h, 50, 3.0, 30, 0, 4.0) for h in (found.within_low, found.hours, found.within_high)]
    assert around[0] == pytest.approx(1.05 * around[1]) == pytest.approx(around[2])


@pytest.mark.parametrize(
    ("arguments", "named"),
    [((0, 2, 1), "characteristic_life"), ((10, 0, 1), "shape"), ((10, 2, 0), "planned"), ((10, 2, 1, -1), "unplanned")],
)
def test_bad_input_is_named(arguments, named):
    with pytest.raises(OutOfRange, match=named):
        best_interval(*arguments)
