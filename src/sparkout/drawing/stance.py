"""A cutting unit on its rollers: from the side to scale, its edge over the ground close up, and both ends."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import partial
from typing import NamedTuple, Unpack

from sparkout.drawing import marks
from sparkout.drawing.colour import BLUE, INK, PALE, RULE, SOFT_INK, STEEL
from sparkout.drawing.given import one
from sparkout.drawing.manner import Manners, manner_of
from sparkout.drawing.picture import LINE, MARGIN, Box, Draw, Picture, Spot, legend
from sparkout.drawing.svg import Point

_TALLEST, _CLOSE_UP, _LEVEL = 250.0, 150.0, 34.0
_FAR = 2000.0
_SAME = 2.5e-4
"""mm; half a difference of ends that no bar could show."""


class DrawnStance(NamedTuple):
    """Where all lies on the ground: mm along it to the rear of the reel's axis, and up from it; angles rad."""

    reel_radius: float
    axis_height: float
    edge_behind: float
    height_of_cut: float
    front_behind: float
    """Of the front roller's axis: negative, it lies ahead."""
    front_radius: float
    rear_behind: float
    rear_radius: float
    attitude: float = 0.0
    """Tilt of the knife's seat, rear lower positive."""
    top_fall: float = 0.0
    front_lean: float = 0.0
    top_clearance: float = 0.0
    approach_angle: float = 0.0

    @property
    def reach(self) -> float:
        """How far the reel comes down below the edge, mm."""
        return self.height_of_cut - self.clear

    @property
    def clear(self) -> float:
        """From the ground up to the reel, mm."""
        return self.axis_height - self.reel_radius


class _View(NamedTuple):
    """Where the reel's axis stands over the ground in the picture, and the scale; the rear is to the right."""

    x: float
    ground: float
    per_mm: float
    clip: str

    def at(self, behind: float, up: float) -> Point:
        return self.x + self.per_mm * behind, self.ground - self.per_mm * up


def unit_on_its_rollers(
    now: DrawnStance,
    *,
    before: DrawnStance | None = None,
    heights: tuple[float, float] | None = None,
    foot_off: float = 0.0,
    **manners: Unpack[Manners],
) -> str:
    """Return a cutting unit standing on its rollers, seen from the left end, with its figures, SVG text.

    Parameters
    ----------
    now
        Where its parts lie.
    before
        The same before some change: drawn dashed.
    heights
        Height of cut at the left and the right end, mm: drawn from behind, large. None: left out.
    foot_off
        How far one foot stands off a flat bench, mm; told when above 0.

    Raises
    ------
    OutOfRange
        For values that are not finite or out of range.

    Examples
    --------
    >>> stands = DrawnStance(63.5, 67.0, 8.0, 4.0, -80.0, 32.0, 90.0, 25.0)
    >>> unit_on_its_rollers(stands, heights=(4.0, 4.1)).startswith("<svg")
    True
    """
    manner = manner_of("stance", manners)
    stands = _checked("now", now)
    was = None if before is None else _checked("before", before)
    ends = None if heights is None else tuple(one(f"heights[{i}]", h, -50.0, 200.0) for i, h in enumerate(heights))
    off = one("foot_off", foot_off, 0.0, 100.0)
    texts = {
        "height_of_cut": manner.say("height_shown", value=manner.length(stands.height_of_cut)),
        "behind_centre": manner.say("behind_centre", value=manner.length(stands.edge_behind)),
        "reach": manner.say("reach", value=manner.length(stands.reach)),
        "clear": manner.say("reel_clear", value=manner.length(stands.clear)),
        "front": manner.say("front_roller", value=manner.length(2.0 * stands.front_radius)),
        "rear": manner.say("rear_roller", value=manner.length(2.0 * stands.rear_radius)),
    }
    angles = [
        manner.say(key, value=manner.angle(value))
        for key, value in (
            ("attitude", stands.attitude),
            ("approach_angle", stands.approach_angle),
            ("top_clearance", stands.top_clearance),
            ("front_lean", stands.front_lean),
        )
    ]
    picture = Picture(manner, manner.say("stance"), [f"{text}." for text in (*texts.values(), *angles)])
    top = picture.heading()
    marks.arrow(picture, (MARGIN + 28, top + 8), (MARGIN, top + 8))
    top = picture.paragraph(manner.say("travel"), MARGIN + 34, top, picture.right) + 4
    bottom, left_over = _side(picture, stands, was, texts, top)
    bottom = picture.paragraph(manner.say("stance_close_up"), MARGIN, bottom + 4, picture.right, fill=SOFT_INK)
    bottom, more = _close_up(picture, stands, was, texts, bottom + 2)
    if ends is not None:
        bottom = _ends(picture, ends, bottom + 6)
    key: list[tuple[Draw, str]] = [*more, *((marks.nothing, text) for text in (*left_over, *angles))]
    if off > 0.0:
        key.append((marks.nothing, manner.say("foot_off", value=manner.length(off))))
    if was is not None:
        key.append((marks.stroke(BLUE, 1.4, "5 3"), manner.say("before")))
    key += [(marks.stroke(INK, 2.2), manner.say("ground_line")), (marks.nothing, manner.say("to_scale"))]
    return picture.svg(legend(picture, bottom + 4, key))


