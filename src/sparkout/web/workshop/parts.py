"""Reels and knives, and their types."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db.models import Count, OuterRef, Q, Subquery

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import BLADE_KEYS, refuse
from sparkout.records.models import Fitting, Knife, KnifeType, Limit, Reel, ReelType
from sparkout.records.operations.parts import (
    add_knife,
    add_knife_type,
    add_reel,
    add_reel_type,
    change_part,
    change_type,
)
from sparkout.web.shell.form import Field, Group, given
from sparkout.web.workshop.kind import Column, Kind, Side
from sparkout.web.workshop.sections import KnifeSection, ReelSection, fields_of, figure
from sparkout.web.workshop.where import NAME, name_field

if TYPE_CHECKING:
    from sparkout.records.models import Person
    from sparkout.showing import Showing
    from sparkout.web.workshop.kind import Typed

_REEL = tuple(ReelSection.model_fields)
_TYPE_REEL = tuple(key for key in _REEL if key != "marked_blade")
_NEEDED = ("blades", "diameter", "length")


def _size(section: Any, key: str, head: str) -> Column:
    return Column(head, lambda thing, showing: figure(section, thing.spec, key, showing))


def _limits(part_type: Any, showing: Showing) -> dict[str, Any]:
    from sparkout.web.workshop.limits import told_limits

    name = "reel_type" if isinstance(part_type, ReelType) else "knife_type"
    limits = Limit.objects.filter(ended_at=None, **{name: part_type}).order_by("quantity")
    return {"limits": told_limits(limits, showing), "for_type": f"{name}={part_type.pk}"}


REEL_TYPES = Kind(
    slug="reel-types",
    model=ReelType,
    many=phrase("Reel types"),
    one=phrase("Reel type"),
    new=phrase("Add a reel type"),
    groups=lambda _: [Group("", (name_field(), *fields_of(ReelSection, _TYPE_REEL, _NEEDED)))],
    table=lambda kind: {"name": kind.name, **kind.spec},
    add=lambda actor, typed, key: add_reel_type(
        actor=actor, name=typed["name"] or "", spec=given(typed, _TYPE_REEL), key=key
    ),
    change=lambda actor, kind, typed, key: change_type(
        actor=actor, part_type=kind, name=typed["name"] or "", spec=given(typed, _TYPE_REEL), key=key
    ),
    listed=lambda: ReelType.objects.annotate(held=Count("reels", filter=Q(reels__scrapped_on=None))),
    name="name",
    in_use={"ended_on": None},
    columns=(
        _size(ReelSection, "blades", phrase("blades")),
        _size(ReelSection, "diameter", phrase("diameter when new")),
        _size(ReelSection, "length", phrase("length")),
        Column(phrase("reels"), lambda kind, _: str(kind.held)),
    ),
    about=phrase("Sizes as specified. Changing one does not change what is signed."),
    extra="workshop/type_limits.html",
    more=_limits,
)

KNIFE_TYPES = Kind(
    slug="knife-types",
    model=KnifeType,
    many=phrase("Knife types"),
    one=phrase("Knife type"),
    new=phrase("Add a knife type"),
    groups=lambda _: [Group("", (name_field(), *fields_of(KnifeSection, BLADE_KEYS)))],
    table=lambda kind: {"name": kind.name, **kind.spec},
    add=lambda actor, typed, key: add_knife_type(
        actor=actor, name=typed["name"] or "", spec=given(typed, BLADE_KEYS), key=key
    ),
    change=lambda actor, kind, typed, key: change_type(
        actor=actor, part_type=kind, name=typed["name"] or "", spec=given(typed, BLADE_KEYS), key=key
    ),
    listed=lambda: KnifeType.objects.annotate(held=Count("knives", filter=Q(knives__scrapped_on=None))),
    name="name",
    in_use={"ended_on": None},
    columns=(
        _size(KnifeSection, "top_angle", phrase("top angle")),
        _size(KnifeSection, "front_angle", phrase("front angle")),
        _size(KnifeSection, "lip_height", phrase("lip height when new")),
        Column(phrase("knives"), lambda kind, _: str(kind.held)),
    ),
    about=phrase("Sizes as specified. Changing one does not change what is signed."),
    extra="workshop/type_limits.html",
    more=_limits,
)


def _type_named(model: Any, name: str | None) -> Any:
    found = model.objects.filter(name=name or "").first()
    if found is None:
        raise refuse(
            "type",
            phrase("there is no type called '{name}'", name=AsTyped(name or "")),
            suggestion=phrase("Add it first, or choose another."),
        )
    return found


def _type_field(model: Any, part: Any) -> Field:
    if part is not None:
        return Field("type", fixed=True)
    names = model.objects.filter(ended_on=None).order_by("name").values_list("name", flat=True)
    return Field("type", needed=True, choices=(("", phrase("choose")), *((name, name) for name in names)))


def _own(section: Any, keys: tuple[str, ...]) -> Group:
    return Group(
        phrase("Where it differs from its type"), fields_of(section, [k for k in keys if k != "marked_blade"]), True
    )


def _reel_groups(reel: Any) -> list[Group]:
    label = Field("label", takes=NAME, needed=True, help=phrase("as it is marked, or as the workshop calls it"))
    mark = fields_of(ReelSection, ("marked_blade",))
    return [Group("", (label, _type_field(ReelType, reel), *mark)), _own(ReelSection, _REEL)]


def _knife_groups(knife: Any) -> list[Group]:
    label = Field("label", takes=NAME, needed=True, help=phrase("as it is marked, or as the workshop calls it"))
    return [Group("", (label, _type_field(KnifeType, knife))), _own(KnifeSection, BLADE_KEYS)]


def _add_reel(actor: Person, typed: Typed, key: str) -> Reel:
    kind, spec = _type_named(ReelType, typed["type"]), given(typed, _REEL)
    return add_reel(actor=actor, part_type=kind, label=typed["label"] or "", spec=spec, key=key)


def _add_knife(actor: Person, typed: Typed, key: str) -> Knife:
    kind, spec = _type_named(KnifeType, typed["type"]), given(typed, BLADE_KEYS)
    return add_knife(actor=actor, part_type=kind, label=typed["label"] or "", spec=spec, key=key)


def _with_unit(model: Any, name: str) -> Any:
    inside = Fitting.objects.filter(**{name: OuterRef("pk")}, until=None)
    return model.objects.select_related("type").annotate(
        unit_name=Subquery(inside.values("unit__name")[:1]),
        on_machine=Subquery(inside.values("unit__position__machine__name")[:1]),
    )


def _where(part: Any, showing: Showing) -> str:
    if part.unit_name is None:
        return showing.say(phrase("on the shelf"))
    return " · ".join(filter(None, (part.unit_name, part.on_machine)))


def _at_home(part: Any, _: Showing) -> dict[str, Any]:
    fittings = part.fittings.select_related("unit__position__machine").order_by("-since", "-pk")
    return {"fittings": fittings}


_PLACED = (Column(phrase("type"), lambda part, _: part.type.name), Column(phrase("where"), _where))

REELS = Kind(
    slug="reels",
    model=Reel,
    many=phrase("Reels"),
    one=phrase("Reel"),
    new=phrase("Add a reel"),
    groups=_reel_groups,
    table=lambda reel: {"label": reel.label, "type": reel.type.name, **reel.spec},
    add=_add_reel,
    change=lambda actor, reel, typed, key: change_part(
        actor=actor, part=reel, label=typed["label"] or "", spec=given(typed, _REEL), key=key
    ),
    listed=lambda: _with_unit(Reel, "reel"),
    name="label",
    in_use={"scrapped_on": None},
    columns=_PLACED,
    end_words=phrase("Scrap it"),
    sides=(Side(phrase("Its life"), "reel"),),
    extra="workshop/fittings.html",
    more=_at_home,
    related=lambda reel: list(reel.fittings.all()),
)

KNIVES = Kind(
    slug="knives",
    model=Knife,
    many=phrase("Knives"),
    one=phrase("Knife"),
    new=phrase("Add a knife"),
    groups=_knife_groups,
    table=lambda knife: {"label": knife.label, "type": knife.type.name, **knife.spec},
    add=_add_knife,
    change=lambda actor, knife, typed, key: change_part(
        actor=actor, part=knife, label=typed["label"] or "", spec=given(typed, BLADE_KEYS), key=key
    ),
    listed=lambda: _with_unit(Knife, "knife"),
    name="label",
    in_use={"scrapped_on": None},
    columns=_PLACED,
    end_words=phrase("Scrap it"),
    sides=(Side(phrase("Its life"), "knife"),),
    extra="workshop/fittings.html",
    more=_at_home,
    related=lambda knife: list(knife.fittings.all()),
)
