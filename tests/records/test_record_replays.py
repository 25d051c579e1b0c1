"""Every operation that takes a key, sent twice with it: done once, one history line, the same thing comes back."""

# ruff: noqa: ARG005

from __future__ import annotations

import inspect
from collections.abc import Callable
from importlib import import_module
from typing import Any

import pytest
from tests.keeping.invented import picture
from tests.records.workshops import REEL, Bench, diameter, key

from sparkout.records.models import Gauge, HistoryLine
from sparkout.records.operations import (
    attachments,
    ending,
    equipment,
    fitted,
    job,
    moving,
    parts,
    readings,
    sweeps,
    tokens,
    turf,
    units,
    visits,
    workshop,
)
from sparkout.records.operations.doing import KeyUsed

ROOMS = (
    "attachments",
    "ending",
    "equipment",
    "fitted",
    "job",
    "moving",
    "parts",
    "readings",
    "sweeps",
    "tokens",
    "turf",
    "units",
    "visits",
    "workshop",
)


def keyed() -> set[str]:
    found = set()
    for room in ROOMS:
        module = import_module(f"sparkout.records.operations.{room}")
        for name, function in vars(module).items():
            own = callable(function) and getattr(function, "__module__", "") == module.__name__ and name[0] != "_"
            whole = hasattr(function, "__wrapped__") or name == "attach_file"  # its file is read before its transaction
            if own and whole and "key" in inspect.signature(function).parameters:
                found.add(name)
    return found


def sweep(on: Bench) -> Any:
    head = {"of": "run-out", "gauge": "dial 1", "at": ["left"], "rows": 11}
    return sweeps.record_sweep(actor=on.me, visit=on.visit, key=key(), **head)


def cell(on: Bench) -> Any:
    return sweeps.record_cell(actor=on.me, sweep=sweep(on), row=0, column=0, value="1 thou", key=key())


def knife(on: Bench) -> Any:
    kind = parts.add_knife_type(actor=on.me, name="thin", spec={"thickness": "5 mm"})
    return parts.add_knife(actor=on.me, part_type=kind, label="knife 1")


def with_knife(on: Bench) -> Any:
    parts.fit_knife(actor=on.me, unit=on.unit, knife=knife(on))
    return on.unit


def work(on: Bench) -> Any:
    return job.record_work(actor=on.me, visit=on.visit, key=key(), step="set")


def paper(on: Bench) -> Any:
    return job.record_paper(actor=on.me, visit=on.visit, key=key(), stations=["left"], rows=["c"] * 11)


def spare_unit(on: Bench) -> Any:
    unit = units.add_unit(actor=on.me, name="spare")
    reel = parts.add_reel(actor=on.me, part_type=on.reel.type, label="spare reel")
    parts.fit_reel(actor=on.me, unit=unit, reel=reel)
    return unit


def attached(on: Bench) -> Any:
    return attachments.attach_file(actor=on.me, unit=on.unit, name="b.png", content=picture())


def signed(on: Bench) -> Any:
    return visits.sign_visit(actor=on.me, visit=on.visit)


def thin(on: Bench) -> Any:
    return parts.add_knife_type(actor=on.me, name="thin", spec={})


def clock(on: Bench) -> Any:
    return turf.record_hours(actor=on.me, unit=on.unit, on="2026-11-01", hours="690 h")


def stone(on: Bench) -> Any:
    return turf.record_event(actor=on.me, kind="stone", on="2026-11-01", unit=on.unit)


def there(on: Bench) -> Any:
    assert on.unit.position is not None
    return on.unit.position.machine


def tape() -> Any:
    return Gauge.objects.get(name="tape 1")


def limit(on: Bench) -> Any:
    return equipment.set_limit(actor=on.me, quantity="cone", at_most="0.1 mm", origin="house")


def ended(on: Bench) -> Any:
    return ending.end(actor=on.me, thing=tape())


