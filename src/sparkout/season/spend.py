"""What the season costs in the workshop's own money, and which reels and knives to order when."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from sparkout.core.phrase import phrase
from sparkout.core.season.cost import Spending, Spent, spending
from sparkout.core.season.parts import Coming, Stocked, chances_by_period, demand, order_list, quantile
from sparkout.core.season.stock import ReorderPoint, reorder_point
from sparkout.core.season.wear import CHANCES
from sparkout.season.forecast import Forecast
from sparkout.season.placing import Placed
from sparkout.season.sheet import GROUND, WEEK, SeasonSheet, Shelf
from sparkout.season.wearing import Ends

COVERAGE = 0.9
SERVICE = 0.95
"""Chance with which an order is to be there in time. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class ToOrder:
    """An order: on which day, how many, when they come, their price together."""

    on: datetime.date
    pieces: int
    comes: datetime.date
    money: float


@dataclass(frozen=True, slots=True)
class MonthAhead:
    """How many of a type of reel or knife a month of the season takes: mean, and the interval of 90 %."""

    first: datetime.date
    """The month's first day that lies in the season."""
    mean: float
    low: int
    high: int


@dataclass(frozen=True, slots=True)
class PartAhead:
    """A type of reel or knife over the season: how many are wanted, and what to order."""

    part: str
    mean: float
    low: int
    high: int
    """The season's demand with a chance of 90 %."""
    shelf: Shelf | None
    """None: the sheet does not say what is there, so nothing is said of orders."""
    orders: tuple[ToOrder, ...]
    short: float
    """Chance of running out before anything ordered now can be there."""
    months: tuple[MonthAhead, ...] = ()
    pieces: tuple[float, ...] = ()
    """Chance of 0, 1, 2 ... being wanted in the season."""
    reorder: ReorderPoint | None = None
    """With how many left the next are to be ordered, at the season's mean use; None where the shelf is not known."""


def chance_by(ends: Ends, days: Sequence[float]) -> list[float]:
    """Return the chance that a part has reached its limit by so many days from today.

    Straight lines between the days known for `CHANCES`, over normal quantiles; beyond them as the outer ones go on.

    Examples
    --------
    >>> ends = Ends(125.0, 0.002, (), (10.0, 20.0, 30.0, 40.0, 50.0))
    >>> [round(chance, 2) for chance in chance_by(ends, [0.0, 30.0, 50.0])]
    [0.0, 0.5, 0.95]
    """
    known = [(day, z) for day, z in zip(ends.days, ndtri(CHANCES).tolist(), strict=True) if math.isfinite(day)]
    if not known:
        return [0.0] * len(days)
    if known[-1][0] <= known[0][0]:
        return [float(day >= known[0][0]) for day in days]
    rising = dict(known)  # where several chances share a day, the last holds
    x, z = np.array(list(rising)), np.array(list(rising.values()))
    asked = np.asarray(days, dtype=np.float64)
    found = np.interp(asked, x, z)
    below, above = asked < x[0], asked > x[-1]
    found[below] = z[0] + (asked[below] - x[0]) * (z[1] - z[0]) / (x[1] - x[0])
    found[above] = z[-1] + (asked[above] - x[-1]) * (z[-1] - z[-2]) / (x[-1] - x[-2])
    return [float(chance) for chance in ndtr(found)]


def parts_ahead(
    units: Sequence[tuple[str, str, Ends | None]],
    sheet: SeasonSheet,
    today: datetime.date,
    start: datetime.date,
    weeks: int,
) -> tuple[PartAhead, ...]:
    """Return the demand for each type of reel or knife over the season's weeks, and what to order.

    Parameters
    ----------
    units : name, type of reel or knife and when it reaches its limit, of each unit
    """
    last = start + datetime.timedelta(weeks=weeks)
    months = (start, *months_between(start, last), last)
    by_week = _coming(units, [start + datetime.timedelta(weeks=k) for k in range(weeks + 1)], today)
    by_month = _coming(units, months, today)
    known = {shelf.part: shelf for shelf in sheet.parts}
    return tuple(
        _part(part, by_week, _by_month(part, by_month, months), known.get(part), start)
        for part in dict.fromkeys(one.part for one in by_week)
    )


