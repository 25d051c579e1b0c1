"""Forms that keep what was typed, take any unit, and say beside each box what is wrong with it."""

from __future__ import annotations

import re
import uuid
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, Phrase, joined, phrase
from sparkout.records.checked import checked_value
from sparkout.records.operations.meanwhile import Clash, Clashes
from sparkout.units import is_bare, parse
from sparkout.visit.asked import Asked, Depends, Quantity
from sparkout.visit.problems import Problem, VisitProblems
from sparkout.visit.words import Day, Switch, Text, Whole, Word
from sparkout.web.shell.decimals import marked, with_comma
from sparkout.web.shell.labels import LABELS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from django.http import QueryDict

    from sparkout.showing import Showing

_NO_UNIT = ("number", "fraction", "count")
_INCH_UNITS = {"km/h": "mph", "m/s": "ft/min", "mm/s": "in/s", "kg": "lb", "N": "lbf", "ha": "acre"}
SEEN = "seen-"
"""Before a field's name: what stood there when the form was opened."""
HOLDS = "holds-"
"""Before a field's name: which of two values holds, after somebody else changed it meanwhile."""


@dataclass(frozen=True, slots=True)
class Field:
    """One thing asked. `takes` is its declaration; `choices` (value, words) make it a list to choose from."""

    name: str
    label: str = ""
    takes: Asked | None = None
    needed: bool = False
    help: str = ""
    choices: tuple[tuple[str, str], ...] | None = None
    offered: tuple[str, ...] = ()
    """Names on file, offered while typing."""
    long: bool = False
    """Several lines."""
    fixed: bool = False
    """Shown, never changed."""
    tick: bool = False
    """Yes or no: "on" where it is ticked."""

    @property
    def words(self) -> str:
        """Its label in the code's words."""
        return self.label or LABELS.get(self.name) or phrase(self.name.replace("_", " "))


@dataclass(frozen=True, slots=True)
class Group:
    """Fields that belong together; a folded group stands closed until wanted."""

    title: str
    fields: tuple[Field, ...]
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Box:
    """One field as the page shows it."""

    name: str
    id: str
    label: str
    unit: str
    help: str
    value: str
    kind: str
    choices: tuple[tuple[str, str], ...]
    offered: tuple[str, ...]
    needed: bool
    longest: int
    wrong: str = ""
    clash: Clash | None = None
    seen: str | None = None

    @property
    def described_by(self) -> str:
        """The texts that go with the box, by their ids."""
        parts = [f"{self.id}-wrong" if self.wrong else "", f"{self.id}-help" if self.help else ""]
        return " ".join(filter(None, parts))


@dataclass(frozen=True, slots=True)
class Shown:
    """A group as the page shows it."""

    title: str
    folded: bool
    boxes: tuple[Box, ...]


