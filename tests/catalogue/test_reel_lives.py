"""Grind or replace, spin or relief as plain sums: against the core called directly, and by hand without chance."""

import math

import numpy as np
import pytest
from tests.catalogue.test_catalogue import A_LIFE

from sparkout.catalogue.entry import InputProblems
from sparkout.catalogue.listing import calculate
from sparkout.core.errors import BelowServiceLimit
from sparkout.core.grinding.grinder import Grinder
from sparkout.core.measured import Measured
from sparkout.core.reel.geometry import Reel
from sparkout.core.season.policies import grind_or_replace, lived, ways_apart
from sparkout.core.season.reel_lives import Costs, Edge, ReliefGrinder, Upkeep, Way

CHANCY = {**A_LIFE, "characteristic_life": 100, "unplanned": 60, "life_per_land": "60 %", "stock_spread": 0.02}
SPIN = Grinder(Measured(0.7, 0.1), Measured(60, 0), 150, 20, 314.0, 40, 21, 0.02, 0.01, 3, 533, 1.5, 50, 4e4)
KEEP = Upkeep(
    Reel(11, 127.0, 533.0),
    120.0,
    Edge(100.0, 2.5, 0.6, 0.0006),
    Costs(400.0, 30.0, 2.0, 3.0, 3.0, 0.5, 60.0),
    SPIN,
    ReliefGrinder(0.02, 40.0, 20.0, 0, 20.0),
)
STOCK = Measured(0.1, 0.02)


def told(name, **inputs):
    return {key: quantity.value for key, quantity in calculate(name, inputs).results.items()}


def test_what_is_told_is_what_the_core_says():
    found = told("grind-or-replace", **CHANCY, diameter=122, land=1.3, first_stock=0.2, relieve_at=1.8)
    core = grind_or_replace(KEEP, Way("w", 80.0, STOCK, 1.8), 122.0, 1.3, 0.2, np.random.default_rng(1), 2000)
    assert found["saved"] == pytest.approx(core.saved.value)
    assert (found["saved_from"], found["saved_to"]) == pytest.approx(core.saved.interval(0.9))
    assert (found["kept_cost"], found["new_cost"]) == pytest.approx((core.kept_cost, core.new_cost))
    assert (found["sharpenings"], found["hours"]) == pytest.approx((core.sharpenings, core.hours))
    assert found["why"] == f"grind it: {core.why}"
    two = told("spin-or-relief", **CHANCY)
    lives = [
        lived(KEEP, Way("w", 80.0, STOCK, relieve_at), np.random.default_rng(1), 2000) for relieve_at in (math.inf, 0.0)
    ]
    apart = ways_apart(*lives).difference
    assert two["difference"] == pytest.approx(apart.value)
    assert (two["difference_from"], two["difference_to"]) == pytest.approx(apart.interval(0.9))
    assert two["spin_hours"] == pytest.approx(lives[0].hours.mean())
    assert two["why"] == "spin and relief is cheaper"


def test_without_chance_the_sharpenings_are_counted_on_fingers():
    """0.1 mm now, then 0.048 mm of wear and 0.1 mm a time: 1 mm of radius holds seven; the last gives 20 h only."""
    found = told("grind-or-replace", **A_LIFE, diameter=122, land=1.3)
    assert (found["sharpenings"], found["hours"]) == pytest.approx((6, 480))
    assert found["saved_from"] == pytest.approx(found["saved_to"])
    assert told("spin-or-relief", **A_LIFE)["why"] == "spin only is cheaper"


def test_a_reel_that_has_no_grind_left_is_replaced_and_seeds_repeat():
    found = told("grind-or-replace", **CHANCY, diameter=120.1, land=1.3)
    assert found["why"] == "replace it: this grind would leave it below its service diameter"
    assert (found["saved"], found["sharpenings"], found["kept_cost"]) == (0.0, 0.0, found["new_cost"])
    assert told("spin-or-relief", **CHANCY, seed=2) == told("spin-or-relief", **CHANCY, seed=2)
    assert told("spin-or-relief", **CHANCY, seed=2) != told("spin-or-relief", **CHANCY, seed=3)
    same = told("spin-or-relief", **CHANCY, relieve_at=0.0)
    assert (same["difference"], same["why"]) == (0.0, "the two cannot be told apart")


def test_what_cannot_be_is_refused():
    with pytest.raises(InputProblems, match="lives is 5"):
        told("spin-or-relief", **A_LIFE, lives=5)
    with pytest.raises(BelowServiceLimit, match="no room"):
        told("spin-or-relief", **{**A_LIFE, "stock": 4})
