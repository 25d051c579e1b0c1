"""The season on file: sheet, moves, plans in the background, what-ifs; units as the records tell them."""

from __future__ import annotations

import datetime
import threading
import time
import uuid
from typing import Any

import pytest
from django.db import connection
from tests.records.workshops import SEASON, Bench, diameter, parts_read, season_set

from sparkout.core.errors import NotEnough, Refusal
from sparkout.core.phrase import thawed
from sparkout.records.jobs import ask_to_stop, do_now
from sparkout.records.models import (
    Fitting,
    HistoryLine,
    HoursEntry,
    Job,
    KeptPlan,
    KeptSheet,
    Knife,
    Reading,
    SeasonPlan,
    Workshop,
)
from sparkout.records.operations import season
from sparkout.records.operations.doing import now, today
from sparkout.records.operations.equipment import set_limit
from sparkout.records.operations.job import record_work
from sparkout.records.operations.parts import fit_knife, remove_knife
from sparkout.records.operations.turf import record_event, record_hours
from sparkout.records.operations.units import add_machine, add_place, add_unit
from sparkout.records.operations.visits import open_visit, sign_visit
from sparkout.records.season import (
    best_so_far,
    kept_plan,
    kept_sheet,
    last_plan,
    placements,
    plan_of_job,
    plan_shown,
    season_on_file,
    sheet_now,
    what_ifs,
)
from sparkout.records.units_now import units_now
from sparkout.season.forecast import forecast
from sparkout.visit.problems import VisitProblems

DAY = datetime.timedelta(days=1)


def sharpened(on: Bench, found: str, left: str, complaint: str | None = None) -> None:
    """The visit on the bench, with a spin grind, signed."""
    on.visit.complaint = complaint
    on.visit.save()
    for when, size in (("as found", found), ("as left", left)):
        for at in ("left", "right"):
            diameter(on, size, at=at, when=when)
    record_work(actor=on.me, visit=on.visit, key=None, step="spin grind")
    sign_visit(actor=on.me, visit=on.visit)


def test_a_unit_as_the_records_tell_it(on_bench: Bench) -> None:
    set_limit(actor=on_bench.me, quantity="diameter", at_least="120 mm", origin="house")
    sharpened(on_bench, "125.4 mm", "125.1 mm", "misses on one side")
    later = open_visit(actor=on_bench.me, unit=on_bench.unit, hours="700 h")
    on_bench.visit = later
    sharpened(on_bench, "124.9 mm", "124.7 mm", "stragglers")
    found = units_now(seconds=60.0)
    (one,) = found.units
    assert found.waiting == 0
    assert found.numbers == {"unit 3": on_bench.unit.pk}
    assert (one.machine, one.place, one.duty, one.limit) == ("greens machine 1", "nine holes", "greens", 120.0)
    assert one.sharpened == 600.0  # the reel came in at 100 h on the clock
    assert [(edge.hours, edge.went) for edge in one.edges] == [(60.0, True)]
    sizes = [(size.hours, round(size.value, 1), round(size.removed, 1)) for size in one.sizes]
    assert [hours for hours, _, _ in sizes] == [540.0, 540.0, 600.0, 600.0]
    assert [removed for _, _, removed in sizes] == [0.0, 0.3, 0.3, 0.5]
    assert not one.relief


