"""Age replacement under a Weibull life: life 1000, shape 2.5, planned 1, unplanned 5 (Barlow and Hunter 1960's cost).

A public library (reliability) prints the optimum of a coarse grid, 493.19; the exact optimum, found in our notes by
other means, is 493.0470. The cost printed is the same at both.
"""

import pytest
from tests.published.evidence import evidence

from sparkout.core.season.interval import best_interval, cost_an_hour

SEEN = "in our own notes"
SOURCE = "Age replacement, Weibull 1000 h, shape 2.5, costs 1 and 5"


@evidence(SOURCE, "best interval", printed=493.0470, tolerance=5e-5, note="the library's grid prints 493.19")
def test_best_interval() -> float:
    return best_interval(1000, 2.5, 1, 5).hours


@evidence(SOURCE, "cost an hour", printed=0.00346204, tolerance=5e-9)
def test_cost() -> float:
    return best_interval(1000, 2.5, 1, 5).cost


def test_the_printed_grid_point_is_no_better() -> None:
    best = best_interval(1000, 2.5, 1, 5)
    assert cost_an_hour(493.19, 1000, 2.5, 1, 5) > best.cost
    assert cost_an_hour(493.19, 1000, 2.5, 1, 5) == pytest.approx(0.0035, abs=5e-5)
