"""Amounts as bars with their intervals: spend and budget by cause, parts by month, work by week."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing.colour import BLUE, INK, RULE, STEEL, WHITE
from sparkout.drawing.given import one
from sparkout.drawing.manner import Format, Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, SMALL, Box, Picture, Spot, legend
from sparkout.drawing.scale import Scale
from sparkout.drawing.text import text_width

MOST = 80
KINDS = ("spend", "budget", "demand")
"""What the bars are of; each has its own title and key."""
_BAR, _CAP = 11.0, 4.0


class Amount(NamedTuple):
    """One bar: its name, how much, and the interval it may fall in (both ends or neither)."""

    name: str
    value: float
    low: float | None = None
    high: float | None = None


def amounts(kind: str, rows: Sequence[Amount], *, show: Format | None = None, **manners: Unpack[Manners]) -> str:
    """Return amounts as bars one below the other, in the order given, SVG text.

    Parameters
    ----------
    kind
        One of `KINDS`.
    rows
        1 to 80, none below 0.
    show
        Format for an amount.

    Raises
    ------
    OutOfRange
        For a kind that is none, no bars or too many, amounts below 0 or not finite, an interval with one end or
        upside down.

    Examples
    --------
    >>> amounts("budget", [Amount("labour", 900.0, 700.0, 1200.0), Amount("wheels", 80.0)]).startswith("<svg")
    True
    """
    if kind not in KINDS:
        raise OutOfRange("kind", kind, ", ".join(KINDS))
    manner = manner_of(kind, manners)
    bars = [_checked(row) for row in rows]
    if not 1 <= len(bars) <= MOST:
        raise OutOfRange("number of amounts", len(bars), f"1 to {MOST}")
    told = show or (lambda value: f"{value:.6g}")
    picture = Picture(manner, manner.say(kind), [_said(bar, told) + "." for bar in bars])
    top = picture.heading()
    most = max(max(bar.value, bar.high or 0.0) for bar in bars) or 1.0
    figures = max(text_width(told(bar.value), SMALL) for bar in bars) + 10
    along = Scale(0.0, most, MARGIN, max(picture.right - 4.0, MARGIN + 40.0))
    for bar in bars:
        base = top
        top = picture.paragraph(bar.name, MARGIN, top, max(picture.right - figures, MARGIN + 60.0))
        picture.text(told(bar.value), Spot(picture.right, base + SMALL, "end"), bold=True)
        _drawn(picture, bar, along, top)
        top += LINE + 3
    with_interval = any(bar.low is not None for bar in bars)
    return picture.svg(legend(picture, top + 2, [(_whisker_mark, manner.say("interval_90"))] if with_interval else []))


def _checked(row: Amount) -> Amount:
    value = one(f"amount of {row.name}", row.value, 0.0, unit="")
    if (row.low is None) != (row.high is None):
        raise OutOfRange(f"interval of {row.name}", (row.low, row.high), "two ends, or none")
    if row.low is None or row.high is None:
        return Amount(row.name, value)
    low = one(f"low end of {row.name}", row.low, 0.0, unit="")
    return Amount(row.name, value, low, one(f"high end of {row.name}", row.high, low, unit=""))


def _said(bar: Amount, told: Format) -> str:
    if bar.low is None or bar.high is None:
        return f"{bar.name}: {told(bar.value)}"
    return f"{bar.name}: {told(bar.value)} ({told(bar.low)} .. {told(bar.high)})"


def _drawn(picture: Picture, bar: Amount, along: Scale, top: float) -> None:
    picture.rect(Box(along.start, top + 1, along.stop, top + 1 + _BAR), STEEL)
    picture.rect(Box(along.start, top + 1, along(bar.value), top + 1 + _BAR), BLUE)
    picture.line((along.start, top), (along.start, top + 2 + _BAR), RULE)
    if bar.low is not None and bar.high is not None:
        _whisker(picture, along(bar.low), along(bar.high), top + 1 + _BAR / 2)


def _whisker(picture: Picture, left: float, right: float, y: float) -> None:
    """Draw an interval, light round dark, so that it shows on the bar and beside it."""
    for colour, width in ((WHITE, 4.0), (INK, 1.6)):
        picture.line((left, y), (right, y), colour, width)
        for x in (left, right):
            picture.line((x, y - _CAP), (x, y + _CAP), colour, width)


def _whisker_mark(picture: Picture, at: tuple[float, float]) -> None:
    _whisker(picture, at[0] - 8, at[0] + 8, at[1])
