"""What the season costs in the workshop's own money, and which reels to order when."""

from __future__ import annotations

import datetime
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr, ndtri

from sparkout.core.phrase import phrase
from sparkout.core.season.cost import Spending, Spent, spending
from sparkout.core.season.parts import Coming, Stocked, chances_by_period, demand, order_list, quantile
from sparkout.core.season.wear import CHANCES
from sparkout.season.forecast import Ends
from sparkout.season.placing import Placed
from sparkout.season.sheet import GROUND, SeasonSheet, Shelf

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
class PartAhead:
    """A type of reel over the season: how many are wanted, and what to order."""

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


def chance_by(ends: Ends, days: Sequence[float]) -> list[float]:
    """Return the chance that a reel has reached its limit by so many days from today.

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
    """Return the demand for each type of reel over the season's weeks, and what to order.

    Parameters
    ----------
    units : name, type of reel and when it reaches its limit, of each unit
    """
    early = (start - today).days
    ends_of_weeks = [float(early + 7 * k) for k in range(weeks + 1)]
    coming = [
        Coming(part, name, chances_by_period(chance_by(ends, ends_of_weeks)))
        for name, part, ends in units
        if ends is not None and ends.days
    ]
    known = {shelf.part: shelf for shelf in sheet.parts}
    return tuple(_part(part, coming, known.get(part), start) for part in dict.fromkeys(one.part for one in coming))


def _part(part: str, coming: Sequence[Coming], shelf: Shelf | None, start: datetime.date) -> PartAhead:
    wanted = demand(part, coming)
    tail = (1.0 - COVERAGE) / 2.0
    season = math.fsum(wanted.mean), quantile(wanted.total, tail), quantile(wanted.total, 1.0 - tail)
    if shelf is None:
        return PartAhead(part, *season, None, (), 0.0)
    found = order_list(
        wanted, Stocked(part, shelf.on_shelf, shelf.lead_weeks, shelf.pack, price=float(shelf.price)), SERVICE
    )
    orders = tuple(
        ToOrder(_week(start, one.period), one.pieces, _week(start, one.comes), one.money) for one in found.orders
    )
    return PartAhead(part, *season, shelf, orders, found.before)


def _week(start: datetime.date, period: int) -> datetime.date:
    return start + datetime.timedelta(weeks=period)


def spent(placed: Sequence[Placed], overtime: float, sheet: SeasonSheet) -> Spending:
    """Return what the planned work costs by unit, machine, month and cause: hours, overtime's extra, wheels.

    Parameters
    ----------
    overtime : of the plan, in the sheet's money
    """
    lines = list(_lines(placed, sheet))
    if overtime > 0.0:
        lines.append(Spent("", "", phrase("overtime"), overtime))
    return spending(lines)


def _lines(placed: Sequence[Placed], sheet: SeasonSheet) -> Iterator[Spent]:
    for one in placed:
        if one.on is None:
            continue
        month = f"{one.on:%Y-%m}"
        hours = math.fsum(step.end - step.start for step in one.doing)
        yield Spent(one.unit, one.machine, phrase("hours of work"), hours * float(sheet.costs.hour), month)
        if any(step.phase in GROUND for step in one.doing):
            yield Spent(one.unit, one.machine, phrase("wheels"), float(sheet.costs.wheel), month)
