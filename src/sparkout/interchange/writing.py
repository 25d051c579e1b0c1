"""Tables out: one workbook, a zip of CSV files, or JSON; units in the headings, numbers as numbers, days as days."""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
import zipfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import IO, TYPE_CHECKING, Any

from sparkout.interchange.fields import Field
from sparkout.interchange.text import defused
from sparkout.units import KINDS, UnitProblem, from_core, parse
from sparkout.visit.asked import Depends, Quantity
from sparkout.visit.quantities import QUANTITIES
from sparkout.visit.words import Text

if TYPE_CHECKING:
    from sparkout.interchange.source import Cell
    from sparkout.units import System

LAYOUT = 1
ABOUT = "about this file"
READ_ONLY = (ABOUT, "history", "files kept", "learnt from grinds", "left out")
"""Sheets of an export that are for reading: they are not brought in again."""
_MOST_ROWS = 1_000_000
_MARK = "unit of value"
Row = dict[str, Any]
Say = Callable[[str], str]


@dataclass(frozen=True, slots=True)
class TableOut:
    """One table on its way out: fields, and rows with their entries as typed; `rows` begins anew each time."""

    sheet: str
    fields: tuple[Field, ...]
    rows: Callable[[], Iterable[Row]]

    def without_empty(self) -> TableOut:
        """Return it without the columns that no row fills; needed ones stay."""
        filled: set[str] = set()
        for row in self.rows():
            filled |= {key for key, value in row.items() if value is not None}
        fields = tuple(f for f in self.fields if f.key in filled or f.needed)
        return TableOut(self.sheet, fields, self.rows)


def for_reading(sheet: str, keys: Sequence[str], rows: Callable[[], Iterable[Row]]) -> TableOut:
    """Return a table that is only for reading."""
    return TableOut(sheet, tuple(Field(key, key, Text(key)) for key in keys), rows)


def column_unit(field: Field, system: System) -> str:
    """Return the unit of a column: the field's own, or its imperial counterpart.

    Examples
    --------
    >>> from sparkout.interchange.targets import KINDS as RECORDS
    >>> [column_unit(RECORDS["reel type"].by_key["diameter"], system) for system in ("mm", "inch")]
    ['mm', 'in']
    """
    if not isinstance(field.asked, Quantity) or not field.unit:
        return ""
    if system == "inch" and field.unit_kind in ("length", "speed", "mass", "force", "temperature", "area"):
        return KINDS[field.unit_kind].imperial
    return field.unit


def _number(value: Any, kind: str, usual: str, unit: str) -> float | int:
    """Return a quantity as a number of a unit, without the last binary digits (12 stay)."""
    number = float(f"{from_core(parse(value, kind, usual), kind, unit):.12g}")
    return int(number) if number.is_integer() and abs(number) < 1e15 else number


def cell_of(field: Field, row: Row, system: System) -> Cell:
    """Return what stands in a cell: quantities in the column's unit, readings in the unit beside them."""
    value = row.get(field.key)
    if field.key == _MARK and "of" in row and row.get("value", row.get("goes", row.get("does_not_go"))) is not None:
        return _reading_unit(row["of"], system)
    match value:
        case None:
            return None
        case list() | tuple():
            return " / ".join(_with_unit(part, field) for part in value)
        case _ if isinstance(field.asked, Quantity):
            return _quantity(value, field, column_unit(field, system) or field.unit)
        case _ if isinstance(field.asked, Depends) and "of" in row:
            entry = QUANTITIES[row["of"]]
            return _number(value, entry.kind, entry.unit, _reading_unit(row["of"], system))
        case _:
            return value if isinstance(value, str | int | float | datetime.date | datetime.time) else str(value)


def _quantity(value: Any, field: Field, unit: str) -> Cell:
    try:
        return _number(value, field.unit_kind, field.unit, unit)
    except UnitProblem:
        return str(value)  # kept before it was asked as a quantity: out as it is, sooner than lost


def _reading_unit(of: str, system: System) -> str:
    entry = QUANTITIES[of]
    return KINDS[entry.kind].imperial if system == "inch" and entry.kind in ("length", "force") else entry.unit


def _with_unit(value: Any, field: Field) -> str:
    bare = not isinstance(value, str)
    unit = field.unit or ("mm" if field.key == "infeeds" else "")
    return f"{value} {unit}".strip() if bare else value


def headings(table: TableOut, system: System, say: Say) -> list[str]:
    """Return the headings, each with its unit."""
    told = []
    for field in table.fields:
        unit = column_unit(field, system)
        told.append(f"{say(field.words)} ({unit})" if unit else say(field.words))
    return told


@dataclass(frozen=True, slots=True)
class PlainTable:
    """One table ready to write: headings and cells."""

    sheet: str
    headings: list[str]
    rows: Iterable[list[Cell]]


