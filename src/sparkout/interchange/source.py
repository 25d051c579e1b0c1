"""A file somebody sends, as sheets of rows: text with any delimiter, XLSX, ODS, XLS, a zip of texts, JSON."""

from __future__ import annotations

import datetime
import itertools
import json
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from pathlib import Path

Cell = str | int | float | bool | datetime.date | datetime.time | datetime.timedelta | None
Rows = Iterator[tuple[int, list[Cell]]]
"""Each row with its number in the file, counted from 1 as a spreadsheet shows it; a text file's is its line."""

LARGEST = 200_000_000
MOST_ROWS = 1_048_576
MOST_COLUMNS = 500
MOST_SHEETS = 100


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table of the file; `rows` reads it from the beginning."""

    name: str
    rows: Callable[[], Rows]
    is_text: bool = False
    """Everything in it is text, so a leading '=' is a formula somebody typed."""
    delimiter: str = ""

    def head(self, count: int) -> list[tuple[int, list[Cell]]]:
        """Return the first rows."""
        rows = self.rows()
        try:
            return list(itertools.islice(rows, count))
        finally:
            close = getattr(rows, "close", None)  # of a generator: the file is let go at once
            if close is not None:
                close()


@dataclass(frozen=True, slots=True)
class Source:
    """A file and its sheets, those without a single cell left out."""

    name: str
    form: str
    """text, workbook, texts in a zip, JSON."""
    sheets: tuple[Sheet, ...]

    def sheet(self, name: str) -> Sheet:
        """Return the sheet of this name.

        Raises
        ------
        Refusal
            When there is none.
        """
        for sheet in self.sheets:
            if sheet.name == name:
                return sheet
        raise Refusal(phrase("the file has no sheet '{name}'", name=AsTyped(name)))


def open_source(path: Path, name: str = "", delimiter: str = "") -> Source:
    """Return the sheets of a file; what it is is told from its content, not from its name.

    Raises
    ------
    Refusal
        When it is no table, is broken, protected, too large, or made to do harm.
    """
    told = name or path.name
    size = path.stat().st_size
    if size == 0:
        raise Refusal(phrase("the file is empty"))
    if size > LARGEST:
        raise Refusal(
            phrase("the file has {size:.0f} MB; allowed: up to {most:.0f} MB", size=size / 1e6, most=LARGEST / 1e6)
        )
    with path.open("rb") as handle:
        start = handle.read(8)
    if start.startswith(b"PK\x03\x04"):
        return _zipped(path, told, delimiter)
    if start.startswith(b"\xd0\xcf\x11\xe0"):
        from sparkout.interchange.workbook import workbook_sheets

        return _source(told, "workbook", workbook_sheets(path, "xls"))
    if start.startswith((b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"\x1f\x8b", b"GIF8", b"Rar!", b"7z")):
        raise Refusal(_no_table())
    if start.lstrip(b"\xef\xbb\xbf").lstrip()[:1] in (b"{", b"["):
        return _source(told, "JSON", _json_sheets(path, told))
    from sparkout.interchange.text import text_sheet

    return _source(told, "text", [text_sheet(path, told, delimiter)])


def _no_table() -> str:
    return phrase("this is no table; allowed: CSV or other text, XLSX, ODS, XLS, a zip of CSV files, Sparkout's JSON")


def _source(name: str, form: str, sheets: list[Sheet]) -> Source:
    filled = tuple(sheet for sheet in sheets if any(any(c not in (None, "") for c in row) for _, row in sheet.head(50)))
    if not filled:
        raise Refusal(phrase("there is nothing in this file's tables"))
    if len(filled) > MOST_SHEETS:
        raise Refusal(phrase("the file has {n} sheets; allowed: up to {most}", n=len(filled), most=MOST_SHEETS))
    return Source(name, form, filled)


def _zipped(path: Path, name: str, delimiter: str) -> Source:
    from sparkout.interchange.guard import checked_archive
    from sparkout.interchange.workbook import workbook_sheets

    try:
        with zipfile.ZipFile(path) as archive:
            members = checked_archive(archive)
            kinds = [kind for kind, sign in (("xlsx", "xl/workbook.xml"), ("ods", "content.xml")) if sign in members]
            if "xl/workbook.bin" in members:
                raise Refusal(phrase("a binary workbook (XLSB) is not read here; save it as XLSX"))
            if kinds:
                return _source(name, "workbook", workbook_sheets(path, kinds[0], archive))
    except (zipfile.BadZipFile, OSError, NotImplementedError, RuntimeError, EOFError) as error:
        raise Refusal(phrase("the file is broken: {why}", why=AsTyped(str(error)[:120]))) from None
    texts = sorted(member for member in members if member.lower().endswith((".csv", ".tsv", ".txt")))
    if not texts:
        raise Refusal(_no_table())
    from sparkout.interchange.text import text_sheet

    return _source(name, "texts in a zip", [text_sheet(path, member, delimiter, member) for member in texts])


def _json_sheets(path: Path, name: str) -> list[Sheet]:
    """Return the lists of flat tables in a JSON file, each as a sheet whose heading row are the keys."""
    try:
        data = json.loads(path.read_bytes())
    except (ValueError, RecursionError) as error:
        raise Refusal(phrase("not readable as JSON: {why}", why=AsTyped(str(error)[:120]))) from None
    tables = {name: data} if isinstance(data, list) else {k: v for k, v in data.items() if isinstance(v, list)}
    return [_json_sheet(key, rows) for key, rows in tables.items() if rows and all(isinstance(r, dict) for r in rows)]


def _json_sheet(name: str, tables: list[dict[str, Any]]) -> Sheet:
    keys = list(dict.fromkeys(key for table in tables for key in table))
    if len(keys) > MOST_COLUMNS or len(tables) > MOST_ROWS:
        raise Refusal(phrase("'{name}' has too many entries", name=AsTyped(name)))

    def rows() -> Rows:
        yield 1, list(keys)
        for i, table in enumerate(tables):
            yield i + 2, [_plain(table.get(key)) for key in keys]

    return Sheet(name, rows)


def _plain(value: Any) -> Cell:
    return value if isinstance(value, str | int | float | bool) or value is None else json.dumps(value)
