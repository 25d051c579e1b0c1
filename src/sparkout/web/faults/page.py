"""Why does it look like that: usable standing on the green, with a phone, on a poor wireless.

Everything answered stands in the address, so going back undoes and a link can be sent. A page carries what every answer
to its next question, and to the one after, would show: reckoned here, so that the page needs no sums of its own and
goes on for two answers without the server.
"""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.faults.diagnosis import diagnose
from sparkout.reckoning.known_faults import with_known
from sparkout.records.models import Unit
from sparkout.records.operations.faults import keep_ranking, workshop_tables
from sparkout.web.faults.answers import Asked, asked_in
from sparkout.web.faults.known import OnFile, on_file
from sparkout.web.faults.shown import shown
from sparkout.web.shell.kept import kept_page
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.core.faults.diagnosis import FaultDiagnosis

AHEAD = 2
"""Answers a page can go on for without the server: 3 + 9 pages more."""


@somebody
@require_safe
@kept_page
def faults(request: HttpRequest) -> HttpResponse:
    """The page: what is seen, the next question, the causes."""
    asked = asked_in(request.GET, workshop_tables())
    unit = None if asked.unit is None else get_object_or_404(Unit, pk=asked.unit)
    known = () if unit is None else on_file(unit, workshop_tables())
    made = _pages(request, asked, unit, known)
    tables, chosen = workshop_tables(), {name for name, mark in asked.given if mark == "y"}
    context = {
        "unit": unit,
        "units": Unit.objects.order_by("name") if unit is None else (),
        "asked": asked,
        "found": made.pop(asked.address),
        "ahead": json.dumps(made).replace("<", "\\u003c"),
        "seen": [(finding, finding.id in chosen) for finding in tables.seen],
        "rest": [pair for pair in asked.given if pair[0] not in chosen or not tables.finding(pair[0]).seen],
    }
    return page(request, "faults/page.html", context)


@somebody
@require_safe
def ahead(request: HttpRequest) -> HttpResponse:
    """What these answers show and what the next ones would, for a page that is open."""
    asked = asked_in(request.GET, workshop_tables())
    unit = None if asked.unit is None else get_object_or_404(Unit, pk=asked.unit)
    known = () if unit is None else on_file(unit, workshop_tables())
    answer = JsonResponse(_pages(request, asked, unit, known))
    answer["Cache-Control"] = "no-store"
    return answer


@somebody
@require_POST
def keep(request: HttpRequest) -> HttpResponse:
    """Keep the ranking with the unit, in its history."""
    tables = workshop_tables()
    asked = asked_in(request.POST, tables)
    unit = get_object_or_404(Unit, pk=asked.unit or 0)
    found = _ranked(asked, on_file(unit, tables))
    keep_ranking(
        actor=reader_of(request).actor,
        unit=unit,
        answers=dict(asked.given),
        causes={ranked.cause.id: ranked.chance for ranked in found.ranked[:3]},
        key=request.POST.get("key") or None,
    )
    return redirect(reverse("thing", args=["units", unit.pk]))


def _ranked(asked: Asked, known: tuple[OnFile, ...]) -> FaultDiagnosis:
    return diagnose(workshop_tables(), with_known(asked.answers, [each.answer for each in known]))


def _pages(request: HttpRequest, asked: Asked, unit: Unit | None, known: tuple[OnFile, ...]) -> dict[str, str]:
    """Return what is shown for these answers and for every one of the next few, by address."""
    made: dict[str, str] = {}
    waiting = [(asked, 0)]
    while waiting:
        now, depth = waiting.pop()
        context: dict[str, Any] = shown(now, _ranked(now, known), unit, known, reader_of(request).showing)
        made[now.address] = text_of(request, "faults/found.html", context)
        question = context["question"]
        if question is not None and depth < AHEAD:
            waiting += [(now.then(question.name, mark), depth + 1) for mark in "ynu"]
    return made
