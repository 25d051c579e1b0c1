"""What the records hold by name, and what earlier rows added: a trial writes nothing, yet later rows may name it."""

from __future__ import annotations

import datetime
import difflib
from dataclasses import dataclass, field
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.records.models import (
    Calibration,
    Fitting,
    Gauge,
    Grinder,
    Knife,
    KnifeType,
    Limit,
    Machine,
    Person,
    Place,
    Reel,
    ReelType,
    Unit,
)
from sparkout.records.tables import gauge_row, limit_row

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sparkout.visit.schema import Visit as VisitFile

UnitKey = tuple[str, str]
"""Machine ('' on the shelf) and name."""


@dataclass(slots=True)
class UnitSeen:
    """A unit on file, or added by an earlier row (then without a number until it is entered)."""

    machine: str
    name: str
    position: str = ""
    pk: int | None = None
    told: dict[str, Any] = field(default_factory=dict)
    """Its entries under the fields of a table."""

    @property
    def key(self) -> UnitKey:
        """Machine and name."""
        return self.machine, self.name

    @property
    def number(self) -> int:
        """Its number, once it is entered."""
        assert self.pk is not None
        return self.pk

    def __str__(self) -> str:
        return " · ".join(filter(None, (self.name, self.machine, self.position)))


@dataclass(slots=True)
class PartSeen:
    """A reel or a knife."""

    label: str
    type: str
    spec: dict[str, Any]
    """The type's entries with its own."""
    scrapped_on: datetime.date | None = None
    pk: int | None = None


@dataclass(slots=True)
class FitSeen:
    """A part in a unit for a time."""

    unit: UnitKey
    label: str
    since: datetime.date
    until: datetime.date | None
    since_hours: Any = None
    until_hours: Any = None
    pk: int | None = None

    def overlaps(self, since: datetime.date, until: datetime.date | None) -> bool:
        """Whether both would be in at once; a swap on one day is no overlap."""
        return (self.until is None or since < self.until) and (until is None or self.since < until)


