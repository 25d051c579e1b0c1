"""Every address that enters something, asked twice with one key: done once, answered alike, told as done by API."""

# ruff: noqa: ARG005

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from tests.api.conftest import Program
from tests.keeping.invented import picture
from tests.records.workshops import REEL, SEASON, Bench, diameter, key, season_set

from sparkout.records import models
from sparkout.records.jobs import do_now
from sparkout.records.models import HistoryLine, Token
from sparkout.records.operations import (
    attachments,
    ending,
    equipment,
    job,
    parts,
    season,
    sweeps,
    turf,
    units,
    visits,
)
from sparkout.records.operations.care import add_authorisation, record_exposure
from sparkout.records.operations.doing import today
from sparkout.records.operations.faults import keep_fault_table
from sparkout.records.operations.readings import record_reading
from sparkout.records.season import plan_of_job
from sparkout.web.api.door import ROUTES

Case = tuple[Callable[[Bench], Any], Callable[[Bench], Any]]
"""What the address names, and what is sent."""


def tape(on: Bench) -> Any:
    return models.Gauge.objects.get(name="tape 1")


def machine(on: Bench) -> Any:
    assert on.unit.position is not None
    return on.unit.position.machine


def bare(on: Bench) -> Any:
    return units.add_unit(actor=on.me, name="bare")


def spare_reel(on: Bench) -> Any:
    return parts.add_reel(actor=on.me, part_type=on.reel.type, label="spare")


def with_reel(on: Bench) -> Any:
    unit = bare(on)
    parts.fit_reel(actor=on.me, unit=unit, reel=spare_reel(on))
    return unit


def thin(on: Bench) -> Any:
    return parts.add_knife_type(actor=on.me, name="thin", spec={"thickness": "5 mm"})


def knife(on: Bench) -> Any:
    return parts.add_knife(actor=on.me, part_type=thin(on), label="knife 1")


def with_knife(on: Bench) -> Any:
    parts.fit_knife(actor=on.me, unit=on.unit, knife=knife(on))
    return on.unit


def sweep(on: Bench) -> Any:
    head = {"of": "run-out", "gauge": "dial 1", "at": ["left"], "rows": 11}
    return sweeps.record_sweep(actor=on.me, visit=on.visit, key=key(), **head)


def cell(on: Bench) -> Any:
    return sweeps.record_cell(actor=on.me, sweep=sweep(on), row=0, column=0, value="1 thou", key=key())


def work(on: Bench) -> Any:
    return job.record_work(actor=on.me, visit=on.visit, key=key(), step="set")


def paper(on: Bench) -> Any:
    return job.record_paper(actor=on.me, visit=on.visit, key=key(), stations=["left"], rows=["c"] * 11)


def clock(on: Bench) -> Any:
    return turf.record_hours(actor=on.me, unit=on.unit, on="2026-11-01", hours="690 h")


def stone(on: Bench) -> Any:
    return turf.record_event(actor=on.me, kind="stone", on="2026-11-01", unit=on.unit)


def attached(on: Bench) -> Any:
    return attachments.attach_file(actor=on.me, unit=on.unit, name="b.png", content=picture())


def signed(on: Bench) -> Any:
    return visits.sign_visit(actor=on.me, visit=on.visit)


def limit(on: Bench) -> Any:
    return equipment.set_limit(actor=on.me, quantity="cone", at_most="0.1 mm", origin="house")


def ended(thing: Callable[[Bench], Any]) -> Callable[[Bench], Any]:
    return lambda on: ending.end(actor=on.me, thing=thing(on))


def other_person(on: Bench) -> Any:
    from sparkout.records.operations.workshop import add_person

    return add_person(actor=on.me, name="CD")


def place(on: Bench) -> Any:
    return units.add_place(actor=on.me, name="practice green")


def new_machine(on: Bench) -> Any:
    return units.add_machine(actor=on.me, name="spare machine")


def reading(on: Bench) -> Any:
    return diameter(on)


OWN_ROWS = '[[finding]]\nid = "clack"\norigin = "seen in our sheds"\n'


def authorised(on: Bench) -> Any:
    return add_authorisation(actor=on.me, person=on.me, work="grind", given_by="the workshop", since="2026-01-01")


def exposed(on: Bench) -> Any:
    return record_exposure(actor=on.me, person=on.me, on="2026-11-24", task="relief", hours=1, origin="a guess")


def fault_table(on: Bench) -> Any:
    return keep_fault_table(actor=on.me, text=OWN_ROWS, name="ours")


def kept_plan(on: Bench) -> Any:
    season_set(on)
    return season.draft_plan(actor=on.me)


