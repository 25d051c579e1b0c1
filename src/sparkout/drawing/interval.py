"""How often to sharpen: cost of an hour against the interval, with the best and the stretch that costs hardly more."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import frame, marks_along, marks_up
from sparkout.drawing.colour import BLUE, INK, PALE, SOFT_INK
from sparkout.drawing.given import one, rising, row, same_length
from sparkout.drawing.manner import Format, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Picture, legend
from sparkout.drawing.scale import Scale, round_steps
from sparkout.drawing.text import text_width

_TALL = 190.0
_LEAST_RISE = 0.15
"""Share of the least cost that the picture is tall at least: a flat curve is to look flat."""


def interval_curve(
    hours: Iterable[Any],
    costs: Iterable[Any],
    *,
    best: float | None = None,
    flat: tuple[float, float] | None = None,
    money: Format | None = None,
    time: Format | None = None,
    **manners: Unpack[Manners],
) -> str:
    """Return the cost of an hour against the hours between sharpenings, SVG text.

    Parameters
    ----------
    hours, costs
        The curve: rising hours above 0, cost of an hour at each, above 0.
    best
        The interval that costs least; None where waiting is cheapest.
    flat
        From and to where it costs hardly more; an end outside the curve is drawn to the curve's end.
    money, time
        Formats for a cost and for hours.

    Raises
    ------
    OutOfRange
        For hours that do not rise, values that are not finite or not above 0, a best outside the curve.

    Examples
    --------
    >>> interval_curve([10, 20, 40], [3.0, 2.0, 2.5], best=20, flat=(18, 26)).startswith("<svg")
    True
    """
    manner = manner_of("interval", manners)
    at = rising("hours", hours, 2000)
    cost = row("costs", costs, 0.0, unit="", least=2)
    same_length("costs", len(cost), len(at))
    if at[0] <= 0.0 or min(cost) <= 0.0:
        raise OutOfRange("hours and costs", min(at[0], *cost), "above 0")
    show, told = money or (lambda value: f"{value:.3g}"), time or (lambda value: f"{value:.3g} h")
    low, high = min(cost), max(*cost, min(cost) * (1.0 + _LEAST_RISE))
    key: list[tuple[Any, str]] = []
    if best is not None:
        best = one("best", best, at[0], at[-1], "h")
        key.append((marks.diamond, manner.say("best_interval", hours=told(best), cost=show(_between(at, cost, best)))))
    if flat is not None:
        ends = (one("flat", flat[0], unit="h"), min(float(flat[1]), at[-1]))
        inside = (max(ends[0], at[0]), max(ends[1], at[0]))
        key.append((marks.patch(PALE), manner.say("hardly_dearer", first=told(inside[0]), last=told(inside[1]))))
    picture = Picture(manner, manner.say("interval_curve"), [f"{text}." for _, text in key])
    top = picture.heading()
    top = picture.paragraph(manner.say("cost_an_hour"), MARGIN, top, picture.right, fill=SOFT_INK) + 6
    up = Scale(low - 0.06 * (high - low), high, top + _TALL, top)
    ticks = round_steps(up.low, up.high, 1.0, 5)
    left = MARGIN + min(max(text_width(show(value), SMALL) for value in (*ticks, high)) + 8, picture.width / 2)
    chart = Box(left, top, picture.right - 8, top + _TALL)
    along = Scale(at[0], at[-1], chart.left, chart.right)
    if flat is not None:
        picture.rect(Box(along(inside[0]), chart.top, max(along(inside[1]), along(inside[0]) + 1), chart.bottom), PALE)
    marks_up(picture, up, ticks, show, chart.left, chart.right)
    picture.trace([(along(h), up(c)) for h, c in zip(at, cost, strict=True)], BLUE, 2.2)
    frame(picture, chart)
    if best is not None:
        place = (along(best), up(_between(at, cost, best)))
        picture.line((place[0], chart.bottom), place, INK, 1.0, "4 3")
        marks.diamond(picture, place)
    top = marks_along(picture, along, round_steps(at[0], at[-1], 1.0, 6), told, chart.bottom)
    about = manner.say("between_sharpenings")
    top = picture.paragraph(about, chart.left, top, picture.right, anchor="end", fill=SOFT_INK)
    return picture.svg(legend(picture, top + 2, key))


def _between(at: tuple[float, ...], cost: tuple[float, ...], hours: float) -> float:
    """Return the cost at some hours, in a straight line between the curve's points."""
    i = next(i for i in range(1, len(at)) if at[i] >= hours or i == len(at) - 1)
    share = (hours - at[i - 1]) / (at[i] - at[i - 1])
    return cost[i - 1] + share * (cost[i] - cost[i - 1])
