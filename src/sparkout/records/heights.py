"""Heights of cut on file of a machine's units: those measured last on each, with the visit they are from."""

from __future__ import annotations

from dataclasses import dataclass
from statistics import fmean
from typing import TYPE_CHECKING

from sparkout.records.models import Machine, Reading, Unit, Visit
from sparkout.records.models.visits import OPEN, SIGNED
from sparkout.records.tables import standing
from sparkout.units import parse

if TYPE_CHECKING:
    from collections.abc import Iterable

HEIGHT = "height of cut"


@dataclass(frozen=True, slots=True)
class HeightsOnFile:
    """A unit of a machine by where it sits, and its heights as last measured, mm; None where none is on file."""

    unit: Unit
    name: str
    visit: Visit | None = None
    when: str = ""
    """As found or as left."""
    left: float | None = None
    right: float | None = None


def heights_of(machine: Machine) -> tuple[HeightsOnFile, ...]:
    """Return what is on file of each unit of a machine, in the order of its places; two queries.

    Of each unit the last visit in which a height was read at an end counts: as left where it was read then, else as
    found; several readings of an end by their mean.
    """
    units = Unit.objects.filter(position__machine=machine).select_related("position").order_by("position__name", "pk")
    read = (
        standing(Reading)
        .filter(
            of=HEIGHT, value__isnull=False, visit__unit__position__machine=machine, visit__state__in=(OPEN, SIGNED)
        )
        .exclude(visit__corrected_by__state__in=(OPEN, SIGNED))
        .select_related("visit")
        .order_by("visit__date", "visit_id", "pk")
    )  # fmt: skip
    by_unit: dict[int, list[Reading]] = {}
    for reading in read:
        if _end(reading) is None:
            continue
        by_unit.setdefault(reading.visit.unit_id, []).append(reading)
    return tuple(_of_unit(unit, by_unit.get(unit.pk, [])) for unit in units)


def _of_unit(unit: Unit, read: list[Reading]) -> HeightsOnFile:
    name = unit.position.name if unit.position is not None and unit.position.name else unit.name
    if not read:
        return HeightsOnFile(unit, name)
    visit = read[-1].visit
    mine = [reading for reading in read if reading.visit_id == visit.pk]
    when = "as left" if any(reading.when == "as left" for reading in mine) else "as found"
    ends = (_mean(r.value for r in mine if r.when == when and _end(r) == end) for end in ("left", "right"))
    return HeightsOnFile(unit, name, visit, when, *ends)


def _end(reading: Reading) -> str | None:
    at = str(reading.at).strip().lower()
    return at if at in ("left", "right") else None


def _mean(values: Iterable[object]) -> float | None:
    read = [parse(value if isinstance(value, int | float) else str(value), "length", "mm") for value in values]
    return fmean(read) if read else None