@dataclass(slots=True)
class Form:
    """What is asked, what was typed, and what is wrong with it."""

    groups: Sequence[Group]
    showing: Showing
    values: dict[str, str] = field(default_factory=dict)
    seen: dict[str, str] | None = None
    """What stood on file when the form was opened; None where a thing is added."""
    key: str = field(default_factory=lambda: str(uuid.uuid4()))
    wrong: dict[str, str] = field(default_factory=dict)
    clashes: dict[str, Clash] = field(default_factory=dict)
    rest: list[str] = field(default_factory=list)
    """What is wrong with no single box."""
    prefix: str = "f"
    _filed: dict[str, str] = field(init=False)
    """What the form was opened with, as it stands on file."""

    def __post_init__(self) -> None:
        """Keep what the form was opened with."""
        self._filed = dict(self.values)

    @property
    def fields(self) -> list[Field]:
        """All fields that can be changed."""
        return [entry for group in self.groups for entry in group.fields if not entry.fixed]

    @property
    def is_wrong(self) -> bool:
        """Whether anything has to be put right or decided."""
        return bool(self.wrong or self.clashes or self.rest)

    def take(self, sent: QueryDict) -> None:
        """Take what was sent, with what was decided where two people changed the same."""
        self.key = sent.get("key") or self.key
        for entry in self.fields:
            came = sent.get(entry.name, "").strip()
            filed = self._filed.get(entry.name, "")
            self.values[entry.name] = filed if filed and came == self._marked(entry, filed) else came
        if self.seen is None:
            return
        for entry in self.fields:
            self.seen[entry.name] = str(sent.get(SEEN + entry.name, self.seen.get(entry.name, "")))
            if sent.get(HOLDS + entry.name) == "theirs":
                self.values[entry.name] = self.seen[entry.name]

    def typed(self) -> dict[str, str | None]:
        """Return what was typed, bare numbers with the unit that stood beside the box; None where nothing was.

        Raises
        ------
        VisitProblems
            With everything that is wrong in itself.
        """
        found: dict[str, str | None] = {}
        problems: list[Problem] = []
        for entry in self.fields:
            text = self.values.get(entry.name, "")
            try:
                found[entry.name] = self._read(entry, text)
            except VisitProblems as wrong:
                problems += wrong.problems
        if problems:
            raise VisitProblems(problems)
        return found

    def _read(self, entry: Field, text: str) -> str | None:
        if not text:
            if entry.needed:
                raise VisitProblems([Problem(entry.name, None, phrase("this is needed"), allowed=_allowed(entry))])
            return None
        takes = entry.takes
        if isinstance(takes, Depends):
            return counted(entry.name, takes, self.values.get(takes.on, ""), text, self.showing)
        if takes is None or isinstance(takes, Switch):
            return text
        untouched = self.seen is not None and text == self.seen.get(entry.name)
        told = (
            typed_quantity(entry.name, takes, text, self.showing)
            if isinstance(takes, Quantity) and not untouched
            else text
        )
        checked_value(entry.name, takes, told)
        return told

    def refuse(self, refusal: Refusal) -> None:
        """Put what is wrong beside its box, else on top."""
        say, names = self._own_kept().say, {entry.name for entry in self.fields}
        if isinstance(refusal, Clashes):
            self.clashes = {name: clash for name, clash in refusal.clashes.items() if name in names}
            assert self.seen is not None  # only what is on file is changed by two
            self.seen |= {name: clash.theirs for name, clash in self.clashes.items()}
            return
        if not isinstance(refusal, VisitProblems):
            self.rest.append(say(refusal.words))
            return
        for problem in refusal.problems:
            name = _nearest(problem.path, names)
            if name is None:
                self.rest.append(say(problem.words))
            elif name not in self.wrong:
                self.wrong[name] = say(without_place(problem))

    def _own_kept(self) -> Showing:
        """Return the showing that leaves what was typed as it was typed: 'reel 9' may be a name."""
        own = (value for value in self.values.values() if len(value) > 2)
        return replace(self.showing, kept=(*self.showing.kept, *own))

    def shown(self) -> list[Shown]:
        """Return the groups as the page shows them; one with something wrong in it stands open."""
        made = []
        for group in self.groups:
            boxes = tuple(self._box(entry) for entry in group.fields)
            amiss = any(box.wrong or box.clash for box in boxes)
            filled = any(box.value for box in boxes)
            made.append(Shown(self.showing.say(group.title), group.folded and not amiss and not filled, boxes))
        return made

    @property
    def summary(self) -> list[tuple[str, str, str]]:
        """What is wrong, with the id of its box and its label."""
        boxes = [box for group in self.shown() for box in group.boxes]
        said = self.showing.say(phrase("changed by somebody else meanwhile"))
        found = [(box.id, box.label, box.wrong or said) for box in boxes if box.wrong or box.clash]
        return found + [("", "", text) for text in self.rest]

    def _marked(self, entry: Field, value: str) -> str:
        """Return what stands on file as a box shows it: a quantity's number with the reader's decimal mark."""
        if self.showing.decimal == "." or not isinstance(entry.takes, Quantity):
            return value
        return with_comma(value)

    def _box(self, entry: Field) -> Box:
        say, takes = self.showing.say, entry.takes
        value = self.values.get(entry.name, "")
        if value == self._filed.get(entry.name):
            value = self._marked(entry, value)
        return Box(
            name=entry.name,
            id=f"{self.prefix}-{entry.name}",
            label=say(entry.words),
            unit=_sign(beside(takes, self.showing)) if isinstance(takes, Quantity) else "",
            help="; ".join(say(part) for part in _helping(entry, self.showing)),
            value=value,
            kind=_kind(entry),
            choices=tuple((value, say(words)) for value, words in _choices(entry)),
            offered=entry.offered,
            needed=entry.needed,
            longest=min(takes.longest, 4000) if isinstance(takes, Text) else 200,
            wrong=self.wrong.get(entry.name, ""),
            clash=self.clashes.get(entry.name),
            seen=None if self.seen is None or entry.fixed else self.seen.get(entry.name, ""),
        )


def without_place(problem: Problem) -> str:
    """Return what is wrong in words, for a place that is plain to see.

    Examples
    --------
    >>> without_place(Problem("blades", None, "80 is too large", allowed="2 to 40"))
    '80 is too large; allowed: 2 to 40.'
    """
    text: str = phrase("{text}.", text=problem.text)
    if problem.allowed:
        spaced = f" {problem.unit}" if problem.unit else ""
        text = phrase("{text}; allowed: {allowed}{unit}.", text=problem.text, allowed=problem.allowed, unit=spaced)
    return joined(" ", (text, _for_a_box(problem.suggestion))) if problem.suggestion else text


def _for_a_box(suggestion: str) -> str:
    """Return a suggestion; an example as it is typed in a box, not as it stands in a file (`blades = 11`)."""
    example = suggestion.parts.get("entry") if isinstance(suggestion, Phrase) else None
    if example is None:
        return suggestion
    typed = str(example).partition(" = ")[2].strip('"')
    return phrase("For example {entry}.", entry=AsTyped(typed))


def _nearest(path: str, names: set[str]) -> str | None:
    """Return the field that a problem's path names: itself, or its last or first step."""
    for candidate in (path, path.rpartition(".")[2], path.partition(".")[0], path.partition(",")[0]):
        if candidate in names:
            return candidate
    return None


