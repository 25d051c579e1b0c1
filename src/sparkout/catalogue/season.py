"""When to sharpen, and parts on the shelf."""

from __future__ import annotations

from sparkout.catalogue.entry import Input, Result, calculation
from sparkout.core.errors import OutOfRange
from sparkout.core.phrase import phrase

HOUR = 3600.0
BOOK = "Snyder and Shen, Fundamentals of Supply Chain Theory (as quoted)"


def money(key: str, words: str, *, above: bool = False, default: float | None = None) -> Input:
    """Return an input that is an amount of money."""
    return Input(key, "money", "", words, 0.0, 1e9, above=above, default=default)


@calculation(
    "best-sharpening-interval",
    "Hours between sharpenings that cost least",
    inputs=(
        Input("characteristic_life", "time", "h", "hours by which 63 % of edges are blunt", 0.0, 1e5, above=True),
        Input("shape", "number", "", "Weibull shape: 1 accidents only, 3 and more clear wear", 0.2, 20.0),
        money("planned", "cost of a sharpening at its time: time, wheel, metal", above=True),
        money("unplanned", "cost of one that came by itself, spoilt cut and hire included", default=0.0),
        money("blunt_per_hour", "or: cost of each hour cut blunt until the next sharpening", default=0.0),
    ),
    results=(
        Result("interval", "time", "h", "the best; none (infinite) when waiting is cheapest"),
        Result("cost", "money", "", "an hour, at the best interval"),
        Result("from", "time", "h", "from here on hardly dearer (5 %)"),
        Result("to", "time", "h", "up to here hardly dearer (5 %)"),
    ),
    equation="least of (planned R + unplanned F) / ∫R, or (planned + blunt ∫F) / t; R = exp(-(t/η)^k)",
    source="renewal reward, Barlow and Hunter 1960 (as quoted in our notes)",
    validity="each sharpening makes the edge as good as new; costs do not change",
    example="characteristic_life=40 shape=2.5 planned=25 unplanned=125",
)
def best_sharpening_interval(
    characteristic_life: float, shape: float, planned: float, unplanned: float, blunt_per_hour: float
) -> dict[str, float]:
    """Best interval."""
    from sparkout.core.season.interval import best_interval

    found = best_interval(characteristic_life / HOUR, shape, planned, unplanned, blunt_per_hour)
    times = {"interval": found.hours, "from": found.within_low, "to": found.within_high}
    return {name: hours * HOUR for name, hours in times.items()} | {"cost": found.cost}


@calculation(
    "reorder-point",
    "How many parts must be left when the next are ordered",
    inputs=(
        Input("use_per_week", "number", "", "parts used a week", 0.0, 1000.0),
        Input("lead_weeks", "number", "", "weeks from order to shelf", 0.0, 200.0),
        Input("service", "fraction", "%", "chance wanted of not running out", 1.0, 99.99, default=95.0),
    ),
    results=(
        Result("reorder_point", "count", "", "order when this many are left"),
        Result("chance", "fraction", "%", "of then not running out"),
    ),
    equation="least n with Poisson(n; use × lead) at least the chance wanted",
    source="base stock for a service level; common practice in stock keeping",
    validity="parts fail one by one and independently",
    example='use_per_week=0.5 lead_weeks=4 service="95 %"',
)
def reorder_point(use_per_week: float, lead_weeks: float, service: float) -> dict[str, float]:
    """Reorder point."""
    from sparkout.core.season.stock import reorder_point

    found = reorder_point(use_per_week, lead_weeks, service)
    return {"reorder_point": found.point, "chance": found.chance}


@calculation(
    "order-quantity",
    "How many parts to order at once",
    inputs=(
        money("order_cost", "of one order, however many parts", above=True),
        money("keeping_cost", "of one part on the shelf for a year", above=True),
        Input("use_per_year", "number", "", "parts used a year", 0.0, 1e6, above=True),
    ),
    results=(
        Result("quantity", "number", "", "parts an order"),
        Result("cost", "money", "", "a year, ordering and keeping together"),
    ),
    equation="Q = √(2 K λ / h)",
    source=f"economic order quantity, {BOOK}",
    validity="even use",
    example="order_cost=8 keeping_cost=0.225 use_per_year=1300",
)
def order_quantity(order_cost: float, keeping_cost: float, use_per_year: float) -> dict[str, float]:
    """Economic order quantity."""
    from sparkout.core.season.stock import order_quantity

    found = order_quantity(order_cost, keeping_cost, use_per_year)
    return {"quantity": found.quantity, "cost": found.cost}