def months_between(start: datetime.date, end: datetime.date) -> list[datetime.date]:
    """Return the first day of each month after a day and before another.

    Examples
    --------
    >>> [str(day) for day in months_between(datetime.date(2026, 11, 25), datetime.date(2027, 2, 1))]
    ['2026-12-01', '2027-01-01']
    """
    found = []
    day = start.replace(day=1)
    while (day := (day + datetime.timedelta(days=32)).replace(day=1)) < end:
        found.append(day)
    return found


def _coming(
    units: Sequence[tuple[str, str, Ends | None]], edges: Sequence[datetime.date], today: datetime.date
) -> list[Coming]:
    """Return the parts that will be wanted, by periods from edge to edge."""
    days = [float((edge - today).days) for edge in edges]
    return [
        Coming(part, name, chances_by_period(chance_by(ends, days)))
        for name, part, ends in units
        if ends is not None and ends.days
    ]


def _by_month(part: str, coming: Sequence[Coming], edges: Sequence[datetime.date]) -> tuple[MonthAhead, ...]:
    found = demand(part, coming, coverage=COVERAGE)
    return tuple(MonthAhead(*month) for month in zip(edges[:-1], found.mean, found.low, found.high, strict=True))


def _part(
    part: str, coming: Sequence[Coming], months: tuple[MonthAhead, ...], shelf: Shelf | None, start: datetime.date
) -> PartAhead:
    wanted = demand(part, coming)
    tail = (1.0 - COVERAGE) / 2.0
    season = math.fsum(wanted.mean), quantile(wanted.total, tail), quantile(wanted.total, 1.0 - tail)
    pieces = tuple(wanted.total.tolist())
    if shelf is None:
        return PartAhead(part, *season, None, (), 0.0, months, pieces)
    found = order_list(
        wanted, Stocked(part, shelf.on_shelf, shelf.lead_weeks, shelf.pack, price=float(shelf.price)), SERVICE
    )
    orders = tuple(
        ToOrder(_week(start, one.period), one.pieces, _week(start, one.comes), one.money) for one in found.orders
    )
    reorder = reorder_point(season[0] / len(wanted.mean), shelf.lead_weeks, SERVICE)
    return PartAhead(part, *season, shelf, orders, found.before, months, pieces, reorder)


def _week(start: datetime.date, period: int) -> datetime.date:
    return start + datetime.timedelta(weeks=period)


def spent(
    placed: Sequence[Placed], overtime: float, sheet: SeasonSheet, hectares: Mapping[str, float] | None = None
) -> Spending:
    """Return what the planned work costs by unit, machine, hectare, month and cause: hours, overtime's extra, wheels.

    Parameters
    ----------
    overtime : of the plan, in the sheet's money
    hectares : by machine, what it will mow in the season, where that is known
    """
    lines = list(_lines(placed, sheet))
    if overtime > 0.0:
        lines.append(Spent("", "", phrase("overtime"), overtime))
    return spending(lines, hectares)


def hectares_ahead(forecast: Forecast, days: int) -> dict[str, float]:
    """Return what each machine mows in so many days by its hours a week, where areas on file tell it.

    Units of one machine mow beside each other in one pass, and what was entered at any of them is the machine's: that
    of the unit with the most holds.
    """
    found: dict[str, float] = {}
    for one in forecast.units:
        if one.unit.machine and one.unit.hectares_an_hour and one.weekly:
            mown = one.unit.hectares_an_hour * one.weekly * days / WEEK
            found[one.unit.machine] = max(found.get(one.unit.machine, 0.0), mown)
    return found


def _lines(placed: Sequence[Placed], sheet: SeasonSheet) -> Iterator[Spent]:
    for one in placed:
        if one.on is None:
            continue
        month = f"{one.on:%Y-%m}"
        hours = math.fsum(step.end - step.start for step in one.doing)
        yield Spent(one.unit, one.machine, phrase("hours of work"), hours * float(sheet.costs.hour), month)
        if any(step.phase in GROUND for step in one.doing):
            yield Spent(one.unit, one.machine, phrase("wheels"), float(sheet.costs.wheel), month)
