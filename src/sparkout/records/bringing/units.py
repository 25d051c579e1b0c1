# ruff: noqa: ARG002 - every kind is asked in the same way, whether it needs all of it or not
"""Cutting units, with the reel and knife a list of them often names beside; and parts fitted and taken out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.interchange.values import told_by
from sparkout.records.bringing.known import FitSeen, PartSeen, UnitSeen, none_called
from sparkout.records.bringing.outcome import ADDS, CHANGES, SAME, Outcome, Touched, changed, outcome, told_changes
from sparkout.records.bringing.things import Act, Knives, Machines, Reels, Table, Thing, put, touched
from sparkout.records.checked import CARRIER_KEYS, checked_table, only
from sparkout.records.models import Fitting, Knife, Machine, Reel, Unit
from sparkout.records.operations.doing import one_transaction, today
from sparkout.records.operations.parts import fit_knife, fit_reel
from sparkout.records.operations.units import add_unit, change_unit, place_unit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.interchange.drafts import Draft

_TABLES = ("carrier", "height", "mowing")
_SIZES_NEEDED = ("blades", "diameter", "length")


def tables_of(told: Table) -> dict[str, Table]:
    """Return carrier, height and mowing from flat entries."""
    return {
        table: {key.partition(".")[2]: value for key, value in told.items() if key.startswith(f"{table}.")}
        for table in _TABLES
    }


class Units(Thing):
    """Units, their machine, and what is fitted in them when the row says so."""

    kind = "unit"
    model = Unit

    def stands(self, entries: Table) -> Table | None:
        """Return the unit's entries, with its fitted parts."""
        seen = self._seen(entries)
        if seen is None:
            return None
        fits = {part: self.known.fitted(part, seen.key) for part in ("reel", "knife")}
        return {**seen.told, **{part: fit.label for part, fit in fits.items() if fit}}

    def _seen(self, entries: Table) -> UnitSeen | None:
        if entries.get("machine"):
            return self.known.units.get((entries["machine"], entries["name"]))
        found = self.known.machines_of.get(entries["name"], [])
        if len(found) > 1:
            return self.known.unit_named("", entries["name"])
        return found[0] if found else None

    def compared(self, entries: Table) -> Table:
        """What is the unit's own, and which parts it holds."""
        other = ("name", "place", "reel_type", "knife_type", "fitted")
        return {k: v for k, v in entries.items() if k not in other and not k.startswith("reel.")}

    def also(self, entries: Table) -> list[str]:
        """Machine, reel and knife, where they are new."""
        told: list[str] = []
        if entries.get("machine") and entries["machine"] not in self.known.machines:
            told.append(phrase("machine '{name}'", name=AsTyped(entries["machine"])))
        for part, row in self._parts(entries):
            new = row["label"] not in self.known.parts(part)
            told.append(
                phrase(
                    "{part} '{label}'" if new else "fits {part} '{label}'",
                    part=phrase(part),
                    label=AsTyped(row["label"]),
                )
            )
        return told

    def _parts(self, entries: Table) -> Iterator[tuple[str, Table]]:
        """Yield reel and knife as rows of their own kind, where the unit's row says enough."""
        sizes = {key.removeprefix("reel."): v for key, v in entries.items() if key.startswith("reel.")}
        whole = all(sizes.get(key) for key in _SIZES_NEEDED)
        if entries.get("reel") or entries.get("reel_type") or whole:
            yield "reel", self._part("reel", entries, sizes)
        if entries.get("knife") or entries.get("knife_type"):
            yield "knife", self._part("knife", entries, {})

    def _part(self, part: str, entries: Table, sizes: Table) -> Table:
        told = " ".join(filter(None, (entries.get("machine"), entries["name"])))
        label = entries.get(part) or f"{part} of {told}"
        seen = self.known.parts(part).get(label)
        if seen is not None:
            return {"label": label, "type": seen.type}
        types = self.known.reel_types if part == "reel" else self.known.knife_types
        alike = next(
            (name for name, spec in types.items() if sizes and all(spec.get(k) == v for k, v in sizes.items())), ""
        )
        kind = entries.get(f"{part}_type") or alike
        if not kind and part == "reel" and not all(sizes.get(key) for key in _SIZES_NEEDED):
            raise Refusal(
                phrase(
                    "reel '{label}' is not on file; its blades, diameter and length are needed", label=AsTyped(label)
                )
            )
        kind = kind or (f"{sizes['blades']} blades, {sizes['diameter']} × {sizes['length']}" if sizes else label)
        return {"label": label, "type": kind, **({} if kind in types else sizes)}

    def record(self, entries: Table) -> Any:
        """Return the unit itself."""
        seen = self._seen(entries)
        assert seen is not None
        return Unit.objects.get(pk=seen.number)

    def _maker(self, part: str) -> Reels:
        return (Reels if part == "reel" else Knives)(self.known, self.actor)

    def add(self, entries: Table) -> Act:
        """Add unit, machine and parts, all or nothing."""
        tables: dict[str, Any] = self._tables({}, entries)
        checked_table("unit", {"name": entries["name"], "pattern": entries.get("pattern")})
        self._free(entries)
        parts = list(self._parts(entries))
        makes = [self._part_in(part, row, entries) for part, row in parts]

        def act() -> list[Touched]:
            with one_transaction():
                machine, made = self._machine(entries)
                make = touched(
                    lambda: add_unit(
                        actor=self.actor,
                        name=entries["name"],
                        machine=machine,
                        position=entries.get("position", ""),
                        pattern=entries.get("pattern"),
                        **tables,
                    )
                )
                unit = make[-1].record
                assert isinstance(unit, Unit)
                made += make
                if entries.get("active") is False:
                    made += touched(lambda: change_unit(actor=self.actor, unit=unit, active=False))
                for fit in makes:
                    made += fit(unit)
            self.known.units[entries.get("machine", ""), entries["name"]].pk = unit.pk
            return made

        return act

    def _part_in(self, part: str, row: Table, entries: Table) -> Any:
        """Return what fits a part into a unit; refuses what it would refuse then."""
        maker, day = self._maker(part), entries.get("fitted")
        make = None if row["label"] in self.known.parts(part) else maker.add(row)
        elsewhere = next((fit for fit in self.known.fittings_with(part, row["label"]) if fit.until is None), None)
        if elsewhere is not None:
            where = AsTyped(" · ".join(filter(None, reversed(elsewhere.unit))))
            raise Refusal(
                phrase("{part} '{label}' is in {unit}", part=phrase(part), label=AsTyped(row["label"]), unit=where)
            )

        def fit(unit: Unit) -> list[Touched]:
            made = make() if make else []
            if part == "reel":
                reel = Reel.objects.get(label=row["label"])
                return made + touched(lambda: fit_reel(actor=self.actor, unit=unit, reel=reel, on=day))
            knife = Knife.objects.get(label=row["label"])
            return made + touched(lambda: fit_knife(actor=self.actor, unit=unit, knife=knife, on=day))

        return fit

    def _machine(self, entries: Table) -> tuple[Machine | None, list[Touched]]:
        name = entries.get("machine")
        if not name:
            return None, []
        made: list[Touched] = []
        if not Machine.objects.filter(name=name).exists():
            row = {"name": name, "place": entries.get("place")}
            made = Machines(self.known, self.actor).add(row)()
        return Machine.objects.get(name=name), made

    def _free(self, entries: Table, but: UnitSeen | None = None) -> None:
        machine, position = entries.get("machine"), entries.get("position")
        if machine and position:
            sits = next((u for u in self.known.units.values() if (u.machine, u.position) == (machine, position)), None)
            if sits is not None and sits is not but:
                raise Refusal(
                    phrase("'{unit}' sits at '{position}'", unit=AsTyped(sits.name), position=AsTyped(position))
                )

    def _tables(self, was: Table, entries: Table) -> dict[str, Table]:
        tables = tables_of({**was, **entries})
        only(checked_table("knife", tables["carrier"]), CARRIER_KEYS, "to the knife, not to the unit")
        for name in ("height", "mowing"):
            checked_table(name, tables[name])
        return tables

    def change(self, entries: Table, was: Table, new: Table) -> Act:
        """Change its entries, move it, or fit what it lacks."""
        seen = self._seen(entries)
        assert seen is not None
        for part in ("reel", "knife"):
            if part in new and was.get(part):
                raise Refusal(
                    phrase(
                        "it holds the {part} '{label}'; a swap comes in with its day, as a part fitted",
                        part=phrase(part),
                        label=AsTyped(was[part]),
                    )
                )
        makes = [self._part_in(part, row, entries) for part, row in self._parts(entries) if part in new]
        tables: dict[str, Any] = {
            k: v for k, v in self._tables(was, new).items() if any(key.startswith(f"{k}.") for key in new)
        }
        plain = {key: new[key] for key in ("pattern", "active") if key in new}
        self._free({"machine": seen.machine, "position": new.get("position")}, seen)

        def act() -> list[Touched]:
            unit = Unit.objects.get(pk=seen.number)
            done: list[Touched] = []
            with one_transaction():
                if plain or tables:
                    done += touched(lambda: change_unit(actor=self.actor, unit=unit, **plain, **tables))
                if "position" in new and seen.machine:
                    machine = Machine.objects.get(name=seen.machine)
                    done += touched(
                        lambda: place_unit(actor=self.actor, unit=unit, machine=machine, position=new["position"])
                    )
                for fit in makes:
                    done += fit(unit)
            return done

        return act

    def remember(self, entries: Table, was: Table) -> None:
        """Know unit, machine and parts."""
        seen = self._seen(entries)
        told = {"active": True, **was, **self.compared(entries)}
        if seen is None:
            machine, position = entries.get("machine", ""), entries.get("position", "")
            seen = UnitSeen(machine, entries["name"], position)
            if machine and machine not in self.known.machines:
                Machines(self.known, self.actor).remember({"name": machine, "place": entries.get("place")}, {})
            rows = list(self._parts(entries))
            self.known.add_unit(seen)
        else:
            rows = [(part, row) for part, row in self._parts(entries) if self.known.fitted(part, seen.key) is None]
            seen.position = entries.get("position", seen.position)
        seen.told = {k: v for k, v in told.items() if k not in ("reel", "knife")}
        for part, row in rows:
            if row["label"] not in self.known.parts(part):
                self._maker(part).remember(row, {})
            self.known.add_fit(part, FitSeen(seen.key, row["label"], entries.get("fitted") or today(), None))