CASES: dict[str, tuple[Callable[..., Any], Callable[[Bench], dict[str, Any]]]] = {
    "change_workshop": (workshop.change_workshop, lambda on: {"name": "other name", "wanted": {"relief": "no"}}),
    "add_person": (workshop.add_person, lambda on: {"name": "new"}),
    "set_preferences": (workshop.set_preferences, lambda on: {"person": on.me, "units": "inch"}),
    "change_person": (workshop.change_person, lambda on: {"person": on.me, "name": "other name", "units": "inch"}),
    "add_place": (units.add_place, lambda on: {"name": "new"}),
    "change_place": (units.change_place, lambda on: {"place": there(on).place, "name": "other name"}),
    "add_machine": (units.add_machine, lambda on: {"name": "new", "place": there(on).place}),
    "change_machine": (units.change_machine, lambda on: {"machine": there(on), "name": "other name", "place": None}),
    "keep_stance": (units.keep_stance, lambda on: {"unit": on.unit, "height": {"of_cut": "4 mm"}}),
    "change_unit": (units.change_unit, lambda on: {"unit": on.unit, "name": "other name", "active": True}),
    "change_gauge": (equipment.change_gauge, lambda on: {"gauge": tape(), "resolution": "0.1 mm"}),
    "calibrate_gauge": (
        equipment.calibrate_gauge,
        lambda on: {
            "gauge": tape(),
            "due": "2031-01-31",
            "lines": ({"at": "125 mm", "error": "0.02 mm"},),
            "repeatability": "0.02 mm",
        },
    ),
    "retire_gauge": (equipment.retire_gauge, lambda on: {"gauge": tape()}),
    "change_grinder": (equipment.change_grinder, lambda on: {"grinder": on.visit.grinder, "give": "0.6"}),
    "end_limit": (equipment.end_limit, lambda on: {"limit": limit(on)}),
    "add_reel_type": (parts.add_reel_type, lambda on: {"name": "new", "spec": REEL}),
    "add_knife_type": (parts.add_knife_type, lambda on: {"name": "new", "spec": {"thickness": "5 mm"}}),
    "change_type": (parts.change_type, lambda on: {"part_type": on.reel.type, "spec": REEL, "name": "other name"}),
    "change_part": (parts.change_part, lambda on: {"part": on.reel, "label": "other label", "spec": {"mass": "7 kg"}}),
    "end": (ending.end, lambda on: {"thing": tape(), "on": "2026-11-01", "why": "worn"}),
    "take_up_again": (ending.take_up_again, lambda on: {"thing": ended(on)}),
    "end_token": (tokens.end_token, lambda on: {"token": tokens.make_token(actor=on.me, name="sheet").token}),
    "add_gauge": (equipment.add_gauge, lambda on: {"id": "new", "kind": "tape"}),
    "add_grinder": (equipment.add_grinder, lambda on: {"name": "new"}),
    "record_learnt": (equipment.record_learnt, lambda on: {"grinder": on.visit.grinder, "give": "0.6"}),
    "set_limit": (equipment.set_limit, lambda on: {"quantity": "cone", "at_most": "0.1 mm", "origin": "house"}),
    "record_work": (job.record_work, lambda on: {"visit": on.visit, "step": "set"}),
    "correct_work": (job.correct_work, lambda on: {"work": work(on), "expected_version": 1, "what": "again"}),
    "withdraw_work": (job.withdraw_work, lambda on: {"work": work(on), "expected_version": 1}),
    "record_paper": (job.record_paper, lambda on: {"visit": on.visit, "stations": ["left"], "rows": ["c"]}),
    "correct_paper": (job.correct_paper, lambda on: {"proof": paper(on), "expected_version": 1, "note": "dry"}),
    "withdraw_paper": (job.withdraw_paper, lambda on: {"proof": paper(on), "expected_version": 1}),
    "keep_plan": (job.keep_plan, lambda on: {"visit": on.visit, "choices": {"wanted": {"relief": "no"}}}),
    "attach_file": (
        attachments.attach_file,
        lambda on: {"unit": on.unit, "name": "a.png", "content": picture(), "note": "left", "blade": 3},
    ),
    "describe_attachment": (
        attachments.describe_attachment,
        lambda on: {"attachment": attached(on), "note": "nick", "taken_on": "2026-11-01"},
    ),
    "remove_attachment": (attachments.remove_attachment, lambda on: {"attachment": attached(on), "reason": "blurred"}),
    "add_reel": (parts.add_reel, lambda on: {"part_type": on.reel.type, "label": "new", "spec": {"mass": "7 kg"}}),
    "add_knife": (parts.add_knife, lambda on: {"part_type": thin(on), "label": "new"}),
    "fit_reel": (
        parts.fit_reel,
        lambda on: {
            "unit": units.add_unit(actor=on.me, name="bare"),
            "reel": parts.add_reel(actor=on.me, part_type=on.reel.type, label="new"),
        },
    ),
    "fit_knife": (parts.fit_knife, lambda on: {"unit": on.unit, "knife": knife(on)}),
    "remove_reel": (parts.remove_reel, lambda on: {"unit": on.unit}),
    "remove_knife": (parts.remove_knife, lambda on: {"unit": with_knife(on)}),
    "record_reading": (
        readings.record_reading,
        lambda on: {"visit": on.visit, "of": "diameter", "gauge": "tape 1", "at": "left", "value": "125 mm"},
    ),
    "correct_reading": (
        readings.correct_reading,
        lambda on: {"reading": diameter(on), "expected_version": 1, "value": "125 mm"},
    ),
    "withdraw_reading": (readings.withdraw_reading, lambda on: {"reading": diameter(on), "expected_version": 1}),
    "record_sweep": (
        sweeps.record_sweep,
        lambda on: {
            "visit": on.visit,
            "of": "run-out",
            "gauge": "dial 1",
            "at": ["left"],
            "rows": 11,
            "time": "10:15",
        },
    ),
    "record_cell": (sweeps.record_cell, lambda on: {"sweep": sweep(on), "row": 0, "column": 0, "value": "1 thou"}),
    "withdraw_cell": (sweeps.withdraw_cell, lambda on: {"cell": cell(on), "expected_version": 1}),
    "withdraw_sweep": (sweeps.withdraw_sweep, lambda on: {"sweep": sweep(on)}),
    "record_hours": (turf.record_hours, lambda on: {"unit": on.unit, "on": "2026-11-01", "hours": "700 h"}),
    "record_hours_of": (
        turf.record_hours_of,
        lambda on: {"on": "2026-11-01", "clocks": [turf.Clock(on.unit, "700 h", "3 ha")]},
    ),
    "correct_hours": (turf.correct_hours, lambda on: {"entry": clock(on), "on": "2026-11-02", "hours": "691 h"}),
    "withdraw_hours": (turf.withdraw_hours, lambda on: {"entry": clock(on), "why": "another unit"}),
    "correct_event": (
        turf.correct_event,
        lambda on: {"event": stone(on), "kind": "sand", "on": "2026-11-02", "unit": on.unit},
    ),
    "withdraw_event": (turf.withdraw_event, lambda on: {"event": stone(on), "why": "another unit"}),
    "correct_fitting": (
        fitted.correct_fitting,
        lambda on: {"fitting": on.unit.fittings.get(reel=on.reel), "since": "2026-01-02", "since_hours": "3 h"},
    ),
    "move_part": (moving.move_part, lambda on: {"part": on.reel, "to": units.add_unit(actor=on.me, name="bare")}),
    "record_event": (turf.record_event, lambda on: {"kind": "stone", "on": "2026-11-01", "unit": on.unit}),
    "add_unit": (units.add_unit, lambda on: {"name": "new", "height": {"of_cut": "4 mm"}}),
    "place_unit": (units.place_unit, lambda on: {"unit": on.unit, "machine": None}),
    "open_visit": (visits.open_visit, lambda on: {"unit": spare_unit(on), "hours": "3 h"}),
    "revise_visit": (visits.revise_visit, lambda on: {"visit": on.visit, "notes": "later"}),
    "sign_visit": (visits.sign_visit, lambda on: {"visit": on.visit}),
    "set_aside_visit": (visits.set_aside_visit, lambda on: {"visit": on.visit, "reason": "mistake"}),
    "correct_signed_visit": (visits.correct_signed_visit, lambda on: {"visit": signed(on), "reason": "misread"}),
}


