"""Marks of a drawn life, told apart by shape: verdicts, and what happened on the way. Many of a kind are one path."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

from sparkout.drawing.colour import BLUE, INK, ORANGE, WHITE
from sparkout.drawing.picture import Box, Draw, Picture
from sparkout.drawing.svg import number, path_through

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from sparkout.drawing.svg import Attribute, Point


def strokes(
    picture: Picture, lines: Iterable[Sequence[Point]], stroke: str, width: float, dash: str | None = None
) -> None:
    """Add many open lines as one path."""
    _path(picture, "".join(path_through([(round(x, 1), round(y, 1)) for x, y in line]) for line in lines),
          stroke, width, dash)  # fmt: skip


def uprights(picture: Picture, lines: Iterable[tuple[float, float, float]], stroke: str, width: float) -> None:
    """Add many upright lines (x, one end, other end) as one path."""
    _path(picture, "".join(f"{_at((x, one))}V{number(round(other, 1))}" for x, one, other in lines), stroke, width)


def stamped(picture: Picture, places: Iterable[Point], shape: Sequence[Point], stroke: str, width: float) -> None:
    """Add one open line, given as steps, at many places, as one path."""
    steps = "".join(f"l{number(round(dx, 1))},{number(round(dy, 1))}" for dx, dy in shape[1:])
    first = shape[0]
    _path(picture, "".join(f"{_at((x + first[0], y + first[1]))}{steps}" for x, y in places), stroke, width)


def _at(place: Point) -> str:
    return path_through([(round(place[0], 1), round(place[1], 1))])


def _path(picture: Picture, drawn: str, stroke: str, width: float, dash: str | None = None) -> None:
    if drawn:
        paint: dict[str, Attribute] = {"d": drawn, "fill": "none", "stroke": stroke, "stroke_width": width}
        picture.add("path", {**paint, "stroke_dasharray": dash, "stroke_linejoin": "round"})


def dots(picture: Picture, places: Sequence[Point], radius: float, *, hollow: bool) -> None:
    """Add many dots as one path (two when hollow): strokes of no length with round ends."""
    drawn = "".join(f"{_at(place)}h0" for place in places)
    if not drawn:
        return
    paint: dict[str, Attribute] = {"d": drawn, "fill": "none", "stroke_linecap": "round"}
    picture.add("path", {**paint, "stroke": INK, "stroke_width": 2 * radius})
    if hollow:
        picture.add("path", {**paint, "stroke": WHITE, "stroke_width": 2 * radius - min(2.6, radius)})


def verdicts(picture: Picture, word: str, places: Sequence[Point], half: float) -> None:
    """Add the mark of one outcome at many places: a tick, an open diamond, a cross."""
    h = half
    if word == "conforms":
        stamped(picture, places, [(-h, 0), (0.7 * h, 0.8 * h), (1.3 * h, -1.6 * h)], BLUE, 2.0)
    elif word == "undecided":
        stamped(picture, places, [(0, -h), (h, h), (-h, h), (-h, -h), (h, -h)], INK, 1.5)
    else:
        stamped(picture, places, [(-h, -h), (2 * h, 2 * h)], ORANGE, 2.6)
        stamped(picture, places, [(-h, h), (2 * h, -2 * h)], ORANGE, 2.6)


def visits(picture: Picture, places: Sequence[Point], half: float) -> None:
    """Add the mark of a visit at many places: a short upright bar."""
    uprights(picture, [(x, y - 5, y + 5) for x, y in places], INK, min(4.0, 1.2 * half))


def verdict_mark(word: str) -> Draw:
    """Return an outcome's mark for the key."""
    return partial(_verdict_mark, word=word)


def _verdict_mark(picture: Picture, at: Point, word: str) -> None:
    verdicts(picture, word, [at], 5.0)


def happening(picture: Picture, kind: str, at: Point) -> None:
    """Add the mark of one thing that happened: grains, a hard lump, a cross, a camera, a sound."""
    x, y = at
    if kind == "sand":
        for dx, dy in ((-4.5, 3.5), (0.0, 3.5), (4.5, 3.5), (-2.2, -0.5), (2.2, -0.5), (0.0, -4.5)):
            picture.circle((x + dx, y + dy), 1.5, INK, None)
    elif kind == "stone":
        picture.shape([(x - 6, y + 4), (x - 4, y - 4), (x + 2, y - 6), (x + 6, y), (x + 4, y + 5)], ORANGE, INK, 1.2)
    elif kind == "photograph":
        picture.rect(Box(x - 7, y - 4, x + 7, y + 6), WHITE, INK)
        picture.rect(Box(x - 3, y - 7, x + 3, y - 4), INK)
        picture.circle((x, y + 1), 3.0, WHITE, INK, 1.5)
    elif kind == "recording":
        heights = (2.0, 5.0, 7.0, 4.0, 6.0, 2.5)
        lines = [[(x - 7.5 + 3 * i, y - h), (x - 7.5 + 3 * i, y + h)] for i, h in enumerate(heights)]
        strokes(picture, lines, BLUE, 1.8)
    else:
        strokes(picture, [[(x - 5, y), (x + 5, y)], [(x, y - 5), (x, y + 5)]], INK, 1.6)


def happening_mark(kind: str) -> Draw:
    """Return the mark for the key."""
    return partial(_happening_mark, kind=kind)


def _happening_mark(picture: Picture, at: Point, kind: str) -> None:
    happening(picture, kind, at)


def found(picture: Picture, at: Point) -> None:
    """As found, for the key: an open ring."""
    dots(picture, [at], 3.2, hollow=True)


def left(picture: Picture, at: Point) -> None:
    """As left, for the key: a filled dot."""
    dots(picture, [at], 3.2, hollow=False)


def ground(picture: Picture, at: Point) -> None:
    """Ground off, for the key: a thick upright line."""
    strokes(picture, [[(at[0], at[1] - 7), (at[0], at[1] + 7)]], ORANGE, 3.0)


def changed(picture: Picture, at: Point) -> None:
    """Changed at a visit without grinding, for the key: a thin upright line."""
    uprights(picture, [(at[0], at[1] - 7, at[1] + 7)], BLUE, 1.6)
