"""One unit's life, and the label that leads here."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import segno
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.views.decorators.http import require_safe

from sparkout.core.errors import Refusal
from sparkout.reckoning.answer import Untold
from sparkout.records.life import unit_life
from sparkout.records.models import Unit, Visit
from sparkout.records.queries import visit_file
from sparkout.web.shell.pages import page
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.visit.bench import answered

if TYPE_CHECKING:
    import datetime

    from django.http import HttpRequest, HttpResponse

    from sparkout.records.life import UnitLife
    from sparkout.showing import Showing

_TOLD = 12
"""The newest visits are told in figures; older ones are listed."""


@dataclass(frozen=True, slots=True)
class Line:
    """One happening in a unit's life."""

    on: datetime.date | None
    hours: str
    what: str
    told: str
    visit: Visit | None = None
    figures: tuple[str, str, str, str] = ("", "", "", "")
    """Mean diameter, land, height of cut, verdicts."""


@somebody
@require_safe
def life(request: HttpRequest, number: int) -> HttpResponse:
    """Visits, swaps, hours and events of one unit."""
    unit = get_object_or_404(Unit, pk=number)
    found, showing = unit_life(unit), reader_of(request).showing
    opened = next((visit for visit in found.visits if visit.is_open), None)
    return page(
        request, "unit/life.html", {"unit": found.unit, "lines": lines(found, showing), "opened": opened, "life": found}
    )


def lines(found: UnitLife, showing: Showing) -> list[Line]:
    """Return all that happened, newest first."""
    newest = {visit.pk for visit in found.visits[-_TOLD:]}
    made = [_visit(visit, showing, told=visit.pk in newest) for visit in found.visits]
    for fitting in found.fittings:
        kind = "reel" if fitting.reel_id else "knife"
        made.append(
            Line(fitting.since, str(fitting.since_hours or ""), showing.say(f"{kind} fitted"), fitting.part.label)
        )
        if fitting.until is not None:
            made.append(
                Line(
                    fitting.until, str(fitting.until_hours or ""), showing.say(f"{kind} taken out"), fitting.part.label
                )
            )
    made += [Line(event.on, "", showing.say(event.get_kind_display()), event.note) for event in found.events]
    made += [
        Line(entry.on, str(entry.hours), showing.say("hours read"), "")
        for entry in found.hours
        if entry.visit_id is None
    ]
    return sorted(made, key=lambda line: (line.on is not None, str(line.on)), reverse=True)


def _visit(visit: Visit, showing: Showing, *, told: bool) -> Line:
    entry = getattr(visit, "hours_entry", None)
    words = "visit" if visit.corrects_id is None else "visit that corrects another"
    hours = "" if entry is None else str(entry.hours)
    return Line(
        visit.date,
        hours,
        showing.say(words),
        visit.complaint or "",
        visit,
        _figures(visit, showing) if told else ("", "", "", ""),
    )


def _figures(visit: Visit, showing: Showing) -> tuple[str, str, str, str]:
    try:
        from django.utils import timezone

        answer = answered(visit_file(visit), timezone.localdate())
    except Refusal as refusal:
        return "", "", "", str(refusal)
    if isinstance(answer, str):
        return "", "", "", answer
    last = answer.diagnosis if answer.as_left is None else answer.as_left.diagnosis
    diameter = (
        showing.measured(last.state.mean_radius.scaled(2.0)) if "mean radius" in last.informed else "not measured"
    )
    land = "" if isinstance(answer.spin, Untold) else showing.measured(answer.spin.plan.land[1].before)
    heights = [float(r.value) for r in answer.visit.all_readings if r.of == "height of cut" and r.value is not None]
    judged = answer.judged if answer.as_left is None else answer.as_left.judged
    failing = [j.quantity for j in judged if j.verdict is not None and j.verdict.outcome == "does not conform"]
    passing = sum(j.verdict is not None and j.verdict.outcome == "conforms" for j in judged)
    verdicts = f"does not conform: {', '.join(failing)}" if failing else f"{passing} conform" if passing else ""
    return diameter, land, showing.length(sum(heights) / len(heights)) if heights else "", showing.say(verdicts)


@somebody
@require_safe
def label(request: HttpRequest, number: int) -> HttpResponse:
    """A label to print: name and QR code that opens the unit's page."""
    unit = get_object_or_404(Unit.objects.select_related("position__machine"), pk=number)
    address = request.build_absolute_uri(reverse("unit", args=[number]))
    code = segno.make(address, error="m").svg_inline(border=2, dark="#000", light="#fff", omitsize=True)
    return page(request, "unit/label.html", {"unit": unit, "address": address, "code": mark_safe(code)})
