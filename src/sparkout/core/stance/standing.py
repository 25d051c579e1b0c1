"""One section standing on its rollers: height of cut, attitude and the rest, against the ground line.

The ground line is the lower tangent of both rollers. In its axes "behind" runs along it and "below" square to it, so
they turn with the unit. Imports `math` only.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from sparkout.core.errors import Contradiction
from sparkout.core.phrase import phrase
from sparkout.core.setting.pivot import effective_top_clearance
from sparkout.core.stance.section import Point, Roller, Section


class GroundLine(NamedTuple):
    """The line both rollers stand on, in the unit's axes."""

    slope: float
    """Rad; positive when the line runs down towards the unit's rear: on the ground the unit's nose then stands low."""
    depth: float
    """Square from the origin down to the line, mm."""

    def seen(self, place: Point) -> Point:
        """Return a place in axes along and square to the line, same origin."""
        cos, sin = math.cos(self.slope), math.sin(self.slope)
        return Point(place.behind * cos + place.below * sin, place.below * cos - place.behind * sin)


@dataclass(frozen=True, slots=True)
class StanceAt:
    """How one section stands on flat ground: mm and rad."""

    height_of_cut: float
    """From the ground line up to the edge: what a bar laid over both rollers shows."""
    behind_centre: float
    below_centre: float
    reach: float
    """How far the reel's circle comes down below the level of the edge."""
    reel_clearance: float
    """From the ground up to the reel's circle."""
    approach_angle: float
    attitude: float
    """Tilt of the knife's seat against the ground, positive when its rear lies lower."""
    top_fall: float
    """How steeply the knife's top face falls behind the edge, against the ground."""
    front_lean: float
    """How far the knife's front face leans back from upright, going down from the edge."""
    top_clearance: float
    """Between the blades' path and the knife's top face; tilting the whole unit leaves it as it is."""


def ground_line(front: Roller, rear: Roller) -> GroundLine:
    """Return the line that both rollers stand on, their lower common tangent.

    Equation: slope = epsilon - asin[(r_front - r_rear) / d], with d and epsilon length and direction of the line from
    the front axis to the rear one; depth = n . front + r_front, n the line's normal.

    Raises
    ------
    Contradiction
        When one roller lies inside the other, so that no line touches both.

    Validity: round rollers on a flat, hard bench.

    Examples
    --------
    Rollers of 64 and 50 mm whose axes lie so that both stand at the same level:

    >>> ground_line(Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0))
    GroundLine(slope=0.0, depth=67.0)

    References
    ----------
    Geometry, own working; tested by tilting sampled circles.
    """
    back, down = rear.behind - front.behind, rear.below - front.below
    apart, larger = math.hypot(back, down), (front.diameter - rear.diameter) / 2.0
    if abs(larger) >= apart:
        raise Contradiction(("front roller", "rear roller"), phrase("one lies inside the other"))
    slope = math.atan2(down, back) - math.asin(larger / apart)
    return GroundLine(slope, GroundLine(slope, 0.0).seen(Point(front.behind, front.below)).below + front.diameter / 2.0)


def stance_at(section: Section) -> StanceAt:
    """Return how a section stands on the ground: height of cut, behind-centre, reach, clearance and angles.

    Equation: seen in the ground line's axes, H = depth - edge below; b and c = edge less axis, behind and below;
    reach = R - c; phi = atan2(b, c); attitude = seat tilt - slope; top clearance = gamma_t + attitude + phi.

    Raises
    ------
    Contradiction
        When no ground line touches both rollers, or the edge stands at or above the reel's axis.
    OutOfRange
        When the unit stands so steeply that an angle leaves its range.

    Validity: flat hard bench. On turf a unit sinks or rides by what no bench shows.

    Examples
    --------
    Edge 8 mm behind centre on a 127 mm reel: it reaches 0.51 mm below the edge.

    >>> from sparkout.core.stance.section import Closing
    >>> rollers = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0)
    >>> at = stance_at(Section(127.0, Point(0.0, 0.0), Point(8.0, 62.994), *rollers, Closing("knife up")))
    >>> round(at.height_of_cut, 3), round(at.reach, 3), round(at.reel_clearance, 3), at.behind_centre
    (4.006, 0.506, 3.5, 8.0)

    References
    ----------
    Geometry, own working; b² + c² = R² as in docs/decisions/0002-definitions.md.
    """
    line = ground_line(section.front, section.rear)
    edge, axis = line.seen(section.edge), line.seen(section.axis)
    behind, below = edge.behind - axis.behind, edge.below - axis.below
    if below <= 0.0:
        raise Contradiction(
            ("edge", "axis"), phrase("the edge stands {height:.6g} mm above the reel's axis", height=-below)
        )
    radius = section.reel_diameter / 2.0
    height, approach, attitude = line.depth - edge.below, math.atan2(behind, below), section.seat_tilt - line.slope
    return StanceAt(
        height,
        behind,
        below,
        radius - below,
        height + below - radius,
        approach,
        attitude,
        section.top_angle + attitude,
        section.front_angle - attitude,
        effective_top_clearance(section.top_angle, attitude, approach),
    )
