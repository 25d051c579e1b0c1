"""From what is on file to what is due, the jobs and the plan."""

import datetime
from dataclasses import replace

import pytest

from sparkout.core.errors import NotEnough
from sparkout.core.season.plan import cost_parts, late
from sparkout.season.edges import Edge
from sparkout.season.forecast import UnitNow, forecast
from sparkout.season.placing import placed, weeks
from sparkout.season.sheet import HOUR, SeasonSheet, sheet_of
from sparkout.season.wearing import Size, Wearing
from sparkout.season.work import moved, plan_kept, plan_of, why_not_on, work_of
from sparkout.visit.problems import VisitProblems

TODAY = datetime.date(2026, 11, 25)  # a Wednesday


def unit(name: str = "U1", machine: str = "M1", **more) -> UnitNow:
    return UnitNow(name, machine, "P", "greens", 300.0, 20.0, 240.0, **more)


def worn(name: str, per_hour: float = 0.002, ground: float = 0.25) -> UnitNow:
    """A unit whose reel loses exactly so much an hour and a grind."""
    sizes = []
    for k in range(5):
        hours = 100.0 * k
        sizes.append(Size(hours, 126.0 - per_hour * hours - ground * k, ground * k))
        sizes.append(Size(hours, 126.0 - per_hour * hours - ground * (k + 1), ground * (k + 1)))
    return UnitNow(name, "M1", "P", "greens", 400.0, 20.0, 400.0, (), tuple(sizes), 120.0)


def test_due_by_the_sheet_when_nothing_is_known() -> None:
    found = forecast([unit()], SeasonSheet())
    assert found.units[0].due.day == 21  # 120 - 60 hours at 20 a week
    assert found.life is None
    assert "no" in found.interval_from or "0 edges" in found.interval_from


def test_the_machine_s_own_interval_and_hours_go_first() -> None:
    sheet = sheet_of({"machines": [{"name": "M1", "interval": 100, "hours_a_week": 10}]})
    assert forecast([unit()], sheet).units[0].due.day == 28


def test_the_interval_is_learnt_from_edges_that_went() -> None:
    edges = tuple(
        Edge(h, went) for h, went in ((90, True), (100, True), (105, True), (110, True), (120, True), (60, False))
    )
    found = forecast([unit(edges=edges)], SeasonSheet())
    assert found.best is not None
    assert found.life is not None
    assert found.units[0].interval == pytest.approx(found.best.hours)
    assert list(found.units[0].due.goes) == sorted(found.units[0].due.goes)
    assert found.units[0].interval < 105


def test_edges_that_end_by_accident_teach_no_interval() -> None:
    edges = tuple(Edge(h, True) for h in (1, 5, 20, 90, 400, 900))
    found = forecast([unit(edges=edges)], SeasonSheet())
    assert found.units[0].interval == SeasonSheet().interval / HOUR
    assert "accident" in found.interval_from


def test_a_reel_that_wears_steadily_reaches_its_limit_when_arithmetic_says() -> None:
    """Own arithmetic: 126 - 0.002 h - 0.25 (1 + h/100) = 120."""
    found = forecast([worn("A"), worn("B"), worn("C")], SeasonSheet())
    ends = found.units[0].ends
    assert ends.per_hour == pytest.approx(0.002, rel=1e-6)
    left = (126.0 - 0.002 * 400 - 1.25 - 120.0) / (0.002 + 0.25 * 5 / 400)
    assert ends.hours[2] == pytest.approx(left, rel=1e-6)
    assert ends.days[2] == pytest.approx(left / 20 * 7, rel=1e-6)


def test_what_is_missing_is_said() -> None:
    bare = forecast([UnitNow("A"), UnitNow("B", hours=100.0, sharpened=50.0)], SeasonSheet()).units
    assert bare[0].due is None
    assert any("hours now" in text for text in bare[0].missing)
    assert any("hours a week" in text for text in bare[1].missing)


SHEET = {
    "start": "2026-11-30",
    "people": [{"name": "A", "overtime": 2}, {"name": "B", "skills": ["strip", "knife", "set"]}],
    "grinders": [{"name": "G"}],
    "machines": [{"name": "M1", "spared": ["Mon"]}],
    "fresh": [{"at": "M2", "on": "2026-12-20", "name": "final"}],
    "away": [{"who": "A", "first": "2026-12-07", "last": "2026-12-11"}],
}


def test_jobs_days_and_absences() -> None:
    sheet = sheet_of(SHEET)
    units = [unit("U1"), unit("U2", "M2"), UnitNow("U3")]
    work = work_of(forecast(units, sheet), sheet, TODAY)
    first = next(job for job in work.season.jobs if job.unit == "U1")
    assert first.due == 21 - 5  # the season begins five days from today
    assert all(work.date(day).weekday() == 0 for day in first.spared)
    for_final = [(job, o) for job, o in zip(work.season.jobs, work.occasions, strict=True) if o is not None]
    assert [(job.due, job.ready) for job, _ in for_final] == [(19, 12)]
    assert work.season.technicians[0].hours[7:12] == (0.0,) * 5
    assert work.season.technicians[0].hours[14] == 7.5
    assert [one.unit.name for one, _ in work.without] == ["U3"]
    assert "relief" not in {phase.skill for phase in first.phases}


