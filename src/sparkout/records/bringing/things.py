# ruff: noqa: ARG002 - every kind is asked in the same way, whether it needs all of it or not
"""Places, people, machines, types, gauges, grinders, limits, parts: entered one by one through their operations."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from django.db.models import Model

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.interchange.targets import KINDS
from sparkout.interchange.values import told_by
from sparkout.records.bringing.known import PartSeen, none_called
from sparkout.records.bringing.outcome import ADDS, CHANGES, SAME, Outcome, Touched, changed, outcome, told_changes
from sparkout.records.checked import BLADE_KEYS, checked_row, checked_table, only
from sparkout.records.models import (
    Calibration,
    Gauge,
    Grinder,
    Knife,
    KnifeType,
    Machine,
    Person,
    Place,
    Reel,
    ReelType,
)
from sparkout.records.operations.doing import history_gathered
from sparkout.records.operations.equipment import (
    add_gauge,
    add_grinder,
    calibrate_gauge,
    certificate_lines,
    change_grinder,
    retire_gauge,
    set_limit,
)
from sparkout.records.operations.parts import (
    add_knife,
    add_knife_type,
    add_reel,
    add_reel_type,
    change_part,
    change_type,
)
from sparkout.records.operations.units import add_machine, add_place, change_machine
from sparkout.records.operations.workshop import add_person, set_preferences

if TYPE_CHECKING:
    from collections.abc import Iterable

    from sparkout.interchange.drafts import Draft
    from sparkout.records.bringing.known import Known

Table = dict[str, Any]
_STATE = ("retired", "ended_on")
Act = Callable[[], list[Touched]]


class Thing:
    """How one kind of thing is looked up, added and changed. Subclasses say what differs."""

    kind = ""
    name_key = "name"

    def __init__(self, known: Known, actor: Person) -> None:
        self.known, self.actor = known, actor
        self.fields = KINDS[self.kind]

    def plan(self, sheet: str, draft: Draft) -> Outcome:
        """Return what the draft does; rows after it see it as done."""
        entries = draft.entries
        label = AsTyped(str(entries[self.name_key]))
        try:
            was = self.stands(entries)
            if was is None:
                also = self.also(entries)
                act = self.then_ended(self.add({k: v for k, v in entries.items() if k != "ended_on"}), entries)
                self.remember(entries, {})
                return outcome(sheet, draft, ADDS, label, _also(also), act)
            new = changed(self.fields, was, self.compared(entries))
            if not new:
                return outcome(sheet, draft, SAME, label)
            rest = {key: value for key, value in new.items() if key != "ended_on"}
            act = self.then_ended(
                self.change(entries, was, rest) if rest else list, new if "ended_on" in new else {}, entries
            )
            return outcome(sheet, draft, CHANGES, label, told_changes(self.fields, was, new), act)
        except Refusal as refusal:
            return outcome(sheet, draft, ADDS, label).refused(told_by(refusal))

    def then_ended(self, act: Act, told: Table, entries: Table | None = None) -> Act:
        """Return what does a thing and then notes since when it is out of use, when that was told."""
        if told.get("ended_on") is None:
            return act

        def both() -> list[Touched]:
            done = act()
            record = self.record(entries or told)
            return done + put(record, {"ended_on": str(record.ended_on or "")}, ended_on=told["ended_on"])

        return both

    def record(self, entries: Table) -> Any:
        """Return the record itself."""
        model: Any = self.model
        return model.objects.get(**{self.column: entries[self.name_key]})

    model: type[Model]
    column = "name"

    def changes_hold(self, entries: Table) -> None:
        """Remember a change as made."""
        was = self.stands(entries)
        if was is not None:
            self.remember(entries, was)

    def stands(self, entries: Table) -> Table | None:
        """Return what is on file under this name, in a table's fields."""
        raise NotImplementedError

    def compared(self, entries: Table) -> Table:
        """Return the entries that could change something."""
        return {key: value for key, value in entries.items() if key != self.name_key}

    def also(self, entries: Table) -> list[str]:
        """Return what else has to be added first, in words."""
        return []

    def add(self, entries: Table) -> Act:
        """Return what adds it; refuses now what it would refuse then."""
        raise NotImplementedError

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Return what changes it."""
        raise NotImplementedError

    def remember(self, entries: Table, was: Table) -> None:
        """Let later rows find it."""
        raise NotImplementedError


def _also(added: Iterable[str]) -> str:
    told = list(added)
    return phrase("and adds {what}", what=joined(", ", told)) if told else ""


def touched(*makes: Callable[[], Model]) -> list[Touched]:
    """Run operations and return what they touched, from the history they would have written."""
    with history_gathered() as lines:
        made = {(m._meta.model_name, m.pk): m for m in (make() for make in makes)}
    return [
        Touched(
            made.get((line.subject, line.subject_id)) or _as_record(line.subject, line.subject_id),
            line.before,
            line.after,
        )
        for line in lines
    ]


def _as_record(name: str, pk: int) -> Model:
    from django.apps import apps

    record: Model = apps.get_model("records", name)(pk=pk)
    return record


def put(record: Model, before: Table, **columns: Any) -> list[Touched]:
    """Change columns for which there is no operation, and return what was and became."""
    for name, value in columns.items():
        setattr(record, name, value)
    record.save()
    return [Touched(record, before, {key: columns.get(key) for key in columns})]


class Places(Thing):
    """Places."""

    kind = "place"
    model = Place

    def stands(self, entries: Table) -> Table | None:
        """Return since when it is out of use."""
        name = entries["name"]
        return {"ended_on": self.known.places[name]} if name in self.known.places else None

    def add(self, entries: Table) -> Act:
        """Add it."""
        return lambda: touched(lambda: add_place(actor=self.actor, name=entries["name"]))

    def remember(self, entries: Table, was: Table) -> None:
        """Know its name."""
        self.known.places[entries["name"]] = entries.get("ended_on") or was.get("ended_on")


class People(Thing):
    """People and how they want to be told."""

    kind = "person"
    model = Person

    def stands(self, entries: Table) -> Table | None:
        """Return the person's preferences."""
        return self.known.people.get(entries["name"])

    def add(self, entries: Table) -> Act:
        """Add the person with preferences."""
        preferences = self.compared(entries)

        def act() -> list[Touched]:
            made = touched(lambda: add_person(actor=self.actor, name=entries["name"]))
            return made + (self.change(entries, {}, preferences)() if preferences else [])

        return act

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Set preferences."""
        return lambda: touched(
            lambda: set_preferences(actor=self.actor, person=Person.objects.get(name=entries["name"]), **new)
        )

    def remember(self, entries: Table, was: Table) -> None:
        """Know the preferences."""
        self.known.people[entries["name"]] = {"active": True, **was, **self.compared(entries)}


class Machines(Thing):
    """Machines and where they work."""

    kind = "machine"
    model = Machine

    def stands(self, entries: Table) -> Table | None:
        """Return the machine's place."""
        name = entries["name"]
        return self.known.machines.get(name)

    def also(self, entries: Table) -> list[str]:
        """The place, when it is new."""
        new = entries.get("place") and entries["place"] not in self.known.places
        return [phrase("place '{name}'", name=AsTyped(entries["place"]))] if new else []

    def _place(self, name: str | None) -> tuple[Place | None, list[Touched]]:
        if not name:
            return None, []
        made: list[Touched] = []
        if not Place.objects.filter(name=name).exists():
            made = touched(lambda: add_place(actor=self.actor, name=name))
        return Place.objects.get(name=name), made

    def add(self, entries: Table) -> Act:
        """Add it, with its place."""

        def act() -> list[Touched]:
            place, made = self._place(entries.get("place"))
            return made + touched(lambda: add_machine(actor=self.actor, name=entries["name"], place=place))

        return act

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Move it to another place."""

        def act() -> list[Touched]:
            place, made = self._place(new["place"])
            machine = Machine.objects.get(name=entries["name"])
            return made + touched(
                lambda: change_machine(actor=self.actor, machine=machine, name=machine.name, place=place)
            )

        return act

    def remember(self, entries: Table, was: Table) -> None:
        """Know machine and place."""
        self.known.machines[entries["name"]] = {"place": "", **was, **self.compared(entries)}
        if entries.get("place"):
            self.known.places.setdefault(entries["place"], None)


class ReelTypes(Thing):
    """Types of reel."""

    kind = "reel type"
    model: type[Model] = ReelType
    part = "reel"

    def _types(self) -> dict[str, Table]:
        return self.known.reel_types

    def _checked(self, spec: Table) -> Table:
        return checked_table("reel", spec)

    def _spec(self, entries: Table) -> Table:
        return {key: value for key, value in entries.items() if key not in ("name", "ended_on")}

    def stands(self, entries: Table) -> Table | None:
        """Return the type's entries."""
        name = entries["name"]
        ended = self.known.types_ended.get((self.part, name))
        return {**self._types()[name], "ended_on": ended} if name in self._types() else None

    def add(self, entries: Table) -> Act:
        """Add the type."""
        spec = self._checked(self._spec(entries))
        make = add_reel_type if self.part == "reel" else add_knife_type
        return lambda: touched(lambda: make(actor=self.actor, name=entries["name"], spec=spec))

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Put its entries right."""
        spec = self._checked({**self._spec(was), **new})
        model: Any = ReelType if self.part == "reel" else KnifeType

        def act() -> list[Touched]:
            part_type = model.objects.get(name=entries["name"])
            return touched(lambda: change_type(actor=self.actor, part_type=part_type, spec=spec))

        return act

    def remember(self, entries: Table, was: Table) -> None:
        """Know its entries."""
        self._types()[entries["name"]] = self._spec({**was, **entries})
        self.known.types_ended[self.part, entries["name"]] = entries.get("ended_on") or was.get("ended_on")


class KnifeTypes(ReelTypes):
    """Types of knife."""

    kind = "knife type"
    model: type[Model] = KnifeType
    part = "knife"

    def _types(self) -> dict[str, Table]:
        return self.known.knife_types

    def _checked(self, spec: Table) -> Table:
        return only(checked_table("knife", spec), BLADE_KEYS, "to the unit, not to the knife")


class Gauges(Thing):
    """Gauges, with their calibration."""

    kind = "gauge"
    model = Gauge
    name_key = "id"

    def stands(self, entries: Table) -> Table | None:
        """Return the gauge as a row of [[gauges]]."""
        return self.known.gauges.get(entries["id"])

    def add(self, entries: Table) -> Act:
        """Add it."""
        row = {key: value for key, value in entries.items() if key not in _STATE}
        checked_row("gauges", row)

        def act() -> list[Touched]:
            made = touched(lambda: add_gauge(actor=self.actor, **row))
            return made + (self._retire(entries["id"], True) if entries.get("retired") else [])

        return act

    def _retire(self, name: str, retired: bool) -> list[Touched]:
        gauge = Gauge.objects.get(name=name)
        return touched(lambda: retire_gauge(actor=self.actor, gauge=gauge, retired=retired))

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Enter its calibration."""
        if "kind" in new:
            raise Refusal(
                phrase(
                    "'{name}' is a gauge of another kind, {kind}", name=AsTyped(entries["id"]), kind=phrase(was["kind"])
                )
            )
        figures = {key: value for key, value in new.items() if key not in _STATE}
        checked_row("gauges", {**{k: v for k, v in was.items() if k not in _STATE}, **figures})
        due = figures.pop("calibration_due", was.get("calibration_due"))

        def act() -> list[Touched]:
            done = []
            if figures or "calibration_due" in new:
                gauge = Gauge.objects.get(name=entries["id"])
                done = touched(lambda: calibrate_gauge(actor=self.actor, gauge=gauge, due=due, **figures))
            return done + (self._retire(entries["id"], new["retired"]) if "retired" in new else [])

        return act

    def remember(self, entries: Table, was: Table) -> None:
        """Know its row."""
        self.known.gauges[entries["id"]] = {"retired": False, **was, **entries}


