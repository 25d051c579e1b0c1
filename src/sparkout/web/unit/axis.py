"""What a drawn life runs along: hours or days, from the first thing known to the last, with round marks."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

from sparkout.core.days import month_of
from sparkout.drawing.life import Along
from sparkout.drawing.scale import round_steps

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.showing import Showing

HOUR = 3600.0
_STEPS = (1, 3, 6, 12, 24, 60, 120, 240, 600, 1200, 6000, 12000)
"""Months between two marks."""


def along_hours(places: Sequence[float], title: str, showing: Showing, width: float) -> Along:
    """Return an axis of hours over places in seconds."""
    low, high = _spread(places, 50 * HOUR, least=0.0)
    marks = round_steps(low, high, HOUR, int(width / 75))
    return Along(title, low, high, [(at, showing.quantity(at, "time", unit="h", places=0)) for at in marks])


def along_days(places: Sequence[float], title: str, showing: Showing, width: float) -> Along:
    """Return an axis of days over places that are day numbers; months, quarters or years as there is room."""
    low, high = _spread(places, 30.0, least=1.0)
    wanted = (high - low) / 30.44 / (width / 64.0)
    step = next((step for step in _STEPS if step >= wanted), _STEPS[-1])
    marks = [(float(day.toordinal()), _named(day, step, showing)) for day in _firsts(low, high, step)]
    return Along(title, low, high, marks)


def _named(day: datetime.date, step: int, showing: Showing) -> str:
    return str(day.year) if step >= 12 else showing.say(month_of(day))


def _firsts(low: float, high: float, step: int) -> list[datetime.date]:
    """Return the firsts of every so many months between two day numbers, counted from January of year 0."""
    start = datetime.date.fromordinal(int(low))
    month = -(-(12 * start.year + start.month - 1) // step) * step
    found = []
    while month // 12 <= datetime.MAXYEAR:
        day = datetime.date(month // 12, month % 12 + 1, 1)
        if day.toordinal() > high:
            break
        if day.toordinal() >= low:
            found.append(day)
        month += step
    return found


def _spread(places: Sequence[float], alone: float, least: float) -> tuple[float, float]:
    low, high = min(places), max(places)
    margin = 0.02 * (high - low) if high - low > 1e-6 else alone
    return max(least, low - margin) if low >= least else low, high + margin
