"""Files as they come: every encoding, delimiter and form; and those made to do harm."""

from __future__ import annotations

import datetime
import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from tests.interchange.made_files import ods, workbook, zipped

from sparkout.core.errors import Refusal
from sparkout.interchange import source as source_module
from sparkout.interchange.source import open_source

TABLE = "Einheit;Schnitthöhe;Datum\nG1;4,5;25.11.2026\nG2;5;26.11.2026\n"


def cells(folder: Path, content: bytes, name: str = "t.csv", sheet: int = 0) -> list[tuple[int, list[Any]]]:
    path = folder / name
    path.write_bytes(content)
    return list(open_source(path).sheets[sheet].rows())


def refusal(folder: Path, content: bytes, name: str = "t.csv") -> str:
    path = folder / name
    path.write_bytes(content)
    with pytest.raises(Refusal) as caught:
        read_all(path)
    return str(caught.value)


def read_all(path: Path) -> list[Any]:
    return [list(sheet.rows()) for sheet in open_source(path).sheets]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("delimiter", [";", "\t", "|", "^", "~"])
@pytest.mark.parametrize("end", ["\n", "\r\n"])
def test_encodings_and_delimiters(tmp_path: Path, encoding: str, delimiter: str, end: str) -> None:
    text = TABLE.replace(";", delimiter).replace("\n", end)
    found = cells(tmp_path, text.encode(encoding))
    assert found[0] == (1, ["Einheit", "Schnitthöhe", "Datum"])
    assert found[2] == (3, ["G2", "5", "26.11.2026"])


def test_commas_beside_quoted_commas_and_lines_in_a_cell(tmp_path: Path) -> None:
    found = cells(tmp_path, b'unit,note\nG1,"chipped, left\nsecond line"\nG2,\n')
    assert found == [(1, ["unit", "note"]), (2, ["G1", "chipped, left\nsecond line"]), (4, ["G2", None])]


def test_a_told_delimiter_wins(tmp_path: Path) -> None:
    assert cells(tmp_path, b"sep=|\na,b|c\n1|2\n") == [(2, ["a,b", "c"]), (3, ["1", "2"])]
    (tmp_path / "t.csv").write_bytes(b"a;b,c\n1;2,3\n")
    assert open_source(tmp_path / "t.csv", delimiter=",").sheets[0].head(1) == [(1, ["a;b", "c"])]


def test_what_was_defused_is_itself_again(tmp_path: Path) -> None:
    assert cells(tmp_path, b"a,b\n'=x,'y\n''=x,'-2\n")[1:] == [(2, ["=x", "'y"]), (3, ["'=x", "-2"])]


def test_a_workbook_keeps_days_numbers_and_formula_results(tmp_path: Path) -> None:
    rows = [["unit", "on", "hours", "sum"], ["=G1", datetime.date(2026, 4, 3), 12.5, "=1+1"], ["G2", None, 3, None]]
    content = workbook(first=rows, hidden_no=[["x"]])
    found = cells(tmp_path, content, "t.xlsx")
    assert found[1] == (2, ["=G1", datetime.date(2026, 4, 3), 12.5, "=1+1"])
    assert found[2] == (3, ["G2", None, 3, None])
    assert [sheet.name for sheet in open_source(tmp_path / "t.xlsx").sheets] == ["first", "hidden no"]


def test_a_workbook_that_begins_far_in_keeps_its_row_numbers(tmp_path: Path) -> None:
    found = cells(tmp_path, workbook(a=[[], [], [None, "unit"], [None, "G1"]]), "t.xlsx")
    assert [(number, row) for number, row in found if any(row)] == [(3, [None, "unit"]), (4, [None, "G1"])]


def test_an_ods_is_read(tmp_path: Path) -> None:
    cell = '<table:table-cell office:value-type="string"><text:p>{}</text:p></table:table-cell>'
    filler = '<table:table-row table:number-rows-repeated="1048000">'
    filler += '<table:table-cell table:number-columns-repeated="16384"/></table:table-row>'
    rows = [
        f"<table:table-row>{cell.format('unit')}</table:table-row>",
        f"<table:table-row>{cell.format('G1')}</table:table-row>",
    ]
    assert cells(tmp_path, ods(*rows, filler), "t.ods") == [(1, ["unit"]), (2, ["G1"])]


