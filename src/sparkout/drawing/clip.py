"""Travel speed against reel speed: lines of the same clip, the workshop's own band, and where the machine is now."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import frame, marks_along, marks_up
from sparkout.drawing.colour import BLUE, ORANGE, RULE, SOFT_INK, STEEL
from sparkout.drawing.given import one
from sparkout.drawing.manner import Format, Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import Scale, round_steps
from sparkout.drawing.svg import Point
from sparkout.drawing.text import text_width

_TALL = 250.0
_TURN = 2.0 * math.pi


class Speeds(NamedTuple):
    """How speeds are written and on which round figures their marks fall."""

    travel: Format = lambda value: f"{value * 0.0036:.4g} km/h"
    travel_unit: float = 1e6 / 3600.0
    reel: Format = lambda value: f"{value * 60.0 / _TURN:.4g} 1/min"
    reel_unit: float = _TURN / 60.0


class OwnBand(NamedTuple):
    """Finest and coarsest clip wanted, mm, and whose band it is."""

    finest: float
    coarsest: float
    origin: str


def clip_chart(
    reel_speeds: tuple[float, float],
    travel_speeds: tuple[float, float],
    blade_count: int,
    clips: Iterable[float],
    *,
    band: OwnBand | tuple[float, float, str] | None = None,
    now: tuple[float, float] | None = None,
    land_clip: float | None = None,
    speeds: Speeds | None = None,
    **manners: Unpack[Manners],
) -> str:
    """Return travel against reel speed with lines of equal clip, SVG text.

    Parameters
    ----------
    reel_speeds, travel_speeds
        Both ends of the axes, rad/s and mm/s.
    blade_count
        N, 1 to 40.
    clips
        Clips to draw a line for, mm; those that do not cross the chart are left out.
    band
        The workshop's own band.
    now
        (reel speed, travel speed) the machine runs at.
    land_clip
        Clip of a land drive, mm: its line is the one the machine stays on.
    speeds
        How speeds are written; km/h and 1/min when left out.

    Raises
    ------
    OutOfRange
        For values that are not finite or out of order, or more than 20 clips.

    Examples
    --------
    >>> clip_chart((100, 200), (800, 2000), 11, [3, 4, 5], band=(3, 5, "house"), now=(157, 1250)).startswith("<svg")
    True
    """
    manner = manner_of("clip", manners)
    spoken = speeds or Speeds()
    blades = one("blade_count", blade_count, 1.0, 40.0, "")
    across = _ends("reel_speeds", reel_speeds, "rad/s")
    upward = _ends("travel_speeds", travel_speeds, "mm/s")
    lines = sorted({one("clips", value, 0.0, 1e4, above=True) for value in clips})
    if len(lines) > 20:
        raise OutOfRange("number of clips", len(lines), "at most 20")
    own = None if band is None else _own_band(band)
    point = (
        None
        if now is None
        else (one("now reel", now[0], 0.0, unit="rad/s"), one("now travel", now[1], 0.0, unit="mm/s"))
    )
    land = None if land_clip is None else one("land_clip", land_clip, 0.0, 1e4, above=True)

    picture = Picture(manner, manner.say("clip_chart"), _described(manner, blades, own, point, land))
    top = picture.heading()
    top = picture.paragraph(manner.say("clip_chart_about"), MARGIN, top, picture.right, fill=SOFT_INK)
    top = picture.paragraph(manner.say("travel_speed"), MARGIN, top + 2, picture.right, fill=SOFT_INK) + 18
    ticks = round_steps(*upward, spoken.travel_unit, 6)
    left = MARGIN + min(max(text_width(spoken.travel(v), SMALL) for v in (*ticks, upward[1])) + 8, picture.width / 2)
    room = max(text_width(manner.length(value), SMALL) for value in (*lines, 1.0)) + 8
    chart = Box(left, top, max(picture.right - room, left + 60), top + _TALL)
    along = Scale(*across, chart.left, chart.right)
    up = Scale(*upward, chart.bottom, chart.top)

    def ray(clip: float) -> tuple[Point, Point] | None:
        return _ray(clip * blades / _TURN, across, upward)

    if own is not None:
        _band(picture, own, blades, along, up)
    marks_up(picture, up, ticks, spoken.travel, chart.left, chart.right)
    for clip in lines:
        ends = ray(clip)
        if ends is not None:
            _line(picture, ends, manner.length(clip), along, up, chart)
    ends = None if land is None else ray(land)
    if ends is not None:
        (x1, y1), (x2, y2) = ends
        picture.line((along(x1), up(y1)), (along(x2), up(y2)), ORANGE, 2.4, "7 4")
    frame(picture, chart)
    if point is not None and across[0] <= point[0] <= across[1] and upward[0] <= point[1] <= upward[1]:
        marks.diamond(picture, (along(point[0]), up(point[1])))
    top = marks_along(picture, along, round_steps(*across, spoken.reel_unit, 5), spoken.reel, chart.bottom)
    top = picture.paragraph(manner.say("reel_speed"), chart.left, top, picture.right, anchor="end", fill=SOFT_INK)
    return picture.svg(legend(picture, top + 2, _key(manner, blades, own, point, land)))


def _ends(argument: str, ends: tuple[float, float], unit: str) -> tuple[float, float]:
    low = one(f"{argument}[0]", ends[0], 0.0, unit=unit)
    high = one(f"{argument}[1]", ends[1], 0.0, unit=unit)
    if high <= low * (1 + 1e-9):
        raise OutOfRange(f"{argument}[1]", high, f"above {low:g}", unit)
    return low, high


def _own_band(band: OwnBand | tuple[float, float, str]) -> OwnBand:
    finest, coarsest, origin = band
    low = one("finest clip", finest, 0.0, 1e4, above=True)
    return OwnBand(low, one("coarsest clip", coarsest, low, 1e4, above=True), str(origin))


def _ray(slope: float, across: tuple[float, float], upward: tuple[float, float]) -> tuple[Point, Point] | None:
    """Return where a line through the origin enters and leaves the chart, or None when it does not cross it."""
    low = max(across[0], upward[0] / slope)
    high = min(across[1], upward[1] / slope)
    return ((low, slope * low), (high, slope * high)) if low < high else None


def _line(picture: Picture, ends: tuple[Point, Point], text: str, along: Scale, up: Scale, chart: Box) -> None:
    (x1, y1), (x2, y2) = ends
    picture.line((along(x1), up(y1)), (along(x2), up(y2)), BLUE, 1.2)
    x, y = along(x2), up(y2)
    over_the_top = y <= chart.top + 1.0
    picture.label(text, [Spot(x, y - 5, "middle")] if over_the_top else [Spot(x + 4, y + 4)], fill=BLUE)


def _band(picture: Picture, own: OwnBand, blades: float, along: Scale, up: Scale) -> None:
    """Shade what lies between the two rays inside the chart: one strip of the polygon per step across."""
    lower, upper = (clip * blades / _TURN for clip in (own.finest, own.coarsest))
    corners = [along.low, along.high, *(v / slope for slope in (lower, upper) for v in (up.low, up.high))]
    places = sorted({x for x in corners if along.low <= x <= along.high})
    floor = [(x, min(max(lower * x, up.low), up.high)) for x in places]
    ceiling = [(x, min(max(upper * x, up.low), up.high)) for x in places]
    points = [(along(x), up(y)) for x, y in (*floor, *reversed(ceiling))]
    picture.shape(points, STEEL)
    picture.shape(points, picture.hatch("band", RULE, 7.0, 45.0, 0.35))


def _clip_of(point: tuple[float, float], blades: float) -> float | None:
    return _TURN * point[1] / (point[0] * blades) if point[0] > 0.0 else None


def _sentences(
    manner: Manner, blades: float, own: OwnBand | None, point: tuple[float, float] | None, land: float | None
) -> dict[str, str]:
    found = {}
    clip = None if point is None else _clip_of(point, blades)
    if clip is not None:
        found["now"] = manner.say("clip_now", clip=manner.length(clip))
    if own is not None:
        finest, coarsest = manner.length(own.finest), manner.length(own.coarsest)
        found["band"] = manner.say("clip_band", finest=finest, coarsest=coarsest, origin=own.origin)
    if land is not None:
        found["land"] = manner.say("clip_of_land_drive", clip=manner.length(land))
    return found


def _key(
    manner: Manner, blades: float, own: OwnBand | None, point: tuple[float, float] | None, land: float | None
) -> list[tuple[Draw, str]]:
    draw = {"now": marks.diamond, "band": _band_mark, "land": marks.stroke(ORANGE, 2.4, "7 4")}
    return [(draw[kind], text) for kind, text in _sentences(manner, blades, own, point, land).items()]


def _band_mark(picture: Picture, at: Point) -> None:
    marks.patch(STEEL, picture.hatch("band", RULE, 7.0, 45.0, 0.35))(picture, at)


def _described(
    manner: Manner, blades: float, own: OwnBand | None, point: tuple[float, float] | None, land: float | None
) -> list[str]:
    said = _sentences(manner, blades, own, point, land).values()
    return [manner.say("clip_chart_about"), *(f"{text}." for text in said)]
