"""What happens on the turf: hours run, sand and stones."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.records.checked import checked_table, checked_value, refuse
from sparkout.records.models import Event, HoursEntry
from sparkout.records.models.history import EVENTS
from sparkout.records.operations.doing import Key, asking, operation
from sparkout.visit.words import Day, Text, Word

if TYPE_CHECKING:
    import datetime

    from sparkout.records.models import Machine, Person, Place, Unit

_DAY = Day("a day", "2026-11-25")
_KIND = Word("what happened", "sand", tuple(name for name, _ in EVENTS))


@operation
def record_hours(
    *, actor: Person, unit: Unit, on: datetime.date | str, hours: str | float, area: Any = None, key: Key = None
) -> HoursEntry:
    """Record a unit's hours since new on a day; `area` is what was mown since the entry before, as typed ("3 ha").

    Raises
    ------
    Refusal
        When an entry is wrong.
    """
    ask = asking("record_hours", actor, key, str(hours), unit=unit, on=on, hours=hours, area=area)
    if (done := ask.answered(HoursEntry)) is not None:
        return done
    day = checked_value("on", _DAY, on)
    clock = checked_table("unit", {"name": "?", "hours": hours})["hours"]
    told = None if area is None else checked_value("area", Text("area mown, with its unit", "3 ha", 60, 1), str(area))
    entry = HoursEntry.objects.create(unit=unit, on=day, hours=clock, area=told)
    ask.note(entry, after={"unit": str(unit), "on": day, "hours": clock, "area": told})
    return entry


@operation
def record_event(
    *,
    actor: Person,
    kind: str,
    on: datetime.date | str,
    place: Place | None = None,
    machine: Machine | None = None,
    unit: Unit | None = None,
    note: str = "",
    key: Key = None,
) -> Event:
    """Record sand, a stone or something else, at a place, to a machine or to one unit.

    Raises
    ------
    Refusal
        When an entry is wrong, or nothing says where it happened.
    """
    where = {"place": place, "machine": machine, "unit": unit}
    ask = asking("record_event", actor, key, kind, kind=kind, on=on, note=note, **where)
    if (done := ask.answered(Event)) is not None:
        return done
    if not any(where.values()):
        raise refuse("unit", "an event happens at a place, to a machine or to a unit", allowed="place, machine, unit")
    event = Event.objects.create(
        kind=checked_value("kind", _KIND, kind),
        on=checked_value("on", _DAY, on),
        note=checked_value("note", Text("what happened", "", 500), note),
        **where,
    )
    ask.note(event, after={"kind": event.kind, "on": event.on, "note": event.note, **where})
    return event
