"""Growth between cuts, and how much of the grass one cut may take."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.catalogue.entry import Input, Result, calculation

if TYPE_CHECKING:
    from sparkout.core.cut.growth import Rule

GROWTH = Input("growth", "growth", "mm/day", "how fast the grass grows", 0.0, 200.0, above=True)
THIRD = 1.0 / 3.0
RULE = Input(
    "rule", "fraction", "", "largest share one cut may take: your own rule, or a third", 0.01, 0.95, default=THIRD
)
RULE_SOURCE = (
    "the one-third rule: Grounds Management Association, mowing the square; Cornell University; advice, no law"
)


@calculation(
    "growth-rate",
    "How fast uncut grass grows",
    inputs=(
        Input("first_height", "length", "mm", "height when first measured", 0.5, 500.0),
        Input("second_height", "length", "mm", "height when measured again, uncut in between", 0.5, 500.0),
        Input("interval", "time", "day", "time between the two", 0.01, 60.0),
    ),
    results=(Result("growth", "growth", "mm/day", "growth, the mean over the time"),),
    equation="g = (h2 - h1) / T",
    source="definition",
    validity="follows season, water and feeding",
    example="first_height=4 second_height=5.2 interval=2",
)
def growth_rate(first_height: float, second_height: float, interval: float) -> dict[str, float]:
    """Growth of uncut grass."""
    from sparkout.core.cut.growth import growth_rate

    return {"growth": growth_rate(first_height, second_height, interval)}


@calculation(
    "mowing-plan",
    "Height, interval and share: any two fix the third",
    inputs=(
        GROWTH,
        Input("height_of_cut", "length", "mm", "height kept", 0.5, 500.0, optional=True),
        Input("interval", "time", "day", "time between cuts", 0.01, 365.0, optional=True),
        Input("share", "fraction", "", "share of the standing grass each cut takes", 0.001, 0.99, optional=True),
        RULE,
    ),
    results=(
        Result("height_of_cut", "length", "mm", "height kept"),
        Result("interval", "time", "day", "time between cuts"),
        Result("share", "fraction", "%", "share of the standing grass each cut takes"),
        Result("grown", "length", "mm", "growth between cuts"),
        Result("standing", "length", "mm", "height before the cut"),
    ),
    equation="share = g T / (H + g T)",
    source=RULE_SOURCE,
    validity="even growth; give two of the three. A plan beyond the rule is refused, with the nearest that are not",
    example="growth=1 height_of_cut=4 share=0.3",
)
def mowing_plan(
    growth: float,
    rule: float,
    height_of_cut: float | None = None,
    interval: float | None = None,
    share: float | None = None,
) -> dict[str, float]:
    """The plan two of the three fix."""
    from sparkout.core.cut.growth import mowing_plan

    plan = mowing_plan(growth, height=height_of_cut, interval=interval, share=share, rule=_rule(rule))
    return {
        "height_of_cut": plan.height,
        "interval": plan.interval,
        "share": plan.share,
        "grown": plan.growth,
        "standing": plan.standing,
    }


def _rule(share: float) -> Rule:
    from sparkout.core.cut.growth import ONE_THIRD, Rule

    return ONE_THIRD if share == THIRD else Rule(share, "your own rule, as entered")


@calculation(
    "cuts-to-lower",
    "Cuts to bring grown-out grass down to a height",
    inputs=(
        Input("standing", "length", "mm", "height the grass stands at now", 0.5, 500.0),
        Input("height_of_cut", "length", "mm", "height wanted", 0.5, 500.0),
        Input("growth", "growth", "mm/day", "how fast the grass grows", 0.0, 200.0),
        Input("interval", "time", "day", "time between the cuts", 0.01, 60.0),
        RULE,
    ),
    results=(
        Result("cuts", "count", "", "cuts until the height is reached"),
        Result("first_height", "length", "mm", "height of the first of them"),
        Result("time", "time", "day", "time from the first to the last"),
    ),
    equation="h1 = (1 - rule) S, then h = (1 - rule) (h + g T), never below H",
    source=RULE_SOURCE,
    validity="even growth; refused when the height cannot be held at this interval",
    example="standing=12 height_of_cut=4 growth=0.5 interval=2",
)
def cuts_to_lower(
    standing: float, height_of_cut: float, growth: float, interval: float, rule: float
) -> dict[str, float]:
    """Number and heights of cuts."""
    from sparkout.core.cut.growth import cuts_to_lower

    cuts = cuts_to_lower(standing, height_of_cut, growth, interval, _rule(rule))
    return {"cuts": len(cuts), "first_height": cuts[0], "time": (len(cuts) - 1) * interval}


ENTRIES = (growth_rate, mowing_plan, cuts_to_lower)
