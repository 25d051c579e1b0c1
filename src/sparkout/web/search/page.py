"""Search as you type, over everything on file; the address keeps what was asked."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from typing import TYPE_CHECKING

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from sparkout.core.days import dated
from sparkout.core.phrase import phrase
from sparkout.records.searching import KINDS, perhaps_meant, search
from sparkout.web.shell.pages import page, text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.workshop.history import action_words

if TYPE_CHECKING:
    from django.http import HttpRequest

    from sparkout.records.searching import Found
    from sparkout.showing import Showing

TITLES = {
    "unit": phrase("Cutting units"),
    "visit": phrase("Visits"),
    "machine": phrase("Machines"),
    "place": phrase("Places"),
    "reel": phrase("Reels"),
    "knife": phrase("Knives"),
    "reeltype": phrase("Reel types"),
    "knifetype": phrase("Knife types"),
    "gauge": phrase("Gauges"),
    "grinder": phrase("Grinders"),
    "person": phrase("People"),
    "limit": phrase("Limits"),
    "event": phrase("Sand and stones"),
    "note": phrase("Notes on readings"),
    "work": phrase("Work done"),
    "attachment": phrase("Photographs and recordings"),
    "history": phrase("What was done"),
}
_A_FEW, _MANY = 6, 100
_SLUGS = {
    "machine": "machines",
    "place": "places",
    "reel": "reels",
    "knife": "knives",
    "reeltype": "reel-types",
    "knifetype": "knife-types",
    "gauge": "gauges",
    "grinder": "grinders",
    "person": "people",
}
_PAGES = {"unit": "unit", "visit": "visit", "event": "event", "attachment": "attachment"}


@dataclass(frozen=True, slots=True)
class Line:
    """One thing found, told."""

    label: str
    detail: str
    address: str


@dataclass(frozen=True, slots=True)
class Group:
    """What was found of one kind."""

    kind: str
    title: str
    lines: tuple[Line, ...]
    more: bool


@somebody
@require_safe
def searched(request: HttpRequest) -> HttpResponse:
    """The page, or only what was found when the page asks for that."""
    context = _context(request)
    if request.headers.get("HX-Request") and request.headers.get("HX-Target") == "found":
        return HttpResponse(text_of(request, "search/found.html", context))
    return page(request, "search/page.html", context)


def _context(request: HttpRequest) -> dict[str, object]:
    asked, only = request.GET.get("q", "").strip()[:200], request.GET.get("kind", "")
    kinds = (only,) if only in TITLES else KINDS
    most = _MANY if only in TITLES else _A_FEW
    showing = reader_of(request).showing
    groups = _groups(search(asked, most + 1, kinds), most, showing)
    meant = "" if groups or not asked else perhaps_meant(asked)
    if meant:
        groups = _groups(search(meant, most + 1, kinds), most, showing)
    return {"q": asked, "kind": only if only in TITLES else "", "groups": groups, "meant": meant}


def _groups(found: list[Found], most: int, showing: Showing) -> list[Group]:
    made = []
    for kind in KINDS:
        mine = [one for one in found if one.kind == kind]
        if mine:
            lines = tuple(_line(one, showing) for one in mine[:most])
            made.append(Group(kind, showing.say(TITLES[kind]), lines, len(mine) > most))
    return made


def _line(one: Found, showing: Showing) -> Line:
    label, detail = one.label, one.detail
    if one.kind == "history":
        action, *who, day = detail.split(", ")
        detail = ", ".join((action_words(action.replace(" ", "_"), showing), *who, _day(day, showing)))
    elif one.kind in ("gauge", "limit"):
        detail = showing.say(phrase(detail))
    if one.kind == "limit":
        label = showing.say(phrase(label))
    elif one.kind == "event":
        what, _, day = label.rpartition(", ")
        label = f"{showing.say(phrase(what))}, {_day(day, showing)}"
    return Line(label, detail, _address(*one.leads_to))


def _day(iso: str, showing: Showing) -> str:
    return showing.say(dated(datetime.date.fromisoformat(iso)))


def _address(kind: str, number: int) -> str:
    if kind in _SLUGS:
        return reverse("thing", args=[_SLUGS[kind], number])
    if kind == "limit":
        return reverse("limits")
    return reverse(_PAGES[kind], args=[number]) if kind in _PAGES else ""
