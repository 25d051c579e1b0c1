"""What is on file at each place of a visit: readings and cells of sweeps that stand, with who entered them."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import TYPE_CHECKING

from sparkout.records.models import Cell, Gauge, Reading
from sparkout.units import is_bare, parse
from sparkout.visit.quantities import QUANTITIES
from sparkout.visit.words import Where

if TYPE_CHECKING:
    import datetime

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
    sweeps = {sweep.pk: sweep for sweep in taken.sweeps}
    for cell in sorted(taken.cells, key=lambda cell: cell.pk):
        if cell.value == "-":
            continue
        sweep = sweeps[cell.sweep]
        blade, angle = row_of(sweep.of, sweep.blades, sweep.angles, cell.row)
        key = (sweep.of, _x(sweep.at[cell.column], length), blade, angle, sweep.when)
        shown = str(cell.value)
        unit = sweep.unit or "mm"
        told = f"{shown} {unit}" if is_bare(shown) else shown
        gauge, by = _name(sweep.gauge), cell.entered_by__name
        found[key].append(Filed(Cell, cell.pk, cell.version, told, unit, gauge, by, cell.entered_at))
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
    return {key: replace(first, repeats=tuple(others)) for key, (first, *others) in found.items()}


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
