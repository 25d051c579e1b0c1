"""Places, machines, and the cutting units on them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import CARRIER_KEYS, checked_table, checked_value, only, refuse
from sparkout.records.models import Machine, Place, Position, Unit
from sparkout.records.operations.doing import Key, asking, operation
from sparkout.visit.words import Text

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.records.checked import Table
    from sparkout.records.models import Person

_NAME = Text("a name", "", 100, 1)
NEW_ROLLERS = "front_roller_diameter", "rear_roller_diameter"
"""On file as new; a visit measures them worn."""


@operation
def add_place(*, actor: Person, name: str, key: Key = None) -> Place:
    """Add a place where machines work.

    Raises
    ------
    Refusal
        When the name is wrong or taken.
    """
    ask = asking("add_place", actor, key, name, name=name)
    if (done := ask.answered(Place)) is not None:
        return done
    told = checked_value("name", _NAME, name).strip()
    if Place.objects.filter(name=told).exists():
        raise refuse("name", phrase("there is already a place called '{name}'", name=AsTyped(told)), value=told)
    place = Place.objects.create(name=told)
    ask.note(place, after={"name": told})
    return place


@operation
def add_machine(*, actor: Person, name: str, place: Place | None = None, key: Key = None) -> Machine:
    """Add a machine.

    Raises
    ------
    Refusal
        When the name is wrong or taken.
    """
    ask = asking("add_machine", actor, key, name, name=name, place=place)
    if (done := ask.answered(Machine)) is not None:
        return done
    told = checked_value("name", _NAME, name).strip()
    if Machine.objects.filter(name=told).exists():
        raise refuse("name", phrase("there is already a machine called '{name}'", name=AsTyped(told)), value=told)
    machine = Machine.objects.create(name=told, place=place)
    ask.note(machine, after={"name": told, "place": place and place.name})
    return machine


@operation
def change_place(*, actor: Person, place: Place, name: str, key: Key = None) -> Place:
    """Give a place another name.

    Raises
    ------
    Refusal
        When the name is wrong or taken.
    """
    ask = asking("change_place", actor, key, name, place=place, name=name)
    if (done := ask.answered(Place)) is not None:
        return done
    told = checked_value("name", _NAME, name).strip()
    if Place.objects.filter(name=told).exclude(pk=place.pk).exists():
        raise refuse("name", phrase("there is already a place called '{name}'", name=AsTyped(told)), value=told)
    before, place.name = place.name, told
    place.save()
    ask.note(place, before={"name": before}, after={"name": told})
    return place


@operation
def change_machine(
    *, actor: Person, machine: Machine, name: str, place: Place | None = None, key: Key = None
) -> Machine:
    """Give a machine another name, or another place (None: nowhere in particular).

    Raises
    ------
    Refusal
        When the name is wrong or taken.
    """
    ask = asking("change_machine", actor, key, name, machine=machine, name=name, place=place)
    if (done := ask.answered(Machine)) is not None:
        return done
    told = checked_value("name", _NAME, name).strip()
    if Machine.objects.filter(name=told).exclude(pk=machine.pk).exists():
        raise refuse("name", phrase("there is already a machine called '{name}'", name=AsTyped(told)), value=told)
    before = {"name": machine.name, "place": machine.place and machine.place.name}
    machine.name, machine.place = told, place
    machine.save()
    ask.note(machine, before=before, after={"name": told, "place": place and place.name})
    return machine


@operation
def add_unit(
    *,
    actor: Person,
    name: str,
    machine: Machine | None = None,
    position: str = "",
    pattern: str | None = None,
    carrier: Mapping[str, Any] | None = None,
    height: Mapping[str, Any] | None = None,
    mowing: Mapping[str, Any] | None = None,
    key: Key = None,
) -> Unit:
    """Add a cutting unit: `carrier` holds its entries of [knife], `height` and `mowing` the tables of those names.

    Raises
    ------
    Refusal
        When an entry is wrong, or the machine has a unit of that name or at that position.
    """
    given = {"pattern": pattern, "carrier": carrier, "height": height, "mowing": mowing}
    ask = asking("add_unit", actor, key, name, name=name, machine=machine, position=position, **given)
    if (before := ask.answered(Unit)) is not None:
        return before
    told = checked_table("unit", {"name": name, "pattern": pattern})
    specs = _specs(carrier=carrier, height=height, mowing=mowing)
    where = None if machine is None else _free_position(machine, position)
    if machine is not None and Unit.objects.filter(position__machine=machine, name=told["name"]).exists():
        raise refuse(
            "name",
            phrase(
                "{machine} already has a unit called '{name}'",
                machine=AsTyped(machine.name),
                name=AsTyped(told["name"]),
            ),
            value=name,
        )
    unit = Unit.objects.create(**told, position=where, **specs)
    ask.note(unit, after={**told, "position": where and str(where), **specs})
    return unit


@operation
def change_unit(*, actor: Person, unit: Unit, key: Key = None, **changes: Any) -> Unit:
    """Change name, pattern, carrier, height, mowing (whole tables) or active.

    Raises
    ------
    Refusal
        When an entry is wrong, or its machine has another unit of that name.
    """
    ask = asking("change_unit", actor, key, ", ".join(changes), unit=unit, **changes)
    if (done := ask.answered(Unit)) is not None:
        return done
    plain: dict[str, Any] = {entry: changes[entry] for entry in ("name", "pattern") if entry in changes}
    specs = {entry: changes[entry] for entry in ("carrier", "height", "mowing") if entry in changes}
    entries: dict[str, Any] = {**plain, **checked_table("unit", {"name": unit.name, **plain}), **_specs(**specs)}
    if "active" in changes:
        entries["active"] = bool(changes["active"])
    machine = None if unit.position is None else unit.position.machine
    namesakes = Unit.objects.filter(position__machine=machine, name=entries["name"]).exclude(pk=unit.pk)
    if machine is not None and entries["name"] != unit.name and namesakes.exists():
        raise refuse(
            "name",
            phrase(
                "{machine} already has a unit called '{name}'",
                machine=AsTyped(machine.name),
                name=AsTyped(entries["name"]),
            ),
            value=entries["name"],
        )
    ask.change(unit, entries)
    return unit


@operation
def keep_stance(
    *,
    actor: Person,
    unit: Unit,
    pattern: str | None = None,
    carrier: Table | None = None,
    height: Table | None = None,
    key: Key = None,
) -> Unit:
    """Keep with a unit how it stands: pattern, pivot, rollers, adjuster, height wanted; what is not said stays.

    A roller's diameter on file stays as well: it is that of a new roller, and what is measured is a worn one.

    Raises
    ------
    Refusal
        When an entry is wrong.
    """
    ask = asking("keep_stance", actor, key, str(unit), unit=unit, pattern=pattern, carrier=carrier, height=height)
    if (done := ask.answered(Unit)) is not None:
        return done
    held = Unit.objects.select_for_update(of=("self",)).get(pk=unit.pk)
    said = {
        name: value
        for name, value in (height or {}).items()
        if not (name in NEW_ROLLERS and held.height.get(name) is not None)
    }
    tables = {"carrier": {**held.carrier, **(carrier or {})}, "height": {**held.height, **said}}
    entries = {**checked_table("unit", {"name": held.name, "pattern": pattern or held.pattern}), **_specs(**tables)}
    entries.pop("name")
    ask.change(held, entries)
    return held


@operation
def place_unit(*, actor: Person, unit: Unit, machine: Machine | None, position: str = "", key: Key = None) -> Unit:
    """Put a unit on a machine, at a position; without a machine it goes on the shelf.

    Raises
    ------
    Refusal
        When the position is taken by another unit.
    """
    ask = asking("place_unit", actor, key, str(unit), unit=unit, machine=machine, position=position)
    if (done := ask.answered(Unit)) is not None:
        return done
    before = unit.position and str(unit.position)
    if unit.position is None or machine is None or (unit.position.machine, unit.position.name) != (machine, position):
        unit.position = None if machine is None else _free_position(machine, position)
        unit.save()
    ask.note(unit, before={"position": before}, after={"position": unit.position and str(unit.position)})
    return unit


def _free_position(machine: Machine, name: str) -> Position:
    told = checked_value("position", Text(phrase("where on the machine"), "", 100), name).strip()
    found = Position.objects.filter(machine=machine, name=told, unit__isnull=True).first()
    if found is not None:
        return found
    taken = Unit.objects.filter(position__machine=machine, position__name=told).first() if told else None
    if taken is not None:
        raise refuse(
            "position",
            phrase("'{unit}' sits there", unit=AsTyped(taken.name)),
            value=told,
            suggestion=phrase("Move it first."),
        )
    return Position.objects.create(machine=machine, name=told)


def _specs(**given: Mapping[str, Any] | None) -> dict[str, Any]:
    specs = {}
    for name, table in given.items():
        found = checked_table("knife" if name == "carrier" else name, table or {})
        specs[name] = only(found, CARRIER_KEYS, phrase("to the knife, not to the unit")) if name == "carrier" else found
    return specs