def test_land_lip_and_rollers_as_the_records_tell_them(on_bench: Bench) -> None:
    """A knife has hours of its own, a roller its unit's, a land its reel's; a limit of a type goes before others."""
    me, unit = on_bench.me, on_bench.unit
    other = add_unit(actor=me, name="unit 4")
    record_event(actor=me, kind="sand", on=today(), unit=unit)
    parts_read(on_bench, [("1.4 mm", "1 mm"), ("1.3 mm", "1 mm")], ("spin grind", "relief grind", "knife grind"))
    knife = Knife.objects.get()
    one = next(each for each in units_now(seconds=60.0).units if each.name == "unit 3")
    land, lip_now, front, rear = one.parts
    assert [(s.hours, round(s.value, 2), round(s.removed, 2)) for s in land.sizes] == [
        (540.0, 1.4, 0.0), (540.0, 1.0, 0.4), (600.0, 1.3, 0.4), (600.0, 1.0, 0.7),
    ]  # fmt: skip
    assert [(s.hours, round(s.value, 2), round(s.removed, 2)) for s in lip_now.sizes] == [
        (40.0, 3.6, 0.0), (40.0, 3.4, 0.2), (100.0, 3.3, 0.2), (100.0, 3.1, 0.4),
    ]  # fmt: skip
    assert [(s.hours, round(s.value, 2)) for s in front.sizes] == [(640.0, 59.6), (700.0, 59.5)]
    assert (land.limit, lip_now.limit, front.limit, rear.limit) == (1.5, 2.5, 58.0, 45.0)
    assert (lip_now.hours, front.hours, lip_now.duty) == (100.0, 700.0, "greens knife")
    assert (front.which, front.sandings, lip_now.sandings) == ("front", 1, 1)
    wears = {each.wearing.words: each for each in forecast([one], sheet_now()).units[0].wears}
    assert wears["knife lip"].ends is not None
    assert wears["knife lip"].ends.per_hour == pytest.approx(0.1 / 60.0, rel=0.01)
    remove_knife(actor=me, unit=unit, on=today(), hours="700 h")
    fit_knife(actor=me, unit=other, knife=knife, on=today(), hours="0 h")
    found = {each.name: each for each in units_now(seconds=60.0).units}
    assert [part.quantity for part in found["unit 3"].parts] == ["land", "roller", "roller"]
    (moved,) = found["unit 4"].parts
    assert [size.hours for size in moved.sizes] == [40.0, 40.0, 100.0, 100.0]
    assert found["unit 4"].hours is None


def test_how_an_edge_was_made_is_told(on_bench: Bench) -> None:
    """Its gap as read afterwards goes before the plan kept, that before what was wanted, that before the usual."""
    me, visit = on_bench.me, on_bench.visit
    Workshop.objects.update(wanted={"gap": "0 mm"})
    record_work(actor=me, visit=visit, key=None, step="spin grind", by="CD")
    record_work(actor=me, visit=visit, key=None, step="relief grind")
    sign_visit(actor=me, visit=visit)

    def made() -> tuple[bool | None, str | None, str]:
        (edge,) = units_now(seconds=0.0).units[0].edges
        return edge.relief, edge.gap, edge.who

    later = open_visit(actor=me, unit=on_bench.unit, hours="700 h")
    record_work(actor=me, visit=later, key=None, step="spin grind")
    sign_visit(actor=me, visit=later)
    assert made() == (True, "contact", "CD")
    visit.refresh_from_db()
    visit.wanted = {"gap": "0.03 mm"}
    visit.save()
    assert made() == (True, "light gap", "CD")
    KeptPlan.objects.create(visit=visit, choices={"wanted": {"gap": "0 mm"}}, kept_by=me, kept_at=now())
    assert made() == (True, "contact", "CD")
    for value in ("0.02 mm", "what?"):
        told = {"of": "gap", "value": value, "when": "as left"}
        Reading.objects.create(visit=visit, key=uuid.uuid4(), **told, entered_by=me, entered_at=now())
    assert made() == (True, "light gap", "CD")


def test_figures_that_wait_are_counted(on_bench: Bench) -> None:
    sharpened(on_bench, "125.4 mm", "125.1 mm")
    assert units_now(seconds=0.0).waiting == 1
    assert units_now(seconds=0.0).units[0].sharpened == 540.0  # what was done is known without them


