"""What each sheet and column most likely is: scored from the heading's words and from what the cells hold."""

from __future__ import annotations

import difflib
import re
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.interchange.drafts import taken
from sparkout.interchange.headings import day_in, spread_of, told
from sparkout.interchange.mapping import Column, FileMapping, SheetMapping
from sparkout.interchange.targets import KINDS
from sparkout.interchange.values import as_text, day_orders
from sparkout.interchange.writing import READ_ONLY
from sparkout.visit.asked import Depends, Quantity
from sparkout.visit.entered import LIKELY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.interchange.fields import Field, Kind
    from sparkout.interchange.source import Cell, Sheet, Source

_LOOKED_AT = 400
"""Rows of which a proposal is made."""
_HEAD = 30
"""A heading stands among the first rows."""
_ENOUGH = 0.5
_CERTAIN = 1.1
"""The sheet's name and every heading say the same kind: nothing else needs a look."""
_BY_WORDS, _BY_CELLS = 0.8, 0.2


@dataclass(frozen=True, slots=True)
class _Seen:
    """What a sheet shows whatever its rows are: headings, cells by column, how days and decimals are written."""

    headings: list[str]
    samples: list[list[Cell]]
    order: str
    asks: bool
    decimal: str


def proposed(source: Source) -> FileMapping:
    """Return what the file's sheets and columns most likely are.

    Examples
    --------
    >>> from sparkout.interchange.source import Sheet, Source
    >>> rows = [(1, ["Mower", "Site"]), (2, ["G1", "north"])]
    >>> mapping = proposed(Source("f", "text", (Sheet("fleet", lambda: iter(rows)),)))
    >>> mapping.sheets[0].kind, [column.field for column in mapping.sheets[0].columns]
    ('machine', ['name', 'place'])
    """
    sheets = tuple(propose_sheet(sheet) for sheet in source.sheets)
    return FileMapping(sheets, source.sheets[0].delimiter)


def propose_sheet(
    sheet: Sheet, kind: str = "", heading: int | None = None, heading_rows: int | None = None
) -> SheetMapping:
    """Return the proposal for one sheet; what a person has settled already is kept to."""
    rows = sheet.head(_LOOKED_AT)
    if not kind and sheet.name.lower() in READ_ONLY:
        return SheetMapping(sheet.name)
    if heading is None:
        heading, heading_rows = _heading(rows)
    count = heading_rows or 1
    headings = headings_of(rows, heading, count)
    below = [row for number, row in rows if number > heading and any(c not in (None, "") for c in row)]
    samples = [[row[i] if i < len(row) else None for row in below] for i in range(len(headings))]
    cells = [cell for column in samples for cell in column]
    seen = _Seen(headings, samples, *day_order(cells, headings), _decimal(cells))
    kinds = [KINDS[kind]] if kind else sorted(KINDS.values(), key=lambda entry: not _is_named(sheet, entry))
    score, found = -1.0, SheetMapping(sheet.name)
    for entry in kinds:
        one, mapping = _as_kind(entry, sheet, seen)
        if one > score:
            score, found = one, mapping
        if score >= _CERTAIN:
            break
    if not kind and score < _ENOUGH:
        found = replace(found, kind="", columns=tuple(Column(i, text) for i, text in enumerate(headings)))
    return replace(found, heading=heading, heading_rows=count)


def headings_of(rows: list[tuple[int, list[Cell]]], heading: int, count: int) -> list[str]:
    """Return each column's heading; of several rows the upper ones hold for the cells to their right as well."""
    width = max((len(row) for _, row in rows), default=0)
    texts = [""] * width
    for number, row in rows:
        if heading - count < number <= heading:
            last = ""
            for i in range(width):
                own = as_text(row[i]) if i < len(row) else ""
                last = own or (last if number < heading else "")
                texts[i] = f"{texts[i]} {last}".strip()
    return [" ".join(text.split()) for text in texts]


def _heading(rows: list[tuple[int, list[Cell]]]) -> tuple[int, int]:
    """Return the row in which the heading ends, and how many rows it takes."""
    best, found = 0.0, (rows[0][0] if rows else 1, 1)
    for i, (number, row) in enumerate(rows[:_HEAD]):
        cells = [as_text(cell) for cell in row]
        filled = [cell for cell in cells if cell]
        if not filled or (len(filled) == 1 and len(row) > 1):
            continue
        known = sum(_is_known(cell) for cell in filled)
        texts = sum(isinstance(cell, str) and not cell[:1].isdigit() for cell in row if cell not in (None, ""))
        score = 3.0 * known / len(filled) + texts / len(filled) + 0.3 * len(set(filled)) / len(row) - 0.02 * i
        if score > best + 1e-9:
            below = rows[i + 1] if i + 1 < len(rows) else (0, [])
            if _goes_on(row, below[1]):
                best, found = score, (below[0], 2)
            else:
                best, found = score, (number, 2 if i and _goes_with(rows[i - 1][1], row) else 1)
    return found


