"""A machine's units matched and a unit's mowing from the records: page, program, command line and core agree."""

from __future__ import annotations

import uuid
from html import unescape

import pytest
from django.test import Client
from tests.api.conftest import program
from tests.cli.commands import run
from tests.records.workshops import Bench

from sparkout.catalogue.entry import answer
from sparkout.catalogue.listing import CATALOGUE
from sparkout.records.heights import heights_of
from sparkout.records.models import Machine, Unit
from sparkout.records.operations.parts import add_reel, fit_reel
from sparkout.records.operations.readings import record_reading
from sparkout.records.operations.units import add_unit
from sparkout.records.operations.visits import open_visit

HEIGHTS = {"front left": (3.9, 3.95), "front right": (4.0, 4.2)}
ASKED = {"rise": "0.75 mm", "smallest_turn": "0.125", "ends": "0.05 mm", "between": "0.1 mm", "bar": "0.02 mm",
         "reading": "0.01 mm"}  # fmt: skip


@pytest.fixture
def machine(on_bench: Bench) -> Machine:
    """Two units read at both ends, the first as found and as left, and one never on the bench."""
    position = on_bench.unit.position
    assert position is not None
    made = position.machine
    other = add_unit(actor=on_bench.me, name="unit 4", machine=made, position="front right", pattern="knife up")
    reel = add_reel(actor=on_bench.me, part_type=on_bench.reel.type, label="reel 8")
    fit_reel(actor=on_bench.me, unit=other, reel=reel, on=None, hours="0 h")
    add_unit(actor=on_bench.me, name="unit 5", machine=made, position="rear", pattern="knife up")
    second = open_visit(actor=on_bench.me, unit=other, hours="10 h")
    for visit, name in ((on_bench.visit, "front left"), (second, "front right")):
        for at, value in zip(("left", "right"), HEIGHTS[name], strict=True):
            for when, off in (("as found", 0.3), ("as left", 0.0)) if visit is on_bench.visit else (("as found", 0.0),):
                record_reading(actor=on_bench.me, visit=visit, key=uuid.uuid4(), of="height of cut", at=at,
                               value=f"{value + off:.2f} mm", when=when)  # fmt: skip
    return made


def test_heights_measured_last_are_there_with_where_they_come_from(client: Client, machine: Machine) -> None:
    found = {one.name: one for one in heights_of(machine)}
    assert {name: (one.left, one.right) for name, one in found.items()} == {**HEIGHTS, "rear": (None, None)}
    assert {name: one.when for name, one in found.items()} == {
        "front left": "as left",
        "front right": "as found",
        "rear": "",
    }
    page = unescape(client.get(f"/matching/?machine={machine.pk}").content.decode())
    for box, value in (("left1", "3.9 mm"), ("right1", "3.95 mm"), ("left2", "4 mm"), ("right2", "4.2 mm")):
        start = page.index(f'name="{box}"')
        assert f'value="{value}"' in page[start : page.index(">", start)]
    assert "front left: as left, " in page
    assert "rear: no height of cut is on file" in page
    assert "Where the heights come from" in page


def test_page_program_command_line_and_core_give_the_same(client: Client, on_bench: Bench, machine: Machine) -> None:
    lists = {f"heights_{side}": ",".join(str(pair[i]) for pair in HEIGHTS.values()) for i, side in enumerate(_SIDES)}
    given = {**lists, "height_per_turn": "0.75 mm", "step": "0.125", "end_tolerance": "0.05 mm",
             "unit_tolerance": "0.1 mm", "bar_uncertainty": "0.02 mm", "reading_uncertainty": "0.01 mm"}  # fmt: skip
    core = {name: result.value for name, result in answer(CATALOGUE["match-heights"], given).results.items()}
    query = "&".join(f"{name}={value}" for name, value in ASKED.items())
    told = program(on_bench.me).told("GET", f"machines/{machine.pk}/matching?{query}")
    assert told["not_measured"] == ["rear"]
    matched = told["matched"]
    assert matched["height_mm"] == pytest.approx(core["height"], abs=1e-9)
    assert matched["total_turns"] == pytest.approx(core["total_turns"], abs=1e-9)
    for side in _SIDES:
        assert [unit[f"{side}_turns"] for unit in matched["units"]] == pytest.approx(core[f"{side}_turns"], abs=1e-9)
    said = run("calc", "match-heights", *(f"{name}={value}" for name, value in given.items()))[1]
    assert f"total_turns = {core['total_turns']:g}" in said
    boxes = {"left1": 3.9, "right1": 3.95, "left2": 4.0, "right2": 4.2, "name1": "front left", "name2": "front right"}
    page = unescape(client.get("/matching/", {**ASKED, **boxes, "machine": machine.pk}).content.decode())
    assert f"{matched['total_turns']:.3g} turns in all" in page


def test_what_a_program_asks_wrongly_is_told(on_bench: Bench, machine: Machine) -> None:
    api = program(on_bench.me)
    wrong = api.told("GET", f"machines/{machine.pk}/matching?rise=0+mm", status=422)
    assert "rise" in str(wrong)
    assert api.told("GET", f"machines/{machine.pk}/matching")["matched"] is None


def test_a_units_mowing_by_program_is_the_catalogues(on_bench: Bench) -> None:
    api = program(on_bench.me)
    path = f"units/{on_bench.unit.pk}/mowing"
    assert set(api.told("GET", path)["missing"]) == {"travel_speed", "reel_speed"}
    Unit.objects.filter(pk=on_bench.unit.pk).update(mowing={"travel_speed": "4.5 km/h", "reel_speed": "1500 1/min"})
    told = api.told("GET", path + "?pitch=49+mm&pitch_uncertainty=0.7+mm&growth=4+mm/day&of_cut=4+mm&interval=1+day")
    given = {"travel_speed": "4.5 km/h", "reel_speed": "1500 1/min", "blade_count": "11"}
    core = answer(CATALOGUE["clip"], given).results["clip"].value
    assert told["on_turf"]["clip"]["value"] == pytest.approx(core, rel=1e-12)
    assert told["on_turf"]["ribs"]["causes"][0]["chance"] > 0.5
    assert "Instead" in told["on_turf"]["mowing"]["why_not"]


_SIDES = ("left", "right")