def test_no_operation_with_a_key_is_left_out() -> None:
    assert set(CASES) == keyed()


@pytest.mark.parametrize("name", CASES)
def test_sent_twice_done_once(on_bench: Bench, name: str) -> None:
    function, arguments = CASES[name]
    asked = {**arguments(on_bench), "actor": on_bench.me, "key": key()}
    first = function(**asked)
    lines = HistoryLine.objects.count()
    assert HistoryLine.objects.get(key=asked["key"]).action == name
    assert function(**asked) == first
    assert HistoryLine.objects.count() == lines


def test_a_key_of_one_operation_is_not_taken_by_another(on_bench: Bench) -> None:
    mine = key()
    diameter(on_bench, key=mine)
    with pytest.raises(KeyUsed, match="record reading: diameter at left"):
        job.record_work(actor=on_bench.me, visit=on_bench.visit, key=mine, step="set")


def test_a_reel_type_needs_the_same_words_as_a_file(on_bench: Bench) -> None:
    assert parts.change_type(actor=on_bench.me, part_type=on_bench.reel.type, spec=REEL).spec == REEL
    assert parts.change_type(actor=on_bench.me, part_type=thin(on_bench), spec={"width": "45 mm"}).spec == {
        "width": "45 mm"
    }


def test_the_same_number_of_another_kind_is_something_else(on_bench: Bench) -> None:
    mine, grinder = key(), on_bench.visit.grinder
    assert grinder is not None
    gauge = Gauge.objects.get(pk=grinder.pk)
    ending.end(actor=on_bench.me, thing=gauge, key=mine)
    with pytest.raises(KeyUsed):
        ending.end(actor=on_bench.me, thing=grinder, key=mine)
