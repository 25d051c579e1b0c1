"""Land and relief close up: the tip of one blade in section, before and after the grind, to scale."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple, Unpack

from sparkout.drawing import marks
from sparkout.drawing.colour import BLUE, INK, ORANGE, SOFT_INK, STEEL
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manner, Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, Box, Draw, Picture, Spot, legend
from sparkout.drawing.scale import round_up
from sparkout.drawing.svg import Point

At = Callable[[Point], Point]


class _Tip(NamedTuple):
    """Section of one tip: x from the edge backwards, y outwards from the tip before grinding, mm."""

    radius: float
    depth: float
    """How far the cutting edge lies below the tip before grinding."""
    land: float
    relief: float
    thickness: float

    def back_of_land(self) -> tuple[Point, float]:
        """Where the land ends, and the tangent's fall there, rad."""
        land = min(self.land, self.thickness)
        turn = land / self.radius
        return (self.radius * math.sin(turn), self.radius * (math.cos(turn) - 1.0) - self.depth), turn

    def outline(self, foot: float) -> list[Point]:
        """Closed outline down to the depth `foot` below the tip."""
        pieces = 12
        steps = (min(self.land, self.thickness) * i / pieces / self.radius for i in range(pieces + 1))
        top = [(self.radius * math.sin(a), self.radius * (math.cos(a) - 1.0) - self.depth) for a in steps]
        (x, y), turn = self.back_of_land()
        fall = min(turn + self.relief, math.radians(89.0))
        back = [(self.thickness, y - (self.thickness - x) * math.tan(fall))] if self.thickness > x else []
        lowest = min(-foot, *(corner[1] for corner in back)) if back else -foot
        return [*top, *back, (max(self.thickness, x), lowest), (0.0, lowest)]


def land_close_up(
    reel_radius: float,
    land_before: float,
    land_after: float,
    relief_angle: float,
    radius_removed: float,
    blade_thickness: float,
    relieved: bool,
    **manners: Unpack[Manners],
) -> str:
    """Return one blade tip in section before and after the grind, to scale, SVG text.

    Parameters
    ----------
    reel_radius
        Edge radius before the grind, mm.
    land_before, land_after
        Width of the land, mm.
    relief_angle
        From the tip-circle tangent at the back of the land, rad; the datum is drawn.
    radius_removed
        What the grind takes off the radius, mm.
    blade_thickness
        mm; when the land is as wide, the relief is gone and the picture says so.
    relieved
        Whether `land_after` is the land after grinding the relief again.

    Raises
    ------
    OutOfRange
        For values that are not finite or cannot be (negative land, angle outside 1 to 89 degrees).

    Examples
    --------
    >>> land_close_up(63.5, 1.0, 1.3, 0.7854, 0.3, 5.0, False).startswith("<svg")
    True
    """
    manner = manner_of("land", manners)
    radius = one("reel_radius", reel_radius, 1.0, 1e4)
    thickness = one("blade_thickness", blade_thickness, 0.1, radius)
    relief = one("relief_angle", relief_angle, math.radians(1.0), math.radians(89.0), "rad")
    removed = one("radius_removed", radius_removed, 0.0, thickness)
    before = _Tip(radius, 0.0, one("land_before", land_before, 0.0, radius), relief, thickness)
    after = _Tip(radius - removed, removed, one("land_after", land_after, 0.0, radius), relief, thickness)
    gone = after.land >= thickness
    texts = {
        "before": manner.say("land_before", value=manner.length(before.land)),
        "after": manner.say("land_after", value=manner.length(after.land)),
        "removed": manner.say("radius_removed", value=manner.length(removed)),
        "relief": manner.say("relief_angle", value=manner.angle(relief)),
        "state": manner.say("relief_gone" if gone else "relieved" if relieved else "not_relieved"),
        "thickness": manner.say("blade_thickness", value=manner.length(thickness)),
    }
    picture = Picture(manner, manner.say("land_close_up"), [f"{text.rstrip('.')}." for text in texts.values()])
    top = picture.heading() + 4
    left, room = MARGIN + 30.0, picture.right - MARGIN - 34.0
    per_mm = room / thickness
    origin = (left, top + 3 * LINE + 18.0)
    deepest = max(before.outline(0.0)[-1][1] * -1.0, after.outline(0.0)[-1][1] * -1.0, removed + 0.15 * thickness)
    bottom = origin[1] + min(deepest * per_mm + 14.0, max(0.62 * room, removed * per_mm + 60.0))
    foot = (bottom - origin[1]) / per_mm

    def at(point: Point) -> Point:
        return origin[0] + per_mm * point[0], origin[1] - per_mm * point[1]

    clip = picture.window("view", Box(0.0, top, picture.width, bottom))
    old, new = ([at(p) for p in tip.outline(foot)] for tip in (before, after))
    picture.shape(old, picture.hatch("off", ORANGE, 6.0, -45.0, 0.6), clip_path=clip)
    picture.shape(new, STEEL, clip_path=clip)
    picture.trace([new[-1], *new[:-1]], INK, 1.8, clip_path=clip)
    picture.trace(
        [(origin[0], origin[1] + removed * per_mm), *old[:-2]], BLUE, 1.4, stroke_dasharray="5 3", clip_path=clip
    )
    left_over = _sizes(picture, at, before, after, texts, top)
    if not gone:
        left_over += _angle(picture, at, after, texts["relief"], bottom)
    _turn(picture, Box(left, origin[1], left + room, bottom), manner.say("turns_this_way"))
    top = _scale_bar(picture, manner, per_mm, bottom + 8)
    key: list[tuple[Draw, str]] = [
        (marks.stroke(BLUE, 1.4, "5 3"), manner.say("before")),
        (marks.patch(STEEL, edge=INK), manner.say("after")),
        (_ground, f"{manner.say('metal_removed')}: {texts['removed']}"),
        *((marks.nothing, text) for text in left_over),
        (marks.nothing, texts["thickness"]),
        (marks.nothing, texts["state"]),
    ]
    return picture.svg(legend(picture, top + 4, key))


