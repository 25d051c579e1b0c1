"""The board: every unit, its state, what is next, hours since; search over everything."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass
from typing import TYPE_CHECKING, cast

from django.core.paginator import Paginator
from django.db.models import Exists, OuterRef, Q
from django.http import HttpResponse
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.views.decorators.http import require_safe

from sparkout.core.days import dated
from sparkout.core.phrase import phrase, starting_large
from sparkout.records.board import IN_ORDER, NEXT, open_visits_by_step, rows_of
from sparkout.records.models import Machine, Unit, Visit
from sparkout.records.models.visits import OPEN, SIGNED
from sparkout.records.operations.care import warned_of
from sparkout.records.operations.doing import today
from sparkout.records.stamp import stamp
from sparkout.web.shell.form import as_shown
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.hours import HOURS
from sparkout.web.workshop.telling import kept_query

if TYPE_CHECKING:
    from django.db.models import QuerySet
    from django.http import HttpRequest

    from sparkout.records.board import BoardRow
    from sparkout.showing import Showing

_A_PAGE, _MOST_KEPT = 30, 100
_MANY_MACHINES = 60
"""More than these are written, not chosen from a list."""
_MOST_WORDS = 8
_SEARCHED = ("name", "position__name", "position__machine__name", "position__machine__place__name")
STATES = (
    ("", phrase("all")),
    ("open", phrase("on the bench")),
    ("ready", phrase("signed")),
    ("never", phrase("never seen")),
)


@somebody
@require_safe
def board(request: HttpRequest) -> HttpResponse:
    """The board, or only its list when the page asks for that."""
    asked = {name: request.GET.get(name, "").strip() for name in ("q", "state", "next", "machine")}
    kept = _kept(request, asked)
    if request.headers.get("HX-Request") and request.headers.get("HX-Target") == "list":
        return HttpResponse(kept.units)
    context = {
        "list": kept.units,
        "warned": kept.warned,
        "machines": kept.machines,
        "asked": asked,
        "states": STATES,
        "steps": NEXT,
    }
    return page(request, "board/page.html", context)


@dataclass(frozen=True, slots=True)
class Kept:
    """What was made for one way of asking; it stands while nothing is written to the records."""

    units: SafeString
    warned: SafeString
    machines: tuple[str, ...]


_lock = threading.Lock()
_all_kept: OrderedDict[tuple[object, ...], Kept] = OrderedDict()


def _kept(request: HttpRequest, asked: dict[str, str]) -> Kept:
    """Return the list for this way of asking: the one kept, when nothing was written since."""
    which = request.GET.get("page", "")
    key = (stamp(), today(), reader_of(request).showing, *asked.values(), which)
    with _lock:
        if key in _all_kept:
            _all_kept.move_to_end(key)
            return _all_kept[key]
    made = _made(request, asked, which)
    with _lock:
        _all_kept[key] = made
        while len(_all_kept) > _MOST_KEPT:
            _all_kept.popitem(last=False)
    return made


def _made(request: HttpRequest, asked: dict[str, str], which: str) -> Kept:
    found = Paginator(_asked_for(asked), _A_PAGE)
    pages = found.get_page(which)
    rows = rows_of(cast("QuerySet[Unit]", pages.object_list))
    machines = Machine.objects.filter(ended_on=None).order_by("name").values_list("name", flat=True)
    names = tuple(machines[: _MANY_MACHINES + 1])
    context = {
        "shown": [_told(row, reader_of(request).showing) for row in rows],
        "pages": pages,
        "count": found.count,
        "asked": asked,
        "kept_query": kept_query(request),
    }
    told = text_of(request, "board/list.html", context)
    return Kept(mark_safe(told), _warned(request), names if len(names) <= _MANY_MACHINES else ())


def _warned(request: HttpRequest) -> SafeString:
    """Return what of people's care wants seeing to; empty when nothing does."""
    showing = reader_of(request).showing
    found = [
        (
            f"{reverse('care')}?person={one.person}&on={one.on.isoformat()}",
            showing.say(starting_large(one.words)),
            "bad" if one.already else "ask",
        )
        for one in warned_of(today())
    ]
    return mark_safe(text_of(request, "board/care.html", {"warned": found}) if found else "")


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
    return found.order_by(*IN_ORDER)


def _told(row: BoardRow, showing: Showing) -> dict[str, object]:
    """Return one unit as its card shows it; a table, which a template reads faster than an object."""
    if row.open_visit is not None:
        mark, words = "busy", phrase("on the bench, next: {step}", step=phrase(row.next_step))
    elif row.last_signed is not None:
        on = row.last_signed.signed_on
        mark, words = "good", phrase("signed {day}", day=dated(on)) if on else phrase("signed")
    else:
        mark, words = "plain", phrase("never seen here")
    since = row.hours_since
    return {
        "pk": row.unit.pk,
        "name": row.unit.name,
        "where": " · ".join(filter(None, (row.machine, row.position, row.place))),
        "mark": mark,
        "state": showing.say(words),
        "hours": None if row.hours is None else as_shown(row.hours, HOURS),
        "since": None if since is None else showing.quantity(since, "time"),
        "visit": row.open_visit and row.open_visit.pk,
        "complaint": row.open_visit and row.open_visit.complaint,
    }
