"""Text tables: the encoding and the delimiter are found in the file."""

from __future__ import annotations

import codecs
import contextlib
import csv
import io
import re
import zipfile
from collections import Counter
from typing import IO, TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.interchange.source import MOST_COLUMNS, MOST_ROWS, Rows, Sheet

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

DELIMITERS = {",": "comma", ";": "semicolon", "\t": "tabulator", "|": "bar", "^": "caret", "~": "tilde", ":": "colon"}
_CHUNK = 1 << 18
_LOOKED_AT = 80
_DANGEROUS = re.compile(r"'*[=+\-@\t\r]")


def text_sheet(path: Path, name: str, delimiter: str = "", member: str = "") -> Sheet:
    """Return the table in a text file, or in a text file of a zip; `delimiter` stands in for the one found.

    Raises
    ------
    Refusal
        When it is no text.
    """
    encoding = _encoding(path, member)
    start = _start(path, member, encoding)
    told = _told_delimiter(start)
    used = delimiter or told or found_delimiter(start)
    short = name.rsplit("/", 1)[-1].rsplit(".", 1)[0] if member else name

    def rows() -> Rows:
        with _opened(path, member) as raw, io.TextIOWrapper(raw, encoding, newline="") as text:
            yield from _split(text, used, skip_first=bool(told))

    return Sheet(short, rows, is_text=True, delimiter=used)


@contextlib.contextmanager
def _opened(path: Path, member: str) -> Iterator[IO[bytes]]:
    if not member:
        with path.open("rb") as handle:
            yield handle
        return
    with zipfile.ZipFile(path) as archive, archive.open(member) as part:
        yield part


def _encoding(path: Path, member: str) -> str:
    with _opened(path, member) as handle:
        start = handle.read(_CHUNK)
        marked = {codecs.BOM_UTF8: "utf-8-sig", codecs.BOM_UTF16_LE: "utf-16", codecs.BOM_UTF16_BE: "utf-16"}
        for mark, name in marked.items():
            if start.startswith(mark):
                return _readable(start, handle, name)
        if b"\0" in start:
            odd, even = start[1::2].count(0), start[0::2].count(0)
            if max(odd, even) < 0.3 * len(start) / 2 or min(odd, even) > 0.05 * len(start):
                raise Refusal(phrase("this is not a text file: it holds zero bytes"))
            return _readable(start, handle, "utf-16-le" if odd > even else "utf-16-be")
        return _readable(start, handle, "utf-8")


def _readable(start: bytes, handle: IO[bytes], encoding: str) -> str:
    """Return the encoding when the whole file reads in it; UTF-8 gives way to the western Windows code page."""
    decoder, line = codecs.getincrementaldecoder(encoding)(), 1
    piece = start
    while True:
        try:
            text = decoder.decode(piece, final=not piece)
        except UnicodeDecodeError:
            if encoding == "utf-8":
                handle.seek(0)
                return _readable(handle.read(_CHUNK), handle, "cp1252")
            raise Refusal(phrase("the text cannot be read near line {line}; save it as UTF-8", line=line)) from None
        if "\0" in text:
            line += text[: text.index("\0")].count("\n")
            raise Refusal(phrase("this is not a text file: a zero byte stands in line {line}", line=line))
        line += text.count("\n")
        if not piece:
            return encoding
        piece = handle.read(_CHUNK)


def _start(path: Path, member: str, encoding: str) -> str:
    with _opened(path, member) as raw, io.TextIOWrapper(raw, encoding, newline="") as text:
        return text.read(_CHUNK)


def _told_delimiter(start: str) -> str:
    line = start.split("\n", 1)[0].strip("\r")
    return line[4] if line.lower().startswith("sep=") and len(line) == 5 else ""


def found_delimiter(start: str) -> str:
    """Return the delimiter that splits most lines into the same number of cells.

    Examples
    --------
    >>> found_delimiter("unit;diameter\\nG1;127,4\\nG2;126,9\\n"), found_delimiter("only one column\\n")
    (';', ',')
    """
    best, found = (0.0, 1), ","
    for candidate in DELIMITERS:
        with contextlib.suppress(csv.Error):
            reader = csv.reader(io.StringIO(start, newline=""), delimiter=candidate)
            counts = [len(row) for row, _ in zip(reader, range(_LOOKED_AT), strict=False) if any(row)]
            usual, often = Counter(counts).most_common(1)[0] if counts else (1, 0)
            score = (round(often / len(counts), 1), usual) if counts and usual > 1 else (0.0, 1)
            if score > best:
                best, found = score, candidate
    return found


def _split(text: IO[str], delimiter: str, *, skip_first: bool) -> Rows:
    reader, line = csv.reader(text, delimiter=delimiter), 1
    try:
        for row in reader:
            if not (skip_first and line == 1):
                if len(row) > MOST_COLUMNS:
                    raise Refusal(
                        phrase(
                            "line {line} has {n} cells; allowed: up to {most}", line=line, n=len(row), most=MOST_COLUMNS
                        )
                    )
                yield line, [_undefused(cell) or None for cell in row]
            line = reader.line_num + 1
            if line > MOST_ROWS:
                raise Refusal(phrase("the table has more than {most} lines", most=MOST_ROWS))
    except csv.Error as error:
        raise Refusal(
            phrase(
                "the cell that begins in line {line} does not end ({why}); is a quote missing?",
                line=line,
                why=AsTyped(str(error)),
            )
        ) from None


class Defused(str):
    """Text that was written with an apostrophe in front so that no spreadsheet takes it for a formula."""

    __slots__ = ()


def _undefused(cell: str) -> str:
    told = cell.strip()
    return Defused(told[1:]) if told.startswith("'") and _DANGEROUS.match(told) else told


def defused(text: str) -> str:
    """Return text that a spreadsheet shows and does not calculate; reading takes the apostrophe away again.

    Examples
    --------
    >>> defused("=1+1"), defused("unit 3")
    ("'=1+1", 'unit 3')
    """
    return f"'{text}" if _DANGEROUS.match(text) else text
