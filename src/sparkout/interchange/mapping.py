"""What each sheet and column of a file is taken for: proposed by Sparkout, corrected by a person, kept as JSON."""

from __future__ import annotations

import hashlib
import json
import re
from dataclasses import asdict, dataclass, replace
from dataclasses import field as by_default
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.interchange.headings import told
from sparkout.interchange.targets import KINDS
from sparkout.interchange.values import ORDERS

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sparkout.interchange.fields import Field, Kind

LAYOUT = 1


@dataclass(frozen=True, slots=True)
class Column:
    """One column: which field it is (none: left out), in which unit bare numbers count, and what it is of."""

    index: int
    heading: str
    field: str = ""
    unit: str = ""
    of: dict[str, str] = by_default(default_factory=dict)
    """For a column of many: the other fields its heading settles, as {"at": "left"} or {"on": "2026-11-25"}."""


@dataclass(frozen=True, slots=True)
class SheetMapping:
    """One sheet: what kind of record its rows are, where its heading stands, and its columns."""

    name: str
    kind: str = ""
    """Empty: the sheet is left out."""
    heading: int = 1
    """Number of the row in which the heading ends; 0 when there is none."""
    heading_rows: int = 1
    columns: tuple[Column, ...] = ()
    settled: dict[str, str] = by_default(default_factory=dict)
    """What holds for all rows because no column says it: {"machine": "greens machine 1"}."""
    order: str = ""
    """Order of day, month and year where a day could be read in two ways: ymd, dmy, mdy."""
    asks_order: bool = False
    """Whether there are such days: then the order has to be said."""
    decimal: str = ""
    """Decimal mark, '.' or ','; empty: as each cell shows."""
    repeats: bool = False
    """Whether an empty cell of a naming column means the same as above."""

    @property
    def record(self) -> Kind:
        """The kind of record."""
        return KINDS[self.kind]

    def used(self) -> list[tuple[Column, Field]]:
        """Return the columns that are taken in, with their fields."""
        known = self.record.by_key
        return [(column, known[column.field]) for column in self.columns if column.field in known]

    def missing(self) -> list[Field]:
        """Return the needed fields that neither a column nor a settled value gives."""
        have = {column.field for column in self.columns} | {k for k, v in self.settled.items() if v}
        have |= {key for column in self.columns if column.field for key in column.of}
        return [entry for entry in self.record.needed if entry.key not in have]


@dataclass(frozen=True, slots=True)
class FileMapping:
    """The whole file: its sheets, and the delimiter when it is text."""

    sheets: tuple[SheetMapping, ...]
    delimiter: str = ""

    @property
    def used(self) -> list[SheetMapping]:
        """The sheets that are taken in, what is named before what names it."""
        order = list(KINDS)
        return sorted((sheet for sheet in self.sheets if sheet.kind), key=lambda sheet: order.index(sheet.kind))

    def check(self) -> None:
        """Refuse what cannot be read as it stands.

        Raises
        ------
        Refusal
            Naming everything that is still open.
        """
        open_questions = [question for sheet in self.used for question in questions(sheet)]
        if not self.used:
            open_questions.append(phrase("say what at least one table holds"))
        if open_questions:
            raise Refusal(joined("\n", open_questions))

    def as_data(self) -> dict[str, Any]:
        """Return it fit for JSON."""
        return {"sparkout mapping": LAYOUT, **asdict(self)}

    @classmethod
    def from_data(cls, data: Mapping[str, Any]) -> FileMapping:
        """Return the mapping written down.

        Raises
        ------
        Refusal
            When it is none of this layout.
        """
        try:
            if data["sparkout mapping"] != LAYOUT:
                raise KeyError("sparkout mapping")
            sheets = tuple(
                SheetMapping(**{**sheet, "columns": tuple(Column(**column) for column in sheet["columns"])})
                for sheet in data["sheets"]
            )
            made = cls(sheets, data["delimiter"])
            strange = [sheet.kind for sheet in sheets if sheet.kind and sheet.kind not in KINDS]
            strange += [c.field for s in made.used for c in s.columns if c.field and c.field not in s.record.by_key]
        except (KeyError, TypeError, AttributeError) as error:
            raise Refusal(phrase("this is no mapping of columns: {why}", why=AsTyped(str(error)[:100]))) from None
        if strange:
            raise Refusal(phrase("the mapping names '{what}', which is not known here", what=AsTyped(strange[0])))
        return made


def questions(sheet: SheetMapping) -> list[str]:
    """Return what a person still has to say about a sheet before its rows can be read."""
    name = AsTyped(sheet.name)
    found = [
        phrase(
            "{sheet}: no column says the {field}; choose one, or say it for all rows",
            sheet=name,
            field=phrase(entry.words),
        )
        for entry in sheet.missing()
    ]
    if sheet.asks_order and sheet.order not in ORDERS:
        found.append(phrase("{sheet}: some days can be read in two ways; say in which order they stand", sheet=name))
    spread = [column for column, entry in sheet.used() if entry.spreads]
    found += [
        phrase("{sheet}: say what the column '{heading}' is of", sheet=name, heading=AsTyped(column.heading))
        for column in spread
        if len(spread) > 1 and not column.of
    ]
    seen: set[str] = set()
    for _, entry in sheet.used():
        if entry.key in seen and not entry.spreads:
            found.append(phrase("{sheet}: two columns are the {field}", sheet=name, field=phrase(entry.words)))
        seen.add(entry.key)
    return list(dict.fromkeys(found))


def shape_of(headings: Iterable[tuple[str, Iterable[str]]]) -> str:
    """Return a digest by which a file with the same sheets and headings is known again, whatever days head columns."""
    plain = [[name, ["#" if re.search(r"\d", text) else told(text)[0] for text in row]] for name, row in headings]
    return hashlib.sha256(json.dumps(plain).encode()).hexdigest()


def adapted(remembered: FileMapping, fresh: FileMapping) -> FileMapping:
    """Return a remembered mapping put on a file of the same shape.

    What the file shows of itself is the file's own: names, headings and where they stand, delimiter, and the decimal
    mark and order of days where its cells leave no doubt. The same list may come with commas today, tabs tomorrow.
    """
    own = tuple(
        replace(
            old,
            name=new.name,
            heading=new.heading,
            heading_rows=new.heading_rows,
            asks_order=new.asks_order,
            order=old.order if new.asks_order else new.order,
            decimal=new.decimal or old.decimal,
            columns=tuple(
                replace(was, heading=now.heading, of=now.of if now.of and set(now.of) == set(was.of) else was.of)
                for was, now in zip(old.columns, new.columns, strict=False)
            ),
        )
        for old, new in zip(remembered.sheets, fresh.sheets, strict=False)
    )
    return FileMapping(own, fresh.delimiter)
