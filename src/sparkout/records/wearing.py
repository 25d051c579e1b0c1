"""What of each unit wears as the records tell it: readings of signed visits along the hours the part has run."""

from __future__ import annotations

import datetime
from bisect import bisect_left
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sparkout.records.models import Event, Limit
from sparkout.season.wearing import WIDENS, Quantity, Size, Wearing
from sparkout.units import parse

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from sparkout.core.measured import Measured
    from sparkout.reckoning.in_figures import InFigures, Stage
    from sparkout.records.models import Fitting, Unit, Visit

Read = Literal["diameter", "land", "lip", "front roller", "rear roller"]


@dataclass(frozen=True, slots=True)
class _Read:
    """How visits read something."""

    quantity: Quantity
    of: Callable[[Stage], Measured | None]
    ground: Callable[[InFigures], bool]
    """Whether a visit's work took metal off it."""
    limited_as: tuple[str, ...]
    """What a limit on it is called, the nearest first."""
    which: str = ""


_BOTH = "roller diameter"
_READ: dict[Read, _Read] = {
    "diameter": _Read("diameter", lambda stage: stage.diameter, lambda told: told.ground, ("diameter",)),
    "land": _Read("land", lambda stage: stage.land, lambda told: told.ground, ("land",)),
    "lip": _Read("lip", lambda stage: stage.lip, lambda told: told.knife_ground, ("lip height",)),
    "front roller": _Read(
        "roller", lambda stage: stage.front_roller, lambda _: False, ("front roller diameter", _BOTH), "front"
    ),
    "rear roller": _Read(
        "roller", lambda stage: stage.rear_roller, lambda _: False, ("rear roller diameter", _BOTH), "rear"
    ),
}


@dataclass(frozen=True, slots=True)
class Stay:
    """From when to when something was in a unit."""

    unit: Unit
    since: datetime.date
    until: datetime.date | None


class TurfEvents:
    """Sand and stones on file up to a day."""

    def __init__(self, today: datetime.date) -> None:
        self.at: dict[tuple[str, str, int], list[datetime.date]] = defaultdict(list)
        rows = Event.objects.filter(kind__in=("sand", "stone"), on__lte=today)
        for kind, on, place, machine, unit in rows.values_list("kind", "on", "place", "machine", "unit"):
            for what, pk in (("unit", unit), ("machine", machine), ("place", place)):
                if pk is not None:
                    self.at[kind, what, pk].append(on)
                    break

    def happened(self, stays: Sequence[Stay | Fitting]) -> tuple[list[datetime.date], list[datetime.date]]:
        """Return the days of sand and of stones that something went through, in whichever unit it was then."""
        return self._during(stays, "sand"), self._during(stays, "stone")

    def _during(self, stays: Sequence[Stay | Fitting], kind: str) -> list[datetime.date]:
        found: list[datetime.date] = []
        for stay in stays:
            machine = stay.unit.position.machine if stay.unit.position is not None else None
            of = [("unit", stay.unit.pk)]
            if machine is not None:
                of += [("machine", machine.pk), *([("place", machine.place_id)] if machine.place_id else [])]
            days = (day for what, pk in of for day in self.at.get((kind, what, pk), ()))
            found += [day for day in days if stay.since <= day and (stay.until is None or day < stay.until)]
        return sorted(found)


class WearLimits:
    """The workshop's limits on what wears, mm: of a type, else for everything."""

    def __init__(self) -> None:
        self.of: dict[tuple[str, int | None, int | None], float] = {}
        named = [name for read in _READ.values() for name in read.limited_as]
        for limit in Limit.objects.filter(quantity__in=named, ended_at=None):
            told = limit.at_most if limit.quantity == WIDENS else limit.at_least
            if told is not None:
                self.of[limit.quantity, limit.reel_type_id, limit.knife_type_id] = parse(told, "length", "mm")

    def on(self, name: Read, reel_type: int | None = None, knife_type: int | None = None) -> float | None:
        """Return the limit that holds for something, of a type of reel or knife."""
        for quantity in _READ[name].limited_as:
            for whose in ((quantity, reel_type, knife_type), (quantity, None, None)):
                if whose in self.of:
                    return self.of[whose]
        return None


@dataclass(frozen=True, slots=True)
class Run:
    """How long something has run, and what it has been through."""

    duty: str
    """What it is compared with: its type."""
    hours: float | None
    """By now."""
    visits: list[tuple[Visit, float]]
    """With the hours it had run by them."""
    happened: tuple[list[datetime.date], list[datetime.date]]
    """Days of sand and of stones."""


def wearing(name: Read, run: Run, figures: Mapping[int, InFigures], limit: float | None) -> Wearing:
    """Return something that wears: its means as found and as left, in the order of hours, with what had come before.

    What a grind took off counts where it was read before and after; a land may go either way, anything else falls.
    """
    read = _READ[name]
    sizes: list[Size] = []
    removed = 0.0
    for visit, at in sorted(run.visits, key=lambda one: one[1]):
        told = figures.get(visit.pk)
        if told is None:
            continue
        found, left = read.of(told.found), read.of(told.left)
        counts = tuple(len(days) if visit.date is None else bisect_left(days, visit.date) for days in run.happened)
        if found is not None:
            sizes.append(Size(at, found.value, removed, *counts))
        if left is not None:
            if found is not None and read.ground(told):
                off = found.value - left.value
                removed += off if read.quantity == WIDENS else max(off, 0.0)
            sizes.append(Size(at, left.value, removed, *counts))
    so_far = (len(days) for days in run.happened)
    return Wearing(read.quantity, run.duty, run.hours, tuple(sizes), limit, read.which, *so_far)
