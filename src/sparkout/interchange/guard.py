"""Archives that are made to do harm, told before anything is unpacked into memory."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    import zipfile
    from collections.abc import Iterator

_MOST_UNPACKED = 1_500_000_000
_SUSPICIOUS = 20_000_000
"""Below this many bytes unpacked, a good packing is no reason to worry."""
_BEST_PACKING = 150
"""Real sheets pack 5 to 40 times; a bomb a thousand times."""
_MOST_MEMBERS = 2000
MOST_CELLS = 12_000_000
"""Cells of the rectangle that holds all of a sheet's: the reader keeps it in memory, 32 bytes each."""
_CHUNK = 1 << 20

_XLSX_CELL = re.compile(rb'<(?:\w+:)?c\s[^>]*?\br="([A-Z]{1,4})(\d{1,9})"')
_ODS_PART = re.compile(rb"<table:(table-row|table-cell|covered-table-cell|table)\b([^>]*)>")
_REPEATED = re.compile(rb'number-(?:columns|rows)-repeated="(\d+)"')


def checked_archive(archive: zipfile.ZipFile) -> set[str]:
    """Return the names in an archive that may be unpacked.

    Raises
    ------
    Refusal
        When it would unpack to far more than it is, is encrypted, or holds another archive's worth of members.
    """
    members = archive.infolist()
    if len(members) > _MOST_MEMBERS:
        raise Refusal(phrase("the file holds {n} parts; allowed: up to {most}", n=len(members), most=_MOST_MEMBERS))
    whole = sum(member.file_size for member in members)
    packed = sum(member.compress_size for member in members)
    if whole > _MOST_UNPACKED or (whole > _SUSPICIOUS and whole > _BEST_PACKING * max(packed, 1)):
        raise Refusal(
            phrase(
                "the file would unpack from {packed:.1f} to {whole:.0f} MB, as no honest table does; it is not opened",
                packed=packed / 1e6,
                whole=whole / 1e6,
            )
        )
    if any(member.flag_bits & 1 for member in members):
        raise Refusal(phrase("the file is protected by a password; save it without one"))
    return {member.filename for member in members}


def check_sheets(archive: zipfile.ZipFile, kind: str) -> None:
    """Read a workbook's parts once, without keeping them, and refuse what would fill the memory.

    Raises
    ------
    Refusal
        When a sheet spans too many cells or a part holds entities of its own.
    """
    for member in archive.infolist():
        if not member.filename.endswith((".xml", ".rels")):
            continue
        sheet = kind == "xlsx" and member.filename.startswith("xl/worksheets/")
        measure = _Xlsx() if sheet else _Ods() if kind == "ods" and member.filename == "content.xml" else None
        with archive.open(member) as handle:  # a size that lies is found by the archive's own checksum
            for piece in _pieces(iter(lambda h=handle: h.read(_CHUNK), b"")):  # type: ignore[misc]
                if b"<!ENTITY" in piece or b"<!DOCTYPE" in piece:
                    raise Refusal(
                        phrase("part {name} declares entities, as no table does", name=AsTyped(member.filename))
                    )
                if measure is not None:
                    measure.look(piece)


def _pieces(chunks: Iterator[bytes]) -> Iterator[bytes]:
    """Yield the content in pieces that end where a tag ends."""
    kept = b""
    for chunk in chunks:
        kept += chunk
        end = kept.rfind(b">") + 1
        if end:
            yield kept[:end]
            kept = kept[end:]
        elif len(kept) > 8 * _CHUNK:
            raise Refusal(phrase("a part of the file is no XML"))
    yield kept


def column_number(letters: str) -> int:
    """Return which column letters name, A being 1.

    Examples
    --------
    >>> column_number("A"), column_number("Z"), column_number("AA"), column_number("XFD")
    (1, 26, 27, 16384)
    """
    number = 0
    for letter in letters:
        number = 26 * number + ord(letter) - 64
    return number


def _refuse_span(rows: int, columns: int) -> None:
    if rows * columns > MOST_CELLS:
        raise Refusal(
            phrase(
                "a sheet spans {rows} rows and {columns} columns; allowed: up to {most:.0f} million cells. Delete what "
                "stands far out, or save the table alone",
                rows=rows,
                columns=columns,
                most=MOST_CELLS / 1e6,
            )
        )


class _Xlsx:
    """The rectangle in which a sheet's cells lie."""

    def __init__(self) -> None:
        self.rows, self.columns = 0, 0

    def look(self, piece: bytes) -> None:
        seen = set()
        for match in _XLSX_CELL.finditer(piece):
            seen.add(match[1])
            self.rows = max(self.rows, int(match[2]))
        self.columns = max([self.columns, *(column_number(letters.decode()) for letters in seen)])
        _refuse_span(self.rows, self.columns)


class _Ods:
    """The same for a table in which repeated rows and cells stand once."""

    def __init__(self) -> None:
        self.rows, self.columns, self.at, self.repeat, self.waiting = 0, 0, 0, 1, 0

    def look(self, piece: bytes) -> None:
        for match in _ODS_PART.finditer(piece):
            told = _REPEATED.search(match[2])
            count = int(told[1]) if told else 1
            if match[1] == b"table":
                self.rows, self.columns, self.waiting = 0, 0, 0
            elif match[1] == b"table-row":
                self.at, self.repeat = 0, count
                self.waiting += count
            else:
                self.at += count
                if b"value-type" in match[2] or b"formula" in match[2]:
                    self.columns = max(self.columns, self.at)
                    self.rows = self.waiting
        _refuse_span(self.rows, self.columns)
