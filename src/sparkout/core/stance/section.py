"""One section of a cutting unit, square to the reel's axis: its parts, and the gap closed. Imports `math` only.

Axes of the section are the unit's own: "behind" to the rear, "below" towards the ground, from any fixed point (usually
the reel's axis); angles turn from behind towards below, so a seat whose rear lies lower has a positive tilt.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

from sparkout.core.errors import Contradiction, OutOfRange, within
from sparkout.core.phrase import phrase
from sparkout.core.setting.height import EdgeShift, Pattern

FARTHEST = 2000.0
"""mm; no part of a cutting unit lies farther from its reel."""
WIDEST = math.radians(45.0)


class Point(NamedTuple):
    """A place in the section, mm."""

    behind: float
    below: float


class Roller(NamedTuple):
    """A roller in the section: its axis and the diameter that touches, mm (of a grooved one, over its ridges)."""

    behind: float
    below: float
    diameter: float


@dataclass(frozen=True, slots=True)
class Closing:
    """How the gap is closed: which part moves, and about what."""

    pattern: Pattern
    pivot: Point | None = None
    """What the moving part swings about; without one it slides straight."""
    slide: float = 0.0
    """Direction of the slide, rad from straight below towards the rear."""

    def __post_init__(self) -> None:
        if self.pattern not in ("knife up", "reel down"):
            raise OutOfRange("pattern", self.pattern, '"knife up" or "reel down"')
        within("slide", self.slide, -1.4, 1.4, "rad")
        if self.pivot is not None:
            _place("pivot", self.pivot)


@dataclass(frozen=True, slots=True)
class Section:
    """Where everything lies in one section; `closed` moves knife or reel until the gap is as given."""

    reel_diameter: float
    axis: Point
    edge: Point
    front: Roller
    rear: Roller
    closing: Closing
    gap: float = 0.0
    seat_tilt: float = 0.0
    """Of the knife's seat in the unit's axes, rad."""
    top_angle: float = 0.0
    front_angle: float = 0.0

    def __post_init__(self) -> None:
        within("reel_diameter", self.reel_diameter, 40.0, 600.0, "mm")
        within("gap", self.gap, -2.0, 20.0, "mm")
        for name in ("axis", "edge", "front", "rear"):
            _place(name, Point(*getattr(self, name)[:2]))
        for name in ("front", "rear"):
            within(f"{name} roller diameter", getattr(self, name).diameter, 10.0, 600.0, "mm")
        for name in ("seat_tilt", "top_angle", "front_angle"):
            within(name, getattr(self, name), -WIDEST, WIDEST, "rad")
        if self.front.behind >= self.rear.behind:
            raise Contradiction(("front roller", "rear roller"), phrase("the front one is not ahead of the rear one"))


def _place(name: str, place: Point) -> None:
    within(f"{name} behind", place.behind, -FARTHEST, FARTHEST, "mm")
    within(f"{name} below", place.below, -FARTHEST, FARTHEST, "mm")


def closed(section: Section) -> Section:
    """Return the section with its gap closed to what it says, by the part that moves in this build.

    Equation: the edge ends on the circle R + c round the axis. On a pivot, with a and q the distances from the pivot to
    the moving and to the fixed part, the angle between them there is acos[(a² + q² - (R + c)²) / (2 a q)]; sliding, the
    moving part goes along its line until it is R + c away. Of two such places the one nearer to where it was.

    Raises
    ------
    OutOfRange
        When the part cannot reach: what would do is named.
    Contradiction
        When the pivot lies on the part that moves or on the one that stays.

    Validity: rigid parts; the knife's seat tilts with its carrier, a reel that moves leaves the knife's tilt alone.

    Examples
    --------
    A reel ground by 1 mm on the radius, knife on a pivot: the edge has risen and come forward a little.

    >>> rollers = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0)
    >>> knife = Closing("knife up", Point(70.0, 45.0))
    >>> now = closed(Section(127.0, Point(0.0, 0.0), Point(6.55, 63.16), *rollers, knife))
    >>> ground = closed(replace(now, reel_diameter=125.0))
    >>> [round(a - b, 3) for a, b in zip(ground.edge, now.edge)], round(math.degrees(ground.seat_tilt), 3)
    ([-0.272, -0.977], 0.88)

    References
    ----------
    Geometry, own working; tested by turning the parts step by step.
    """
    knife_moves = section.closing.pattern == "knife up"
    moving, fixed = (section.edge, section.axis) if knife_moves else (section.axis, section.edge)
    apart = section.reel_diameter / 2.0 + section.gap
    pivot = section.closing.pivot
    if pivot is None:
        slid = _slid(moving, fixed, apart, section.closing.slide)
        return replace(section, edge=slid) if knife_moves else replace(section, axis=slid)
    swing = _swing(moving, fixed, pivot, apart)
    swung = turned(moving, pivot, swing)
    if knife_moves:
        return replace(section, edge=swung, seat_tilt=section.seat_tilt + swing)
    return replace(section, axis=swung)


def turned(place: Point, pivot: Point, angle: float) -> Point:
    """Return a place turned about another, from behind towards below, by an angle in rad.

    Examples
    --------
    >>> turned(Point(1.0, 0.0), Point(0.0, 0.0), math.pi / 2).below
    1.0
    """
    x, y = place.behind - pivot.behind, place.below - pivot.below
    cos, sin = math.cos(angle), math.sin(angle)
    return Point(pivot.behind + x * cos - y * sin, pivot.below + x * sin + y * cos)


def with_knife_shifted(section: Section, shift: EdgeShift) -> Section:
    """Return the section with the edge elsewhere in its holder (ground faces, another knife), the gap not yet closed.

    Examples
    --------
    >>> rollers = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0)
    >>> now = Section(127.0, Point(0.0, 0.0), Point(6.5, 63.0), *rollers, Closing("knife up"))
    >>> with_knife_shifted(now, EdgeShift(0.5, 0.25)).edge
    Point(behind=7.0, below=63.25)
    """
    at = section.edge
    return replace(section, edge=Point(at.behind + shift.behind, at.below + shift.below))


def _swing(moving: Point, fixed: Point, pivot: Point, apart: float) -> float:
    (x, y), (u, v) = (
        (moving.behind - pivot.behind, moving.below - pivot.below),
        (fixed.behind - pivot.behind, fixed.below - pivot.below),
    )
    arm, away = math.hypot(x, y), math.hypot(u, v)
    if not arm or not away:
        raise Contradiction(("pivot", "knife and reel"), phrase("the pivot lies on one of them, so it closes nothing"))
    if not abs(arm - away) <= apart <= arm + away:
        allowed = phrase("{low:.6g} to {high:.6g} with this pivot", low=abs(arm - away), high=arm + away)
        raise OutOfRange("distance of edge and axis", apart, allowed, "mm")
    wanted = math.acos(min(1.0, max(-1.0, (arm**2 + away**2 - apart**2) / (2.0 * arm * away))))
    now = math.atan2(u * y - v * x, u * x + v * y)  # from the fixed part's direction to the moving part's
    swings = [math.remainder(side * wanted - now, 2.0 * math.pi) for side in (1.0, -1.0)]
    return min(swings, key=abs)


def _slid(moving: Point, fixed: Point, apart: float, slide: float) -> Point:
    along = Point(math.sin(slide), math.cos(slide))
    x, y = moving.behind - fixed.behind, moving.below - fixed.below
    aside = x * along.below - y * along.behind
    if abs(aside) > apart:
        raise OutOfRange("distance of edge and axis", apart, phrase("at least {least:.6g}", least=abs(aside)), "mm")
    here, half = x * along.behind + y * along.below, math.sqrt(apart**2 - aside**2)
    way = min((half - here, -half - here), key=abs)
    return Point(moving.behind + way * along.behind, moving.below + way * along.below)