def _goes_on(upper: list[Cell], lower: list[Cell]) -> bool:
    """Whether the row below still belongs to the heading: known words only, some where nothing stands above."""
    filled = [(i, as_text(cell)) for i, cell in enumerate(lower) if cell not in (None, "")]
    under_nothing = any(i >= len(upper) or upper[i] in (None, "") for i, _ in filled)
    return under_nothing and all(_is_known(text) for _, text in filled)


def _goes_with(upper: list[Cell], lower: list[Cell]) -> bool:
    """Whether the row above names groups of columns: fewer cells, each over several, and words a heading has."""
    filled = [as_text(cell) for cell in upper if cell not in (None, "")]
    below = [cell for cell in lower if cell not in (None, "")]
    return (
        0 < len(filled) < len(below)
        and sum(_is_known(cell) for cell in filled) >= max(1, len(filled) / 2)
        and len(upper) > 1
    )


@cache
def _known_words() -> frozenset[str]:
    return frozenset(
        told(word)[0] for kind in KINDS.values() for entry in kind.fields for word in (entry.words, *entry.synonyms)
    )


def _is_known(cell: str) -> bool:
    words, _ = told(cell)
    return words in _known_words() or spread_of(cell, quantity_known=True) is not None


def _as_kind(kind: Kind, sheet: Sheet, seen: _Seen) -> tuple[float, SheetMapping]:
    """Return how well a sheet fits a kind of record, and the mapping as that."""
    headings, samples, order, decimal = seen.headings, seen.samples, seen.order, seen.decimal
    columns = _assigned(kind, headings, samples, order or "dmy", decimal)
    chosen = [column for column in columns if column.field]
    named = 1.0 if _is_named(sheet, kind) else 0.0
    days = any(kind.by_key[c.field].is_day or set(c.of) & {"on", "date"} for c in chosen)
    made = SheetMapping(
        sheet.name, kind.name, 1, 1, tuple(columns), {}, order if days else "", seen.asks and days, decimal
    )
    made = replace(made, repeats=_repeats(made, samples))
    headed = [i for i, text in enumerate(headings) if text]
    if not chosen or not headed:
        return 0.0, made
    covered = len(chosen) / len(headed)
    certain = sum(_fit(kind.by_key[c.field], c.heading) if not c.of else 0.9 for c in chosen) / len(headed)
    lacking = len(made.missing()) / max(1, len(kind.needed))
    return 0.5 * certain + 0.3 * covered + 0.35 * named - 0.5 * lacking, made


def _is_named(sheet: Sheet, kind: Kind) -> bool:
    name = re.sub(r" \d+$", "", told(sheet.name)[0])
    return any(told(word)[0] == name for word in (kind.sheet, kind.name, *kind.synonyms))


def _assigned(kind: Kind, headings: list[str], samples: list[list[Cell]], order: str, decimal: str) -> list[Column]:
    if all(heading in kind.by_key for heading in headings):
        return [Column(i, heading, heading, kind.by_key[heading].unit) for i, heading in enumerate(headings)]
    scored = []
    for i, heading in enumerate(headings):
        for entry in kind.fields:
            words = _fit(entry, heading)
            if words > 0:
                unit = told(heading)[1]
                scored.append(
                    (_BY_WORDS * words + _BY_CELLS * _share(entry, samples[i], unit, order, decimal), -i, i, entry)
                )
    found: dict[int, Field] = {}
    for score, _, i, entry in sorted(scored, key=lambda s: s[:2], reverse=True):
        if score >= _ENOUGH and i not in found and entry.key not in {e.key for e in found.values()}:
            found[i] = entry
    columns = []
    spread = _spread(kind, headings, samples, found, order)
    for i, heading in enumerate(headings):
        unit = told(heading)[1]
        if i in spread:
            key = next(entry.key for entry in kind.fields if entry.spreads)
            columns.append(Column(i, heading, key, unit, spread[i]))
        elif i in found:
            columns.append(Column(i, heading, found[i].key, _unit(found[i], unit, samples[i], decimal)))
        else:
            columns.append(Column(i, heading))
    return columns


def _spread(
    kind: Kind, headings: list[str], samples: list[list[Cell]], found: dict[int, Field], order: str
) -> dict[int, dict[str, str]]:
    """Return the columns of many: readings by place, blade or quantity, hours by day."""
    if not any(entry.spreads for entry in kind.fields):
        return {}
    if kind.name == "hours":
        days = {i: day_in(heading, order) for i, heading in enumerate(headings) if heading}
        return {i: {"on": day.isoformat()} for i, day in days.items() if day is not None and i not in found}
    if any(entry.key == "value" for entry in found.values()):
        return {}
    known = any(entry.key == "of" for entry in found.values())
    spread = {}
    for i, heading in enumerate(headings):
        of = spread_of(heading, known) if heading else None
        taken_already = i in found and _fit(found[i], heading) >= 0.9 and found[i].key not in ("at", "when", "which")
        if of is not None and not taken_already and _holds_numbers(samples[i]):
            spread[i] = of
    for i in spread:
        found.pop(i, None)
    return spread


def _holds_numbers(cells: Sequence[Cell]) -> bool:
    filled = [as_text(cell) for cell in cells if cell not in (None, "")]
    return bool(filled) and sum(text[:1].isdigit() or text[:1] in "+-.,−" for text in filled) >= 0.8 * len(filled)


