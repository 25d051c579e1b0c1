"""The season's plan to take away: print, workbook, and the address a calendar program fetches.

Such a program can show no header, so the token stands in the address itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_safe

from sparkout.core.phrase import phrase
from sparkout.records.models.tokens import CALENDAR
from sparkout.records.operations.tokens import note_use, token_shown
from sparkout.records.season import kept_plan, placements, plan_shown, season_on_file
from sparkout.web.shell.pages import refused
from sparkout.web.shell.reader import reader_of, showing_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.season.now import SeasonPlanned

NONE_KEPT = phrase("no plan of the season is kept yet; make one and keep it")


@require_safe
def feed(request: HttpRequest, token: str) -> HttpResponse:  # noqa: ARG001 - as Django calls it
    """The kept plan as iCalendar, told as the token's person wants it; whoever has no such token finds nothing here."""
    from sparkout.papers.season_calendar import season_calendar

    found = token_shown(token)
    if found is None or found.scope != CALENDAR:
        raise Http404
    note_use(found)
    plan = kept_plan()
    content = season_calendar(placements(plan), showing_of(found.person), None if plan is None else plan.made_at)
    return _file(content, "text/calendar; charset=utf-8", "")


@somebody
@require_safe
def printed(request: HttpRequest, paper: str) -> HttpResponse:
    """The kept plan for the wall, as PDF."""
    from sparkout.papers.season_print import PAPERS, season_print

    if paper not in PAPERS:
        raise Http404
    reader = reader_of(request)
    invented = reader.workshop is not None and reader.workshop.demonstration
    shown = _kept()
    if shown is None:
        return refused(request, reader.showing.say(NONE_KEPT))
    made = season_print(shown, reader.showing, paper, demonstration=invented)
    return _file(made, "application/pdf", f"season {paper}.pdf")


@somebody
@require_safe
def workbook(request: HttpRequest) -> HttpResponse:
    """The season as a workbook."""
    from sparkout.papers.season_tables import season_workbook

    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    showing, shown = reader_of(request).showing, _kept()
    if shown is None:
        return refused(request, showing.say(NONE_KEPT))
    return _file(season_workbook(shown, showing), kind, "season.xlsx")


def _kept() -> SeasonPlanned | None:
    units, now = season_on_file()
    return plan_shown(now, units, kept_plan())


def _file(content: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(content, kind)
    response["Cache-Control"] = "private, no-cache"
    if name:
        response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