class Fittings(Thing):
    """Parts fitted and taken out, also long ago; two parts are never in one unit at once."""

    kind = "fitting"
    name_key = "label"

    def plan(self, sheet: str, draft: Draft) -> Outcome:
        """Return what the draft does."""
        entries = draft.entries
        label = AsTyped(f"{entries['label']} → {entries['unit']}")
        try:
            seen = self.known.unit_named(entries.get("machine", ""), entries["unit"])
            part = self._seen_part(entries)
            there = next(
                (
                    f
                    for f in self.known.fittings_of(entries["part"], seen.key)
                    if (f.label, f.since) == (part.label, entries["since"])
                ),
                None,
            )
            if there is None:
                return outcome(sheet, draft, ADDS, label, "", self._added(entries, seen))
            was = {"until": there.until, "hours": there.since_hours, "until_hours": there.until_hours}
            new = changed(self.fields, was, {k: v for k, v in entries.items() if k in was})
            if not new:
                return outcome(sheet, draft, SAME, label)
            if there.until is not None and "until" in new:
                raise Refusal(phrase("it was taken out on {day}", day=AsTyped(str(there.until))))
            self._order(entries, seen, there)
            return outcome(
                sheet,
                draft,
                CHANGES,
                label,
                told_changes(self.fields, was, new),
                self._changed(entries, there, was, new),
            )
        except Refusal as refusal:
            return outcome(sheet, draft, ADDS, label).refused(told_by(refusal))

    def _seen_part(self, entries: Table) -> PartSeen:
        parts = self.known.parts(entries["part"])
        if entries["label"] not in parts:
            raise Refusal(none_called(phrase(entries["part"]), entries["label"], parts))
        return parts[entries["label"]]

    def _order(self, entries: Table, unit: UnitSeen, but: FitSeen | None = None) -> None:
        since, until = entries["since"], entries.get("until")
        if until is not None and until < since:
            raise Refusal(phrase("it was taken out on {until}, before it was fitted", until=AsTyped(str(until))))
        for fit in self.known.fittings_of(entries["part"], unit.key):
            if fit is not but and fit.overlaps(since, until):
                raise Refusal(phrase("'{label}' was in this unit then", label=AsTyped(fit.label)))
        for fit in self.known.fittings_with(entries["part"], entries["label"]):
            if fit is not but and fit.overlaps(since, until):
                raise Refusal(
                    phrase("it was in {unit} then", unit=AsTyped(" · ".join(filter(None, reversed(fit.unit)))))
                )

    def _added(self, entries: Table, unit: UnitSeen) -> Act:
        self._order(entries, unit)
        since, until = entries["since"], entries.get("until")
        hours, until_hours = entries.get("hours"), entries.get("until_hours")
        seen = FitSeen(unit.key, entries["label"], since, until, hours, until_hours)
        columns = {"since": since, "until": until, "since_hours": hours, "until_hours": until_hours}
        self.known.add_fit(entries["part"], seen)

        def act() -> list[Touched]:
            model: Any = Reel if entries["part"] == "reel" else Knife
            part = model.objects.get(label=entries["label"])
            where = Unit.objects.get(pk=self.known.units[unit.key].number)
            made = Fitting.objects.create(unit=where, **{entries["part"]: part}, **columns)
            seen.pk = made.pk
            return [Touched(made)]

        return act

    def _changed(self, entries: Table, there: FitSeen, was: Table, new: Table) -> Act:
        columns = {{"hours": "since_hours"}.get(key, key): value for key, value in new.items()}

        def act() -> list[Touched]:
            for key, value in columns.items():
                setattr(there, key, value)
            assert there.pk is not None
            return put(Fitting.objects.get(pk=there.pk), {k: str(v) for k, v in was.items()}, **columns)

        return act
