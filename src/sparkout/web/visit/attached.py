"""Photographs and recordings of a visit, each at the step of the work it belongs to."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.cautions import STEPS
from sparkout.records.life import attachments_of
from sparkout.records.models import Visit
from sparkout.web.shell.pages import text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.unit.attached import form_context, sent
from sparkout.web.unit.shots import shots
from sparkout.web.visit.steps import TITLES

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.records.models import Attachment
    from sparkout.showing import Showing

FIRST = "look over"
"""Where photographs are shown that name no step."""
WITH_FORM = (FIRST, "bearings")
"""Steps of the page that have the form; from there one can be attached to any step."""


def shown_at(step: str | None) -> str:
    """Return the step of the page at which an attachment to a step of the work is shown.

    Examples
    --------
    >>> shown_at("bearings"), shown_at("relief grind"), shown_at(None)
    ('bearings', 'grind', 'look over')
    """
    return FIRST if step is None else step if step in TITLES else "grind"


def at_step(visit: Visit, step: str, found: list[Attachment], showing: Showing) -> dict[str, Any]:
    """Return what a step of the visit page shows; `found` are all of the visit's."""
    here = [attached for attached in found if shown_at(attached.step) == step]
    address = reverse("attached-visit", args=[visit.pk])
    return {
        "attached_id": f"attached-{step.replace(' ', '-')}",
        "attached_fresh": f"{address}?step={step.replace(' ', '+')}",
        "shots": shots(here, showing),
        "with_form": visit.is_open and step in WITH_FORM,
        "step_now": step,
        "records_sound": step == "bearings",
        **form_context(reverse("attach-visit", args=[visit.pk]), STEPS),
    }


@somebody
@require_POST
def attach(request: HttpRequest, number: int) -> HttpResponse:
    """Files for a visit."""
    visit = get_object_or_404(Visit.objects.select_related("unit"), pk=number)
    return sent(request, visit.unit, visit, reverse("visit", args=[number]))


@somebody
@require_safe
def attached(request: HttpRequest, number: int) -> HttpResponse:
    """What stands at one step now."""
    visit = get_object_or_404(Visit, pk=number)
    step = request.GET.get("step", FIRST)
    context = at_step(visit, step if step in TITLES else FIRST, attachments_of(visit), reader_of(request).showing)
    return HttpResponse(text_of(request, "unit/attached.html", context))