def test_a_plan_kept_as_days_is_the_same_plan_and_a_move_costs_what_it_costs() -> None:
    sheet = sheet_of(SHEET)
    work = work_of(forecast([unit(f"U{i}", "M2", relief=True) for i in range(6)], sheet), sheet, TODAY)
    plan = plan_of(work, 2.0)
    assert plan.cost >= plan.bound - 1e-6
    days = {job.unit: plan.day(job) for job in work.season.jobs if plan.day(job) is not None}
    again = plan_kept(work, days, plan.bound)
    assert again.cost == pytest.approx(plan.cost)
    job = work.season.jobs[0]
    later = moved(work, days, job.unit, work.season.days - 3)
    assert later.day(later.season.jobs[0]) == work.season.days - 3
    assert later.cost > plan.cost
    assert any(one.unit == job.unit and "by hand" in one.why for one in late(later))
    assert cost_parts(later).late > 0
    unmoved = plan_of(work, 1.0, before=days)
    assert {j.unit: unmoved.day(j) for j in unmoved.season.jobs if unmoved.day(j) is not None} == days


def test_nobody_and_nothing_due_are_refused() -> None:
    with pytest.raises(NotEnough, match="somebody"):
        work_of(forecast([unit()], SeasonSheet()), SeasonSheet(), TODAY)
    sheet = sheet_of({"people": [{"name": "A"}], "weeks": 1})
    with pytest.raises(NotEnough, match="due"):
        work_of(forecast([unit()], sheet), sheet, TODAY)


def test_overdue_by_much_is_sharpened_once_for_that() -> None:
    long_overdue = UnitNow("U1", "M1", "P", "greens", 900.0, 20.0, 240.0)
    sheet = sheet_of({"people": [{"name": "A"}], "weeks": 12})
    work = work_of(forecast([long_overdue], sheet), sheet, TODAY)
    assert [job.due for job in work.season.jobs] == [-189, 42]  # (240 + 120 - 900) h at 20 h a week; then every 42 days


def test_units_of_one_name_keep_their_own_ends() -> None:
    units = [worn("left"), worn("left", ground=0.5), worn("right")]
    ends = [one.ends for one in forecast(units, SeasonSheet()).units]
    assert ends[1].hours[2] < ends[0].hours[2] == pytest.approx(ends[2].hours[2])


def test_a_sharpening_costs_the_hours_of_the_sheet() -> None:
    edges = tuple(Edge(h, True) for h in (90, 100, 105, 110, 120))
    quick = sheet_of({"hours": {"relief": 0, "strip": "10 min"}})
    long = sheet_of({"hours": {"relief": "20 h"}})
    assert forecast([unit(edges=edges)], quick).best.hours < forecast([unit(edges=edges)], long).best.hours


def test_entries_that_nothing_answers_to_are_named() -> None:
    sheet = sheet_of({
        "start": "2026-11-30", "weeks": 4, "people": [{"name": "A"}],
        "machines": [{"name": "M1"}, {"name": "gone"}],
        "fresh": [{"at": "nowhere", "on": "2026-12-10"}, {"at": "P", "on": "2027-12-10"}],
        "chosen": [{"job": "U9", "on": "2026-12-02"}, {"job": "U1", "on": "2027-12-02"}],
    })  # fmt: skip
    notes = " | ".join(work_of(forecast([unit()], sheet), sheet, TODAY).notes)
    assert all(word in notes for word in ("'U9'", "2 Dec 2027", "'nowhere'", "10 Dec 2027", "'gone'"))
    assert "M1" not in notes


def test_readings_that_settle_no_wear_say_why(monkeypatch: pytest.MonkeyPatch) -> None:
    def unsettled(*_: object) -> None:
        raise NotEnough("wear", "readings that settle it")

    monkeypatch.setattr("sparkout.season.wearing.fleet_wear", unsettled)
    found = forecast([worn("A"), UnitNow("B")], SeasonSheet())
    assert (found.wear, found.units[0].ends) == (None, None)
    assert "readings that settle it" in found.units[0].missing[-1]


def almost_gone(name: str, diameter: float, place: str = "P") -> UnitNow:
    """Due in 21 days, 60 h from now; its reel loses 0.002 mm an hour and has 120 mm for its limit."""
    off = (0.004, -0.006, 0.002, -0.001, 0.003)
    sizes = tuple(Size(75.0 * k, diameter + 0.002 * (300.0 - 75.0 * k) + off[k], 0.0) for k in range(5))
    return UnitNow(name, "M1", place, "greens", 300.0, 20.0, 240.0, (), sizes, 120.0)


