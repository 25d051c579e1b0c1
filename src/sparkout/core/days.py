"""Days and moments as texts for people, in words that a catalogue can tell in another language."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import Phrase, phrase

if TYPE_CHECKING:
    import datetime

_MONTHS = (
    phrase("Jan"), phrase("Feb"), phrase("Mar"), phrase("Apr"), phrase("May"), phrase("Jun"),
    phrase("Jul"), phrase("Aug"), phrase("Sep"), phrase("Oct"), phrase("Nov"), phrase("Dec"),
)  # fmt: skip


def dated(on: datetime.date) -> Phrase:
    """Return a day as it is told everywhere.

    Examples
    --------
    >>> import datetime
    >>> dated(datetime.date(2026, 11, 3))
    '3 Nov 2026'
    """
    return phrase("{day} {month} {year}", day=on.day, month=_MONTHS[on.month - 1], year=on.year)


def month_of(on: datetime.date) -> Phrase:
    """Return the month a day lies in.

    Examples
    --------
    >>> import datetime
    >>> month_of(datetime.date(2026, 11, 3))
    'Nov 2026'
    """
    return phrase("{month} {year}", month=_MONTHS[on.month - 1], year=on.year)


def at_time(at: datetime.datetime) -> Phrase:
    """Return a moment: the day, and hours and minutes of the clock.

    Examples
    --------
    >>> import datetime
    >>> at_time(datetime.datetime(2026, 11, 3, 14, 5))
    '3 Nov 2026, 14:05'
    """
    return phrase("{day}, {time}", day=dated(at), time=f"{at:%H:%M}")
