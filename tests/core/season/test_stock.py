"""Parts on the shelf against simulated use."""

import numpy as np
import pytest
from scipy import stats

from sparkout.core.errors import OutOfRange
from sparkout.core.season.stock import cost_of_level, order_quantity, order_up_to, reorder_point


def test_the_best_level_costs_least():
    best = order_up_to(2.0, 9.0, 12.0, 3.0)
    assert cost_of_level(best.level, 2.0, 9.0, 12.0, 3.0) == pytest.approx(best.cost)
    for level in (best.level - 0.5, best.level + 0.5):
        assert cost_of_level(level, 2.0, 9.0, 12.0, 3.0) > best.cost


def test_the_best_quantity_costs_least():
    best = order_quantity(15, 0.4, 90)
    for quantity in (0.9 * best.quantity, 1.1 * best.quantity):
        assert 15 * 90 / quantity + 0.4 * quantity / 2 > best.cost


@pytest.mark.parametrize("chance", [0.5, 0.9, 0.95, 0.999])
def test_a_reorder_point_keeps_its_chance_and_is_the_least_that_does(chance):
    found = reorder_point(0.7, 3.0, chance)
    assert found.chance == pytest.approx(stats.poisson.cdf(found.point, 2.1))
    assert found.chance >= chance
    assert stats.poisson.cdf(found.point - 1, 2.1) < chance


def test_with_a_spread_the_use_is_normal():
    found = reorder_point(10, 4, 0.95, spread=3)
    used = np.random.default_rng(0).normal(10, 3, (200_000, 4)).sum(axis=1)
    assert found.point == 50
    assert np.mean(used <= found.point) == pytest.approx(found.chance, abs=0.003)
    assert reorder_point(10, 0, 0.95, spread=3).point == 0


def test_bad_input_is_named():
    with pytest.raises(OutOfRange, match="chance"):
        reorder_point(1, 1, 1.0)
    with pytest.raises(OutOfRange, match="keeping_cost"):
        order_up_to(0, 1, 10, 2)
