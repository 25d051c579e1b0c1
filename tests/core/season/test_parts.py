"""Demand for parts and the order list, against every outcome there is and against simulated seasons."""

from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.season.parts import ByUse, Coming, Stocked, chances_by_period, demand, order_list, quantile

chances = st.lists(st.floats(0, 0.3), min_size=3, max_size=3)


@given(rows=st.lists(chances, min_size=1, max_size=5), pieces=st.integers(1, 3))
@settings(max_examples=30, deadline=None)
def test_demand_is_what_every_outcome_together_makes_it(rows, pieces):
    """Brute force: each unit in one of four places (a period, or never)."""
    found = demand("reel", [Coming("reel", f"U{i}", tuple(row), pieces) for i, row in enumerate(rows)])
    by_end = np.zeros((3, len(rows) * pieces + 1))
    for places in product(range(4), repeat=len(rows)):
        chance = np.prod([row[p] if p < 3 else 1 - sum(row) for row, p in zip(rows, places, strict=True)])
        for end in range(3):
            by_end[end, pieces * sum(p <= end for p in places)] += chance
    for end in range(3):
        expected = np.zeros(by_end.shape[1])
        expected[: found.until[end].size] = found.until[end]
        assert expected == pytest.approx(by_end[end], abs=1e-12)
    assert found.mean == pytest.approx(tuple(pieces * sum(row[p] for row in rows) for p in range(3)))


def test_use_is_poisson_and_adds_to_what_is_coming():
    found = demand("bearing", [Coming("bearing", "A", (1.0, 0.0), 2)], [ByUse("bearing", (1.5, 2.0))])
    assert found.until[1][2:10] == pytest.approx(stats.poisson.pmf(np.arange(8), 3.5))
    assert found.total.sum() == pytest.approx(1.0)
    assert found.low[1] == stats.poisson.ppf(0.05, 2.0)
    assert found.high[1] == stats.poisson.ppf(0.95, 2.0)


def test_the_order_list_keeps_its_service_level_in_simulated_seasons_and_no_smaller_one_does():
    rng = np.random.default_rng(8)
    coming = [Coming("reel", f"U{i}", tuple(rng.dirichlet(np.ones(9))[:8])) for i in range(30)]
    wanted = demand("reel", coming)
    stocked = Stocked("reel", 6, lead=2)
    told = order_list(wanted, stocked, 0.9)
    had = np.array([6 + sum(o.pieces for o in told.orders if o.comes <= p) for p in range(8)])
    lives = 20_000
    when = np.array([rng.choice(9, lives, p=[*one.chances, 1 - sum(one.chances)]) for one in coming])
    used = np.array([(when <= p).sum(axis=0) for p in range(8)])
    kept = [float(np.mean(used[p] <= had[p])) for p in range(8)]
    assert min(kept[2:]) > 0.9 - 0.01
    assert min(kept[2:]) == pytest.approx(told.chance, abs=0.01)
    assert 1.0 - min(kept[:2]) == pytest.approx(told.before, abs=0.01)
    for order in told.orders:  # one piece less would miss it where it comes
        assert np.mean(used[order.comes] <= had[order.comes] - 1) < 0.9 + 0.01


def test_packs_stock_and_what_is_on_order_are_counted():
    wanted = demand("stone", [], [ByUse("stone", (4.0,) * 6)])
    plain = order_list(wanted, Stocked("stone", 0, lead=1, price=2.0))
    packs = order_list(wanted, Stocked("stone", 0, lead=1, pack=10))
    assert all(order.pieces % 10 == 0 for order in packs.orders)
    assert len(packs.orders) < len(plain.orders)
    assert plain.orders[0].money == 2.0 * plain.orders[0].pieces
    coming = order_list(wanted, Stocked("stone", 0, lead=1, on_order=((1, 7),)))
    assert coming.orders[0].pieces == plain.orders[0].pieces - 7
    assert plain.wanted_now == quantile(wanted.until[1], 0.95) == plain.orders[0].pieces
    assert plain.before == pytest.approx(1 - np.exp(-4.0))
    enough = order_list(wanted, Stocked("stone", 60, lead=1))
    assert (enough.orders, round(enough.before, 9)) == ((), 0.0)
    late = order_list(wanted, Stocked("stone", 0, lead=9))
    assert (late.orders, late.chance) == ((), 1.0)
    assert late.before > 0.9999


def test_chances_by_period_hold_what_was_reached():
    assert chances_by_period([0.2, 0.5, 0.4, 0.9]) == pytest.approx((0.5, 0.0, 0.4))
    with pytest.raises(OutOfRange, match="number of reached"):
        chances_by_period([0.1])


@pytest.mark.parametrize(
    ("coming", "use", "error", "named"),
    [
        ([], [], NotEnough, "demand for reel"),
        ([Coming("knife", "A", (0.5,))], [], NotEnough, "demand for reel"),
        ([Coming("reel", "A", (0.5,)), Coming("reel", "B", (0.5, 0.1))], [], Contradiction, "unlike numbers"),
        ([Coming("reel", "A", (0.7, 0.7))], [], OutOfRange, "together of reel for A"),
        ([Coming("reel", "A", (-0.7, 0.7))], [], OutOfRange, "chances of reel for A"),
        ([Coming("reel", "A", (0.7,), 0)], [], OutOfRange, "pieces of reel for A"),
        ([], [ByUse("reel", (-1.0,))], OutOfRange, "use of reel"),
        ([], [ByUse("reel", ())], OutOfRange, "number of periods"),
    ],
)
def test_bad_forecasts_are_named(coming, use, error, named):
    with pytest.raises(error, match=named):
        demand("reel", coming, use)


@pytest.mark.parametrize(
    ("stocked", "named"),
    [
        (Stocked("reel", -1, 1), "reel on the shelf"),
        (Stocked("reel", 1, -1), "lead of reel"),
        (Stocked("reel", 1, 1, 0), "pack of reel"),
        (Stocked("reel", 1, 1, 1, ((-1, 2),)), "period of an order of reel"),
        (Stocked("reel", 1, 1, 1, ((1, -2),)), "pieces on order of reel"),
        (Stocked("reel", 1, 1, price=-1.0), "price of reel"),
    ],
)
def test_bad_stock_is_named(stocked, named):
    wanted = demand("reel", [], [ByUse("reel", (1.0, 1.0))])
    with pytest.raises(OutOfRange, match=named):
        order_list(wanted, stocked)
    with pytest.raises(OutOfRange, match="service"):
        order_list(wanted, Stocked("reel", 1, 1), 1.0)
