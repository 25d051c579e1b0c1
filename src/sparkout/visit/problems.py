"""What can be wrong with a visit file, and what has to be asked about it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase

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
        return AsTyped(f"'{printable(value)}'")
    if isinstance(value, int) and abs(value) >= 10**18:
        return phrase("a whole number of more than 18 digits")
    a_list = phrase("a list")
    named = {dict: phrase("a table"), list: a_list, tuple: a_list, type(None): phrase("nothing")}
    return named.get(type(value)) or printable(str(value).lower() if isinstance(value, bool) else str(value))


def _place(path: str, line: int | None) -> str:
    """Where to look: the line when known, the section, and for lists which one, counted from 1."""
    parts: list[str] = [phrase("line {line}", line=line)] if line else []
    for step in filter(None, path.split(".")):
        name, _, rest = step.partition("[")
        places = [int(number) + 1 for number in re.findall(r"(\d+)\]", rest)]
        numbered: str = AsTyped(name)
        for place in places:
            numbered = phrase("{list} number {number}", list=numbered, number=place)
        parts.append(numbered)
    return joined(", ", parts) if parts else phrase("the file")


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

    @property
    def reason(self) -> str:
        """What is wrong, without where: to stand beside a place told otherwise."""
        reason = self._within(self.text)
        return joined(" ", (phrase("{text}.", text=reason), self.suggestion)) if self.suggestion else reason

    @property
    def words(self) -> str:
        """All of it in one or two sentences."""
        text = phrase("{text}.", text=self._within(phrase("{place}: {text}", place=self.place, text=self.text)))
        return joined(" ", (text, self.suggestion)) if self.suggestion else text

    def _within(self, text: str) -> str:
        """Return the text with what is allowed."""
        if not self.allowed:
            return text
        spaced = f" {self.unit}" if self.unit else ""
        return phrase("{text}; allowed: {allowed}{unit}", text=text, allowed=self.allowed, unit=spaced)

    def __str__(self) -> str:
        return str(self.words)


_OF_A_REFUSAL = ("text", "value", "allowed", "unit", "suggestion")


def problem_of(path: str, told: Mapping[str, object] | None) -> Problem:
    """Return the problem that a declaration's refusal tells, its texts still phrases, to be told in any language."""
    texts = ((told or {}).get(key, "") for key in _OF_A_REFUSAL)
    return Problem(path, None, *(text if isinstance(text, str) else str(text) for text in texts))


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

    @property
    def words(self) -> str:
        """Where it is, and what is asked."""
        return phrase("{place}: {text}", place=self.place, text=self.text)

    def __str__(self) -> str:
        return str(self.words)


class VisitProblems(Refusal):
    """The visit file cannot be used as it stands; `problems` holds all that is wrong with it."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(sorted(problems, key=lambda p: (p.line or 0, p.path)))
        super().__init__(joined("\n", (problem.words for problem in self.problems)))
