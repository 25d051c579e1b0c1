"""On which line each entry of a visit file stands.

The parsers of the standard library do not say. This walks a text that they have already accepted, so it
may be simple: it follows tables, lists and strings, and looks at no value.
"""

from __future__ import annotations

import contextlib
import json
from bisect import bisect_right
from collections.abc import Callable

from sparkout.visit.problems import Path


def line_finder(text: str, form: str) -> Callable[[Path], int | None]:
    """Return the function from a path to its line; a path not in the file gets its nearest ancestor's.

    Examples
    --------
    >>> find = line_finder("[reel]\\nblades = 11\\n[[work]]\\nstep = 'set'", "toml")
    >>> find(("reel", "blades")), find(("work", 0, "step")), find(("reel", "length")), find(("knife",))
    (2, 4, 1, None)
    """
    found: dict[Path, int] | None = None

    def find(path: Path) -> int | None:
        nonlocal found
        if found is None:
            found = _lines(text, form)
        while path and path not in found:
            path = path[:-1]
        return found.get(path) if path else None

    return find


def _lines(text: str, form: str) -> dict[Path, int]:
    walk = _Walk(text.removeprefix("\ufeff"))
    with contextlib.suppress(IndexError, RecursionError):  # a message without a line is better than none
        walk.json_document() if form == "json" else walk.toml_document()
    return walk.lines


class _Walk:
    def __init__(self, text: str) -> None:
        self.text = text
        self.at = 0
        self.starts = [0] + [i + 1 for i, character in enumerate(text) if character == "\n"]
        self.lines: dict[Path, int] = {}
        self.last: dict[Path, int] = {}

    def mark(self, path: Path, at: int | None = None) -> None:
        self.lines.setdefault(path, bisect_right(self.starts, self.at if at is None else at))

    def blank(self) -> None:
        """Skip spaces, line ends and comments."""
        while self.at < len(self.text):
            if self.text[self.at] == "#":
                end = self.text.find("\n", self.at)
                self.at = len(self.text) if end < 0 else end
            elif self.text[self.at].isspace():
                self.at += 1
            else:
                return

    def json_document(self) -> None:
        self.blank()
        self.value(())

    def toml_document(self) -> None:
        table: Path = ()
        self.blank()
        while self.at < len(self.text):
            if self.text[self.at] == "[":
                table = self.header()
            else:
                self.pair(table)
            self.blank()

    def header(self) -> Path:
        start = self.at
        many = self.text.startswith("[[", self.at)
        self.at += 2 if many else 1
        path = self.below((), self.key("]"))
        self.at += 2 if many else 1
        if many:
            self.mark(path, start)
            self.last[path] = self.last.get(path, -1) + 1
            path = (*path, self.last[path])
        self.mark(path, start)
        return path

    def below(self, table: Path, key: Path) -> Path:
        """Follow a dotted key down; inside a list of tables the last one is meant."""
        path = table
        for i, step in enumerate(key):
            path = (*path, step)
            if i < len(key) - 1 and path in self.last:
                path = (*path, self.last[path])
        return path

    def pair(self, table: Path) -> None:
        start = self.at
        key = self.key("=:")
        self.at += 1
        for length in range(1, len(key) + 1):
            self.mark(self.below(table, key[:length]), start)
        self.blank()
        self.value(self.below(table, key))

    def key(self, ends: str) -> Path:
        parts: list[str | int] = []
        while True:
            self.blank()
            if self.text[self.at] in "\"'":
                start = self.at
                self.string()
                parts.append(_unquoted(self.text[start : self.at]))
            else:
                start = self.at
                while self.text[self.at] not in ends + ". \t":
                    self.at += 1
                parts.append(self.text[start : self.at])
            self.blank()
            if self.text[self.at] in ends:
                return tuple(parts)
            self.at += 1

    def string(self) -> None:
        mark = self.text[self.at]
        long = mark * 3
        if self.text.startswith(long, self.at):
            self.at += 3
            while not self.text.startswith(long, self.at):
                self.at += 2 if mark == '"' and self.text[self.at] == "\\" else 1
            self.at += 3
            while self.at < len(self.text) and self.text[self.at] == mark:
                self.at += 1
            return
        self.at += 1
        while self.text[self.at] != mark:
            self.at += 2 if mark == '"' and self.text[self.at] == "\\" else 1
        self.at += 1

    def value(self, path: Path) -> None:
        match self.text[self.at]:
            case '"' | "'":
                self.string()
            case "[":
                self.listed(path)
            case "{":
                self.at += 1
                self.blank()
                while self.text[self.at] != "}":
                    self.pair(path)
                    self.comma()
                self.at += 1
            case _:
                while self.at < len(self.text) and self.text[self.at] not in ",]}\n#":
                    self.at += 1

    def listed(self, path: Path) -> None:
        self.at += 1
        self.blank()
        place = 0
        while self.text[self.at] != "]":
            self.mark((*path, place))
            self.value((*path, place))
            self.comma()
            place += 1
        self.at += 1

    def comma(self) -> None:
        self.blank()
        if self.text[self.at] == ",":
            self.at += 1
            self.blank()


def _unquoted(key: str) -> str:
    if key.startswith('"'):
        try:
            return str(json.loads(key))
        except ValueError:
            pass
    return key[1:-1]
