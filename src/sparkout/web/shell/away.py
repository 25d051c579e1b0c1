"""The service worker, served from the root so that it may answer for every page, with the version of its files."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.templatetags.static import static
from django.views.decorators.http import require_safe

KEPT = (
    *("sparkout/bench.css", "sparkout/page.js", "sparkout/bench.js", "sparkout/why.js", "sparkout/mark.svg"),
    "django_htmx/htmx-2.min.js",
)
"""What a visit page and the page of faults need to stand up by themselves; photographs need the server."""


@require_safe
def away(_: HttpRequest) -> HttpResponse:
    """The script; asked for anew each time, so that another version takes over at the next visit."""
    return HttpResponse(_script(), "text/javascript", headers={"Cache-Control": "no-cache"})


@lru_cache(1)
def _script() -> str:
    files = [_content(name) for name in (*KEPT, "sparkout/away.js")]
    version = hashlib.sha256(b"\0".join(files)).hexdigest()[:12]
    text = files[-1].decode()
    return text.replace("{version}", version).replace("{files}", " ".join(static(name) for name in KEPT))


def _content(name: str) -> bytes:
    path = finders.find(name)
    assert isinstance(path, str), name
    return Path(path).read_bytes()
