"""One address of the API: what it names, what it takes, which operation it opens, how the outcome is told."""

from __future__ import annotations

import hashlib
import inspect
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.models import HistoryLine
from sparkout.records.operations.doing import acting_through, as_key, one_transaction
from sparkout.visit.problems import VisitProblems
from sparkout.web.api.access import need_write
from sparkout.web.api.body import Body, kind_of, sent_in
from sparkout.web.api.errors import JSON, NoSuch, Stale, as_json

if TYPE_CHECKING:
    import uuid
    from collections.abc import Callable

    from django.db.models import Model, QuerySet
    from django.http import HttpRequest
    from django.http.response import HttpResponseBase
    from ninja import Schema

    from sparkout.records.models import Person, Token

Told = dict[str, Any]
NOTHING = Body()


@dataclass(frozen=True, slots=True)
class Named:
    """What the number in an address names: the operation's argument, and how to find it."""

    argument: str
    records: Callable[[], QuerySet[Any]]

    @property
    def model(self) -> type[Model]:
        """The kind of record."""
        return self.records().model

    def found(self, number: int) -> Any:
        """Return the record.

        Raises
        ------
        NoSuch
            When there is none of that number.
        """
        made = self.records().filter(pk=number).first()
        if made is None:
            raise NoSuch(kind_of(self.model), number)
        return made

    def held(self, number: int) -> Any:
        """Return the record as it stands, held until the transaction ends."""
        self.model._default_manager.select_for_update().filter(pk=number).first()
        return self.found(number)


@dataclass
class Ask:
    """One request: who asks, for what, with which entries."""

    request: HttpRequest
    route: Route
    token: Token
    number: int | None = None
    name: str = ""
    record: Any = None
    query: Told = field(default_factory=dict)

    @property
    def actor(self) -> Person:
        """The person on whose behalf it is asked."""
        return self.token.person

    @cached_property
    def entries(self) -> Told:
        """What was sent, as operations take it."""
        return self.route.takes.entries(sent_in(self.request))

    @cached_property
    def key(self) -> uuid.UUID | None:
        """The sender's own name for this request, by which a repeat is known."""
        sent = self.request.headers.get("Idempotency-Key", "").strip().strip('"')
        try:
            return as_key(sent or None)
        except VisitProblems as wrong:
            raise VisitProblems([replace(p, path="Idempotency-Key") for p in wrong.problems]) from None

    @property
    def was_done(self) -> bool:
        """Whether the same was asked before under the same key."""
        return self.key is not None and HistoryLine.objects.filter(key=self.key).exists()


@dataclass(frozen=True)
class Route:
    """One address with one method."""

    method: str
    path: str
    name: str
    tag: str
    does: Callable[[Ask], Any]
    tells: type[Schema] | None = None
    """How the outcome is told; None: it is told already, as plain data or as a whole answer."""
    about: Named | None = None
    takes: Body = NOTHING
    asks: Body = NOTHING
    """What may stand in the address behind the question mark."""
    writes: bool = False
    changes: bool = False
    """Whether the record named is changed, so that the sender may say which state of it they saw (If-Match)."""
    status: int = 200
    operation: Callable[..., Any] | None = None
    words: str = ""
    """What it does, where no operation's own words say so."""
    many: bool = False
    """Whether a page of a list is told."""
    form: str = JSON
    """In which form the outcome is sent."""
    takes_form: str = JSON
    sent: Any = None
    """What is sent, as the OpenAPI document tells it, where `takes` does not say so."""
    example: Any = None
    """One outcome, where no schema tells what it looks like."""

    @property
    def described(self) -> tuple[str, str]:
        """A line and a paragraph about it, from the operation's own words."""
        text = self.words or inspect.getdoc(self.operation) or ""
        told = text.partition("\nRaises\n")[0].strip()
        first, _, rest = told.partition("\n\n")
        return " ".join(first.split()), " ".join(rest.split())


def answered(route: Route, ask: Ask) -> HttpResponseBase:
    """Do what is asked, and tell what came of it.

    Raises
    ------
    Refusal
        As the operation, and when the token may not, something sent is unknown, or the record has changed.
    """
    if route.writes:
        need_write(ask.token)
    if route.about is not None and ask.number is not None:
        ask.record = route.about.found(ask.number)
    ask.query = route.asks.entries({name: ask.request.GET[name] for name in ask.request.GET})
    with acting_through(ask.token):
        outcome = _unless_changed(route, ask) if route.changes else route.does(ask)
    if isinstance(outcome, HttpResponse) or getattr(outcome, "streaming", False):
        response: HttpResponseBase = outcome
        return response
    return _sent(route, ask, outcome)


def _unless_changed(route: Route, ask: Ask) -> Any:
    seen = ask.request.headers.get("If-Match", "").strip()
    if not seen or seen == "*" or ask.was_done:
        return route.does(ask)
    assert route.about is not None
    assert ask.number is not None
    with one_transaction():
        ask.record = route.about.held(ask.number)
        current = told(route, ask.record)
        if tag_of(current) not in [one.strip() for one in seen.split(",")]:
            raise Stale(
                phrase("{kind} {name}", kind=phrase(kind_of(route.about.model)), name=AsTyped(str(ask.record))),
                current,
                tag_of(current),
            )
        return route.does(ask)


def told(route: Route, outcome: Any) -> Any:
    """Return an outcome as plain data."""
    if route.tells is None:
        return outcome
    return route.tells.model_validate(outcome).model_dump(mode="json")


def tag_of(data: Any) -> str:
    """Return the name of a state of something: another state has another name."""
    return f'"{hashlib.sha256(as_json(data).encode()).hexdigest()[:24]}"'


def _sent(route: Route, ask: Ask, outcome: Any) -> HttpResponse:
    if route.many:
        data = {"items": [told(route, one) for one in outcome["items"]], "next": outcome["next"]}
        return _answer(data, route.status)
    data = told(route, outcome)
    tag = tag_of(data) if route.tells is not None else ""
    if tag and ask.request.method == "GET" and tag in ask.request.headers.get("If-None-Match", ""):
        return _tagged(HttpResponse(b"", JSON, 304), tag)
    return _tagged(_answer(data, route.status), tag)


def _answer(data: Any, status: int) -> HttpResponse:
    response = HttpResponse(as_json(data), JSON, status)
    response["Cache-Control"] = "no-store"
    return response


def _tagged(response: HttpResponse, tag: str) -> HttpResponse:
    if tag:
        response["ETag"] = tag
        response["Cache-Control"] = "private, no-cache"
    return response
