"""Pages that only look things up, kept as they were made while nothing is written to the records."""

from __future__ import annotations

import re
import threading
import uuid
from collections import OrderedDict
from functools import wraps
from typing import TYPE_CHECKING, Concatenate, ParamSpec

from django.conf import settings
from django.http import HttpResponse
from django.middleware.csrf import get_token

from sparkout.records.operations.doing import today
from sparkout.records.stamp import stamp
from sparkout.web.shell.reader import reader_of

if TYPE_CHECKING:
    from collections.abc import Callable

    from django.http import HttpRequest

P = ParamSpec("P")
_MOST = 48
_KEY = re.compile(rb'(?<=name="key" value=")[0-9a-f-]{36}|(?<=name=\\"key\\" value=\\")[0-9a-f-]{36}')
"""The key of a form, by which it is done once: a page told again gets keys of its own. In data it stands escaped."""
_lock = threading.Lock()
_pages: OrderedDict[tuple[object, ...], tuple[tuple[bytes, ...], tuple[tuple[str, str], ...]]] = OrderedDict()
"""Pages in the pieces between their forms' keys, with their headers."""


def kept_page(
    view: Callable[Concatenate[HttpRequest, P], HttpResponse],
) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
    """Keep what a view tells one reader at one address for as long as nothing is written and the day is the same.

    For views that write nothing. Only answers that went well are kept, and none without the reader's own token, which
    stands in their forms.
    """

    @wraps(view)
    def looked_up(request: HttpRequest, /, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        secret = request.COOKIES.get(settings.CSRF_COOKIE_NAME)
        if not secret:
            return view(request, *args, **kwargs)
        reader = reader_of(request)
        key = (
            stamp(), today(), request.get_full_path(), "HX-Request" in request.headers, secret, reader.actor.pk,
            reader.showing,
        )  # fmt: skip
        with _lock:
            kept = _pages.get(key)
            if kept is not None:
                _pages.move_to_end(key)
        if kept is not None:
            get_token(request)
            first, *rest = kept[0]
            keyed = [part for piece in rest for part in (str(uuid.uuid4()).encode(), piece)]
            return HttpResponse(b"".join((first, *keyed)), headers=dict(kept[1]))
        made = view(request, *args, **kwargs)
        if made.status_code == HttpResponse.status_code:
            with _lock:
                _pages[key] = tuple(_KEY.split(made.content)), tuple(made.items())
                while len(_pages) > _MOST:
                    _pages.popitem(last=False)
        return made

    return looked_up