def test_hours_run_on_by_the_usual_week_and_a_clock_that_fell_is_named(on_bench: Bench) -> None:
    unit, me = on_bench.unit, on_bench.me
    for back, hours in ((100, "200 h"), (30, "300 h")):
        record_hours(actor=me, unit=unit, on=today() - back * DAY, hours=hours)
    HoursEntry.objects.filter(visit=on_bench.visit).delete()
    fitted_today = units_now(seconds=0.0).units[0]
    assert (fitted_today.hours, fitted_today.sharpened) == (0.0, 0.0)
    Fitting.objects.update(since=today() - 200 * DAY)
    one = units_now(seconds=0.0).units[0]
    assert one.hours_a_week == pytest.approx(10.0)
    # since the clock was last read 30 days ago
    assert one.hours == pytest.approx(200.0 + 10.0 * 30 / 7)
    HoursEntry.objects.create(unit=unit, on=today() - 20 * DAY, hours="5 h")
    HoursEntry.objects.create(unit=unit, on=today() + 5 * DAY, hours="900 h")
    told = dict(units_now(seconds=0.0).doubts)
    assert "not come" in " ".join(what for _, what in units_now(seconds=0.0).doubts)
    assert "another clock" in " ".join(what for _, what in units_now(seconds=0.0).doubts)
    assert set(told) == {"unit 3"}


def test_units_of_one_name_are_told_apart_and_one_without_a_reel_is_named(on_bench: Bench) -> None:
    me = on_bench.me
    add_unit(actor=me, name="unit 3", machine=add_machine(actor=me, name="spare"), position="left")
    add_unit(actor=me, name="unit 3")
    add_unit(actor=me, name="unit 3")
    found = units_now(seconds=0.0)
    assert len(found.numbers) == 4
    assert "unit 3, spare" in found.numbers
    assert len([unit for unit, what in found.doubts if "no reel" in what]) == 3


def test_each_edit_of_the_sheet_stays_on_file(on_bench: Bench) -> None:
    me = on_bench.me
    assert sheet_now().people == ()
    season.set_sheet(actor=me, tables=SEASON)
    season.set_in_sheet(actor=me, part="people", entry={"name": "B", "overtime": "1 h"})
    season.set_in_sheet(actor=me, part="people", which=0, entry={"week": [4, 4, 4, 4, 0, 0, 0]})
    season.set_in_sheet(actor=me, part="costs", entry={"hour": "32,5"})
    season.set_in_sheet(actor=me, part="", entry={"weeks": 6})
    sheet = sheet_now()
    assert [one.name for one in sheet.people] == ["A", "B"]
    assert sheet.people[0].week[0] == 4 * 3600
    assert (sheet.costs.hour, sheet.weeks) == (32.5, 6)
    season.set_in_sheet(actor=me, part="people", which=1, entry={"overtime": None})
    season.take_from_sheet(actor=me, part="people", which=0)
    assert [(one.name, one.overtime) for one in sheet_now().people] == [("B", 0.0)]
    assert KeptSheet.objects.count() == 7
    assert KeptSheet.objects.filter(ended_at=None).count() == 1
    line = HistoryLine.objects.order_by("-pk")[0]
    assert (line.action, line.subject) == ("take_from_sheet", "keptsheet")
    assert line.before["people"][0]["name"] == "A"


