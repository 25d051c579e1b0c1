"""What happens on the turf: hours run, sand and stones."""

from __future__ import annotations

import uuid
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import checked_value, refuse
from sparkout.records.models import Event, HoursEntry
from sparkout.records.models.history import EVENTS
from sparkout.records.operations.doing import Conflict, Key, as_key, asking, happened, now, operation
from sparkout.units import parse
from sparkout.visit.asked import Quantity
from sparkout.visit.problems import Problem, VisitProblems
from sparkout.visit.sections import AREA_MOWN
from sparkout.visit.words import Day, Text, Word

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable

    from sparkout.records.models import Machine, Person, Place, Unit

_DAY = Day("a day", "2026-11-25")
_HOURS = Quantity(phrase("hours run since new, as on the machine's clock"), "1240 h", "time", 0, 100_000, "h")
_NOTE = Text("what happened", "", 500)
CLOCK_CHANGED = phrase("Say that the clock was changed, or put it right.")
"""What to do where a clock would have run backwards."""
_KIND = Word("what happened", "sand", tuple(name for name, _ in EVENTS))


@operation
def record_hours(
    *,
    actor: Person,
    unit: Unit,
    on: datetime.date | str,
    hours: str | float,
    area: Any = None,
    clock_changed: bool = False,
    key: Key = None,
) -> HoursEntry:
    """Record a unit's hours since new on a day; `area` is what was mown since the entry before, as typed ("3 ha").

    Raises
    ------
    Refusal
        When an entry is wrong, or the clock would have run backwards and nobody says that it was changed.
    """
    ask = asking("record_hours", actor, key, str(hours), unit=unit, on=on, hours=hours, area=area)
    if (done := ask.answered(HoursEntry)) is not None:
        return done
    read = _clock(on, hours, area)
    if not clock_changed:
        _refuse_running_back(unit, read["on"], read["hours"])
    entry: HoursEntry = HoursEntry.objects.create(unit=unit, **read)
    ask.note(entry, after={"unit": str(unit), **_told(entry)})
    return entry


@dataclass(frozen=True, slots=True)
class Clock:
    """One unit's clock as read: what `record_hours` takes."""

    unit: Unit
    hours: str | float
    area: str | None = None
    clock_changed: bool = False


@operation
def record_hours_of(
    *, actor: Person, on: datetime.date | str, clocks: Iterable[Clock], key: Key = None
) -> list[HoursEntry]:
    """Record the clocks of many units on one day, all or none; a history line for each, and one for the action.

    Raises
    ------
    VisitProblems
        With everything wrong; the path of each is unit.hours or unit.area, the unit by number.
    """
    read, base = list(clocks), as_key(key)
    told = [(clock.unit.pk, clock.hours, clock.area) for clock in read]
    ask = asking("record_hours_of", actor, base, f"{len(read)} clocks", on=on, clocks=told)
    repeated = ask.was_done()
    made: list[HoursEntry] = []
    problems: list[Problem] = []
    for clock in read:
        own = None if base is None else uuid.uuid5(base, str(clock.unit.pk))
        try:
            read_now: dict[str, Any] = {name: getattr(clock, name) for name in ("hours", "area", "clock_changed")}
            made.append(record_hours(actor=actor, unit=clock.unit, on=on, key=own, **read_now))
        except VisitProblems as wrong:
            problems += [replace(p, path=_path(clock.unit, p.path)) for p in wrong.problems]
    if problems:
        raise VisitProblems({(problem.path, problem.text): problem for problem in problems}.values())
    if made and not repeated:
        ask.note(made[0], after={"on": on, "clocks": told})
    return made


def _path(unit: Unit, path: str) -> str:
    return path if path == "on" else f"{unit.pk}.{path}"


@operation
def correct_hours(
    *,
    actor: Person,
    entry: HoursEntry,
    on: datetime.date | str,
    hours: str | float,
    area: Any = None,
    key: Key = None,
) -> HoursEntry:
    """Correct an entry of hours by a new one that names it.

    Raises
    ------
    Refusal
        When it belongs to a visit (it is put right there), counts no longer, or an entry is wrong.
    """
    ask = asking("correct_hours", actor, key, str(hours), entry=entry, on=on, hours=hours, area=area)
    if (done := ask.answered(HoursEntry)) is not None:
        return done
    old = _counting(HoursEntry, entry)
    if old.visit_id is not None:
        raise refuse(
            "hours", phrase("these hours were read at a visit"), suggestion=phrase("Put them right in that visit.")
        )
    content = _clock(on, hours, area)
    _end(old)
    made: HoursEntry = HoursEntry.objects.create(unit=old.unit, corrects=old, **content)
    ask.note(made, before=_told(old), after=_told(made))
    return made


@operation
def withdraw_hours(*, actor: Person, entry: HoursEntry, why: str = "", key: Key = None) -> HoursEntry:
    """Withdraw an entry of hours; it stays on file.

    Raises
    ------
    Refusal
        When it belongs to a visit, or counts no longer.
    """
    ask = asking("withdraw_hours", actor, key, "withdrawn", entry=entry, why=why)
    if (done := ask.answered(HoursEntry)) is not None:
        return done
    old = _counting(HoursEntry, entry)
    if old.visit_id is not None:
        raise refuse(
            "hours", phrase("these hours were read at a visit"), suggestion=phrase("Put them right in that visit.")
        )
    _end(old)
    ask.note(old, before=_told(old), after={"why": checked_value("why", _NOTE, why).strip() or None})
    return old


