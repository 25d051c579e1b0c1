"""Rows as drafts of records: each cell read by the declaration of its field, or the reason why it cannot be."""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from functools import lru_cache
from types import SimpleNamespace
from typing import TYPE_CHECKING, Any

from pydantic_core import PydanticCustomError

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.interchange.headings import PLACES, QUANTITY_WORDS, WHENS, told
from sparkout.interchange.values import as_text, clock, day, quantity, told_by
from sparkout.visit.asked import Depends, Quantity
from sparkout.visit.entered import Entered, Place
from sparkout.visit.problems import problem_of
from sparkout.visit.words import Switch, Where, Whole, Word

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.interchange.fields import Field
    from sparkout.interchange.mapping import Column, SheetMapping
    from sparkout.interchange.source import Cell, Sheet

_WORDS: dict[str, dict[str, str]] = {
    "of": {**QUANTITY_WORDS},
    "quantity": {**QUANTITY_WORDS},
    "when": {**WHENS, "left": "as left"},
    "which": {"vorne": "front", "hinten": "rear", "back": "rear"},
    "step": {
        "grind": "spin grind", "ground": "spin grind", "spin": "spin grind", "spin ground": "spin grind",
        "reel grind": "spin grind", "rundschliff": "spin grind", "relief": "relief grind",
        "hinterschliff": "relief grind",
        "relief ground": "relief grind", "knife ground": "knife grind", "bedknife grind": "knife grind",
        "bottom blade grind": "knife grind", "faced": "knife grind", "adjusted": "set", "eingestellt": "set",
        "wheel changed": "wheel mounting", "entgraten": "deburr", "setup": "set up grinder",
    },
    "kind": {
        "topdressing": "sand", "top dressing": "sand", "sanding": "sand", "besandung": "sand", "sanden": "sand",
        "hit": "stone", "strike": "stone", "stein": "stone", "stone strike": "stone", "sonstiges": "other",
        "pi tape": "tape", "circumference tape": "tape", "massband": "tape", "umfangsband": "tape",
        "caliper": "jaws", "calliper": "jaws", "micrometer": "jaws", "messschieber": "jaws",
        "buegelmessschraube": "jaws",
        "dial indicator": "dial", "dial gauge": "dial", "messuhr": "dial", "feeler gauge": "feeler",
        "feelers": "feeler",
        "leaves": "feeler", "fuehlerlehre": "feeler", "rule": "scale", "loupe": "scale", "lineal": "scale",
        "tiefenmesser": "depth gauge", "winkelmesser": "protractor", "haarlineal": "straight edge",
        "federwaage": "spring balance", "height bar": "setting bar",
    },
}  # fmt: skip
_YES, _NO = {"yes", "y", "true", "1", "x", "ja", "wahr", "oui"}, {"no", "n", "false", "0", "nein", "falsch", "non"}
_INFEEDS = re.compile(r"\s*[;/|]\s*")


@dataclass(frozen=True, slots=True)
class Draft:
    """A record as one row (or one column of it) gives it: fields with what will be kept."""

    row: int
    column: str
    """The heading, for a column of many; else empty."""
    entries: dict[str, Any]


@dataclass(frozen=True, slots=True)
class NotRead:
    """A row (or one column of it) that cannot be read, and why."""

    row: int
    column: str
    why: str


def drafts(mapping: SheetMapping, sheet: Sheet) -> Iterator[Draft | NotRead]:
    """Yield what the rows below the heading give; empty rows and headings that come again give nothing.

    Examples
    --------
    >>> from sparkout.interchange.mapping import Column, SheetMapping
    >>> from sparkout.interchange.source import Sheet
    >>> sheet = Sheet("t", lambda: iter([(1, ["Name", "Site"]), (2, ["G1", "north"]), (3, [None, "north"])]))
    >>> mapping = SheetMapping("t", "machine", 1, 1, (Column(0, "Name", "name"), Column(1, "Site", "place")))
    >>> for found in drafts(mapping, sheet):
    ...     print(found)
    Draft(row=2, column='', entries={'name': 'G1', 'place': 'north'})
    NotRead(row=3, column='', why='machine: nothing stands here, and it is needed')
    """
    reader = _Reader(mapping, sheet)
    for number, row in sheet.rows():
        if number > mapping.heading:
            yield from reader.read(number, row)


