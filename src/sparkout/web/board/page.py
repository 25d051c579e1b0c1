"""The board: every unit, its state, what is next, hours since; search over everything."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef, Q
from django.http import HttpResponse
from django.views.decorators.http import require_safe

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.board import NEXT, open_visits_by_step
from sparkout.records.board import board as board_rows
from sparkout.records.models import Machine, Unit, Visit
from sparkout.records.models.visits import OPEN, SIGNED
from sparkout.web.shell.form import as_shown
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.hours import HOURS
from sparkout.web.workshop.telling import day, kept_query

if TYPE_CHECKING:
    from django.db.models import QuerySet
    from django.http import HttpRequest

    from sparkout.records.board import BoardRow
    from sparkout.showing import Showing

_A_PAGE = 60
_MOST_WORDS = 8
_SEARCHED = ("name", "position__name", "position__machine__name", "position__machine__place__name")
STATES = (
    ("", phrase("all")),
    ("open", phrase("on the bench")),
    ("ready", phrase("signed")),
    ("never", phrase("never seen")),
)


@dataclass(frozen=True, slots=True)
class Shown:
    """One unit on the board, told."""

    row: BoardRow
    state: str
    state_words: str
    since: str
    hours: str


@somebody
@require_safe
def board(request: HttpRequest) -> HttpResponse:
    """The board, or only its list when the page asks for that."""
    context = _context(request)
    if request.headers.get("HX-Request") and request.headers.get("HX-Target") == "list":
        return HttpResponse(text_of(request, "board/list.html", context))
    return page(request, "board/page.html", context)


def _context(request: HttpRequest) -> dict[str, object]:
    reader = reader_of(request)
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "state", "next", "machine")}
    kept = _asked_for(asked)
    pages = Paginator(kept.values_list("pk", flat=True), _A_PAGE).get_page(request.GET.get("page"))
    rows = [_shown(row, reader.showing) for row in board_rows(pages.object_list)]
    return {
        "shown": rows,
        "pages": pages,
        "count": pages.paginator.count,
        "asked": asked,
        "kept_query": kept_query(request),
        "states": STATES,
        "steps": NEXT,
        "machines": Machine.objects.filter(positions__unit__active=True).order_by("name").distinct(),
    }


def _asked_for(asked: dict[str, str]) -> QuerySet[Unit]:
    """Return the units that fit the filters, in the board's order; the database sorts them out, however many."""
    opened = Visit.objects.filter(unit=OuterRef("pk"), state=OPEN)
    signed = Visit.objects.filter(unit=OuterRef("pk"), state=SIGNED)
    found = Unit.objects.filter(active=True)
    for word in asked["q"].split()[:_MOST_WORDS]:
        either = Q(Exists(opened.filter(complaint__icontains=word)))
        for column in _SEARCHED:
            either |= Q(**{f"{column}__icontains": word})
        found = found.filter(either)
    if asked["state"] in ("ready", "never"):
        found = found.filter(~Exists(opened), Exists(signed) if asked["state"] == "ready" else ~Exists(signed))
    if asked["state"] == "open":
        found = found.filter(Exists(opened))
    if asked["machine"]:
        found = found.filter(position__machine__name=asked["machine"])
    if asked["next"]:
        found = found.filter(visits__in=open_visits_by_step(asked["next"]))
    return found.order_by("position__machine__place__name", "position__machine__name", "position__pk", "name")


def _shown(row: BoardRow, showing: Showing) -> Shown:
    if row.open_visit is not None:
        state, words = "open", phrase("on the bench, next: {step}", step=phrase(row.next_step))
    elif row.last_signed is not None:
        on = row.last_signed.signed_on
        state, words = "ready", phrase("signed {day}", day=AsTyped(day(on))) if on else phrase("signed")
    else:
        state, words = "never", phrase("never seen here")
    since = row.hours_since
    told = showing.say(phrase("not known")) if since is None else showing.quantity(since, "time")
    hours = showing.say(phrase("not said")) if row.hours is None else as_shown(row.hours, HOURS)
    return Shown(row, state, showing.say(words), told, hours)