def _sign(unit: str) -> str:
    """Return a unit as it is printed; both are taken where it is typed."""
    return "°" if unit == "deg" else re.sub(r"\bday\b", "d", unit)


def typed_quantity(name: str, takes: Quantity, text: str, showing: Showing) -> str:
    """Return a quantity typed in box `name`: its decimal mark the reader's, a bare number with the unit beside its box.

    Raises
    ------
    VisitProblems
        When the number can be read in two ways.
    """

    def with_unit(text: str) -> str:
        return f"{text} {beside(takes, showing)}".strip() if is_bare(text) else text

    def fits(text: str) -> bool:
        try:
            checked_value(name, takes, with_unit(text))
        except VisitProblems:
            return False
        return True

    return with_unit(marked(name, text, showing.decimal, fits))


def counted(name: str, takes: Depends, decides: str, text: str, showing: Showing) -> str:
    """Return a quantity typed in box `name`, a bare number with its unit; `decides` says what it is of.

    Raises
    ------
    VisitProblems
        When a bare number could be thou or inches.
    """
    try:
        shape = takes.shape({takes.on: decides}) if decides else None
    except KeyError:
        shape = None  # refused by the field that decides
    text = marked(name, text, showing.decimal, lambda _: False)
    if shape is None or not is_bare(text):
        return text
    kind, _, _, unit = shape
    if kind in _NO_UNIT or not unit:
        return text
    if showing.system == "inch":
        told = phrase("'{text}' has no unit: write it with the number, as thou, mm or deg", text=AsTyped(text))
        raise VisitProblems([Problem(name, None, told, value=text)])
    return f"{text} {unit}"


def beside(takes: Quantity, showing: Showing) -> str:
    """Return the unit in which a bare number counts for this reader.

    Examples
    --------
    >>> from sparkout.showing import Showing
    >>> from sparkout.visit.asked import a_length
    >>> infeed, wheel = a_length(0.001, 0.5, "", "0.02 mm"), a_length(20, 600, "", "150 mm")
    >>> [beside(takes, Showing(system)) for system in ("mm", "inch") for takes in (infeed, wheel)]
    ['mm', 'mm', 'thou', 'in']
    """
    if takes.kind in _NO_UNIT:
        return ""
    if showing.system == "mm":
        return takes.unit
    if takes.kind == "length":
        size = parse(takes.example, "length", takes.unit) if takes.example else takes.high
        return showing.unit("length", size)
    return _INCH_UNITS.get(takes.unit, takes.unit)


def _allowed(entry: Field) -> str:
    if entry.choices is not None or entry.takes is None or isinstance(entry.takes, Depends):
        return ""
    return entry.takes.allowed


def _helping(entry: Field, showing: Showing) -> list[str]:
    """Return what helps to fill a field in: what it means, and what is allowed in the unit beside its box."""
    takes = entry.takes
    texts: list[str] = [entry.help] if entry.help else []
    if takes is not None and not entry.help and takes.meaning.lower() not in ("", entry.words.lower()):
        texts.append(takes.meaning)
    if isinstance(takes, Quantity):
        texts.append(AsTyped(_range(takes, showing)))
    elif isinstance(takes, Whole):
        texts.append(takes.allowed)
    return texts


def _range(takes: Quantity, showing: Showing) -> str:
    """Return the allowed range in the unit beside the box."""
    unit = beside(takes, showing)
    told = showing.bounds(takes.low, takes.high, takes.kind, takes.unit, unit)
    return (told.removesuffix(unit) + _sign(unit)).replace(" °", "°") if unit else told


def _kind(entry: Field) -> str:
    if entry.fixed:
        return "fixed"
    if entry.tick:
        return "tick"
    if entry.choices is not None or isinstance(entry.takes, Word):
        return "select"
    if isinstance(entry.takes, Day):
        return "date"
    return "long" if entry.long else "text"


def _choices(entry: Field) -> Iterable[tuple[str, str]]:
    if entry.choices is not None:
        return entry.choices
    if isinstance(entry.takes, Word):
        return (("", phrase("not said")), *((str(choice), phrase(str(choice))) for choice in entry.takes.choices))
    return ()


def as_shown(value: Any, takes: Asked | None) -> str:
    """Return a value on file as it stands in a box: as typed, a bare number with its unit."""
    if value is None:
        return ""
    if isinstance(takes, Quantity) and takes.kind not in _NO_UNIT:
        bare = isinstance(value, int | float) or is_bare(str(value))
        return f"{value} {takes.unit}" if bare else str(value)
    return str(value)


def shown_values(fields: Iterable[Field], table: Mapping[str, Any]) -> dict[str, str]:
    """Return a table of what is on file as it stands in the boxes."""
    return {entry.name: as_shown(table.get(entry.name), entry.takes) for entry in fields}


def given(typed: Mapping[str, str | None], names: Iterable[str]) -> dict[str, str]:
    """Return of these fields those that say something."""
    return {name: value for name in names if (value := typed.get(name)) is not None}
