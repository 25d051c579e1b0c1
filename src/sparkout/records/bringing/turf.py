# ruff: noqa: ARG002 - every kind is asked in the same way, whether it needs all of it or not
"""Hours on the clock, sand and stones: many rows at once, checked by the same declarations as one."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.interchange.targets import KINDS
from sparkout.interchange.values import told_by
from sparkout.records.bringing.known import none_called
from sparkout.records.bringing.outcome import ADDS, CHANGES, SAME, Outcome, Touched, changed, outcome, told_changes
from sparkout.records.bringing.things import touched
from sparkout.records.models import Event, HoursEntry, Machine, Place
from sparkout.records.operations.doing import happened
from sparkout.records.operations.turf import correct_hours

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.interchange.drafts import Draft
    from sparkout.records.bringing.known import Known, UnitKey
    from sparkout.records.models import Person

Table = dict[str, Any]
_AT_ONCE = 900


class Hours:
    """A unit's clock on a day: the same day again is the same, or a change."""

    fields = KINDS["hours"]

    def __init__(self, known: Known, actor: Person) -> None:
        self.known, self.actor = known, actor
        self.added: dict[tuple[UnitKey, datetime.date], Table] = {}
        """What rows before have added, for a trial; entering finds it in the records."""
        self.new: list[HoursEntry] = []

    def plan(self, sheet: str, batch: Sequence[Draft], *, trial: bool) -> list[Outcome]:
        """Return what each draft does; what it adds waits in `new` for `write`."""
        self.new = []
        units = [self._unit(draft) for draft in batch]
        there = self._there([seen.pk for seen in units if not isinstance(seen, str) and seen.pk], batch)
        found = []
        for draft, seen in zip(batch, units, strict=True):
            label = AsTyped(f"{draft.entries['unit']}, {draft.entries['on']}: {draft.entries['hours']}")
            if isinstance(seen, str):
                found.append(outcome(sheet, draft, ADDS, label).refused(seen))
                continue
            key = (seen.key, draft.entries["on"])
            entries: Table = {k: draft.entries[k] for k in ("hours", "area") if k in draft.entries}
            standing = there.get((seen.pk, draft.entries["on"]), []) + ([self.added[key]] if key in self.added else [])
            found.append(self._against(sheet, draft, label, entries, standing))
            if found[-1].what == ADDS:
                self.added[key] = {**entries, "pk": None, "visit": None}
                if not trial:
                    self.new.append(
                        HoursEntry(
                            unit_id=seen.pk, on=draft.entries["on"], hours=entries["hours"], area=entries.get("area")
                        )
                    )
        if not trial:
            self.added.clear()
        return found

    def _unit(self, draft: Draft) -> Any:
        try:
            happened("on", draft.entries["on"])
            return self.known.unit_named(draft.entries.get("machine", ""), draft.entries["unit"])
        except Refusal as refusal:
            return told_by(refusal)

    def _there(self, units: list[int], batch: Sequence[Draft]) -> dict[tuple[int | None, datetime.date], list[Table]]:
        days = {draft.entries["on"] for draft in batch}
        rows = HoursEntry.objects.filter(unit__in=set(units), on__gte=min(days), on__lte=max(days))
        found: dict[tuple[int | None, datetime.date], list[Table]] = {}
        for pk, unit, on, hours, area, visit in rows.values_list("pk", "unit", "on", "hours", "area", "visit"):
            assert on is not None
            found.setdefault((unit, on), []).append({"pk": pk, "hours": hours, "area": area, "visit": visit})
        return found

    def _against(self, sheet: str, draft: Draft, label: str, entries: Table, standing: list[Table]) -> Outcome:
        if not standing:
            return outcome(sheet, draft, ADDS, label)
        news = [changed(self.fields, was, entries) for was in standing]
        if not all(news):
            return outcome(sheet, draft, SAME, label)
        was, new = standing[0], news[0]
        if was["visit"] is not None:
            why = phrase("the visit of that day says {hours}", hours=AsTyped(str(was["hours"])))
            return outcome(sheet, draft, ADDS, label).refused(why)

        def act() -> list[Touched]:
            entry = HoursEntry.objects.get(pk=was["pk"])
            now = {"on": draft.entries["on"], "hours": entry.hours, "area": entry.area} | new
            return touched(lambda: correct_hours(actor=self.actor, entry=entry, **now))

        return outcome(sheet, draft, CHANGES, label, told_changes(self.fields, was, new), act)

    def write(self) -> list[Touched]:
        """Enter what was planned last, and return what was made in the order planned."""
        return [Touched(made) for made in HoursEntry.objects.bulk_create(self.new, batch_size=_AT_ONCE)]


class Events:
    """Sand, stones and other happenings; the same on the same day at the same place is the same."""

    fields = KINDS["event"]

    def __init__(self, known: Known, actor: Person) -> None:
        self.known = known
        self.added: set[Any] = set()
        self.new: list[Event] = []

    def plan(self, sheet: str, batch: Sequence[Draft], *, trial: bool) -> list[Outcome]:
        """Return what each draft does; what it adds waits in `new` for `write`."""
        self.new = []
        there = self._there(batch)
        places = {} if trial else dict(Place.objects.values_list("name", "pk"))
        machines = {} if trial else dict(Machine.objects.values_list("name", "pk"))
        found = []
        for draft in batch:
            told, entries = draft.entries, draft.entries
            label = AsTyped(f"{told['kind']}, {told['on']}")
            try:
                happened("on", told["on"])
                where = self._where(entries)
            except Refusal as refusal:
                found.append(outcome(sheet, draft, ADDS, label).refused(told_by(refusal)))
                continue
            key = (told["kind"], told["on"], *where, told.get("note", ""))
            if key in there or key in self.added:
                found.append(outcome(sheet, draft, SAME, label))
                continue
            self.added.add(key)
            found.append(outcome(sheet, draft, ADDS, label))
            if not trial:
                place, machine, unit = where
                self.new.append(
                    Event(
                        kind=told["kind"],
                        on=told["on"],
                        note=told.get("note", ""),
                        place_id=places.get(place),
                        machine_id=machines.get(machine),
                        unit_id=self.known.units[unit].pk if unit else None,
                    )
                )
        if not trial:
            self.added.clear()
        return found

    def _there(self, batch: Sequence[Draft]) -> set[Any]:
        days = {draft.entries["on"] for draft in batch}
        rows = Event.objects.filter(on__gte=min(days), on__lte=max(days)).values_list(
            "kind", "on", "place__name", "machine__name", "unit__position__machine__name", "unit__name", "note"
        )
        return {
            (kind, on, place or "", machine or "", (on_machine or "", unit) if unit else None, note)
            for kind, on, place, machine, on_machine, unit, note in rows
        }

    def _where(self, entries: Table) -> tuple[str, str, UnitKey | None]:
        place, machine = entries.get("place", ""), entries.get("machine", "")
        if place and place not in self.known.places:
            raise Refusal(none_called(phrase("place"), place, self.known.places))
        if entries.get("unit"):
            return place, "", self.known.unit_named(machine, entries["unit"]).key
        if machine and machine not in self.known.machines:
            raise Refusal(none_called(phrase("machine"), machine, self.known.machines))
        if not place and not machine:
            raise Refusal(phrase("it happened at a place, to a machine or to a unit; none is named"))
        return place, machine, None

    def write(self) -> list[Touched]:
        """Enter what was planned last, and return what was made in the order planned."""
        return [Touched(made) for made in Event.objects.bulk_create(self.new, batch_size=_AT_ONCE)]
