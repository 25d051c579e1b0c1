"""Money added up, sharpenings counted and the budget's uncertainty, against closed forms and plain simulation."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.season.cost import Item, Spent, budget, sharpenings, spending

LINES = [
    Spent("A", "one", "labour", 120.0, "March"),
    Spent("A", "one", "wheel", 7.5, "April"),
    Spent("B", "one", "labour", 80.0, "April"),
    Spent("C", "two", "new knife", 60.0, "March"),
]


def seeded():
    return np.random.default_rng(2)


@given(st.lists(st.tuples(*[st.sampled_from("ABC")] * 4, st.floats(-1e6, 1e6)), max_size=20))
def test_every_way_of_adding_up_gives_the_same_total(rows):
    told = spending([Spent(unit, machine, cause, money, period) for unit, machine, cause, period, money in rows])
    for sums in (told.by_unit, told.by_machine, told.by_cause, told.by_period):
        assert math.fsum(sums.values()) == pytest.approx(told.total, abs=1e-6)


def test_a_hectare_costs_what_its_machine_costs_and_unknown_hectares_are_named():
    told = spending(LINES, {"one": 50.0})
    assert told.per_hectare == {"one": 207.5 / 50.0}
    assert told.hectares_missing == ("two",)
    with pytest.raises(OutOfRange, match="hectares of one"):
        spending(LINES, {"one": 0.0})
    with pytest.raises(OutOfRange, match="wheel of A"):
        spending([Spent("A", "one", "wheel", math.nan)])


def test_edges_that_meet_only_accidents_are_counted_as_poisson():
    found = sharpenings(100.0, 25.0, 1.0, math.inf, seeded(), 200_000).times
    assert found[:10] == pytest.approx(stats.poisson.pmf(np.arange(10), 4.0), abs=0.004)
    # The edge there now does not age: how long it has cut tells nothing.
    assert sharpenings(100.0, 25.0, 1.0, math.inf, seeded(), 200_000, age=60.0).times[4] == pytest.approx(
        found[4], abs=0.01
    )


def test_an_old_edge_goes_sooner():
    new, old = (sharpenings(20.0, 40.0, 4.0, 40.0, seeded(), 50_000, age=age).times[0] for age in (0.0, 30.0))
    assert new == pytest.approx(math.exp(-(0.5**4)), abs=0.01)
    assert old == 0.0  # it reaches the interval after 10 h


def test_the_budget_is_what_a_plain_simulation_makes_of_it():
    items = [
        Item("labour", (0.1, 0.2, 0.4, 0.3), Measured(90.0, 9.0)),
        Item("new reel", (0.7, 0.3), Measured(420.0, 20.0), by_activity=False),
        Item("labour", (0.0, 0.5, 0.5), Measured(50.0, 0.0)),
    ]
    told = budget(items, seeded(), activity=0.15)
    rng, n = np.random.default_rng(5), 400_000
    a = 1 + 0.15 * rng.standard_normal(n)
    labour = rng.choice(4, n, p=items[0].count) * (90 + 9 * rng.standard_normal(n)) * a
    labour = labour + rng.choice(3, n, p=items[2].count) * 50 * a
    reel = rng.choice(2, n, p=items[1].count) * (420 + 20 * rng.standard_normal(n))
    assert told.mean == pytest.approx(np.mean(labour + reel), rel=0.004)
    assert told.spread == pytest.approx(np.std(labour + reel), rel=0.01)
    assert told.levels == pytest.approx(np.quantile(labour + reel, [0.05, 0.25, 0.5, 0.75, 0.95]), rel=0.05)
    by = {line.cause: line for line in told.lines}
    assert by["labour"].spread == pytest.approx(np.std(labour), rel=0.01)
    assert by["new reel"].mean == pytest.approx(126.0)
    assert sum(line.share_of_doubt for line in told.lines) == pytest.approx(1.0)
    assert by["new reel"].share_of_doubt > 0.5


def test_a_season_without_chance_has_no_doubt():
    told = budget([Item("reel", (0.0, 1.0), Measured(100.0, 0.0))], seeded(), draws=100)
    assert (told.mean, told.spread, told.lines[0].share_of_doubt) == (100.0, 0.0, 0.0)
    assert set(told.levels) == {100.0}


@pytest.mark.parametrize(
    ("items", "more", "error", "named"),
    [
        ([], {}, NotEnough, "budget"),
        ([Item("reel", (0.5, 0.4), Measured(1, 0))], {}, OutOfRange, "together of reel"),
        ([Item("reel", (-0.5, 1.5), Measured(1, 0))], {}, OutOfRange, "count of reel"),
        ([Item("reel", (1.0,), Measured(-1, 0))], {}, OutOfRange, "price of reel"),
        ([Item("reel", (1.0,), Measured(1, 0))], {"activity": 2.0}, OutOfRange, "activity"),
        ([Item("reel", (1.0,), Measured(1, 0))], {"draws": 2}, OutOfRange, "draws"),
    ],
)
def test_bad_budgets_are_named(items, more, error, named):
    with pytest.raises(error, match=named):
        budget(items, seeded(), **more)


@pytest.mark.parametrize(
    ("given_", "named"),
    [
        ((-1, 40, 2, 30), "hours"),
        ((100, 0, 2, 30), "characteristic_life"),
        ((100, 40, 0, 30), "shape"),
        ((100, 40, 2, 0), "interval"),
        ((1e5, 40, 2, 1.0), "10000 sharpenings"),
    ],
)
def test_bad_sharpenings_are_named(given_, named):
    with pytest.raises(OutOfRange, match=named):
        sharpenings(*given_, seeded(), 10)
