"""The knife's section before and after, its angles, and its edge close up."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any, NamedTuple, Unpack

from sparkout.drawing import marks
from sparkout.drawing.colour import BLUE, INK, ORANGE, SOFT_INK, STEEL
from sparkout.drawing.given import one, row, same_length
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import round_up
from sparkout.drawing.svg import Point
from sparkout.drawing.text import text_width

_CLOSE_UP_TALL = 170.0


class _Edge(NamedTuple):
    """The wedge at the cutting edge: angles in rad, lengths in mm."""

    top: float
    front: float
    rounding: float
    stock_top: float
    stock_front: float

    def inward(self, from_top: float, from_front: float) -> Point:
        """Step from the sharp corner to the corner of faces set back by the two distances (x rearwards, y up)."""
        # outward normals: top (sin top, cos top), front (-cos front, -sin front); the step goes back along both
        det = math.cos(self.top + self.front)
        x = (from_top * math.sin(self.front) + from_front * math.cos(self.top)) / det
        y = -(from_top * math.cos(self.front) + from_front * math.sin(self.top)) / det
        return x, y

    def wedge(self, corner: Point, reach: float) -> list[Point]:
        """Sharp wedge with its corner at a point, as a closed outline."""
        x, y = corner
        behind = (x + reach * math.cos(self.top), y - reach * math.sin(self.top))
        below = (x + reach * math.sin(self.front), y - reach * math.cos(self.front))
        return [below, corner, behind, (behind[0], below[1])]

    def rounded(self, corner: Point, reach: float) -> list[Point]:
        """The wedge with its corner rounded off."""
        below, _, behind, foot = self.wedge(corner, reach)
        step = self.inward(self.rounding, self.rounding)
        centre = (corner[0] + step[0], corner[1] + step[1])
        start, end = math.pi + self.front, math.pi / 2 - self.top
        turn = [start + (end - start) * i / 16 for i in range(17)]
        arc = [(centre[0] + self.rounding * math.cos(a), centre[1] + self.rounding * math.sin(a)) for a in turn]
        return [below, *arc, behind, foot]


def knife_section(
    before: Iterable[Iterable[Any]],
    after: Iterable[Iterable[Any]],
    top_angle: float,
    front_angle: float,
    *,
    edge_radius: float = 0.0,
    stock_top: float = 0.0,
    stock_front: float = 0.0,
    **manners: Unpack[Manners],
) -> str:
    """Return the knife's section before and after with its angles, and the edge close up, SVG text.

    Parameters
    ----------
    before, after
        Corners of the section, mm: x rearwards, y up, the edge at the upper front corner.
    top_angle, front_angle
        Relief of the top face from the seat plane and of the front face from its normal, rad.
    edge_radius
        Rounding of the edge before, mm.
    stock_top, stock_front
        What comes off each face, square to it, mm.

    Raises
    ------
    OutOfRange
        For values that are not finite, fewer than three corners, angles outside -10 to 60 degrees.

    Examples
    --------
    >>> block = [(0, 0), (30, -6), (30, -8), (0.5, -6)]
    >>> knife_section(block, block, 0.2, 0.087).startswith("<svg")
    True
    """
    manner = manner_of("knife", manners)
    low, high = math.radians(-10.0), math.radians(60.0)
    edge = _Edge(
        one("top_angle", top_angle, low, high, "rad"),
        one("front_angle", front_angle, low, math.radians(25.0), "rad"),
        one("edge_radius", edge_radius, 0.0, 100.0),
        one("stock_top", stock_top, 0.0, 100.0),
        one("stock_front", stock_front, 0.0, 100.0),
    )
    old, new = _corners("before", before), _corners("after", after)
    texts = {
        "top": manner.say("top_angle", value=manner.angle(edge.top)),
        "front": manner.say("front_angle", value=manner.angle(edge.front)),
        "edge": manner.say("edge_angle", value=manner.angle(math.pi / 2 - edge.top - edge.front)),
        "stock_top": manner.say("stock_top", value=manner.length(edge.stock_top)),
        "stock_front": manner.say("stock_front", value=manner.length(edge.stock_front)),
        "rounding": manner.say("edge_radius", value=manner.length(edge.rounding)),
    }
    picture = Picture(manner, manner.say("knife_section"), [f"{text}." for text in texts.values()])
    top = picture.heading()
    top = picture.paragraph(manner.say("whole_section"), MARGIN, top, picture.right, fill=SOFT_INK)
    top, unplaced = _whole(picture, old, new, edge, texts, top + 6)
    top = picture.paragraph(manner.say("edge_close_up"), MARGIN, top + 8, picture.right, fill=SOFT_INK)
    top = _close_up(picture, edge, top + 4)
    key: list[tuple[Draw, str]] = [
        (marks.stroke(BLUE, 1.4, "5 3"), f"{manner.say('before')}: {texts['rounding']}"),
        (marks.patch(STEEL, edge=INK), manner.say("after")),
        (_ground, f"{manner.say('metal_removed')}: {texts['stock_top']}, {texts['stock_front']}"),
        (marks.stroke(SOFT_INK, 1.0, "4 3"), manner.say("seat_plane")),
        *((marks.nothing, text) for text in unplaced),
    ]
    return picture.svg(legend(picture, top + 4, key))


def _corners(argument: str, points: Iterable[Iterable[Any]]) -> list[Point]:
    corners = []
    for i, point in enumerate(points):
        pair = row(f"{argument}[{i}]", point)
        same_length(f"{argument}[{i}]", len(pair), 2)
        corners.append((pair[0], pair[1]))
    one(f"number of corners in {argument}", len(corners), 3, 10_000, "")
    return corners


def _front_edge(corners: list[Point]) -> Point:
    return max(corners, key=lambda p: (p[1] - p[0], p[1]))


def _whole(
    picture: Picture, old: list[Point], new: list[Point], edge: _Edge, texts: dict[str, str], top: float
) -> tuple[float, list[str]]:
    """Draw the whole section with its angles; returns the new top and the texts that found no place."""
    xs, ys = [p[0] for p in old + new], [p[1] for p in old + new]
    gutter = min(text_width(texts["front"], SMALL) + 10, picture.width / 3)
    left, room = MARGIN + gutter, picture.right - MARGIN - gutter - 4
    wide, tall = max(xs) - min(xs), max(ys) - min(ys)
    one("width of the section", wide, 1e-6)
    one("height of the section", tall, 1e-6)
    per_mm = min(room / wide, 190.0 / tall)
    head = top + LINE + 12.0

    def at(point: Point) -> Point:
        return left + (point[0] - min(xs)) * per_mm, head + (max(ys) - point[1]) * per_mm

    picture.shape([at(p) for p in old], picture.hatch("off", ORANGE, 6.0, -45.0, 0.6))
    picture.shape([at(p) for p in new], STEEL, INK, 1.6)
    dashed = [at(p) for p in old]
    picture.trace([*dashed, dashed[0]], BLUE, 1.2, stroke_dasharray="5 3")
    x, y = at(_front_edge(new))
    reach, drop = picture.right - x, max(tall * per_mm, 40.0) + 6
    picture.line((x, y), (x + reach, y), SOFT_INK, 1.0, "4 3")
    picture.line((x, y), (x, y + drop), SOFT_INK, 1.0, "4 3")
    bottom = max(y + drop, head + tall * per_mm)
    slope = math.tan(edge.front)
    picture.line((x, y), (x + drop * slope, y + drop), SOFT_INK, 0.8)
    radius = min(0.6 * reach, 120.0)
    picture.trace(marks.arc((x, y), radius, 0.0, edge.top), INK, 1.0)
    picture.trace(marks.arc((x, y), 0.8 * drop, math.pi / 2, math.pi / 2 - edge.front), INK, 1.0)
    places = {
        "top": [Spot(x + radius, y - 5, "middle"), Spot(picture.right, y - 5, "end")],
        "front": [Spot(x - 6, y + 0.8 * drop, "end"), Spot(x - 6, bottom, "end")],
        "edge": [Spot(x - 6, y + 4, "end"), Spot(x, y - 8, "start")],
    }
    return bottom + 4, [texts[key] for key, spots in places.items() if not picture.label(texts[key], spots)]


def _close_up(picture: Picture, edge: _Edge, top: float) -> float:
    size = max(edge.stock_top, edge.stock_front, 2.0 * edge.rounding)
    per_mm = 55.0 / size if size > 1e-9 else 275.0
    bottom, reach = top + _CLOSE_UP_TALL, 3.0 * picture.width / per_mm
    view = Box(MARGIN, top, picture.right, bottom)
    clip = picture.window("view", view)
    step = edge.inward(edge.stock_top, edge.stock_front)
    old = (0.0, 0.0)
    middle = (step[0] / 2, step[1] / 2)

    def at(point: Point) -> Point:
        x, y = (point[0] - middle[0]) * per_mm, (point[1] - middle[1]) * per_mm
        return picture.width * 0.36 + x, top + _CLOSE_UP_TALL * 0.40 - y

    outline = edge.rounded(old, reach) if edge.rounding > 0 else edge.wedge(old, reach)
    dashed = [at(p) for p in outline]
    picture.shape(dashed, picture.hatch("off", ORANGE, 6.0, -45.0, 0.6), clip_path=clip)
    picture.shape([at(p) for p in edge.wedge(step, reach)], STEEL, INK, 1.8, clip_path=clip)
    picture.trace([*dashed, dashed[0]], BLUE, 1.4, stroke_dasharray="5 3", clip_path=clip)
    picture.rect(view, "none", SOFT_INK)
    return _scale_bar(picture, picture.manner, per_mm, bottom + 4)


def _scale_bar(picture: Picture, manner: Manner, per_mm: float, top: float) -> float:
    long = round_up(24.0 / per_mm / manner.unit) * manner.unit
    marks.error_bar(picture, (MARGIN, top + 8), (MARGIN + long * per_mm, top + 8), 4.0)
    text = f"{manner.length(long)}. {manner.say('to_scale')}"
    return picture.paragraph(text, MARGIN + long * per_mm + 8, top, picture.right, fill=SOFT_INK)


def _ground(picture: Picture, at: Point) -> None:
    marks.patch(picture.hatch("off", ORANGE))(picture, at)
