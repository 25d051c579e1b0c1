"""What is on file at each place of a visit: readings and cells of sweeps that stand, with who entered them."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import lru_cache
from operator import attrgetter
from typing import TYPE_CHECKING, Any

from sparkout.records.models import Cell, Gauge, Reading
from sparkout.units import is_bare, parse
from sparkout.visit.quantities import QUANTITIES
from sparkout.visit.words import Where

if TYPE_CHECKING:
    import datetime

    from sparkout.records.models import Sweep
    from sparkout.records.tables import Taken
    from sparkout.web.visit.places import Key

_WHERE = Where("a station")


@dataclass(frozen=True, slots=True)
class Filed:
    """One entry that stands."""

    kind: type[Reading] | type[Cell]
    pk: int
    version: int
    """Counts its corrections."""
    shown: str
    unit: str
    """Unit in which a bare number of its sweep counts; empty for single readings."""
    gauge: str
    by: str
    at: datetime.datetime
    repeats: tuple[Filed, ...] = ()
    """Further readings at the same place, in the order they were entered; all of them count."""

    def beside(self, unit: str) -> str:
        """What a grid shows whose head names a unit."""
        return self.shown.removesuffix(f" {unit}") if unit else self.shown

    @property
    def entry(self) -> Reading | Cell:
        """The entry itself, asked for when it is to be changed."""
        found: Reading | Cell = self.kind.objects.get(pk=self.pk)
        return found


def filed(taken: Taken, length: float) -> dict[Key, Filed]:
    """Return what stands at each place."""
    found: dict[Key, list[Filed]] = defaultdict(list)
    sweeps = {sweep.pk: _OfSweep(sweep, length) for sweep in taken.sweeps}
    for cell in sorted(taken.cells, key=attrgetter("pk")):
        if cell.value != "-":
            sweep = sweeps[cell.sweep]
            found[sweep.key_of(cell.row, cell.column)].append(sweep.filed(cell))
    for reading in taken.readings:
        angle = None if reading.angle is None else _degrees(reading.angle)
        key = (reading.of, _x(reading.at, length), reading.blade, angle, reading.when)
        found[key].append(
            Filed(
                Reading,
                reading.pk,
                reading.version,
                _leaves(reading),
                "",
                _name(reading.gauge),
                reading.entered_by.name,
                reading.entered_at,
            )
        )
    return {key: replace(first, repeats=tuple(others)) if others else first for key, (first, *others) in found.items()}


class _OfSweep:
    """The cells of one sweep: what all of them share is looked up once."""

    def __init__(self, sweep: Sweep, length: float) -> None:
        self.sweep = sweep
        self._rows = [row_of(sweep.of, sweep.blades, sweep.angles, row) for row in range(sweep.rows)]
        self._across = [_x(at, length) for at in sweep.at]
        self._unit, self._gauge = sweep.unit or "mm", _name(sweep.gauge)

    def key_of(self, row: int, column: int) -> Key:
        """Return the place of a cell."""
        return (self.sweep.of, self._across[column], *self._rows[row], self.sweep.when)

    def filed(self, cell: Any) -> Filed:
        """Return a cell as what is on file."""
        shown = str(cell.value)
        told = f"{shown} {self._unit}" if is_bare(shown) else shown
        return Filed(Cell, cell.pk, cell.version, told, self._unit, self._gauge, cell.entered_by__name, cell.entered_at)


def row_of(of: str, blades: list[int] | None, angles: list[str] | None, row: int) -> tuple[int | None, int | None]:
    """Return blade and angle (whole degrees) of a row of a sweep."""
    if QUANTITIES[of].rows == "angle":
        return None, _degrees(angles[row]) if angles else None
    return (blades[row] if blades else row + 1), None


@lru_cache(1024)
def _degrees(typed: str | float) -> int:
    return round(math.degrees(parse(typed, "angle", "deg"))) % 360


@lru_cache(1024)
def _x(typed: str | float | None, length: float) -> float | None:
    return None if typed is None else round(_WHERE.read(typed).along(length), 1)


def _leaves(reading: Reading) -> str:
    if reading.value is not None:
        return str(reading.value)
    goes = "" if reading.goes is None else str(reading.goes)
    stops = "" if reading.does_not_go is None else str(reading.does_not_go)
    if goes and stops:
        number, _, unit = goes.partition(" ")
        return f"{number if unit and stops.endswith(f' {unit}') else goes} {stops}"
    return f"go {goes}" if goes else f"nogo {stops}"


def _name(gauge: Gauge | None) -> str:
    return "" if gauge is None else gauge.name