def plain_tables(tables: Iterable[TableOut], system: System = "mm", say: Say = str) -> Iterator[PlainTable]:
    """Yield tables with their cells in one unit system and their headings in one vocabulary."""
    for table in tables:
        cells = ([cell_of(field, row, system) for field in table.fields] for row in table.rows())
        yield PlainTable(table.sheet, headings(table, system, say), cells)


def write_workbook(target: IO[bytes], tables: Iterable[PlainTable]) -> None:
    """Write an XLSX workbook, a sheet for each table, row by row: memory does not grow with it."""
    import xlsxwriter  # type: ignore[import-untyped]

    options = {
        "constant_memory": True,
        "strings_to_formulas": False,
        "strings_to_urls": False,
        "strings_to_numbers": False,
        "default_date_format": "yyyy-mm-dd",
    }
    with xlsxwriter.Workbook(target, options) as book:
        bold, day = book.add_format({"bold": True}), book.add_format({"num_format": "yyyy-mm-dd"})
        for table in tables:
            for number, rows in enumerate(_lots(table.rows), 1):
                sheet = book.add_worksheet((table.sheet if number == 1 else f"{table.sheet} {number}")[:31])
                sheet.freeze_panes(1, 0)
                for i, heading in enumerate(table.headings):
                    sheet.set_column(i, i, min(40, max(10, len(heading) + 2)))
                sheet.write_row(0, 0, table.headings, bold)
                for at, row in enumerate(rows, 1):
                    for i, cell in enumerate(row):
                        _put(sheet, at, i, cell, day)


def _lots(rows: Iterable[list[Cell]]) -> Iterator[Iterator[list[Cell]]]:
    """Yield the rows in lots that fit on a sheet; one empty lot when there are none."""
    waiting, first = iter(rows), True
    while True:
        head = next(waiting, None)
        if head is None and not first:
            return
        first = False

        def lot(head: list[Cell] | None = head) -> Iterator[list[Cell]]:
            if head is not None:
                yield head
                for _, row in zip(range(_MOST_ROWS - 1), waiting, strict=False):
                    yield row

        yield lot()


def _put(sheet: Any, at: int, column: int, cell: Cell, day: Any) -> None:
    match cell:
        case None:
            return
        case bool():
            sheet.write_string(at, column, "yes" if cell else "no")
        case int() | float():
            sheet.write_number(at, column, cell)
        case datetime.date():
            sheet.write_datetime(at, column, datetime.datetime(cell.year, cell.month, cell.day), day)
        case _:
            sheet.write_string(at, column, _legible(str(cell))[:32_767])


def _legible(text: str) -> str:
    return re.sub(r"[\x00-\x08\x0b\x0c\x0e-\x1f]", "", text)


def write_texts(target: IO[bytes], tables: Iterable[PlainTable], decimal: str = ".") -> None:
    """Write a zip of CSV files (UTF-8)."""
    with zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as archive:
        for table in tables:
            with archive.open(f"{table.sheet}.csv", "w", force_zip64=True) as part:
                write_text(part, table, decimal)


def write_text(target: IO[bytes], table: PlainTable, decimal: str = ".") -> None:
    """Write one CSV file; with a decimal comma cells are parted by semicolons, as spreadsheets expect."""
    text = io.TextIOWrapper(target, "utf-8-sig", newline="")
    writer = csv.writer(text, delimiter=";" if decimal == "," else ",")
    writer.writerow(map(defused, table.headings))
    for row in table.rows:
        writer.writerow([_as_csv(cell, decimal) for cell in row])
    text.flush()
    text.detach()


def _as_csv(cell: Cell, decimal: str) -> str:
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case int() | float():
            return _marked(repr(cell), decimal)
        case datetime.date() | datetime.time():
            return cell.isoformat()
        case _:
            return defused(str(cell))


def _marked(number: str, decimal: str) -> str:
    """Return a number with this decimal mark; never one that can be read as thousands (12,345 becomes 12,3450)."""
    if decimal == ".":
        return number
    told = number.replace(".", ",")
    return f"{told}0" if re.fullmatch(r"-?[1-9]\d{0,2},\d{3}", told) else told


def write_json(target: IO[bytes], tables: Iterable[TableOut], about: Row) -> None:
    """Write JSON: every quantity a text with its unit, as typed; keys are the fields' own names."""

    def put(text: str) -> None:
        target.write(text.encode())

    put(json.dumps({"sparkout export": LAYOUT, **about}, ensure_ascii=False)[:-1])
    for table in tables:
        put(f',\n"{table.sheet}": [')
        for i, row in enumerate(table.rows()):
            told = {f.key: _as_json(row[f.key], f) for f in table.fields if row.get(f.key) is not None}
            put((",\n" if i else "\n") + json.dumps(told, ensure_ascii=False))
        put("]")
    put("}\n")


def _as_json(value: Any, field: Field) -> Any:
    if isinstance(value, list | tuple):
        return " / ".join(_with_unit(part, field) for part in value)
    if isinstance(field.asked, Quantity) and not isinstance(value, str) and field.unit:
        return f"{value!r} {field.unit}"
    return value if isinstance(value, str | int | float | bool) else str(value)
