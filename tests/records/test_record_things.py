"""Workshop, people, units, parts, gauges, limits, hours and events: kept, refused, and always with a history line."""

from __future__ import annotations

import datetime

import pytest
from django.db import IntegrityError
from tests.records.workshops import REEL, Bench, diameter, key

from sparkout.records.models import Fitting, HistoryLine, Limit, Machine, Person, Place, Unit, Workshop
from sparkout.records.operations import equipment, job, parts, turf, units, visits, workshop
from sparkout.records.operations.doing import KeyUsed, at_moment, operation, today
from sparkout.records.queries import visit_file
from sparkout.visit.problems import VisitProblems

DAY = datetime.date(2026, 3, 1)


def test_a_workshop_is_set_up_once(records) -> None:
    made = workshop.set_up_workshop(name="one", first_person="AB", units="inch", vocabulary="us", paper_size="letter")
    assert (made.units, made.vocabulary, made.paper_size, made.demonstration) == ("inch", "us", "Letter", False)
    with pytest.raises(VisitProblems, match="set up already"):
        workshop.set_up_workshop(name="two", first_person="CD")
    assert (Workshop.objects.get().name, Person.objects.get().name) == ("one", "AB")


@pytest.mark.parametrize(
    "wrong", [{"units": "cubits"}, {"name": ""}, {"vocabulary": "latin"}, {"decimal": "·"}, {"first_person": ""}]
)
def test_a_workshop_is_not_set_up_wrongly(records, wrong) -> None:
    with pytest.raises(VisitProblems, match=next(iter(wrong))):
        workshop.set_up_workshop(**{"name": "one", "first_person": "AB", **wrong})
    assert not Workshop.objects.exists()
    assert not Person.objects.exists()


def test_people_and_their_own_manner(on_bench: Bench) -> None:
    other = workshop.add_person(actor=on_bench.me, name="CD")
    workshop.set_preferences(actor=on_bench.me, person=other, units="inch", decimal=",")
    workshop.set_preferences(actor=on_bench.me, person=other, units=None)
    other.refresh_from_db()
    assert (other.units, other.decimal, other.vocabulary) == (None, ",", None)
    for ask in (
        lambda: workshop.add_person(actor=on_bench.me, name="CD"),
        lambda: workshop.set_preferences(actor=on_bench.me, person=other, units="ells"),
        lambda: workshop.set_preferences(actor=on_bench.me, person=other, colour="red"),
        lambda: workshop.change_workshop(actor=on_bench.me, wanted={"gap": "12 m"}),
    ):
        with pytest.raises(VisitProblems):
            ask()


def test_a_reel_lives_in_one_unit_at_a_time(on_bench: Bench) -> None:
    me, unit, reel = on_bench.me, on_bench.unit, on_bench.reel
    other = units.add_unit(actor=me, name="unit 4")
    with pytest.raises(VisitProblems, match="is in unit 3"):
        parts.fit_reel(actor=me, unit=other, reel=reel)
    spare = parts.add_reel(actor=me, part_type=reel.type, label="reel 8")
    with pytest.raises(VisitProblems, match="holds the reel reel 7"):
        parts.fit_reel(actor=me, unit=unit, reel=spare)
    later = today() + datetime.timedelta(days=300)
    parts.remove_reel(actor=me, unit=unit, on=later, hours="700 h")
    parts.fit_reel(actor=me, unit=unit, reel=spare, on=later, hours="700 h")
    parts.fit_reel(actor=me, unit=other, reel=reel, on=later)
    life = [(f.reel.label, f.until, f.since_hours, f.until_hours) for f in unit.fittings.order_by("pk")]
    assert life == [("reel 7", later, "100 h", "700 h"), ("reel 8", None, "700 h", None)]
    with pytest.raises(IntegrityError):  # the database itself holds it too
        Fitting.objects.create(unit=unit, reel=reel, since=later)


