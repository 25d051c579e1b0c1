"""Pages and refusals as they leave the server."""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.template.loader import render_to_string

from sparkout.translation import CHECKED, LANGUAGES
from sparkout.web.shell.reader import reader_of

if TYPE_CHECKING:
    from collections.abc import Hashable

    from django.http import HttpRequest

    from sparkout.showing import Showing

_LANGUAGES = [(code, name, code in CHECKED) for code, name in LANGUAGES.items()]


def text_of(request: HttpRequest, template: str, context: dict[str, Any] | None = None) -> str:
    """Return a template filled in, in the reader's words."""
    reader = reader_of(request)
    return render_to_string(
        template, {"reader": reader, "showing": reader.showing, "languages": _LANGUAGES, **(context or {})}, request
    )


def remembered(template: str, showing: Showing, **context: Hashable) -> str:
    """Return a fragment filled in: kept by everything that goes into it, for of many an entry changes a few."""
    return _filled_in(template, showing, tuple(context.items()))


@lru_cache(1024)
def _filled_in(template: str, showing: Showing, context: tuple[tuple[str, Hashable], ...]) -> str:
    return render_to_string(template, {"showing": showing, **dict(context)})


def page(request: HttpRequest, template: str, context: dict[str, Any] | None = None, status: int = 200) -> HttpResponse:
    """Return a whole page."""
    response = HttpResponse(text_of(request, template, context), status=status)
    response["Cache-Control"] = "no-store"
    return response


def refused(request: HttpRequest, why: str, status: int = 422) -> HttpResponse:
    """Return a page that says why something was refused."""
    return page(request, "shell/refused.html", {"why": why}, status)
