"""What the cutting units cost: by unit, machine, hectare and cause; and next season's budget with its uncertainty."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

Floats: TypeAlias = NDArray[np.float64]
LEVELS = (0.05, 0.25, 0.5, 0.75, 0.95)
"""Chances that a budget is told at: the middle, and the ends of the intervals of 50 and 90 %."""


@dataclass(frozen=True, slots=True)
class Spent:
    """Money spent (or that will be): on which unit of which machine, why, in which period."""

    unit: str
    machine: str
    cause: str
    money: float
    period: str = ""


@dataclass(frozen=True, slots=True)
class Spending:
    """Money added up; `per_hectare` by machine, for those whose hectares are known."""

    total: float
    by_unit: dict[str, float]
    by_machine: dict[str, float]
    by_cause: dict[str, float]
    by_period: dict[str, float]
    per_hectare: dict[str, float]
    hectares_missing: tuple[str, ...]
    """Machines that cost money but whose hectares are not known: left out of `per_hectare`."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing a season is paid for: how many, as a distribution, at which price each.

    The price's uncertainty is common to all of them (it is not known yet), not from one to the next.
    """

    cause: str
    count: tuple[float, ...]
    """Chance of 0, 1, 2 ... of them."""
    price: Measured
    by_activity: bool = True
    """Whether a season that is busier than forecast takes more of it in proportion."""


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """A cause's part of the budget: mean, standard deviation, share of the budget's variance, and `LEVELS`."""

    cause: str
    mean: float
    spread: float
    share_of_doubt: float
    """Of the variance of all causes, taken one by one: the busy season they have in common is not in it."""
    levels: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Budget:
    """Next season's money: mean and spread exact, `levels` simulated at `LEVELS`."""

    mean: float
    spread: float
    levels: tuple[float, ...]
    lines: tuple[BudgetLine, ...]


def spending(lines: Sequence[Spent], hectares: Mapping[str, float] | None = None) -> Spending:
    """Return money by unit, machine, cause and period, and by hectare where the hectares of a machine are known.

    Parameters
    ----------
    hectares : by machine, above 0, over the same time as the money

    Raises
    ------
    OutOfRange
        Money that is not finite, hectares not above 0; named with the unit or machine.

    Examples
    --------
    >>> told = spending([Spent("A", "M", "wheel", 10.0), Spent("B", "M", "labour", 30.0)], {"M": 8.0})
    >>> told.by_cause, told.per_hectare
    ({'wheel': 10.0, 'labour': 30.0}, {'M': 5.0})
    """
    for line in lines:
        within(f"{line.cause} of {line.unit}", line.money, -1e12, 1e12)
    known = {machine: within(f"hectares of {machine}", area, 0.0, 1e9, "ha", above=True)
             for machine, area in (hectares or {}).items()}  # fmt: skip
    by_machine = _added(lines, lambda line: line.machine)
    return Spending(
        math.fsum(line.money for line in lines),
        _added(lines, lambda line: line.unit),
        by_machine,
        _added(lines, lambda line: line.cause),
        _added(lines, lambda line: line.period),
        {machine: money / known[machine] for machine, money in by_machine.items() if machine in known},
        tuple(machine for machine in by_machine if machine not in known),
    )


def _added(lines: Sequence[Spent], key: Callable[[Spent], str]) -> dict[str, float]:
    sums: dict[str, list[float]] = {}
    for line in lines:
        sums.setdefault(key(line), []).append(line.money)
    return {name: math.fsum(money) for name, money in sums.items()}


@dataclass(frozen=True, slots=True)
class Sharpened:
    """How often an edge is sharpened, and how often of these because it went: chance of 0, 1, 2 ... of each."""

    times: tuple[float, ...]
    spoilt: tuple[float, ...]


def sharpenings(
    hours: float,
    characteristic_life: float,
    shape: float,
    interval: float,
    rng: np.random.Generator,
    draws: int = 20_000,
    age: float = 0.0,
) -> Sharpened:
    """Return the chances of 0, 1, 2 ... sharpenings in so many hours: at the interval, or when the edge goes.

    Parameters
    ----------
    hours, characteristic_life, interval : h; an infinite interval sharpens only when the edge goes
    age : h that the edge there now has cut already

    Raises
    ------
    OutOfRange
        Naming the argument, or when it would be more than 10,000.

    Examples
    --------
    >>> sharpenings(100.0, 1e4, 20.0, 30.0, np.random.default_rng(0), 100)
    Sharpened(times=(0.0, 0.0, 0.0, 1.0), spoilt=(1.0,))

    Source: renewal process, by simulation.
    """
    within("hours", hours, 0.0, 1e5, "h")
    within("characteristic_life", characteristic_life, 0.0, 1e5, "h", above=True)
    within("shape", shape, 0.2, 20.0)
    within("draws", draws, 10, 10_000_000)
    within("age", age, 0.0, 1e5, "h")
    if not interval > 0.0:
        raise OutOfRange("interval", interval, "above 0", "h")
    counts, spoilt = np.zeros(draws, dtype=np.intp), np.zeros(draws, dtype=np.intp)
    used, old = np.zeros(draws), age
    for _ in range(10_000):
        luck = (old / characteristic_life) ** shape - np.log1p(-rng.random(draws))
        life = characteristic_life * luck ** (1.0 / shape) - old
        left = max(interval - old, 0.0)
        used += np.minimum(life, left)
        old = 0.0
        going = used <= hours
        if not going.any():
            return Sharpened(_chances(counts), _chances(spoilt))
        counts += going
        spoilt += going & (life < left)
    raise OutOfRange("interval", interval, phrase("large enough for less than 10000 sharpenings in the season"), "h")