def _clock(on: datetime.date | str, hours: str | float, area: Any) -> dict[str, Any]:
    """Return an entry's columns, with everything wrong told at once."""
    found: dict[str, Any] = {}
    problems: list[Problem] = []
    for name, declaration, value in (("on", _DAY, on), ("hours", _HOURS, hours), ("area", AREA_MOWN, area)):
        if name == "area" and value is None:
            continue
        try:
            found[name] = happened(name, on) if name == "on" else checked_value(name, declaration, value)
        except VisitProblems as wrong:
            problems += wrong.problems
    if problems:
        raise VisitProblems(problems)
    return {"on": found["on"], "hours": found["hours"].typed, "area": area and found["area"].typed}


def _refuse_running_back(unit: Unit, on: datetime.date, hours: str | float) -> None:
    """Refuse hours that are fewer than were read on that day or before."""
    before = HoursEntry.objects.filter(unit=unit, on__lte=on).order_by("-on", "-pk").first()
    if before is None or parse(before.hours, "time", "h") <= parse(hours, "time", "h"):
        return
    told = phrase(
        "{hours} is less than {read} read before, on {day}",
        hours=AsTyped(hours), read=AsTyped(_with_unit(before.hours)), day=str(before.on),
    )  # fmt: skip
    raise refuse("hours", told, value=str(hours), suggestion=CLOCK_CHANGED)


def _with_unit(hours: Any) -> str:
    return f"{hours} h" if isinstance(hours, int | float) else str(hours)


def _told(entry: HoursEntry) -> dict[str, Any]:
    return {"on": entry.on, "hours": entry.hours, "area": entry.area}


Kind = TypeVar("Kind", HoursEntry, Event)


def _counting(kind: type[Kind], entry: Kind) -> Kind:
    """Return the entry as it stands now, held until the transaction ends."""
    found: Kind | None = kind._base_manager.select_for_update().filter(pk=entry.pk, ended_at=None).first()
    if found is None:
        now_reads = kind._base_manager.filter(corrects=entry.pk).first()
        raise Conflict(str(entry), "withdrawn" if now_reads is None else str(now_reads), "another correction")
    return found


def _end(entry: HoursEntry | Event) -> None:
    entry.ended_at = now()
    entry.save()


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
        raise refuse(
            "unit", phrase("an event happens at a place, to a machine or to a unit"), allowed="place, machine, unit"
        )
    event: Event = Event.objects.create(**_happening(kind, on, note), **where)
    ask.note(event, after=_event(event))
    return event


@operation
def correct_event(
    *,
    actor: Person,
    event: Event,
    kind: str,
    on: datetime.date | str,
    place: Place | None = None,
    machine: Machine | None = None,
    unit: Unit | None = None,
    note: str = "",
    key: Key = None,
) -> Event:
    """Correct an event by a new one that names it.

    Raises
    ------
    Refusal
        As `record_event`, and when it counts no longer.
    """
    where = {"place": place, "machine": machine, "unit": unit}
    ask = asking("correct_event", actor, key, kind, event=event, kind=kind, on=on, note=note, **where)
    if (done := ask.answered(Event)) is not None:
        return done
    old = _counting(Event, event)
    if not any(where.values()):
        raise refuse(
            "unit", phrase("an event happens at a place, to a machine or to a unit"), allowed="place, machine, unit"
        )
    content = _happening(kind, on, note)
    _end(old)
    made: Event = Event.objects.create(corrects=old, **content, **where)
    ask.note(made, before=_event(old), after=_event(made))
    return made


@operation
def withdraw_event(*, actor: Person, event: Event, why: str = "", key: Key = None) -> Event:
    """Withdraw an event that did not happen; it stays on file.

    Raises
    ------
    Refusal
        When it counts no longer.
    """
    ask = asking("withdraw_event", actor, key, "withdrawn", event=event, why=why)
    if (done := ask.answered(Event)) is not None:
        return done
    old = _counting(Event, event)
    _end(old)
    ask.note(old, before=_event(old), after={"why": checked_value("why", _NOTE, why).strip() or None})
    return old


def _happening(kind: str, on: datetime.date | str, note: str) -> dict[str, Any]:
    found: dict[str, Any] = {}
    problems: list[Problem] = []
    for name, declaration, value in (("kind", _KIND, kind), ("on", _DAY, on), ("note", _NOTE, note)):
        try:
            found[name] = happened(name, on) if name == "on" else checked_value(name, declaration, value)
        except VisitProblems as wrong:
            problems += wrong.problems
    if problems:
        raise VisitProblems(problems)
    return found


def _event(event: Event) -> dict[str, Any]:
    where = {name: getattr(event, name) and str(getattr(event, name)) for name in ("place", "machine", "unit")}
    return {"kind": event.kind, "on": event.on, "note": event.note, **where}
