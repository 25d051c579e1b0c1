"""What each cause of ribs would make, against the pitch measured."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.axes import marks_along
from sparkout.drawing.colour import BLUE, INK, PALE, SOFT_INK
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Picture, Spot, legend
from sparkout.drawing.scale import Scale
from sparkout.drawing.text import text_width


class RibCause(NamedTuple):
    """A cause: its name, the pitch it would make with both ends of its interval, mm, and its chance."""

    name: str
    pitch: float
    low: float
    high: float
    chance: float


_LEAST = 5.0
"""Shortest piece of the measured line that is drawn between two texts."""


def rib_causes(
    measured: tuple[float, float, float],
    rows: Iterable[RibCause | tuple[str, float, float, float, float]],
    **manners: Unpack[Manners],
) -> str:
    """Return what each cause would make against the pitch measured, on one scale of ratios, SVG text.

    Parameters
    ----------
    measured
        Pitch and both ends of its interval, mm.
    rows
        Causes in the order to be shown.

    Raises
    ------
    OutOfRange
        For no rows, more than 30, pitches not above 0 or out of order, or a chance outside 0 to 1.

    Examples
    --------
    >>> rib_causes((49, 48, 50), [("once per reel turn", 50, 47, 53, 0.95)]).startswith("<svg")
    True
    """
    manner = manner_of("rib-causes", manners)
    pitch = _interval("measured", *measured)
    causes = [_checked(i, RibCause(*row)) for i, row in enumerate(rows)]
    if not 1 <= len(causes) <= 30:
        raise OutOfRange("number of rows", len(causes), "1 to 30")
    told = manner.say("pitch_measured", pitch=manner.length(pitch[0]))
    said = [f"{told}.", *(f"{c.name}: {manner.length(c.pitch)}, {manner.share(c.chance)}." for c in causes)]
    picture = Picture(manner, manner.say("rib_causes"), said)
    top = picture.heading()
    top = picture.paragraph(manner.say("rib_causes_about"), MARGIN, top, picture.right, fill=SOFT_INK) + 4
    low = min(pitch[1], *(cause.pitch for cause in causes)) / 1.4
    high = max(pitch[2], *(cause.pitch for cause in causes)) * 1.4
    along = Scale(math.log(low), math.log(high), MARGIN + 6, picture.right - 6)
    figures = max(text_width(manner.share(cause.chance), SMALL) for cause in causes) + 8
    start, bars = top, []
    for cause in causes:
        base = top
        top = picture.paragraph(cause.name, MARGIN, top, picture.right - figures)
        picture.text(manner.share(cause.chance), Spot(picture.right, base + SMALL, "end"), bold=True)
        bars.append((cause, top + 7.0))
        top += 18.0
    _measured_band(picture, along, pitch, start, top)
    for cause, y in bars:
        _bar(picture, along, cause, y)
    top = marks_along(picture, along, _octaves(low, high, manner), lambda v: manner.length(math.exp(v)), top)
    key = [(_measured_mark, told), (_expected_mark, manner.say("pitch_expected"))]
    return picture.svg(legend(picture, top + 2, key))


def _interval(name: str, value: float, low: float, high: float) -> tuple[float, float, float]:
    lowest = one(f"{name} low", low, 0.0, above=True)
    middle = one(f"{name} pitch", value, lowest)
    return middle, lowest, one(f"{name} high", high, middle)


def _checked(i: int, cause: RibCause) -> RibCause:
    pitch, low, high = _interval(f"rows[{i}]", cause.pitch, cause.low, cause.high)
    return RibCause(str(cause.name), pitch, low, high, one(f"rows[{i}] chance", cause.chance, 0.0, 1.0, ""))


def _octaves(low: float, high: float, manner: Manner) -> list[float]:
    """Logarithms of round figures (1, 2, 5 times a power of ten of the shown unit) between two pitches."""
    start = math.floor(math.log10(low / manner.unit))
    stop = math.ceil(math.log10(high / manner.unit))
    values = [f * 10.0**p * manner.unit for p in range(start, stop + 1) for f in (1.0, 2.0, 5.0)]
    return [math.log(value) for value in values if low <= value <= high]


def _measured_band(
    picture: Picture, along: Scale, pitch: tuple[float, float, float], top: float, bottom: float
) -> None:
    """A dark line down all rows, broken where texts stand, as wide as the interval where that can be seen."""
    middle = along(math.log(pitch[0]))
    left, right = min(along(math.log(pitch[1])), middle - 1.0), max(along(math.log(pitch[2])), middle + 1.0)
    free = sorted((box.top, box.bottom) for box in picture.boxes if box.left < right and box.right > left)
    for start, end in _between(free, top, bottom):
        picture.rect(Box(left, start, right, end), PALE)
        picture.line((middle, start), (middle, end), INK, 1.4)


def _between(taken: list[tuple[float, float]], top: float, bottom: float) -> list[tuple[float, float]]:
    found, at = [], top
    for start, end in taken:
        if start > at + _LEAST:
            found.append((at, min(start, bottom)))
        at = max(at, end)
    return [*found, (at, bottom)] if at < bottom else found


def _bar(picture: Picture, along: Scale, cause: RibCause, y: float) -> None:
    ends = [along(min(max(math.log(v), along.low), along.high)) for v in (cause.low, cause.high)]
    picture.line((ends[0], y), (ends[1], y), BLUE, 2.0)
    for x, value in zip(ends, (cause.low, cause.high), strict=True):
        if along.low <= math.log(value) <= along.high:
            picture.line((x, y - 4), (x, y + 4), BLUE, 1.5)
    marks.ring(picture, (along(math.log(cause.pitch)), y))


def _measured_mark(picture: Picture, at: tuple[float, float]) -> None:
    picture.rect(Box(at[0] - 4, at[1] - 7, at[0] + 4, at[1] + 7), PALE)
    picture.line((at[0], at[1] - 7), (at[0], at[1] + 7), INK, 1.4)


def _expected_mark(picture: Picture, at: tuple[float, float]) -> None:
    picture.line((at[0] - 9, at[1]), (at[0] + 9, at[1]), BLUE, 2.0)
    marks.ring(picture, at)
