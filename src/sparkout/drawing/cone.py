"""The cone drawn out: mean radius along the length with its band, what comes off, and the limit below."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, NamedTuple, Unpack

from sparkout.drawing import marks
from sparkout.drawing.axes import frame, marks_along, marks_up
from sparkout.drawing.colour import BLUE, INK, ORANGE, PALE, SOFT_INK
from sparkout.drawing.given import one, rising, row, same_length
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Draw, Picture, legend
from sparkout.drawing.scale import Scale, round_steps, spread
from sparkout.drawing.text import text_width

_TALL = 190.0


class RadiusReading(NamedTuple):
    """A reading as radius, mm, with the half width of its interval; the label shows on pointing."""

    x: float
    radius: float
    half: float
    label: str = ""


class _Profile(NamedTuple):
    stations: tuple[float, ...]
    mean: tuple[float, ...]
    lower: tuple[float, ...]
    upper: tuple[float, ...]
    finish: float | None
    limit: float | None
    readings: tuple[RadiusReading, ...]

    def span(self) -> tuple[float, float]:
        """Lowest and highest radius to draw; a limit far below stays outside."""
        values = [*self.lower, *self.upper, *self.mean]
        values += [r.radius + side * r.half for r in self.readings for side in (-1, 1)]
        if self.finish is not None:
            values.append(self.finish)
        low, high = spread(min(values), max(values), 0.08)
        if self.limit is None or self.limit < low - 0.6 * (high - low):
            return low, high
        return min(low, self.limit - 0.05 * (high - low)), max(high, self.limit + 0.05 * (high - low))


def cone_drawn_out(
    stations: Iterable[Any],
    radius_mean: Iterable[Any],
    radius_lower: Iterable[Any],
    radius_upper: Iterable[Any],
    *,
    finish_radius: float | None = None,
    service_radius: float | None = None,
    readings: Sequence[RadiusReading | tuple[float, float, float, str]] = (),
    **manners: Unpack[Manners],
) -> str:
    """Return the mean radius drawn along the length, heights exaggerated, SVG text.

    Parameters
    ----------
    stations
        Places from the left end, mm, rising.
    radius_mean, radius_lower, radius_upper
        Mean radius over the blades and its 95 % band at each station, mm.
    finish_radius
        Radius the grind would leave, mm: a dashed line, with what comes off hatched above it.
    service_radius
        Service limit as a radius, mm; when it lies far below it is named, not drawn.
    readings
        `RadiusReading` or (x, radius, half width of the 95 % interval, label).

    Raises
    ------
    OutOfRange
        For values that are not finite, lengths that do not match, a radius of 0 or less.

    Examples
    --------
    >>> cone_drawn_out([0, 500], [63.4, 63.3], [63.3, 63.2], [63.5, 63.4]).startswith("<svg")
    True
    """
    manner = manner_of("cone", manners)
    profile = _checked(stations, radius_mean, radius_lower, radius_upper, finish_radius, service_radius, readings)
    picture = Picture(manner, manner.say("cone"), _described(manner, profile))
    top = picture.heading()
    low, high = profile.span()
    ticks = round_steps(low, high, manner.unit, 5)
    gutter = max(text_width(manner.length(value), SMALL) for value in (*ticks, high)) + 8
    left = min(MARGIN + gutter, picture.width / 2)
    top = picture.two_ends(manner.say("left"), manner.say("right"), left, picture.right, top) + 4
    chart = Box(left, top, picture.right, top + _TALL)
    along = Scale(*spread(profile.stations[0], profile.stations[-1]), chart.left + 8, chart.right - 8)
    up = Scale(low, high, chart.bottom, chart.top)
    marks_up(picture, up, ticks, manner.length, chart.left, chart.right)
    _draw(picture, profile, along, up)
    frame(picture, chart)
    top = marks_along(picture, along, profile.stations, manner.place, chart.bottom)
    times = up.per_unit / along.per_unit
    top = picture.paragraph(
        manner.say("exaggeration", times=_about(times)),
        MARGIN, top + 2, picture.right, fill=SOFT_INK,
    )  # fmt: skip
    return picture.svg(legend(picture, top + 4, _key(manner, profile, low)))


def _checked(
    stations: Iterable[Any],
    mean: Iterable[Any],
    lower: Iterable[Any],
    upper: Iterable[Any],
    finish: float | None,
    limit: float | None,
    readings: Sequence[RadiusReading | tuple[float, float, float, str]],
) -> _Profile:
    places = rising("stations", stations)
    lines = {
        name: row(name, values)
        for name, values in (("radius_mean", mean), ("radius_lower", lower), ("radius_upper", upper))
    }
    for name, line in lines.items():
        same_length(name, len(line), len(places))
    taken = []
    for i, reading in enumerate(RadiusReading(*reading) for reading in readings):
        one(f"readings[{i}] x", reading.x, places[0], places[-1])
        one(f"readings[{i}] radius", reading.radius)
        one(f"readings[{i}] half", reading.half, 0.0)
        taken.append(reading)
    return _Profile(
        places,
        lines["radius_mean"],
        lines["radius_lower"],
        lines["radius_upper"],
        None if finish is None else one("finish_radius", finish, 0.0, above=True),
        None if limit is None else one("service_radius", limit, 0.0, above=True),
        tuple(taken),
    )  # fmt: skip


def _draw(picture: Picture, profile: _Profile, along: Scale, up: Scale) -> None:
    places = [along(x) for x in profile.stations]
    over = list(zip(places, map(up, profile.upper), strict=True))
    under = list(zip(places, map(up, profile.lower), strict=True))
    mean = list(zip(places, map(up, profile.mean), strict=True))
    if profile.finish is not None:
        level = up(profile.finish)
        above = [(x, min(y, level)) for x, y in mean]
        ends = [(places[-1], level), (places[0], level)]
        picture.shape([*above, *ends], picture.hatch("off", ORANGE, 6.0, -45.0, 0.6))
    picture.shape([*over, *reversed(under)], BLUE, fill_opacity=0.22)
    picture.trace(over, BLUE, 0.7)
    picture.trace(under, BLUE, 0.7)
    if profile.limit is not None and up.low <= profile.limit <= up.high:
        y = up(profile.limit)
        picture.line((along.start - 8, y), (along.stop + 8, y), INK, 2.0)
    if profile.finish is not None:
        picture.line((along.start - 8, up(profile.finish)), (along.stop + 8, up(profile.finish)), ORANGE, 1.8, "7 4")
    picture.trace(mean, BLUE, 2.2)
    for reading in profile.readings:
        x = along(reading.x)
        marks.error_bar(picture, (x, up(reading.radius - reading.half)), (x, up(reading.radius + reading.half)))
        marks.ring(picture, (x, up(reading.radius)), tooltip=reading.label)


def _about(times: float) -> str:
    """Return an exaggeration with two figures, written out."""
    return f"{float(f'{times:.1e}'):.10g}"


def _ends(manner: Manner, profile: _Profile) -> str:
    cone = 2 * (profile.mean[-1] - profile.mean[0])
    if cone == 0.0:
        return ""
    return manner.say(
        "large_end", end=manner.say("right" if cone > 0 else "left"), value=manner.length(abs(cone))
    )  # fmt: skip


def _limit_text(manner: Manner, profile: _Profile, low: float) -> str:
    assert profile.limit is not None
    if profile.limit >= low:
        return manner.say("service_limit", value=manner.length(profile.limit))
    distance = manner.length(low - profile.limit)
    return manner.say("service_limit_below", value=manner.length(profile.limit), distance=distance)


def _key(manner: Manner, profile: _Profile, low: float) -> list[tuple[Draw, str]]:
    entries: list[tuple[Draw, str]] = [
        (marks.stroke(BLUE, 2.2), manner.say("mean_radius")),
        (marks.patch(PALE, edge=BLUE), manner.say("band")),
    ]
    if profile.readings:
        entries.append((_reading_mark, manner.say("reading_with_bar")))
    if profile.finish is not None:
        entries.append(
            (marks.stroke(ORANGE, 1.8, "7 4"), manner.say("finish_radius", value=manner.length(profile.finish)))
        )
        entries.append((_off_mark, manner.say("comes_off")))
    if profile.limit is not None:
        mark = marks.stroke(INK, 2.0) if profile.limit >= low else marks.nothing
        entries.append((mark, _limit_text(manner, profile, low)))
    large = _ends(manner, profile)
    return [*entries, (marks.nothing, large)] if large else entries


def _reading_mark(picture: Picture, at: tuple[float, float]) -> None:
    marks.error_bar(picture, (at[0], at[1] - 7), (at[0], at[1] + 7))
    marks.ring(picture, at)


def _off_mark(picture: Picture, at: tuple[float, float]) -> None:
    marks.patch(picture.hatch("off", ORANGE))(picture, at)


def _described(manner: Manner, profile: _Profile) -> list[str]:
    pairs = zip(profile.stations, profile.mean, profile.lower, profile.upper, strict=True)
    lines = [f"{manner.place(x)}: {manner.length(m)} ({manner.length(a)}, {manner.length(b)})." for x, m, a, b in pairs]
    return [_ends(manner, profile), *lines]
