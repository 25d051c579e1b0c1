"""Marks told apart by shape, so that no meaning hangs on colour; and arrows and dimensions."""

from __future__ import annotations

import math
from functools import partial

from sparkout.drawing.colour import INK, RULE, WHITE
from sparkout.drawing.picture import Box, Draw, Picture
from sparkout.drawing.svg import Point


def ring(picture: Picture, at: Point, radius: float = 3.2, tooltip: str = "") -> None:
    """A reading: a small open circle."""
    picture.circle(at, radius, WHITE, INK, 1.3, tooltip)


def square(picture: Picture, at: Point, half: float = 3.0, tooltip: str = "") -> None:
    """A reading over all blades: a small open square."""
    x, y = at
    picture.rect(Box(x - half, y - half, x + half, y + half), WHITE, INK, tooltip=tooltip)


def diamond(picture: Picture, at: Point, half: float = 6.5) -> None:
    """The next reading: a dark diamond with a light heart."""
    x, y = at
    picture.shape([(x, y - half), (x + half, y), (x, y + half), (x - half, y)], INK, WHITE, 1.0)
    picture.circle(at, half / 3.2, WHITE, None)


def pointer(picture: Picture, at: Point, half: float = 5.5) -> None:
    """The lowest place: a dark triangle pointing down."""
    x, y = at
    picture.shape([(x - half, y - half * 0.8), (x + half, y - half * 0.8), (x, y + half)], INK, WHITE, 1.0)


def nothing(picture: Picture, at: Point) -> None:
    """No mark: the text of the key stands alone."""


def stroke(colour: str, width: float = 2.0, dash: str | None = None) -> Draw:
    """Return a mark for the key: a piece of line."""
    return partial(_stroke, colour=colour, width=width, dash=dash)


def _stroke(picture: Picture, at: Point, colour: str, width: float, dash: str | None) -> None:
    picture.line((at[0] - 9, at[1]), (at[0] + 9, at[1]), colour, width, dash)


def patch(*paints: str, edge: str | None = RULE, half: float = 6.0) -> Draw:
    """Return a mark for the key: a rectangle in the given paints, one over the other."""
    return partial(_patch, paints=paints, edge=edge, half=half)


def _patch(picture: Picture, at: Point, paints: tuple[str, ...], edge: str | None, half: float) -> None:
    box = Box(at[0] - 9, at[1] - half, at[0] + 9, at[1] + half)
    for paint in paints:
        picture.rect(box, paint, edge)


def error_bar(picture: Picture, start: Point, end: Point, cap: float = 3.5, width: float = 1.2) -> None:
    """A line with a short bar across each end."""
    long = math.dist(start, end) or 1.0
    across = ((end[1] - start[1]) / long * cap, -(end[0] - start[0]) / long * cap)
    if start == end:
        across = (cap, 0.0)
    picture.line(start, end, INK, width)
    for x, y in (start, end):
        picture.line((x - across[0], y - across[1]), (x + across[0], y + across[1]), INK, width)


def arrow_head(picture: Picture, tip: Point, direction: float, size: float = 7.0, fill: str = INK) -> None:
    """A filled head whose tip is at a point; direction in rad, 0 to the right, increasing downwards."""
    back = [
        (tip[0] - size * math.cos(direction + turn), tip[1] - size * math.sin(direction + turn))
        for turn in (0.36, -0.36)
    ]
    picture.shape([tip, *back], fill)


def arrow(picture: Picture, start: Point, end: Point, width: float = 1.2, stroke: str = INK) -> None:
    """A line with a head at its end."""
    picture.line(start, end, stroke, width)
    arrow_head(picture, end, math.atan2(end[1] - start[1], end[0] - start[0]), fill=stroke)


def dimension(picture: Picture, start: Point, end: Point) -> None:
    """A dimension line: heads at both ends, from outside when there is no room between."""
    long = math.dist(start, end)
    if long == 0.0:
        return
    direction = math.atan2(end[1] - start[1], end[0] - start[0])
    if long >= 18.0:
        picture.line(start, end)
        arrow_head(picture, end, direction, 6.0)
        arrow_head(picture, start, direction + math.pi, 6.0)
        return
    along = (math.cos(direction) * 14.0, math.sin(direction) * 14.0)
    arrow(picture, (start[0] - along[0], start[1] - along[1]), start)
    arrow(picture, (end[0] + along[0], end[1] + along[1]), end)


def arc(centre: Point, radius: float, start: float, end: float, pieces: int = 24) -> list[Point]:
    """Return points along an arc; angles in rad, 0 to the right, increasing downwards."""
    return [
        (centre[0] + radius * math.cos(angle), centre[1] + radius * math.sin(angle))
        for angle in (start + (end - start) * i / pieces for i in range(pieces + 1))
    ]
