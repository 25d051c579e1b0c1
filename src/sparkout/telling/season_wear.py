"""What wears in words: reel, land, knife lip and rollers of each unit, and when each is at its limit."""

from __future__ import annotations

import datetime
import math
from typing import TYPE_CHECKING

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, Phrase, joined, phrase
from sparkout.season.wearing import WIDENS
from sparkout.telling.section import Section, Table

if TYPE_CHECKING:
    from sparkout.season.forecast import UnitAhead, WearAhead
    from sparkout.season.now import SeasonNow
    from sparkout.showing import Showing

FAR = 3650
"""Days beyond which a date says no more."""
LAND_NOTE = phrase("A land is told to its next relief grind: as it goes on without one.")
HUNDRED = 100.0
"""Hours for which wear is told."""
HEADS = (
    phrase("unit"), phrase("part"), phrase("now"), phrase("limit"), phrase("wears in 100 hours"),
    phrase("hours left, 50 % between"), phrase("hours left, 90 % between"), phrase("at its limit, 50 % between"),
    phrase("at its limit, 90 % between"),
)  # fmt: skip


def tell_wear(now: SeasonNow, showing: Showing) -> Section:
    """Return everything that was read of what wears, the soonest at its limit first."""
    read = [(one, each) for one in now.forecast.units for each in one.wears if each.wearing.sizes]
    told = sorted((pair for pair in read if pair[1].ends is not None), key=lambda pair: _soonest(pair[1]))
    rows = tuple((AsTyped(one.unit.name), *wear_row(now, each, showing)) for one, each in told)
    lines = [] if read else [phrase("nothing was read yet")]
    if any(each.wearing.quantity == WIDENS for _, each in told):
        lines.append(LAND_NOTE)
    lines += [
        phrase(
            "{unit}, {part}: wanted for more: {why}", unit=AsTyped(one.unit.name), part=each.wearing.words, why=each.why
        )
        for one, each in read
        if each.ends is None
    ]
    return Section("wear", phrase("What wears, and when it is at its limit"), tuple(lines), (Table(HEADS, rows),))


def wear_row(now: SeasonNow, one: WearAhead, showing: Showing) -> tuple[str, ...]:
    """Return what is told of something that wears, in the order of `HEADS` after the unit; empty where it is not."""
    ends, thing = one.ends, one.wearing
    limit = "" if thing.limit is None else showing.length(thing.limit)
    if ends is None:
        return (thing.words, "", limit, "", "", "", "", "")
    days = ("", "") if not ends.days else (within(now, *ends.days[1:4:2]), within(now, *ends.days[::4]))
    hours = (_hours(ends.hours[1], ends.hours[3], showing), _hours(ends.hours[0], ends.hours[4], showing))
    wear = showing.residue(HUNDRED * ends.per_hour)
    return (thing.words, showing.length(ends.value), limit, wear, *hours, *days)


def first_at_limit(one: UnitAhead) -> list[WearAhead]:
    """Return what of a unit has days to its limit, the soonest first, as far as a date says anything."""
    told = [each for each in one.wears if each.ends is not None and each.ends.days and each.ends.days[2] <= FAR]
    return sorted(told, key=_soonest)


def within(now: SeasonNow, first: float, last: float) -> Phrase:
    """Return the days between which something comes, in days from today."""
    if last <= 0.0:
        return phrase("past it")
    return joined(" – ", [day_told(now.today, first), day_told(now.today, last)])


def day_told(today: datetime.date, days: float) -> str:
    """Return the day so many days from today, as far as a date says anything.

    Examples
    --------
    >>> import datetime
    >>> [str(day_told(datetime.date(2026, 11, 25), days)) for days in (7.9, math.inf)]
    ['2 Dec 2026', 'no time in sight']
    """
    if days > FAR:
        return phrase("no time in sight")
    return dated(today + datetime.timedelta(days=math.floor(days)))


def _hours(first: float, last: float, showing: Showing) -> Phrase:
    if last <= 0.0:
        return phrase("none")
    return joined(
        " – ", [showing.figure(h, 0) if math.isfinite(h) else phrase("no time in sight") for h in (first, last)]
    )


def _soonest(one: WearAhead) -> tuple[float, float]:
    return (math.inf, math.inf) if one.ends is None else (one.ends.hours[2], one.ends.hours[0])
