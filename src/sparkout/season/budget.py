"""What a season will cost, with its uncertainty: sharpenings to come, edges spoilt before their time, reels to buy."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, Phrase, phrase
from sparkout.core.season.cost import Budget, Item, budget, sharpenings
from sparkout.season.forecast import Forecast, UnitAhead, cost_of_one
from sparkout.season.sheet import WEEK, SeasonSheet
from sparkout.season.spend import PartAhead
from sparkout.season.work import usual_times, wanted

DRAWS = 4000
"""Of each unit's sharpenings; the spread of their number is told to about a fiftieth."""
_LONGEST, _SHAPES = 1e5, (0.2, 20.0)
"""Lives (h) and shapes between which edges are simulated; a life beyond is none that a season would notice."""

Counts = tuple[float, ...]


@dataclass(frozen=True, slots=True)
class BudgetAhead:
    """A season's budget, from its first day still to come to its last."""

    first: datetime.date
    last: datetime.date
    found: Budget | None
    """None where nothing on file will cost anything."""
    left_out: tuple[Phrase, ...]
    """What is not in it, and why."""


def budget_ahead(
    forecast: Forecast,
    sheet: SeasonSheet,
    parts: Sequence[PartAhead],
    today: datetime.date,
    start: datetime.date,
    end: datetime.date,
) -> BudgetAhead:
    """Return what the season will cost: 90 % and 50 % intervals, and the share of each cause in the doubt.

    A unit is sharpened as often as it comes due; where the workshop's edge life is known, also when its edge goes,
    which costs the sheet's extra. Reels count beyond those on the shelf. A season may be busier by the sheet's share,
    which all have in common; a price may be dearer by the sheet's share, each for itself.

    Validity: how often edges are spoilt is taken as independent of how often they are sharpened, which it is not quite:
    the spread is told a little too small.

    Source: `core.season.cost`.
    """
    left_out: list[Phrase] = []
    counts: dict[tuple[Phrase, float], list[Counts]] = {}
    rng = np.random.default_rng(0)
    for one in forecast.units:
        if one.due is None:
            left_out.append(phrase("{unit}: {why}", unit=AsTyped(one.unit.name), why=one.missing[0]))
            continue
        times, spoilt = _of_unit(forecast, one, sheet, today, start, end, rng)
        cause = phrase("sharpening with a relief grind") if one.unit.relief else phrase("sharpening")
        counts.setdefault((cause, cost_of_one(sheet, relief=one.unit.relief)), []).append(times)
        if spoilt is not None:
            counts.setdefault((phrase("cuts spoilt before the sharpening"), float(sheet.costs.sooner)), []).append(
                spoilt
            )
    items = [Item(cause, _added(each), _price(price, sheet)) for (cause, price), each in counts.items() if price > 0.0]
    if forecast.life is None and items:
        left_out.append(phrase("edges that go before their time: this workshop's edge life is not known yet"))
    for part in parts:
        price = 0.0 if part.shelf is None else float(part.shelf.price)
        if part.shelf is None or price <= 0.0:
            told = phrase("{part}: the season sheet has no price of it", part=AsTyped(part.part))
            left_out.append(told)
            continue
        items.append(Item(AsTyped(part.part), _beyond(part.pieces, part.shelf.on_shelf), _price(price, sheet)))
    left_out.append(phrase("rollers, fuel and what else the season sheet has no price of"))
    found = budget(items, np.random.default_rng(1), float(sheet.costs.busier)) if items else None
    return BudgetAhead(start, end - datetime.timedelta(days=1), found, tuple(left_out))


def _of_unit(
    forecast: Forecast,
    one: UnitAhead,
    sheet: SeasonSheet,
    today: datetime.date,
    start: datetime.date,
    end: datetime.date,
    rng: np.random.Generator,
) -> tuple[Counts, Counts | None]:
    """Return the chances of 0, 1, 2 ... sharpenings of a unit in the season, and of those because its edge went."""
    days, early = (end - start).days, (start - today).days
    if days < 1:
        return (1.0,), None
    sure = len(wanted(one, sheet, start, days, early))
    if forecast.life is None or one.weekly is None:
        return (*(0.0,) * sure, 1.0), None
    life = forecast.life
    age = (one.unit.hours or 0.0) - (one.unit.sharpened or 0.0) + early * one.weekly / WEEK
    found = sharpenings(
        one.weekly * days / WEEK,
        min(life.characteristic_life([1.0]), _LONGEST),
        min(max(life.shape, _SHAPES[0]), _SHAPES[1]),
        one.interval,
        rng,
        DRAWS,
        min(max(age, 0.0), _LONGEST),
    )
    for_occasions = max(sure - len(usual_times(one, days, early)), 0)
    return (*(0.0,) * for_occasions, *found.times), found.spoilt


def _added(each: Sequence[Counts]) -> Counts:
    """Return the chance of 0, 1, 2 ... of all units together, independent of each other."""
    made = np.ones(1)
    for one in each:
        made = np.convolve(made, one)
    return tuple((made / made.sum()).tolist())


def _beyond(pieces: Counts, there: int) -> Counts:
    """Return the chance of 0, 1, 2 ... pieces beyond those that are there."""
    return (sum(pieces[: there + 1]), *pieces[there + 1 :])


def _price(price: float, sheet: SeasonSheet) -> Measured:
    return Measured(price, price * float(sheet.costs.dearer))