class Grinders(Thing):
    """Grinders."""

    kind = "grinder"
    model = Grinder

    def stands(self, entries: Table) -> Table | None:
        """Return its entries."""
        return self.known.grinders.get(entries["name"])

    def add(self, entries: Table) -> Act:
        """Add it."""
        row = {key: value for key, value in entries.items() if key not in _STATE}
        checked_table("grinder", row)

        def act() -> list[Touched]:
            made = touched(lambda: add_grinder(actor=self.actor, **row))
            return made + (self._retire(entries["name"], True) if entries.get("retired") else [])

        return act

    def _retire(self, name: str, retired: bool) -> list[Touched]:
        return put(Grinder.objects.get(name=name), {"retired": not retired}, retired=retired)

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Change its entries."""
        row = {key: value for key, value in new.items() if key not in _STATE}
        checked_table("grinder", {**{k: v for k, v in was.items() if k not in _STATE}, **row})

        def act() -> list[Touched]:
            grinder = Grinder.objects.get(name=entries["name"])
            done = touched(lambda: change_grinder(actor=self.actor, grinder=grinder, **row)) if row else []
            return done + (self._retire(entries["name"], new["retired"]) if "retired" in new else [])

        return act

    def remember(self, entries: Table, was: Table) -> None:
        """Know its entries."""
        self.known.grinders[entries["name"]] = {"retired": False, **was, **entries}


class Limits(Thing):
    """Limits; a new one ends the old."""

    kind = "limit"
    name_key = "quantity"

    def _key(self, entries: Table) -> tuple[str, str, str]:
        return entries["quantity"], entries.get("reel_type") or "", entries.get("knife_type") or ""

    def stands(self, entries: Table) -> Table | None:
        """Return the limit that holds."""
        return self.known.limits.get(self._key(entries))

    def compared(self, entries: Table) -> Table:
        """Everything but what it is for."""
        return {key: v for key, v in entries.items() if key not in ("quantity", "reel_type", "knife_type")}

    def add(self, entries: Table) -> Act:
        """Set it."""
        quantity, reel_type, knife_type = self._key(entries)
        for name, types, what in (
            (reel_type, self.known.reel_types, phrase("reel type")),
            (knife_type, self.known.knife_types, phrase("knife type")),
        ):
            if name and name not in types:
                raise Refusal(none_called(what, name, types))
        if reel_type and knife_type:
            raise Refusal(phrase("a limit holds for a type of reel or for a type of knife, not for both"))
        row = self.compared(entries)
        checked_row("limits", {"quantity": quantity, **row})

        def act() -> list[Touched]:
            return touched(
                lambda: set_limit(
                    actor=self.actor,
                    quantity=quantity,
                    reel_type=ReelType.objects.get(name=reel_type) if reel_type else None,
                    knife_type=KnifeType.objects.get(name=knife_type) if knife_type else None,
                    **row,
                )
            )

        return act

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Set it anew; what the row does not say stays as it was."""
        return self.add({**entries, **{k: v for k, v in was.items() if k not in ("set_by", "on")}, **entries})

    def remember(self, entries: Table, was: Table) -> None:
        """Know it."""
        self.known.limits[self._key(entries)] = {**was, **self.compared(entries), "quantity": entries["quantity"]}


