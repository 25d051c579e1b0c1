"""Days as pages say them."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.utils.dateformat import format as formatted

if TYPE_CHECKING:
    import datetime


def day_said(day: datetime.date | None) -> str:
    """Return a day in words; a dash for none.

    Examples
    --------
    >>> import datetime
    >>> day_said(datetime.date(2026, 11, 3)), day_said(None)
    ('3 Nov 2026', '-')
    """
    return "-" if day is None else formatted(day, "j M Y")
