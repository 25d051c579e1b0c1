"""The trade at the grinder: the less edge is left uncleaned, the more of the reel's life is ground away."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Unpack

from sparkout.drawing import marks
from sparkout.drawing.axes import frame, marks_along, marks_up
from sparkout.drawing.colour import BLUE, INK, SOFT_INK
from sparkout.drawing.given import one, row, same_length
from sparkout.drawing.manner import Format, Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Picture, legend
from sparkout.drawing.scale import Scale, round_steps, round_up, spread
from sparkout.drawing.text import text_width

_TALL = 180.0


def trade_line(
    uncleaned: Iterable[Any],
    life_kept: Iterable[Any],
    *,
    chosen: tuple[float, float] | None = None,
    life: Format | None = None,
    **manners: Unpack[Manners],
) -> str:
    """Return the share of edge left uncleaned against life kept as a line, SVG text.

    Parameters
    ----------
    uncleaned
        Shares of edge length, 0 to 1, in order along the line.
    life_kept
        Life at each: mm of radius above the limit, or anything that `life` writes (grinds, say).
    chosen
        (share, life) of the plan's point.
    life
        Format for `life_kept`; the `length` format when left out.

    Raises
    ------
    OutOfRange
        For values that are not finite, a share outside 0 to 1, lists of unlike length or of fewer than two.

    Examples
    --------
    >>> trade_line([0.0, 0.1], [2.0, 2.2], chosen=(0.02, 2.05)).startswith("<svg")
    True
    """
    manner = manner_of("trade", manners)
    shares = row("uncleaned", uncleaned, 0.0, 1.0, "", least=2)
    kept = row("life_kept", life_kept)
    same_length("life_kept", len(kept), len(shares))
    show, unit = (manner.length, manner.unit) if life is None else (life, 1.0)
    said = [f"{manner.share(a)}: {show(b)}." for a, b in zip(shares, kept, strict=True)]
    points = [*zip(shares, kept, strict=True)]
    if chosen is not None:
        point = (one("chosen share", chosen[0], 0.0, 1.0, ""), one("chosen life", chosen[1]))
        points.append(point)
        said.insert(0, manner.say("chosen", share=manner.share(point[0]), life=show(point[1])) + ".")
    picture = Picture(manner, manner.say("trade"), said)
    top = picture.heading()
    low, high = spread(min(p[1] for p in points), max(p[1] for p in points), 0.08)
    ticks = round_steps(low, high, unit, 5)
    left = MARGIN + min(max(text_width(show(value), SMALL) for value in (*ticks, high)) + 8, picture.width / 2)
    top = picture.paragraph(manner.say("life_kept"), MARGIN, top, picture.right, fill=SOFT_INK) + 6
    chart = Box(left, top, picture.right - 8, top + _TALL)
    widest = max(p[0] for p in points)
    end = round_up(widest, (1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)) if widest > 1e-9 else 0.01
    along = Scale(0.0, min(end, 1.0), chart.left, chart.right)
    up = Scale(low, high, chart.bottom, chart.top)
    marks_up(picture, up, ticks, show, chart.left, chart.right)
    picture.trace([(along(a), up(b)) for a, b in zip(shares, kept, strict=True)], BLUE, 2.2)
    frame(picture, chart)
    if chosen is not None:
        x, y = along(points[-1][0]), up(points[-1][1])
        picture.line((x, chart.bottom), (x, y), INK, 1.0, "4 3")
        picture.line((chart.left, y), (x, y), INK, 1.0, "4 3")
        marks.diamond(picture, (x, y))
    shown = round_steps(0.0, along.high, 1.0, 4)
    top = marks_along(picture, along, shown, manner.share, chart.bottom)
    top = picture.paragraph(manner.say("uncleaned"), chart.left, top, picture.right, anchor="end", fill=SOFT_INK)
    return picture.svg(legend(picture, top + 2, [(marks.diamond, said[0].rstrip("."))] if chosen is not None else []))