def made_plan(on: Bench) -> Any:
    season_set(on)
    return plan_of_job(do_now(season.make_plan(actor=on.me, seconds=0.2)))


def moved(on: Bench) -> str:
    job = str(kept_plan(on).placements[0]["job"])
    season.move_job(actor=on.me, job=job, on=today())
    return job


def nothing(on: Bench) -> Any:
    return None


def empty(on: Bench) -> Any:
    return {}


_THINGS: dict[str, Callable[[Bench], Any]] = {
    "person": other_person,
    "place": place,
    "machine": new_machine,
    "unit": bare,
    "reel_type": lambda on: on.reel.type,
    "knife_type": thin,
    "reel": spare_reel,
    "knife": knife,
    "gauge": tape,
    "grinder": lambda on: on.visit.grinder,
}
ENDINGS: dict[str, Case] = {
    **{f"end_{n}": (thing, lambda on: {"on": "2026-11-01", "why": "worn"}) for n, thing in _THINGS.items()},
    **{f"take_up_{n}_again": (ended(thing), empty) for n, thing in _THINGS.items()},
}
THINGS: dict[str, Case] = {
    "change_workshop": (nothing, lambda on: {"name": "other", "wanted": {"uncleaned_share": "5 %", "gap_mm": 0.02}}),
    "add_person": (nothing, lambda on: {"name": "new"}),
    "change_person": (other_person, lambda on: {"name": "CE", "units": "inch"}),
    "set_preferences": (other_person, lambda on: {"units": "inch", "decimal": None, "active": False}),
    "add_place": (nothing, lambda on: {"name": "new"}),
    "change_place": (place, lambda on: {"name": "other"}),
    "add_machine": (nothing, lambda on: {"name": "new", "place": machine(on).place_id}),
    "change_machine": (machine, lambda on: {"name": "other", "place": None}),
    "add_unit": (
        nothing,
        lambda on: {"name": "new", "machine": machine(on).pk, "position": "rear", "height": {"of_cut_mm": 4}},
    ),
    "keep_stance": (lambda on: on.unit, lambda on: {"height": {"of_cut_mm": 4}}),
    "change_unit": (lambda on: on.unit, lambda on: {"pattern": "reel down", "carrier": {"thread_pitch": "1.5 mm"}}),
    "place_unit": (lambda on: on.unit, lambda on: {"machine": None}),
    "add_reel_type": (nothing, lambda on: {"name": "new", "spec": {**REEL, "diameter_mm": 127}}),
    "add_knife_type": (nothing, lambda on: {"name": "new", "spec": {"thickness": "5 mm"}}),
    "change_reel_type": (lambda on: on.reel.type, lambda on: {"name": "other", "spec": REEL}),
    "change_knife_type": (thin, lambda on: {"spec": {"width_mm": 45.5}}),
    "add_reel": (nothing, lambda on: {"part_type": on.reel.type_id, "label": "new", "spec": {"mass_kg": 7}}),
    "add_knife": (nothing, lambda on: {"part_type": thin(on).pk, "label": "new"}),
    "change_reel": (lambda on: on.reel, lambda on: {"label": "other", "spec": {"mass": "15 lb"}}),
    "change_knife": (knife, lambda on: {"label": "other"}),
    "fit_reel": (bare, lambda on: {"reel": spare_reel(on).pk, "on": "2026-11-01", "hours": "700 h"}),
    "fit_knife": (lambda on: on.unit, lambda on: {"knife": knife(on).pk, "on": "2026-11-01"}),
    "remove_reel": (lambda on: on.unit, lambda on: {"hours": 700}),
    "remove_knife": (with_knife, empty),
    "move_reel": (lambda on: on.reel, lambda on: {"to": bare(on).pk, "hours": "3 h", "hours_there": "700 h"}),
    "move_knife": (lambda on: (with_knife(on), models.Knife.objects.get())[1], lambda on: {"to": None}),
    "add_gauge": (nothing, lambda on: {"id": "new", "kind": "tape", "resolution_mm": 0.1}),
    "change_gauge": (tape, lambda on: {"resolution": "0.1 mm"}),
    "retire_gauge": (tape, lambda on: {"retired": True}),
    "calibrate_gauge": (
        tape,
        lambda on: {
            "due": "2031-01-31",
            "on": "2026-11-01",
            "certificate": "C-1",
            "lines": [{"at": "125 mm", "error": "0.02 mm"}],
            "calibration_uncertainty": "0.03 mm",
        },
    ),
    "add_grinder": (nothing, lambda on: {"name": "new", "give": "0.6", "wheel_diameter_mm": 150}),
    "change_grinder": (lambda on: on.visit.grinder, lambda on: {"give_number": 0.6, "wheel_width": "20 mm"}),
    "record_learnt": (lambda on: on.visit.grinder, lambda on: {"give": "0.6", "visit": on.visit.pk}),
    "set_limit": (
        nothing,
        lambda on: {"quantity": "diameter", "at_least_mm": 120, "origin": "the house", "reel_type": on.reel.type_id},
    ),
    "end_limit": (limit, empty),
    "record_hours": (lambda on: on.unit, lambda on: {"on": "2026-11-01", "hours": "700 h", "area": "3 ha"}),
    "record_hours_of": (
        nothing,
        lambda on: {
            "on": "2026-11-01",
            "clocks": [{"unit": on.unit.pk, "hours": 700}, {"unit": bare(on).pk, "hours": 5}],
        },
    ),
    "correct_hours": (clock, lambda on: {"on": "2026-11-02", "hours": "691 h"}),
    "withdraw_hours": (clock, lambda on: {"why": "another unit"}),
    "correct_fitting": (
        lambda on: on.unit.fittings.get(reel=on.reel),
        lambda on: {"since": "2026-01-02", "since_hours": "3 h"},
    ),
    "record_event": (nothing, lambda on: {"kind": "sand", "on": "2026-11-01", "machine": machine(on).pk}),
    "correct_event": (stone, lambda on: {"kind": "sand", "on": "2026-11-02", "unit": on.unit.pk}),
    "withdraw_event": (stone, lambda on: {"why": "another unit"}),
    "keep_ranking": (lambda on: on.unit, lambda on: {"answers": {"clack": "y"}}),
    "end_token": (lambda on: Token.objects.create(**other_token(on)), empty),
}


