"""A fleet file's rows to sufficient numbers by unit, and what is doubtful in them; parts in any process, put together.

A unit's rows are always worked on together and in one order, so that its sums are the same bits however a file is cut.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import islice
from pathlib import Path
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough
from sparkout.core.phrase import Phrase, phrase
from sparkout.core.season.doubtful import (
    Runs,
    grown,
    hours_out_of_line,
    meter_replaced,
    reading_noise,
    unrecorded_grinds,
)
from sparkout.core.season.unit_sums import Readings, unit_sums
from sparkout.season.fleet_file import Layout, parts_of
from sparkout.season.fleet_rows import Refused, Rows, read_rows
from sparkout.season.wearing import MIRROR, WIDENS

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]

FIRST_ROWS = 20_000
"""Rows at the head of the file from which the centre and the noise of a reading are told: the same for every cut."""
KEPT = 200
"""Doubts of each kind told one by one; all are counted."""
NEW_PART = 0.5
"""mm by which a part must have grown to be taken for a new one; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something about a unit's readings that a person is asked about, and what was done with the rows meanwhile."""

    kind: str
    unit: str
    rows: tuple[int, ...]
    """Numbers in the file."""
    asked: Phrase
    done: Phrase
    hours: float = 0.0
    day: float = math.nan
    odds: float = 0.0


@dataclass(frozen=True, slots=True)
class Setting:
    """What must be the same for all parts of a file."""

    centre: tuple[float, float]
    noise: float
    """mm, of one reading."""
    today: int
    """Days since 1970."""


@dataclass(frozen=True, slots=True)
class Taken:
    """Units' sufficient numbers, where they stand, and doubts."""

    units: NDArray[np.str_]
    groups: NDArray[np.str_]
    """The different groups; `group` says which is a unit's."""
    group: NDArray[np.int32]
    gram: Floats
    """(m, m, units)"""
    hours: Floats
    """(2, units) first and last."""
    days: Floats
    """(2, units) first and last dated reading; not a number where none is."""
    removed: Floats
    """(2, units) by recorded grinds at the first and the last reading."""
    counts: Floats
    """(2, k, units) first and last."""
    limit: Floats
    grinds: Floats
    """(3,) how many steps of recorded grinds, their sum and sum of squares."""
    suspected: Indices
    corrected: Floats
    """(m, m, suspected) their sums with the suspected grind put back."""
    gone: Floats
    """(suspected,) mm that the suspected grind took."""
    doubts: tuple[Doubt, ...]
    tally: Counter[str] = field(default_factory=Counter)
    rows: int = 0


def setting_of(path: Path, layout: Layout, today: int) -> Setting:
    """Return what the head of a file says about its centre and the noise of a reading.

    Raises
    ------
    NotEnough
        No row can be used.
    """
    hours, level, runs, count, rows_read = [], [], [np.zeros(1, dtype=np.intp)], 0, 0
    refused: list[Refused] = []
    for rows in read_rows(path, layout, parts_of(path, 1)[0] if parts_of(path, 1) else (0, 0)):
        rows_read += rows.hours.size
        refused += islice(rows.refused, 1)
        last = int(np.searchsorted(rows.starts, FIRST_ROWS - count))
        end = int(rows.starts[min(last, rows.starts.size - 1)])
        hours.append(rows.hours[:end])
        level.append(_level(rows, layout)[:end])
        runs.append(rows.starts[1 : last + 1] + count)
        count += end
        if count >= FIRST_ROWS:
            break
    if not count:
        why = refused[0] if refused else None
        wanted = phrase("at least one row that can be used")
        if why is not None:
            wanted = phrase("at least one row that can be used (row {row}: {why})", row=why.row, why=why.why)
        raise NotEnough(phrase("wear of a fleet"), wanted)
    h, y = np.concatenate(hours), np.concatenate(level)
    noise = reading_noise(Runs(np.concatenate(runs), h, y))
    return Setting((float(np.round(h.mean())), float(np.round(y.mean()))), noise, today)


def _level(rows: Rows, layout: Layout) -> Floats:
    return _value(rows, layout) + _removed(rows, layout)


def _value(rows: Rows, layout: Layout) -> Floats:
    return MIRROR - rows.value if layout.quantity == WIDENS else rows.value