class Reels(Thing):
    """Reels."""

    kind = "reel"
    name_key = "label"
    part = "reel"

    def stands(self, entries: Table) -> Table | None:
        """Return its type and sizes."""
        seen = self.known.parts(self.part).get(entries["label"])
        return None if seen is None else {**seen.spec, "type": seen.type, "scrapped_on": seen.scrapped_on}

    def _types(self) -> dict[str, Table]:
        return self.known.reel_types if self.part == "reel" else self.known.knife_types

    def _own(self, entries: Table) -> Table:
        return {key: v for key, v in entries.items() if key not in ("label", "type", "scrapped_on")}

    def _whole(self, entries: Table) -> Table:
        """Return its sizes, the type's first; refuses when the type is not known and the sizes do not make one."""
        types, own = self._types(), self._own(entries)
        if entries["type"] not in types and not own:
            raise Refusal(none_called(phrase(f"{self.part} type"), entries["type"], types))
        whole = {**types.get(entries["type"], {}), **own}
        return checked_table(self.part, whole)

    def also(self, entries: Table) -> list[str]:
        """The type, when it is new and the row has its sizes."""
        new = entries["type"] not in self._types() and self._own(entries)
        return [phrase(f"{self.part} type '{{name}}'", name=AsTyped(entries["type"]))] if new else []

    def add(self, entries: Table) -> Act:
        """Add it, its type as well when that is new."""
        self._whole(entries)
        model: Any = ReelType if self.part == "reel" else KnifeType
        add_type: Any = add_reel_type if self.part == "reel" else add_knife_type
        add_part: Any = add_reel if self.part == "reel" else add_knife
        own = self._own(entries)

        def act() -> list[Touched]:
            made = []
            kind = model.objects.filter(name=entries["type"]).first()
            if kind is None:
                sizes = {key: value for key, value in own.items() if key != "marked_blade"}
                made = touched(lambda: add_type(actor=self.actor, name=entries["type"], spec=sizes))
                kind = model.objects.get(name=entries["type"])
            made += touched(lambda: add_part(actor=self.actor, part_type=kind, label=entries["label"], spec=own))
            return made + (self._scrap(entries) if entries.get("scrapped_on") else [])

        return act

    def _part(self, label: str) -> Reel | Knife:
        found: Reel | Knife = (Reel if self.part == "reel" else Knife).objects.select_related("type").get(label=label)
        return found

    def _scrap(self, entries: Table) -> list[Touched]:
        part, day = self._part(entries["label"]), entries["scrapped_on"]
        return put(part, {"scrapped_on": str(part.scrapped_on or "")}, scrapped_on=day)

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Put its own sizes right, or write it off."""
        if "type" in new:
            raise Refusal(
                phrase(
                    "'{label}' is of another type, '{type}'", label=AsTyped(entries["label"]), type=AsTyped(was["type"])
                )
            )
        whole = self._whole(
            {
                "type": was["type"],
                **{k: v for k, v in was.items() if k not in ("type", "scrapped_on")},
                **self._own(new),
            }
        )

        def act() -> list[Touched]:
            done: list[Touched] = []
            part: Any = self._part(entries["label"])
            if self._own(new):
                done = touched(lambda: change_part(actor=self.actor, part=part, label=part.label, spec=whole))
            return done + (self._scrap(entries) if "scrapped_on" in new else [])

        return act

    def remember(self, entries: Table, was: Table) -> None:
        """Know it, and its type."""
        kind, own = entries["type"], self._own(entries)
        self._types().setdefault(kind, {k: v for k, v in own.items() if k != "marked_blade"})
        parts = self.known.parts(self.part)
        seen = parts.get(entries["label"])
        parts[entries["label"]] = PartSeen(
            entries["label"],
            kind,
            {**self._types()[kind], **(seen.spec if seen else {}), **own},
            entries.get("scrapped_on"),
            seen.pk if seen else None,
        )


class Knives(Reels):
    """Knives."""

    kind = "knife"
    part = "knife"


_FIGURE = re.compile(r"(resolution|calibration[ _]uncertainty|expanded[ _]uncertainty|k|repeatability) +([^;]+)")
_LINE = re.compile(r"([^:;]+):([^:;]+)")


class Calibrations(Thing):
    """Calibrations of gauges: each once; the newest is what the gauge goes by."""

    kind = "calibration"
    name_key = "gauge"

    def _key(self, entries: Table) -> tuple[str, str, str]:
        return entries["gauge"], str(entries["on"]), entries.get("certificate", "")

    def stands(self, entries: Table) -> Table | None:
        """Return an empty table when it is there: a calibration is not changed by a table."""
        return {} if self._key(entries) in self.known.calibrations else None

    def compared(self, entries: Table) -> Table:
        """Nothing: it is there or it is not."""
        return {}

    def add(self, entries: Table) -> Act:
        """Enter it; one older than what the gauge goes by only goes on file."""
        name = entries["gauge"]
        if name not in self.known.gauges:
            raise Refusal(none_called(phrase("gauge"), name, self.known.gauges))
        figures = {key.replace(" ", "_"): value.strip() for key, value in _FIGURE.findall(entries.get("figures", ""))}
        lines = [{"at": a.strip(), "error": e.strip()} for a, e in _LINE.findall(entries.get("lines", ""))]
        gauge = self.known.gauges[name]
        row = {k: v for k, v in gauge.items() if k not in _STATE}
        checked_row("gauges", {**row, **figures})
        kept = certificate_lines(gauge["kind"], lines)
        told = {"on": entries["on"], "certificate": entries.get("certificate", ""), "by": entries.get("by", "")}
        due, stands = entries.get("due"), gauge.get("calibration_due")
        if due is not None and (stands is None or str(due) > str(stands)):
            gauge["calibration_due"] = due
            gauge |= figures
            return lambda: touched(
                lambda: calibrate_gauge(
                    actor=self.actor, gauge=Gauge.objects.get(name=name), due=due, lines=lines, **told, **figures
                )
            )

        def act() -> list[Touched]:
            owner = Gauge.objects.get(name=name)
            return [Touched(Calibration.objects.create(gauge=owner, due=due, figures=figures, lines=kept, **told))]

        return act

    def remember(self, entries: Table, was: Table) -> None:
        """Know it."""
        self.known.calibrations.add(self._key(entries))
