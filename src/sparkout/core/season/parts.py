"""Parts the season will take: demand by period with its intervals, and what to order when.

A period is a week or a month, as the caller counts. Replacements that the forecast sees coming (a reel at its service
diameter, a knife at its lip) happen once a unit, in one period or not in the season at all: the demand of a period is a
sum of unlike yes-or-no events (Poisson binomial), worked out exactly. Parts that go by use are Poisson.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaln, xlogy

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange, all_within, within
from sparkout.core.phrase import phrase

Floats: TypeAlias = NDArray[np.float64]
_SURE = 1e-12


@dataclass(frozen=True, slots=True)
class Coming:
    """A part that one unit will want once: the chance that it falls in each period, and how many pieces it takes."""

    part: str
    unit: str
    chances: tuple[float, ...]
    """By period; together at most 1: the rest is the chance that it outlasts the season."""
    pieces: int = 1


@dataclass(frozen=True, slots=True)
class ByUse:
    """A part that goes by use: expected pieces in each period."""

    part: str
    rates: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Demand:
    """Demand for one part by period: mean, and the least and most that the coverage allows."""

    part: str
    mean: tuple[float, ...]
    low: tuple[int, ...]
    high: tuple[int, ...]
    until: tuple[Floats, ...]
    """Distribution of the demand from now to the end of each period: chance of 0, 1, 2 ... pieces."""

    @property
    def total(self) -> Floats:
        """Distribution of the whole season's demand."""
        return self.until[-1]


@dataclass(frozen=True, slots=True)
class Stocked:
    """A part as it is kept: on the shelf, on order (pieces in by the start of a period), lead time, pack, price."""

    part: str
    on_shelf: int
    lead: int
    """Periods from ordering to having."""
    pack: int = 1
    on_order: tuple[tuple[int, int], ...] = ()
    """(period in which they come, pieces)"""
    price: float = 0.0


@dataclass(frozen=True, slots=True)
class Order:
    """One line of the order list: at the start of which period, how many, when they come."""

    part: str
    period: int
    pieces: int
    comes: int
    money: float


@dataclass(frozen=True, slots=True)
class OrderList:
    """What to order over a season, and what no order can help."""

    orders: tuple[Order, ...]
    chance: float
    """Least chance over the periods, from the first an order can reach, of never having run out by its end."""
    before: float
    """Chance of running out before anything ordered now can be there."""
    wanted_now: int
    """Pieces to have on the shelf and on order now: what the lead time and one period ask for. Order when fewer."""


def chances_by_period(reached: ArrayLike) -> tuple[float, ...]:
    """Return the chance of falling in each period from the chance of having been reached by the start and each end.

    A chance that sinks (a forecast whose spread grows) is held at the most so far.

    Examples
    --------
    >>> [round(chance, 6) for chance in chances_by_period([0.0, 0.1, 0.4, 0.4])]
    [0.1, 0.3, 0.0]

    Raises
    ------
    OutOfRange
        Chances outside 0 to 1, or fewer than two.
    """
    ends = all_within("reached", reached, 0.0, 1.0)
    if ends.size < 2:
        raise OutOfRange("number of reached", ends.size, "at least 2")
    risen = np.maximum.accumulate(ends)
    risen[0] = 0.0  # due already: it falls in the first period
    return tuple(np.diff(risen).tolist())


def demand(part: str, coming: Sequence[Coming], by_use: Sequence[ByUse] = (), coverage: float = 0.9) -> Demand:
    """Return the demand for a part by period, with intervals, and its distribution from now on.

    Units independent: chances of 0, 1, 2 ... are the product of the units' generating functions; use is Poisson.

    Parameters
    ----------
    coming, by_use : of any parts; those of this part are taken
    coverage : of the intervals, in (0, 1)

    Raises
    ------
    NotEnough
        Nothing that tells of this part.
    Contradiction
        Unlike numbers of periods.
    OutOfRange
        Chances below 0 or together above 1, pieces below 1, rates below 0.

    Examples
    --------
    >>> found = demand("reel", [Coming("reel", "A", (0.5, 0.25)), Coming("reel", "B", (0.5, 0.5))])
    >>> found.mean, [round(float(p), 3) for p in found.total]
    ((1.0, 0.75), [0.0, 0.25, 0.75])

    Source: Poisson binomial and Poisson distributions; common practice in stock keeping.
    """
    within("coverage", coverage, 0.0, 0.999999, above=True)
    mine = [one for one in coming if one.part == part]
    used = [one for one in by_use if one.part == part]
    if not mine and not used:
        raise NotEnough(phrase("demand for {part}", part=part), phrase("a forecast or a use of it"))
    sizes = {len(one.chances) for one in mine} | {len(one.rates) for one in used}
    if len(sizes) > 1:
        raise Contradiction([part], phrase("its forecasts run over unlike numbers of periods"))
    (periods,) = sizes
    if periods == 0:
        raise OutOfRange("number of periods", 0, "at least 1")
    for one in mine:
        all_within(f"chances of {one.part} for {one.unit}", one.chances, 0.0, 1.0)
        within(f"chances together of {one.part} for {one.unit}", sum(one.chances), 0.0, 1.0 + 1e-9)
        within(f"pieces of {one.part} for {one.unit}", one.pieces, 1, 1000)
    for use in used:
        all_within(f"use of {part}", use.rates, 0.0, 1e4)
    rates = np.sum([use.rates for use in used], axis=0) if used else np.zeros(periods)
    shares = np.array([one.chances for one in mine]).reshape(len(mine), periods)
    pieces = [one.pieces for one in mine]
    single = [_distribution(shares[:, p], pieces, float(rates[p])) for p in range(periods)]
    ends = np.minimum(np.cumsum(shares, axis=1), 1.0)
    until = tuple(_distribution(ends[:, p], pieces, float(rates[: p + 1].sum())) for p in range(periods))
    tail = (1.0 - coverage) / 2.0
    return Demand(
        part,
        tuple((shares.T @ np.array(pieces, dtype=np.float64) + rates).tolist()) if mine else tuple(rates.tolist()),
        tuple(quantile(one, tail) for one in single),
        tuple(quantile(one, 1.0 - tail) for one in single),
        until,
    )


