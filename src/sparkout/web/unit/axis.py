"""What a drawn life runs along: hours or days, from the first thing known to the last, with round marks."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

from django.utils.dateformat import format as formatted

from sparkout.drawing.life import Along
from sparkout.drawing.scale import round_steps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.showing import Showing

HOUR = 3600.0
_LONG, _YEAR, _HALF = 1100, 300, 150
"""Days from which on a life is marked by years, quarters, every second month."""


def along_hours(places: Sequence[float], title: str, showing: Showing, width: float) -> Along:
    """Return an axis of hours over places in seconds."""
    low, high = _spread(places, 50 * HOUR, least=0.0)
    marks = round_steps(low, high, HOUR, int(width / 75))
    return Along(title, low, high, [(at, showing.quantity(at, "time", unit="h", places=0)) for at in marks])


def along_days(places: Sequence[float], title: str, width: float) -> Along:
    """Return an axis of days over places that are day numbers; years, quarters or months as there is room."""
    low, high = _spread(places, 30.0, least=1.0)
    step = 12 if high - low > _LONG else 3 if high - low > _YEAR else 2 if high - low > _HALF else 1
    if step == 12 and (high - low) / 365 > width / 60:
        step = 60
    marks = [day for day in _months(low, high) if (12 * day.year + day.month - 1) % step == 0]
    return Along(title, low, high, [(float(day.toordinal()), _named(day, step)) for day in marks])


def _named(day: datetime.date, step: int) -> str:
    return str(day.year) if step >= 12 else formatted(day, "M Y")


def _months(low: float, high: float) -> list[datetime.date]:
    """Return the firsts of the months between two day numbers."""
    day = datetime.date.fromordinal(int(low)).replace(day=1)
    found = []
    while day.toordinal() <= high and day.year < datetime.MAXYEAR:
        if day.toordinal() >= low:
            found.append(day)
        day = (day + datetime.timedelta(days=32)).replace(day=1)
    return found


def _spread(places: Sequence[float], alone: float, least: float) -> tuple[float, float]:
    low, high = min(places), max(places)
    margin = 0.02 * (high - low) if high - low > 1e-6 else alone
    return max(least, low - margin) if low >= least else low, high + margin
