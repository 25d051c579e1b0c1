"""Small things told alike on all pages of the workshop."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.days import dated

if TYPE_CHECKING:
    import datetime

    from django.http import HttpRequest

    from sparkout.showing import Showing


def day(on: datetime.date | None, showing: Showing) -> str:
    """Return a day in few words."""
    return "" if on is None else showing.say(dated(on))


def kept_query(request: HttpRequest) -> str:
    """Return the filters in the address, for the links to further pages."""
    kept = request.GET.copy()
    for name in ("page", "done"):
        kept.pop(name, None)
    return f"{kept.urlencode()}&" if kept else ""
