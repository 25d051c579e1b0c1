"""How a unit stands: its figures typed, its drawing and what to turn made as one types."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.papers.bench_pictures import bench_stance
from sparkout.reckoning.standing import BenchFigures, figures_of_visit, standing
from sparkout.records.checked import CARRIER_KEYS
from sparkout.records.models import Fitting, Unit, Visit
from sparkout.records.operations.doing import one_transaction, today
from sparkout.records.operations.units import NEW_ROLLERS, keep_stance
from sparkout.telling.standing import standing_sections
from sparkout.visit.asked import Quantity, a_length, a_number
from sparkout.visit.fields import declared
from sparkout.visit.sections import HeightSection, KnifeSection, UnitSection
from sparkout.visit.words import Word
from sparkout.web.shell.form import Field, Form, Group, as_shown
from sparkout.web.shell.kept import kept_page
from sparkout.web.shell.pages import refused
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.stand.live import Live, Told, answer, asked, in_boxes
from sparkout.web.visit.reckoned import reckoned
from sparkout.web.workshop.sections import fields_of

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse
    from pydantic import BaseModel

    from sparkout.showing import Showing

_METALS = Word(phrase("steel unless said"), "steel", ("steel", "aluminium"))
_SMALL = a_length(0, 1, phrase("standard uncertainty"), "0.02 mm")


def _rise(meaning: str) -> Quantity:
    return Quantity(meaning, "20 K", "temperature difference", -100.0, 200.0, "K")


GROUPS = (
    Group(
        phrase("The unit on the bench"),
        (
            *fields_of(UnitSection, ("pattern",)),
            Field("reel_diameter", phrase("Reel diameter now"), a_length(40, 600, "", "125 mm")),
            Field("height_left", phrase("Height of cut now, left"), a_length(-5, 200, phrase("by a bar"), "4 mm")),
            Field(
                "height_right",
                phrase("Height of cut now, right"),
                a_length(-5, 200, phrase("as left if empty"), "4 mm"),
            ),
            *fields_of(HeightSection, ("front_roller_diameter", "rear_roller_diameter")),
            *fields_of(HeightSection, ("front_roller_ahead", "rear_roller_behind")),
        ),
    ),
    Group(
        phrase("Where the edge stands"),
        (
            Field(
                "behind_centre",
                phrase("Edge behind centre"),
                a_length(-200, 200, phrase("or, for a knife that moves, its pivot and arm"), "8 mm"),
            ),
            *fields_of(KnifeSection, ("pivot_behind", "pivot_below", "arm")),
        ),
    ),
    Group(
        phrase("What is wanted, and what turns it"),
        (
            *fields_of(HeightSection, ("of_cut", "adjuster_pitch")),
            Field(
                "rear_pitch",
                phrase("Rear roller: travel for one turn"),
                a_length(0.05, 20, phrase("if it turns"), "1.5 mm"),
            ),
            Field("smallest_turn", phrase("Least part of a turn that can be set"), a_number(0.001, 10, "", "0.25")),
            Field(
                "wanted_behind",
                phrase("Edge behind centre wanted"),
                a_length(-200, 200, phrase("takes adjusters at both rollers"), "8 mm"),
            ),
        ),
    ),
    Group(
        phrase("Knife section and gap"),
        (
            Field("gap", phrase("Gap when set"), a_length(0, 2, "", "0.03 mm")),
            *fields_of(KnifeSection, ("seat_tilt", "top_angle", "front_angle")),
        ),
        folded=True,
    ),
    Group(
        phrase("Wear and work to come"),
        (
            Field("least_diameter", phrase("Reel diameter at its limit"), a_length(40, 600, "", "115 mm")),
            Field("radius_removed", phrase("Off the reel's radius"), a_length(0, 50, phrase("by a plan"), "0.2 mm")),
            Field("top_stock", phrase("Off the top face"), a_length(0, 20, phrase("square to it"), "0.1 mm")),
            Field("front_stock", phrase("Off the front face"), a_length(0, 20, phrase("square to it"), "0.05 mm")),
        ),
        folded=True,
    ),
    Group(
        phrase("Warm"),
        (
            Field("reel_rise", phrase("Reel warmer by"), _rise(phrase("than when set"))),
            Field("frame_rise", phrase("Frame warmer by"), _rise(phrase("than when set"))),
            Field("rise_uncertainty", phrase("Known to (standard uncertainty)"), _rise("")),
            Field("reel_metal", phrase("Reel's metal"), _METALS),
            Field("frame_metal", phrase("Frame's metal"), _METALS),
        ),
        folded=True,
    ),
    Group(
        phrase("How well it is known"),
        (
            Field("height_uncertainty", phrase("One reading of height"), _SMALL),
            Field("bar_uncertainty", phrase("The setting bar itself, alike at both ends"), _SMALL),
        ),
        folded=True,
    ),
)
_UNITS = {
    "seat_tilt": "angle/deg",
    "top_angle": "angle/deg",
    "front_angle": "angle/deg",
    "smallest_turn": "number/",
}
EXAMPLE = {
    "pattern": "knife up", "reel_diameter": "125 mm", "height_left": "4 mm", "height_right": "4.1 mm",
    "front_roller_diameter": "64 mm", "rear_roller_diameter": "50 mm", "front_roller_ahead": "88 mm",
    "rear_roller_behind": "82 mm", "behind_centre": "8 mm", "of_cut": "3.5 mm", "adjuster_pitch": "1.5 mm",
    "smallest_turn": "0.25", "top_angle": "12 deg", "front_angle": "5 deg", "gap": "0.03 mm",
    "least_diameter": "115 mm", "radius_removed": "0.3 mm", "reel_rise": "25 K", "frame_rise": "10 K",
    "rise_uncertainty": "3 K", "height_uncertainty": "0.01 mm", "bar_uncertainty": "0.02 mm",
}  # fmt: skip
"""Invented."""
_KEPT_HEIGHT = tuple(HeightSection.model_fields)


def _tell(values: dict[str, Any], showing: Showing) -> Told:
    given = BenchFigures(**values)
    if given.missing:
        return Told(given.missing)
    found = standing(given)
    return Told((), standing_sections(found, showing), (bench_stance(found, showing),))


PAGE = Live(
    "stance",
    phrase("How it stands"),
    phrase(
        "A unit on its rollers on a flat bench: type what was measured, see what to turn. On turf it sinks or rides by "
        "what no bench shows."
    ),
    _tell,
    {
        "height of cut": "height_left",
        "height": "of_cut",
        "front_ahead": "front_roller_ahead",
        "rear_behind": "rear_roller_behind",
        "pitch": "adjuster_pitch",
        "step": "smallest_turn",
        "limit_diameter": "least_diameter",
    },
)


@somebody
@require_safe
@kept_page
def stand(request: HttpRequest) -> HttpResponse:
    """The page; with what is on file of a unit or a visit where its address names one."""
    showing = reader_of(request).showing
    unit, visit, kept = subject(request)
    start = {} if unit is None else on_file(unit, visit, showing)
    made = asked(request, PAGE, GROUPS, start, kept, showing)
    return answer(
        request,
        PAGE,
        made,
        reverse("stance"),
        unit=unit,
        visit=visit,
        of=f"?{urlencode(kept)}" if kept else "",
        of_machine=machine_of(unit),
        example="" if unit else f"?{urlencode(EXAMPLE)}",
        keep=reverse("stance-keep"),
        done=request.GET.get("done", ""),
    )


@somebody
@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    """Keep the unit's own figures with it: pattern, pivot, rollers, height wanted, adjuster."""
    reader = reader_of(request)
    number = request.POST.get("unit", "")
    form = Form(GROUPS, reader.showing)
    form.take(request.POST)
    with one_transaction():
        unit = get_object_or_404(Unit.objects.select_for_update(), pk=int(number) if number.isdecimal() else 0)
        try:
            typed = {name: text for name, text in form.typed().items() if text is not None}
            keep_stance(
                actor=reader.actor,
                unit=unit,
                key=form.key,
                pattern=typed.get("pattern"),
                carrier={name: typed[name] for name in CARRIER_KEYS if name in typed},
                height={name: typed[name] for name in _KEPT_HEIGHT if name in typed},
            )
        except Refusal as refusal:
            return refused(request, reader.showing.say(refusal.words))
    typed_again = [(name, value) for name, value in form.values.items() if value]
    return redirect(f"{reverse('stance')}?{urlencode([('unit', unit.pk), ('done', 'kept'), *typed_again])}")


