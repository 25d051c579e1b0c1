"""Every set within a gap, and the cheapest choice of sets: against every set and every plan there is."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.season.small_seasons import drawn, least

from sparkout.core.season import day_bound, every_set
from sparkout.core.season.assign import dispatched
from sparkout.core.season.bound import bounded
from sparkout.core.season.day_bound import DayPrices, climbed
from sparkout.core.season.every_set import cheapest, near_sets
from sparkout.core.season.jobs import Job, Phase, Season, Technician, day_cost
from sparkout.core.season.plan import planned, tried
from sparkout.core.season.polish import DaySets
from sparkout.core.season.solver import Solved


def within_gap(one, u, gap):
    """Brute force over subsets: (day, units) with what they cost, hours and overtime counted anew."""
    found, best = {}, [0.0] * one.days
    for day in range(one.days):
        there, extra = one.technicians[0].hours[day], 0.5 if one.technicians[0].hours[day] else 0.0
        for size in range(1, len(one.jobs) + 1):
            for chosen in combinations(range(len(one.jobs)), size):
                jobs = [one.jobs[i] for i in chosen]
                hours, grinding = sum(job.hours for job in jobs), sum(job.phases[1].hours for job in jobs)
                if hours <= there + extra + 1e-9 and grinding <= 2.0 and all(job.ready <= day for job in jobs):
                    cost = sum(day_cost(job, day) for job in jobs) + 2.0 * max(0.0, hours - there)
                    found[day, chosen] = cost
                    best[day] = min(best[day], cost - sum(u[i] for i in chosen))
    return {key: cost for key, cost in found.items() if cost - sum(u[i] for i in key[1]) - best[key[0]] <= gap}


@given(seed=st.integers(0, 10**6), gap=st.sampled_from([0.51, 2.03, 1e3]))
@settings(max_examples=25, deadline=None)
def test_every_set_within_the_gap_is_had_and_no_other(seed, gap):
    one = drawn(seed)
    days = DayPrices(one)
    u = np.random.default_rng(seed).uniform(0, 1, len(one.jobs)) * days.undone
    near = near_sets(days, u, gap, 10_000)
    found = {}
    for k, day in enumerate(near.day.tolist()):
        found[day, tuple(sorted(near.unit[near.of_set == k].tolist()))] = near.cost[k]
    assert found == pytest.approx(within_gap(one, u, gap))
    if found:
        assert near_sets(days, u, gap, 0) is None


@given(seed=st.integers(0, 10**6))
@settings(max_examples=12, deadline=None)
def test_the_cheapest_choice_of_them_is_the_best_plan_there_is(seed):
    one = drawn(seed, count=4)
    best, days = least(one), DayPrices(one)
    found = climbed(days, days.undone, best, lambda: True, rounds=300)
    given = cheapest(days, found.prices, best + 0.3, 10.0)
    assert given.bound == pytest.approx(best, abs=1e-5)
    chosen = dict(given.placed)
    assert tried(one, tuple(chosen.get(job) for job in one.jobs)).cost == pytest.approx(best)


def test_too_many_sets_or_nothing_cheaper_leave_a_bound_that_holds(monkeypatch):
    one = drawn(4)
    best, days = least(one), DayPrices(one)
    assert cheapest(days, days.undone, best - 0.01, 10.0).placed == []
    for most in (3, 0):
        monkeypatch.setattr(every_set, "MOST_SETS", most)
        given = cheapest(days, days.undone, best + 0.3, 10.0)
        assert given.bound <= best + 1e-6
    assert given.placed == []
    assert cheapest(days, np.zeros(len(one.jobs)), 1e-9, 10.0).bound <= best
    monkeypatch.undo()
    monkeypatch.setattr(every_set, "solved", lambda *_: Solved(None, np.inf, None))  # a solver told to stop
    given = cheapest(days, days.undone, best + 0.3, 10.0)
    assert given.placed == []
    assert given.bound <= best + 1e-6


@given(seed=st.integers(0, 10**6))
@settings(max_examples=10, deadline=None)
def test_with_a_toll_for_the_grinder_no_plan_undercuts_the_bound(seed):
    one = drawn(seed, count=4)
    best = least(one)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(day_bound, "MOST_STATES", 0)
        days = DayPrices(one)
        rng = np.random.default_rng(seed)
        for _ in range(5):
            days.tolls = rng.uniform(0, 3, one.days)
            assert days.asked(rng.uniform(0, 1, len(one.jobs)) * days.undone)[0] <= best + 1e-6
        sets = DaySets(one)
        sets.gathered(dispatched(one).cost, 1.0)
    assert bounded(one, 5.0, whole=False).bound - 1e-6 <= sets.bound <= best + 1e-6


def test_a_season_of_more_units_than_the_solver_is_first_given_is_proven_best():
    rng = np.random.default_rng(7)
    jobs = [
        Job(f"U{i}", (Phase("strip", float(rng.choice([1.0, 1.25, 1.75]))),), int(rng.integers(0, 14)), 2.0, 0.1)
        for i in range(44)
    ]
    who = Technician("A", frozenset({"strip"}), (5.0,) * 14, 1.0, 3.0)
    plan = planned(Season(14, (who,), (), tuple(jobs)), 12.0)
    assert plan.gap < 0.03
