"""What each column of a file is: the form, and what a person chose in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.interchange.mapping import Column, FileMapping, SheetMapping, questions
from sparkout.interchange.targets import KINDS
from sparkout.interchange.text import DELIMITERS
from sparkout.interchange.values import ORDERS, as_text
from sparkout.records.bringing.store import source_of
from sparkout.visit.entered import PLACE_WORDS
from sparkout.visit.quantities import READINGS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from django.http import QueryDict

    from sparkout.interchange.fields import Field
    from sparkout.interchange.source import Sheet, Source
    from sparkout.records.models import TableFile
    from sparkout.showing import Showing

_EXAMPLES = 3
_LOOKED_AT = 60
ORDER_WORDS = {"dmy": "day, month, year", "mdy": "month, day, year", "ymd": "year, month, day"}
_OF_WORDS = {
    "of": "what was read",
    "at": "where",
    "blade": "blade",
    "when": phrase("as found or as left"),
    "which": "which roller",
    "on": "day",
}
_OF = {"reading": ("of", "at", "blade", "when"), "hours": ("on",)}
Choice = tuple[str, str, bool]
"""Value, words, chosen."""


@dataclass(frozen=True, slots=True)
class Said:
    """One thing about a column that its heading may settle: a box or a choice."""

    id: str
    words: str
    value: str
    choices: list[Choice]


@dataclass(frozen=True, slots=True)
class ColumnShown:
    """One column on the page."""

    id: str
    heading: str
    examples: str
    fields: list[Choice]
    units: list[Choice]
    of: list[Said]


@dataclass(frozen=True, slots=True)
class SheetShown:
    """One sheet on the page."""

    number: int
    name: str
    kinds: list[Choice]
    used: bool
    heading: int
    heading_rows: int
    orders: list[Choice]
    decimals: list[Choice]
    repeats: bool
    columns: list[ColumnShown]
    settled: list[Said]
    open: list[str]


def shown(file: TableFile, mapping: FileMapping, showing: Showing) -> tuple[list[SheetShown], list[Choice]]:
    """Return the file's sheets as the page shows them, and the delimiters to choose from when it is text."""
    source = source_of(file, mapping.delimiter)
    sheets = [_sheet(i, source.sheet(s.name), s, showing) for i, s in enumerate(mapping.sheets)]
    return sheets, _delimiters(source, mapping, showing)


def _delimiters(source: Source, mapping: FileMapping, showing: Showing) -> list[Choice]:
    if source.form in ("workbook", "JSON"):
        return []
    return [(mark, showing.say(words), mark == mapping.delimiter) for mark, words in DELIMITERS.items()]


def _sheet(number: int, sheet: Sheet, mapping: SheetMapping, showing: Showing) -> SheetShown:
    say = showing.say
    rows = sheet.head(_LOOKED_AT)
    below = [row for at, row in rows if at > mapping.heading]
    kinds = [("", say(phrase("leave this table out")), not mapping.kind)]
    kinds += [(kind.name, say(kind.words), kind.name == mapping.kind) for kind in KINDS.values()]
    used = bool(mapping.kind)
    columns = [_column(number, column, mapping, below, showing) for column in mapping.columns] if used else []
    orders = [(key, say(ORDER_WORDS[key]), key == mapping.order) for key in ORDERS]
    decimals = [("", say(phrase("as each cell shows")), not mapping.decimal)]
    decimals += [(mark, say(words), mark == mapping.decimal) for mark, words in ((".", "point"), (",", "comma"))]
    return SheetShown(
        number=number,
        name=sheet.name,
        kinds=kinds,
        used=used,
        heading=mapping.heading,
        heading_rows=mapping.heading_rows,
        orders=orders if mapping.asks_order else [],
        decimals=decimals,
        repeats=mapping.repeats,
        columns=columns,
        settled=_settled(number, mapping, showing) if used else [],
        open=[say(text) for text in questions(mapping)] if used else [],
    )


def _column(number: int, column: Column, mapping: SheetMapping, below: list[Any], showing: Showing) -> ColumnShown:
    say, kind = showing.say, mapping.record
    name = f"{number}-{column.index}"
    examples = [as_text(row[column.index]) for row in below if column.index < len(row)]
    told = " · ".join([text for text in examples if text][:_EXAMPLES])
    fields = [("", say("leave out"), not column.field)]
    fields += [(f.key, say(f.words), f.key == column.field) for f in kind.fields]
    field = kind.by_key.get(column.field)
    units: list[Choice] = []
    if field is not None and field.units:
        none = [("", say(phrase("as each cell says")), not column.unit)] if not field.unit or not column.unit else []
        units = none + [(unit, unit, unit == column.unit) for unit in field.units]
    of = [_of(name, key, column, say) for key in _OF.get(kind.name, ())] if field is not None and field.spreads else []
    heading = column.heading or say("(no heading)")
    return ColumnShown(name, heading, told, fields, units, of)


