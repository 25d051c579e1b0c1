"""Knife on reel to scale, seen from the left end: how far behind centre the edge stands, and the pivot's arm."""

from __future__ import annotations

import math
from typing import NamedTuple, Unpack

from sparkout.core.errors import OutOfRange
from sparkout.drawing import marks
from sparkout.drawing.colour import BLUE, INK, ORANGE, PALE, RULE, SOFT_INK, STEEL
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manners, manner_of
from sparkout.drawing.picture import MARGIN, SMALL, Box, Draw, Picture, Spot, legend
from sparkout.drawing.svg import Point
from sparkout.drawing.text import text_width


class _View(NamedTuple):
    """Where the reel's axis stands in the picture and the scale; the rear is to the right, up is up."""

    axis: Point
    per_mm: float
    top: float
    bottom: float

    def at(self, behind: float, below: float) -> Point:
        return self.axis[0] + self.per_mm * behind, self.axis[1] + self.per_mm * below


class _Setting(NamedTuple):
    radius: float
    pivot: Point
    edge: Point
    gap: float
    approach: float
    top_angle: float
    ground: float | None
    blades: int


def knife_on_reel(
    reel_radius: float,
    pivot: tuple[float, float],
    edge: tuple[float, float],
    behind_centre: float,
    gap: float,
    approach_angle: float,
    *,
    ground_below: float | None = None,
    top_angle: float = 0.0,
    blade_count: int = 0,
    **manners: Unpack[Manners],
) -> str:
    """Return the knife against the reel to scale, seen from the left end, SVG text.

    Parameters
    ----------
    reel_radius
        Edge radius, mm.
    pivot, edge
        (behind, below) the reel's axis, mm: where the knife's carrier turns, and the knife's edge.
    behind_centre
        The distance written as such, mm.
    gap
        Between edge circle and knife, mm; negative is interference.
    approach_angle
        atan2(behind, below) of the edge, rad: between the vertical and the line axis to edge.
    ground_below
        The line the rollers stand on, mm below the axis.
    top_angle
        Fall of the knife's top face rearwards, rad, as it stands in the unit.
    blade_count
        Blades to draw; 0 for none.

    Raises
    ------
    OutOfRange
        For values that are not finite or out of range, or an edge farther than two radii from the axis.

    Examples
    --------
    >>> knife_on_reel(63.5, (40.0, 80.0), (8.0, 63.0), 8.0, 0.03, 0.126).startswith("<svg")
    True
    """
    manner = manner_of("on-reel", manners)
    radius = one("reel_radius", reel_radius, 1.0, 1e4)
    far = 4.0 * radius
    setting = _Setting(
        radius,
        (one("pivot behind", pivot[0], -far, far), one("pivot below", pivot[1], -far, far)),
        (one("edge behind", edge[0], -2 * radius, 2 * radius), one("edge below", edge[1], -2 * radius, 2 * radius)),
        one("gap", gap, -radius, radius),
        one("approach_angle", approach_angle, -math.pi, math.pi, "rad"),
        one("top_angle", top_angle, -1.0, 1.2, "rad"),
        None if ground_below is None else one("ground_below", ground_below, -far, far),
        blade_count,
    )
    if not 0 <= blade_count <= 40:
        raise OutOfRange("blade_count", blade_count, "0 to 40")
    behind = manner.say("behind_centre", value=manner.length(one("behind_centre", behind_centre)))
    view_gap = abs(setting.gap) * _scale(setting, manner.width)
    spaced = manner.say("gap_drawn" if view_gap >= 2.0 else "gap", value=manner.length(setting.gap))
    approach = manner.say("approach_angle", value=manner.angle(setting.approach))
    picture = Picture(manner, manner.say("knife_on_reel"), [f"{behind}.", f"{spaced}.", f"{approach}."])
    view = _view(picture, setting, _travel(picture, picture.heading(), manner.say("travel")) + 6)
    _reel(picture, setting, view)
    _knife(picture, setting, view)
    left_over = _centre_lines(picture, setting, view, behind, approach)
    key: list[tuple[Draw, str]] = [
        (_gap_mark, spaced),
        (marks.stroke(BLUE, 1.4, "6 3"), manner.say("pivot")),
        *((marks.nothing, text) for text in left_over),
    ]
    if setting.ground is not None:
        key.append((marks.stroke(INK, 2.2), manner.say("ground_line")))
    return picture.svg(legend(picture, view.bottom + 6, [*key, (marks.nothing, manner.say("to_scale"))]))


def _gap_mark(picture: Picture, at: Point) -> None:
    picture.circle(at, 4.5, "none", ORANGE, 2.2)


def _extent(setting: _Setting) -> Box:
    """What must be in the picture, mm: behind and below the axis; the upper part of the reel may be cut."""
    r = setting.radius
    behind = [-1.06 * r, 1.06 * r, setting.pivot[0], setting.edge[0], setting.edge[0] + 0.44 * r]
    below = [-0.35 * r, 1.06 * r, setting.pivot[1], setting.edge[1], setting.edge[1] + 0.06 * r]
    if setting.ground is not None:
        below.append(setting.ground)
    return Box(min(behind), min(below), max(behind), max(below))


