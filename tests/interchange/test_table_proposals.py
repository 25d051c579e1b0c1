# ruff: noqa: E501 - tables as they stand
"""What columns are taken for, and what their rows give: tables as workshops keep them (all invented)."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import pytest
from tests.interchange.made_files import workbook

from sparkout.core.errors import Refusal
from sparkout.interchange.drafts import Draft, NotRead, drafts, infeeds
from sparkout.interchange.mapping import Column, FileMapping, SheetMapping, adapted, questions, shape_of
from sparkout.interchange.proposal import propose_sheet, proposed
from sparkout.interchange.source import Source, open_source


def opened(folder: Path, content: str | bytes, name: str = "table.csv") -> Source:
    (folder / name).write_bytes(content.encode() if isinstance(content, str) else content)
    return open_source(folder / name)


def fields(mapping: SheetMapping) -> list[str]:
    return [column.field for column in mapping.columns]


@pytest.mark.parametrize(
    ("text", "kind", "found"),
    [
        ("Mower,Site\nG1,north\n", "machine", ["name", "place"]),
        ("Maschine;Standort\nG1;Nord\n", "machine", ["name", "place"]),
        ("Name\nAB\n", "place", ["name"]),
        ("Technician,Language\nAB,de\n", "person", ["name", "language"]),
        ("Unit,Date,Hours\nU1,2026-01-02,120\n", "hours", ["unit", "on", "hours"]),
        ("Schneideinheit;Datum;Betriebsstunden\nU1;2.1.2026;120\n", "hours", ["unit", "on", "hours"]),
        ("Gauge,Type,Resolution (mm),Cal due\nT1,tape,0.05,2027-01-01\n", "gauge", ["id", "kind", "resolution", "calibration_due"]),
        ("Reel type,Blades,Dia (in),Length (in)\ngreens,11,5,21\n", "reel type", ["name", "blades", "diameter", "length"]),
        ("Serial,Reel type\nR1,greens\n", "reel", ["label", "type"]),
        ("Unit,Which part,Serial,Fitted,Removed\nU1,reel,R1,2026-01-02,\n", "fitting", ["unit", "part", "label", "since", "until"]),
        ("Date,What happened,Place,Remarks\n2026-01-02,topdressing,north,spring\n", "event", ["on", "kind", "place", "note"]),
        ("Quantity,Minimum,Origin\ndiameter,120 mm,house\n", "limit", ["quantity", "at_least", "origin"]),
        ("Unit,Date,Quantity,At,Value,Gauge\nU1,2026-01-02,land,left,1.2,L1\n", "reading", ["unit", "date", "of", "at", "value", "gauge"]),
        ("Unit,Date,Step,Infeeds,Done by\nU1,2026-01-02,spin grind,0.02/0.02,AB\n", "work", ["unit", "date", "step", "infeeds", "by"]),
    ],
)  # fmt: skip
def test_kinds_and_columns(tmp_path: Path, text: str, kind: str, found: list[str]) -> None:
    mapping = proposed(opened(tmp_path, text)).sheets[0]
    assert (mapping.kind, fields(mapping)) == (kind, found)


def test_what_nobody_knows_is_left_out(tmp_path: Path) -> None:
    mapping = proposed(opened(tmp_path, "colour,taste\nred,sweet\n")).sheets[0]
    assert (mapping.kind, fields(mapping)) == ("", ["", ""])


def test_title_rows_and_empty_columns_before_the_heading(tmp_path: Path) -> None:
    text = "Winter list,,,\nprinted 2026-01-02,,,\n,,,\n,Mower,,Site\n,G1,,north\n"
    mapping = proposed(opened(tmp_path, text)).sheets[0]
    assert (mapping.heading, fields(mapping)) == (4, ["", "name", "", "place"])


def test_a_heading_of_two_rows(tmp_path: Path) -> None:
    text = "Unit,Date,Diameter,,,Gauge\n,,left,centre,right,\nU1,2026-01-02,126.1,126.0,125.9,T1\n"
    source = opened(tmp_path, text)
    mapping = propose_sheet(source.sheets[0], heading=2, heading_rows=2)
    assert mapping.columns[3].of == {"of": "diameter", "at": "centre"}
    found = list(drafts(mapping, source.sheets[0]))
    assert [d.entries["value"] for d in found if isinstance(d, Draft)] == ["126.1", "126.0", "125.9"]
    assert propose_sheet(source.sheets[0]).heading_rows == 2


def test_wide_by_blade_place_and_day(tmp_path: Path) -> None:
    text = "Unit;Datum;Durchmesser links (mm);Durchmesser rechts (mm);Fase Messer 3;Messmittel\nU1;25.11.2025;126,1;;1,2;T1\n"
    source = opened(tmp_path, text)
    mapping = proposed(source).sheets[0]
    found = [d for d in drafts(mapping, source.sheets[0]) if isinstance(d, Draft)]
    assert [(d.column, {k: d.entries[k] for k in d.entries if k in ("of", "at", "blade", "value")}) for d in found] == [
        ("Durchmesser links (mm)", {"of": "diameter", "at": "left", "value": "126.1 mm"}),
        ("Fase Messer 3", {"of": "land", "blade": 3, "value": "1.2"}),
    ]
    days = opened(tmp_path, "Unit,2026-01-02,2026-02-02\nU1,100,\nU2,,130 h\n", "days.csv")
    mapping = proposed(days).sheets[0]
    found = [d for d in drafts(mapping, days.sheets[0]) if isinstance(d, Draft)]
    assert [(d.row, d.entries) for d in found] == [
        (2, {"unit": "U1", "on": datetime.date(2026, 1, 2), "hours": "100"}),
        (3, {"unit": "U2", "on": datetime.date(2026, 2, 2), "hours": "130 h"}),
    ]


def test_units_by_heading_by_cell_and_by_what_fits(tmp_path: Path) -> None:
    text = "Reel type,Blades,Diameter,Length (mm)\na,11,5,533\nb,11,5.04 in,533\nc,11,127 mm,21 in\n"
    source = opened(tmp_path, text)
    mapping = proposed(source).sheets[0]
    assert [c.unit for c in mapping.columns] == ["", "", "in", "mm"]
    found = [d.entries["diameter"] for d in drafts(mapping, source.sheets[0]) if isinstance(d, Draft)]
    assert found == ["5 in", "5.04 in", "127 mm"]


def test_days_that_read_in_two_ways_are_asked_never_guessed(tmp_path: Path) -> None:
    source = opened(tmp_path, "Unit,Date,Hours\nU1,03/04/2025,120\nU2,05/06/2025,130\n")
    mapping = proposed(source)
    assert (mapping.sheets[0].order, mapping.sheets[0].asks_order) == ("", True)
    with pytest.raises(Refusal, match="say in which order"):
        mapping.check()
    source = opened(tmp_path, "Unit,Date,Hours\nU1,03/04/2025,120\nU2,25/06/2025,130\n")
    assert (proposed(source).sheets[0].order, proposed(source).sheets[0].asks_order) == ("dmy", False)


def test_names_filled_once_for_a_group_of_rows(tmp_path: Path) -> None:
    text = "Unit,Date,Hours\nU1,2026-01-02,120\n,2026-02-02,130\n,2026-03-02,140\nU2,2026-01-02,150\n"
    source = opened(tmp_path, text)
    mapping = proposed(source).sheets[0]
    assert mapping.repeats
    found = [d.entries["unit"] for d in drafts(mapping, source.sheets[0]) if isinstance(d, Draft)]
    assert found == ["U1", "U1", "U1", "U2"]


def test_what_rows_cannot_give(tmp_path: Path) -> None:
    text = "Unit,Date,Hours\n=SUM(A1),2026-01-02,120\nU1,soon,120\nU1,2026-01-02,-5\n,2026-01-02,120\nUnit,Date,Hours\n,,\nU1,2026-01-02,1.5.2\n"
    source = opened(tmp_path, text)
    found = list(drafts(proposed(source).sheets[0], source.sheets[0]))
    assert all(isinstance(d, NotRead) for d in found)
    whys = [d.why for d in found if isinstance(d, NotRead)]
    assert [d.row for d in found] == [2, 3, 4, 5, 8]
    for why, told in zip(whys, ("is a formula", "date: 'soon' is no day", "hours: '-5 h' is too small; allowed: 0 to 100000 h", "unit: nothing stands here", "1.5.2"), strict=True):  # fmt: skip
        assert told in why


def test_readings_need_to_say_of_what(tmp_path: Path) -> None:
    source = opened(tmp_path, "Unit,Date,Value\nU1,2026-01-02,1.2\n")
    mapping = propose_sheet(source.sheets[0], "reading")
    (found,) = drafts(mapping, source.sheets[0])
    assert isinstance(found, NotRead)
    assert "nothing says of what this is" in found.why


def test_columns_may_stand_in_any_order(tmp_path: Path) -> None:
    source = opened(tmp_path, "Value,Unit of value,Quantity,Date,Unit\n2,deg,top angle,2026-01-02,U1\n")
    mapping = proposed(source).sheets[0]
    (found,) = drafts(mapping, source.sheets[0])
    assert isinstance(found, Draft)
    assert found.entries["value"] == "2 deg"
    assert "unit of value" not in found.entries


def test_settled_for_all_rows() -> None:
    rows: Any = [(1, ["Unit", "Hours"]), (2, ["U1", 5])]
    from sparkout.interchange.source import Sheet

    sheet = Sheet("s", lambda: iter(rows))
    mapping = propose_sheet(sheet, "hours")
    assert "no column says the date" in questions(mapping)[0]
    from dataclasses import replace

    settled = replace(mapping, settled={"on": "2026-01-02", "machine": "G1"})
    assert questions(settled) == []
    (found,) = drafts(settled, sheet)
    assert isinstance(found, Draft)
    assert found.entries == {"on": datetime.date(2026, 1, 2), "machine": "G1", "unit": "U1", "hours": "5 h"}


def test_two_columns_of_one_field_and_many_without_saying_of_what() -> None:
    columns = (Column(0, "a", "name"), Column(1, "b", "name"))
    assert "two columns are the machine" in questions(SheetMapping("s", "machine", columns=columns))[0]
    many = (Column(0, "a", "unit"), Column(1, "b", "date"), Column(2, "c", "value"), Column(3, "d", "value"))
    assert [q for q in questions(SheetMapping("s", "reading", columns=many)) if "is of" in q][
        1
    ] == "s: say what the column 'd' is of"


def test_a_mapping_goes_to_json_and_back(tmp_path: Path) -> None:
    import json

    mapping = proposed(opened(tmp_path, "Mower,Site\nG1,north\n"))
    assert FileMapping.from_data(json.loads(json.dumps(mapping.as_data()))) == mapping
    for wrong in ({}, {"sparkout mapping": 2}, {"sparkout mapping": 1, "sheets": [{}], "delimiter": ""}):
        with pytest.raises(Refusal, match="no mapping"):
            FileMapping.from_data(wrong)
    data: Any = mapping.as_data()
    data["sheets"][0]["columns"][0]["field"] = "flavour"
    with pytest.raises(Refusal, match="flavour"):
        FileMapping.from_data(json.loads(json.dumps(data)))


def test_a_known_shape_is_known_whatever_the_days() -> None:
    assert shape_of([("a", ["Unit", "2026-01-02"])]) == shape_of([("a", ["unit ", "2026-02-02"])])
    assert shape_of([("a", ["Unit"])]) != shape_of([("a", ["Unit", "Hours"])])


def test_what_was_said_goes_on_to_the_next_file(tmp_path: Path) -> None:
    first = proposed(opened(tmp_path, "Unit,2026-01-02\nU1,100\n"))
    next_one = proposed(opened(tmp_path, "Unit,2026-02-02\nU1,100\n"))
    assert adapted(first, next_one).sheets[0].columns[1].of == {"on": "2026-02-02"}


def test_each_sheet_of_a_workbook_for_itself(tmp_path: Path) -> None:
    content = workbook(
        fleet=[["Mower", "Site"], ["G1", "north"]],
        hours=[["Unit", "Date", "Hours"], ["U1", datetime.date(2026, 1, 2), 12.5]],
        chart=[["nothing"], [1]],
    )
    source = opened(tmp_path, content, "t.xlsx")
    mapping = proposed(source)
    assert [sheet.kind for sheet in mapping.sheets] == ["machine", "hours", ""]
    assert [sheet.kind for sheet in mapping.used] == ["machine", "hours"]


def test_infeeds_in_one_cell() -> None:
    assert infeeds("0.02 mm; 0.02 mm | 0") == ["0.02 mm", "0.02 mm", "0"]
