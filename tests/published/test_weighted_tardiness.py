"""Single-machine weighted tardiness: 125 instances of 40 jobs of the OR-Library (J. E. Beasley), optima as published.

Values of instances 1 to 6 by earliest due date are our notes' own recomputation.
"""

from functools import cache

import numpy as np
import pytest
from tests.published.evidence import evidence
from tests.published.printed import data

from sparkout.core.season.sequence import Sequenced, sequenced, weighted_tardiness

SEEN = "in a copy of the source"
SOURCE = "OR-Library wt40"


@cache
def instances() -> tuple[np.ndarray, ...]:
    found = data("weighted_tardiness_40.json")["instances"]
    return tuple(np.array([one[name] for one in found]) for name in ("times", "weights", "due", "optimum"))


@cache
def found() -> Sequenced:
    times, weights, due, optimum = instances()
    return sequenced(times, weights, due, np.random.default_rng(0), rounds=300, enough=optimum)


@evidence(SOURCE, "instances brought to their optimum", printed=125, tolerance=0)
def test_every_optimum_is_matched() -> float:
    times, weights, due, optimum = instances()
    costs = weighted_tardiness(times, weights, due, found().orders)
    assert np.array_equal(costs, found().costs)
    return float(np.sum(costs == optimum))


def test_every_order_is_one() -> None:
    assert np.array_equal(np.sort(found().orders, axis=1), np.tile(np.arange(40), (125, 1)))


@pytest.mark.parametrize(("instance", "cost"), list(enumerate([1588, 5226, 3051, 5527, 4030, 23691])))
def test_by_earliest_due_date(instance: int, cost: int) -> None:
    times, weights, due, _ = (one[instance : instance + 1] for one in instances())
    assert weighted_tardiness(times, weights, due, np.argsort(due, axis=1, kind="stable"))[0] == cost
