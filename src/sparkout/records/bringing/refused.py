"""The refused rows of a file as they stood in it, each with the reason: to be put right and brought again."""

from __future__ import annotations

from itertools import groupby
from typing import IO, TYPE_CHECKING

from sparkout.core.phrase import phrase
from sparkout.interchange.mapping import FileMapping
from sparkout.interchange.values import as_text
from sparkout.interchange.writing import PlainTable, write_text, write_texts, write_workbook
from sparkout.records.bringing.store import Outcomes, source_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.interchange.mapping import SheetMapping
    from sparkout.interchange.source import Cell, Source
    from sparkout.interchange.writing import Say
    from sparkout.records.bringing.store import Told
    from sparkout.records.models import TableFile


def refused_rows(file: TableFile, stage: str, say: Say) -> list[PlainTable]:
    """Return each sheet's refused rows: its own columns, then the row's number and why."""
    source, mapping = source_of(file), FileMapping.from_data(file.mapping or {})
    outcomes = Outcomes(file, stage)
    found = []
    for name in dict.fromkeys(told.sheet for told in outcomes.each("refused")):
        sheet = next(s for s in mapping.sheets if s.name == name)
        headings = [column.heading for column in sheet.columns]
        more = [say(phrase("row")), say(phrase("why it was refused"))]
        found.append(PlainTable(name, [*headings, *more], _rows(source, sheet, outcomes, say)))
    return found


def _rows(source: Source, sheet: SheetMapping, outcomes: Outcomes, say: Say) -> Iterator[list[Cell]]:
    """Walk through the sheet and its refusals side by side; both stand in the order of the rows."""
    refusals = groupby((t for t in outcomes.each("refused") if t.sheet == sheet.name), key=lambda told: told.row)
    wanted, told = next(refusals, (None, iter(())))
    for number, row in source.sheet(sheet.name).rows():
        if number == wanted:
            padded = [*row, *[None] * (len(sheet.columns) - len(row))][: len(sheet.columns)]
            yield [*padded, number, "; ".join(_why(one, say) for one in told)]
            wanted, told = next(refusals, (None, iter(())))


def _why(told: Told, say: Say) -> str:
    return f"{told.column}: {say(told.why)}" if told.column else as_text(say(told.why))


def write_refused(target: IO[bytes], form: str, tables: list[PlainTable], decimal: str = ".") -> None:
    """Write them as XLSX, or as CSV: a zip of several when several sheets have refused rows."""
    if form == "xlsx":
        write_workbook(target, tables or [PlainTable("refused", [], [])])
    elif len(tables) == 1:
        write_text(target, tables[0], decimal)
    else:
        write_texts(target, tables, decimal)