SMALL = {"weeks": 12, "people": [{"name": "A"}], "grinders": [{"name": "G"}]}


def test_a_new_reel_comes_from_the_shelf_or_is_waited_for() -> None:
    """Three reels at their limits by the next sharpening, one piece there: it goes to the first, the others wait."""
    units = [almost_gone("U1", 120.05), almost_gone("U2", 120.06), almost_gone("U3", 124.0), almost_gone("U4", 120.02)]
    parts = [{"part": "greens", "on_shelf": 1, "lead_weeks": 6}]
    sheet = sheet_of({**SMALL, "parts": parts})
    work = work_of(forecast(units, sheet), sheet, TODAY)
    first = {job.unit: (part, job) for job, part in zip(work.season.jobs, work.parts, strict=True)}
    comes = TODAY + datetime.timedelta(weeks=6)
    assert [[part.comes for part in first[name][0]] for name in ("U1", "U2", "U3", "U4")] == [
        [None],
        [comes],
        [],
        [comes],
    ]
    assert [first[name][1].ready for name in ("U1", "U2")] == [0, 42]
    assert first["U2 #2"][0] == (), "replaced once"
    made = placed(work, plan_of(work, 0.5))
    told = {one.job: one for one in made}
    assert told["U1"].new_part == told["U2"].new_part == "greens"
    assert not told["U1"].is_late
    assert told["U2"].on == comes
    assert "its new 'greens' is there on 6 Jan 2027 at the soonest" in told["U2"].why
    assert why_not_on(work, first["U2"][1], 3).startswith("its new 'greens' is there on")
    unknown = work_of(forecast(units, sheet_of(SMALL)), sheet_of(SMALL), TODAY)
    assert len([note for note in unknown.notes if "does not say what is on the shelf" in note]) == 3
    assert {job.ready for job in unknown.season.jobs} == {0}


def test_a_knife_of_the_reel_s_name_is_told_apart() -> None:
    lips = tuple(Size(75.0 * k, 2.55 + 0.002 * (300.0 - 75.0 * k) + 0.001 * (-1) ** k, 0.0) for k in range(5))
    one = replace(almost_gone("U1", 124.0), parts=(Wearing("lip", "greens", 300.0, lips, 2.5),))
    sheet = sheet_of({**SMALL, "parts": [{"part": "greens", "on_shelf": 1}]})
    work = work_of(forecast([one], sheet), sheet, TODAY)
    assert [(part.part, part.on_sheet) for part in work.parts[0]] == [("greens, knife", False)]
    both = replace(one, sizes=almost_gone("U1", 120.05).sizes)
    sheet = sheet_of(
        {**SMALL, "parts": [{"part": "greens", "lead_weeks": 2}, {"part": "greens, knife", "on_shelf": 1}]}
    )
    work = work_of(forecast([both], sheet), sheet, TODAY)
    comes = TODAY + datetime.timedelta(weeks=2)
    assert [(part.part, part.comes) for part in work.parts[0]] == [("greens", comes), ("greens, knife", None)]
    assert placed(work, plan_of(work, 0.5))[0].new_part == "greens; greens, knife"
    half = sheet_of({**SMALL, "parts": [{"part": "greens", "on_shelf": 1}]})
    notes = work_of(forecast([both], half), half, TODAY).notes
    assert any("'greens, knife'" in note for note in notes), "neither hides the other"


def test_a_place_away_costs_its_way_once_a_day() -> None:
    units = [unit("U1"), unit("U2"), replace(unit("U3"), place="here")]
    fetching = [{"place": "P", "travel": "90 min"}, {"place": "nowhere", "travel": 1}]
    people = [{"name": "A", "week": [8.5] * 5 + [0, 0]}]  # 8.25 h: all three on the day they are due, with one way
    sheet = sheet_of({**SMALL, "people": people, "weeks": 4, "fetching": fetching})
    work = work_of(forecast(units, sheet), sheet, TODAY)
    assert work.season.travel == {"P": 1.5, "nowhere": 1.0}
    assert [job.place for job in work.season.jobs] == ["P", "P", ""]
    assert any("nothing on file is at 'nowhere'" in note for note in work.notes)
    plan = plan_of(work, 1.0)
    made = placed(work, plan)
    assert plan.cost == 0.0
    ways = [step for one in made for step in one.doing if step.phase == "travel"]
    assert len(ways) == 1, "both are done on one day"
    taken = sum(hours for week in weeks(work, plan) for name, hours in week.taken.items() if name == "A")
    assert taken == pytest.approx(sum(step.end - step.start for one in made for step in one.doing))
    with pytest.raises(VisitProblems, match="stands here twice"):
        sheet_of({"fetching": [{"place": "P", "travel": 1}, {"place": "P", "travel": 2}]})