def _removed(rows: Rows, layout: Layout) -> Floats:
    return -rows.removed if layout.quantity == WIDENS else rows.removed


def taken(rows: Rows, layout: Layout, setting: Setting) -> Taken:
    """Return sufficient numbers and doubts of whole units' rows."""
    units = rows.units.size
    of = np.repeat(np.arange(units, dtype=np.intp), np.diff(rows.starts))
    order = _in_time(rows, of)
    data = _Sorted(
        rows, of[order], rows.number[order], rows.hours[order], _value(rows, layout)[order],
        _removed(rows, layout)[order], rows.counts[:, order], rows.day[order],
    )  # fmt: skip
    doubts: list[Doubt] = []
    tally: Counter[str] = Counter()
    data = _without_future(data, setting, doubts, tally)
    data = _without_slips(data, doubts, tally)
    data = _carried_on(data, doubts, tally)
    data = _grown(data, setting, doubts, tally)
    steps = unrecorded_grinds(data.runs(), setting.noise)
    tally["unrecorded grind"] += steps.run.size
    for row, size, odds in islice(zip(steps.row, steps.size, steps.odds, strict=True), KEPT):
        doubts.append(
            data.doubt(
                "unrecorded grind", (row - 1, row),
                phrase("{size:.2f} mm more than its line between these readings: was it ground?", size=float(size)),
                phrase("kept as it stands; the answer with it put back is beside (odds {odds:.3g} to 1)", odds=odds),
                odds=float(odds),
            )
        )  # fmt: skip
    told = (Doubt("refused row", "", (bad.row,), bad.why, phrase("left out")) for bad in islice(rows.refused, KEPT))
    doubts.extend(told)
    tally["refused row"] += len(rows.refused)
    _, group_first, group = np.unique(rows.groups, return_index=True, return_inverse=True)
    corrected = _corrected(data, steps.run, steps.row, steps.size, setting)
    return Taken(
        rows.units, rows.groups[group_first], group.astype(np.int32), data.sums(setting), *data.ends(),
        rows.limit, data.grinds(), steps.run, corrected, steps.size, tuple(doubts), tally, int(rows.hours.size),
    )  # fmt: skip


def _in_time(rows: Rows, of: Indices) -> Indices:
    """Return the order of time in each run: by date where all its readings have one, else as they stand."""
    undated = np.bincount(of, weights=np.isnan(rows.day), minlength=rows.units.size) > 0
    day = np.where(undated[of], 0.0, rows.day)
    forward = (of[1:] > of[:-1]) | (day[1:] >= day[:-1])
    if forward.all():
        return np.arange(of.size, dtype=np.intp)
    return np.lexsort((day, of)).astype(np.intp)


@dataclass(frozen=True, slots=True)
class _Sorted:
    """Readings in the order of unit and time."""

    rows: Rows
    of: Indices
    number: Indices
    hours: Floats
    value: Floats
    removed: Floats
    counts: Floats
    day: Floats

    @property
    def units(self) -> int:
        return self.rows.units.size

    @property
    def starts(self) -> Indices:
        return np.searchsorted(self.of, np.arange(self.units + 1)).astype(np.intp)

    def runs(self) -> Runs:
        return Runs(self.starts, self.hours, self.value + self.removed)

    def only(self, good: NDArray[np.bool_]) -> _Sorted:
        if good.all():
            return self
        whole, figures = (self.of[good], self.number[good]), (self.hours[good], self.value[good], self.removed[good])
        return _Sorted(self.rows, *whole, *figures, self.counts[:, good], self.day[good])

    def doubt(self, kind: str, at: Sequence[int], asked: Phrase, done: Phrase, odds: float = 0.0) -> Doubt:
        unit, rows = str(self.rows.units[self.of[at[-1]]]), tuple(int(self.number[i]) for i in at)
        return Doubt(kind, unit, rows, asked, done, float(self.hours[at[-1]]), float(self.day[at[-1]]), odds)

    def sums(self, setting: Setting) -> Floats:
        return unit_sums(
            Readings(self.of, self.hours, self.value, self.removed, self.counts), self.units, setting.centre
        )

    def ends(self) -> tuple[Floats, Floats, Floats, Floats]:
        """Return hours, days, removed (2, units) and counts (2, k, units) at each unit's first and last reading."""
        starts = self.starts
        first, last = starts[:-1], starts[1:] - 1
        there = last >= first
        if not there.all():
            pad = np.full(self.units, np.nan)
            first, last = first[there], last[there]

        def spread(values: Floats) -> Floats:
            pair = np.stack([values[first], values[last]])
            if there.all():
                return pair
            whole = np.stack([pad, pad])
            whole[:, there] = pair
            return whole

        counts = [spread(one) for one in self.counts]
        by_count = np.stack(counts, axis=1) if counts else np.zeros((2, 0, self.units))
        return spread(self.hours), spread(self.day), spread(self.removed), by_count

    def grinds(self) -> Floats:
        steps = np.abs(np.diff(self.removed)[self.of[1:] == self.of[:-1]])
        steps = steps[steps > 1e-9]
        return np.array([steps.size, steps.sum(), (steps * steps).sum()])


