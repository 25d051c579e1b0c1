"""Spreadsheets as sheets of rows: real dates as dates, numbers as numbers, formulas as what they gave."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.interchange.guard import check_sheets
from sparkout.interchange.source import MOST_COLUMNS, MOST_ROWS, Cell, Rows, Sheet

if TYPE_CHECKING:
    import zipfile
    from pathlib import Path


def workbook_sheets(path: Path, kind: str, archive: zipfile.ZipFile | None = None) -> list[Sheet]:
    """Return the visible sheets of a workbook (xlsx, ods, xls).

    Raises
    ------
    Refusal
        When it cannot be read.
    """
    if archive is not None:
        check_sheets(archive, kind)
    from python_calamine import SheetVisibleEnum

    book = _opened(path)
    names = [
        sheet.name
        for sheet in book.sheets_metadata
        if sheet.visible == SheetVisibleEnum.Visible and str(sheet.typ).endswith("WorkSheet")
    ]
    return [Sheet(name, lambda name=name: _rows(path, name)) for name in names]  # type: ignore[misc]


def _opened(path: Path) -> Any:
    from python_calamine import CalamineWorkbook, PasswordError

    try:
        return CalamineWorkbook.from_path(str(path))
    except PasswordError:
        raise Refusal(phrase("the file is protected by a password; save it without one")) from None
    except Exception as error:
        raise _broken(error) from None
    except BaseException as error:
        if type(error).__name__ == "PanicException":  # the reader gave up on a broken file
            raise _broken(error) from None
        raise


def _broken(error: BaseException) -> Refusal:
    return Refusal(phrase("the workbook cannot be read: {why}", why=AsTyped(" ".join(str(error).split())[:120])))


def _rows(path: Path, name: str) -> Rows:
    book = _opened(path)
    try:
        sheet = book.get_sheet_by_name(name)
    except Exception as error:
        raise _broken(error) from None
    if sheet.start is None:
        return
    height, width = sheet.total_height, sheet.total_width
    if width > MOST_COLUMNS or height > MOST_ROWS:
        raise Refusal(
            phrase(
                "sheet '{name}' has {height} rows and {width} columns; allowed: up to {rows} rows, {columns} columns",
                name=AsTyped(name),
                height=height,
                width=width,
                rows=MOST_ROWS,
                columns=MOST_COLUMNS,
            )
        )
    before: list[Cell] = [None] * sheet.start[1]  # rows come from the first on, columns only from where they begin
    for number, row in enumerate(sheet.iter_rows(), 1):
        yield number, before + [_cell(value) for value in row]


def _cell(value: Any) -> Cell:
    if value == "":
        return None
    if isinstance(value, float) and value.is_integer() and abs(value) < 1e15:
        return int(value)
    if isinstance(value, datetime.datetime) and value.time() == datetime.time():
        return value.date()
    return value  # type: ignore[no-any-return]
