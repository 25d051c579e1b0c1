"""The plain forms of the visit page: taking in, looking over, what if, the plan, signing, correcting."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.records.models import Unit
from sparkout.records.operations.job import keep_plan, record_work
from sparkout.records.operations.readings import record_reading
from sparkout.records.operations.visits import correct_signed_visit, open_visit, set_aside_visit, sign_visit
from sparkout.web.shell.form import typed_quantity
from sparkout.web.shell.pages import refused, text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.visit.entries import short
from sparkout.web.visit.page import bench_of
from sparkout.web.visit.typed import PLACES, understood
from sparkout.web.visit.what_if import choices_from, compared, sliders
from sparkout.web.workshop.hours import HOURS

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest

    from sparkout.records.models import Person
    from sparkout.web.visit.bench import Bench


@somebody
@require_POST
def look(request: HttpRequest, number: int) -> HttpResponse:
    """What was found on looking the unit over, or done on its bearings."""
    found = request.POST.get("what", "")
    step = "bearings" if request.POST.get("step") == "bearings" else "look over"

    def enter(bench: Bench, actor: Person) -> None:
        record_work(actor=actor, visit=bench.visit, key=uuid.uuid4(), step=step, what=found, by=actor.name)

    return _form(request, number, step.replace(" ", "-"), enter)


@somebody
@require_POST
def another(request: HttpRequest, number: int) -> HttpResponse:
    """A reading at a place that has no box."""
    sent: dict[str, Any] = {
        name: request.POST.get(name, "").strip() or None for name in ("of", "gauge", "at", "blade", "when")
    }
    sent["at"] = sent["at"] and PLACES.get(sent["at"].lower(), sent["at"])

    def enter(bench: Bench, actor: Person) -> None:
        typed = understood(request.POST.get("line", ""), leaves=True)
        record_reading(actor=actor, visit=bench.visit, key=uuid.uuid4(), by=actor.name, **{**sent, **typed.fields})

    return _form(request, number, "another", enter)


@somebody
@require_POST
def keep(request: HttpRequest, number: int) -> HttpResponse:
    """Keep the choices as the plan."""

    def enter(bench: Bench, actor: Person) -> None:
        keep_plan(actor=actor, visit=bench.visit, choices=choices_from(request.POST).tables)

    return _form(request, number, "what-if", enter)


@somebody
@require_POST
def sign(request: HttpRequest, number: int) -> HttpResponse:
    """Sign and close."""
    name, statement = request.POST.get("name", ""), request.POST.get("statement", "")

    def enter(bench: Bench, actor: Person) -> None:
        sign_visit(actor=actor, visit=bench.visit, name=name, statement=statement)

    return _form(request, number, "sign", enter)


@somebody
@require_POST
def set_aside(request: HttpRequest, number: int) -> HttpResponse:
    """Set a visit aside that was opened by mistake."""
    reason = request.POST.get("reason", "")

    def enter(bench: Bench, actor: Person) -> None:
        set_aside_visit(actor=actor, visit=bench.visit, reason=reason)

    return _form(request, number, "sign", enter)


@somebody
@require_POST
def correct(request: HttpRequest, number: int) -> HttpResponse:
    """Open a visit that corrects a signed one."""
    bench = bench_of(request, number)
    try:
        made = correct_signed_visit(
            actor=reader_of(request).actor, visit=bench.visit, reason=request.POST.get("reason", "")
        )
    except Refusal as refusal:
        return refused(request, bench.showing.say(refusal.words))
    return redirect("visit", made.pk)


def _form(request: HttpRequest, number: int, anchor: str, act: Callable[[Bench, Person], None]) -> HttpResponse:
    """Do what a plain form asks and go back to its place on the page; a refusal is told on a page of its own."""
    try:
        act(bench_of(request, number), reader_of(request).actor)
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(refusal.words))
    return HttpResponseRedirect(f"{reverse('visit', args=[number])}#{anchor}")


@somebody
@require_safe
def what_if(request: HttpRequest, number: int) -> HttpResponse:
    """The figures that other choices would bring."""
    bench = bench_of(request, number)
    context: dict[str, Any] = {}
    try:
        choices = choices_from(request.GET)
        found = compared(bench, choices)
        context = {"chosen": sliders(bench, choices)}
        context |= {"what_if_trouble": found} if isinstance(found, str) else {"lines": found}
    except Refusal as refusal:
        context["what_if_trouble"] = bench.showing.say(short(refusal))
    return HttpResponse(text_of(request, "visit/what_if_figures.html", context))


@somebody
@require_POST
def opened(request: HttpRequest, unit: int) -> HttpResponse:
    """Take a unit in."""
    taken = get_object_or_404(Unit, pk=unit)
    sent = {name: request.POST.get(name, "").strip() or None for name in ("complaint", "hours")}
    try:
        hours = sent["hours"] and typed_quantity("hours", HOURS, sent["hours"], reader_of(request).showing)
        made = open_visit(actor=reader_of(request).actor, unit=taken, complaint=sent["complaint"], hours=hours)
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(refusal.words))
    return redirect("visit", made.pk)
