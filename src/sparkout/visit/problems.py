"""What can be wrong with a visit file, and what has to be asked about it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from sparkout.core.errors import Refusal

Path = tuple[str | int, ...]


def path_text(path: Path) -> str:
    """Return a path as programs write it, list places counted from 0.

    Examples
    --------
    >>> path_text(("readings", 3, "value"))
    'readings[3].value'
    """
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step}]"
        else:
            text += f"{'.' if text else ''}{printable(step, 40)}"
    return text


def printable(text: str, longest: int = 60) -> str:
    """Return text fit for one line of a terminal: control characters escaped, cut when too long.

    Examples
    --------
    >>> printable("a\\x1b[2Jb")
    'a\\\\x1b[2Jb'
    """
    cut = text if len(text) <= longest else text[: longest - 1] + "…"
    return "".join(c if c.isprintable() else ascii(c)[1:-1] for c in cut)


def shown(value: object) -> str:
    """Return what was entered, in a few words; a table or list is named, never spelt out."""
    if isinstance(value, str):
        return f"'{printable(value)}'"
    if isinstance(value, int) and abs(value) >= 10**18:
        return "a whole number of more than 18 digits"
    named = {dict: "a table", list: "a list", tuple: "a list", type(None): "nothing"}
    return named.get(type(value)) or printable(str(value).lower() if isinstance(value, bool) else str(value))


def _place(path: str, line: int | None) -> str:
    """Where to look: the line when known, the section, and for lists which one, counted from 1."""
    worded = re.sub(r"\[(\d+)\]", lambda m: f" no. {int(m[1]) + 1}", path).replace(" no. ", " number ")
    parts = ([f"line {line}"] if line else []) + ([worded.replace(".", ", ")] if worded else [])
    return ", ".join(parts) or "the file"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that must be put right before the file can be used."""

    path: str
    line: int | None
    text: str
    value: str = ""
    allowed: str = ""
    unit: str = ""
    suggestion: str = ""

    @property
    def place(self) -> str:
        """Where it is, for a person: line first, list places counted from 1."""
        return _place(self.path, self.line)

    def __str__(self) -> str:
        spaced = f" {self.unit}" if self.unit else ""
        allowed = f"; allowed: {self.allowed}{spaced}" if self.allowed else ""
        return f"{self.place}: {self.text}{allowed}.{' ' + self.suggestion if self.suggestion else ''}"


@dataclass(frozen=True, slots=True)
class Question:
    """Something that may be a slip; asked, never settled silently."""

    path: str
    line: int | None
    text: str

    @property
    def place(self) -> str:
        """Where it is, for a person: line first, list places counted from 1."""
        return _place(self.path, self.line)

    def __str__(self) -> str:
        return f"{self.place}: {self.text}"


class VisitProblems(Refusal):
    """The visit file cannot be used as it stands; `problems` holds all that is wrong with it."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems, key=lambda p: (p.line or 0, p.path)))
        super().__init__("\n".join(map(str, self.problems)))
