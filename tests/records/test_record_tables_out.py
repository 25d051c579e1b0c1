# ruff: noqa: E501 - rows of what is compared
"""Everything out and in again: into an empty workshop the same records, into the same one no change."""

from __future__ import annotations

import io
import json
import zipfile
from pathlib import Path
from typing import Any

import pytest
from tests.records.workshops import Bench, diameter, season_set

from sparkout.core.errors import Refusal
from sparkout.interchange.mapping import FileMapping
from sparkout.interchange.source import open_source
from sparkout.records.bringing.files import text_of
from sparkout.records.bringing.operations import bring_in_table, receive_table, try_table
from sparkout.records.jobs import do_now
from sparkout.records.models import (
    Calibration,
    Cell,
    Event,
    Fitting,
    Gauge,
    Grinder,
    HoursEntry,
    KeptSheet,
    Knife,
    KnifeType,
    Limit,
    Machine,
    PaperProof,
    Person,
    Place,
    Reading,
    Reel,
    ReelType,
    Sweep,
    Unit,
    Visit,
    WorkDone,
)
from sparkout.records.operations.doing import today
from sparkout.records.operations.ending import end
from sparkout.records.operations.equipment import calibrate_gauge, retire_gauge, set_limit
from sparkout.records.operations.season import begin_what_if, draft_plan, move_job, set_in_sheet
from sparkout.records.operations.turf import record_event, record_hours
from sparkout.records.operations.visits import correct_signed_visit, set_aside_visit, sign_visit
from sparkout.records.operations.workshop import set_up_workshop
from sparkout.records.season import sheet_now
from sparkout.records.tables import gauge_row, limit_row
from sparkout.records.taking_out import taken_out
from sparkout.showing import Showing
from sparkout.units import UnitProblem, parse


def out(form: str, **how: Any) -> bytes:
    with taken_out(form, **how) as made:
        return made.read()


def brought(actor: Person, content: bytes, name: str) -> tuple[dict[str, int], dict[str, int]]:
    """What a trial says and what entering does, zeros left out."""
    file = receive_table(actor=actor, name=name, chunks=[content])
    trial = do_now(try_table(actor=actor, file=file))
    assert trial.state == "done", trial.message
    entered = do_now(bring_in_table(actor=actor, file=file))
    assert entered.state == "done", entered.message
    said, did = ({what: n for what, n in job.told.items() if n} for job in (trial, entered))
    return said, did


def hectares(area: Any) -> str:
    return "" if area is None else f"{parse(area, 'area', 'ha') / 1e10:.9g}"


def core(value: Any) -> Any:
    """A typed quantity as a number of core units, so that 5 in and 127 mm are the same record."""
    if isinstance(value, dict):
        return {key: core(entry) for key, entry in sorted(value.items()) if entry not in (None, "")}
    for kind in ("length", "angle", "time", "speed", "rotation", "mass", "force", "energy per volume", "number"):
        try:
            return round(parse(value, kind), 7)
        except (UnitProblem, TypeError):
            continue
    return str(value)


def everything() -> dict[str, Any]:
    """All records that an export carries, by their names, free of numbers given by this database."""
    fits = Fitting.objects.values_list("unit__name", "reel__label", "knife__label", "since", "until")
    hours = HoursEntry.objects.values_list("unit__name", "on", "hours", "area", "visit__date")
    events = Event.objects.values_list("kind", "on", "place__name", "machine__name", "unit__name", "note")
    visits = Visit.objects.select_related("unit", "reel", "knife", "corrects")
    return {
        "places": sorted(Place.objects.values_list("name", "ended_on")),
        "people": sorted(Person.objects.values_list("name", "active")),
        "machines": sorted(Machine.objects.values_list("name", "place__name")),
        "reel types": {t.name: core(t.spec) for t in ReelType.objects.all()},
        "knife types": {t.name: core(t.spec) for t in KnifeType.objects.all()},
        "reels": {r.label: (r.type.name, core(r.spec)) for r in Reel.objects.all()},
        "knives": {k.label: (k.type.name, core(k.spec)) for k in Knife.objects.all()},
        "gauges": {g.name: (core(gauge_row(g)), g.retired) for g in Gauge.objects.all()},
        "calibrations": sorted((c.gauge.name, str(c.on), c.certificate, str(c.due), str(c.lines)) for c in Calibration.objects.all()),
        "grinders": {g.name: core(g.spec) for g in Grinder.objects.all()},
        "limits": {x.quantity + str(x.reel_type): core(limit_row(x)) for x in Limit.objects.filter(ended_at=None)},
        "units": {str(u): (u.pattern, u.active, *(core(t) for t in (u.carrier, u.height, u.mowing))) for u in Unit.objects.all()},
        "fittings": sorted(map(str, fits)),
        "hours": sorted((n, str(on), core(h), hectares(area), str(v)) for n, on, h, area, v in hours),
        "events": sorted(map(str, events)),
        "visits": sorted((v.state, v.reel.label, str(v.knife), str(v.corrects), text_of(v)) for v in visits),
        "season sheets": {s.what_if: s.tables for s in KeptSheet.objects.filter(ended_at=None)},
        "counts": [k.objects.count() for k in (Reading, Sweep, Cell, WorkDone, PaperProof)],
    }  # fmt: skip


