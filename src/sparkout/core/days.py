"""Days and moments as texts for people, in words that a catalogue can tell in another language."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import Phrase, phrase

if TYPE_CHECKING:
    import datetime

# A whole text for each month, so that a language may put its parts in its own order, and "May" is a month.
_DAYS = (
    phrase("{day} Jan {year}"), phrase("{day} Feb {year}"), phrase("{day} Mar {year}"), phrase("{day} Apr {year}"),
    phrase("{day} May {year}"), phrase("{day} Jun {year}"), phrase("{day} Jul {year}"), phrase("{day} Aug {year}"),
    phrase("{day} Sep {year}"), phrase("{day} Oct {year}"), phrase("{day} Nov {year}"), phrase("{day} Dec {year}"),
)  # fmt: skip
_MONTHS = (
    phrase("Jan {year}"), phrase("Feb {year}"), phrase("Mar {year}"), phrase("Apr {year}"), phrase("May {year}"),
    phrase("Jun {year}"), phrase("Jul {year}"), phrase("Aug {year}"), phrase("Sep {year}"), phrase("Oct {year}"),
    phrase("Nov {year}"), phrase("Dec {year}"),
)  # fmt: skip

_SHORT = (
    phrase("{day} Jan"), phrase("{day} Feb"), phrase("{day} Mar"), phrase("{day} Apr"), phrase("{day} May"),
    phrase("{day} Jun"), phrase("{day} Jul"), phrase("{day} Aug"), phrase("{day} Sep"), phrase("{day} Oct"),
    phrase("{day} Nov"), phrase("{day} Dec"),
)  # fmt: skip
_WEEKDAYS = (
    phrase("Mon"), phrase("Tue"), phrase("Wed"), phrase("Thu"), phrase("Fri"), phrase("Sat"), phrase("Sun"),
)  # fmt: skip


def dated(on: datetime.date) -> Phrase:
    """Return a day as it is told everywhere.

    Examples
    --------
    >>> import datetime
    >>> dated(datetime.date(2026, 11, 3))
    '3 Nov 2026'
    """
    return phrase(_DAYS[on.month - 1], day=on.day, year=on.year)


def short(on: datetime.date) -> Phrase:
    """Return a day where the year goes without saying, as above a column.

    Examples
    --------
    >>> import datetime
    >>> short(datetime.date(2026, 11, 30))
    '30 Nov'
    """
    return phrase(_SHORT[on.month - 1], day=on.day)


def weekday(on: datetime.date) -> Phrase:
    """Return the day of the week, shortened.

    Examples
    --------
    >>> import datetime
    >>> weekday(datetime.date(2026, 11, 30))
    'Mon'
    """
    return _WEEKDAYS[on.weekday()]


def with_weekday(on: datetime.date) -> Phrase:
    """Return a day of the season with its weekday.

    Examples
    --------
    >>> import datetime
    >>> with_weekday(datetime.date(2026, 11, 30))
    'Mon 30 Nov'
    """
    return phrase("{weekday} {day}", weekday=weekday(on), day=short(on))


def month_of(on: datetime.date) -> Phrase:
    """Return the month a day lies in.

    Examples
    --------
    >>> import datetime
    >>> month_of(datetime.date(2026, 11, 3))
    'Nov 2026'
    """
    return phrase(_MONTHS[on.month - 1], year=on.year)


def at_time(at: datetime.datetime) -> Phrase:
    """Return a moment: the day, and hours and minutes of the clock.

    Examples
    --------
    >>> import datetime
    >>> at_time(datetime.datetime(2026, 11, 3, 14, 5))
    '3 Nov 2026, 14:05'
    """
    return phrase("{day}, {time}", day=dated(at), time=f"{at:%H:%M}")
