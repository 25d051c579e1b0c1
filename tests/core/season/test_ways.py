"""Two ways of working compared: seeded edges whose truth is known, and the same numbers by the regression itself."""

import numpy as np
import pytest

from sparkout.core.errors import NotEnough
from sparkout.core.season.edge_life import edge_life
from sparkout.core.season.interval import best_interval, cost_an_hour, cost_curve
from sparkout.core.season.ways import EdgeCut, ways_compared


def edges(ratio, each, seed, running=0.0):
    rng = np.random.default_rng(seed)
    made = []
    for way, eta in (("spin", 40.0), ("both", 40.0 * ratio)):
        for hours in eta * rng.weibull(2.5, each):
            cut = rng.random() < running
            made.append(EdgeCut(way, float(hours * (rng.random() if cut else 1.0)), not cut))
    return made


def test_twice_the_life_is_told():
    told = ways_compared([*edges(2.0, 60, 1, running=0.3), EdgeCut("other", 5.0, True)], "spin", "both")
    assert told.compared.low < 2.0 < told.compared.high
    assert told.words == "edges of both last longer than those of spin"
    assert told.median_second / told.median_first == pytest.approx(told.compared.ratio)
    turned = ways_compared(edges(2.0, 60, 1, running=0.3), "both", "spin")
    assert turned.words == "edges of spin last less long than those of both"
    assert turned.compared.ratio == pytest.approx(1.0 / told.compared.ratio)


def test_what_is_not_told_says_how_many_more_and_those_tell_it_as_often_as_said():
    """The power is to be 80 %: workshops of 15 edges a way that see nothing yet, then as many as they were told."""
    found = []
    for seed in range(60):
        told = ways_compared(edges(1.0, 15, seed), "spin", "both")
        if told.compared.told_apart:
            continue
        n = told.compared.more_sharpenings
        assert f"about {n} more sharpening" in told.words
        for again in range(4):
            later = edges(told.compared.to_tell, 15 + round(n / 2), 1000 + 10 * seed + again)
            found.append(ways_compared(later, "spin", "both").compared.told_apart)
    assert 0.7 < np.mean(found) < 0.9


def test_the_numbers_are_the_regressions():
    given = edges(1.4, 20, 4, running=0.2)
    told = ways_compared(given, "spin", "both")
    x = [[1, edge.way == "both"] for edge in given]
    life = edge_life([edge.hours for edge in given], [edge.blunt for edge in given], x, ("all", "both"))
    assert told.life.coefs == pytest.approx(life.coefs)


def test_too_few_edges_are_named_with_how_many_more():
    with pytest.raises(NotEnough, match=r"edges of both.*1 more edge that went blunt"):
        ways_compared([*edges(1.0, 2, 5), *[EdgeCut("spin", 9.0, True)] * 2], "spin", "both")


@pytest.mark.parametrize("costs", [(1.0, 5.0, 0.0), (1.0, 1.0, 0.0), (30.0, 0.0, 4.0)])
def test_the_curve_holds_the_best_and_both_ends_of_what_costs_hardly_more(costs):
    best = best_interval(50.0, 2.5, *costs)
    hours, cost = cost_curve(best, 50.0, 2.5, *costs)
    assert cost[7] == pytest.approx(cost_an_hour(hours[7], 50.0, 2.5, *costs))
    assert min(cost) >= best.cost * (1 - 1e-9)
    assert hours[0] < best.within_low
    assert cost[0] > 1.05 * best.cost * (1 - 1e-9)
