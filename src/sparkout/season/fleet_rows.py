"""A fleet file's rows in batches of whole units, and rows that cannot be used.

Each row is one reading and stands for itself: what recorded grinds took and how many sandings and stones there were
are counted from the unit's first reading on (docs/fleet-file.md). Rows of a unit stand together.
"""

from __future__ import annotations

import csv
import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.phrase import Phrase, phrase
from sparkout.season.fleet_file import EVENTS, TEXTS, Layout, is_parquet, opened, text_of

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]

BATCH = 131_072
"""Rows held at once, besides those of a unit that is not at its end."""
_DAY_ZERO = datetime.date(1970, 1, 1).toordinal()


@dataclass(frozen=True, slots=True)
class Refused:
    """A row left out: its number in the file (1 is the first after the headings) and why."""

    row: int
    why: Phrase


@dataclass(frozen=True, slots=True)
class Rows:
    """Whole units' rows: run i is rows `starts[i]` up to `starts[i + 1]`; every figure finite."""

    starts: Indices
    number: Indices
    """The rows' numbers in the file."""
    units: NDArray[np.str_]
    groups: NDArray[np.str_]
    """(runs,) workshop and duty, with a tab between."""
    limit: Floats
    """(runs,) mm; not a number where none is given."""
    hours: Floats
    value: Floats
    removed: Floats
    counts: Floats
    """(k, rows)"""
    day: Floats
    """Days since 1970; not a number where none is given."""
    refused: tuple[Refused, ...]


def read_rows(path: Path, layout: Layout, part: tuple[int, int]) -> Iterator[Rows]:
    """Yield the rows of the units that begin in a part of a file, a batch of whole units at a time.

    A unit whose rows go on into the next part is read to its end here and left out there.
    """
    tables = _parquet(path, layout, part) if is_parquet(path) else _csv(path, layout)
    for first, table in tables:
        yield _rows(first, table, layout)


Table: TypeAlias = dict[str, NDArray[Any]]
"""By name: text as str arrays, figures as float64, and `code`: the same number for rows of the same unit."""


def _rows(number: Indices, table: Table, layout: Layout) -> Rows:
    code = table["code"]
    hours, value = table[layout.use], table[layout.quantity] * layout.columns[layout.quantity].factor
    none = np.zeros(hours.size)
    removed = table["ground so far"] * layout.columns["ground so far"].factor if "ground so far" in table else none
    counts = np.stack([table[name] for name in layout.events]) if layout.events else np.zeros((0, hours.size))
    checks = [(layout.use, hours, 0.0, 1e6), (layout.quantity, value, 1e-9, 1e4), ("ground so far", removed, 0.0, 1e3)]
    checks += [(name, counts[i], 0.0, 1e6) for i, name in enumerate(layout.events)]
    good = table["unit"] != ""
    refused = [Refused(int(number[i]), phrase("no name of a unit")) for i in np.flatnonzero(~good)]
    for name, figures, low, high in checks:
        with np.errstate(invalid="ignore"):
            bad = good & ~((figures >= low) & (figures <= high))
        for i in np.flatnonzero(bad):
            why = phrase(
                "{name} is {value:g}; allowed: {low:g} to {high:g}", name=name, value=figures[i], low=low, high=high
            )
            missing = phrase("{name} is missing or no number", name=name)
            refused.append(Refused(int(number[i]), missing if np.isnan(figures[i]) else why))
        good &= ~bad
    if not good.all():
        number, code, hours, value, removed = (a[good] for a in (number, code, hours, value, removed))
        counts, table = counts[:, good], {name: column[good] for name, column in table.items()}
    first = np.flatnonzero(np.diff(code, prepend=-1))
    limit = table["limit"][first] * layout.columns["limit"].factor if "limit" in table else np.full(first.size, np.nan)
    return Rows(
        np.append(first, code.size),
        number,
        table["unit"][first],
        _group(table, first),
        limit,
        hours,
        value,
        removed,
        counts,
        table["date"] if "date" in table else np.full(hours.size, np.nan),
        tuple(sorted(refused, key=lambda one: one.row)),
    )


def _group(table: Table, first: Indices) -> NDArray[np.str_]:
    none = np.full(first.size, "")
    workshop, duty = (table[name][first] if name in table else none for name in ("workshop", "duty"))
    return np.asarray(np.char.add(np.char.add(workshop, "\t"), duty))


# CSV -----------------------------------------------------------------------------------------------------


def _csv(path: Path, layout: Layout) -> Iterator[tuple[Indices, Table]]:
    with text_of(path) as handle:
        reader = csv.reader(handle)
        headings = next(reader, [])
        places = {name: headings.index(column.heading) for name, column in layout.columns.items()}
        held: list[list[str]] = []
        first = 1
        for line in reader:
            held.append(line)
            if len(held) >= BATCH:
                cut = _last_start([_cell(row, places["unit"]) for row in held])
                if cut:
                    yield np.arange(first, first + cut), _parsed(held[:cut], places)
                    first += cut
                    held = held[cut:]
        if held:
            yield np.arange(first, first + len(held)), _parsed(held, places)


