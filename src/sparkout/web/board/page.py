"""The board: every unit, its state, what is next, hours since; search over everything."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef, Q
from django.http import HttpResponse
from django.utils.dateformat import format as dated
from django.views.decorators.http import require_safe

from sparkout.records.board import NEXT
from sparkout.records.board import board as board_rows
from sparkout.records.models import Machine, Unit, Visit
from sparkout.records.models.visits import OPEN, SIGNED
from sparkout.records.queries import search
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.db.models import QuerySet
    from django.http import HttpRequest

    from sparkout.records.board import BoardRow
    from sparkout.showing import Showing

_A_PAGE = 60
_MOST_WORDS = 8
_SEARCHED = ("name", "position__name", "position__machine__name", "position__machine__place__name")
STATES = (("", "all"), ("open", "on the bench"), ("ready", "signed"), ("never", "never seen"))


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
    listed = {shown.row.unit.pk for shown in rows}
    found = [f for f in search(asked["q"]) if not (f.kind == "unit" and f.pk in listed)] if len(asked["q"]) > 1 else []
    return {
        "shown": rows,
        "pages": pages,
        "count": pages.paginator.count,
        "asked": asked,
        "found": found,
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
    if asked["state"] == "open" or asked["next"]:
        found = found.filter(Exists(opened))
    if asked["machine"]:
        found = found.filter(position__machine__name=asked["machine"])
    if asked["next"]:
        fitting = [
            row.unit.pk for row in board_rows(found.values_list("pk", flat=True)) if row.next_step == asked["next"]
        ]
        found = found.filter(pk__in=fitting)
    return found.order_by("position__machine__place__name", "position__machine__name", "position__pk", "name")


def _shown(row: BoardRow, showing: Showing) -> Shown:
    if row.open_visit is not None:
        state, words = "open", f"on the bench, next: {row.next_step}"
    elif row.last_signed is not None:
        on = row.last_signed.signed_on
        state, words = "ready", f"signed {dated(on, 'j M Y') if on else ''}".strip()
    else:
        state, words = "never", "never seen here"
    since = "not known" if row.hours_since is None else showing.quantity(row.hours_since, "time")
    return Shown(row, state, showing.say(words), since, "not said" if row.hours is None else str(row.hours))
