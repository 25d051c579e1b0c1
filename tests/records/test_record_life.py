"""A life from the records: what belongs to a unit, what follows a part; in a constant number of queries."""

from __future__ import annotations

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from tests.keeping.invented import picture
from tests.records.workshops import Bench

from sparkout.records.life import attachments_of, keep_figures, part_life, signed_files, unit_life
from sparkout.records.models import KeptFigures, Reel, Unit, Visit
from sparkout.records.operations.attachments import attach_file
from sparkout.records.operations.parts import add_reel, fit_reel, remove_reel
from sparkout.records.operations.turf import record_event, record_hours
from sparkout.records.operations.units import add_machine, add_place, add_unit
from sparkout.records.operations.visits import correct_signed_visit, open_visit, set_aside_visit, sign_visit


def queries(ask) -> int:
    with CaptureQueriesContext(connection) as caught:
        ask()
    return len(caught)


def day(month: int, number: int = 1) -> datetime.date:
    return datetime.date(2026, month, number)


@pytest.fixture
def moved(on_bench: Bench) -> tuple[Bench, Unit]:
    """Reel 7, out of unit 3 in March and into another unit, elsewhere, in May."""
    me = on_bench.me
    set_aside_visit(actor=me, visit=on_bench.visit, reason="none of this")
    on_bench.reel.fittings.update(since=day(1))
    machine = add_machine(actor=me, name="greens machine 2", place=add_place(actor=me, name="links"))
    other = add_unit(actor=me, name="unit 4", machine=machine, position="left")
    first = open_visit(actor=me, unit=on_bench.unit, date=day(2), hours="150 h")
    sign_visit(actor=me, visit=first)
    remove_reel(actor=me, unit=on_bench.unit, on=day(3), hours="200 h")
    fit_reel(actor=me, unit=other, reel=on_bench.reel, on=day(5), hours="40 h")
    sign_visit(actor=me, visit=open_visit(actor=me, unit=other, date=day(6), hours="60 h"))
    return on_bench, other


def test_a_reels_life_goes_with_it(moved: tuple[Bench, Unit]) -> None:
    on, other = moved
    for unit, when in ((on.unit, 2), (on.unit, 4), (other, 4), (other, 6)):
        record_event(actor=on.me, kind="stone", on=day(when), unit=unit, note=f"{unit.name} in {when}")
        attach_file(actor=on.me, unit=unit, name=f"{unit.name} {when}.png", content=picture(), taken_on=str(day(when)))
    record_event(actor=on.me, kind="sand", on=day(6), place=other.position.machine.place, note="links")
    record_event(actor=on.me, kind="sand", on=day(6), place=on.unit.position.machine.place, note="not there any more")
    life = part_life(on.reel)
    assert [(fitting.unit.name, fitting.since) for fitting in life.fittings] == [("unit 3", day(1)), ("unit 4", day(5))]
    assert [visit.unit.name for visit in life.drawn_visits] == ["unit 3", "unit 4"]
    assert [event.note for event in life.events] == ["unit 3 in 2", "unit 4 in 6", "links"]
    assert [attached.name for attached in life.attachments] == ["unit 3 2.png", "unit 4 6.png"]
    mine = unit_life(on.unit)
    assert [event.note for event in mine.events] == ["unit 3 in 2", "unit 3 in 4", "not there any more"]
    assert len(mine.attachments) == 2


def test_an_event_to_a_machine_is_its_units(moved: tuple[Bench, Unit]) -> None:
    on, other = moved
    record_event(actor=on.me, kind="other", on=day(6), machine=other.position.machine, note="tipped over")
    assert [event.note for event in part_life(on.reel).events] == ["tipped over"]
    assert unit_life(on.unit).events == []


def test_what_does_not_count_is_not_drawn(on_bench: Bench) -> None:
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    later = correct_signed_visit(actor=on_bench.me, visit=on_bench.visit, reason="misread")
    life = unit_life(on_bench.unit)
    assert (life.visits, life.drawn_visits, life.opened) == ([on_bench.visit, later], [later], later)
    set_aside_visit(actor=on_bench.me, visit=later, reason="it was right")
    life = unit_life(on_bench.unit)
    assert (life.drawn_visits, life.opened) == ([on_bench.visit], None)


def test_figures_are_kept_by_what_made_them(on_bench: Bench) -> None:
    sign_visit(actor=on_bench.me, visit=on_bench.visit)
    number = on_bench.visit.pk
    assert list(signed_files([number])) == [number]
    assert signed_files([]) == {}
    keep_figures({}, "a")
    keep_figures({number: {"x": 1}}, "a")
    assert unit_life(on_bench.unit, "a").kept == {number: {"x": 1}}
    assert unit_life(on_bench.unit, "b").kept == {} == unit_life(on_bench.unit).kept
    keep_figures({number: {"x": 2}}, "b")
    assert unit_life(on_bench.unit, "b").kept == {number: {"x": 2}}
    assert KeptFigures.objects.count() == 1


def test_queries_do_not_grow_with_the_life(moved: tuple[Bench, Unit]) -> None:
    on, other = moved

    def counts() -> list[int]:
        asks = [lambda: unit_life(other, "a"), lambda: part_life(on.reel, "a"), lambda: attachments_of(on.visit)]
        return [queries(ask) for ask in asks]

    before = counts()
    spare = add_reel(actor=on.me, part_type=on.reel.type, label="spare")
    for number in range(2, 12):
        visit = open_visit(actor=on.me, unit=other, date=day(7, number), hours=f"{60 + number} h")
        attach_file(actor=on.me, unit=other, visit=visit, name="a.png", content=picture())
        sign_visit(actor=on.me, visit=visit)
        record_hours(actor=on.me, unit=other, on=day(7, number), hours=f"{60 + number} h")
        record_event(actor=on.me, kind="stone", on=day(7, number), unit=other)
    remove_reel(actor=on.me, unit=other, on=day(8))
    fit_reel(actor=on.me, unit=other, reel=spare, on=day(8))
    assert Visit.objects.filter(unit=other).count() == 11
    assert counts() == before == [7, 6, 1]


def test_a_part_that_was_never_fitted_has_no_life(on_bench: Bench) -> None:
    spare: Reel = add_reel(actor=on_bench.me, part_type=on_bench.reel.type, label="spare")
    life = part_life(spare)
    assert (life.visits, life.fittings, life.hours, life.events, life.attachments) == ([], [], [], [], [])
