"""Cutting units: what they are, where they sit, and a new one with its reel and knife."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.records.checked import BLADE_KEYS, CARRIER_KEYS, refuse
from sparkout.records.models import KnifeType, Machine, ReelType, Unit
from sparkout.records.operations.doing import one_transaction
from sparkout.records.operations.parts import add_knife, add_knife_type, add_reel, add_reel_type, fit_knife, fit_reel
from sparkout.records.operations.units import add_machine, add_unit, change_unit, place_unit
from sparkout.visit.words import Text
from sparkout.web.shell.form import Field, Group, given
from sparkout.web.workshop.kind import Column, Kind, Side
from sparkout.web.workshop.sections import (
    HeightSection,
    KnifeSection,
    MowingSection,
    ReelSection,
    UnitSection,
    fields_of,
)

if TYPE_CHECKING:
    from sparkout.records.models import Person
    from sparkout.web.workshop.kind import Typed

_REEL = tuple(ReelSection.model_fields)
_HEIGHT, _MOWING = tuple(HeightSection.model_fields), tuple(MowingSection.model_fields)
_MANY = 500
"""Names offered while typing."""


def _names(model: Any) -> tuple[str, ...]:
    return tuple(model.objects.filter(ended_on=None).order_by("name").values_list("name", flat=True)[:_MANY])


def _groups(unit: Any) -> list[Group]:
    machine = Field("machine", offered=_names(Machine), help=phrase("one on file, or the name of a new one"))
    position = Field("position", takes=Text("", "front left", 100), help=phrase("such as front left"))
    what = fields_of(UnitSection, ("name", "pattern"), ("name",))
    spread = [
        Group(phrase("Adjuster and pivot"), fields_of(KnifeSection, CARRIER_KEYS), folded=True),
        Group(phrase("Rollers and height of cut"), fields_of(HeightSection), folded=True),
        Group(phrase("On the turf"), fields_of(MowingSection), folded=True),
    ]
    if unit is not None:
        return [Group("", (what[0], machine, position, what[1])), *spread]
    kinds = (
        Field(
            "reel_type",
            label=phrase("Reel type"),
            offered=_names(ReelType),
            help=phrase("one on file; or a new name, with its sizes below"),
        ),
        Field(
            "knife_type",
            label=phrase("Knife type"),
            offered=_names(KnifeType),
            help=phrase("one on file; or a new name, with its angles below"),
        ),
    )
    return [
        Group("", (what[0], machine, position, what[1])),
        Group(phrase("Its reel and knife"), kinds),
        Group(phrase("Reel of a new type"), fields_of(ReelSection), folded=False),
        Group(phrase("Knife of a new type"), fields_of(KnifeSection, BLADE_KEYS), folded=True),
        *spread,
    ]


def _table(unit: Any) -> dict[str, Any]:
    place = unit.position
    where = {"machine": place and place.machine.name, "position": place and place.name}
    return {"name": unit.name, "pattern": unit.pattern, **where, **unit.carrier, **unit.height, **unit.mowing}


def _own_key(key: str, step: str) -> uuid.UUID:
    """Return the key of one step of a form that takes several."""
    return uuid.uuid5(uuid.UUID(key), step)


def _machine(actor: Person, typed: Typed, key: str) -> Machine | None:
    name = typed["machine"]
    if name is None:
        if typed["position"] is not None:
            raise refuse("machine", phrase("a place on a machine needs the machine"))
        return None
    found = Machine.objects.filter(name=name).first()
    return found or add_machine(actor=actor, name=name, key=_own_key(key, "machine"))


def _specs(typed: Typed) -> dict[str, dict[str, str]]:
    return {
        "carrier": given(typed, CARRIER_KEYS),
        "height": given(typed, _HEIGHT),
        "mowing": given(typed, _MOWING),
    }


def _change(actor: Person, unit: Any, typed: Typed, key: str) -> object:
    before = unit.position and (unit.position.machine.name, unit.position.name)
    if before != (typed["machine"] and (typed["machine"], typed["position"] or "")):
        machine = _machine(actor, typed, key)
        place_unit(
            actor=actor, unit=unit, machine=machine, position=typed["position"] or "", key=_own_key(key, "place")
        )
    now = {"name": typed["name"], "pattern": typed["pattern"], **_specs(typed)}
    if any(getattr(unit, name) != value for name, value in now.items()):
        return change_unit(actor=actor, unit=unit, key=key, **now)
    return unit


def _add(actor: Person, typed: Typed, key: str) -> Unit:
    """Add a unit with its reel and knife, all or nothing."""
    with one_transaction():
        machine, name = _machine(actor, typed, key), typed["name"] or ""
        unit = add_unit(
            actor=actor,
            name=name,
            machine=machine,
            position=typed["position"] or "",
            pattern=typed["pattern"],
            key=key,
            **_specs(typed),
        )
        told = " ".join(filter(None, (typed["machine"], name)))
        reel = add_reel(
            actor=actor,
            part_type=_reel_type(actor, typed, told, key),
            label=f"reel of {told}",
            key=_own_key(key, "reel"),
        )
        fit_reel(actor=actor, unit=unit, reel=reel, key=_own_key(key, "fit reel"))
        knife = add_knife(
            actor=actor,
            part_type=_knife_type(actor, typed, told, key),
            label=f"knife of {told}",
            key=_own_key(key, "knife"),
        )
        fit_knife(actor=actor, unit=unit, knife=knife, key=_own_key(key, "fit knife"))
    return unit


def _reel_type(actor: Person, typed: Typed, told: str, key: str) -> ReelType:
    known = ReelType.objects.filter(name=typed["reel_type"] or "").first()
    if known is not None:
        return known
    return add_reel_type(
        actor=actor,
        name=typed["reel_type"] or f"reel of {told}",
        spec=given(typed, _REEL),
        key=_own_key(key, "reel type"),
    )


def _knife_type(actor: Person, typed: Typed, told: str, key: str) -> KnifeType:
    known = KnifeType.objects.filter(name=typed["knife_type"] or "").first()
    if known is not None:
        return known
    return add_knife_type(
        actor=actor,
        name=typed["knife_type"] or f"knife of {told}",
        spec=given(typed, BLADE_KEYS),
        key=_own_key(key, "knife type"),
    )


UNITS = Kind(
    slug="units",
    model=Unit,
    many=phrase("Cutting units"),
    one=phrase("Cutting unit"),
    new=phrase("Add a unit"),
    groups=_groups,
    table=_table,
    add=_add,
    change=_change,
    listed=lambda: Unit.objects.select_related("position__machine__place"),
    name="name",
    in_use={"active": True},
    columns=(
        Column(phrase("machine"), lambda unit, _: "" if unit.position is None else unit.position.machine.name),
        Column(phrase("where"), lambda unit, _: "" if unit.position is None else unit.position.name),
    ),
    sides=(Side(phrase("Its life"), "unit"), Side(phrase("Fit, take out, swap"), "parts")),
    related=lambda unit: list(unit.fittings.all()),
)