def _chances(counts: NDArray[np.intp]) -> tuple[float, ...]:
    return tuple((np.bincount(counts) / counts.size).tolist())


def budget(items: Sequence[Item], rng: np.random.Generator, activity: float = 0.0, draws: int = 40_000) -> Budget:
    """Return next season's money with its uncertainty.

    Each item costs N·p, N from its distribution, p normal (never below 0 in the simulation); `activity` is the relative
    standard uncertainty of how much will be mown, a factor A common to all items that go by it. With means n, m and
    variances v, u²: mean n·m, variance (v + n²)(u² + m²)(1 + a²) − n²m² of an item; between items n₁m₁n₂m₂·a².

    Parameters
    ----------
    activity : 0 to 1

    Raises
    ------
    NotEnough
        No item.
    OutOfRange
        Chances that are below 0 or do not sum to 1, prices below 0, activity outside 0 to 1.

    Examples
    --------
    >>> found = budget([Item("reel", (0.5, 0.5), Measured(100.0, 0.0))], np.random.default_rng(1), draws=1000)
    >>> found.mean, found.spread
    (50.0, 50.0)

    Validity: items independent but for the activity they share; the factor scales money, not counts.

    Source: product of independent variables (exact); own working.
    """
    within("activity", activity, 0.0, 1.0)
    within("draws", draws, 100, 10_000_000)
    if not items:
        raise NotEnough(phrase("budget"), phrase("at least one thing the season is paid for"))
    for item in items:
        all_within(f"count of {item.cause}", item.count, 0.0, 1.0)
        within(f"chances together of {item.cause}", sum(item.count), 1.0 - 1e-6, 1.0 + 1e-6)
        within(f"price of {item.cause}", item.price.value, 0.0, 1e9)
    factor = np.maximum(0.0, 1.0 + activity * rng.standard_normal(draws))
    means, variances = [], []
    money: dict[str, Floats] = {}
    for item in items:
        mean, variance = _moments(item, activity)
        means.append(mean)
        variances.append(variance)
        drawn = rng.choice(len(item.count), draws, p=np.array(item.count) / sum(item.count))
        price = np.maximum(0.0, item.price.value + item.price.u * rng.standard_normal(draws))
        drawn_money = drawn * price * (factor if item.by_activity else 1.0)
        money[item.cause] = np.asarray(money.get(item.cause, 0.0) + drawn_money)
    total = math.fsum(variances)
    lines = []
    for cause, drawn_money in money.items():
        of = [i for i, item in enumerate(items) if item.cause == cause]
        share = sum(variances[i] for i in of) / total if total > 0.0 else 0.0
        spread = _spread([means[i] for i in of], [variances[i] for i in of], [items[i] for i in of], activity)
        lines.append(BudgetLine(cause, sum(means[i] for i in of), spread, share, _levels(drawn_money)))
    spread = _spread(means, variances, items, activity)
    return Budget(math.fsum(means), spread, _levels(np.sum(list(money.values()), axis=0)), tuple(lines))


def _levels(drawn: Floats) -> tuple[float, ...]:
    return tuple(np.quantile(drawn, LEVELS).tolist())


def _spread(means: Sequence[float], variances: Sequence[float], items: Sequence[Item], activity: float) -> float:
    """Return the standard deviation of items together, with the activity they share."""
    shared = [mean * activity for mean, item in zip(means, items, strict=True) if item.by_activity]
    between = sum(shared) ** 2 - sum(one**2 for one in shared)
    return math.sqrt(max(0.0, math.fsum(variances) + between))


def _moments(item: Item, activity: float) -> tuple[float, float]:
    """Return mean and variance of an item's money."""
    n = np.arange(len(item.count))
    chance = np.array(item.count)
    first, second = float(n @ chance), float(n**2 @ chance)
    a = activity if item.by_activity else 0.0
    mean = first * item.price.value
    return mean, max(0.0, second * (item.price.u**2 + item.price.value**2) * (1.0 + a * a) - mean**2)
