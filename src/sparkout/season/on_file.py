"""From a unit's clock and its sharpenings to what a forecast is made from."""

from __future__ import annotations

import datetime
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from sparkout.season.edges import Edge, Gap
from sparkout.season.sheet import WEEK

YEAR, FEWEST_DAYS = 365, 14
"""A usual week is that of the last year of a clock, so that it holds a winter and a summer; from fewer days than these
nothing is told. Own choice."""


@dataclass(frozen=True, slots=True)
class Sharpening:
    """A sharpening of a reel: hours it had run, and whether somebody complained of the cut before."""

    hours: float
    complained: bool
    relief: bool | None = None
    gap: Gap | None = None
    who: str = ""
    """How the edge was made that it left."""


def usual_week(read: Sequence[tuple[int, float]]) -> float | None:
    """Return the hours a unit mows in a week by its clock (days rising, hours); None where too little is known.

    A clock that falls is another clock, or was put back: what was read before that does not count.

    Examples
    --------
    >>> usual_week([(0, 100.0), (70, 200.0)]), usual_week([(0, 900.0), (20, 0.0), (90, 40.0)])
    (10.0, 4.0)
    """
    own = since_it_fell(read)
    if len(own) < 2:
        return None
    last_day, last = own[-1]
    first_day = max(own[0][0], last_day - YEAR)
    at = bisect_right(own, (first_day, float("inf"))) - 1
    first = own[at][1]
    if own[at][0] < first_day:
        (before, then), (after, later) = own[at], own[at + 1]
        first = then + (later - then) * (first_day - before) / (after - before)
    days = last_day - first_day
    return None if days < FEWEST_DAYS else (last - first) / days * WEEK


def since_it_fell(read: Sequence[tuple[int, float]]) -> list[tuple[int, float]]:
    """Return the readings of a clock since it last showed less than before."""
    fell = [i for i, ((_, before), (_, now)) in enumerate(pairwise(read), 1) if now < before]
    return list(read[fell[-1] if fell else 0 :])


def mown_an_hour(read: Sequence[tuple[float, float | None]]) -> float | None:
    """Return the area mown in an hour, by a clock (hours rising) and the area entered with each reading.

    An area is what was mown since the reading before; hours without an area are left out.

    Examples
    --------
    >>> mown_an_hour([(100.0, None), (110.0, 8.0), (150.0, None), (160.0, 10.0)]), mown_an_hour([(100.0, 5.0)])
    (0.9, None)
    """
    told = [(now - before, area) for (before, _), (now, area) in pairwise(read) if area is not None and now > before]
    hours = sum(run for run, _ in told)
    return sum(area for _, area in told) / hours if hours > 0.0 else None


def run_by(hours: float, on: datetime.date, a_week: float | None, today: datetime.date) -> float:
    """Return what has been run by today: what the clock told last, and since then the usual week.

    Examples
    --------
    >>> run_by(100.0, datetime.date(2026, 11, 11), 10.0, datetime.date(2026, 11, 25))
    120.0
    """
    return hours + (a_week or 0.0) * max((today - on).days, 0) / WEEK


def edges_between(sharpenings: Sequence[Sharpening], now: float | None = None) -> tuple[Edge, ...]:
    """Return the edges that one reel was cut with from one sharpening to the next, and the one it cuts with `now`.

    Examples
    --------
    >>> [(edge.hours, edge.went) for edge in edges_between([Sharpening(0.0, False), Sharpening(90.0, True)], 130.0)]
    [(90.0, True), (40.0, False)]
    """
    ends = [*((after.hours, after.complained) for after in sharpenings[1:]), *([] if now is None else [(now, False)])]
    return tuple(
        Edge(hours - before.hours, went, before.relief, before.gap, before.who)
        for before, (hours, went) in zip(sharpenings, ends, strict=False)
        if hours > before.hours
    )


def gap_set(read: Sequence[float], wanted: float | None) -> Gap | None:
    """Return how an edge was set to the knife: by the gaps read as left, else by the gap that was wanted; in mm.

    Examples
    --------
    >>> gap_set([0.0, 0.03], None), gap_set([], 0.0), gap_set([], None)
    ('light gap', 'contact', None)
    """
    told = [*read] or ([] if wanted is None else [wanted])
    return None if not told else "light gap" if max(told) > 0.0 else "contact"
