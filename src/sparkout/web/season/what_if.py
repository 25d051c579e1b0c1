"""What-ifs beside the season: each a copy of its sheet, changed and planned on its own."""

from __future__ import annotations

import uuid
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.operations.season import begin_what_if, forget_what_if
from sparkout.records.season import last_plan, placements, what_ifs
from sparkout.season.placing import tally
from sparkout.web.season.state import SECONDS, job_of, progress
from sparkout.web.shell.pages import page, refused
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest, HttpResponse

    from sparkout.showing import Showing


@somebody
@require_safe
def what_if(request: HttpRequest) -> HttpResponse:
    """The season and every what-if of it, side by side."""
    showing = reader_of(request).showing
    names = ["", *(one.what_if for one in what_ifs())]
    columns = [_column(name, showing) for name in names]
    heads = [
        (showing.say(words), [(column["title"], column[key]) for column in columns])
        for key, words in (
            ("late", phrase("Late")),
            ("days_late", phrase("Days late, together")),
            ("undone", phrase("Left undone")),
            ("overtime", phrase("Hours past those there are")),
            ("cost", phrase("Costs in lateness, overtime, life wasted")),
            ("bound", phrase("Cannot cost less than")),
        )
    ]
    context = {
        "columns": columns,
        "rows": heads,
        "going": next((column for column in columns if column["going"]), None),
        "seconds": SECONDS,
        "done": request.GET.get("done", ""),
        "key": uuid.uuid4(),
    }
    return page(request, "season/what_if.html", context)


def _column(name: str, showing: Showing) -> dict[str, Any]:
    """Return what the plan of a sheet made last comes to."""
    made, job = last_plan(name), job_of(name)
    column: dict[str, Any] = {
        "of": name,
        "title": name or showing.say(phrase("The season as it is")),
        "query": urlencode({"of": name}),
        "going": job is not None and job.is_going_on,
        "progress": None if job is None or not job.is_going_on else progress(job, showing),
        "trouble": showing.say(job.message) if job is not None and job.state == "failed" else "",
        "key": uuid.uuid4(),
        **dict.fromkeys(("late", "days_late", "undone", "overtime", "cost", "bound"), "–"),
    }
    if made is not None:
        told = tally(placements(made))
        column |= {
            "late": str(told.late),
            "days_late": str(told.days_late),
            "undone": str(told.undone),
            "overtime": showing.figure(told.over, 1),
            "cost": showing.figure(made.cost, 0),
            "bound": showing.figure(made.bound, 0) if made.bound > 0.0 else "–",
        }
    return column


@somebody
@require_POST
def begin(request: HttpRequest) -> HttpResponse:
    """Begin a what-if of a name."""
    reader, name = reader_of(request), request.POST.get("name", "")
    try:
        begin_what_if(actor=reader.actor, name=name, key=request.POST.get("key") or None)
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(f"{reverse('season-sheet')}?{urlencode({'of': name.strip()})}")


@somebody
@require_POST
def forget(request: HttpRequest) -> HttpResponse:
    """Put a what-if away."""
    reader = reader_of(request)
    try:
        forget_what_if(actor=reader.actor, name=request.POST.get("of", ""), key=request.POST.get("key") or None)
    except Refusal as refusal:
        return refused(request, reader.showing.say(refusal.words))
    return redirect(reverse("season-what-if"))
