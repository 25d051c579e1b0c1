"""Parts moved and swapped, things put out of use, hours and events corrected, calibrations, two people at one thing."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from tests.records.workshops import REEL, Bench, key

from sparkout.records.board import board
from sparkout.records.life import unit_life
from sparkout.records.models import Calibration, Event, Fitting, HistoryLine, HoursEntry, Person, Reel, Unit
from sparkout.records.operations import equipment, fitted, parts, turf, units, visits, workshop
from sparkout.records.operations.doing import Conflict, today
from sparkout.records.operations.ending import end, take_up_again
from sparkout.records.operations.meanwhile import Clashes, agreed
from sparkout.records.operations.moving import move_part
from sparkout.records.queries import visit_file
from sparkout.visit.problems import VisitProblems

LATER = today() + datetime.timedelta(days=300)
BETWEEN = today() + datetime.timedelta(days=100)


def spare(on: Bench, label: str = "reel 8") -> Reel:
    return parts.add_reel(actor=on.me, part_type=on.reel.type, label=label)


def second(on: Bench, reel: Reel | None = None) -> Unit:
    unit = units.add_unit(actor=on.me, name="unit 4")
    if reel is not None:
        parts.fit_reel(actor=on.me, unit=unit, reel=reel, hours="20 h")
    return unit


def life(unit: Unit) -> list[tuple[Any, ...]]:
    found = unit.fittings.order_by("pk")
    return [(f.part.label, f.since_hours, f.until, f.until_hours) for f in found]


def test_two_units_swap_their_reels_in_one_action(on_bench: Bench) -> None:
    other = spare(on_bench)
    unit, there = on_bench.unit, second(on_bench, other)
    before = HistoryLine.objects.count()
    move_part(actor=on_bench.me, part=other, to=unit, on=LATER, hours="700 h", hours_there="90 h", swap=True, key=key())
    assert life(unit) == [("reel 7", "100 h", LATER, "700 h"), ("reel 8", "700 h", None, None)]
    assert life(there) == [("reel 8", "20 h", LATER, "90 h"), ("reel 7", "90 h", None, None)]
    lines = list(HistoryLine.objects.order_by("pk")[before:])
    assert [(line.subject_id, line.before, line.after["reel"]) for line in lines] == [
        (unit.pk, {"reel": "reel 7"}, "reel 8"),
        (there.pk, {"reel": "reel 8"}, "reel 7"),
    ]


def test_a_part_goes_to_the_shelf_and_back(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    assert move_part(actor=me, part=on_bench.reel, to=None, on=LATER, hours_there="700 h") is None
    assert life(unit) == [("reel 7", "100 h", LATER, "700 h")]
    back = move_part(actor=me, part=on_bench.reel, to=unit, on=LATER, hours="700 h")
    assert back is not None
    assert back.part == on_bench.reel
    replaced = move_part(actor=me, part=spare(on_bench), to=unit, on=LATER)
    assert replaced is not None
    assert Fitting.objects.get(reel=on_bench.reel, since=LATER).until == LATER
    kind = parts.add_knife_type(actor=me, name="thin", spec={})
    knife = parts.add_knife(actor=me, part_type=kind, label="knife 1")
    assert move_part(actor=me, part=knife, to=unit) is not None


def test_moves_that_are_refused(on_bench: Bench) -> None:
    me, unit, reel = on_bench.me, on_bench.unit, on_bench.reel
    loose, there = spare(on_bench), second(on_bench)
    scrapped = end(actor=me, thing=spare(on_bench, "reel 9"), on=LATER)
    move_part(actor=me, part=reel, to=None, on=LATER)
    for ask, says in (
        (lambda: move_part(actor=me, part=loose, to=None), "on the shelf already"),
        (lambda: move_part(actor=me, part=scrapped, to=unit), f"was scrapped on {LATER}"),
        (lambda: move_part(actor=me, part=loose, to=there, swap=True), "not two units"),
        (lambda: move_part(actor=me, part=loose, to=unit, on=BETWEEN), "taken out of unit 3"),
        (lambda: move_part(actor=me, part=reel, to=there, on=BETWEEN), f"from {LATER}"),
        (lambda: move_part(actor=me, part=loose, to=there, hours="12 mm"), "hours"),
    ):
        with pytest.raises(VisitProblems, match=says):
            ask()
    move_part(actor=me, part=loose, to=there, on=LATER)
    with pytest.raises(VisitProblems, match="is in unit 4 already"):
        move_part(actor=me, part=loose, to=there)
    with pytest.raises(VisitProblems, match="before the day reel 8 was fitted"):
        move_part(actor=me, part=loose, to=None, on=BETWEEN)


def test_things_end_with_a_day_and_come_back(on_bench: Bench) -> None:
    me = on_bench.me
    kind = parts.add_knife_type(actor=me, name="thin", spec={})
    machine = units.add_machine(actor=me, name="old machine", place=units.add_place(actor=me, name="old place"))
    CD = workshop.add_person(actor=me, name="CD")
    things: list[Any] = [spare(on_bench), second(on_bench), kind, on_bench.reel.type, CD, machine, machine.place]
    things += [
        equipment.add_gauge(actor=me, id="g", kind="tape"),
        equipment.add_grinder(actor=me, name="old grinder"),
        parts.add_knife(actor=me, part_type=kind, label="knife 1"),
    ]
    for thing in things:
        end(actor=me, thing=thing, on="2026-05-01", why="worn out")
        thing.refresh_from_db()
        told = getattr(thing, "scrapped_on", None) or thing.ended_on
        assert told == datetime.date(2026, 5, 1), thing
        with pytest.raises(VisitProblems, match="out of use already"):
            end(actor=me, thing=thing)
        line = HistoryLine.objects.order_by("-pk")[0]
        assert (line.action, line.after) == ("end", {"on": "2026-05-01", "why": "worn out"})
    for thing in reversed(things):
        take_up_again(actor=me, thing=thing)
        thing.refresh_from_db()
        assert getattr(thing, "scrapped_on", None) is None
        with pytest.raises(VisitProblems, match="is in use"):
            take_up_again(actor=me, thing=thing)


def test_what_is_still_needed_does_not_end(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    machine = unit.position.machine
    for thing, says in (
        (machine.place, "greens machine 1 works there"),
        (machine, "unit 3 sits on it"),
        (unit, "a visit of it is open"),
        (on_bench.reel, "it is in unit 3"),
        (me, "nobody else works here"),
    ):
        with pytest.raises(VisitProblems, match=says):
            end(actor=me, thing=thing)


def test_hours_of_many_are_recorded_all_or_none(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    other = second(on_bench)
    with pytest.raises(VisitProblems) as refused:
        turf.record_hours_of(
            actor=me, on="2030-02-30", clocks=[turf.Clock(unit, "7 mm"), turf.Clock(other, "5 h", "x" * 99)]
        )
    assert [p.path for p in refused.value.problems] == [f"{unit.pk}.hours", f"{other.pk}.area", "on"]
    assert HoursEntry.objects.count() == 1
    turf.record_hours_of(actor=me, on=LATER, clocks=[turf.Clock(unit, "700 h"), turf.Clock(other, "5 h", "2 ha")])
    assert {row.unit.name: row.hours for row in board()} == {"unit 3": "700 h", "unit 4": "5 h"}


def test_a_corrected_clock_counts_no_longer(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    wrong = turf.record_hours(actor=me, unit=unit, on=LATER, hours="7000 h")
    right = turf.correct_hours(actor=me, entry=wrong, on=LATER, hours="700 h")
    assert right.corrects == wrong
    assert board()[0].hours == "700 h"
    assert [entry.hours for entry in unit_life(unit).hours] == ["640 h", "700 h"]
    with pytest.raises(Conflict, match="it now reads 'unit 3: 700 h'"):
        turf.correct_hours(actor=me, entry=wrong, on=LATER, hours="70 h")
    turf.withdraw_hours(actor=me, entry=right, why="read off another machine")
    with pytest.raises(Conflict, match="withdrawn"):
        turf.withdraw_hours(actor=me, entry=right)
    assert board()[0].hours == "640 h"
    of_visit = HoursEntry.objects.get(visit=on_bench.visit)
    for ask in (
        lambda: turf.correct_hours(actor=me, entry=of_visit, on=LATER, hours="1 h"),
        lambda: turf.withdraw_hours(actor=me, entry=of_visit),
    ):
        with pytest.raises(VisitProblems, match="read at a visit"):
            ask()
    assert HoursEntry.everything.count() == 3


def test_a_corrected_event_counts_no_longer(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    wrong = turf.record_event(actor=me, kind="stone", on=LATER, unit=unit)
    right = turf.correct_event(actor=me, event=wrong, kind="sand", on=LATER, place=unit.position.machine.place)
    assert [event.kind for event in unit_life(unit).events] == ["sand"]
    for ask in (
        lambda: turf.correct_event(actor=me, event=right, kind="sand", on=LATER),
        lambda: turf.record_event(actor=me, kind="hail", on="yesterday", unit=unit),
    ):
        with pytest.raises(VisitProblems):
            ask()
    turf.withdraw_event(actor=me, event=right, why="another day")
    assert not Event.objects.exists()
    assert Event.everything.count() == 2


def test_a_calibration_keeps_its_certificate(on_bench: Bench) -> None:
    me = on_bench.me
    gauge = equipment.add_gauge(actor=me, id="tape 9", kind="tape", calibration_uncertainty="0.05 mm")
    equipment.calibrate_gauge(
        actor=me,
        gauge=gauge,
        due="2031-01-31",
        on="2030-01-31",
        certificate="C 12",
        by="a laboratory",
        lines=[{"at": "100 mm", "error": "0.01 mm"}, {"at": "5 in", "error": "-1 thou"}],
        expanded_uncertainty="0.04 mm",
        k=2,
    )
    kept = Calibration.objects.get()
    assert (kept.certificate, kept.due, kept.lines[1]) == (
        "C 12",
        datetime.date(2031, 1, 31),
        {"at": "5 in", "error": "-1 thou"},
    )
    assert kept.figures == {"expanded_uncertainty": "0.04 mm", "k": 2}
    assert gauge.spec == {"expanded_uncertainty": "0.04 mm", "k": 2}
    with pytest.raises(VisitProblems, match="line 2, error"):
        equipment.calibrate_gauge(
            actor=me, gauge=gauge, due=None, lines=[{"at": 1, "error": 0}, {"at": "1 mm", "error": "2 N"}]
        )
    equipment.change_gauge(actor=me, gauge=gauge, kind="jaws", resolution="0.01 mm")
    gauge.refresh_from_db()
    assert (gauge.kind, gauge.spec, gauge.calibration_due) == (
        "jaws",
        {"resolution": "0.01 mm"},
        datetime.date(2031, 1, 31),
    )


def test_names_are_put_right_and_stay_one_of_a_kind(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    machine = unit.position.machine
    workshop.change_person(actor=me, person=me, name="A. B.", units="inch", vocabulary=None)
    units.change_place(actor=me, place=machine.place, name="eighteen holes")
    units.change_machine(actor=me, machine=machine, name="greens machine 7", place=None)
    parts.change_part(actor=me, part=on_bench.reel, label="reel 70", spec={"diameter": "5 in"})
    parts.change_type(actor=me, part_type=on_bench.reel.type, name="greens, 11", spec=REEL)
    equipment.change_grinder(actor=me, grinder=on_bench.visit.grinder, name="grinder 10", give="0.6")
    assert (Person.objects.get().name, Person.objects.get().units) == ("A. B.", "inch")
    told = visit_file(on_bench.visit)
    assert (told.unit.machine, told.reel.diameter.text, told.grinder.name) == ("greens machine 7", "5 in", "grinder 10")
    CD = workshop.add_person(actor=me, name="CD")
    other = units.add_machine(actor=me, name="other", place=units.add_place(actor=me, name="other"))
    there = units.add_unit(actor=me, name="unit 4", machine=machine, position="rear")
    kind = parts.add_knife_type(actor=me, name="thin", spec={})
    for ask in (
        lambda: workshop.change_person(actor=me, person=CD, name="A. B."),
        lambda: units.change_place(actor=me, place=other.place, name="eighteen holes"),
        lambda: units.change_machine(actor=me, machine=other, name="greens machine 7"),
        lambda: units.change_unit(actor=me, unit=there, name="unit 3"),
        lambda: parts.change_part(actor=me, part=spare(on_bench), label="reel 70"),
        lambda: equipment.change_grinder(
            actor=me, grinder=equipment.add_grinder(actor=me, name="second"), name="grinder 10"
        ),
        lambda: equipment.change_grinder(actor=me, grinder=on_bench.visit.grinder, name=" "),
        lambda: parts.change_type(
            actor=me, part_type=parts.add_knife_type(actor=me, name="thick", spec={}), name="thin", spec={}
        ),
    ):
        with pytest.raises(VisitProblems):
            ask()
    assert (
        parts.change_part(actor=me, part=parts.add_knife(actor=me, part_type=kind, label="k"), label="k 1").spec == {}
    )


def test_two_people_at_one_thing() -> None:
    seen = {"a": "1", "b": "2", "c": "3"}
    assert agreed({**seen, "b": "20"}, seen, {**seen, "c": "30"}) == {"a": "1", "b": "20", "c": "30"}
    assert agreed({**seen, "b": "20"}, seen, {**seen, "b": "20"})["b"] == "20"
    with pytest.raises(Clashes) as asked:
        agreed({**seen, "b": "20"}, seen, {**seen, "b": "200"})
    assert (asked.value.clashes["b"].theirs, asked.value.clashes["b"].mine) == ("20", "200")


def test_a_unit_whose_visit_is_signed_can_end(on_bench: Bench) -> None:
    visits.set_aside_visit(actor=on_bench.me, visit=on_bench.visit, reason="mistake")
    end(actor=on_bench.me, thing=on_bench.unit)
    assert board() == []


def test_a_day_far_ahead_is_a_slip_of_the_pen(on_bench: Bench) -> None:
    me, unit, reel = on_bench.me, on_bench.unit, on_bench.reel
    for ask in (
        lambda: move_part(actor=me, part=reel, to=None, on="2062-04-21"),
        lambda: parts.remove_reel(actor=me, unit=unit, on=datetime.date(2062, 4, 21)),
        lambda: end(actor=me, thing=spare(on_bench), on="2062-04-21"),
        lambda: turf.record_hours(actor=me, unit=unit, on="2062-04-21", hours="700 h"),
        lambda: turf.record_event(actor=me, kind="sand", unit=unit, on="2062-04-21"),
    ):
        with pytest.raises(VisitProblems, match="2062-04-21 is more than a year ahead; allowed: up to"):
            ask()


def test_a_fitting_entered_wrongly_is_put_right(on_bench: Bench) -> None:
    """A reel that was in the unit for years before it came on file; a day and a clock typed wrongly."""
    me, unit = on_bench.me, on_bench.unit
    first = unit.fittings.get(reel=on_bench.reel)
    fitted.correct_fitting(actor=me, fitting=first, since="2024-03-01", since_hours="12 h")
    line = HistoryLine.objects.order_by("-pk")[0]
    assert (line.action, line.before["since_hours"], line.after["since"]) == ("correct_fitting", "100 h", "2024-03-01")
    move_part(actor=me, part=spare(on_bench), to=unit, on="2026-05-02", hours="500 h")
    other = unit.fittings.get(until=None, reel__isnull=False)
    for fitting, told, says in (
        (other, {"since": "2026-04-01"}, r"reel 7 was in unit 3 .* from 2024-03-01 to 2026-05-02"),
        (other, {"since": "2026-05-02", "until": "2026-06-01"}, "still in"),
        (first, {"since": "2024-03-01"}, "say on which day"),
        (first, {"since": "2024-03-01", "until": "2024-02-01"}, "before the day it was fitted"),
        (first, {"since": "2024-03-01", "until": "2026-05-03"}, r"reel 8 was in unit 3 .* from 2026-05-02"),
        (first, {"since": "2062-03-01", "until": "2062-03-02"}, "a year ahead"),
        (first, {"since": "2024-03-01", "since_hours": "4 mm", "until": "2026-05-02"}, "since_hours"),
    ):
        fitting.refresh_from_db()
        with pytest.raises(VisitProblems, match=says):
            fitted.correct_fitting(actor=me, fitting=fitting, **told)
    first.refresh_from_db()
    right = {"since": "2024-03-02", "since_hours": "13 h", "until": "2026-05-01", "until_hours": "490 h"}
    fitted.correct_fitting(actor=me, fitting=first, **right)
    first.refresh_from_db()
    assert {name: str(getattr(first, name)) for name in right} == right


def test_a_part_was_never_in_two_units_at_once(on_bench: Bench) -> None:
    me, there = on_bench.me, second(on_bench)
    move_part(actor=me, part=on_bench.reel, to=there, on=LATER)
    with pytest.raises(VisitProblems, match="reel 7 was in unit 3"):
        fitted.correct_fitting(actor=me, fitting=there.fittings.get(), since=BETWEEN)


def test_a_clock_that_runs_back_is_asked_about_at_every_door(on_bench: Bench) -> None:
    """Against what was read on that day or before: a day typed late is no clock that fell."""
    asked = {"actor": on_bench.me, "unit": on_bench.unit}
    turf.record_hours(**asked, on=BETWEEN, hours="700 h")
    with pytest.raises(VisitProblems, match=rf"69 h is less than 700 h read before, on {BETWEEN}\. Say that the clock"):
        turf.record_hours(**asked, on=LATER, hours="69 h")
    turf.record_hours(**asked, on=LATER, hours="900 h")
    turf.record_hours(**asked, on=LATER - datetime.timedelta(days=9), hours="800 h")
    clocks = [turf.Clock(on_bench.unit, "5 h")]
    with pytest.raises(VisitProblems, match="1, hours: 5 h is less"):
        turf.record_hours_of(actor=on_bench.me, on=LATER, clocks=clocks)
    turf.record_hours_of(actor=on_bench.me, on=LATER, clocks=[turf.Clock(on_bench.unit, "5 h", None, True)])
