"""The fan of one unit: its readings, grinds as steps, the bands of what may come, and the service limit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import frame, marks_along, marks_up
from sparkout.drawing.colour import BLUE, INK, ORANGE, RULE, SOFT_INK
from sparkout.drawing.given import one, row, same_length
from sparkout.drawing.manner import Format, Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import Scale, round_steps, spread
from sparkout.drawing.text import text_width

_TALL = 230.0
_HALF, _MOST = "#9dbfe0", "#d3e2f0"
"""50 % and 90 % bands: two tones of the one blue, apart in lightness so that a grey print keeps them."""


@dataclass(frozen=True, slots=True)
class Band:
    """What may come: at each of `hours` the values with a chance of 5, 25, 50, 75 and 95 % of lying lower, mm."""

    hours: Sequence[float]
    lowest: Sequence[float]
    low: Sequence[float]
    middle: Sequence[float]
    high: Sequence[float]
    highest: Sequence[float]


class Grind(NamedTuple):
    """Metal gone at once: at which hours, and the size just before and after, mm."""

    hours: float
    before: float
    after: float
    suspected: bool = False
    """True where no grind was recorded and one is asked about."""


def _hours(value: float) -> str:
    return f"{value:,.0f} h".replace(",", "\u202f")


def wear_fan(
    hours: Iterable[Any],
    values: Iterable[Any],
    band: Band | None,
    *,
    what: str = "",
    limit: float | None = None,
    grinds: Sequence[Grind] = (),
    reached: tuple[float, float, float] | None = None,
    along: Format = _hours,
    **manners: Unpack[Manners],
) -> str:
    """Return one unit's readings against hours with the fan of its forecast, SVG text.

    Parameters
    ----------
    hours, values
        The readings, in the order of time: hours, and diameter (land, lip, roller) in mm.
    band
        The forecast, from now on; None where there is none.
    what
        What it is of, for the heading.
    limit
        The service limit, mm.
    grinds
        Recorded and suspected grinds.
    reached
        Hours from now at which the limit is reached with a chance of 5, 50 and 95 %; infinite for never.
    along
        Format for hours (hectares).

    Raises
    ------
    OutOfRange
        For values that are not finite, lists of unlike length, or no reading at all.

    Examples
    --------
    >>> to_come = Band([300, 400], [123.9, 123.7], [124, 123.8], [124.1, 123.9], [124.2, 124], [124.3, 124.1])
    >>> wear_fan([0, 300], [125.0, 124.1], to_come, limit=121.0).startswith("<svg")
    True
    """
    manner = manner_of("fan", manners)
    at, shown = row("hours", hours, 0.0, 1e7, "h", least=1), row("values", values, 0.0, 1e4, least=1)
    same_length("values", len(shown), len(at))
    to_come = None if band is None else _checked(band)
    steps = [Grind(one("grind hours", g.hours), one("before", g.before), one("after", g.after), g[3]) for g in grinds]
    floor = None if limit is None else one("limit", limit, 0.0, 1e4)
    said = _said(manner, at, shown, floor, reached, along)
    picture = Picture(manner, manner.say("fan_of", what=what) if what else manner.say("fan"), said)
    top = picture.heading()
    top = picture.paragraph(manner.say("fan_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 6
    heights = [*shown, *(g.before for g in steps), *(g.after for g in steps), *([] if floor is None else [floor])]
    places = [*at, *(g.hours for g in steps)]
    if to_come is not None:
        heights += [*to_come.lowest, *to_come.highest]
        places += [*to_come.hours]
    low, high = spread(min(heights), max(heights), 0.06)
    ticks = round_steps(low, high, manner.unit, 5)
    left = MARGIN + min(max(text_width(manner.length(v), SMALL) for v in (*ticks, high)) + 8, picture.width / 2)
    chart = Box(left, top, picture.right - 8, top + _TALL)
    across = Scale(*spread(min(places), max(places)), chart.left, chart.right)
    up = Scale(low, high, chart.bottom, chart.top)
    marks_up(picture, up, ticks, manner.length, chart.left, chart.right)
    if to_come is not None:
        _fan(picture, to_come, across, up)
    for grind in steps:
        _step(picture, grind, across, up)
    for h, value in zip(at, shown, strict=True):
        marks.ring(picture, (across(h), up(value)), tooltip=f"{along(h)}: {manner.length(value)}")
    if to_come is not None:
        _now(picture, across(to_come.hours[0]), chart)
    frame(picture, chart)
    if floor is not None:
        _limit(picture, manner.say("fan_limit", value=manner.length(floor)), up(floor), chart)
    top = marks_along(picture, across, round_steps(across.low, across.high, 1.0, 5), along, chart.bottom)
    return picture.svg(legend(picture, top + 4, _key(manner, to_come is not None, steps, said[-1] if reached else "")))


def _checked(band: Band) -> Band:
    at = row("band hours", band.hours, 0.0, 1e7, "h", least=2)
    names = ("lowest", "low", "middle", "high", "highest")
    lines = [row(name, getattr(band, name), -1e4, 1e4, least=2) for name in names]
    for name, line in zip(names, lines, strict=True):
        same_length(name, len(line), len(at))
    for i in range(len(at)):
        column = [line[i] for line in lines]
        if column != sorted(column):
            raise OutOfRange(f"band at {at[i]:g} h", column[0], "lowest, low, middle, high, highest in order", "mm")
    return Band(at, *lines)


def _fan(picture: Picture, band: Band, across: Scale, up: Scale) -> None:
    xs = [across(h) for h in band.hours]
    for below, above, tone in ((band.lowest, band.highest, _MOST), (band.low, band.high, _HALF)):
        edge = [(x, up(v)) for x, v in zip(xs, above, strict=True)]
        edge += [(x, up(v)) for x, v in zip(reversed(xs), reversed(below), strict=True)]
        picture.shape(edge, tone)
    picture.trace([(x, up(v)) for x, v in zip(xs, band.middle, strict=True)], BLUE, 2.2)


def _step(picture: Picture, grind: Grind, across: Scale, up: Scale) -> None:
    x, colour = across(grind.hours), ORANGE if grind.suspected else INK
    picture.line((x, up(grind.before)), (x, up(grind.after)), colour, 1.6, "4 3" if grind.suspected else None)
    down = math.pi / 2 if grind.after < grind.before else -math.pi / 2
    marks.arrow_head(picture, (x, up(grind.after)), down, 6.0, colour)


def _now(picture: Picture, x: float, chart: Box) -> None:
    picture.line((x, chart.top), (x, chart.bottom), RULE, 1.0, "2 3")
    text = picture.manner.say("fan_now")
    picture.label(text, [Spot(x + 4, chart.top + 12), Spot(x - 4, chart.top + 12, "end")], fill=SOFT_INK)


def _limit(picture: Picture, text: str, y: float, chart: Box) -> None:
    picture.line((chart.left, y), (chart.right, y), ORANGE, 1.8, "8 4")
    spots = [Spot(chart.left + 4, y - 5), Spot(chart.left + 4, y + 14), Spot(chart.right - 2, y - 5, "end")]
    picture.label(text, spots, fill=ORANGE, plate=True)


def _key(manner: Manner, forecast: bool, steps: Sequence[Grind], reached: str) -> list[tuple[Draw, str]]:
    found: list[tuple[Draw, str]] = [(marks.ring, manner.say("fan_reading"))]
    if any(not grind.suspected for grind in steps):
        found.append((marks.stroke(INK, 1.6), manner.say("fan_grind")))
    if any(grind.suspected for grind in steps):
        found.append((marks.stroke(ORANGE, 1.6, "4 3"), manner.say("fan_suspected")))
    if forecast:
        found.append((marks.stroke(BLUE, 2.2), manner.say("fan_middle")))
        found += [(marks.patch(_HALF), manner.say("fan_half")), (marks.patch(_MOST), manner.say("fan_most"))]
    if reached:
        found.append((marks.nothing, reached))
    return found


def _said(
    manner: Manner,
    at: Sequence[float],
    shown: Sequence[float],
    limit: float | None,
    reached: tuple[float, float, float] | None,
    along: Format,
) -> list[str]:
    said = [manner.say("fan_about")]
    said += [f"{along(h)}: {manner.length(v)}." for h, v in zip(at, shown, strict=True)]
    if limit is not None:
        said.append(manner.say("fan_limit", value=manner.length(limit)) + ".")
    if reached is not None:
        soonest, middle, latest = (along(h) if math.isfinite(h) else manner.say("fan_never") for h in reached)
        said.append(manner.say("fan_reached", soonest=soonest, middle=middle, latest=latest) + ".")
    return said