def _inside(picture: Picture) -> float:
    return picture.right - MARGIN


def _checked(name: str, stands: DrawnStance) -> DrawnStance:
    lengths = [
        one(f"{name}.{field}", value, -_FAR, _FAR) for field, value in zip(stands._fields[:8], stands[:8], strict=True)
    ]
    for field in ("reel_radius", "front_radius", "rear_radius"):
        one(f"{name}.{field}", getattr(stands, field), 1.0, _FAR)
    one(f"{name}.rear_behind", stands.rear_behind, stands.front_behind + 1.0, _FAR)
    one(f"{name}.height_of_cut", stands.height_of_cut, -50.0, 200.0)
    angles = [
        one(f"{name}.{field}", value, -1.2, 1.2, "rad")
        for field, value in zip(stands._fields[8:], stands[8:], strict=True)
    ]
    return DrawnStance(*lengths, *angles)


def _side(
    picture: Picture, stands: DrawnStance, was: DrawnStance | None, texts: dict[str, str], top: float
) -> tuple[float, list[str]]:
    """The whole unit from the left end; returns the new top and the texts that found no place."""
    drawn = [stands] if was is None else [stands, was]
    left = min(min(s.front_behind - s.front_radius, -s.reel_radius) for s in drawn)
    right = max(max(s.rear_behind + s.rear_radius, s.reel_radius, s.edge_behind) for s in drawn)
    tall = max(max(s.axis_height + s.reel_radius, 2 * s.front_radius, 2 * s.rear_radius) for s in drawn)
    deep = min(0.0, *(min(s.height_of_cut, s.clear) for s in drawn))
    per_mm = min(_inside(picture) / (right - left), _TALLEST / max(tall - deep, 1.0))
    spare = (_inside(picture) - per_mm * (right - left)) / 2.0
    ground = top + per_mm * tall + 2.0
    bottom = ground - per_mm * deep + 6.0
    clip = picture.window("side", Box(0.0, top, picture.width, bottom))
    view = _View(MARGIN + spare - per_mm * left, ground, per_mm, clip)
    for behind, radius in ((stands.front_behind, stands.front_radius), (stands.rear_behind, stands.rear_radius)):
        picture.shape(marks.arc(view.at(behind, radius), per_mm * radius, 0.0, 2 * math.pi, 72), PALE, INK, 1.4,
                      clip_path=clip)  # fmt: skip
        _cross(picture, view.at(behind, radius), 4.0)
    _reel(picture, stands, view)
    _knife(picture, stands, view)
    if was is not None:
        _ghost(picture, was, view)
    picture.line((MARGIN, ground), (picture.right, ground), INK, 2.2)
    x, level = view.x, bottom + 6.0
    picture.line(view.at(0.0, stands.axis_height), (x, level), SOFT_INK, 0.9, "9 3 2 3")
    spots = {
        "front": _about(
            view.at(stands.front_behind, stands.front_radius), per_mm * stands.front_radius, picture, level
        ),
        "rear": _about(view.at(stands.rear_behind, stands.rear_radius), per_mm * stands.rear_radius, picture, level),
    }
    left_over = [texts[key] for key, places in spots.items() if not picture.label(texts[key], places, plate=True)]
    return level + LINE, left_over


def _about(centre: Point, radius: float, picture: Picture, level: float) -> list[Spot]:
    """Below the ground line under a roller, shifted into the picture; else above it."""
    x = centre[0]
    return [
        Spot(x, level + 6.0, "middle"),
        Spot(MARGIN, level + 6.0) if x < picture.width / 2 else Spot(picture.right, level + 6.0, "end"),
        Spot(x, centre[1] - radius - 6.0, "middle"),
    ]


