"""A whole cutting unit: its left and its right section, how level it stands, and whether it rocks.

A bar over both rollers shows each end by itself. On a flat bench a unit has four feet, the ends of its rollers: when
the rollers are not in one plane it rests on three and rocks. Imports `math` only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import NamedTuple

from sparkout.core.errors import Contradiction, OutOfRange, within
from sparkout.core.phrase import Phrase, phrase
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.section import Point, Section
from sparkout.core.stance.standing import StanceAt, stance_at

_STEADY = 1e-9
"""mm; a foot this near the bench rests on it, but for rounding."""


@dataclass(frozen=True, slots=True)
class CuttingUnit:
    """Both ends of a cutting unit as sections at the ends of the blades, x = 0 and x = L."""

    left: Section
    right: Section
    length: float
    front_feet: Ends | None = None
    """Where the front roller touches at its ends, x in mm; the ends of the blades unless given."""
    rear_feet: Ends | None = None

    def __post_init__(self) -> None:
        span = within("length", self.length, 50.0, 3000.0, "mm")
        for name in ("front_feet", "rear_feet"):
            feet = getattr(self, name)
            if feet is None:
                continue
            for x in feet:
                within(name, x, -span, 2.0 * span, "mm")
            if feet.left >= feet.right:
                raise OutOfRange(name, feet.left, phrase("below the right one, {right:.6g}", right=feet.right), "mm")

    @property
    def sections(self) -> tuple[Section, Section]:
        """Left and right."""
        return self.left, self.right


class OnFlat(NamedTuple):
    """The unit on a flat bench, mm. Heights of cut at the blades' ends, half way through the rocking."""

    left: float
    right: float
    twist: float
    """How far the fourth foot stands off the bench while three rest; positive when it is a right front or a left rear
    foot, negative when it is one of the others."""
    rocks_about: Phrase
    """The two feet that rest all the time; empty when it does not rock."""


@dataclass(frozen=True, slots=True)
class Stance:
    """How a cutting unit stands: each end as a bar over both rollers shows it, level, and on a flat bench."""

    left: StanceAt
    middle: StanceAt
    """Half way between both ends."""
    right: StanceAt
    level: float
    """Height of cut, right less left, mm."""
    on_flat: OnFlat


class _Foot(NamedTuple):
    x: float
    behind: float
    below: float
    radius: float


def stance(unit: CuttingUnit) -> Stance:
    """Return how a cutting unit stands, end by end, and on a flat bench.

    Equation: `stance_at` for each end. On the bench z = A + B y + C x touches a foot of radius r at (x, y, z) when
    A + B y + C x = z + r sqrt(1 + B²). Two feet across from each other rest all the time, with either of the other
    two; half way is the mean of both.

    Raises
    ------
    Contradiction, OutOfRange
        As `stance_at`, for either end.

    Validity: rollers straight and rigid (a worn one: `touching_diameters`), tilt from end to end small; weight about
    half way between both ends and both rollers.

    Examples
    --------
    Front roller 0.2 mm lower on the right: a bar shows the right end higher, and on a bench the unit rocks.

    >>> from sparkout.core.stance.section import Closing, Roller
    >>> rear, knife = Roller(90.0, 42.0, 50.0), Closing("knife up")
    >>> left = Section(127.0, Point(0.0, 0.0), Point(8.0, 63.0), Roller(-80.0, 35.0, 64.0), rear, knife)
    >>> right = Section(127.0, Point(0.0, 0.0), Point(8.0, 63.0), Roller(-80.0, 35.2, 64.0), rear, knife)
    >>> stands = stance(CuttingUnit(left, right, 533.0))
    >>> round(stands.level, 3), round(stands.on_flat.twist, 3), stands.on_flat.rocks_about
    (0.096, -0.2, 'right front and left rear')

    References
    ----------
    Geometry, own working; tested against a plane laid under sampled rollers by linear programming.
    """
    left, right = stance_at(unit.left), stance_at(unit.right)
    middle = StanceAt(*((getattr(left, f.name) + getattr(right, f.name)) / 2.0 for f in fields(StanceAt)))
    return Stance(left, middle, right, right.height_of_cut - left.height_of_cut, _on_flat(unit))


def _on_flat(unit: CuttingUnit) -> OnFlat:
    front = [_foot(unit, "front", x) for x in unit.front_feet or Ends(0.0, unit.length)]
    rear = [_foot(unit, "rear", x) for x in unit.rear_feet or Ends(0.0, unit.length)]
    about = phrase("left front and right rear"), phrase("right front and left rear")
    rests = [_rests(front[i], rear[1 - i], (front[1 - i], rear[i])) for i in (0, 1)]
    way = 0 if rests[0].off >= rests[1].off else 1  # the other way it would have to sink into the bench
    off, benches = max(rests[way].off, 0.0), rests[way].benches
    left, right = (
        sum(bench.height(x, section.edge) for bench in benches) / 2.0
        for x, section in zip((0.0, unit.length), unit.sections, strict=True)
    )
    return OnFlat(left, right, -off if way else off, about[way] if off > _STEADY else phrase(""))


class _Rests(NamedTuple):
    """Both ways a unit rests on two feet across from each other and one more."""

    benches: tuple[_Plane, _Plane]
    off: float
    """How far the last foot stands off, mean of both ways."""


def _rests(one: _Foot, other: _Foot, more: tuple[_Foot, _Foot]) -> _Rests:
    benches = _plane(one, other, more[0]), _plane(one, other, more[1])
    return _Rests(benches, (benches[0].off(more[1]) + benches[1].off(more[0])) / 2.0)


class _Plane(NamedTuple):
    """The bench as below = level + fall x behind + roll x along."""

    level: float
    fall: float
    roll: float

    def off(self, foot: _Foot) -> float:
        under = self.level + self.fall * foot.behind + self.roll * foot.x
        return under - foot.below - foot.radius * math.hypot(1.0, self.fall)

    def height(self, x: float, edge: Point) -> float:
        under = self.level + self.fall * edge.behind + self.roll * x
        return (under - edge.below) / math.hypot(1.0, self.fall, self.roll)


def _foot(unit: CuttingUnit, which: str, x: float) -> _Foot:
    left, right = (getattr(section, which) for section in unit.sections)
    share = x / unit.length
    behind, below, diameter = (a + (b - a) * share for a, b in zip(left, right, strict=True))
    return _Foot(x, behind, below, diameter / 2.0)


def _plane(one: _Foot, other: _Foot, third: _Foot) -> _Plane:
    """Return the bench under three feet."""
    (a, b, e, g), (c, d, f, h) = (
        (foot.behind - one.behind, foot.x - one.x, foot.below - one.below, foot.radius - one.radius)
        for foot in (other, third)
    )
    det = a * d - b * c
    if det == 0.0:
        raise Contradiction(("front roller", "rear roller"), phrase("their feet lie on one line"))
    # fall = p + q s with s = sqrt(1 + fall²)
    p, q = (e * d - b * f) / det, (g * d - b * h) / det
    if abs(q) >= 1.0:
        raise Contradiction(("front roller", "rear roller"), phrase("one lies inside the other"))
    s = (p * q + math.sqrt(1.0 + p * p - q * q)) / (1.0 - q * q)
    fall, roll = p + q * s, (a * (f + h * s) - c * (e + g * s)) / det
    return _Plane(one.below + one.radius * s - fall * one.behind - roll * one.x, fall, roll)