class Known:
    """The records by name, each kind read when first wanted."""

    def __init__(self) -> None:
        self.unit_named = lru_cache(50_000)(self._unit_named)
        self.planned: dict[tuple[UnitKey, datetime.date], list[VisitFile]] = {}
        """Whole visits that rows of a trial would enter."""

    def forget(self) -> None:
        """Read everything again: somebody else wrote meanwhile."""
        for name in [n for n in self.__dict__ if n not in ("unit_named", "planned")]:
            del self.__dict__[name]
        self.unit_named.cache_clear()

    @cached_property
    def places(self) -> dict[str, datetime.date | None]:
        """Places, and since when they are out of use."""
        return dict(Place.objects.values_list("name", "ended_on"))

    @cached_property
    def calibrations(self) -> set[tuple[str, str, str]]:
        """Calibrations by gauge, day and certificate."""
        rows = Calibration.objects.values_list("gauge__name", "on", "certificate")
        return {(name, str(on or ""), certificate) for name, on, certificate in rows}

    @cached_property
    def machines(self) -> dict[str, dict[str, Any]]:
        """Each machine's place, and since when it is out of use."""
        rows = Machine.objects.values_list("name", "place__name", "ended_on")
        return {name: {"place": place or "", "ended_on": ended} for name, place, ended in rows}

    @cached_property
    def people(self) -> dict[str, dict[str, Any]]:
        """Each person's preferences."""
        keys = ("units", "vocabulary", "decimal", "language", "active", "ended_on")
        return {row.pop("name"): row for row in Person.objects.values("name", *keys)}

    @cached_property
    def reel_types(self) -> dict[str, dict[str, Any]]:
        """Each type's entries."""
        return dict(ReelType.objects.values_list("name", "spec"))

    @cached_property
    def knife_types(self) -> dict[str, dict[str, Any]]:
        """Each type's entries."""
        return dict(KnifeType.objects.values_list("name", "spec"))

    @cached_property
    def types_ended(self) -> dict[tuple[str, str], datetime.date | None]:
        """Since when types of reel and of knife are out of use."""
        found = {("reel", name): ended for name, ended in ReelType.objects.values_list("name", "ended_on")}
        return found | {("knife", name): ended for name, ended in KnifeType.objects.values_list("name", "ended_on")}

    @cached_property
    def gauges(self) -> dict[str, dict[str, Any]]:
        """Each gauge as a row of [[gauges]], and whether it is out of use."""
        return {
            gauge.name: {**gauge_row(gauge), "retired": gauge.retired, "ended_on": gauge.ended_on}
            for gauge in Gauge.objects.all()
        }

    @cached_property
    def grinders(self) -> dict[str, dict[str, Any]]:
        """Each grinder's entries."""
        return {
            g.name: {**g.spec, "name": g.name, "retired": g.retired, "ended_on": g.ended_on}
            for g in Grinder.objects.all()
        }

    @cached_property
    def limits(self) -> dict[tuple[str, str, str], dict[str, Any]]:
        """Limits that hold, by quantity and type."""
        found = Limit.objects.filter(ended_at=None).select_related("reel_type", "knife_type")
        return {
            (x.quantity, x.reel_type.name if x.reel_type else "", x.knife_type.name if x.knife_type else ""): limit_row(
                x
            )
            for x in found
        }

    @cached_property
    def reels(self) -> dict[str, PartSeen]:
        """Reels by label."""
        rows = Reel.objects.values_list("label", "type__name", "type__spec", "spec", "scrapped_on", "pk")
        return {label: PartSeen(label, kind, {**whole, **own}, gone, pk) for label, kind, whole, own, gone, pk in rows}

    @cached_property
    def knives(self) -> dict[str, PartSeen]:
        """Knives by label."""
        rows = Knife.objects.values_list("label", "type__name", "type__spec", "spec", "scrapped_on", "pk")
        return {label: PartSeen(label, kind, {**whole, **own}, gone, pk) for label, kind, whole, own, gone, pk in rows}

    def parts(self, part: str) -> dict[str, PartSeen]:
        """Reels or knives."""
        return self.reels if part == "reel" else self.knives

    @cached_property
    def units(self) -> dict[UnitKey, UnitSeen]:
        """Units by machine and name."""
        found = Unit.objects.select_related("position__machine").order_by("pk")
        return {seen.key: seen for seen in map(_unit_seen, found)}

    @cached_property
    def machines_of(self) -> dict[str, list[UnitSeen]]:
        """Units by their name alone."""
        found: dict[str, list[UnitSeen]] = {}
        for seen in self.units.values():
            found.setdefault(seen.name, []).append(seen)
        return found

    @cached_property
    def fits(self) -> dict[tuple[str, str, UnitKey], list[FitSeen]]:
        """Fittings of each unit's reel and knife; also of each part under ('reel', label, ...)."""
        found: dict[Any, list[FitSeen]] = {}
        keys = {seen.pk: seen.key for seen in self.units.values()}
        rows = Fitting.objects.order_by("since", "pk").values_list(
            "unit", "reel__label", "knife__label", "since", "until", "since_hours", "until_hours", "pk"
        )
        for unit, reel, knife, since, until, hours, until_hours, pk in rows:
            part, label = ("reel", reel) if reel is not None else ("knife", knife)
            seen = FitSeen(keys[unit], label, since, until, hours, until_hours, pk)
            found.setdefault((part, "", seen.unit), []).append(seen)
            found.setdefault((part, label, ("", "")), []).append(seen)
        return found

    def fittings_of(self, part: str, unit: UnitKey) -> list[FitSeen]:
        """Return what was in a unit, the oldest first."""
        return self.fits.get((part, "", unit), [])

    def fittings_with(self, part: str, label: str) -> list[FitSeen]:
        """Return where a part was."""
        return self.fits.get((part, label, ("", "")), [])

    def fitted(self, part: str, unit: UnitKey) -> FitSeen | None:
        """Return what is in a unit now."""
        return next((fit for fit in self.fittings_of(part, unit) if fit.until is None), None)

    def add_fit(self, part: str, fit: FitSeen) -> None:
        """Remember a fitting that a row adds."""
        for key in ((part, "", fit.unit), (part, fit.label, ("", ""))):
            self.fits.setdefault(key, []).append(fit)
            self.fits[key].sort(key=lambda f: f.since)

    def add_unit(self, seen: UnitSeen) -> None:
        """Remember a unit that a row adds."""
        self.units[seen.key] = seen
        if seen not in self.machines_of.setdefault(seen.name, []):
            self.machines_of[seen.name].append(seen)
        self.unit_named.cache_clear()

    def _unit_named(self, machine: str, name: str) -> UnitSeen:
        """Return the unit a row names, by its name or by where on the machine it sits.

        Raises
        ------
        Refusal
            When there is none, or several.
        """
        if machine:
            found = [self.units[machine, name]] if (machine, name) in self.units else []
            found = found or [u for u in self.units.values() if (u.machine, u.position) == (machine, name)]
        else:
            found = self.machines_of.get(name, [])
        if len(found) == 1:
            return found[0]
        if found:
            several = AsTyped(", ".join(sorted(unit.machine or "?" for unit in found)[:6]))
            raise Refusal(
                phrase(
                    "there are several units called '{name}', on {machines}; say which machine",
                    name=AsTyped(name),
                    machines=several,
                )
            )
        if machine and machine not in self.machines:
            raise Refusal(none_called(phrase("machine"), machine, self.machines))
        names = [u.name for u in self.units.values() if u.machine == machine] if machine else list(self.machines_of)
        raise Refusal(none_called(phrase("unit"), name, names, machine))


def none_called(what: str, name: str, names: Iterable[str], where: str = "") -> str:
    """Return that there is nothing of this name, with the nearest name there is."""
    close = difflib.get_close_matches(name, list(names)[:5000], 1)
    on = phrase("on {machine}", machine=AsTyped(where)) if where else ""
    none = joined(" ", filter(None, [phrase("there is no {what} '{name}'", what=what, name=AsTyped(name)), on]))
    if close:
        return phrase("{none}; did you mean '{name}'?", none=none, name=AsTyped(close[0]))
    return phrase("{none}; bring it in first", none=none)


def _unit_seen(unit: Unit) -> UnitSeen:
    machine = unit.position.machine.name if unit.position else ""
    position = unit.position.name if unit.position else ""
    told: dict[str, Any] = {
        "machine": machine or None,
        "position": position or None,
        "name": unit.name,
        "pattern": unit.pattern,
    }
    told |= {"active": unit.active, "ended_on": unit.ended_on}
    for table in ("carrier", "height", "mowing"):
        told |= {f"{table}.{key}": value for key, value in getattr(unit, table).items()}
    return UnitSeen(machine, unit.name, position, unit.pk, told)
