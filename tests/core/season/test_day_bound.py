"""The bound from whole days: against every set a day can hold, and against every plan there is."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.season.small_seasons import drawn, least

from sparkout.core.season.assign import Assigning, dispatched
from sparkout.core.season.bound import bounded
from sparkout.core.season.day_bound import DayPrices, climbed, day_bound
from sparkout.core.season.jobs import Grinder, Job, Phase, Season, Technician, day_cost
from sparkout.core.season.polish import DaySets, by_day, set_anew


@given(seed=st.integers(0, 10**6))
@settings(max_examples=25, deadline=None)
def test_the_days_choose_the_best_of_every_set_there_is(seed):
    """Brute force over subsets, hours and overtime counted anew."""
    one = drawn(seed)
    days = DayPrices(one)
    u = np.random.default_rng(seed).uniform(0, 1, len(one.jobs)) * days.undone
    expected = float(u.sum())
    for day in range(one.days):
        there, extra = one.technicians[0].hours[day], 0.5 if one.technicians[0].hours[day] else 0.0
        best = 0.0
        for size in range(1, len(one.jobs) + 1):
            for chosen in combinations(range(len(one.jobs)), size):
                hours = sum(one.jobs[i].hours for i in chosen)
                grinding = sum(one.jobs[i].phases[1].hours for i in chosen)
                if hours <= there + extra + 1e-9 and grinding <= 2.0 and all(one.jobs[i].ready <= day for i in chosen):
                    cost = sum(day_cost(one.jobs[i], day) - u[i] for i in chosen) + 2.0 * max(0.0, hours - there)
                    best = min(best, cost)
        expected += best
    value, done, sets = days.asked(u)
    assert value == pytest.approx(expected)
    assert done.sum() == sum(len(jobs) for _, jobs in sets)


@given(seed=st.integers(0, 10**6))
@settings(max_examples=12, deadline=None)
def test_no_plan_undercuts_it_and_it_is_no_weaker_than_the_relaxation(seed):
    one = drawn(seed, count=4)
    best = least(one)
    relaxed = bounded(one, 5.0, whole=False)
    found = day_bound(one, np.array(relaxed.prices), best, lambda: True, rounds=300)
    assert found.bound <= best + 1e-6
    sets = DaySets(one)
    sets.gathered(dispatched(one).cost, 1.0)
    assert relaxed.bound - 1e-6 <= sets.bound <= best + 1e-6
    made = Assigning(one)
    for job, day in sets.chosen(2.0):
        made.put(job, day)
    assert made.cost >= best - 1e-9
    settled = sets.dived(1.0)
    assert len({job for job, _ in settled}) == len(settled)
    made = Assigning(one)
    for job, day in settled:
        assert np.isfinite(made.workshop.prices(job)[day])  # what is settled fits
        made.put(job, day)
    assert made.cost >= best - 1e-9


def test_sets_settled_one_by_one_reach_a_plan_that_is_known_to_be_best():
    """Two days of three hours, four units of an hour and a half due on the first: two each, the two dearer first."""
    jobs = tuple(Job(f"U{i}", (Phase("strip", 1.5),), 0, 1.0 + i) for i in range(4))
    who = Technician("A", frozenset({"strip"}), (3.0, 3.0))
    one = Season(2, (who,), (), jobs)
    sets = DaySets(one)
    sets.gathered(dispatched(one).cost, 1.0)
    assert sets.dived(1.0, lambda: False) == []
    for seconds in (60.0, 1e-6):  # one after the other, and all at once when there is no time
        days = {job.unit: day for job, day in sets.dived(seconds)}
        assert days == {"U0": 1, "U1": 1, "U2": 0, "U3": 0}
    assert sets.bound == pytest.approx(3.0)


def test_prices_of_any_kind_give_a_bound_that_holds():
    one = drawn(3)
    days = DayPrices(one)
    known = dispatched(one).cost
    for share in (0.0, 0.3, 0.6, 1.0):
        assert days.asked(share * days.undone)[0] <= known + 1e-9
    assert 0.0 < climbed(days, days.undone, known, lambda: True, 200).bound <= known + 1e-9
    assert climbed(days, days.undone, 50.0, lambda: False).bound == 0.0


def test_units_fixed_by_hand_and_left_out_keep_their_cost():
    one = drawn(4)
    jobs = (replace(one.jobs[0], fixed=2), *one.jobs[1:])
    held = replace(one, jobs=jobs)
    days = DayPrices(held, frozenset({"U1"}))
    assert days.constant == pytest.approx(day_cost(jobs[0], 2) + day_cost(jobs[1], 5))
    assert [job.unit for job in days.jobs] == ["U2", "U3", "U4"]
    only = replace(one, jobs=(jobs[0],))
    assert day_bound(only, np.zeros(1), 9.0, lambda: True).bound == pytest.approx(day_cost(jobs[0], 2))


def test_setting_anew_makes_no_plan_dearer_and_sets_that_do_not_fit_are_left():
    one = drawn(7, count=6)
    made = Assigning(one)
    for job in one.jobs:
        made.place(job)
    before = made.cost
    set_anew(made, list(one.jobs), 1.0)
    assert made.cost <= before + 1e-9
    sets = DaySets(one)
    assert sets.add([(0, one.jobs), (1, one.jobs[:1])]) == 0  # far too much, and a day without hours
    assert sets.chosen(1.0) == []
    assert by_day([(one.jobs[0], 1), (one.jobs[1], 1)]) == [(1, one.jobs[:2])]


def test_a_day_that_lacks_a_skill_is_closed_and_the_bound_sees_what_that_costs():
    """Hours enough on the due day, but nobody there who spins: a day early is the best there is."""
    helper = Technician("B", frozenset({"strip"}), (4.0, 4.0))
    skilled = Technician("A", frozenset({"strip", "spin"}), (4.0, 0.0))
    job = Job("U", (Phase("strip", 0.5), Phase("spin", 1.0, "reel")), 1, 5.0, 0.5)
    one = Season(2, (helper, skilled), (Grinder("G", frozenset({"reel"}), (4.0, 4.0)),), (job,))
    assert DayPrices(one).asked(np.array([2.0]))[0] == pytest.approx(0.5)


def test_days_are_open_to_a_unit_that_another_one_brings_the_travel_for():
    """Alone the unit has no hours for the way; on a visit with one that somebody else travels for it has."""
    a, b = Technician("A", frozenset({"strip"}), (2.0,)), Technician("B", frozenset({"set"}), (4.0,))
    jobs = (Job("U", (Phase("strip", 2.0),), 0, place="away"), Job("V", (Phase("set", 2.0),), 0, place="away"))
    one = Season(1, (a, b), (), jobs, {"away": 1.0})
    made = Assigning(one)
    assert not np.isfinite(made.workshop.prices(jobs[0])).any()
    made.put(jobs[1], 0)
    made.place(jobs[0])
    assert made.cost == 0.0
    days = DayPrices(one)
    assert days.asked(days.undone)[0] <= 1e-9
