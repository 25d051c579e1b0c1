"""Refusals as the API tells them: always JSON, always one list of what is wrong, in the words of every other door."""

from __future__ import annotations

import json
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from django.db import IntegrityError
from django.http import HttpResponse

from sparkout.catalogue.entry import InputProblems
from sparkout.core.errors import OutOfRange, Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.operations.doing import Conflict, KeyUsed, NotKept
from sparkout.records.operations.meanwhile import Clashes
from sparkout.visit.problems import Problem, VisitProblems, shown
from sparkout.web.shell.reader import showing_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest
    from django.http.response import HttpResponseBase

    from sparkout.showing import Showing

ADDRESS = "/api/"
JSON = "application/json"
Told = dict[str, Any]


class NoSuch(Refusal):
    """What the address names does not exist."""

    def __init__(self, kind: str, number: object) -> None:
        self.kind = kind
        self.number = number
        super().__init__(phrase("there is no {kind} {number}", kind=phrase(kind), number=number))


class NoToken(Refusal):
    """Nobody said, in a way that holds, on whose behalf they ask."""


class MayNot(Refusal):
    """The token may not do this."""


class WrongForm(Refusal):
    """What was sent is not in a form that is read here."""


class TooMuch(Refusal):
    """More was sent than is read at once."""


class Stale(Refusal):
    """What was to be changed is no longer as the sender saw it; `current` is how it is told now."""

    def __init__(self, what: str, current: Told, tag: str) -> None:
        self.current = current
        self.tag = tag
        super().__init__(phrase("{what} was changed meanwhile: ask for it again, then change it", what=what))


def problem(
    message: str, *, where: str = "", argument: str = "", value: object = None, allowed: str = "", unit: str = "",
    **more: object,
) -> Told:  # fmt: skip
    """Return one thing that is wrong, as it is told."""
    plain = value if value is None or isinstance(value, str | int | float) else shown(value)
    told = {"where": where, "argument": argument, "value": plain, "allowed": allowed, "unit": unit}
    return {**told, "message": message, **{name: found for name, found in more.items() if found is not None}}


def problems_of(refusal: Refusal) -> list[Told]:  # noqa: PLR0911 - one for each kind
    """Return everything that is wrong, in the code's own words; `message` is what the other doors say.

    Examples
    --------
    >>> problems_of(OutOfRange("gap", 2.0, "0 to 1", "mm"))[0]["message"]
    'gap is 2 mm; allowed: 0 to 1 mm'
    """
    match refusal:
        case VisitProblems():
            return [_of_problem(p) for p in refusal.problems]
        case InputProblems():
            return [
                problem(
                    phrase("{name}: {problem}", name=AsTyped(refusal.name), problem=p.text),
                    where=p.argument,
                    **{k: v for k, v in p._asdict().items() if k != "text"},
                )
                for p in refusal.problems
            ]
        case OutOfRange(argument=argument, value=value, allowed=allowed, unit=unit):
            return [problem(refusal.words, where=argument, argument=argument, value=value, allowed=allowed, unit=unit)]
        case Conflict(theirs=theirs, mine=mine, current=current):
            now = getattr(current, "version", None)
            number = getattr(current, "pk", None)
            return [problem(refusal.words, value=mine, theirs=theirs, mine=mine, version=now, id=number)]
        case Clashes(clashes=clashes):
            return [
                problem(refusal.words, where=name, argument=name, value=c.mine, theirs=c.theirs, mine=c.mine)
                for name, c in clashes.items()
            ]
        case KeyUsed():
            return [problem(refusal.words, where="Idempotency-Key", argument="Idempotency-Key")]
        case NoSuch(kind=kind, number=number):
            return [problem(refusal.words, where="address", argument=kind, value=number)]
        case Stale(current=current, tag=tag):
            return [problem(refusal.words, where="If-Match", argument="If-Match", current=current, tag=tag)]
        case _:
            return [problem(refusal.words)]


def _of_problem(p: Problem) -> Told:
    argument = p.path.rpartition(".")[2].partition("[")[0]
    return problem(
        p.words, where=p.path, argument=argument, value=p.value or None, allowed=p.allowed, unit=p.unit, line=p.line
    )


_STATUS: dict[type[Refusal], int] = {
    NoToken: 401,
    MayNot: 403,
    NoSuch: 404,
    Conflict: 409,
    Clashes: 409,
    Stale: 412,
    TooMuch: 413,
    WrongForm: 415,
    NotKept: 503,
}


def status_of(refusal: Refusal) -> int:
    """Return the HTTP status of a refusal: 422 unless it is one of a few of its own."""
    if isinstance(refusal, NotKept) and isinstance(refusal.__cause__, IntegrityError):
        return 409
    return _STATUS.get(type(refusal), 422)


def as_json(data: object) -> str:
    """Return data as JSON text; what is no finite number is a fault of ours, never sent."""
    return json.dumps(data, ensure_ascii=False, allow_nan=False)


def showing_for(request: HttpRequest) -> Showing:
    """Return how whoever asks is told what is wrong: in their language, but in mm, as all numbers here."""
    token = getattr(request, "auth", None)
    return replace(showing_of(getattr(token, "person", None), request), system="mm")


def telling(errors: list[Told], request: HttpRequest, status: int) -> HttpResponse:
    """Return the answer that tells what is wrong, in the language of whoever asks; in English in the API's own words.

    Its addresses and entries say reel and knife to everybody.
    """
    showing = showing_for(request)
    told = errors
    if showing.language != "en":
        told = [{**one, **{name: showing.say(one[name]) for name in ("message", "allowed")}} for one in errors]
    response = HttpResponse(as_json({"errors": told}), JSON, status)
    response["Content-Language"] = showing.language
    response["Cache-Control"] = "no-store"
    return response


def refused(refusal: Refusal, request: HttpRequest) -> HttpResponse:
    """Return the answer that tells a refusal."""
    response = telling(problems_of(refusal), request, status_of(refusal))
    if isinstance(refusal, NoToken):
        response["WWW-Authenticate"] = 'Bearer realm="sparkout"'
    if isinstance(refusal, Stale):
        response["ETag"] = refusal.tag
    return response


_OTHERWISE = {
    400: phrase("the request cannot be read"),
    404: phrase("there is no such address; {docs} lists them all", docs=AsTyped(f"{ADDRESS}1/docs")),
    413: phrase("more was sent than is read here"),
}
_OURS = phrase("this failed for a reason that is not yours; nothing was kept. The server's log tells more")


def _words(response: HttpResponseBase) -> str:
    if response.status_code == 405:
        allowed = AsTyped(response.headers.get("Allow", ""))
        return phrase("this address does not take that method; allowed: {allowed}", allowed=allowed)
    usual = _OURS if response.status_code >= 500 else phrase("the request was refused")
    return _OTHERWISE.get(response.status_code, usual)


class JsonRefusals:
    """Middleware: whatever refuses a request to the API, the answer is JSON in the form of every other refusal."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        """Answer, and tell a refusal made elsewhere in our form."""
        response = self.get_response(request)
        told_here = response.headers.get("Content-Type", "").startswith(JSON)
        if response.status_code < 400 or told_here or not request.path_info.startswith(ADDRESS):
            return response
        told = telling([problem(_words(response))], request, response.status_code)
        if "Allow" in response.headers:
            told["Allow"] = response.headers["Allow"]
        return told
