"""Sequences against every permutation there is."""

from itertools import permutations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.errors import OutOfRange
from sparkout.core.season.sequence import sequenced, weighted_tardiness


@given(seed=st.integers(0, 10**6), jobs=st.integers(1, 6))
@settings(max_examples=25, deadline=None)
def test_small_sets_are_solved(seed, jobs):
    rng = np.random.default_rng(seed)
    p, w, d = rng.integers(0, 20, (3, jobs)), rng.integers(0, 9, (3, jobs)), rng.integers(-5, 60, (3, jobs))
    found = sequenced(p, w, d, rng)
    every = np.array(list(permutations(range(jobs))))
    for k in range(3):
        assert found.costs[k] == weighted_tardiness(p[k], w[k], d[k], every).min()
    assert np.array_equal(found.costs, weighted_tardiness(p, w, d, found.orders))


def test_the_same_generator_gives_the_same_orders():
    rng = np.random.default_rng(8)
    jobs = rng.integers(1, 30, (3, 4, 25))
    one, two = (sequenced(*jobs, np.random.default_rng(1), rounds=5) for _ in range(2))
    assert np.array_equal(one.orders, two.orders)


def test_the_search_ends_when_told():
    rng = np.random.default_rng(8)
    jobs = rng.integers(1, 30, (3, 4, 25))
    jobs[2] = 0
    seen = []

    def go_on(done, costs):
        seen.append((done, costs.copy()))
        return done < 3

    assert sequenced(*jobs, np.random.default_rng(1), rounds=50, go_on=go_on).rounds == 3
    assert [done for done, _ in seen] == [1, 2, 3]
    assert np.all(seen[-1][1] <= seen[0][1])


def test_more_starts_than_rules_begin_at_random():
    rng = np.random.default_rng(8)
    jobs = rng.integers(1, 30, (3, 2, 12))
    found = sequenced(*jobs, rng, starts=7, rounds=21)
    assert np.array_equal(np.sort(found.orders, axis=1), np.tile(np.arange(12), (2, 1)))


@pytest.mark.parametrize(
    ("times", "weights", "due", "named"),
    [
        ([[1, 2]], [[1]], [[1, 2]], "the same shape"),
        ([[]], [[]], [[]], "not empty"),
        ([[-1]], [[1]], [[1]], "times"),
        ([[500]], [[1]], [[1]], "times"),
        ([[5]], [[-1]], [[1]], "weights"),
    ],
)
def test_bad_input_is_named(times, weights, due, named):
    with pytest.raises(OutOfRange, match=named):
        sequenced(times, weights, due, np.random.default_rng(1))
