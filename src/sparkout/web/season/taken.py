"""The plan to take along: as a file for a calendar, as a workbook, as prints for the wall; where each is fetched."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from sparkout.core.phrase import AsTyped, phrase
from sparkout.web.calendar.feed import NONE_KEPT
from sparkout.web.season.seen import seen_now
from sparkout.web.shell.pages import refused
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.showing import Showing

PAPERS = ("A3", "A4", "Letter")


def files(showing: Showing) -> list[tuple[str, str]]:
    """Return the address and the words of each file."""
    prints = [
        (
            reverse("season-print", args=[paper]),
            showing.say(phrase("print for the wall, {paper}", paper=AsTyped(paper))),
        )
        for paper in PAPERS
    ]
    return [
        (reverse("season-calendar"), showing.say(phrase("calendar"))),
        (reverse("season-workbook"), showing.say(phrase("workbook (XLSX)"))),
        *prints,
    ]


@somebody
@require_safe
def calendar(request: HttpRequest) -> HttpResponse:
    """The plan that is kept, as it stands today, for a calendar."""
    from sparkout.papers.season_calendar import season_calendar

    seen, reader = seen_now(), reader_of(request)
    if seen.plan is None or seen.kept is None:
        return refused(request, reader.showing.say(NONE_KEPT))
    answer = HttpResponse(season_calendar(seen.plan.placed, reader.showing, seen.kept.made_at), "text/calendar")
    answer["Content-Disposition"] = 'attachment; filename="season.ics"'
    return answer