def _without_future(data: _Sorted, setting: Setting, doubts: list[Doubt], tally: Counter[str]) -> _Sorted:
    future = data.day > setting.today
    tally["future"] += int(future.sum())
    for i in islice(map(int, np.flatnonzero(future)), KEPT):
        asked = phrase("its date is {days} days from now: which day was it?", days=int(data.day[i] - setting.today))
        doubts.append(data.doubt("future", (i,), asked, phrase("set aside")))
    return data.only(~future)


def _without_slips(data: _Sorted, doubts: list[Doubt], tally: Counter[str]) -> _Sorted:
    out = hours_out_of_line(data.runs())
    tally["hours out of line"] += int(out.sum())
    for i in islice(map(int, np.flatnonzero(out)), KEPT):
        asked = phrase(
            "{hours:g} hours do not lie between those before and after: is it another unit's reading?",
            hours=data.hours[i],
        )
        doubts.append(data.doubt("hours out of line", (i - 1, i + 1, i), asked, phrase("the last of them set aside")))
    return data.only(~out)


def _carried_on(data: _Sorted, doubts: list[Doubt], tally: Counter[str]) -> _Sorted:
    rows, hours = meter_replaced(data.runs())
    tally["meter"] += rows.size
    for i in islice(map(int, rows), KEPT):
        asked = phrase(
            "hours fall from {before:g} to {after:g}: was the meter replaced?",
            before=data.hours[i - 1],
            after=data.hours[i],
        )
        done = phrase("carried on from {before:g}; what was cut between counts as none", before=data.hours[i - 1])
        doubts.append(data.doubt("meter", (i - 1, i), asked, done))
    return replace(data, hours=hours)


def _grown(data: _Sorted, setting: Setting, doubts: list[Doubt], tally: Counter[str]) -> _Sorted:
    level, good, starts = data.value + data.removed, np.ones(data.of.size, dtype=np.bool_), data.starts
    for i in grown(data.runs(), setting.noise):
        by = level[i] - level[i - 1]
        kind = "new part" if by > NEW_PART else "grown"
        if by > NEW_PART:
            good[starts[data.of[i]] : i] = False
        tally[kind] += 1
        if tally[kind] > KEPT:
            continue
        done = phrase("readings before it set aside") if by > NEW_PART else phrase("kept")
        asked = phrase("grown by {by:.2f} mm since the reading before: a new part, or a slip?", by=by)
        doubts.append(data.doubt(kind, (i - 1, i), asked, done))
    return data.only(good)


def _corrected(data: _Sorted, run: Indices, row: Indices, size: Floats, setting: Setting) -> Floats:
    """Return the sums of suspected units (m, m, suspected) with what the suspected grind took put back."""
    width = 3 + data.counts.shape[0]
    if not run.size:
        return np.zeros((width, width, 0))
    where = np.full(data.units, -1, dtype=np.intp)
    where[run] = np.arange(run.size)
    mine = where[data.of] >= 0
    at = where[data.of[mine]]
    back = np.where(np.flatnonzero(mine) >= row[at], size[at], 0.0)
    readings = Readings(at, data.hours[mine], data.value[mine], data.removed[mine] + back, data.counts[:, mine])
    return unit_sums(readings, run.size, setting.centre)
