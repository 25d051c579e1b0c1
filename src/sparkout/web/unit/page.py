"""One unit's life, and a reel's or knife's in whichever units it was; and the label that leads here."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import segno
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from sparkout.core.cautions import STEPS
from sparkout.reckoning.in_figures import calculations
from sparkout.records.life import attachments_of_unit, part_life, unit_life
from sparkout.records.models import Knife, Reel, Unit
from sparkout.units import from_core
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.unit.attached import form_context
from sparkout.web.unit.figures import worked_out
from sparkout.web.unit.lived import Lived
from sparkout.web.unit.rows import NEWEST, columns, rows
from sparkout.web.unit.shots import shots

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.records.life import PartLife, UnitLife
    from sparkout.records.models import Attachment
    from sparkout.showing import Showing


@somebody
@require_safe
def life(request: HttpRequest, number: int) -> HttpResponse:
    """Visits, swaps, hours, events and photographs of one unit."""
    found = unit_life(get_object_or_404(Unit, pk=number), calculations())
    context = _told(request, found)
    context |= {"unit": found.unit, "opened": found.opened, "parts": fitted(found)}
    context |= attached_to(found.unit, found.attachments, reader_of(request).showing)
    return page(request, "unit/life.html", context)


@somebody
@require_safe
def reel(request: HttpRequest, number: int) -> HttpResponse:
    """One reel's life."""
    return _part(request, get_object_or_404(Reel.objects.select_related("type"), pk=number))


@somebody
@require_safe
def knife(request: HttpRequest, number: int) -> HttpResponse:
    """One knife's life."""
    return _part(request, get_object_or_404(Knife.objects.select_related("type"), pk=number))


def _part(request: HttpRequest, part: Reel | Knife) -> HttpResponse:
    found = part_life(part, calculations())
    showing = reader_of(request).showing
    now = next((fitting.unit for fitting in found.fittings if fitting.until is None), None)
    context = _told(request, found)
    context |= {"part": part, "kind": "reel" if isinstance(part, Reel) else "knife", "unit_now": now}
    context |= {"shots": shots(found.attachments, showing), "attached_id": "attached", "with_form": False}
    return page(request, "unit/part.html", context)


def _told(request: HttpRequest, found: UnitLife | PartLife) -> dict[str, Any]:
    showing = reader_of(request).showing
    lived = Lived(found, worked_out(found), showing, request.GET.get("by", ""))
    told = rows(lived)
    whole = "all" in request.GET or len(told) <= NEWEST
    return {
        "lived": lived,
        "pictures": [(kind, mark_safe(svg)) for kind, svg in lived.pictures],
        "heads": [head for _, head in columns(lived)],
        "rows": told if whole else told[:NEWEST],
        "more": 0 if whole else len(told) - NEWEST,
        "fell": _fell(lived),
    }


def _fell(lived: Lived) -> dict[str, Any] | None:
    """Return what a clock showed before and after, when it once showed less than before."""
    if lived.fell is None:
        return None
    _, before, after = lived.fell

    def hours(seconds: float) -> str:
        return f"{from_core(seconds, 'time', 'h'):.0f} h"

    return {"before": hours(before), "after": hours(after)}


def fitted(found: UnitLife) -> list[tuple[str, Reel | Knife]]:
    """Return the parts that are in the unit now, each with the name of its page."""
    inside = [fitting for fitting in found.fittings if fitting.until is None]
    named = [("reel" if fitting.reel_id else "knife", fitting.part) for fitting in inside]
    return sorted(named, key=lambda entry: entry[0], reverse=True)


def attached_to(unit: Unit, found: list[Attachment], showing: Showing) -> dict[str, Any]:
    """Return what the unit's page shows of photographs and recordings; newest first."""
    return {
        "shots": shots(reversed(found), showing),
        "attached_id": "attached",
        "attached_fresh": reverse("attached-unit", args=[unit.pk]),
        "with_form": True,
        "step_now": "none",
        **form_context(reverse("attach-unit", args=[unit.pk]), STEPS),
    }


@somebody
@require_safe
def attached(request: HttpRequest, number: int) -> HttpResponse:
    """What is attached to a unit now."""
    unit = get_object_or_404(Unit, pk=number)
    context = attached_to(unit, attachments_of_unit(unit), reader_of(request).showing)
    return HttpResponse(text_of(request, "unit/attached.html", context))


@somebody
@require_safe
def label(request: HttpRequest, number: int) -> HttpResponse:
    """A label to print: name and QR code that opens the unit's page; or those of all units of its machine."""
    unit = get_object_or_404(Unit.objects.select_related("position__machine"), pk=number)
    machine = None if unit.position is None else unit.position.machine
    units = [unit]
    if machine is not None and "machine" in request.GET:
        mine = Unit.objects.filter(position__machine=machine, active=True).order_by("position__pk")
        units = list(mine.select_related("position__machine"))
    labels = [_label(request, each) for each in units]
    return page(request, "unit/label.html", {"unit": unit, "machine": machine, "labels": labels})


def _label(request: HttpRequest, unit: Unit) -> dict[str, Any]:
    address = request.build_absolute_uri(reverse("unit", args=[unit.pk]))
    code = segno.make(address, error="m").svg_inline(border=2, dark="#000", light="#fff", omitsize=True)
    return {"unit": unit, "address": address, "code": mark_safe(code)}