@pytest.mark.parametrize(
    ("ask", "path"),
    [
        ({"part": "people", "entry": {"name": "C", "week": [99]}}, "people[1].week[0]"),
        ({"part": "colours", "entry": {}}, "part"),
        ({"part": "people", "which": 7, "entry": {}}, "which"),
        ({"part": "fresh", "which": 0, "entry": {}}, "which"),
        ({"part": "", "entry": {"weeks": 0}}, "weeks"),
        ({"part": "people", "entry": {"name": "C"}, "what_if": "never begun"}, "what_if"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_lost(on_bench: Bench, ask: dict, path: str) -> None:
    before = season.set_sheet(actor=on_bench.me, tables=SEASON)
    with pytest.raises(VisitProblems) as refused:
        season.set_in_sheet(actor=on_bench.me, **ask)
    assert path in [problem.path for problem in refused.value.problems]
    assert kept_sheet() == before


def test_a_draft_a_move_and_a_release(on_bench: Bench) -> None:
    me = on_bench.me
    season_set(on_bench)
    first = season.draft_plan(actor=me)
    (job,) = [one.job for one in placements(first) if one.job == "unit 3"]
    to = today() + 9 * DAY
    units, now = season_on_file(seconds=0.0)
    dearer = season.what_a_move_costs(now, units, first, job, str(to))
    assert dearer.plan.cost > first.cost
    made = season.move_job(actor=me, job=job, on=str(to))
    assert made is not None
    assert (made.cost, made.job) == (pytest.approx(dearer.plan.cost), None)
    assert kept_plan() == made
    moved = next(one for one in placements(made) if one.job == job)
    assert (moved.on, moved.by_hand) == (to, True)
    assert "by hand" in moved.why
    first.refresh_from_db()
    assert first.ended_at is not None
    lines = HistoryLine.objects.filter(action="move_job")
    assert [(line.before["job"], line.after["on"]) for line in lines] == [(job, str(to))]
    units, now = season_on_file(seconds=0.0)
    shown = plan_shown(now, units, kept_plan())
    assert shown is not None
    assert shown.plan.cost == pytest.approx(made.cost)
    season.release_job(actor=me, job=job)
    assert sheet_now().chosen == ()
    with pytest.raises(VisitProblems, match="not chosen by hand"):
        season.release_job(actor=me, job=job)


@pytest.mark.parametrize(
    ("job", "on", "told"),
    [("unit 3", "1999-01-01", "outside the season"), ("unit 9", "", "no job 'unit 9'"), ("unit 3", "soon", "soon")],
)
def test_a_move_that_cannot_be(on_bench: Bench, job: str, on: str, told: str) -> None:
    season_set(on_bench)
    with pytest.raises(VisitProblems, match=told):
        season.move_job(actor=on_bench.me, job=job, on=on or str(today()))
    assert KeptSheet.objects.count() == 1


def test_a_choice_is_kept_before_there_is_any_plan(on_bench: Bench) -> None:
    season_set(on_bench)
    assert season.move_job(actor=on_bench.me, job="unit 3", on=str(today() + DAY)) is None
    assert [choice.job for choice in sheet_now().chosen] == ["unit 3"]


def test_a_plan_is_made_in_the_background_and_kept(on_bench: Bench) -> None:
    me = on_bench.me
    season_set(on_bench)
    job = do_now(season.make_plan(actor=me, seconds=0.5))
    assert job.state == "done", job.message
    made = plan_of_job(job)
    assert made is not None
    assert job.told["plan"] == made.pk
    assert made.gap == pytest.approx(job.told["gap"])
    assert kept_plan() is None
    assert last_plan() == made
    season.keep_plan(actor=me, plan=made)
    assert kept_plan() == made
    with pytest.raises(VisitProblems, match="kept already"):
        season.keep_plan(actor=me, plan=made)


def test_stopping_keeps_the_best_so_far(on_bench: Bench) -> None:
    me = on_bench.me
    season_set(on_bench)
    for name in range(8):
        unit = add_unit(actor=me, name=f"more {name}")
        record_hours(actor=me, unit=unit, on=today(), hours="10 h")
    tables = {**SEASON, "weeks": 52, "people": [{"name": "A", "week": [4, 0, 0, 0, 0, 0, 0]}]}
    season.set_sheet(actor=me, tables={**tables, "machines": [{"name": "greens machine 1", "hours_a_week": "168 h"}]})
    job = season.make_plan(actor=me, seconds=60)

    def stop() -> None:
        try:
            while Job.objects.get(pk=job.pk).told is None:
                time.sleep(0.02)
            ask_to_stop(job)
        finally:
            connection.close()

    stopper = threading.Thread(target=stop)
    stopper.start()
    began = time.monotonic()
    done = do_now(job)
    stopper.join()
    assert time.monotonic() - began < 40
    assert done.state == "stopped"
    made = plan_of_job(done)
    assert made is not None
    assert made.placements
    assert 0.0 <= done.told["gap"] <= 1.0
    best = done.told["best"]
    assert set(best["days"]) == {one["job"] for one in made.placements}
    assert best["cost"] >= made.cost - 1e-6
    assert thawed(done.told["doing"])


def test_a_bad_day_changes_as_little_as_can_be(on_bench: Bench) -> None:
    me = on_bench.me
    season_set(on_bench)
    before = season.draft_plan(actor=me)
    first = next(one for one in placements(before) if one.on is not None)
    away = {"who": "A", "first": str(first.on), "last": str(first.on), "note": "ill"}
    job = do_now(season.replan(actor=me, away=away, seconds=0.5))
    made = plan_of_job(job)
    assert made is not None
    days = {one.job: one.on for one in placements(made)}
    was = {one.job: one.on for one in placements(before)}
    assert days[first.job] != first.on
    assert {name: day for name, day in days.items() if was[name] != first.on} == {
        name: day for name, day in was.items() if day != first.on
    }
    assert sheet_now().away[0].note == "ill"
    assert HistoryLine.objects.filter(action="replan").count() == 1


def test_a_plan_goes_on_after_a_sharpening(on_bench: Bench) -> None:
    me = on_bench.me
    season_set(on_bench)
    season.set_in_sheet(actor=me, part="", entry={"interval": "20 h"})
    plan = season.draft_plan(actor=me)
    planned = [one.on for one in placements(plan)]
    assert len(planned) > 1
    sharpened(on_bench, "125.4 mm", "125.1 mm")
    left = placements(plan, units_now(seconds=0.0))
    assert [one.on for one in left] == planned[1:]
    assert [one.job for one in left][:2] == ["unit 3", "unit 3 #2"][: len(left)]


def test_nobody_to_do_it_is_said(on_bench: Bench) -> None:
    record_hours(actor=on_bench.me, unit=on_bench.unit, on=today(), hours="640 h")
    for ask in (season.make_plan, season.draft_plan):
        with pytest.raises(NotEnough, match="somebody with hours"):
            ask(actor=on_bench.me)
    assert not SeasonPlan.objects.exists()
    season_set(on_bench)
    season.set_in_sheet(actor=on_bench.me, part="people", which=0, entry={"week": [0] * 7})
    with pytest.raises(NotEnough, match="hours in the season"):
        season.draft_plan(actor=on_bench.me)
    for wrong, told in ((0, "allowed: 0.1 to 600"), ("long", "no time in seconds")):
        with pytest.raises(Refusal, match=told):
            season.make_plan(actor=on_bench.me, seconds=wrong)


def test_what_ifs_beside_the_sheet(on_bench: Bench) -> None:
    me = on_bench.me
    season_set(on_bench)
    season.begin_what_if(actor=me, name="two people")
    season.set_in_sheet(actor=me, part="people", entry={"name": "B"}, what_if="two people")
    assert len(sheet_now("two people").people) == 2
    assert len(sheet_now().people) == 1
    plan = season.draft_plan(actor=me, what_if="two people")
    assert kept_plan("two people") == plan
    assert kept_plan() is None
    with pytest.raises(VisitProblems, match="already a what-if"):
        season.begin_what_if(actor=me, name="two people")
    season.forget_what_if(actor=me, name="two people")
    assert what_ifs() == []
    with pytest.raises(VisitProblems, match="no what-if 'two people'"):
        season.forget_what_if(actor=me, name="two people")
    with pytest.raises(VisitProblems, match="no what-if"):
        season.forget_what_if(actor=me, name="")


def test_the_demonstration_has_a_season(demonstration) -> None:
    units, now = season_on_file(seconds=0.0)
    assert len(units.units) == 14
    assert now.trouble == ""
    shown = plan_shown(now, units, kept_plan())
    assert shown is not None
    assert len(shown.placed) > 14
    assert what_ifs()[0].what_if == "technician A works a fourth day"


def test_sand_and_stones_count_for_the_reel_that_was_in(on_bench: Bench) -> None:
    """At its place, to its machine, to the unit; not elsewhere, before it came in, or on the day it was measured."""
    me, unit = on_bench.me, on_bench.unit
    Fitting.objects.filter(unit=unit).update(since=today() - 60 * DAY)
    assert unit.position is not None
    machine = unit.position.machine
    far = add_place(actor=me, name="far away")
    happened: list[tuple[str, int, dict[str, Any]]] = [
        ("sand", 90, {"place": machine.place}),
        ("sand", 40, {"place": machine.place}),
        ("sand", 20, {"machine": machine}),
        ("sand", 10, {"place": far}),
        ("stone", 5, {"unit": unit}),
        ("sand", 0, {"place": machine.place}),
        ("other", 3, {"unit": unit}),
    ]
    for kind, back, where in happened:
        record_event(actor=me, kind=kind, on=today() - back * DAY, note="", **where)
    record_hours(actor=me, unit=unit, on=today() - 60 * DAY, hours="100 h")
    sharpened(on_bench, "125.4 mm", "125.1 mm")
    (one,) = units_now(seconds=60.0).units
    assert (one.sandings, one.stones) == (3, 1)
    assert {(size.sandings, size.stones) for size in one.sizes} == {(2, 1)}


def test_areas_entered_tell_what_is_mown_in_an_hour(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    for back, hours, area in (
        (60, "550 h", "9 ha"),
        (50, "560 h", "12 acre"),
        (40, "570 h", None),
        (30, "590 h", None),
    ):
        record_hours(actor=me, unit=unit, on=today() - back * DAY, hours=hours, area=area)
    HoursEntry.objects.filter(hours="590 h").update(area="3 greens")  # as was kept before areas were checked
    found = units_now(seconds=0.0)
    assert found.units[0].hectares_an_hour == pytest.approx(12 * 0.40468564224 / 10)
    assert any("3 greens" in doubt for _, doubt in found.doubts)


def test_the_best_plan_so_far_is_a_whole_plan(on_bench: Bench) -> None:
    me = on_bench.me
    season_set(on_bench)
    _, now = season_on_file(seconds=0.0)
    job = season.make_plan(actor=me, seconds=5)
    assert best_so_far(now, job) is None, "nothing is known of it yet"
    name = now.needed.season.jobs[0].unit
    day = now.needed.date(1)
    best = {"days": {name: str(day)}, "cost": 1.0, "seconds": 0.5, "late": 0, "undone": 0}
    Job.objects.filter(pk=job.pk).update(state="running", told={"best": best})
    job.refresh_from_db()
    found = best_so_far(now, job)
    assert found is not None
    assert next(one.on for one in found.placed if one.job == name) == day
    Job.objects.filter(pk=job.pk).update(state="done")
    job.refresh_from_db()
    assert best_so_far(now, job) is None


def test_a_diameter_that_grew_is_named_and_its_unit_still_planned(on_bench: Bench) -> None:
    set_limit(actor=on_bench.me, quantity="diameter", at_least="120 mm", origin="house")
    sharpened(on_bench, "125.4 mm", "125.1 mm")
    on_bench.visit = open_visit(actor=on_bench.me, unit=on_bench.unit, hours="700 h")
    sharpened(on_bench, "127.4 mm", "127.2 mm")
    season_set(on_bench)
    found = units_now(seconds=60.0)
    assert ("unit 3", True) in [(name, "another reel, or a slip?" in doubt) for name, doubt in found.doubts]
    assert len(found.units[0].sizes) == 2, "what was read before it grew is set aside"
    assert season_on_file(seconds=0.0)[1].work is not None
