"""When to sharpen, and parts on the shelf."""

from __future__ import annotations

from sparkout.catalogue.entry import Input, Result, calculation

HOUR = 3600.0
BOOK = "Snyder and Shen, Fundamentals of Supply Chain Theory (as quoted)"


def _money(key: str, words: str, *, above: bool = False, default: float | None = None) -> Input:
    return Input(key, "money", "", words, 0.0, 1e9, above=above, default=default)


@calculation(
    "best-sharpening-interval",
    "Hours between sharpenings that cost least",
    inputs=(
        Input("characteristic_life", "time", "h", "hours by which 63 % of edges are blunt", 0.0, 1e5, above=True),
        Input("shape", "number", "", "Weibull shape: 1 accidents only, 3 and more clear wear", 0.2, 20.0),
        _money("planned", "cost of a sharpening at its time: time, wheel, metal", above=True),
        _money("unplanned", "cost of one that came by itself, spoilt cut and hire included", default=0.0),
        _money("blunt_per_hour", "or: cost of each hour cut blunt until the next sharpening", default=0.0),
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
        _money("order_cost", "of one order, however many parts", above=True),
        _money("keeping_cost", "of one part on the shelf for a year", above=True),
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


ENTRIES = (best_sharpening_interval, reorder_point, order_quantity)
