"""Axes: round figures at marks, as many as there is room for, never one text over another."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from sparkout.drawing.colour import INK, PALE, RULE, SOFT_INK
from sparkout.drawing.manner import Format
from sparkout.drawing.picture import LINE, SMALL, Box, Picture, Spot, box_of
from sparkout.drawing.scale import Columns, Scale
from sparkout.drawing.text import text_width


def marks_up(picture: Picture, scale: Scale, values: Sequence[float], show: Format, left: float, right: float) -> None:
    """Draw a scale up the left side: faint lines across, figures to the left of `left`."""
    said: set[str] = set()
    for value in values:
        y = scale(value)
        picture.line((left, y), (right, y), PALE)
        text = show(value)
        if text not in said and picture.label(text, [Spot(left - 5, y + 4, "end")], fill=SOFT_INK):
            said.add(text)


def marks_along(picture: Picture, scale: Scale | Columns, values: Sequence[float], show: Format, y: float) -> float:
    """Draw a scale along the bottom with figures below it; returns the new top.

    Every mark gets its figure when there is room, else every second, third ... and the last if it still fits.
    """
    picture.line((scale.start, y), (scale.stop, y), RULE)
    for value in values:
        picture.line((scale(value), y), (scale(value), y + 4), RULE)
    texts = [(show(value), held_in(show(value), scale(value), y + 16, picture.width)) for value in values]
    said: set[str] = set()
    for text, spot in _thinned(texts):
        if text not in said and picture.label(text, [spot], fill=SOFT_INK):
            said.add(text)
    return y + 4 + LINE


def _thinned(texts: list[tuple[str, Spot]]) -> list[tuple[str, Spot]]:
    """Return every k-th text with the least k that leaves no two touching, and the last when it is clear."""
    for k in range(1, len(texts)):
        kept = texts[::k]
        if all(_apart(a, b) for a, b in pairwise(kept)):
            even = (len(texts) - 1) % k == 0
            return kept if even or not _apart(kept[-1], texts[-1]) else [*kept, texts[-1]]
    return texts[:1]


def _apart(one: tuple[str, Spot], other: tuple[str, Spot]) -> bool:
    return box_of(*one, SMALL).right + 6 < box_of(*other, SMALL).left


def held_in(text: str, x: float, y: float, width: float) -> Spot:
    """Return the spot centred on x, moved just far enough to stay inside the picture."""
    half = text_width(text, SMALL) / 2
    return Spot(min(max(x, half + 3), width - half - 3), y, "middle")


def frame(picture: Picture, box: Box) -> None:
    """Draw the left and lower edge of a chart."""
    picture.line((box.left, box.top), (box.left, box.bottom), INK)
    picture.line((box.left, box.bottom), (box.right, box.bottom), INK)