def _reel(picture: Picture, stands: DrawnStance, view: _View) -> None:
    axis, radius = view.at(0.0, stands.axis_height), view.per_mm * stands.reel_radius
    picture.trace(marks.arc(axis, radius, 0.0, 2 * math.pi, 120), INK, 1.6, clip_path=view.clip)
    _cross(picture, axis, 7.0)
    # at the bottom the edges move rearwards, towards the knife: anticlockwise as seen here
    turn = marks.arc(axis, 0.45 * radius, math.radians(200.0), math.radians(130.0))
    picture.trace(turn, INK, 1.4)
    marks.arrow_head(picture, turn[-1], math.radians(40.0), 8.0)


def _cross(picture: Picture, at: Point, half: float) -> None:
    picture.line((at[0] - half, at[1]), (at[0] + half, at[1]), INK)
    picture.line((at[0], at[1] - half), (at[0], at[1] + half), INK)


def _outline(stands: DrawnStance, view: _View) -> list[Point]:
    """The knife from its edge: top face, a body parallel to its seat, and the front face."""
    x, y = view.at(stands.edge_behind, stands.height_of_cut)
    thick = min(0.05 * stands.reel_radius, 0.6 * max(stands.height_of_cut, 0.5)) * view.per_mm
    long = 0.42 * stands.reel_radius * view.per_mm
    relief = stands.top_fall - stands.attitude
    run = min(0.35 * long, 0.6 * thick / max(math.tan(relief), 1e-3))
    level, square = _step(stands.attitude), _step(stands.attitude + math.pi / 2)
    top, face = _step(stands.top_fall), _step(math.pi / 2 - stands.front_lean)
    down = thick / max(math.cos(stands.front_lean + stands.attitude), 0.2)
    heel = (x + run * top[0], y + run * top[1])
    front = (x + down * face[0], y + down * face[1])
    rest = long - run
    body = (heel[0] + rest * level[0], heel[1] + rest * level[1])
    left = thick - run * math.sin(relief)
    return [front, (x, y), heel, body, (body[0] + left * square[0], body[1] + left * square[1])]


def _step(angle: float) -> Point:
    return math.cos(angle), math.sin(angle)


def _knife(picture: Picture, stands: DrawnStance, view: _View) -> None:
    picture.shape(_outline(stands, view), STEEL, INK, 1.4, clip_path=view.clip)


def _ghost(picture: Picture, was: DrawnStance, view: _View) -> None:
    """What stood elsewhere before: outlines only."""
    circles = (
        (0.0, was.axis_height, was.reel_radius),
        (was.front_behind, was.front_radius, was.front_radius),
        (was.rear_behind, was.rear_radius, was.rear_radius),
    )
    outlines: list[Sequence[Point]] = [
        marks.arc(view.at(behind, up), view.per_mm * radius, 0.0, 2 * math.pi, 120) for behind, up, radius in circles
    ]
    knife = _outline(was, view)
    for outline in (*outlines, [*knife, knife[0]]):
        picture.trace(outline, BLUE, 1.2, stroke_dasharray="5 3", clip_path=view.clip)


def _close_up(
    picture: Picture, stands: DrawnStance, was: DrawnStance | None, texts: dict[str, str], top: float
) -> tuple[float, list[tuple[Draw, str]]]:
    """The edge over the ground, large; returns the new top and what the key must explain."""
    wide, tall = _inside(picture), _CLOSE_UP
    above = 1.3 * max(stands.height_of_cut, stands.clear, 1.0)
    below = max(0.0, -stands.clear, -stands.height_of_cut)
    per_mm = min((tall - 46.0) / (above + below), 0.40 * wide / max(abs(stands.edge_behind), 1.0), 60.0)
    ground = top + tall - 34.0 - per_mm * below
    edge_x = MARGIN + wide * (0.60 if stands.edge_behind >= 0.0 else 0.40)
    box = Box(MARGIN, top, picture.right, top + tall)
    view = _View(edge_x - per_mm * stands.edge_behind, ground, per_mm, picture.window("close", box))
    picture.shape(
        marks.arc(view.at(0.0, stands.axis_height), per_mm * stands.reel_radius, 0.3, math.pi - 0.3, 240),
        "none", INK, 1.6, clip_path=view.clip,
    )  # fmt: skip
    _knife(picture, stands, view)
    if was is not None:
        _ghost(picture, was, view)
    picture.line((MARGIN, ground), (picture.right, ground), INK, 2.2)
    picture.rect(box, "none", SOFT_INK)
    return top + tall, _dimensions(picture, stands, view, texts, box)