def test_what_cannot_be_fitted_or_removed(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    for ask, says in (
        (lambda: parts.remove_knife(actor=me, unit=unit), "holds no knife"),
        (lambda: parts.remove_reel(actor=me, unit=unit, on=datetime.date(2001, 1, 1)), "before the day it was fitted"),
        (lambda: parts.remove_reel(actor=me, unit=unit, hours="12 mm"), "hours"),
        (lambda: parts.add_reel_type(actor=me, name="greens", spec=REEL), "already a type"),
        (lambda: parts.add_reel_type(actor=me, name="x", spec={"blades": 11}), "needed"),
        (lambda: parts.add_knife_type(actor=me, name="x", spec={"arm": "60 mm"}), "belongs to the unit"),
        (lambda: parts.add_reel(actor=me, part_type=on_bench.reel.type, label="reel 7"), "already a reel"),
        (lambda: parts.add_reel(actor=me, part_type=on_bench.reel.type, label="r", spec={"diameter": "5 m"}), "5 m"),
        (lambda: units.add_unit(actor=me, name="u", carrier={"top_angle": "5 deg"}), "belongs to the knife"),
    ):
        with pytest.raises(VisitProblems, match=says):
            ask()
    assert Fitting.objects.get().until is None


def test_knife_and_carrier_make_one_table_of_the_file(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    units.change_unit(actor=me, unit=unit, carrier={"arm": "60 mm", "clicks_per_turn": 16}, height={"of_cut": "4 mm"})
    kind = parts.add_knife_type(actor=me, name="thin", spec={"top_angle": "12 deg", "thickness": "5 mm"})
    knife = parts.add_knife(actor=me, part_type=kind, label="knife 1", spec={"thickness": "4.5 mm"})
    parts.fit_knife(actor=me, unit=unit, knife=knife)
    visits.set_aside_visit(actor=me, visit=on_bench.visit, reason="no knife in it")
    told = visit_file(visits.open_visit(actor=me, unit=unit))
    assert (told.knife.arm.text, told.knife.clicks_per_turn, told.height.of_cut.text) == ("60 mm", 16, "4 mm")
    assert (told.knife.top_angle.text, told.knife.thickness.text) == ("12 deg", "4.5 mm")


def test_units_move_between_machines(on_bench: Bench) -> None:
    me, unit = on_bench.me, on_bench.unit
    first, second = unit.position.machine, units.add_machine(actor=me, name="greens machine 2")
    other = units.add_unit(actor=me, name="unit 4", machine=second, position="centre")
    with pytest.raises(VisitProblems, match="'unit 4' sits there"):
        units.place_unit(actor=me, unit=unit, machine=second, position="centre")
    units.place_unit(actor=me, unit=other, machine=None)
    units.place_unit(actor=me, unit=unit, machine=second, position="centre")
    units.place_unit(actor=me, unit=unit, machine=second, position="centre")
    assert str(Unit.objects.get(pk=unit.pk)) == "unit 3 · greens machine 2 · centre"
    units.place_unit(actor=me, unit=other, machine=first)
    with pytest.raises(VisitProblems, match="already has a unit"):
        units.add_unit(actor=me, name="unit 3", machine=second)
    for ask in (
        lambda: units.add_machine(actor=me, name="greens machine 2"),
        lambda: units.add_place(actor=me, name="nine holes"),
        lambda: units.add_place(actor=me, name=""),
        lambda: units.change_unit(actor=me, unit=unit, pattern="sideways"),
    ):
        with pytest.raises(VisitProblems):
            ask()


def test_a_limit_needs_its_origin_and_the_old_one_stays(on_bench: Bench) -> None:
    me, kind = on_bench.me, on_bench.reel.type
    for wrong in ({"origin": ""}, {"origin": None}, {"at_most": None}, {"at_most": "3 mph"}, {"quantity": "beauty"}):
        with pytest.raises(VisitProblems):
            equipment.set_limit(**{"actor": me, "quantity": "cone", "at_most": "0.2 mm", "origin": "house", **wrong})
    first = equipment.set_limit(actor=me, quantity="cone", at_most="0.2 mm", origin="house")
    equipment.set_limit(actor=me, quantity="cone", at_most="8 thou", origin="house", risk="1 %")
    equipment.set_limit(actor=me, quantity="diameter", at_least="118 mm", origin="house")
    equipment.set_limit(actor=me, quantity="diameter", at_least="120 mm", origin="machine's book", reel_type=kind)
    told = {limit.quantity: limit for limit in visit_file(on_bench.visit).limits}
    assert (told["cone"].at_most.text, told["cone"].risk.text) == ("8 thou", "1 %")
    assert (told["diameter"].at_least.text, told["diameter"].origin) == ("120 mm", "machine's book")
    assert told["cone"].set_by == "AB"
    first.refresh_from_db()
    assert first.ended_at is not None
    equipment.end_limit(actor=me, limit=Limit.objects.get(reel_type=kind))
    assert {limit.at_least.text for limit in visit_file(on_bench.visit).limits if limit.at_least} == {"118 mm"}


def test_gauges_are_calibrated_and_retired(on_bench: Bench) -> None:
    me = on_bench.me
    made = equipment.add_gauge(actor=me, id="jaws 1", kind="jaws", calibration_uncertainty="0.01 mm")
    equipment.calibrate_gauge(actor=me, gauge=made, due="2031-01-31", expanded_uncertainty="0.02 mm", k=2)
    assert made.spec == {"expanded_uncertainty": "0.02 mm", "k": 2}
    equipment.calibrate_gauge(actor=me, gauge=made, due=None, calibration_uncertainty="0.008 mm")
    assert (made.spec, made.calibration_due) == ({"calibration_uncertainty": "0.008 mm"}, None)
    equipment.retire_gauge(actor=me, gauge=made)
    assert "jaws 1" not in {gauge.id for gauge in visit_file(on_bench.visit).gauges}
    for wrong in ({"id": "tape 1", "kind": "tape"}, {"id": "x", "kind": "ruler"}, {"id": "", "kind": "tape"}):
        with pytest.raises(VisitProblems):
            equipment.add_gauge(actor=me, **wrong)


def test_what_a_grinder_taught_holds_for_visits_opened_afterwards(on_bench: Bench) -> None:
    me, grinder = on_bench.me, on_bench.visit.grinder
    equipment.record_learnt(actor=me, grinder=grinder, visit=on_bench.visit, give="0.62", give_uncertainty="0.02")
    assert visit_file(on_bench.visit).grinder.give.text == "0.7"
    visits.set_aside_visit(actor=me, visit=on_bench.visit, reason="next")
    assert visit_file(visits.open_visit(actor=me, unit=on_bench.unit)).grinder.give.text == "0.62"
    equipment.change_grinder(actor=me, grinder=grinder, wheel_diameter="150 mm")
    for ask in (
        lambda: equipment.record_learnt(actor=me, grinder=grinder),
        lambda: equipment.record_learnt(actor=me, grinder=grinder, wheel_width="3 mm"),
        lambda: equipment.add_grinder(actor=me, name="grinder 1"),
        lambda: equipment.add_grinder(actor=me, name=" "),
        lambda: equipment.change_grinder(actor=me, grinder=grinder, give="7"),
    ):
        with pytest.raises(VisitProblems):
            ask()


def test_hours_and_events(on_bench: Bench) -> None:
    me, mine = on_bench.me, key()
    asked = {"actor": me, "unit": on_bench.unit, "on": DAY, "hours": "700 h", "area": "3 ha", "key": mine}
    assert turf.record_hours(**asked) == turf.record_hours(**asked)
    with pytest.raises(KeyUsed):
        turf.record_hours(**{**asked, "hours": "701 h"})
    place = Place.objects.get()
    event = turf.record_event(actor=me, kind="sand", on="2026-03-01", place=place, note="topdressing")
    assert event.on == DAY
    for wrong in ({"place": None}, {"kind": "rain"}, {"on": "soon"}):
        with pytest.raises(VisitProblems):
            turf.record_event(**{"actor": me, "kind": "sand", "on": DAY, "place": place, **wrong})


def test_work_and_paper_are_corrected_like_readings(on_bench: Bench) -> None:
    me, visit = on_bench.me, on_bench.visit
    work = job.record_work(actor=me, visit=visit, key=key(), step="spin grind", infeeds=["0.02 mm", 0], took="25 min")
    job.correct_work(actor=me, work=work, expected_version=1, key=key(), infeeds=["0.02 mm", "0.02 mm"])
    paper = job.record_paper(actor=me, visit=visit, key=key(), stations=["left", "right"], rows=["cc"] * 11)
    job.correct_paper(actor=me, proof=paper, expected_version=1, key=key(), rows=["cp"] * 11)
    told = visit_file(visit)
    assert [i.text for i in told.work[0].infeeds] == ["0.02 mm", "0.02 mm"]
    assert (told.work[0].took.text, told.paper[0].rows[0], told.paper[0].when) == ("25 min", "cp", "as left")
    job.withdraw_work(actor=me, work=work, expected_version=2)
    job.withdraw_paper(actor=me, proof=paper, expected_version=2)
    told = visit_file(visit)
    assert (told.work, told.paper) == ((), ())
    with pytest.raises(VisitProblems, match="12 rows"):
        job.record_paper(actor=me, visit=visit, key=key(), stations=["left"], rows=["c"] * 12)
    with pytest.raises(VisitProblems, match="step"):
        job.record_work(actor=me, visit=visit, key=key(), step="polish")


def test_every_call_left_one_line_with_who_and_when(on_bench: Bench) -> None:
    lines = HistoryLine.objects.count()
    moment = datetime.datetime(2026, 3, 1, 9, tzinfo=datetime.UTC)
    with at_moment(moment):
        diameter(on_bench)
        units.add_place(actor=on_bench.me, name="bowling green")
        equipment.set_limit(actor=on_bench.me, quantity="cone", at_most="0.2 mm", origin="house")
    found = list(HistoryLine.objects.order_by("pk")[lines:])
    assert [(line.action, line.subject) for line in found] == [
        ("record_reading", "reading"),
        ("add_place", "place"),
        ("set_limit", "limit"),
    ]
    assert {(line.who, line.at) for line in found} == {(on_bench.me, moment)}


def test_an_operation_that_breaks_off_leaves_nothing(on_bench: Bench) -> None:
    @operation
    def half() -> None:
        units.add_machine(actor=on_bench.me, name="half")
        raise RuntimeError("here it breaks")

    lines = HistoryLine.objects.count()
    with pytest.raises(RuntimeError):
        half()
    assert not Machine.objects.filter(name="half").exists()
    assert HistoryLine.objects.count() == lines
