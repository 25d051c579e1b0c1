"""The plan to take along: for a calendar, as a workbook, as a print for the wall."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_safe

from sparkout.core.phrase import phrase
from sparkout.web.season.seen import seen_now
from sparkout.web.shell.pages import refused
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

FORMS = {
    "ics": ("text/calendar", phrase("calendar")),
    "xlsx": ("application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", phrase("workbook (XLSX)")),
    "pdf": ("application/pdf", phrase("print for the wall (PDF)")),
}


@somebody
@require_safe
def taken(request: HttpRequest, form: str) -> HttpResponse:
    """The plan that is kept, as a file."""
    if form not in FORMS:
        raise Http404
    seen, reader = seen_now(), reader_of(request)
    if seen.plan is None or seen.kept is None:
        return refused(request, reader.showing.say(phrase("There is no plan yet.")))
    made: bytes
    if form == "ics":
        from sparkout.papers.season_calendar import season_calendar

        made = season_calendar(seen.plan.placed, reader.showing, seen.kept.made_at)
    elif form == "xlsx":
        from sparkout.papers.season_tables import season_workbook

        made = season_workbook(seen.plan, reader.showing)
    else:
        from sparkout.papers.season_print import season_print

        invented = reader.workshop is not None and reader.workshop.demonstration
        made = season_print(seen.plan, reader.showing, demonstration=invented)
    answer = HttpResponse(made, content_type=FORMS[form][0])
    answer["Content-Disposition"] = f'attachment; filename="season.{form}"'
    return answer
