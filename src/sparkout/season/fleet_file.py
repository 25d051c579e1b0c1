"""A fleet file (CSV or Parquet): what its columns are, and into which parts it can be cut."""

from __future__ import annotations

import csv
import itertools
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, TextIO

from sparkout.core.errors import NotEnough, OutOfRange, Refusal, did_you_mean
from sparkout.core.phrase import AsTyped, phrase
from sparkout.season.sand import Happening
from sparkout.season.wearing import QUANTITIES

if TYPE_CHECKING:
    import pyarrow.parquet as pq

USES = ("hours", "hectares")
HAPPENED: dict[str, Happening] = {"sandings so far": "sandings", "stones so far": "stones"}
EVENTS = tuple(HAPPENED)
SIZES = (*QUANTITIES, "ground so far", "limit")
TEXTS = ("unit", "duty", "workshop", "date")
SIZE_UNITS = {"mm": 1.0, "in": 25.4, "inch": 25.4, "thou": 0.0254}
USE_UNITS = {"": 1.0, "h": 1.0, "ha": 1.0}


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the file: its heading, and what its figures are multiplied with to be mm."""

    heading: str
    factor: float = 1.0


@dataclass(frozen=True, slots=True)
class Layout:
    """What the columns of a fleet file are."""

    columns: Mapping[str, Column]
    quantity: str
    use: str
    """Hours or hectares."""

    @property
    def events(self) -> tuple[str, ...]:
        """Return the covariates there are columns for."""
        return tuple(name for name in EVENTS if name in self.columns)

    @property
    def headings(self) -> list[str]:
        """Return the headings to read."""
        return [column.heading for column in self.columns.values()]


def layout_of(headings: Sequence[str], quantity: str = "") -> Layout:
    """Return what the columns are, by their headings: a name and a unit in brackets, in any order and case.

    Raises
    ------
    NotEnough
        A column that is needed is not there, or no quantity was chosen among several.
    OutOfRange
        A unit that is not known, or two columns of one name.

    Examples
    --------
    >>> found = layout_of(["Unit", "Hours", "Diameter (mm)", "colour"])
    >>> found.quantity, found.use, sorted(found.columns)
    ('diameter', 'hours', ['diameter', 'hours', 'unit'])
    """
    columns: dict[str, Column] = {}
    for heading in headings:
        read = re.fullmatch(r"\s*(.*?)\s*(?:[(\[]\s*(\S*?)\s*[)\]])?\s*", heading.replace("_", " ").lower())
        name, unit = read.groups(default="") if read else (heading, "")
        if name not in (*SIZES, *USES, *EVENTS, *TEXTS):
            continue
        if name in columns:
            raise OutOfRange(heading, name, phrase("one column of that name"))
        columns[name] = Column(heading, _factor(heading, name, unit))
    there = [name for name in QUANTITIES if name in columns]
    if quantity and quantity not in there:
        raise NotEnough(
            phrase("wear of {quantity}", quantity=AsTyped(quantity)),
            phrase("a column of that name ({known})", known=did_you_mean(quantity, there)),
        )
    uses = [name for name in USES if name in columns]
    if len(there) > 1 and not quantity:
        raise NotEnough(phrase("wear"), phrase("which of {names} (--quantity)", names=AsTyped(", ".join(there))))
    if "unit" not in columns or not uses or not there:
        raise NotEnough(
            phrase("wear of a fleet"),
            phrase(
                "columns unit, hours (or hectares) and diameter, land, lip or roller (mm); found: {found}",
                found=AsTyped(", ".join(headings)),
            ),
        )
    chosen = quantity or there[0]
    dropped = {*QUANTITIES, *USES} - {chosen, uses[0]}
    return Layout({name: column for name, column in columns.items() if name not in dropped}, chosen, uses[0])


def _factor(heading: str, name: str, unit: str) -> float:
    known = SIZE_UNITS if name in SIZES else USE_UNITS
    if name in EVENTS or name in TEXTS:
        known = {"": 1.0}
    if unit not in known:
        given = phrase("a unit in brackets, one of {known}", known=AsTyped(", ".join(filter(None, known)) or "none"))
        raise OutOfRange(phrase("the unit of {heading}", heading=AsTyped(heading)), unit, given)
    return known[unit]


def layout_in(path: Path, quantity: str = "") -> Layout:
    """Return what the columns of a file are."""
    if is_parquet(path):
        return layout_of(opened(path).schema_arrow.names, quantity)
    with text_of(path) as handle:
        return layout_of(next(csv.reader(handle), []), quantity)


def is_parquet(path: Path) -> bool:
    """Return whether a file is Parquet, by its first bytes.

    Raises
    ------
    Refusal
        When it cannot be read.
    """
    try:
        with path.open("rb") as handle:
            return handle.read(4) == b"PAR1"
    except OSError as trouble:
        raise Refusal(
            phrase("{path} cannot be read: {why}", path=AsTyped(path), why=AsTyped(trouble.strerror))
        ) from None


def opened(path: Path) -> pq.ParquetFile:
    """Return a Parquet file opened.

    Raises
    ------
    Refusal
        When the library for Parquet is not installed, or the file is damaged.
    """
    try:
        import pyarrow as pa
        import pyarrow.parquet as pq
    except ImportError:
        raise Refusal(
            phrase('Parquet files want the extra "fleet": pip install "sparkout[fleet]" (CSV works without)')
        ) from None
    try:
        return pq.ParquetFile(path)
    except (OSError, pa.ArrowException) as trouble:
        raise Refusal(
            phrase("{path} is not a whole Parquet file: {why}", path=AsTyped(path), why=AsTyped(trouble))
        ) from None


def parts_of(path: Path, wanted: int) -> list[tuple[int, int]]:
    """Return how to cut a file into about so many parts: row groups of Parquet from, to; CSV stays whole."""
    groups = opened(path).num_row_groups if is_parquet(path) else 1
    wanted = max(1, min(wanted, groups))
    edges = [groups * i // wanted for i in range(wanted + 1)]
    return [(a, b) for a, b in itertools.pairwise(edges) if b > a]


def text_of(path: Path) -> TextIO:
    """Return a CSV file opened to be read."""
    return path.open(encoding="utf-8-sig", errors="replace", newline="")
