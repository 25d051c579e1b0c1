"""The board: every unit, its state, what is next, hours since; search over everything."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.core.paginator import Paginator
from django.http import HttpResponse
from django.utils.dateformat import format as dated
from django.views.decorators.http import require_safe

from sparkout.records.board import NEXT
from sparkout.records.board import board as board_rows
from sparkout.records.queries import search
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.records.board import BoardRow
    from sparkout.showing import Showing

_A_PAGE = 60
STATES = (("", "all"), ("open", "on the bench"), ("ready", "signed"), ("never", "never seen"))


@dataclass(frozen=True, slots=True)
class Shown:
    """One unit on the board, told."""

    row: BoardRow
    state: str
    state_words: str
    since: str
    hours: str

    @property
    def search_text(self) -> str:
        """What typing on the board looks through."""
        row = self.row
        complaint = row.open_visit.complaint or "" if row.open_visit else ""
        return " ".join((row.unit.name, row.machine, row.position, row.place, self.state_words, complaint)).lower()


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
    rows = [_shown(row, reader.showing) for row in board_rows()]
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "state", "next", "machine")}
    kept = [shown for shown in rows if _fits(shown, asked)]
    pages = Paginator(kept, _A_PAGE).get_page(request.GET.get("page"))
    known = {shown.row.unit.pk for shown in kept}
    found = [f for f in search(asked["q"]) if not (f.kind == "unit" and f.pk in known)] if len(asked["q"]) > 1 else []
    return {
        "shown": pages,
        "count": len(kept),
        "asked": asked,
        "found": found,
        "states": STATES,
        "steps": NEXT,
        "machines": sorted({shown.row.machine for shown in rows if shown.row.machine}),
    }


def _fits(shown: Shown, asked: dict[str, str]) -> bool:
    row = shown.row
    return (
        all(word in shown.search_text for word in asked["q"].lower().split())
        and asked["state"] in ("", shown.state)
        and asked["next"] in ("", row.next_step)
        and asked["machine"] in ("", row.machine)
    )


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