def _dimensions(
    picture: Picture, stands: DrawnStance, view: _View, texts: dict[str, str], box: Box
) -> list[tuple[Draw, str]]:
    x, y = view.at(stands.edge_behind, stands.height_of_cut)
    axis = view.x
    side = 1.0 if stands.edge_behind >= 0.0 else -1.0  # the axis lies on the other side of the edge
    out, level = axis - side * 22.0, box.bottom - 10.0
    picture.line((axis, box.top + 2), (axis, level + 6), SOFT_INK, 0.9, "9 3 2 3")
    picture.line((x, y), (x, level + 6), SOFT_INK, 0.9)
    picture.line((x, y), (out - side * 8.0, y), SOFT_INK, 0.9, "4 3")
    lowest = view.at(0.0, stands.clear)[1]
    picture.line((axis, lowest), (out - side * 8.0, lowest), SOFT_INK, 0.9, "4 3")
    marks.dimension(picture, (axis, level), (x, level))
    tall = x + side * 26.0
    picture.line((x, y), (tall + side * 6.0, y), SOFT_INK, 0.9, "4 3")
    marks.dimension(picture, (tall, view.ground), (tall, y))
    marks.dimension(picture, (out, lowest), (out, y))
    marks.dimension(picture, (out, view.ground), (out, lowest))
    anchor, back = ("start", "end") if side > 0.0 else ("end", "start")
    near, beyond = tall + side * 8, out - side * 8
    middle = Spot((axis + x) / 2, level - 5, "middle")
    aside = Spot(max(axis, x) + 20, level + 4), Spot(min(axis, x) - 20, level + 4, "end")
    spots: dict[str, list[Spot]] = {
        "height_of_cut": [Spot(near, at, anchor) for at in ((view.ground + y) / 2 + 4, view.ground - 6)],
        "behind_centre": [middle, *aside] if abs(axis - x) > 60.0 else [*aside, middle],
        "reach": [Spot(beyond, at, back) for at in (y - 7, y - 20, lowest + 14)],
        "clear": [Spot(beyond, at, back) for at in ((view.ground + lowest) / 2 + 4, view.ground - 6)],
    }  # fmt: skip
    inside = Box(box.left + 2, box.top + 2, box.right - 2, box.bottom - 1)
    key: list[tuple[Draw, str]] = []
    letters = iter("ABCD")
    for name, places in spots.items():
        if picture.label(texts[name], places, inside, plate=True):
            continue
        letter = next(letters)
        known = picture.label(letter, places, inside, plate=True)
        key.append((partial(_letter, letter=letter) if known else marks.nothing, texts[name]))
    return key


def _letter(picture: Picture, at: Point, letter: str) -> None:
    picture.text(letter, Spot(at[0], at[1] + 4.0, "middle"))


def _ends(picture: Picture, heights: tuple[float, ...], top: float) -> float:
    """Both ends from behind: the edge against level, its slope drawn large; returns the new top."""
    manner = picture.manner
    left, right = heights
    top = picture.paragraph(manner.say("stance_ends"), MARGIN, top, picture.right, fill=SOFT_INK)
    half = abs(right - left) / 2.0
    rise = min(_LEVEL / 2.0, 200.0 * half) * (1.0 if right >= left else -1.0)
    x0, x1, middle = MARGIN + 14.0, picture.right - 14.0, top + 8.0 + _LEVEL / 2.0
    picture.line((x0, middle), (x1, middle), SOFT_INK, 1.0, "4 3")
    picture.line((x0, middle + rise), (x1, middle - rise), INK, 3.0)
    for x in (x0, x1):
        picture.line((x, middle - _LEVEL / 2 - 4), (x, middle + _LEVEL / 2 + 4), RULE, 1.0)
    below = middle + _LEVEL / 2 + 8
    below = picture.two_ends(
        manner.say("end_height", end=manner.words["left"], value=manner.length(left)),
        manner.say("end_height", end=manner.words["right"], value=manner.length(right)),
        MARGIN, picture.right, below,
    )  # fmt: skip
    if half < _SAME:
        return picture.paragraph(manner.say("ends_level"), MARGIN, below, picture.right)
    higher = manner.words["right" if right > left else "left"]
    return picture.paragraph(
        manner.say("end_higher", end=higher, value=manner.length(2.0 * half)), MARGIN, below, picture.right
    )
