"""Small files of every form, made for the tests."""

from __future__ import annotations

import io
import zipfile
from typing import Any


def workbook(**sheets: list[list[Any]]) -> bytes:
    """An XLSX workbook by the library that writes it, each sheet from its rows."""
    import datetime

    import xlsxwriter

    made = io.BytesIO()
    with xlsxwriter.Workbook(made, {"default_date_format": "yyyy-mm-dd", "strings_to_formulas": False}) as book:
        for name, rows in sheets.items():
            sheet = book.add_worksheet(name.replace("_", " "))
            for at, row in enumerate(rows):
                for column, cell in enumerate(row):
                    if isinstance(cell, datetime.date):
                        sheet.write_datetime(at, column, datetime.datetime(cell.year, cell.month, cell.day))
                    elif cell is not None:
                        sheet.write(at, column, cell)
    return made.getvalue()


def ods(*rows: str) -> bytes:
    """An ODS of one sheet whose rows are given as XML."""
    names = 'xmlns:office="urn:oasis:names:tc:opendocument:xmlns:office:1.0" '
    names += 'xmlns:table="urn:oasis:names:tc:opendocument:xmlns:table:1.0" '
    names += 'xmlns:text="urn:oasis:names:tc:opendocument:xmlns:text:1.0"'
    content = f'<?xml version="1.0"?><office:document-content {names}><office:body><office:spreadsheet>'
    content += f'<table:table table:name="sheet">{"".join(rows)}</table:table>'
    content += "</office:spreadsheet></office:body></office:document-content>"
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        archive.writestr("mimetype", "application/vnd.oasis.opendocument.spreadsheet")
        archive.writestr("content.xml", content)
        archive.writestr("META-INF/manifest.xml", '<?xml version="1.0"?><manifest/>')
    return made.getvalue()


def zipped(**members: bytes) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "/").replace("_csv", ".csv"), content)
    return made.getvalue()
