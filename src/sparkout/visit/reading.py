"""A visit file in, a Visit out; or everything that is wrong with it, at once."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path as FilePath
from typing import TYPE_CHECKING, Any, NoReturn

from sparkout.core.phrase import phrase
from sparkout.visit.lines import line_finder
from sparkout.visit.problems import Path, Problem, VisitProblems, printable

if TYPE_CHECKING:
    import datetime

    from sparkout.visit.problems import Question
    from sparkout.visit.schema import Visit

LARGEST = 1_000_000
"""Bytes; a visit with a thousand readings stays well below."""

_DEEPEST_KEY = 16
_DOTTED = re.compile(
    r"""(?<![\w"'-])(?:(?>[\w-]+|"[^"\n]*"|'[^'\n]*')(?>[ \t]*)\.(?>[ \t]*)){%d}""" % _DEEPEST_KEY  # noqa: UP031
)


@dataclass(frozen=True, slots=True)
class VisitFile:
    """A visit that can be used, with where each entry stands in its file."""

    visit: Visit
    line_of: Callable[[Path], int | None]

    def questions(self, today: datetime.date | None = None) -> tuple[Question, ...]:
        """Return what has to be asked about the visit; `today` tells which calibrations have run out."""
        from sparkout.visit.questions import questions

        return questions(self.visit, today, self.line_of)


def read_visit(source: FilePath | bytes | str) -> Visit:
    """Return the visit in a file (a Path), or in its content as bytes or text; TOML or JSON.

    Raises
    ------
    VisitProblems
        With every problem found: its place, value, allowed range and unit.

    Examples
    --------
    >>> visit = read_visit('unit.name = "3"\\nreel = {blades = 11, diameter = "5 in", length = 533}')
    >>> float(visit.reel.diameter), visit.reel.diameter.text
    (127.0, '5 in')
    >>> read_visit('unit.name = "3"\\nreel = {blades = 11, diameter = 5, length = 533}')
    Traceback (most recent call last):
    ...
    sparkout.visit.problems.VisitProblems: line 2, reel, diameter: 5 counted in mm is too small; allowed: 40 to 600 mm. Did you mean 5 in (127 mm) or 5 cm (50 mm)?
    """  # noqa: E501
    return read_visit_file(source).visit


def read_visit_file(source: FilePath | bytes | str) -> VisitFile:
    """Return the visit as `read_visit`, together with the lines of its entries.

    Raises
    ------
    VisitProblems
        As `read_visit`.
    """
    from sparkout.visit.checking import checked

    data, line_of = tables_in(source)
    return VisitFile(checked(data, line_of), line_of)


def tables_in(source: FilePath | bytes | str) -> tuple[dict[str, Any], Callable[[Path], int | None]]:
    """Return the tables of a TOML or JSON file, unchecked, and where in the file an entry stands.

    Raises
    ------
    VisitProblems
        When it cannot be read as either.
    """
    content = _file_content(source) if isinstance(source, FilePath) else source
    text = _decoded(content)
    json_named = isinstance(source, FilePath) and source.suffix.lower() == ".json"
    form = "json" if json_named or text.lstrip().startswith("{") else "toml"
    return _parsed_json(text) if form == "json" else _parsed_toml(text), line_finder(text, form)


def _refuse(text: str, line: int | None = None, suggestion: str = "") -> NoReturn:
    raise VisitProblems([Problem("", line, text, suggestion=suggestion)])


def _file_content(path: FilePath) -> bytes:
    name = printable(str(path), 200)
    try:
        if path.is_dir():
            _refuse(phrase("{name} is a folder, not a visit file", name=name))
        if path.exists() and not path.is_file():
            _refuse(phrase("{name} is not an ordinary file", name=name))
        with path.open("rb") as handle:
            return handle.read(LARGEST + 1)
    except FileNotFoundError:
        _refuse(
            phrase("there is no file {name}", name=name), suggestion=phrase("'visit new' writes one to start from.")
        )
    except PermissionError:
        _refuse(phrase("{name} may not be read by this user", name=name))
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        _refuse(phrase("{name} cannot be read: {reason}", name=name, reason=reason))


def _decoded(content: bytes | str) -> str:
    size = len(content) if isinstance(content, bytes) else len(content.encode("utf-8", "surrogatepass"))
    if size > LARGEST:
        _refuse(phrase("the file is larger than a visit can be; allowed: up to {most:g} MB", most=LARGEST / 1e6))
    text = content if isinstance(content, str) else _utf8(content)
    text = text.removeprefix("\ufeff")
    if not text.strip():
        _refuse(phrase("the file is empty"), suggestion=phrase("'visit new' writes one to start from."))
    if "\x00" in text:
        _refuse(phrase("this is not a text file"), _line_at(text, text.index("\x00")))
    lone = re.search("[\ud800-\udfff]", text)
    if lone:
        _refuse(phrase("half a character (a lone surrogate) stands here"), _line_at(text, lone.start()))
    return text


def _utf8(content: bytes) -> str:
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        _refuse(phrase("the file is saved as UTF-16"), suggestion=phrase("Save it as UTF-8."))
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content.count(b"\n", 0, error.start) + 1
        if b"\x00" in content:
            _refuse(phrase("this is not a text file"), line)
        byte = content[error.start]
        _refuse(
            phrase("byte 0x{byte:02X} is not UTF-8", byte=byte), line, phrase("Save the file as UTF-8, not as Latin-1.")
        )


def _line_at(text: str, position: int) -> int:
    return text.count("\n", 0, position) + 1


def _parsed_toml(text: str) -> dict[str, Any]:
    deep = _DOTTED.search(text)
    if deep:
        _refuse(
            phrase("a key of more than {most} parts stands here", most=_DEEPEST_KEY),
            _line_at(text, deep.start()),
        )
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        _refuse_toml(str(error), text)
    except RecursionError:
        _refuse(phrase("lists or tables are nested too deeply"))
    except ValueError as error:  # a whole number of thousands of digits
        _refuse(phrase("a value cannot be read: {error}", error=printable(str(error), 100)))


def _refuse_toml(message: str, text: str) -> NoReturn:
    placed = re.search(r"\(at line (\d+), column (\d+)\)$", message)
    line = int(placed[1]) if placed else text.count("\n") + 1
    said = re.sub(r" ?\(at (?:line.*|end of document)\)$", "", message)
    hint = ""
    if re.fullmatch(r"[^\n]{1,300}\.(toml|json)", text):
        hint = phrase("To read a file, pass its pathlib.Path.")
    elif said.startswith(("Cannot overwrite", "Cannot declare")):
        hint = phrase("The same entry stands in the file twice.")
    elif not placed:
        hint = phrase("The file ends in the middle of an entry; was it cut short?")
    elif "value" in said.lower():
        hint = phrase('Texts and quantities with a unit stand in quotes: "2 thou".')
    _refuse(phrase("not readable as TOML: {error}", error=printable(said[:1].lower() + said[1:], 200)), line, hint)


class _Twice(ValueError):
    pass


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise _Twice(key)
        found[key] = value
    return found


def _parsed_json(text: str) -> dict[str, Any]:
    try:
        data = json.loads(text, object_pairs_hook=_once)
        json.dumps(data, ensure_ascii=False).encode("utf-8")
    except _Twice as error:
        _refuse(phrase("not readable as JSON: the key '{key}' stands in one table twice", key=printable(str(error))))
    except json.JSONDecodeError as error:
        cut = (
            phrase("The file ends in the middle of an entry; was it cut short?")
            if error.pos >= len(text.rstrip())
            else ""
        )
        _refuse(
            phrase("not readable as JSON: {error}", error=error.msg[:1].lower() + error.msg[1:]),
            error.lineno,
            cut,
        )
    except UnicodeEncodeError:
        _refuse(phrase("half a character (a lone surrogate) stands in a text"))
    except RecursionError:
        _refuse(phrase("lists or tables are nested too deeply"))
    except ValueError as error:
        _refuse(phrase("a value cannot be read: {error}", error=printable(str(error), 100)))
    if not isinstance(data, dict):
        _refuse(phrase("the file must hold one table: { ... }"))
    return data