@calculation(
    "edges-compared",
    "How long edges last with two ways of working",
    inputs=(
        Input("first", "list", "", "hours of each edge that went blunt, the first way", 0.0, 1e5, above=True),
        Input("second", "list", "", "the same, the second way", 0.0, 1e5, above=True),
        Input(
            "first_running",
            "list",
            "",
            "hours so far of edges still cutting or taken off for another reason, the first way",
            0.0,
            1e5,
            above=True,
            optional=True,
        ),
        Input("second_running", "list", "", "the same, the second way", 0.0, 1e5, above=True, optional=True),
        Input("to_tell", "number", "", "the least ratio worth telling", 1.0, 100.0, above=True, default=1.25),
    ),
    results=(
        Result("ratio", "number", "", "so many times as long with the second way"),
        Result("low", "number", "", "its 95 % interval, from"),
        Result("high", "number", "", "to"),
        Result("first_median", "time", "h", "half the edges last longer, the first way"),
        Result("second_median", "time", "h", "the same, the second way"),
        Result("more_sharpenings", "count", "", "sharpenings still needed to tell; 0 when told"),
    ),
    equation="log T = a + b·way + σ W, W least extreme value; ratio = exp(b), interval exp(b ± 1.96 u)",
    source="Weibull regression; Kalbfleisch and Prentice, section 2.2 (from memory)",
    validity="which edge got which way had nothing to do with how long it would have lasted; 80 % power",
    example='first="20, 24, 31, 36" second="26, 33, 38, 48"',
)
def edges_compared(
    first: list[float],
    second: list[float],
    to_tell: float,
    first_running: list[float] | None = None,
    second_running: list[float] | None = None,
) -> dict[str, float]:
    """Two ways of working."""
    from sparkout.core.season.ways import EdgeCut, ways_compared

    given = (("first", first, True), ("second", second, True))
    running = (("first", first_running or [], False), ("second", second_running or [], False))
    edges = [EdgeCut(way, hours, blunt) for way, lives, blunt in (*given, *running) for hours in lives]
    told = ways_compared(edges, "first", "second", to_tell)
    found = told.compared
    medians = {"first_median": told.median_first * HOUR, "second_median": told.median_second * HOUR}
    ratios = {"ratio": found.ratio, "low": found.low, "high": found.high}
    return ratios | medians | {"more_sharpenings": found.more_sharpenings}


def _whole(key: str, value: float) -> int:
    """Return a number that is to be whole."""
    if value != int(value):
        raise OutOfRange(key, value, phrase("a whole number"))
    return int(value)


@calculation(
    "parts-to-order",
    "How many of a part to order in which week",
    inputs=(
        Input("use", "list", "", "pieces expected to be used in each week, from this one on", 0.0, 1e4),
        Input("on_shelf", "number", "", "pieces on the shelf", 0.0, 1e6),
        Input("lead_weeks", "number", "", "whole weeks from order to shelf", 0.0, 200.0),
        Input("pack", "number", "", "pieces in a pack", 1.0, 1e5, default=1.0),
        Input("service", "fraction", "%", "chance wanted of not running out", 1.0, 99.99, default=95.0),
    ),
    results=(
        Result("orders", "list", "", "pieces to order at the start of each week"),
        Result("wanted_now", "count", "", "pieces to have on the shelf and on order now"),
        Result("chance", "fraction", "%", "least chance of not having run out, from when an order can be there"),
        Result("before", "fraction", "%", "chance of running out before any order can be there"),
    ),
    equation="least whole packs with P(use until the end of week t + lead ≤ pieces had by then) ≥ service",
    source="base stock over lead time and review; common practice in stock keeping",
    validity="Poisson use; a part missing is still wanted later; nothing is ordered for after the last week",
    example="use=[0.5,0.5,1,1,2,2] on_shelf=2 lead_weeks=2",
)
def parts_to_order(
    use: list[float], on_shelf: float, lead_weeks: float, pack: float, service: float
) -> dict[str, object]:
    """Order list."""
    from sparkout.core.season.parts import ByUse, Stocked, demand, order_list

    wanted = demand("part", [], [ByUse("part", tuple(use))])
    stocked = Stocked("part", _whole("on_shelf", on_shelf), _whole("lead_weeks", lead_weeks), _whole("pack", pack))
    found = order_list(wanted, stocked, service)
    orders = [0.0] * len(use)
    for order in found.orders:
        orders[order.period] = float(order.pieces)
    chances = {"chance": found.chance, "before": found.before}
    return {"orders": orders, "wanted_now": found.wanted_now} | chances


ENTRIES = (best_sharpening_interval, reorder_point, order_quantity, edges_compared, parts_to_order)