def _ground(picture: Picture, at: Point) -> None:
    marks.patch(picture.hatch("off", ORANGE))(picture, at)


def _sizes(picture: Picture, at: At, before: _Tip, after: _Tip, texts: dict[str, str], top: float) -> list[str]:
    """Draw both lands as dimensions above the tip; returns the texts that found no place."""
    left_over = []
    narrow_first = sorted(((before, "before"), (after, "after")), key=lambda pair: pair[0].land)
    for (tip, key), y in zip(narrow_first, (top + 12.0, top + LINE + 18.0), strict=True):
        start, end = at((0.0, -tip.depth)), at(tip.back_of_land()[0])
        for x, foot in (start, end):
            picture.line((x, y - 4), (x, foot - 2), SOFT_INK, 0.7)
        marks.dimension(picture, (start[0], y), (end[0], y))
        inside = Spot((start[0] + end[0]) / 2, y - 4, "middle")
        beside = Spot(end[0] + (18 if end[0] - start[0] < 18 else 6), y + 4)
        if not picture.label(texts[key], [beside, inside], fill=INK):
            left_over.append(texts[key])
    return left_over


def _angle(picture: Picture, at: At, tip: _Tip, text: str, bottom: float) -> list[str]:
    """Draw the tangent at the back of the land and the angle from it; returns the text when it found no place."""
    corner, turn = tip.back_of_land()
    x, y = at(corner)
    reach = picture.right - x
    picture.line((x, y), (x + reach, y + reach * math.tan(turn)), SOFT_INK, 1.0, "4 3")
    radius = min(0.55 * reach, 70.0, (bottom - y) * 0.9)
    picture.trace(marks.arc((x, y), radius, turn, turn + tip.relief), INK, 1.0)
    tip_of_arc = (x + radius * math.cos(turn + tip.relief), y + radius * math.sin(turn + tip.relief))
    marks.arrow_head(picture, tip_of_arc, turn + tip.relief + math.pi / 2, 6.0)
    middle = turn + tip.relief / 2
    beyond = (x + (radius + 6) * math.cos(middle), y + (radius + 6) * math.sin(middle) + 4)
    low = y + radius * math.sin(turn) + 18
    spots = [Spot(*beyond), Spot(picture.right, low, "end"), Spot(picture.right, y - 6, "end")]
    return [] if picture.label(text, spots, plate=True) else [text]


def _turn(picture: Picture, body: Box, text: str) -> None:
    y = body.bottom - 12.0
    if picture.label(text, [Spot(body.left + 40, y + 4)], Box(body.left, body.top, body.right, body.bottom)):
        marks.arrow(picture, (body.left + 34, y), (body.left + 8, y))


def _scale_bar(picture: Picture, manner: Manner, per_mm: float, top: float) -> float:
    long = round_up(24.0 / per_mm / manner.unit) * manner.unit
    left = MARGIN + 30.0
    marks.error_bar(picture, (left, top + 8), (left + long * per_mm, top + 8), 4.0)
    text = f"{manner.length(long)}. {manner.say('to_scale')}"
    return picture.paragraph(text, left + long * per_mm + 8, top, picture.right, fill=SOFT_INK)
