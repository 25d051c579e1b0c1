"""The season's plan against every assignment there is, and what it says of late units."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.core.season.small_seasons import least

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.season.assign import dispatched, improved
from sparkout.core.season.bound import bounded
from sparkout.core.season.jobs import Grinder, Job, Phase, Season, Technician, checked
from sparkout.core.season.plan import cost_parts, late, load, planned, replanned
from sparkout.core.season.polish import polished
from sparkout.core.season.timetable import TRAVEL, day_table

GRIND = (Phase("strip", 1.0), Phase("spin", 1.5, "reel"), Phase("set", 0.5))


def season(jobs, days=5, hours=3.0, overtime=1.0, **more):
    who = Technician("A", frozenset({"strip", "spin", "set"}), (hours,) * days, overtime, 2.0)
    grinder = Grinder("G", frozenset({"reel"}), (6.0,) * days)
    return Season(days, (who,), (grinder,), tuple(jobs), **more)


def drawn(seed, count=4, days=4):
    rng = np.random.default_rng(seed)
    jobs = [
        Job(
            f"U{i}",
            (Phase("strip", float(rng.choice([0.5, 1.0]))), Phase("spin", float(rng.choice([1.0, 1.5])), "reel")),
            int(rng.integers(0, days)),
            float(rng.integers(1, 5)),
            float(rng.choice([0.1, 0.5])),
            int(rng.integers(0, 2)),
            place="away" if rng.random() < 0.4 else "",
        )
        for i in range(count)
    ]
    return season(jobs, days, undone_days=3, travel={"away": 1.0})


@given(seed=st.integers(0, 10**6))
@settings(max_examples=8, deadline=None)
def test_small_seasons_are_planned_best_and_no_plan_undercuts_the_bound(seed):
    one = drawn(seed)
    best = least(one)
    plan = planned(one, seconds=1.5, rng=np.random.default_rng(1))
    assert plan.cost == pytest.approx(best, abs=1e-6)
    assert plan.bound <= best + 1e-6
    assert bounded(one, 5.0).bound == pytest.approx(best, abs=1e-4)
    assert bounded(one, 5.0, whole=False).bound <= best + 1e-6
    parts = cost_parts(plan)
    assert parts.late + parts.early + parts.overtime + parts.moved + parts.undone == pytest.approx(plan.cost)


def test_hours_are_kept_by_person_and_grinder():
    one = season([Job(f"U{i}", GRIND, due=i % 5, importance=1.0 + i % 3) for i in range(8)], days=8)
    plan = planned(one, seconds=1.0)
    used, there = load(plan)
    assert np.all(used[0] <= there[0] + 1.0 + 1e-9)
    assert np.all(used[1] <= there[1] + 1e-9)
    assert used[0].sum() == pytest.approx(sum(job.hours for job in one.jobs))


def test_each_step_makes_a_plan_no_dearer():
    one = drawn(5, count=20, days=10)
    first = dispatched(one)
    better = improved(one, first, np.random.default_rng(0), lambda rounds, _: rounds < 60)
    best = polished(one, better, np.random.default_rng(0), lambda rounds, _: rounds < 1)
    assert first.cost >= better.cost - 1e-9 >= best.cost - 2e-9
    assert better.rounds == 60


def test_a_day_chosen_by_hand_is_kept_whatever_it_costs():
    jobs = [Job("chosen", GRIND, due=0, fixed=3), *(Job(f"U{i}", GRIND, due=3, importance=9.0) for i in range(3))]
    plan = planned(season(jobs), seconds=1.0)
    assert plan.day(plan.season.jobs[0]) == 3
    assert "chosen by hand" in next(one.why for one in late(plan) if one.unit == "chosen")
    # Two chosen for one day that holds one: both stay, and the hours that are missing are paid for.
    both = planned(season([Job("a", GRIND, 0, fixed=1), Job("b", GRIND, 0, fixed=1)]), seconds=0.5)
    assert [both.day(job) for job in both.season.jobs] == [1, 1]
    assert cost_parts(both).overtime > 1000


def test_a_late_unit_says_who_is_full_and_what_would_help():
    jobs = [Job(f"U{i}", GRIND, due=0, importance=5.0 - i) for i in range(3)]
    plan = planned(season(jobs, days=4, overtime=0.0), seconds=0.5)
    told = late(plan)
    assert [one.unit for one in told] == ["U2", "U1"]
    assert told[1].why == "A full on days 0 to 0; 4 more hours a week would clear it"
    assert told[1].helps == 4.0
    # Four hours more, and it is not late: the words are true.
    more = replace(plan.season.technicians[0], hours=(7.0, 3.0, 3.0, 3.0))
    again = planned(replace(plan.season, technicians=(more,)), seconds=0.5)
    assert "U1" not in [one.unit for one in late(again)]


def test_other_reasons_to_be_late():
    jobs = [
        Job("late in", GRIND, due=0, ready=2),
        Job("not spared", GRIND, due=1, spared=frozenset({3, 9})),
        Job("dear", GRIND, due=1, importance=0.1),
        Job("two", GRIND, due=4),
    ]
    found = {one.unit: one for one in late(planned(season(jobs), seconds=0.5))}
    assert found["late in"].why == "it can only be had after it is due"
    assert found["not spared"].why == "its machine cannot be spared before it is due"
    assert found["not spared"].days == 2
    assert "dear" not in found
    overtime = planned(season([Job("big", (Phase("strip", 4.0),), due=0, importance=0.1)], days=3), seconds=0.5)
    assert late(overtime) == ()
    none = season([Job("big", (Phase("strip", 9.0),), due=0, importance=0.1)], days=3)
    assert [one.why for one in late(planned(none, seconds=0.5))] == ["no day it can be had has hours enough for it"]


def test_a_unit_that_pays_to_be_late():
    jobs = [Job("cheap", (Phase("strip", 4.0),), due=0, importance=0.5)]
    longer = Technician("A", frozenset({"strip"}), (3.0, 5.0), 1.0, 2.0)
    plan = planned(Season(2, (longer,), (), tuple(jobs)), seconds=0.5)
    (only,) = late(plan)
    assert only.days == 1
    assert "dearer unit" in only.why


def test_planning_anew_moves_only_what_must():
    one = season([Job(f"U{i}", GRIND, due=i, early_cost=0.2) for i in range(5)], overtime=0.0, hours=3.0, days=8)
    first = planned(one, seconds=0.5)
    ill = replace(one.technicians[0], hours=tuple(0.0 if day == 2 else 3.0 for day in range(8)))
    plan = planned(replanned(replace(one, technicians=(ill,)), first.days, change_cost=2.0), seconds=1.0)
    moved = [job.unit for job in plan.season.jobs if plan.day(job) != job.was]
    assert moved == ["U2"]
    assert cost_parts(plan).moved == pytest.approx(2.0)


def test_travel_is_taken_once_a_day():
    short = (Phase("strip", 1.0),)
    jobs = [Job(f"U{i}", short, due=2, place="away", early_cost=0.01) for i in range(2)]
    jobs.append(Job("home", short, due=2, early_cost=0.01))
    plan = planned(season(jobs, hours=4.0, overtime=0.0, travel={"away": 1.0}), seconds=0.5)
    assert {plan.day(job) for job in plan.season.jobs} == {2}
    assert load(plan)[0][0, 2] == pytest.approx(4.0)


def test_what_is_away_is_fetched_before_anything_there_begins():
    """Two of the three are away: one person fetches both in an hour, the one at home need not wait."""
    work = (Phase("strip", 1.0), Phase("spin", 1.0, "reel"))
    jobs = [Job(f"U{i}", work, due=0, place="away") for i in range(2)] + [Job("home", work, due=0)]
    one = season(jobs, hours=7.5, overtime=0.0, days=1, travel={"away": 1.5})
    plan = planned(one, seconds=0.5)
    table = day_table(plan, 0)
    travel = [slot for slot in table.slots if slot.phase.skill == TRAVEL]
    assert [(slot.phase.hours, slot.grinder) for slot in travel] == [(1.5, None)]
    for slot in table.slots:
        if slot.unit != "home" and slot.phase.skill != TRAVEL:
            assert slot.start >= travel[0].end
    assert table.over == 0.0
    assert sum(slot.end - slot.start for slot in table.slots) == pytest.approx(load(plan)[0][0].sum())
    assert max(slot.end for slot in table.slots) == pytest.approx(7.5)


def test_progress_is_told_and_ends_the_search():
    one = drawn(9, count=40, days=10)
    seen = []

    def told(progress):
        seen.append(progress)
        return len(seen) < 2

    plan = planned(one, seconds=20.0, told=told)
    assert len(seen) >= 2
    assert plan.seconds < 15
    assert seen[0].bound <= plan.cost <= seen[0].cost + 1e-9


def test_a_day_in_order():
    skilled = Technician("A", frozenset({"strip", "spin", "set"}), (8.0,), 1.0, 2.0)
    helper = Technician("B", frozenset({"strip", "set"}), (8.0,))
    grinder = Grinder("G", frozenset({"reel"}), (8.0,))
    one = Season(1, (skilled, helper), (grinder,), tuple(Job(f"U{i}", GRIND, due=0) for i in range(4)))
    table = day_table(planned(one, seconds=0.5), 0)
    assert len(table.slots) == 12
    assert table.over == 0.0
    for name in ("who", "grinder", "unit"):
        for who in {getattr(slot, name) for slot in table.slots} - {None}:
            mine = sorted((s.start, s.end) for s in table.slots if getattr(s, name) == who)
            assert all(later[0] >= earlier[1] - 1e-9 for earlier, later in pairwise(mine))
    assert all(slot.who == "A" for slot in table.slots if slot.phase.skill == "spin")
    assert max(slot.end for slot in table.slots) <= 8.0


@pytest.mark.parametrize(
    ("change", "error", "named"),
    [
        ({"days": 0}, OutOfRange, "days"),
        ({"jobs": ()}, NotEnough, "unit that is due"),
        ({"days": 6}, Contradiction, "5 days of hours"),
        ({"technicians": (Technician("A", frozenset(), (25.0,) * 5),)}, OutOfRange, "hours of A"),
        ({"technicians": ()}, NotEnough, "somebody with hours"),
        ({"jobs": (Job("U", GRIND, 0, -1.0),)}, OutOfRange, "importance of U"),
        ({"jobs": (Job("U", GRIND, 9999),)}, OutOfRange, "due day of U"),
        ({"jobs": (Job("U", GRIND, 1, fixed=7),)}, OutOfRange, "fixed day of U"),
        ({"jobs": (Job("U", (Phase("strip", -1.0),), 1),)}, OutOfRange, "hours of strip for U"),
        ({"jobs": (Job("U", (), 1),)}, NotEnough, "job U"),
        ({"jobs": (Job("U", GRIND, 1), Job("U", GRIND, 2))}, Contradiction, "name of its own"),
    ],
)
def test_bad_seasons_are_named(change, error, named):
    one = replace(season([Job("U", GRIND, 1)]), **change)
    with pytest.raises(error, match=named):
        checked(one)


def test_jobs_no_day_can_take_are_named_and_the_rest_is_planned():
    jobs = [
        Job("skill", (Phase("weld", 1.0),), 1),
        Job("grinder", (Phase("strip", 1.0, "bedknife"),), 1),
        Job("never", GRIND, 1, spared=frozenset({99})),
        Job("fine", GRIND, 1, early_cost=0.1),
    ]
    plan = planned(season(jobs), seconds=0.5)
    assert {one.unit: one.why for one in plan.cannot} == {
        "skill": "nobody has the skill weld",
        "grinder": "there is no grinder for bedknife",
        "never": "its machine can be spared on no day after it is ready",
    }
    assert plan.day(plan.season.jobs[3]) == 1
    assert [one.unit for one in late(plan)][:3] != []
    assert plan.gap == 0.0
