"""The workshop itself, which nearly everything that is told begins with."""

from __future__ import annotations

from django.db import connection

from sparkout.records.models import Workshop
from sparkout.records.stamp import stamp

_kept: tuple[str, Workshop | None] = ("", None)


def this_workshop() -> Workshop | None:
    """Return the workshop, asked for once for as long as nothing is written; not to be changed.

    Where asking whether anything was written is a query too, the workshop itself is asked for.
    """
    if connection.vendor == "postgresql":
        return Workshop.objects.first()
    global _kept  # noqa: PLW0603 - replaced whole, so that no thread sees half of it
    now = stamp()
    at, found = _kept
    if at != now:
        found = Workshop.objects.first()
        _kept = (now, found)
    return found
