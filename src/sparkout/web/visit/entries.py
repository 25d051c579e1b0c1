"""What is entered on the visit page: each sent with a key of its own, so that sending twice enters once.

The answer comes in parts as they are ready: that it is kept, then what is known now, then the rest of the page.
"""

from __future__ import annotations

import re
from functools import partial
from itertools import chain
from typing import TYPE_CHECKING

from django.http import HttpResponse, StreamingHttpResponse
from django.views.decorators.http import require_POST

from sparkout.core.errors import Refusal
from sparkout.core.phrase import joined, phrase
from sparkout.records.models import PaperProof
from sparkout.records.operations.doing import Conflict
from sparkout.records.operations.job import correct_paper, correct_work, record_paper, record_work
from sparkout.web.shell.pages import text_of
from sparkout.web.shell.reader import reader_of, somebody
from sparkout.web.visit.bench import bench_as_if, entered, places_of
from sparkout.web.visit.entering import enter, expected_of, key_of
from sparkout.web.visit.grinding import standing_grind
from sparkout.web.visit.page import bench_of
from sparkout.web.visit.papers import standing_proof
from sparkout.web.visit.parts import FIRST, MORE, changed, made_ahead
from sparkout.web.visit.told import Said

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
        told = phrase("changed meanwhile: it now reads {value}", value=conflict.theirs)
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
    """Return what is new to the page. A refusal is an answer like any other: it is told in the header `Outcome`."""
    headers = {"Outcome": outcome, "Cache-Control": "no-store"}
    if version is not None:
        headers["Version"] = str(version)
    return StreamingHttpResponse(chain([FIRST + MORE], _parts(request, number, said)), headers=headers)


def _parts(request: HttpRequest, number: int, said: Said | None) -> Iterator[str]:
    """Reckon only when the first part, which says that the entry is kept, is on its way."""
    yield from changed(request, bench_of(request, number), request.POST.get("have", ""), said)


def _plainly(request: HttpRequest, why: str) -> HttpResponse:
    content = text_of(request, "shell/plain.html", {"why": reader_of(request).showing.say(why)})
    return HttpResponse(content, headers={"Outcome": REFUSED})


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
    """One pass of the spin grind ticked."""
    bench = bench_of(request, number)
    actor, sent = reader_of(request).actor, request.POST
    outcome = DONE
    try:
        key, pass_number = key_of(sent), int(sent.get("pass", "0") if sent.get("pass", "").isdigit() else 0)
        work = standing_grind(bench)
        done = [] if work is None else list(work.entry.get("infeeds", ()))
        if pass_number == len(done) + 1:  # a pass ticked before is not ticked again
            if work is None:
                record_work(
                    actor=actor,
                    visit=bench.visit,
                    key=key,
                    step="spin grind",
                    what="pass by pass",
                    infeeds=[sent.get("infeed", "")],
                    by=actor.name,
                )
            else:
                correct_work(
                    actor=actor,
                    work=work,
                    expected_version=work.version,
                    key=key,
                    infeeds=[*done, sent.get("infeed", "")],
                )
    except Conflict:
        outcome = CONFLICT
    except Refusal as refusal:
        return _plainly(request, short(refusal))
    if outcome == DONE and sent.get("more"):
        return _kept()
    return _fresh(request, number, outcome)


@somebody
@require_POST
def paper(request: HttpRequest, number: int) -> HttpResponseBase:
    """A paper proof as it stands after a tap."""
    bench = bench_of(request, number)
    actor, sent = reader_of(request).actor, request.POST
    when = "as found" if sent.get("when") == "as found" else "as left"
    outcome = DONE
    table = {
        "stations": sent.get("stations", "").split("|"),
        "rows": sent.get("rows", "").split(),
        "thickness": sent.get("thickness") or None,
        "direction": "square to the knife",
    }
    try:
        on_file = standing_proof(bench, when)
        before = PaperProof.objects.filter(key=key_of(sent)).first()
        if before is not None:
            made = before  # the same tap, sent again because its answer was lost
        elif on_file is None:
            made = record_paper(actor=actor, visit=bench.visit, key=key_of(sent), when=when, by=actor.name, **table)
        else:
            made = correct_paper(
                actor=actor,
                proof=on_file,
                expected_version=expected_of(sent) or on_file.version,
                key=key_of(sent),
                **table,
            )
    except Conflict:
        outcome = CONFLICT
    except Refusal as refusal:
        return _plainly(request, short(refusal))
    else:
        if sent.get("more"):
            return _kept(made.version)
    return _fresh(request, number, outcome)