FORMS = [
    ("xlsx", {}),
    ("xlsx", {"system": "inch", "say": Showing("inch", "us").say}),
    ("zip", {"say": Showing("mm", "uk").say}),
    ("zip", {"system": "inch", "decimal": ",", "say": Showing("inch", "uk").say}),
    ("json", {}),
]


@pytest.mark.parametrize(("form", "how"), FORMS, ids=[f"{form} {n}" for n, (form, _) in enumerate(FORMS)])
def test_the_demonstration_goes_out_and_comes_in_again(
    demonstration: Path, empty_records: Path, tmp_path: Path, form: str, how: Any
) -> None:
    content, before = out(form, **how), everything()
    said, did = brought(Person.objects.order_by("pk")[0], content, f"all.{form}")
    assert said.keys() == did.keys() == {"same"}
    assert everything() == before
    empty(empty_records, tmp_path)
    set_up_workshop(name="another", first_person="technician A")
    said, did = brought(Person.objects.get(), content, f"all.{form}")
    assert said == did
    assert did.keys() == {"adds", "same"}  # the first person is there; readings stand in the visit files already
    assert everything() == before


def empty(start: Path, folder: Path) -> None:
    """Connect to empty records of a second workshop."""
    from conftest import _put

    folder.mkdir(exist_ok=True)
    _put(start, folder / "second.sqlite3")


def test_what_a_small_workshop_may_hold(on_bench: Bench, empty_records: Path, tmp_path: Path) -> None:
    """Signed and corrected, set aside, undated, out of use, limits for one type, formulas in names, a calibration."""
    me = on_bench.me
    diameter(on_bench)
    signed = sign_visit(actor=me, visit=on_bench.visit)
    correct_signed_visit(actor=me, visit=signed, reason="a slip")
    set_aside_visit(actor=me, visit=Visit.objects.get(corrects=signed), reason="not needed")
    retire_gauge(actor=me, gauge=Gauge.objects.get(name="dial 1"))
    calibrate_gauge(
        actor=me, gauge=Gauge.objects.get(name="tape 1"), due="2031-01-31", on="2026-01-31", certificate="C 1",
        lines=[{"at": "125 mm", "error": "0.02 mm"}], repeatability="0.04 mm",
    )  # fmt: skip
    set_limit(actor=me, quantity="diameter", origin="=house", at_least="4.8 in", reel_type=ReelType.objects.get())
    record_hours(actor=me, unit=on_bench.unit, on="2026-01-02", hours="39000 min", area="3 ha")
    record_event(actor=me, kind="stone", on="2026-01-02", unit=on_bench.unit, note='+1, hit hard; "kerb"')
    end(actor=me, thing=Grinder.objects.get(), on="2026-02-03")
    before, contents = everything(), {form: out(form) for form in ("xlsx", "zip", "json")}
    for form, content in contents.items():
        said, did = brought(me, content, f"all.{form}")
        assert (form, said.keys(), did.keys()) == (form, {"same"}, {"same"})
    for number, (form, content) in enumerate(contents.items()):
        empty(empty_records, tmp_path / str(number))
        set_up_workshop(name="another", first_person="AB")
        brought(Person.objects.get(), content, f"all.{form}")
        assert everything() == before


def test_the_season_s_sheets_travel_whole(on_bench: Bench, empty_records: Path, tmp_path: Path) -> None:
    """The sheet and its what-ifs come in again; kept plans are for reading, and the export says so."""
    me = on_bench.me
    season_set(on_bench)
    begin_what_if(actor=me, name="more hands")
    set_in_sheet(actor=me, part="people", entry={"name": "B", "week": ["7 h"] * 7}, what_if="more hands")
    move_job(actor=me, job="unit 3", on=str(today()))
    draft_plan(actor=me)
    before, contents = everything(), {form: out(form) for form in ("xlsx", "zip", "json")}
    told = json.loads(contents["json"])
    assert [row["job"] for row in told["season plans kept"]][:1] == ["unit 3"]
    assert "bring in the season sheets" in told["about this file"]["season plans"]
    assert "season plans kept" in told["about this file"]["for reading only"]
    for form, content in contents.items():
        said, did = brought(me, content, f"all.{form}")
        assert (form, said.keys(), did.keys()) == (form, {"same"}, {"same"})
    set_in_sheet(actor=me, part="costs", entry={"hour": 99})
    said, did = brought(me, contents["zip"], "all.zip")
    assert (said["changes"], did["left"]) == (1, 1), "a sheet that stands is not written over unasked"
    assert sheet_now().costs.hour == 99.0
    for number, (form, content) in enumerate(contents.items()):
        empty(empty_records, tmp_path / str(number))
        set_up_workshop(name="another", first_person="AB")
        brought(Person.objects.get(), content, f"all.{form}")
        assert everything() == before
    assert len(sheet_now("more hands").people) == 2