def other_token(on: Bench) -> dict[str, Any]:
    from sparkout.records.operations.doing import now

    return {"name": "other", "person": on.me, "mark": "0badcafe", "digest": "", "made_at": now()}


VISITS: dict[str, Case] = {
    "open_visit": (with_reel, lambda on: {"date": "2026-11-20", "hours": "3 h", "complaint": "misses"}),
    "revise_visit": (lambda on: on.visit, lambda on: {"notes": "later", "wanted": {"gap": "1 thou"}}),
    "sign_visit": (lambda on: on.visit, lambda on: {"statement": "proved"}),
    "set_aside_visit": (lambda on: on.visit, lambda on: {"reason": "mistake"}),
    "correct_signed_visit": (signed, lambda on: {"reason": "misread"}),
    "keep_plan": (lambda on: on.visit, lambda on: {"choices": {"wanted": {"relief": "no", "allowance_mm": 0.01}}}),
    "record_reading": (
        lambda on: on.visit,
        lambda on: {"of": "diameter", "gauge": "tape 1", "at": "left", "value_mm": 125.4, "if_empty": True},
    ),
    "correct_reading": (reading, lambda on: {"expected_version": 1, "value": "4.94 in"}),
    "withdraw_reading": (reading, lambda on: {"expected_version": 1}),
    "record_sweep": (
        lambda on: on.visit,
        lambda on: {"of": "run-out", "gauge": "dial 1", "at": ["left"], "rows": 11, "time": "10:15"},
    ),
    "withdraw_sweep": (sweep, empty),
    "record_cell": (sweep, lambda on: {"row": 0, "column": 0, "value": "1 thou"}),
    "withdraw_cell": (cell, lambda on: {"expected_version": 1}),
    "record_work": (lambda on: on.visit, lambda on: {"step": "spin grind", "infeeds": ["0.02 mm", 0]}),
    "correct_work": (work, lambda on: {"expected_version": 1, "what": "set"}),
    "withdraw_work": (work, lambda on: {"expected_version": 1}),
    "record_paper": (lambda on: on.visit, lambda on: {"stations": ["left"], "rows": ["c"] * 11, "thickness_mm": 0.1}),
    "correct_paper": (paper, lambda on: {"expected_version": 1, "paper": "office paper"}),
    "withdraw_paper": (paper, lambda on: {"expected_version": 1}),
    "describe_attachment": (attached, lambda on: {"note": "nick", "step": "look over", "blade": 7}),
    "remove_attachment": (attached, lambda on: {"reason": "blurred"}),
}
CARE: dict[str, tuple[Callable[[Bench], Any], Callable[[Bench], Any]]] = {
    "add_authorisation": (
        nothing,
        lambda on: {"person": on.me.pk, "work": "mount wheels", "given_by": "the workshop", "since": "2026-01-01"},
    ),
    "end_authorisation": (authorised, empty),
    "record_exposure": (
        nothing,
        lambda on: {
            "person": on.me.pk, "on": "2026-11-24", "task": "spin grind", "hours": "90 min", "vibration": 3.5,
            "level": "88 dB(A)", "dust": "dry", "origin": "a guess",
        },
    ),
    "withdraw_exposure": (exposed, empty),
    "keep_fault_table": (nothing, lambda on: {"name": "ours", "text": OWN_ROWS}),
    "end_fault_table": (fault_table, empty),
}  # fmt: skip
SEASONS: dict[str, tuple[Callable[[Bench], Any], Callable[[Bench], Any]]] = {
    "set_sheet": (nothing, lambda on: {"tables": SEASON}),
    "set_in_sheet": (nothing, lambda on: {"part": "people", "entry": {"name": "B"}}),
    "take_from_sheet": (nothing, lambda on: {"part": "people", "which": 0, "what_if": season_set(on).what_if}),
    "begin_what_if": (nothing, lambda on: {"name": "one more"}),
    "forget_what_if": (nothing, lambda on: {"name": season.begin_what_if(actor=on.me, name="one more").what_if}),
    "draft_plan": (nothing, lambda on: {"what_if": season_set(on).what_if}),
    "keep_season_plan": (made_plan, empty),
    "move_job": (nothing, lambda on: {"job": kept_plan(on).placements[0]["job"], "on": str(today())}),
    "release_job": (nothing, lambda on: {"job": moved(on)}),
}
CASES = {**ENDINGS, **THINGS, **VISITS, **CARE, **SEASONS}
BY_NAME = {route.name: route for route in ROUTES}
OTHERWISE = {"attach_file", "visit_from_file", "receive_table", "settle_columns"}
OTHERWISE |= {"make_plan", "replan", "try_table", "bring_in_table", "stop_job", "hear_recording", "enter_run_down"}
"""Sent as files, or about work in the background: tests of their own in test_api_files.py and test_api_season.py."""