def _of(name: str, key: str, column: Column, say: Any) -> Said:
    value = column.of.get(key, "")
    words = {"of": READINGS, "at": PLACE_WORDS[:0], "when": ("as found", "as left")}.get(key, ())
    choices = [("", say(phrase("not said by the heading")), not value)] if words else []
    choices += [(word, say(word), word == value) for word in words]
    return Said(f"of-{name}-{key}", say(_OF_WORDS[key]), value, choices)


def _settled(number: int, mapping: SheetMapping, showing: Showing) -> list[Said]:
    """Return boxes for what no column says and every row may share: names, days, words."""
    have = {column.field for column in mapping.columns} | {key for c in mapping.columns if c.field for key in c.of}
    say = showing.say
    found = []
    for field in mapping.record.fields:
        if field.key in have or not (field.needed or field.names or field.choices):
            continue
        value = mapping.settled.get(field.key, "")
        choices: list[Choice] = []
        if field.choices:
            choices = [
                ("", say("not said"), not value),
                *((str(c), say(str(c)), str(c) == value) for c in field.choices),
            ]
        found.append(Said(f"settled-{number}-{field.key}", say(field.words), value, choices))
    return found


def said(sent: QueryDict, mapping: FileMapping) -> FileMapping:
    """Return the mapping with what a person chose; what the page did not show stays."""
    sheets = tuple(_said_sheet(sent, i, sheet) for i, sheet in enumerate(mapping.sheets))
    return FileMapping(sheets, sent.get("delimiter", mapping.delimiter) or mapping.delimiter)


def _said_sheet(sent: QueryDict, number: int, sheet: SheetMapping) -> SheetMapping:
    kind = sent.get(f"kind-{number}", sheet.kind)
    kind = kind if kind in KINDS else ""
    order = sent.get(f"order-{number}", sheet.order)
    decimal = sent.get(f"decimal-{number}", sheet.decimal)
    known: Iterable[Field] = KINDS[kind].fields if kind else ()
    settled = {f.key: sent.get(f"settled-{number}-{f.key}", sheet.settled.get(f.key, "")).strip() for f in known}
    return replace(
        sheet,
        kind=kind,
        heading=_whole(sent.get(f"heading-{number}"), sheet.heading, 1000),
        heading_rows=_whole(sent.get(f"heading_rows-{number}"), sheet.heading_rows, 5) or 1,
        order=order if order in ORDERS else "",
        decimal=decimal if decimal in ("", ".", ",") else "",
        repeats=f"repeats-{number}" in sent if f"kind-{number}" in sent else sheet.repeats,
        settled={key: value for key, value in settled.items() if value},
        columns=tuple(_said_column(sent, number, kind, column) for column in sheet.columns),
    )


def _whole(text: str | None, otherwise: int, most: int) -> int:
    return (
        min(int(text), most) if text is not None and text.isascii() and text.isdigit() and len(text) < 6 else otherwise
    )


def _said_column(sent: QueryDict, number: int, kind: str, column: Column) -> Column:
    name = f"{number}-{column.index}"
    field = sent.get(f"field-{name}", column.field)
    known = KINDS[kind].by_key if kind else {}
    if field not in known:
        return replace(column, field="", unit="", of={})
    unit = sent.get(f"unit-{name}", column.unit)
    of: dict[str, str] = {}
    if known[field].spreads:
        shown_keys = [key for key in _OF_WORDS if f"of-{name}-{key}" in sent]
        of = {key: str(sent[f"of-{name}-{key}"]).strip() for key in shown_keys} if shown_keys else dict(column.of)
    units = known[field].units
    if field != column.field and unit not in units:
        unit = known[field].unit
    return replace(
        column, field=field, unit=unit if unit in units else "", of={k: v for k, v in of.items() if v and k in known}
    )


def looks_again(before: FileMapping, now: FileMapping) -> dict[str, dict[str, Any]] | None:
    """Return what a person said that needs a new proposal: delimiter, kind, where the heading stands; else nothing."""
    changed = before.delimiter != now.delimiter
    told: dict[str, dict[str, Any]] = {}
    for was, sheet in zip(before.sheets, now.sheets, strict=True):
        keys = ("kind", "heading", "heading_rows")
        if any(getattr(was, key) != getattr(sheet, key) for key in keys):
            told[sheet.name] = {key: getattr(sheet, key) for key in keys}
            changed = True
    return told if changed else None
