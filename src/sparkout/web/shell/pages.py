"""Pages and refusals as they leave the server."""

from __future__ import annotations

import logging
from functools import lru_cache
from typing import TYPE_CHECKING, Any

from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.http import HttpResponse
from django.template.loader import render_to_string
from django.views.defaults import bad_request, page_not_found, permission_denied, server_error

from sparkout.translation import CHECKED, LANGUAGES
from sparkout.web.shell.reader import reader_of

if TYPE_CHECKING:
    from collections.abc import Callable, Hashable

    from django.http import HttpRequest

    from sparkout.showing import Showing

_LOG = logging.getLogger(__name__)

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


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Return the page for an address at which there is nothing."""
    return _told_apart(request, 404, page_not_found, exception)


def forbidden(request: HttpRequest, reason: str = "", exception: Exception | None = None) -> HttpResponse:
    """Return the page for something sent that does not come from a page of this server opened by this browser."""
    return _told_apart(request, 403, permission_denied, exception or PermissionDenied(reason))


def not_understood(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Return the page for something sent that cannot be read."""
    return _told_apart(request, 400, bad_request, exception or SuspiciousOperation())


def broken(request: HttpRequest) -> HttpResponse:
    """Return the page for a fault of the program's own."""
    return _told_apart(request, 500, lambda asked, _: server_error(asked), None)


def _told_apart(
    request: HttpRequest,
    status: int,
    plain: Callable[[HttpRequest, Any], HttpResponse],
    exception: Exception | None,
) -> HttpResponse:
    """Return a page of our own in the reader's words; a plain one where even telling who reads goes wrong."""
    if not hasattr(request, "session"):
        return plain(request, exception)  # refused at the threshold, before anybody could say who they are
    try:
        return page(request, "shell/amiss.html", {"status": status}, status)
    except Exception:
        _LOG.exception("the page for %s could not be made", status)
        return plain(request, exception)


def refused(request: HttpRequest, why: str, status: int = 422) -> HttpResponse:
    """Return a page that says why something was refused."""
    return page(request, "shell/refused.html", {"why": why}, status)
