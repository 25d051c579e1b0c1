"""Gauges and grinders."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.records.models import Gauge, Grinder
from sparkout.records.operations.doing import today
from sparkout.records.operations.equipment import (
    LEARNT_KEYS,
    add_gauge,
    add_grinder,
    change_gauge,
    change_grinder,
)
from sparkout.units import split
from sparkout.visit.quantities import GAUGE_KINDS, GAUGE_MEANING
from sparkout.web.shell.form import Field, Group, given
from sparkout.web.shell.read import as_read
from sparkout.web.workshop.kind import Column, Kind, Side
from sparkout.web.workshop.sections import GaugeEntry, GrinderSection, fields_of, figure
from sparkout.web.workshop.where import name_field

if TYPE_CHECKING:
    from sparkout.records.models import Person
    from sparkout.showing import Showing
    from sparkout.web.workshop.kind import Typed

FIGURES = ("resolution", "calibration_uncertainty", "expanded_uncertainty", "k", "repeatability")
KINDS = tuple(
    (kind, phrase("{kind}: {meaning}", kind=phrase(kind), meaning=phrase(GAUGE_MEANING[kind]))) for kind in GAUGE_KINDS
)
_SETTINGS = tuple(key for key in GrinderSection.model_fields if key not in ("name", *LEARNT_KEYS))


def _gauge_groups(gauge: Any) -> list[Group]:
    kind = Field("kind", choices=KINDS, needed=True, help=phrase("what it measures, and how"))
    figures = fields_of(GaugeEntry, FIGURES)
    if gauge is not None:
        named = Field("id", fixed=True, help=phrase("its readings are kept under this name, so it stays"))
        return [Group("", (named, kind)), Group(phrase("Its figures"), figures)]
    due = fields_of(GaugeEntry, ("id", "calibration_due"), ("id",))
    return [Group("", (due[0], kind)), Group(phrase("Its figures"), (*figures, due[1]))]


def _add_gauge(actor: Person, typed: Typed, key: str) -> Gauge:
    return add_gauge(actor=actor, key=key, **given(typed, ("id", "kind", *FIGURES, "calibration_due")))


def _change_gauge(actor: Person, gauge: Any, typed: Typed, key: str) -> Gauge:
    return change_gauge(actor=actor, gauge=gauge, kind=typed["kind"], key=key, **given(typed, FIGURES))


def _due(gauge: Any, showing: Showing) -> str:
    from sparkout.web.workshop.telling import day

    if gauge.calibration_due is None:
        return showing.say(phrase("not said"))
    told = day(gauge.calibration_due, showing)
    return showing.say(phrase("overdue since {day}", day=told)) if gauge.calibration_due < today() else told


def _step(gauge: Any, showing: Showing) -> str:
    """Return the smallest step a gauge shows; nothing where it goes without steps, as leaves do."""
    step = str(gauge.spec.get("resolution", ""))
    return as_read(step, showing) if step and split(step)[0] > 0.0 else ""


def _calibrations(gauge: Any, showing: Showing) -> dict[str, Any]:
    from sparkout.web.workshop.calibrating import told_calibration

    found = gauge.calibrations.order_by("-on", "-pk")
    return {"calibrations": [told_calibration(c, showing) for c in found], "due": _due(gauge, showing)}


GAUGES = Kind(
    slug="gauges",
    model=Gauge,
    many=phrase("Gauges"),
    one=phrase("Gauge"),
    new=phrase("Add a gauge"),
    groups=_gauge_groups,
    table=lambda gauge: {"id": gauge.name, "kind": gauge.kind, **gauge.spec},
    add=_add_gauge,
    change=_change_gauge,
    listed=Gauge.objects.all,
    name="name",
    in_use={"retired": False},
    columns=(
        Column(phrase("kind"), lambda gauge, showing: showing.say(phrase(gauge.kind))),
        Column(phrase("smallest step"), _step),
        Column(phrase("calibration due"), _due),
    ),
    about=phrase("What is left empty is taken from common practice, and the answer says so."),
    sides=(Side(phrase("Enter a calibration"), "calibrate"),),
    extra="workshop/calibrations.html",
    more=_calibrations,
    related=lambda gauge: list(gauge.calibrations.all()),
)


def _grinder_groups(_: Any) -> list[Group]:
    wheel = ("wheel_diameter", "wheel_width", "spindle_speed", "marked_speed")
    mounts = ("mount_spacing", "thread_pitch", "divisions_per_turn")
    rest = [key for key in _SETTINGS if key not in (*wheel, *mounts)]
    thread = Field(
        "thread_pitch",
        label=phrase("Set-up adjuster: thread pitch"),
        takes=fields_of(GrinderSection, ("thread_pitch",))[0].takes,
    )
    return [
        Group("", (name_field(),)),
        Group(phrase("Its wheel"), fields_of(GrinderSection, wheel)),
        Group(phrase("Its mounts"), fields_of(GrinderSection, mounts, thread_pitch=thread)),
        Group(phrase("How it is run"), fields_of(GrinderSection, rest), folded=True),
        Group(phrase("Give and wheel loss to start from"), fields_of(GrinderSection, LEARNT_KEYS), folded=True),
    ]


def _add_grinder(actor: Person, typed: Typed, key: str) -> Grinder:
    sent = given(typed, (*_SETTINGS, *LEARNT_KEYS))
    return add_grinder(actor=actor, name=typed["name"] or "", key=key, **sent)


def _change_grinder(actor: Person, grinder: Any, typed: Typed, key: str) -> Grinder:
    entries = {name: typed.get(name) for name in ("name", *_SETTINGS, *LEARNT_KEYS)}
    return change_grinder(actor=actor, grinder=grinder, key=key, **entries)


def _learnt(grinder: Any, showing: Showing) -> dict[str, Any]:
    """Return what it taught, the last first, each with the visit that taught it."""
    rows = []
    for learnt in grinder.learnt.select_related("visit__unit").order_by("-at", "-pk"):
        give, ratio = (
            " ± ".join(filter(None, (str(learnt.spec.get(name, "")), str(learnt.spec.get(f"{name}_uncertainty", "")))))
            for name in ("give", "g_ratio")
        )
        rows.append({"at": learnt.at, "visit": learnt.visit, "give": give, "g_ratio": ratio})
    stands = {name: grinder.spec.get(name) for name in ("give", "g_ratio")}
    return {
        "learnt": rows,
        "to_start_from": stands,
        "says": showing.say(phrase("as entered, until a grind teaches it")),
    }


GRINDERS = Kind(
    slug="grinders",
    model=Grinder,
    many=phrase("Grinders"),
    one=phrase("Grinder"),
    new=phrase("Add a grinder"),
    groups=_grinder_groups,
    table=lambda grinder: {"name": grinder.name, **grinder.spec},
    add=_add_grinder,
    change=_change_grinder,
    listed=Grinder.objects.all,
    name="name",
    in_use={"retired": False},
    columns=(
        Column(phrase("wheel"), lambda g, showing: figure(GrinderSection, g.spec, "wheel_diameter", showing)),
        Column(phrase("highest speed"), lambda g, showing: figure(GrinderSection, g.spec, "marked_speed", showing)),
    ),
    about=phrase("Read the highest speed from the wheel itself, every time one is mounted."),
    extra="workshop/learnt.html",
    more=_learnt,
    related=lambda grinder: list(grinder.learnt.all()),
)
