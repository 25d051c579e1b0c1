"""Board, life and search answer in a constant number of queries."""

from __future__ import annotations

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.records.workshops import Bench, diameter, key

from sparkout.records.models import Person, Unit, Visit
from sparkout.records.operations import job, turf
from sparkout.records.operations.sweeps import record_cell, record_sweep
from sparkout.records.operations.visits import correct_signed_visit, sign_visit
from sparkout.records.queries import board, search, unit_life, visit_file


def queries(ask) -> int:
    with CaptureQueriesContext(
        connection,
    ) as caught:
        ask()
    return len(caught)


def row(on_bench: Bench):
    return next(row for row in board() if row.unit.pk == on_bench.unit.pk)


def test_the_board_asks_seven_times_for_one_unit_or_fourteen(demonstration) -> None:
    assert len(board()) == 14
    assert queries(board) == 7
    left = Unit.objects.get(name="G3 left").pk
    assert queries(lambda: board([left])) == 7


def test_the_board_of_the_demonstration(demonstration) -> None:
    told = {row.unit.name: row for row in board()}
    assert {name for name, row in told.items() if row.open_visit} == {"G3 left", "G3 right", "F2 centre", "G1 centre"}
    left = told["G1 left"]
    assert (left.place, left.machine, left.position) == ("nine-hole course", "greens machine 1", "front left")
    assert (left.last_signed.signed_on, left.hours, left.hours_since) == (datetime.date(2026, 11, 10), "640 h", 0.0)
    assert told["C1 centre"].hours_since == 160 * 3600


def test_what_comes_next_follows_the_work(on_bench: Bench) -> None:
    me, visit = on_bench.me, on_bench.visit
    assert row(on_bench).next_step == "measure reel"
    sweep = record_sweep(actor=me, visit=visit, key=key(), of="run-out", gauge="dial 1", at=["left"], rows=11)
    assert row(on_bench).next_step == "measure reel"
    record_cell(actor=me, sweep=sweep, row=0, column=0, value=0, key=key())
    assert row(on_bench).next_step == "decide"
    steps = [("set up grinder", "grind"), ("spin grind", "check"), ("relief grind", "check")]
    for step, comes_next in steps:
        job.record_work(actor=me, visit=visit, key=key(), step=step)
        assert row(on_bench).next_step == comes_next
    diameter(on_bench, when="as left")
    assert row(on_bench).next_step == "prove"
    job.record_paper(actor=me, visit=visit, key=key(), stations=["left"], rows=["c"] * 11)
    assert row(on_bench).next_step == "sign"
    sign_visit(actor=me, visit=visit)
    assert (row(on_bench).open_visit, row(on_bench).next_step) == (None, "")


def test_hours_since_the_last_signature(on_bench: Bench) -> None:
    assert row(on_bench).hours_since is None
    sign_visit(actor=on_bench.me, visit=on_bench.visit, on=on_bench.visit.date)
    later = on_bench.visit.date + datetime.timedelta(days=30)
    turf.record_hours(actor=on_bench.me, unit=on_bench.unit, on=later, hours="2 day", clock_changed=True)
    assert row(on_bench).hours_since is None  # the clock was changed: it shows less than before
    turf.record_hours(actor=on_bench.me, unit=on_bench.unit, on=later, hours="700")
    assert row(on_bench).hours_since == pytest.approx(60 * 3600)


def test_a_units_life(demonstration) -> None:
    unit = Unit.objects.get(name="C1 right")
    life = unit_life(unit)
    assert [visit.state for visit in life.visits] == ["signed"] * 4
    assert [f.reel.label for f in life.fittings if f.reel] == ["reel C1 right", "reel C1 right, second"]
    assert [visit.reel.label for visit in life.visits] == ["reel C1 right"] * 3 + ["reel C1 right, second"]
    assert len(life.hours) == 5
    struck = unit_life(Unit.objects.get(name="F2 centre")).events
    assert [event.kind for event in struck] == ["sand", "sand", "sand", "sand", "stone"]
    assert queries(lambda: unit_life(unit)) <= 7


def test_a_visit_file_is_built_in_a_constant_number_of_queries(demonstration) -> None:
    large, little = (Visit.objects.get(unit__name=name, state="open") for name in ("G3 left", "G1 centre"))
    assert queries(lambda: visit_file(large)) <= 12
    assert queries(lambda: visit_file(little)) <= queries(lambda: visit_file(large))
    signed = Visit.objects.filter(state="signed")[0]
    assert queries(lambda: visit_file(signed)) == 0


@pytest.mark.parametrize(
    ("text", "finds"),
    [
        ("fairway", "unit"),
        ("sprinkler", "visit"),
        ("DIAL", "gauge"),
        ("technician b", "person"),
        ("cricket", "place"),
        ("second reel", "reel"),
        ("knife G1", "knife"),
        ("greens machine 2", "machine"),
    ],
)
def test_search_finds_by_all_words(demonstration, text, finds) -> None:
    found = search(text)
    assert finds in {one.kind for one in found}
    assert queries(lambda: search(text)) == 17


def test_search_for_nothing_finds_nothing(demonstration) -> None:
    assert search("  ") == []
    assert search("zebra crossing") == []
    assert search("100%_") == []


def test_the_demonstration_says_that_it_is_invented(demonstration) -> None:
    assert all(visit_file(visit).visit.demonstration for visit in Visit.objects.all())
    assert {person.name for person in Person.objects.all()} == {"technician A", "technician B"}


def test_a_correcting_visit_stands_beside_the_corrected(on_bench: Bench) -> None:
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    correct_signed_visit(actor=on_bench.me, visit=on_bench.visit, reason="misread")
    assert [visit.corrects_id for visit in unit_life(on_bench.unit).visits] == [None, on_bench.visit.pk]
