"""Planning in the background: begin, progress, stop; what came of it is looked at, then kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.jobs import ask_to_stop, begin
from sparkout.records.models import SeasonPlan
from sparkout.records.operations.season import keep_plan, make_plan, replan
from sparkout.web.season.sheet import what_if_of
from sparkout.web.season.state import job_of, progress
from sparkout.web.shell.pages import refused, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest


def _back(what_if: str) -> str:
    return reverse("season-what-if") if what_if else f"{reverse('season-wall')}#plan"


@somebody
@require_POST
def plan(request: HttpRequest) -> HttpResponse:
    """Ask for a plan; after a bad day, for one that changes as little of the kept one as can be."""
    reader, what_if, sent = reader_of(request), what_if_of(request), request.POST
    key = sent.get("key") or None
    try:
        seconds = _seconds(sent.get("seconds", "20"))
        if sent.get("how") == "bad-day":
            away = {name: sent.get(name, "").strip() for name in ("who", "first", "last", "note") if sent.get(name)}
            begin(replan(actor=reader.actor, away=away, seconds=seconds, what_if=what_if, key=key))
        else:
            near = sent.get("how") == "near"
            begin(make_plan(actor=reader.actor, seconds=seconds, what_if=what_if, hold_on=near, key=key))
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(_back(what_if))


def _seconds(text: str) -> float:
    try:
        return float(text.strip().removesuffix("s").replace(",", "."))
    except ValueError:
        raise Refusal(phrase("{given} is no time in seconds", given=AsTyped(text[:40]))) from None


@somebody
@require_safe
def how_far(request: HttpRequest) -> HttpResponse:
    """How far the plan is; when it has ended the page is asked for again."""
    what_if = what_if_of(request)
    job = job_of(what_if)
    if job is None or not job.is_going_on:
        ended = HttpResponse(status=200)
        ended["HX-Refresh"] = "true"
        return ended
    context = {"progress": progress(job, reader_of(request).showing), "of": what_if}
    return HttpResponse(text_of(request, "season/progress.html", context))


@somebody
@require_POST
def stop(request: HttpRequest) -> HttpResponse:
    """Ask the planning to stop; the best plan so far is put on file."""
    what_if = what_if_of(request)
    job = job_of(what_if)
    if job is not None:
        ask_to_stop(job)
    return redirect(_back(what_if))


@somebody
@require_POST
def keep(request: HttpRequest, number: int) -> HttpResponse:
    """Keep a plan that was looked at."""
    made = get_object_or_404(SeasonPlan.objects.select_related("sheet"), pk=number)
    try:
        keep_plan(actor=reader_of(request).actor, plan=made, key=request.POST.get("key") or None)
    except Refusal as refusal:
        return refused(request, reader_of(request).showing.say(refusal.words))
    return redirect(reverse("season-what-if") if made.sheet.what_if else f"{reverse('season-wall')}?done=kept")
