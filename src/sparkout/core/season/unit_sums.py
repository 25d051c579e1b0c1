"""What a fleet's readings come to: sums by unit, which are all that an estimation needs, and which add up."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import OutOfRange
from sparkout.core.season.each_unit import CHUNK

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]
FINEST = 1e-4
"""mm: no reading is taken for truer than this, so that readings copied from a line still have a spread."""


@dataclass(frozen=True, slots=True)
class Readings:
    """A fleet's readings, in any order: unit, hours, what was shown, what recorded grinds had taken by then."""

    unit: Indices
    hours: Floats
    value: Floats
    """mm"""
    removed: Floats
    """mm taken by recorded grinds between the unit's first reading and this one; below 0 where they gave some back."""
    covariates: Floats
    """(k, readings) counts so far."""


def unit_sums(
    readings: Readings, units: int, centre: tuple[float, float], checked: Callable[[slice], None] | None = None
) -> Floats:
    """Return the Gram matrices (m, m, units) of the columns (1, hours, covariates ..., value + removed) about a centre.

    They add up: sums of parts of the readings are the sums of the whole. `checked` is called with each piece of the
    readings before it is added, while it is at hand.

    Examples
    --------
    >>> one = Readings(np.array([0, 0]), np.array([0.0, 2.0]), np.array([5.0, 4.0]), np.zeros(2), np.zeros((0, 2)))
    >>> unit_sums(one, 1, (0.0, 0.0))[:, :, 0].tolist()
    [[2.0, 2.0, 9.0], [2.0, 4.0, 8.0], [9.0, 8.0, 41.0]]
    """
    width = 3 + readings.covariates.shape[0]
    gram = np.zeros((width, width, units))
    cut = _whole_units(readings.unit)
    longest = max((rows.stop - rows.start for rows in cut), default=0)
    room = _room(width + 1, longest)
    in_order = True
    for rows in cut:
        if checked is not None:  # all of them, also where the units turn out to stand anyhow
            checked(rows)
        in_order &= _added(readings, rows, centre, gram, room)
    if in_order:
        return gram
    _of_fleet(int(readings.unit.min()), int(readings.unit.max()), units)
    *columns, _ = _columns(readings, slice(0, readings.unit.size), centre, _room(width + 1, readings.unit.size))
    for i in range(width):
        for j in range(i, width):
            product = columns[j] if i == 0 else columns[i] * columns[j]
            gram[i, j] = gram[j, i] = np.bincount(readings.unit, weights=product, minlength=units)
    return gram


def _whole_units(unit: Indices) -> list[slice]:
    """Return how to cut readings, all of them, no unit cut in two where they stand in the order of their units."""
    cuts = np.searchsorted(unit, unit[2 * CHUNK :: 2 * CHUNK], "left").tolist()
    return [slice(start, end) for start, end in pairwise(sorted({0, *cuts, unit.size}))]


def _added(readings: Readings, rows: slice, centre: tuple[float, float], gram: Floats, room: list[Floats]) -> bool:
    """Write the sums of some readings' units; returns whether the units are in order."""
    unit = readings.unit[rows]
    changes = np.flatnonzero(unit[1:] != unit[:-1])
    edges = np.zeros(changes.size + 2, dtype=np.intp)
    edges[1:-1], edges[-1] = changes + 1, unit.size
    starts = edges[:-1]
    of = unit[starts]
    behind = readings.unit[rows.stop] if rows.stop < readings.unit.size else gram.shape[2]
    if not (np.all(of[1:] > of[:-1]) and behind > of[-1]):
        return False
    _of_fleet(int(of[0]), int(of[-1]), gram.shape[2])
    *columns, spare = _columns(readings, rows, centre, room)
    to: slice | Indices = slice(int(of[0]), int(of[-1]) + 1) if of[-1] - of[0] == of.size - 1 else of
    gram[0, 0, to] = edges[1:] - starts
    for j in range(1, len(columns)):
        for i in range(j + 1):
            product = columns[j] if i == 0 else np.multiply(columns[i], columns[j], out=spare)
            gram[i, j, to] = gram[j, i, to] = np.add.reduceat(product, starts)
    return True


def no_truer_than_finest(gram: Floats) -> None:
    """Add to sums, in place, what readings true to `FINEST` scatter: after all parts are together, once."""
    gram[-1, -1] += FINEST**2 * gram[0, 0]


def _room(width: int, rows: int) -> list[Floats]:
    """Return columns to be written into; the first is of ones, the last to spare."""
    return [np.ones(rows), *(np.empty(rows) for _ in range(width - 1))]


def _columns(readings: Readings, rows: slice, centre: tuple[float, float], room: list[Floats]) -> list[Floats]:
    """Return the columns (1, hours, covariates ..., value + removed) of some readings, written into such a room."""
    _, hours, *covariates, level, _ = columns = [column[: rows.stop - rows.start] for column in room]
    np.subtract(readings.hours[rows], centre[0], out=hours)
    for column, given in zip(covariates, readings.covariates, strict=True):
        column[:] = given[rows]
    np.add(readings.value[rows], readings.removed[rows], out=level)
    level -= centre[1]
    return columns


def _of_fleet(least: int, most: int, units: int) -> None:
    if least < 0 or most >= units:
        raise OutOfRange("unit", most if most >= units else least, f"0 to {units - 1}")
