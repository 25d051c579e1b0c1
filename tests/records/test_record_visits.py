"""A visit is opened once, described without loss, signed and then closed; a correction is a new one that names it."""

from __future__ import annotations

import datetime
import json

import pytest
from tests.records.workshops import REEL, Bench, diameter, key

from sparkout.records.models import HistoryLine, HoursEntry, Visit
from sparkout.records.operations.doing import Conflict
from sparkout.records.operations.equipment import calibrate_gauge, set_limit
from sparkout.records.operations.job import keep_plan, record_paper, record_work
from sparkout.records.operations.parts import change_type
from sparkout.records.operations.readings import correct_reading, withdraw_reading
from sparkout.records.operations.units import add_unit, place_unit
from sparkout.records.operations.visits import (
    correct_signed_visit,
    open_visit,
    revise_visit,
    set_aside_visit,
    sign_visit,
)
from sparkout.records.operations.workshop import change_workshop
from sparkout.records.queries import history_of, visit_file
from sparkout.visit.problems import VisitProblems
from sparkout.visit.writing import to_toml


def test_an_opened_visit_says_what_is_on_file(on_bench: Bench) -> None:
    told = visit_file(on_bench.visit)
    assert (told.unit.name, told.unit.machine, told.unit.position) == ("unit 3", "greens machine 1", "front left")
    assert (told.unit.hours.text, told.unit.pattern) == ("640 h", "knife up")
    assert (told.reel.blades, told.reel.diameter.text, told.reel.marked_blade) == (11, "127 mm", "paint dot")
    assert (told.visit.technician, told.visit.date) == ("AB", on_bench.visit.date)
    assert (told.visit.units, told.visit.vocabulary, told.visit.demonstration) == ("mm", "uk", None)
    assert (told.grinder.name, told.grinder.give.text) == ("grinder 1", "0.7")
    assert [gauge.id for gauge in told.gauges] == ["tape 1", "dial 1", "leaves 1"]


def test_one_open_visit_of_a_unit(on_bench: Bench, many_at_once) -> None:
    with pytest.raises(VisitProblems, match="has an open visit"):
        open_visit(actor=on_bench.me, unit=on_bench.unit)
    set_aside_visit(actor=on_bench.me, visit=on_bench.visit, reason="wrong unit")
    found = many_at_once([lambda: open_visit(actor=on_bench.me, unit=on_bench.unit)] * 3)
    assert sorted(type(one).__name__ for one in found) == ["Visit", "VisitProblems", "VisitProblems"], found


def test_a_unit_without_a_reel_is_not_taken_in(on_bench: Bench) -> None:
    bare = add_unit(actor=on_bench.me, name="bare")
    with pytest.raises(VisitProblems, match="holds no reel"):
        open_visit(actor=on_bench.me, unit=bare)


def test_revising_keeps_what_was_in_the_history(on_bench: Bench) -> None:
    revise_visit(actor=on_bench.me, visit=on_bench.visit, complaint="misses", notes="one", hours="650 h")
    revise_visit(actor=on_bench.me, visit=on_bench.visit, notes="two", wanted={"gap": "0.03 mm"}, date="2026-11-20")
    told = visit_file(on_bench.visit)
    assert (told.unit.complaint, told.visit.notes, told.unit.hours.text) == ("misses", "two", "650 h")
    assert (told.wanted.gap.text, told.visit.date) == ("0.03 mm", datetime.date(2026, 11, 20))
    line = history_of(on_bench.visit)[0]
    assert (line.before["notes"], line.after["notes"]) == ("one", "two")
    revise_visit(actor=on_bench.me, visit=on_bench.visit, hours=None)
    assert not HoursEntry.objects.exists()
    assert history_of(on_bench.visit)[0].before == {"hours": "650 h"}


def test_two_revising_the_same_are_told(on_bench: Bench) -> None:
    revise_visit(actor=on_bench.me, visit=on_bench.visit, expected={"notes": None}, notes="one")
    with pytest.raises(Conflict) as conflict:
        revise_visit(actor=on_bench.me, visit=on_bench.visit, expected={"notes": ""}, notes="two")
    assert (conflict.value.theirs, conflict.value.mine) == ("one", "two")
    revise_visit(actor=on_bench.me, visit=on_bench.visit, expected={"notes": ""}, notes="one")  # the same: no matter


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"hours": "12 mm"}, "hours"),
        ({"date": "yesterday"}, "date"),
        ({"wanted": {"gap": "3 m"}}, "gap"),
        ({"state": "signed"}, "state"),
        ({"notes": "a\x07"}, "control"),
        ({"complaint": 12}, "complaint"),
    ],
)
def test_what_cannot_be_revised(on_bench: Bench, changes, says) -> None:
    with pytest.raises(VisitProblems, match=says):
        revise_visit(actor=on_bench.me, visit=on_bench.visit, **changes)


def signed(on_bench: Bench) -> Visit:
    diameter(on_bench)
    return sign_visit(actor=on_bench.me, visit=on_bench.visit, statement="set and proved")