def _scale(setting: _Setting, width: float) -> float:
    need = _extent(setting)
    return min((width - 2 * MARGIN - 8) / (need.right - need.left), 1.2 * width / (need.bottom - need.top))


def _view(picture: Picture, setting: _Setting, top: float) -> _View:
    need, per_mm = _extent(setting), _scale(setting, picture.width)
    spare = (picture.width - (need.right - need.left) * per_mm) / 2
    axis = (spare - need.left * per_mm, top - need.top * per_mm)
    return _View(axis, per_mm, top, axis[1] + need.bottom * per_mm + 34.0)


def _reel(picture: Picture, setting: _Setting, view: _View) -> None:
    clip = picture.window("view", Box(0.0, view.top, picture.width, view.bottom))
    radius = setting.radius * view.per_mm
    for b in range(setting.blades):
        # each blade leans forward from its root to the edge, which leads; one stands at the knife
        tip = math.pi / 2 - setting.approach - 2 * math.pi * b / setting.blades
        root = tip + 0.35
        inner = (view.axis[0] + 0.62 * radius * math.cos(root), view.axis[1] + 0.62 * radius * math.sin(root))
        outer = (view.axis[0] + radius * math.cos(tip), view.axis[1] + radius * math.sin(tip))
        picture.trace([inner, outer], RULE, 2.4, clip_path=clip)
    circle = marks.arc(view.axis, radius, 0.0, 2 * math.pi, 120)
    picture.trace(circle, INK, 1.6, clip_path=clip)
    picture.line((view.axis[0] - 7, view.axis[1]), (view.axis[0] + 7, view.axis[1]), INK)
    # at the bottom the edges move rearwards, towards the knife: anticlockwise as seen here
    turn = marks.arc(view.axis, 0.45 * radius, math.radians(200.0), math.radians(130.0))
    picture.trace(turn, INK, 1.4)
    marks.arrow_head(picture, turn[-1], math.radians(40.0), 8.0)


def _knife(picture: Picture, setting: _Setting, view: _View) -> None:
    x, y = view.at(*setting.edge)
    size = setting.radius * view.per_mm
    thick = 0.045 * size
    if setting.ground is not None and setting.ground > setting.edge[1]:
        thick = min(thick, 0.7 * (setting.ground - setting.edge[1]) * view.per_mm)
    run = min(0.12 * size, 0.8 * thick / max(math.tan(setting.top_angle), 1e-3))
    fall = run * math.tan(setting.top_angle)
    top = [(x, y), (x + run, y + fall), (x + 0.42 * size, y + fall)]
    picture.shape([*top, (x + 0.42 * size, y + thick), (x + 0.09 * thick, y + thick)], STEEL, INK, 1.4)
    pivot = view.at(*setting.pivot)
    picture.line((x, y), pivot, BLUE, 1.4, "6 3")
    picture.circle(pivot, 5.0, PALE, BLUE, 1.6)
    picture.circle(pivot, 1.4, BLUE, None)
    _gap_mark(picture, (x, y))
    if setting.ground is not None:
        level = view.at(0.0, setting.ground)[1]
        picture.line((MARGIN, level), (picture.right, level), INK, 2.2)


def _travel(picture: Picture, top: float, text: str) -> float:
    marks.arrow(picture, (MARGIN + 28, top + 8), (MARGIN, top + 8))
    return picture.paragraph(text, MARGIN + 34, top, picture.right)


def _centre_lines(picture: Picture, setting: _Setting, view: _View, behind: str, approach: str) -> list[str]:
    """Draw the vertical, the line to the edge, the angle and the dimension; returns the texts left over."""
    (cx, cy), (x, y) = view.axis, view.at(*setting.edge)
    level = view.bottom - 8.0
    picture.line((cx, cy - 12), (cx, level + 6), SOFT_INK, 0.9, "9 3 2 3")
    picture.line((x, y + 6), (x, level + 6), SOFT_INK, 0.9)
    picture.line((cx, cy), (x, y), SOFT_INK, 0.9)
    marks.dimension(picture, (cx, level), (x, level))
    room = max(min(cx, picture.width - cx) - 6.0, 4.0)  # an absurd stand may turn the arc right round
    radius = min(0.72 * math.dist((cx, cy), (x, y)), room)
    picture.trace(marks.arc((cx, cy), radius, math.pi / 2, math.pi / 2 - setting.approach), INK, 1.0)
    left_over = []
    right, left = max(cx, x), min(cx, x)
    beside = 18 if abs(x - cx) < 18 else 6
    spots = [Spot(right + beside, level + 4), Spot(left - beside, level + 4, "end")]
    if not picture.label(behind, spots):
        left_over.append(behind)
    near = cy + radius * math.cos(setting.approach) + 2
    half = text_width(approach, SMALL) / 2
    inside = Box(cx - 0.6 * radius - half, 0.0, picture.width - 3, view.bottom)
    spots = [Spot(right + 8, near - 6), Spot(left - 8, near - 6, "end"), Spot(right + 8, cy + 20)]
    if not picture.label(approach, spots, inside, plate=True):
        left_over.append(approach)
    return left_over
