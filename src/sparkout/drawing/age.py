"""The age of a fleet: metal left on each reel, and the hours until it is at its limit, with their intervals."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import marks_along
from sparkout.drawing.colour import BLUE, INK, ORANGE, PALE, SOFT_INK, STEEL
from sparkout.drawing.given import one
from sparkout.drawing.manner import Format, Manner, Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, SMALL, Box, Picture, Spot, legend
from sparkout.drawing.scale import Scale, round_steps
from sparkout.drawing.text import shortened, text_width

MOST = 1000
_HALF, _MOST_TONE = "#7fa9d6", "#d3e2f0"
_BAR = 11.0


class Aged(NamedTuple):
    """One unit: its name, metal left to its limit (mm), and hours until then with a chance of 5, 25, 50, 75, 95 %.

    An end may be infinite.
    """

    name: str
    left: float
    hours: tuple[float, float, float, float, float]


def fleet_age(units: Sequence[Aged], *, along: Format | None = None, **manners: Unpack[Manners]) -> str:
    """Return the fleet's age, in the order given, SVG text.

    Parameters
    ----------
    units
        1 to 1000.
    along
        Format for hours.

    Raises
    ------
    OutOfRange
        For no unit or too many, metal that is not finite, hours that fall or are below 0 or not a number.

    Examples
    --------
    >>> fleet_age([Aged("G1 left", 3.2, (800.0, 950.0, 1100.0, 1300.0, 1700.0))]).startswith("<svg")
    True
    """
    if not 1 <= len(units) <= MOST:
        raise OutOfRange("number of units", len(units), f"1 to {MOST}")
    manner, told = manner_of("age", manners), along or (lambda value: f"{value:.4g} h")
    shown = [_checked(unit) for unit in units]
    picture = Picture(manner, manner.say("age"), [_said(unit, manner, told) for unit in shown])
    top = picture.heading()
    top = picture.paragraph(manner.say("age_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
    finite = [h for unit in shown for h in unit.hours if math.isfinite(h)]
    most = max([*(unit.left for unit in shown), 1e-3])
    third = MARGIN + 0.3 * (picture.right - MARGIN)
    metal = Scale(0.0, most, MARGIN, third - 8)
    hours = Scale(0.0, max([*finite, 1.0]), third, picture.right - 10)
    for unit in shown:
        top = _row(picture, unit, metal, hours, top)
    top = marks_along(picture, hours, round_steps(0.0, hours.high, 1.0, 4), told, top)
    key = [
        (marks.ring, manner.say("age_middle")),
        (marks.patch(_HALF), manner.say("age_half")),
        (marks.patch(_MOST_TONE), manner.say("age_most")),
    ]
    return picture.svg(legend(picture, top + 4, key))


def _checked(unit: Aged) -> Aged:
    left = one(f"metal left of {unit.name}", unit.left, -1e4, 1e4)
    if len(unit.hours) != 5 or any(math.isnan(h) or h < 0.0 or 1e7 < h < math.inf for h in unit.hours):
        raise OutOfRange(f"hours of {unit.name}", unit.hours, "five, each 0 to 10,000,000 or infinite", "h")
    if list(unit.hours) != sorted(unit.hours):
        raise OutOfRange(f"hours of {unit.name}", unit.hours, "rising with their chances", "h")
    return unit._replace(left=left)


def _left(unit: Aged, manner: Manner) -> str:
    return manner.say("age_left", left=manner.length(unit.left)) if unit.left > 0.0 else manner.say("age_over")


def _said(unit: Aged, manner: Manner, told: Format) -> str:
    ends = [told(h) if math.isfinite(h) else manner.say("fan_never") for h in unit.hours]
    hours = manner.say("age_hours", middle=ends[2], soonest=ends[0], latest=ends[4])
    return f"{unit.name}: {_left(unit, manner)}; {hours}."


def _row(picture: Picture, unit: Aged, metal: Scale, hours: Scale, top: float) -> float:
    """Draw one unit: its name and what is left in words, then bar and interval; returns the new top."""
    room = picture.right - MARGIN
    words = shortened(_left(unit, picture.manner), SMALL, 0.5 * room)
    wide = text_width(words, SMALL)
    picture.text(shortened(unit.name, SMALL, room - wide - 10), Spot(MARGIN, top + SMALL))
    picture.text(words, Spot(picture.right, top + SMALL, "end"), fill=INK if unit.left > 0.0 else ORANGE)
    top += LINE
    picture.rect(Box(metal.start, top + 2, metal.stop, top + 2 + _BAR), STEEL)
    picture.rect(Box(metal.start, top + 2, metal(max(unit.left, 0.0)), top + 2 + _BAR), BLUE)
    picture.line((hours.start, top + 2 + _BAR / 2), (hours.stop, top + 2 + _BAR / 2), PALE)
    places = [hours(h) if math.isfinite(h) else hours.stop for h in unit.hours]
    for low, high, tone in ((places[0], places[4], _MOST_TONE), (places[1], places[3], _HALF)):
        picture.rect(Box(low, top + 2, max(high, low + 1), top + 2 + _BAR), tone)
    if math.isfinite(unit.hours[2]):
        marks.ring(picture, (places[2], top + 2 + _BAR / 2))
    if not math.isfinite(unit.hours[4]):
        marks.arrow_head(picture, (picture.right, top + 2 + _BAR / 2), 0.0, 8.0)
    return top + LINE + 4