def test_a_signed_visit_is_closed_to_every_entry(on_bench: Bench) -> None:
    reading = diameter(on_bench)
    visit = sign_visit(actor=on_bench.me, visit=on_bench.visit, statement="set and proved")
    me, k = on_bench.me, key()
    asked = [
        lambda: diameter(on_bench),
        lambda: correct_reading(actor=me, reading=reading, expected_version=1, key=k, value="1 in"),
        lambda: withdraw_reading(actor=me, reading=reading, expected_version=1),
        lambda: record_work(actor=me, visit=visit, key=k, step="set"),
        lambda: record_paper(actor=me, visit=visit, key=k, stations=["left"], rows=["c"] * 11),
        lambda: keep_plan(actor=me, visit=visit, choices={}),
        lambda: revise_visit(actor=me, visit=visit, notes="later"),
        lambda: sign_visit(actor=me, visit=visit),
        lambda: set_aside_visit(actor=me, visit=visit, reason="no"),
    ]
    lines = HistoryLine.objects.count()
    for ask in asked:
        with pytest.raises(VisitProblems, match="signed by AB"):
            ask()
    assert HistoryLine.objects.count() == lines


def test_what_was_signed_stays_whatever_happens_to_the_records(on_bench: Bench) -> None:
    visit = signed(on_bench)
    before = to_toml(visit_file(visit))
    me = on_bench.me
    calibrate_gauge(actor=me, gauge=visit.readings.get().gauge, due="2031-01-31", calibration_uncertainty="0.5 mm")
    set_limit(actor=me, quantity="cone", at_most="0.1 mm", origin="house")
    change_type(actor=me, part_type=on_bench.reel.type, spec={**REEL, "diameter": "130 mm"})
    place_unit(actor=me, unit=on_bench.unit, machine=None)
    change_workshop(actor=me, units="inch", wanted={"gap": "0.03 mm"})
    visit.refresh_from_db()
    assert to_toml(visit_file(visit)) == before
    assert 'name = "AB"' in before
    assert "set and proved" in before


def test_signing_twice_with_one_key_signs_once(on_bench: Bench) -> None:
    mine = key()
    asked = {"actor": on_bench.me, "visit": on_bench.visit, "statement": "done", "key": mine}
    assert sign_visit(**asked) == sign_visit(**asked)


def test_a_correction_starts_with_all_that_was_signed_and_names_it(on_bench: Bench) -> None:
    visit = signed(on_bench)
    before = to_toml(visit_file(visit))
    correction = correct_signed_visit(actor=on_bench.me, visit=visit, reason="tape misread")
    assert (correction.corrects, correction.state) == (visit, "open")
    told = visit_file(correction)
    assert told.sign_off.name is None
    assert to_toml(told) + "\n" + before[before.index("[sign_off]") :] == before
    reading = correction.readings.get()
    correct_reading(actor=on_bench.me, reading=reading, expected_version=1, key=key(), value="126 mm")
    again = sign_visit(actor=on_bench.me, visit=correction, statement="corrected")
    assert visit_file(again).readings[0].value.text == "126 mm"
    assert to_toml(visit_file(visit)) == before
    with pytest.raises(VisitProblems, match="corrected already"):
        correct_signed_visit(actor=on_bench.me, visit=visit, reason="again")


def test_only_a_signed_visit_is_corrected_by_another_visit(on_bench: Bench) -> None:
    with pytest.raises(VisitProblems, match="not signed"):
        correct_signed_visit(actor=on_bench.me, visit=on_bench.visit, reason="why not")


def test_a_plan_kept_stands_before_the_file_and_can_be_given_up(on_bench: Bench) -> None:
    me, visit = on_bench.me, on_bench.visit
    change_workshop(actor=me, wanted={"relief": "if due", "gap": "0.03 mm"})
    what_if = visit_file(visit, {"wanted": {"relief": "no"}})
    assert (what_if.wanted.relief, visit_file(visit).wanted.relief) == ("no", "if due")
    keep_plan(actor=me, visit=visit, choices={"wanted": {"relief": "yes"}, "grinder": {"finish_infeed": "0.005 mm"}})
    told = visit_file(visit)
    assert (told.wanted.relief, told.wanted.gap.text, told.grinder.finish_infeed.text) == ("yes", "0.03 mm", "0.005 mm")
    keep_plan(actor=me, visit=visit, choices={})
    assert visit_file(visit).wanted.relief == "if due"
    for wrong in ({"reel": {}}, {"wanted": {"gap": "3 m"}}):
        with pytest.raises(VisitProblems):
            keep_plan(actor=me, visit=visit, choices=wrong)


def test_a_visit_that_contradicts_itself_is_not_signed(on_bench: Bench) -> None:
    diameter(on_bench, at="500 mm")
    change_type(actor=on_bench.me, part_type=on_bench.reel.type, spec={**REEL, "length": "400 mm"})
    with pytest.raises(VisitProblems, match="beyond the reel"):
        sign_visit(actor=on_bench.me, visit=on_bench.visit)
    on_bench.visit.refresh_from_db()
    assert on_bench.visit.is_open


def test_the_signed_file_is_json_that_reads_back(on_bench: Bench) -> None:
    visit = signed(on_bench)
    assert json.loads(visit.as_signed)["sign_off"]["statement"] == "set and proved"
    assert (visit.signed_by, visit.statement) == ("AB", "set and proved")
