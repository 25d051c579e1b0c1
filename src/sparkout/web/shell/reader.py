"""Who reads a page, and how they want to be told: person, workshop, words, units, decimal mark."""

from __future__ import annotations

from dataclasses import dataclass
from functools import wraps
from typing import TYPE_CHECKING, Any, Concatenate, ParamSpec, TypeVar, cast
from urllib.parse import quote

from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import activate
from django.utils.translation.trans_real import parse_accept_lang_header

from sparkout.records.this_workshop import active_person, this_workshop
from sparkout.showing import Showing
from sparkout.translation import DECIMAL_MARKS, LANGUAGES

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest, HttpResponseRedirect
    from django.http.response import HttpResponseBase

    from sparkout.records.models import Person, Workshop
    from sparkout.showing import Vocabulary
    from sparkout.units import System

WHO = "person"
"""Under which name the session keeps who it is."""
LANGUAGE = "language"
"""Under which name it keeps the language chosen by somebody who has not said who they are."""
P = ParamSpec("P")
R = TypeVar("R", bound="HttpResponseBase")


@dataclass(frozen=True, slots=True)
class Reader:
    """A person in front of a page; `person` is None until somebody has said who they are."""

    person: Person | None
    workshop: Workshop | None
    showing: Showing

    @property
    def actor(self) -> Person:
        """The person, where a page can only be reached by somebody."""
        assert self.person is not None
        return self.person

    @property
    def paper(self) -> str:
        """Paper for job cards."""
        return "A4" if self.workshop is None else self.workshop.paper_size


def reader_of(request: HttpRequest) -> Reader:
    """Return who reads, looked up once for each request."""
    found = getattr(request, "sparkout_reader", None)
    if found is None:
        found = _looked_up(request)
        request.sparkout_reader = found  # type: ignore[attr-defined]
    return cast("Reader", found)


def _looked_up(request: HttpRequest) -> Reader:
    """Look up who reads; from here on Django's own texts are in their language too."""
    workshop = this_workshop()
    person = None
    if workshop is not None and WHO in request.session:
        person = active_person(request.session[WHO])
    asked = None if person else request.session.get(LANGUAGE) or _of_browser(request)
    showing = _showing(person, workshop, asked)
    activate(showing.language)
    return Reader(person, workshop, showing)


def _of_browser(request: HttpRequest) -> str | None:
    """Return the language the browser asks for most that there is a catalogue for."""
    asked = parse_accept_lang_header(request.headers.get("Accept-Language", "").lower())
    known = [code.partition("-")[0] for code, _ in asked]
    return next((code for code in known if code in LANGUAGES), None)


def showing_of(person: Person | None, request: HttpRequest | None = None) -> Showing:
    """Return how a person wants to be told, where there is no page: a calendar, a file, an answer to a program.

    The language a request asks for counts for somebody who has chosen none.
    """
    return _showing(person, this_workshop(), None if request is None else _of_browser(request))


def _showing(person: Person | None, workshop: Workshop | None, asked: str | None) -> Showing:
    def chosen(name: str, otherwise: str) -> Any:
        return getattr(person, name, None) or getattr(workshop, name, None) or otherwise

    told_in = getattr(person, "language", None) or asked
    language = told_in if told_in in LANGUAGES else chosen("language", "en")
    usual = DECIMAL_MARKS[language] if told_in in LANGUAGES else None
    system = cast("System", chosen("units", "mm"))
    vocabulary = cast("Vocabulary", chosen("vocabulary", "uk"))
    decimal = getattr(person, "decimal", None) or usual or chosen("decimal", ".")
    return Showing(system, vocabulary, decimal, language=language)


def somebody(
    view: Callable[Concatenate[HttpRequest, P], R],
) -> Callable[Concatenate[HttpRequest, P], R | HttpResponseRedirect]:
    """Let a page be seen only when the workshop is set up and somebody has said who they are."""

    @wraps(view)
    def guarded(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> R | HttpResponseRedirect:
        reader = reader_of(request)
        if reader.workshop is None:
            return redirect("start")
        if reader.person is None:
            return redirect(f"{reverse('who')}?next={quote(request.get_full_path())}")
        return view(request, *args, **kwargs)

    return guarded