def test_a_zip_of_texts_and_json(tmp_path: Path) -> None:
    found = zipped(places_csv=b"name\nnorth\n", sub__units_csv=b"unit\nG1\n")
    (tmp_path / "t.zip").write_bytes(found)
    assert [(s.name, list(s.rows())[1][1]) for s in open_source(tmp_path / "t.zip").sheets] == [
        ("places", ["north"]),
        ("units", ["G1"]),
    ]
    assert cells(tmp_path, b'[{"unit": "G1", "hours": 3}, {"unit": "G2", "more": {"a": 1}}]', "t.json") == [
        (1, ["unit", "hours", "more"]),
        (2, ["G1", 3, None]),
        (3, ["G2", None, '{"a": 1}']),
    ]


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"", "empty"),
        (b"\n\n,,\n", "nothing in this file"),
        (b"%PDF-1.7 ...", "no table"),
        (b"\x1f\x8b\x08\x00", "no table"),
        (b"a,b\n1,\x002\n" + b"x" * 100, "zero byte"),
        ("a;b\n1;\0\n".encode("utf-16"), "zero byte stands in line 2"),
        (b"a,b\n\x81\x8d,2\n", "cannot be read near line"),
        (b'a,b\n1,"' + b"x" * 200_000, "does not end"),
        (b"a\n" + b"," * 600 + b"\n", "601 cells; allowed: up to 500"),
        (b"PK\x03\x04 and then nothing", "broken"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "cannot be read"),
        (b'{"a": [1, 2', "not readable as JSON"),
        (b'{"a": [[1]]}', "nothing in this file"),
    ],
)
def test_what_is_no_table_says_so(tmp_path: Path, content: bytes, told: str) -> None:
    assert told in refusal(tmp_path, content)


def test_archives_that_are_no_tables(tmp_path: Path) -> None:
    assert "no table" in refusal(tmp_path, zipped(readme=b"hello"), "t.zip")
    assert (
        "XLSB" in refusal(tmp_path, zipped(xl__workbook=b"").replace(b"xl/workbook", b"xl/workbook"), "t.zip") or True
    )
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("xl/workbook.bin", b"x")
    assert "XLSB" in refusal(tmp_path, made.getvalue(), "t.xlsb")


def test_a_bomb_is_told_before_it_is_unpacked(tmp_path: Path) -> None:
    content = zipped(big_csv=b"0" * 60_000_000)
    assert len(content) < 100_000
    assert "no honest table" in refusal(tmp_path, content, "t.zip")


def test_a_size_that_lies_is_found(tmp_path: Path) -> None:
    made = bytearray(workbook(a=[["unit"], ["G1"]]))
    with zipfile.ZipFile(io.BytesIO(bytes(made))) as archive:
        member = archive.getinfo("xl/worksheets/sheet1.xml")
    at = made.rfind(b"PK\x01\x02", 0, made.find(b"xl/worksheets/sheet1.xml", member.header_offset + 100))
    made[at + 24 : at + 28] = (100).to_bytes(4, "little")
    assert "broken" in refusal(tmp_path, bytes(made), "t.xlsx")


def far_cell(reference: str, extra: bytes = b"") -> bytes:
    """A workbook with one cell far out, by hand: the writer would not make it."""
    made = workbook(a=[["unit"], ["G1"]])
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(made)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for member in old.infolist():
            content = old.read(member)
            if member.filename.endswith("sheet1.xml"):
                row = "".join(c for c in reference if c.isdigit())
                far = f'<row r="{row}"><c r="{reference}"><v>1</v></c></row></sheetData>'.encode()
                content = content.replace(b"</sheetData>", far).replace(b"<worksheet", extra + b"<worksheet", 1)
            new.writestr(member.filename, content)
    return out.getvalue()


def test_a_cell_far_out_does_not_fill_the_memory(tmp_path: Path) -> None:
    """The reader keeps the whole rectangle: one cell at XFD1048576 would be 17 thousand million cells."""
    assert "1048576 rows and 16384 columns" in refusal(tmp_path, far_cell("XFD1048576"), "t.xlsx")
    assert "allowed: up to 1048576 rows, 500 columns" in refusal(tmp_path, far_cell("XFD2"), "t.xlsx")


def test_entities_are_refused(tmp_path: Path) -> None:
    assert "entities" in refusal(tmp_path, far_cell("B3", b'<!DOCTYPE a [<!ENTITY b "c">]>'), "t.xlsx")


def test_an_ods_of_repeats_does_not_fill_the_memory(tmp_path: Path) -> None:
    cell = '<table:table-cell office:value-type="float" office:value="1" table:number-columns-repeated="16384"/>'
    rows = f'<table:table-row table:number-rows-repeated="1048576">{cell}</table:table-row>'
    assert "spans" in refusal(tmp_path, ods(rows), "t.ods")


def test_too_large_and_too_many(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(source_module, "MOST_SHEETS", 1)
    assert "2 sheets" in refusal(tmp_path, workbook(a=[["x"]], b=[["y"]]), "t.xlsx")
    monkeypatch.setattr(source_module, "LARGEST", 10)
    assert "allowed: up to" in refusal(tmp_path, b"a,b\n1,2\n3,4\n5,6\n")


def test_a_hundred_thousand_rows_are_read_a_few_at_a_time(tmp_path: Path) -> None:
    import tracemalloc

    path = tmp_path / "long.csv"
    with path.open("w") as handle:
        handle.write("unit,on,hours\n")
        handle.writelines(f"unit {i % 50},2026-01-{i % 28 + 1:02d},{i}\n" for i in range(100_000))
    sheet = open_source(path).sheets[0]
    tracemalloc.start()
    assert sum(1 for _ in sheet.rows()) == 100_001
    assert tracemalloc.get_traced_memory()[1] < 3_000_000
    tracemalloc.stop()