@cache
def _fit(entry: Field, heading: str) -> float:
    """Return how well a heading's words fit a field, 0 to 1."""
    words, _ = told(heading)
    if not words:
        return 0.0
    known = [told(text)[0] for text in (entry.words, *entry.synonyms, entry.key)]
    if words == known[0]:
        return 1.0
    if words in known:
        return 0.95
    mine = set(words.split())
    inside = [
        len(set(text.split())) / len(mine) for text in known if text and set(text.split()) < mine and len(text) > 2
    ]
    alike = [text for text in known if 2 * min(len(text), len(words)) > 0.84 * (len(text) + len(words))]
    close = max((difflib.SequenceMatcher(None, words, text).ratio() for text in alike), default=0.0)
    return max([0.5 + 0.35 * share for share in inside] + [0.7 * close if close > 0.84 else 0.0])


def _share(entry: Field, cells: list[Cell], unit: str, order: str, decimal: str) -> float:
    """Return which share of the cells a field could take."""
    filled = [cell for cell in cells if cell not in (None, "")][:40]
    if not filled:
        return 0.5
    if isinstance(entry.asked, Depends):
        return 1.0 if _holds_numbers(filled) else 0.0
    good = 0
    for cell in filled:
        try:
            taken(entry, cell, unit, decimal, order)
            good += 1
        except Refusal:
            if entry.is_number and _holds_numbers([cell]):
                good += 0.5  # type: ignore[assignment]
    return good / len(filled)


def _unit(entry: Field, headed: str, cells: list[Cell], decimal: str) -> str:
    """Return in which unit bare numbers count: the heading's, else the likeliest in which they are in range."""
    if headed in entry.units:
        return headed
    if not isinstance(entry.asked, Quantity) or entry.asked.kind not in LIKELY:
        return entry.unit
    likely = [entry.unit, *(unit for unit in LIKELY[entry.asked.kind] if unit != entry.unit)]
    return max(likely[:3], key=lambda unit: (_share(entry, cells, unit, "", decimal), unit == entry.unit))


def day_order(cells: list[Cell], headings: list[str]) -> tuple[str, bool]:
    """Return the order days are written in when the cells tell it, and whether a person has to say it.

    Examples
    --------
    >>> day_order(["03/04/2025", "28/04/2025"], []), day_order(["03/04/2025"], []), day_order(["03.04.2025"], [])
    (('dmy', False), ('', True), ('dmy', True))
    """
    texts = [as_text(cell) for cell in [*cells, *headings] if isinstance(cell, str)]
    possible = [(text, orders) for text in texts if (orders := day_orders(text)) and "ymd" not in orders]
    doubtful = [text for text, orders in possible if len(orders) > 1 and not _twin(text)]
    if not doubtful:
        only = {next(iter(orders)) for _, orders in possible if len(orders) == 1}
        return (next(iter(only)) if len(only) == 1 else ""), False
    settled = {next(iter(orders)) for _, orders in possible if len(orders) == 1}
    if len(settled) == 1:
        return next(iter(settled)), False
    dotted = all(re.search(r"\d\.\d", text) for text in doubtful) and not settled
    return ("dmy" if dotted else ""), True


def _twin(text: str) -> bool:
    """Whether day and month are the same number, so that the order does not matter."""
    parts = re.findall(r"\d+", text)
    return len(parts) >= 2 and int(parts[0]) == int(parts[1])


_SURE_COMMA = re.compile(r"[+\-−]?\d{1,3}(\.\d{3})+,|[+\-−]?\d*,(\d{1,2}(?!\d)|\d{4,})|[+\-−]?0,\d")
_SURE_POINT = re.compile(r"[+\-−]?\d{1,3}(,\d{3})+\.|[+\-−]?\d*\.(\d{1,2}(?![.\d/-])|\d{4,})|[+\-−]?0\.\d")
_PERHAPS_POINT = re.compile(r"[+\-−]?\d{1,3}\.\d{3}(?![.\d/-])")


def _decimal(cells: list[Cell]) -> str:
    """Return the decimal mark when the cells show which it is; 1.240 beside 3,5 is a thousand, else a decimal."""
    texts = [cell for cell in cells if isinstance(cell, str)]
    comma = any(_SURE_COMMA.match(text) for text in texts)
    point = any(_SURE_POINT.match(text) for text in texts)
    if comma:
        return "" if point else ","
    return "." if point or any(_PERHAPS_POINT.match(text) for text in texts) else ""


def _repeats(mapping: SheetMapping, samples: list[list[Cell]]) -> bool:
    """Whether naming columns are filled once for a group of rows below."""
    naming = [column for column, entry in mapping.used() if entry.needed and (entry.names or entry.is_day)]
    gaps = [sum(cell in (None, "") for cell in samples[c.index]) / max(1, len(samples[c.index])) for c in naming]
    starts = all(samples[c.index][:1] not in ([None], [""]) for c in naming)
    return bool(naming) and starts and max(gaps) > 0.3