def subject(request: HttpRequest) -> tuple[Unit | None, Visit | None, dict[str, str]]:
    """Return the unit and the visit an address names, and how it names them."""
    units = Unit.objects.select_related("position__machine")
    for name in ("visit", "unit"):
        number = request.GET.get(name, "")
        if not number:
            continue
        pk = int(number) if number.isascii() and number.isdecimal() and len(number) < 10 else 0
        if name == "visit":
            visit = get_object_or_404(Visit.objects.select_related("unit__position__machine"), pk=pk)
            return visit.unit, visit, {"visit": number}
        return get_object_or_404(units, pk=pk), None, {"unit": number}
    return None, None, {}


def machine_of(unit: Unit | None) -> str:
    """Return the query that names a unit's machine."""
    return "" if unit is None or unit.position is None else f"?machine={unit.position.machine_id}"


def on_file(unit: Unit, visit: Visit | None, showing: Showing) -> dict[str, str]:
    """Return what the records know of how a unit stands, as it stands in the boxes."""
    if visit is None:
        visit = unit.visits.order_by("-pk").first()
        own = _of_unit(unit)
    else:
        own = {}
    if visit is None:
        return own
    try:
        answered = reckoned(visit, today())
        found = answered.answer
        figures = figures_of_visit(answered.file, None if isinstance(found, str) else found)
    except Refusal:  # its own page says why
        return own
    told = in_boxes(asdict(figures), _UNITS, showing)
    return {**told, **own, **{name: told[name] for name in NEW_ROLLERS if name in told}}


def _of_unit(unit: Unit) -> dict[str, str]:
    table = {"pattern": unit.pattern, **unit.carrier, **unit.height}
    sections: dict[str, type[BaseModel]] = {
        **dict.fromkeys(UnitSection.model_fields, UnitSection),
        **dict.fromkeys(CARRIER_KEYS, KnifeSection),
    }
    sections |= dict.fromkeys(_KEPT_HEIGHT, HeightSection)
    names = {entry.name for group in GROUPS for entry in group.fields}
    found = {
        name: as_shown(value, declared(sections[name], name))
        for name, value in table.items()
        if name in names and value is not None
    }
    fitted = Fitting.objects.filter(unit=unit, until=None, reel__isnull=False).select_related("reel__type").first()
    if fitted is not None and fitted.reel is not None and not unit.visits.exists():
        found["reel_diameter"] = as_shown(fitted.reel.type.spec.get("diameter"), a_length(40, 600, "", "125 mm"))
    return found