def _cell(row: Sequence[str], place: int) -> str:
    return row[place].strip() if place < len(row) else ""


def _last_start(units: Sequence[str]) -> int:
    cut = len(units) - 1
    while cut and units[cut - 1] == units[-1]:
        cut -= 1
    return cut


def _parsed(rows: Sequence[Sequence[str]], places: Mapping[str, int]) -> Table:
    table: Table = {}
    for name, place in places.items():
        cells = [_cell(row, place) for row in rows]
        if name == "date":
            table[name] = np.array([_day(cell) for cell in cells])
        elif name in TEXTS:
            table[name] = np.array(cells)
        else:
            empty = "0" if name in ("ground so far", *EVENTS) else "nan"
            table[name] = np.array([_number(cell or empty) for cell in cells])
    table["code"] = np.cumsum(np.append(True, table["unit"][1:] != table["unit"][:-1]))
    return table


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return float("nan")


def day_number(day: datetime.date) -> int:
    """Return a day as days since 1970, as Parquet counts them."""
    return day.toordinal() - _DAY_ZERO


def _day(cell: str) -> float:
    try:
        return float(day_number(datetime.date.fromisoformat(cell[:10])))
    except ValueError:
        return float("nan")


# Parquet -------------------------------------------------------------------------------------------------


def _parquet(path: Path, layout: Layout, part: tuple[int, int]) -> Iterator[tuple[Indices, Table]]:
    import pyarrow as pa

    file = opened(path)
    starts = np.cumsum([0, *(file.metadata.row_group(i).num_rows for i in range(file.num_row_groups))])
    unit = layout.columns["unit"].heading
    before = file.read_row_group(part[0] - 1, columns=[unit]).column(0)[-1].as_py() if part[0] else None
    skipping, first = part[0] > 0, int(starts[part[0]]) + 1
    held: Any = None
    for group in range(part[0], file.num_row_groups):
        for batch in file.iter_batches(BATCH, row_groups=[group], columns=layout.headings):
            table = pa.Table.from_batches([batch])
            if skipping:
                table, skipped = _without(table, unit, before)
                first += skipped
                skipping = table.num_rows == 0
            if group >= part[1]:  # only the last unit of the part goes on here
                last = held.column(unit)[-1].as_py() if held is not None else None
                rest, more = _without(table, unit, last)
                held = pa.concat_tables([held, table.slice(0, more)]) if held is not None else None
                if held is None or rest.num_rows:
                    break
                continue
            held = table if held is None else pa.concat_tables([held, table])
            codes = _codes(held, unit)
            cut = int(np.flatnonzero(np.diff(codes, prepend=-1))[-1]) if codes.size else 0
            if cut:
                yield np.arange(first, first + cut), _columns(held.slice(0, cut), layout, codes[:cut])
                held, first = held.slice(cut), first + cut
        else:
            continue
        break
    if held is not None and held.num_rows:
        yield np.arange(first, first + held.num_rows), _columns(held, layout, _codes(held, unit))


def _without(table: Any, unit: str, name: object) -> tuple[Any, int]:
    """Return a table without its leading rows of one unit, and how many those were."""
    other = np.array([value != name for value in table.column(unit).to_pylist()], dtype=np.bool_)
    skip = int(np.argmax(other)) if other.any() else table.num_rows
    return table.slice(skip), skip


def _codes(table: Any, unit: str) -> NDArray[np.intp]:
    """Return a number for each row that changes whenever the unit does."""
    import pyarrow.compute as pc

    column = table.column(unit).combine_chunks()
    if len(column) < 2:
        return np.zeros(len(column), dtype=np.intp)
    other = pc.fill_null(pc.not_equal(column[1:], column[:-1]), True).to_numpy(zero_copy_only=False)
    return np.concatenate([[0], np.cumsum(other)]).astype(np.intp)


def _columns(table: Any, layout: Layout, codes: NDArray[np.intp]) -> Table:
    import pyarrow as pa
    import pyarrow.compute as pc

    runs = np.flatnonzero(np.diff(codes, prepend=-1))
    lengths = np.diff(np.append(runs, codes.size))
    made: Table = {"code": codes}
    for name, column in layout.columns.items():
        array = table.column(column.heading)
        if name == "date":
            days = pc.cast(pc.cast(array, pa.date32()), pa.int32())
            made[name] = pc.cast(days, pa.float64()).to_numpy()
        elif name in TEXTS:  # once a unit: text is slow to take over
            texts = pc.fill_null(pc.cast(array.take(pa.array(runs)), pa.string()), "").to_pylist()
            made[name] = np.repeat(np.array(texts), lengths)
        else:
            empty = 0.0 if name in ("ground so far", *EVENTS) else float("nan")
            made[name] = pc.fill_null(pc.cast(array, pa.float64()), empty).to_numpy()
    return made