def quantile(distribution: Floats, chance: float) -> int:
    """Return the least number that is not exceeded with this chance.

    Examples
    --------
    >>> quantile(np.array([0.5, 0.25, 0.25]), 0.75)
    1
    """
    at = int(np.searchsorted(np.cumsum(distribution), chance - _SURE))
    return min(at, distribution.size - 1)


def order_list(wanted: Demand, stocked: Stocked, service: float = 0.95) -> OrderList:
    """Return what to order at the start of which period so that a part is there when it is wanted.

    An order at the start of period t is there at the start of t + lead; the next chance to order is a period later. So
    it must cover, with what there is, the demand from now to the end of period t + lead: the least whole packs with
    P(demand by then ≤ pieces had by then) ≥ service. Nothing is ordered for periods beyond the season.

    Raises
    ------
    OutOfRange
        Naming the argument.

    Examples
    --------
    >>> season = demand("knife", [], [ByUse("knife", (1.0, 1.0, 1.0, 1.0))])
    >>> found = order_list(season, Stocked("knife", 3, lead=1), 0.95)
    >>> [(order.period, order.pieces, order.comes) for order in found.orders]
    [(0, 2, 1), (1, 1, 2), (2, 2, 3)]

    Validity: demand independent of what is ordered; a part missing is still wanted later.

    Source: base stock with service level over lead time and review period; common practice in stock keeping.
    """
    within("service", service, 0.0, 0.999999, above=True)
    within(f"{stocked.part} on the shelf", stocked.on_shelf, 0, 1_000_000)
    within(f"lead of {stocked.part}", stocked.lead, 0, 1000, "periods")
    within(f"pack of {stocked.part}", stocked.pack, 1, 100_000)
    within(f"price of {stocked.part}", stocked.price, 0.0, 1e9)
    for comes, pieces in stocked.on_order:
        within(f"period of an order of {stocked.part}", comes, 0, 1_000_000)
        within(f"pieces on order of {stocked.part}", pieces, 0, 1_000_000)
    periods = len(wanted.until)
    there = [stocked.on_shelf + sum(n for comes, n in stocked.on_order if comes <= p) for p in range(periods)]
    orders: list[Order] = []
    more = 0
    for p in range(max(0, periods - stocked.lead)):
        comes = p + stocked.lead
        short = quantile(wanted.until[comes], service) - there[comes] - more
        if short > 0:
            pieces = -(-short // stocked.pack) * stocked.pack
            more += pieces
            orders.append(Order(stocked.part, p, pieces, comes, pieces * stocked.price))
    had = [there[p] + sum(order.pieces for order in orders if order.comes <= p) for p in range(periods)]
    kept = [float(wanted.until[p][: had[p] + 1].sum()) for p in range(periods)]
    first = min(stocked.lead, periods)
    look = wanted.until[min(stocked.lead, periods - 1)]
    return OrderList(
        tuple(orders),
        min(kept[first:], default=1.0),
        max(0.0, 1.0 - min(kept[:first], default=1.0)),
        quantile(look, service),
    )


def _distribution(chances: Floats, pieces: Sequence[int], rate: float) -> Floats:
    """Return the chances of 0, 1, 2 ... pieces: each unit's pieces or none, and Poisson use."""
    found = np.ones(1)
    for chance, n in zip(chances.tolist(), pieces, strict=True):
        if chance > 0.0:
            longer = np.zeros(found.size + n)
            longer[: found.size] = (1.0 - chance) * found
            longer[n:] += chance * found
            found = longer
    if rate > 0.0:
        k = np.arange(int(rate + 12.0 * np.sqrt(rate) + 20.0))
        found = np.convolve(found, np.exp(xlogy(k, rate) - rate - gammaln(k + 1.0)))
    return found
