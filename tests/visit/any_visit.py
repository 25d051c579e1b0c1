"""Visits of every shape, drawn from the declarations themselves: what hypothesis feeds to reader and writer."""

from __future__ import annotations

import datetime
from typing import Any

from hypothesis import strategies as st

from sparkout.units import KINDS, from_core, to_core
from sparkout.visit.asked import Asked, Cell, Depends, Quantity, UnitFor
from sparkout.visit.entered import PLACE_WORDS
from sparkout.visit.fields import described, sections
from sparkout.visit.quantities import QUANTITIES, gauge_shows
from sparkout.visit.schema import VERSION
from sparkout.visit.taken import Row
from sparkout.visit.words import Clock, Day, Switch, Text, Where, Whole, Word

LISTED = {"at", "stations", "blades", "angles", "infeeds", "rows"}


@st.composite
def quantities(draw: st.DrawFn, kind: str, low: float, high: float, unit: str) -> Any:
    """A number in the field's unit, or a text in any unit of the kind, safely inside the range."""
    inside = low + (high - low) * draw(st.floats(0.01, 0.99))
    if draw(st.booleans()):
        return inside
    other = draw(st.sampled_from(sorted(KINDS[kind].units)))
    return f"{from_core(to_core(inside, kind, unit), kind, other)!r} {other}".strip()


def texts(shortest: int, longest: int) -> st.SearchStrategy[str]:
    letters = st.characters(codec="utf-8", exclude_categories=("C",)) | st.sampled_from("\n\t\"'\\#[]=")
    return st.text(letters, min_size=shortest, max_size=min(longest, 30)).filter(
        lambda text: len(text.strip()) >= shortest and all(c.isprintable() or c in "\n\t" for c in text)
    )


def one(asked: Asked, table: dict[str, Any]) -> st.SearchStrategy[Any]:  # noqa: PLR0911
    match asked:
        case UnitFor():
            return st.sampled_from([u for u in KINDS[QUANTITIES[table["of"]].kind].units if u] or ["-"])
        case Cell():
            return st.just("-") | _cell(*_shape(asked, table), table.get("unit"))
        case Depends():
            return quantities(*_shape(asked, table))
        case Quantity():
            return quantities(asked.kind, asked.low, asked.high, asked.unit)
        case Whole():
            return st.integers(asked.low, asked.high)
        case Row():
            return st.text("cpu-", min_size=1, max_size=5)
        case Word():
            return st.sampled_from(asked.choices)
        case Text():
            return texts(asked.shortest, asked.longest)
        case Switch():
            return st.booleans()
        case Day():
            return st.dates(datetime.date(1990, 1, 1), datetime.date(2100, 1, 1))
        case Clock():
            return st.times()
        case Where():
            return st.sampled_from(PLACE_WORDS) | quantities("length", 0.0, 3000.0, "mm")
    raise NotImplementedError(asked)


def _cell(kind: str, low: float, high: float, unit: str, own: str | None) -> st.SearchStrategy[Any]:
    """A cell; when the sweep has a unit of its own, a bare number counted in that."""
    if own is None:
        return quantities(kind, low, high, unit)
    inside = st.floats(0.01, 0.99).map(lambda part: to_core(low + (high - low) * part, kind, unit))
    return inside.map(lambda value: from_core(value, kind, own))


def _shape(asked: Depends, table: dict[str, Any]) -> tuple[str, float, float, str]:
    if asked.on == "kind":
        kind, unit, most = gauge_shows(table["kind"])
        return kind, 0.0, most, unit
    entry = QUANTITIES[table["of" if asked.on == "of" else "quantity"]]
    return entry.kind, max(entry.low, 0.0), entry.high, entry.unit


@st.composite
def tables(draw: st.DrawFn, model: Any) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for field in described(model):
        if not field.needed and draw(st.booleans()):
            continue
        if isinstance(field.asked, UnitFor) and not [u for u in KINDS[QUANTITIES[made["of"]].kind].units if u]:
            continue
        item = one(field.asked, made)
        if field.key == "values":
            made["values"] = draw(st.lists(st.lists(item, max_size=3), max_size=3))
        elif field.many:
            made[field.key] = draw(st.lists(item, max_size=3))
        else:
            made[field.key] = draw(item)
    return made


@st.composite
def visits(draw: st.DrawFn) -> dict[str, Any]:
    """The data of a visit in which every single entry is in range; together they may contradict each other."""
    made: dict[str, Any] = {"sparkout": VERSION}
    for name, model, many in sections():
        if many:
            made[name] = draw(st.lists(tables(model), max_size=2))
        else:
            made[name] = draw(tables(model))
    return made
