"""Parts on the shelf: how many, when to order, for which chance of not running out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from scipy.special import ndtr, ndtri, pdtr

from sparkout.core.errors import within

_ROOT_TWO_PI = math.sqrt(2.0 * math.pi)


@dataclass(frozen=True, slots=True)
class OrderQuantity:
    """The quantity to order at a time, and what ordering and keeping cost in the period of the demand."""

    quantity: float
    cost: float


@dataclass(frozen=True, slots=True)
class OrderUpTo:
    """The level to order up to, and the expected cost of keeping and of running out in one period."""

    level: float
    cost: float


@dataclass(frozen=True, slots=True)
class ReorderPoint:
    """Order when this many are left; `chance` is that of not running out before the order is in."""

    point: int
    chance: float
    expected: float
    """Expected use during the lead time."""


def order_quantity(order_cost: float, keeping_cost: float, demand: float) -> OrderQuantity:
    """Return the order quantity that costs least, √(2 K λ/h).

    Parameters
    ----------
    order_cost : money an order
    keeping_cost : money a piece and period
    demand : pieces a period

    Examples
    --------
    >>> round(order_quantity(8, 0.225, 1300).quantity, 4)
    304.0468

    Raises
    ------
    OutOfRange
        Naming the argument.

    Source: economic order quantity; Snyder and Shen, Fundamentals of Supply Chain Theory, example 3.1 (as quoted).
    """
    for name, value in (("order_cost", order_cost), ("keeping_cost", keeping_cost), ("demand", demand)):
        within(name, value, 0.0, math.inf, above=True)
    return OrderQuantity(
        math.sqrt(2.0 * order_cost * demand / keeping_cost), math.sqrt(2.0 * order_cost * demand * keeping_cost)
    )


def order_up_to(
    keeping_cost: float, shortage_cost: float, mean: float, spread: float, lead_time: float = 0.0
) -> OrderUpTo:
    """Return the level to order up to under normal demand, μ + σ Φ⁻¹(p/(p + h)) over lead time plus one period.

    With no lead time this is the newsvendor's quantity. Cost: (h + p) σ φ(z).

    Parameters
    ----------
    keeping_cost, shortage_cost : money a piece and period
    mean, spread : pieces a period
    lead_time : periods between ordering and having; demand runs on for one period more before the next order helps

    Examples
    --------
    >>> round(order_up_to(0.18, 0.70, 50, 8).level, 4)
    56.604

    Raises
    ------
    OutOfRange
        Naming the argument.

    Source: Snyder and Shen, examples 4.3 (newsvendor) and 4.4 (base stock, lead time 4), as quoted.
    """
    for name, value in (("keeping_cost", keeping_cost), ("shortage_cost", shortage_cost), ("spread", spread)):
        within(name, value, 0.0, math.inf, above=True)
    within("mean", mean, 0.0, math.inf)
    within("lead_time", lead_time, 0.0, math.inf)
    periods = lead_time + 1.0
    z = float(ndtri(shortage_cost / (shortage_cost + keeping_cost)))
    sigma = spread * math.sqrt(periods)
    cost = (keeping_cost + shortage_cost) * sigma * math.exp(-z * z / 2.0) / _ROOT_TWO_PI
    return OrderUpTo(mean * periods + sigma * z, cost)


def cost_of_level(level: float, keeping_cost: float, shortage_cost: float, mean: float, spread: float) -> float:
    """Return the expected cost of one period that begins with `level` pieces, normal demand.

    h (S − μ) + (h + p) σ (φ(z) − z (1 − Φ(z))), z = (S − μ)/σ.

    Examples
    --------
    >>> round(cost_of_level(40, 0.18, 0.70, 50, 8), 6), round(cost_of_level(60, 0.18, 0.70, 50, 8), 6)
    (7.356132, 2.156132)
    """
    within("spread", spread, 0.0, math.inf, above=True)
    z = (level - mean) / spread
    lost = spread * (math.exp(-z * z / 2.0) / _ROOT_TWO_PI - z * (1.0 - float(ndtr(z))))
    return keeping_cost * (level - mean) + (keeping_cost + shortage_cost) * lost


def reorder_point(use: float, lead_time: float, chance: float = 0.95, spread: float | None = None) -> ReorderPoint:
    """Return how many must be left when the next are ordered, for a chance of not running out.

    Without `spread` the use in the lead time is Poisson (single failures far apart); with it, normal and rounded up.

    Parameters
    ----------
    use : pieces a week
    lead_time : weeks
    chance : service level, in (0, 1)
    spread : standard deviation of the use in one week, when the forecast gives it

    Examples
    --------
    >>> found = reorder_point(0.5, 4, 0.95)
    >>> found.point, round(found.chance, 4)
    (5, 0.9834)

    Raises
    ------
    OutOfRange
        Naming the argument.
    Source: base stock for a service level; common practice in stock keeping.
    """
    within("use", use, 0.0, math.inf)
    within("lead_time", lead_time, 0.0, math.inf, unit="weeks")
    within("chance", chance, 0.0, 0.999999, above=True)
    expected = use * lead_time
    if spread is None:
        point = 0
        while float(pdtr(point, expected)) < chance:
            point += 1
        return ReorderPoint(point, float(pdtr(point, expected)), expected)
    within("spread", spread, 0.0, math.inf, above=True)
    sigma = spread * math.sqrt(lead_time)
    if sigma == 0.0:
        return ReorderPoint(0, 1.0, expected)
    point = max(0, math.ceil(expected + sigma * float(ndtri(chance))))
    return ReorderPoint(point, float(ndtr((point - expected) / sigma)), expected)