@pytest.mark.parametrize("text", ["{", "[1]", '{"weeks": 0}'])
def test_a_season_sheet_that_is_none_is_refused(on_bench: Bench, text: str) -> None:
    content = json.dumps({"sparkout export": 1, "season sheets": [{"what_if": "", "sheet.1": text}]}).encode()
    said, did = brought(on_bench.me, content, "all.json")
    assert said == did == {"refused": 1}
    assert KeptSheet.objects.count() == 0


def test_a_workbook_as_a_spreadsheet_sees_it(on_bench: Bench, tmp_path: Path) -> None:
    """By the reader, independent of the writer: numbers are numbers, days are days, units stand in the headings."""
    import datetime

    record_hours(actor=on_bench.me, unit=on_bench.unit, on="2026-01-02", hours="650 h")
    path = tmp_path / "all.xlsx"
    path.write_bytes(out("xlsx", system="inch", say=Showing("inch", "uk").say))
    source = open_source(path)
    hours = source.sheet("hours and area").head(5)
    assert hours[0][1][:4] == ["machine", "unit", "date", "hours (h)"]
    assert hours[1][1][:4] == ["greens machine 1", "unit 3", datetime.date(2026, 1, 2), 650]
    types = source.sheet("reel types").head(5)
    assert types[0][1][:4] == ["cylinder type", "blades", "cylinder diameter when new (in)", "blade length (in)"]
    assert types[1][1][:3] == ["greens", 11, 5]
    assert source.sheet("about this file").head(3)[1][1] == ["made by", "Sparkout, layout 1"]


def test_no_text_in_a_csv_can_be_taken_for_a_formula(on_bench: Bench) -> None:
    set_limit(actor=on_bench.me, quantity="cone", origin='=HYPERLINK("x")', at_most="0.05 mm")
    for note in ("+1", "-1", "@x", "'=y"):
        record_event(actor=on_bench.me, kind="sand", on="2026-01-02", unit=on_bench.unit, note=note)
    with zipfile.ZipFile(io.BytesIO(out("zip"))) as archive:
        texts = {name: archive.read(name).decode("utf-8-sig") for name in archive.namelist()}
    import csv

    for text in texts.values():
        for row in csv.reader(io.StringIO(text)):
            for cell in row:
                assert not cell.startswith(("=", "+", "@", "\t")), cell
                assert not cell.startswith("-") or float(cell) < 0
    assert "''=y" in texts["events.csv"]


def test_json_keeps_what_was_typed(on_bench: Bench) -> None:
    data = json.loads(out("json"))
    assert data["sparkout export"] == 1
    assert data["reel types"] == [
        {"name": "greens", "blades": 11, "diameter": "127 mm", "length": "533 mm", "land": "1 mm"}
    ]
    assert data["parts fitted"][0]["hours"] == "100 h"
    assert data["about this file"]["workshop"] == "test workshop"


def test_only_the_forms_there_are(on_bench: Bench) -> None:
    with pytest.raises(Refusal, match="allowed: xlsx, zip, json"):
        taken_out("pdf")


def test_a_visit_whose_records_contradict_each_other_is_told_not_lost_silently(on_bench: Bench) -> None:
    from tests.records.workshops import REEL, key

    from sparkout.records.operations.parts import change_type
    from sparkout.records.operations.readings import record_reading

    record_reading(
        actor=on_bench.me,
        visit=on_bench.visit,
        key=key(),
        of="run-out",
        gauge="dial 1",
        at="left",
        blade=11,
        value="0.1 mm",
    )
    change_type(actor=on_bench.me, part_type=ReelType.objects.get(), spec={**REEL, "blades": 9})
    data = json.loads(out("json"))
    assert data["visit files"] == []
    assert "blade" in data["left out"][0]["why"]


def test_the_export_proposes_itself_whole(demonstration: Path, tmp_path: Path) -> None:
    from sparkout.interchange.proposal import proposed

    path = tmp_path / "all.zip"
    path.write_bytes(out("zip", say=Showing("mm", "uk").say))
    mapping: FileMapping = proposed(open_source(path))
    left = [(s.name, c.heading) for s in mapping.used for c in s.columns if not c.field]
    assert not left
    assert {s.name for s in mapping.sheets if not s.kind} <= {"about this file", "history", "files kept", "left out", "learnt from grinds", "season plans kept"}  # fmt: skip