class _Reader:
    def __init__(self, mapping: SheetMapping, sheet: Sheet) -> None:
        self.mapping, self.is_text = mapping, sheet.is_text
        cells = [(column, field) for column, field in mapping.used() if not (field.spreads and column.of)]
        self.cells = sorted(cells, key=lambda cell: isinstance(cell[1].asked, Depends))  # behind what they depend on
        self.spread = [(column, field) for column, field in mapping.used() if field.spreads and column.of]
        self.headings = {column.index: column.heading for column in mapping.columns}
        self.above: dict[int, Cell] = {}
        known = mapping.record.by_key
        self.settled = {key: self._taken(known[key], value, "") for key, value in mapping.settled.items() if value}
        self.of = {
            column.index: {key: self._taken(known[key], value, "") for key, value in column.of.items()}
            for column, _ in self.spread
        }
        self.remembered = lru_cache(20_000)(self._taken)

    def read(self, number: int, row: list[Cell]) -> Iterator[Draft | NotRead]:
        if all(cell in (None, "") for cell in row) or self._is_heading(row):
            return
        entries, wrong = dict(self.settled), []
        for column, field in self.cells:
            try:
                value = self._cell(column, field, row, entries)
            except Refusal as refusal:
                wrong.append(_named(field, told_by(refusal)))
                continue
            if value is not None:
                entries[field.key] = value
        if not self.spread:
            yield self._whole(number, "", entries, wrong)
            return
        yield from self._spread(number, row, entries, wrong)

    def _spread(
        self, number: int, row: list[Cell], entries: dict[str, Any], wrong: list[str]
    ) -> Iterator[Draft | NotRead]:
        for column, field in self.spread:
            own = {**entries, **self.of[column.index]}
            try:
                value = self._cell(column, field, row, own)
            except Refusal as refusal:
                yield NotRead(number, column.heading, joined("; ", [*wrong, told_by(refusal)]))
                continue
            if value is not None:
                yield self._whole(number, column.heading, {**own, field.key: value}, wrong)

    def _whole(self, number: int, column: str, entries: dict[str, Any], wrong: list[str]) -> Draft | NotRead:
        lacking = [
            phrase("{field}: nothing stands here, and it is needed", field=phrase(entry.words))
            for entry in self.mapping.record.needed
            if entry.key not in entries and not wrong
        ]
        if wrong or lacking:
            return NotRead(number, column, joined("; ", [*wrong, *lacking]))
        entries.pop("unit of value", None)
        return Draft(number, column, entries)

    def _is_heading(self, row: list[Cell]) -> bool:
        same = [as_text(row[i]) == heading for i, heading in self.headings.items() if i < len(row) and heading]
        return bool(same) and all(same)

    def _cell(self, column: Column, field: Field, row: list[Cell], entries: dict[str, Any]) -> Any:
        cell = row[column.index] if column.index < len(row) else None
        if self.mapping.repeats and (field.names or field.is_day):
            cell = self.above.get(column.index) if cell in (None, "") else cell
            self.above[column.index] = cell
        if cell in (None, ""):
            return None
        if self.is_text and type(cell) is str and cell.startswith("="):
            raise Refusal(phrase("'{text}' is a formula, not a value", text=AsTyped(cell[:40])))
        if isinstance(field.asked, Depends):
            return _depending(field, cell, entries.get("unit of value") or column.unit, self.mapping.decimal, entries)
        return self.remembered(field, cell, column.unit)

    def _taken(self, field: Field, cell: Cell, unit: str) -> Any:
        return taken(field, cell, unit, self.mapping.decimal, self.mapping.order)


def taken(field: Field, cell: Cell, unit: str = "", decimal: str = "", order: str = "") -> Any:
    """Return a cell as the field keeps it: a quantity as typed with its unit, a day, one of the words it may be.

    Raises
    ------
    Refusal
        In the words of the field's declaration: what stands there, what is allowed, in which unit.
    """
    return _read(field, _prepared(field, cell, unit, decimal, order))


def _prepared(field: Field, cell: Cell, unit: str, decimal: str, order: str) -> Any:  # noqa: PLR0911 - one a kind
    match field.asked:
        case Quantity():
            return quantity(cell, unit, decimal)
        case Where():
            words, _ = told(as_text(cell))
            return PLACES.get(words) or quantity(cell, unit, decimal)
        case Whole():
            return cell if isinstance(cell, int | float) else as_text(cell)
        case Switch():
            return _switched(cell)
        case Word():
            return _worded(field, as_text(cell))
        case _ if field.is_day:
            return day(cell, order)
        case _ if field.is_clock:
            return clock(cell)
        case _ if field.key == "infeeds":
            return as_text(quantity(cell, unit or "mm", decimal) if isinstance(cell, float) else cell)
        case _:
            return as_text(cell)


def _read(field: Field, given: Any) -> Any:
    try:
        found = field.asked.read(given)
    except PydanticCustomError as error:
        raise _problem(error) from None
    if isinstance(found, Entered | Place):
        return found.typed
    if isinstance(found, datetime.time):
        return found.isoformat()
    return found


def _problem(error: PydanticCustomError) -> Refusal:
    return Refusal(problem_of("", error.context).reason)


def _named(field: Field, why: str) -> str:
    return phrase("{field}: {why}", field=phrase(field.words), why=why)


def _depending(field: Field, cell: Cell, unit: str, decimal: str, entries: dict[str, Any]) -> Any:
    assert isinstance(field.asked, Depends)
    if field.asked.on not in entries:
        raise Refusal(
            phrase("nothing says of what this is; a column with the {what} is needed", what=phrase("quantity"))
        )
    try:
        found = field.asked.read_with(quantity(cell, unit, decimal), SimpleNamespace(data=entries))
    except PydanticCustomError as error:
        raise _problem(error) from None
    return found.typed


def _switched(cell: Cell) -> bool:
    word = as_text(cell).lower()
    if isinstance(cell, bool) or word in _YES | _NO:
        return cell if isinstance(cell, bool) else word in _YES
    raise Refusal(phrase("'{text}' is neither yes nor no", text=AsTyped(word)))


def _worded(field: Field, text: str) -> str:
    choices = {choice.lower() for choice in field.choices}
    if text.lower() in choices:
        return text
    words, _ = told(text)
    known = _WORDS.get(field.key, {})
    found = known.get(words) or known.get(text.lower()) or words  # told in one vocabulary: cylinder is reel
    return found if found is not None and found in field.choices else text


def infeeds(text: str) -> list[str]:
    """Return the infeeds of the passes written in one cell.

    Examples
    --------
    >>> infeeds("0.02 mm / 0.02 mm / 0 mm")
    ['0.02 mm', '0.02 mm', '0 mm']
    """
    return [part for part in _INFEEDS.split(text.strip()) if part]
