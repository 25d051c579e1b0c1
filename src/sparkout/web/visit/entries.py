"""What is entered on the visit page: each sent with a key of its own, so that sending twice enters once.

The answer comes in parts as they are ready: that it is kept, then what is known now, then the rest of the page.
"""

from __future__ import annotations

import re
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from django.http import HttpResponse, StreamingHttpResponse
from django.utils.html import format_html
from django.views.decorators.http import require_POST

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.records.operations.doing import Conflict
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.visit.bench import bench_as_if, entered, places_of
from sparkout.web.visit.entering import enter, key_of
from sparkout.web.visit.grinding import tick
from sparkout.web.visit.page import bench_of
from sparkout.web.visit.papers import paper_id, tapped
from sparkout.web.visit.part import Part
from sparkout.web.visit.parts import FIRST, MORE, changed, made_ahead
from sparkout.web.visit.told import Said, said_part

if TYPE_CHECKING:
    from collections.abc import Iterator

    from django.http import HttpRequest
    from django.http.response import HttpResponseBase

DONE, REFUSED, CONFLICT = "done", "refused", "conflict"
_MOST = 64
_newest_of: dict[int, object] = {}
"""Something of its own for the newest line of each visit."""


@somebody
@require_POST
def reading(request: HttpRequest, number: int) -> HttpResponseBase:
    """One box of the page."""
    reader, sent = reader_of(request), _sent(request)
    _newest(number)
    places, name = places_of(number, reader.showing), sent.get("box", "")
    if name not in places.every_box:
        return _plainly(request, phrase("there is no place '{place}' on this page", place=name[:60]))
    try:
        version = entered(places, partial(enter, reader.actor, places, sent)).version
    except Conflict as conflict:
        told = phrase("changed meanwhile: it now reads {value}", value=AsTyped(conflict.theirs))
        said = Said(name, reader.showing.say(told), sent.get("line", ""), conflict.theirs)
        return _fresh(request, number, CONFLICT, said=said)
    except Refusal as refusal:
        return _fresh(
            request, number, REFUSED, said=Said(name, reader.showing.say(short(refusal)), meant=meant(refusal))
        )
    return _kept(version) if sent.get("more") else _fresh(request, number, DONE, version)


@somebody
@require_POST
def ahead(request: HttpRequest, number: int) -> HttpResponse:
    """A line still being typed: what it would mean is worked out as if it were entered, so that Enter finds it ready.

    Nothing is kept of it, and nothing told: what stands against it is told when it is entered. A later line of the
    same visit ends it.
    """
    reader, sent, own = reader_of(request), _sent(request), _newest(number)
    places = places_of(number, reader.showing)
    if sent.get("box") in places.every_box:
        would = bench_as_if(places, partial(enter, reader.actor, places, sent), five="five" in request.GET)
        for _ in () if would is None else made_ahead(request, would):
            if _newest_of.get(number) is not own:
                break
    return HttpResponse(status=204)


def _newest(number: int) -> object:
    """Take note that a line of this visit has come; whatever was being worked out for one before it may end."""
    own = _newest_of[number] = object()
    while len(_newest_of) > _MOST:
        _newest_of.pop(next(iter(_newest_of)), None)
    return own


def _sent(request: HttpRequest) -> dict[str, str]:
    """Return what was sent of one box."""
    return {**request.POST.dict(), **({"five": "1"} if "five" in request.GET else {})}


def _kept(version: int | None = None) -> HttpResponse:
    """Say only that it is kept: more is on its way, and what changes on the page is told once, with the last."""
    return HttpResponse(headers={"Outcome": DONE, **({} if version is None else {"Version": str(version)})})


def _fresh(
    request: HttpRequest, number: int, outcome: str, version: int | None = None, said: Said | None = None
) -> StreamingHttpResponse:
    """Return what is new to the page. A refusal is an answer like any other: it is told in the header `Outcome`.

    What it says comes first: nothing of it is reckoned, and nobody who types on must miss it.
    """
    headers = {"Outcome": outcome, "Cache-Control": "no-store"}
    if version is not None:
        headers["Version"] = str(version)
    first = "" if said is None else said_part(request, bench_of(request, number), said).html()
    return StreamingHttpResponse(chain([FIRST + first + MORE], _parts(request, number)), headers=headers)


def _parts(request: HttpRequest, number: int) -> Iterator[str]:
    """Reckon only when the first part, which says that the entry is kept, is on its way."""
    yield from changed(request, bench_of(request, number), request.POST.get("have", ""))


def _plainly(request: HttpRequest, why: str) -> HttpResponse:
    told = format_html("{}", reader_of(request).showing.say(why))
    return HttpResponse(Part("refused", told, "div", ' role="alert"').html(), headers={"Outcome": REFUSED})


def short(refusal: Refusal) -> str:
    """Return a refusal for beside its box: without the path that the box itself shows."""
    problems = getattr(refusal, "problems", None)
    if not problems:
        return refusal.words
    told: list[str] = []
    for problem in problems:
        text = problem.text
        if problem.allowed:
            allowed = f"{problem.allowed} {problem.unit}".rstrip() if problem.unit else problem.allowed
            text = phrase("{text}; allowed: {allowed}", text=text, allowed=allowed)
        told.append(phrase("{text}.", text=text))
        if problem.suggestion:
            told.append(problem.suggestion)
    return joined(" ", told)


def meant(refusal: Refusal) -> tuple[str, ...]:
    """Return what a refusal thinks was perhaps meant, ready to be entered instead.

    Examples
    --------
    >>> from sparkout.visit.problems import Problem, VisitProblems
    >>> text = "Did you mean 127 thou (3.2258 mm) or 127 µm (0.127 mm)?"
    >>> meant(VisitProblems([Problem("value", None, "too large", suggestion=text)]))
    ('127 thou', '127 µm')
    """
    texts = [problem.suggestion for problem in getattr(refusal, "problems", ())]
    return tuple(found for text in texts for found in re.findall(r"(?:mean | or )([-\d.]+ [^\s(?]+)", text))


@somebody
@require_POST
def passed(request: HttpRequest, number: int) -> HttpResponseBase:
    """One pass of the spin grind ticked, or the last one taken back."""
    bench = bench_of(request, number)
    outcome = DONE
    try:
        tick(reader_of(request).actor, bench, request.POST, key_of(request.POST))
    except Conflict:
        outcome = CONFLICT
    except Refusal as refusal:
        return _plainly(request, short(refusal))
    if outcome == DONE and request.POST.get("more"):
        return _kept()
    return _fresh(request, number, outcome)


@somebody
@require_POST
def paper(request: HttpRequest, number: int) -> HttpResponseBase:
    """A paper proof as it stands after a tap."""
    bench = bench_of(request, number)
    try:
        made, apart = tapped(reader_of(request).actor, bench, request.POST, key_of(request.POST))
    except Refusal as refusal:
        return _plainly(request, short(refusal))
    if apart:
        return _fresh(request, number, CONFLICT, said=Said(paper_id(made.entry.get("when", "as left")), apart=apart))
    return _kept(made.version) if request.POST.get("more") else _fresh(request, number, DONE, made.version)
