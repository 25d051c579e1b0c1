"""The workshop's things: places, machines, units, parts, gauges, grinders, limits, people."""

from __future__ import annotations

import datetime
from typing import Any

from ninja import Schema

from sparkout.records.tables import gauge_row, limit_row
from sparkout.visit.entered import Typed
from sparkout.web.api.told.parts import (
    GaugeTable,
    GrinderTable,
    HeightTable,
    Hours,
    KnifeTable,
    LimitTable,
    MowingTable,
    Named,
    ReelTable,
    WantedTable,
)

Day = datetime.date | None


class WorkshopTold(Schema):
    """The workshop."""

    name: str
    units: str
    vocabulary: str
    decimal: str
    language: str
    paper_size: str
    demonstration: bool
    wanted: WantedTable


class PersonTold(Schema):
    """Somebody who works here; preferences that are null are the workshop's."""

    id: int
    name: str
    units: str | None
    vocabulary: str | None
    decimal: str | None
    language: str | None
    active: bool
    ended_on: Day


class PlaceTold(Schema):
    """A place where machines work."""

    id: int
    name: str
    ended_on: Day


class MachineTold(Schema):
    """A machine."""

    id: int
    name: str
    place: Named | None
    ended_on: Day


class UnitTold(Schema):
    """A cutting unit, where it sits, and what is fitted."""

    id: int
    name: str
    machine: Named | None
    position: str | None
    pattern: str | None
    carrier: KnifeTable
    height: HeightTable
    mowing: MowingTable
    reel: Named | None
    knife: Named | None
    active: bool
    ended_on: Day

    @staticmethod
    def resolve_machine(obj: Any) -> Any:
        """Return the machine it sits on."""
        return obj.position and obj.position.machine

    @staticmethod
    def resolve_position(obj: Any) -> str | None:
        """Return where on it."""
        return (obj.position and obj.position.name) or None

    @staticmethod
    def resolve_reel(obj: Any) -> Any:
        """Return the reel that is in."""
        return next((fitting.reel for fitting in _in(obj) if fitting.reel_id), None)

    @staticmethod
    def resolve_knife(obj: Any) -> Any:
        """Return the knife that is in."""
        return next((fitting.knife for fitting in _in(obj) if fitting.knife_id), None)


def _in(unit: Any) -> list[Any]:
    return [fitting for fitting in unit.fittings.all() if fitting.until is None]


class ReelTypeTold(Schema):
    """Reels made alike."""

    id: int
    name: str
    spec: ReelTable
    ended_on: Day


class KnifeTypeTold(Schema):
    """Knives made alike."""

    id: int
    name: str
    spec: KnifeTable
    ended_on: Day


class _PartTold(Schema):
    id: int
    label: str
    type: Named
    unit: Named | None
    scrapped_on: Day

    @staticmethod
    def resolve_unit(obj: Any) -> Any:
        """Return the unit it is in; nothing while it lies on the shelf."""
        return next((fitting.unit for fitting in _in(obj)), None)


class ReelTold(_PartTold):
    """One reel; `spec` holds that in which it differs from its type, `whole_spec` everything."""

    spec: ReelTable
    whole_spec: ReelTable

    @staticmethod
    def resolve_whole_spec(obj: Any) -> dict[str, Any]:
        """Return its type's entries and its own."""
        return {**obj.type.spec, **obj.spec}


class KnifeTold(_PartTold):
    """One knife; `spec` holds that in which it differs from its type, `whole_spec` everything."""

    spec: KnifeTable
    whole_spec: KnifeTable

    @staticmethod
    def resolve_whole_spec(obj: Any) -> dict[str, Any]:
        """Return its type's entries and its own."""
        return {**obj.type.spec, **obj.spec}


class FittingTold(Schema):
    """A part in a unit, from a day and the unit's hours to a day and its hours."""

    id: int
    unit: Named
    reel: Named | None
    knife: Named | None
    since: datetime.date
    since_hours: Typed | None
    since_hours_h: Hours
    until: Day
    until_hours: Typed | None
    until_hours_h: Hours

    @staticmethod
    def resolve_since_hours_h(obj: Any) -> Any:
        """Return the hours as a number."""
        return obj.since_hours

    @staticmethod
    def resolve_until_hours_h(obj: Any) -> Any:
        """Return the hours as a number."""
        return obj.until_hours


class GaugeTold(Schema):
    """A gauge; `id` is its number here, `name` the id that readings and visit files use."""

    id: int
    name: str
    gauge: GaugeTable
    retired: bool
    ended_on: Day

    @staticmethod
    def resolve_gauge(obj: Any) -> dict[str, Any]:
        """Return it as [[gauges]] has it."""
        return gauge_row(obj)


class CalibrationTold(Schema):
    """One calibration as its certificate tells it; the gauge goes by the last one entered."""

    id: int
    gauge: Named
    on: Day
    certificate: str
    by: str
    due: Day
    figures: GaugeTable
    lines: list[dict[str, Any]]

    @staticmethod
    def resolve_figures(obj: Any) -> dict[str, Any]:
        """Return the figures it found."""
        return {"kind": obj.gauge.kind, **obj.figures}


class GrinderTold(Schema):
    """A grinder."""

    id: int
    name: str
    spec: GrinderTable
    retired: bool
    ended_on: Day


class LearntTold(Schema):
    """What a grinder taught; it holds for visits opened afterwards."""

    id: int
    grinder: Named
    visit: Named | None
    at: datetime.datetime
    spec: GrinderTable


class LimitTold(Schema):
    """A limit of the workshop, with its origin."""

    id: int
    limit: LimitTable
    reel_type: Named | None
    knife_type: Named | None
    ended_at: datetime.datetime | None

    @staticmethod
    def resolve_limit(obj: Any) -> dict[str, Any]:
        """Return it as [[limits]] has it."""
        return limit_row(obj)
