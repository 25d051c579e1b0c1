"""Any table of valid records, written in any shape, is read to the same records.

What is drawn: the records; then, independent of them, delimiter, encoding, order of columns, which of a field's names
heads its column and in which capitals, the unit of each column and whether it stands in the heading or in the cells,
decimal mark, order of days, title rows above, columns nobody knows, and whether it is text or a workbook.
"""

from __future__ import annotations

import csv
import datetime
import io
import tempfile
from pathlib import Path
from typing import Any

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.interchange.made_files import workbook

from sparkout.interchange.drafts import Draft, drafts
from sparkout.interchange.fields import Field, Kind
from sparkout.interchange.headings import told
from sparkout.interchange.proposal import propose_sheet
from sparkout.interchange.source import open_source
from sparkout.interchange.targets import KINDS
from sparkout.units import UnitProblem, from_core, parse, to_core
from sparkout.visit.asked import Depends, Quantity
from sparkout.visit.words import Text, Where, Whole, Word

TESTED = ("machine", "reel type", "knife type", "gauge", "hours", "event", "fitting", "limit", "grinder", "calibration")
NAMES = st.text("ABCDEFGHJKLMNPRSTUVWXYZ", min_size=1, max_size=4).map(lambda t: f"x{t} 7")
UNITS = {
    "length": ("mm", "in", "cm"),
    "angle": ("deg",),
    "time": ("h", "min"),
    "speed": ("m/s",),
    "rotation": ("1/min",),
}
LEFT_OUT = {"figures", "lines", "ended_on", "language"}  # texts with a form of their own; tested by example


@st.composite
def record(draw: st.DrawFn, kind: Kind) -> dict[str, Any]:
    """One valid record: quantities in core units, days as days."""
    made: dict[str, Any] = {}
    for entry in kind.fields:
        if entry.key not in LEFT_OUT and (entry.needed or draw(st.booleans())) and not isinstance(entry.asked, Depends):
            made[entry.key] = draw(value(entry))
    return made


def value(entry: Field) -> st.SearchStrategy[Any]:
    match entry.asked:
        case Quantity():
            low, high = entry.asked.low, min(entry.asked.high, 1e5)
            share = st.integers(5, 95)
            return share.map(lambda n: to_core(low + (high - low) * n / 100, entry.unit_kind, entry.unit))
        case Whole():
            return st.integers(entry.asked.low, entry.asked.high)
        case Word():
            return st.sampled_from(entry.asked.choices)
        case Text():
            return NAMES
        case Where():
            return st.sampled_from(("left", "right"))
        case _:
            return st.dates(datetime.date(2001, 1, 1), datetime.date(2030, 1, 1)) if entry.is_day else st.booleans()


@st.composite
def shape(draw: st.DrawFn, kind: Kind) -> dict[str, Any]:
    """How the table is written."""
    titles = {}
    for entry in kind.fields:
        names = [entry.words, *(n for n in entry.synonyms if owns(kind, entry, n))]
        titles[entry.key] = draw(st.sampled_from(names))
    return {
        "titles": titles,
        "case": draw(st.sampled_from([str.title, str.upper, str.lower, str])),
        "order": draw(st.permutations([entry.key for entry in kind.fields])),
        "units": {e.key: draw(st.sampled_from(UNITS.get(e.unit_kind, (e.unit,)))) for e in kind.fields if e.unit_kind},
        "unit_in": draw(st.sampled_from(["heading", "cells"])),
        "decimal": draw(st.sampled_from([".", ","])),
        "days": draw(st.sampled_from(["%Y-%m-%d", "%d.%m.%Y", "%m/%d/%Y", "%d %b %Y"])),
        "delimiter": draw(st.sampled_from([";", "\t", "|"])),
        "encoding": draw(st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "cp1252"])),
        "above": draw(st.integers(0, 2)),
        "stranger": draw(st.booleans()),
        "book": draw(st.booleans()),
    }


def owns(kind: Kind, entry: Field, name: str) -> bool:
    """Whether a name belongs to this field alone."""
    mine = told(name)[0]
    return bool(mine) and not any(
        mine in [told(n)[0] for n in (other.words, *other.synonyms)] for other in kind.fields if other is not entry
    )


def written(kind: Kind, records: list[dict[str, Any]], how: dict[str, Any]) -> list[list[Any]]:
    used = [key for key in how["order"] if any(key in one for one in records)]
    heads = []
    for key in used:
        unit = how["units"].get(key, "")
        head = how["case"](how["titles"][key])
        heads.append(f"{head} ({unit})" if unit and how["unit_in"] == "heading" else head)
    rows = [[f"an invented list {n}"] + [None] * (len(used) - 1) for n in range(how["above"])]
    rows.append(heads)
    rows += [[cell(kind.by_key[key], one.get(key), how) for key in used] for one in records]
    return [[*row, "?"] for row in rows] if how["stranger"] else rows


def cell(entry: Field, kept: Any, how: dict[str, Any]) -> Any:
    match kept:
        case None:
            return None
        case bool():
            return "yes" if kept else "no"
        case datetime.date():
            return kept if how["book"] else kept.strftime(how["days"])
        case float() if entry.unit_kind:
            number = from_core(kept, entry.unit_kind, how["units"][entry.key])
            if how["book"] and how["unit_in"] == "heading":
                return number
            text = f"{number:.12g}" if how["decimal"] == "." else f"{number:.12g}".replace(".", ",")
            return text if how["unit_in"] == "heading" else f"{text} {how['units'][entry.key]}"
        case _:
            return kept if how["book"] else str(kept)


def file_of(rows: list[list[Any]], how: dict[str, Any], folder: Path) -> Path:
    path = folder / "table"
    if how["book"]:
        path.write_bytes(workbook(sheet=rows))
        return path
    text = io.StringIO(newline="")
    csv.writer(text, delimiter=how["delimiter"]).writerows([["" if c is None else c for c in row] for row in rows])
    path.write_bytes(text.getvalue().encode(how["encoding"]))
    return path


def core(entry: Field, typed: Any) -> Any:
    if typed is None or not entry.unit_kind:
        return typed
    try:
        return float(f"{parse(typed, entry.unit_kind, entry.unit):.8e}")
    except UnitProblem:
        return typed


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(data=st.data())
def test_any_shape_is_read_to_the_same_records(data: st.DataObject) -> None:
    kind = KINDS[data.draw(st.sampled_from(TESTED))]
    records = data.draw(st.lists(record(kind), min_size=1, max_size=4))
    how = data.draw(shape(kind))
    with tempfile.TemporaryDirectory() as folder:
        sheet = open_source(file_of(written(kind, records, how), how, Path(folder)), "table").sheets[0]
        mapping = propose_sheet(sheet, kind.name)
        order = {"%d.%m.%Y": "dmy", "%m/%d/%Y": "mdy"}.get(how["days"], "") if not how["book"] else ""
        from dataclasses import replace

        said = replace(mapping, order=order, decimal=mapping.decimal if how["book"] else how["decimal"])
        found = list(drafts(said, sheet))
    assert [type(one) for one in found] == [Draft] * len(records), found
    for one, kept in zip(found, records, strict=True):
        assert isinstance(one, Draft)
        read = {key: core(kind.by_key[key], typed) for key, typed in one.entries.items()}
        assert read == {key: core(kind.by_key[key], entry_as_typed(kind.by_key[key], v)) for key, v in kept.items()}


def entry_as_typed(entry: Field, kept: Any) -> Any:
    return (
        f"{from_core(kept, entry.unit_kind, entry.unit)!r} {entry.unit}".strip()
        if isinstance(kept, float) and entry.unit_kind
        else kept
    )