def test_no_address_that_enters_something_is_left_out() -> None:
    assert set(CASES) | OTHERWISE == {route.name for route in ROUTES if route.writes}


@pytest.mark.parametrize("name", CASES)
def test_sent_twice_done_once_and_told_as_done_by_api(api: Program, on_bench: Bench, name: str) -> None:
    route, (about, body), mine = BY_NAME[name], CASES[name], str(key())
    thing = about(on_bench)
    path = route.path.replace("{int:number}", str(thing.pk if thing is not None else ""))
    sent = body(on_bench)
    first = api.told(route.method, path, sent, route.status, **{"Idempotency-Key": mine})
    lines = list(HistoryLine.objects.order_by("pk"))
    assert lines[-1].through == Token.objects.get(name="test write")
    assert lines[-1].who == on_bench.me
    assert api.told(route.method, path, sent, route.status, **{"Idempotency-Key": f'"{mine}"'}) == first
    assert HistoryLine.objects.count() == len(lines)


@pytest.mark.parametrize("name", CASES)
def test_without_a_token_that_may_write_nothing_comes_of_it(reader: Program, on_bench: Bench, name: str) -> None:
    route, (about, body) = BY_NAME[name], CASES[name]
    thing = about(on_bench)
    sent, lines = body(on_bench), HistoryLine.objects.count()
    path = route.path.replace("{int:number}", str(thing.pk if thing is not None else ""))
    reader.refused(route.method, path, sent, 403)
    assert HistoryLine.objects.count() == lines


def test_another_thing_under_the_same_key_is_refused(api: Program) -> None:
    mine = {"Idempotency-Key": str(key())}
    api.told("POST", "places", {"name": "first"}, 201, **mine)
    error = api.refused("POST", "places", {"name": "second"}, 422, **mine)[0]
    assert error["message"] == "this was sent before as 'add place: first' and now comes as 'second'; the first is kept"
    assert error["where"] == "Idempotency-Key"
    error = api.refused("POST", "places", {"name": "third"}, 422, **{"Idempotency-Key": "1"})[0]
    assert (error["where"], error["value"]) == ("Idempotency-Key", "1")


def test_a_reading_is_entered_as_the_operation_enters_it(api: Program, on_bench: Bench) -> None:
    body = {"of": "diameter", "gauge": "tape 1", "at": "left", "value": "4.94 in", "by": "AB"}
    told = api.told("POST", f"visits/{on_bench.visit.pk}/readings", body, 201)
    kept = models.Reading.objects.get(pk=told["id"])
    made = record_reading(actor=on_bench.me, visit=on_bench.visit, key=key(), **body)
    for column in ("of", "gauge", "at", "value", "by", "when"):
        assert getattr(kept, column) == getattr(made, column)
    assert told["reading"] | {"value": "4.94 in", "value_mm": 4.94 * 25.4} == told["reading"]
