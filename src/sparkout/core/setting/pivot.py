"""Where the knife stands on the reel, when its carrier swings on a pivot. Imports `math` only.

Axes: the reel's axis is the origin; "behind" is towards the rear of the machine, "below" towards the ground.
Angles turn from behind towards below, so a seat whose rear lies lower has a positive tilt.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from sparkout.core.errors import Contradiction, OutOfRange, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


class KnifeOnReel(NamedTuple):
    """The knife's edge against the reel's axis (mm), and the angle at the axis from straight down to the edge (rad)."""

    behind_centre: float
    below_centre: float
    approach_angle: float


class WearPath(NamedTuple):
    """The knife on the reel from new to worn out; every array has one value per diameter (mm, rad)."""

    diameter: NDArray[np.float64]
    behind_centre: NDArray[np.float64]
    below_centre: NDArray[np.float64]
    approach_angle: NDArray[np.float64]
    seat_tilt: NDArray[np.float64]
    top_clearance: NDArray[np.float64]
    tail_clearance: NDArray[np.float64]
    height_change: NDArray[np.float64]
    """Rise of the edge since new, rollers untouched: height of cut grows by as much."""


def knife_on_reel(
    reel_diameter: float, pivot_behind: float, pivot_below: float, arm: float, gap: float = 0.0
) -> KnifeOnReel:
    """Return where the edge stands when its arm has swung until the gap is as given.

    Equation: the edge lies where the circle of radius `arm` round the pivot meets the circle R + c round the axis;
    phi = atan2(behind, below).

    Of the two meeting points the one nearer straight below the axis is meant (a knife stands within some 20 degrees
    of it, the other point lies far up the front or rear of the reel); when both lie equally near, the rear one.
    Along a reel's wear this never jumps from one to the other.

    Parameters
    ----------
    reel_diameter
        2 R, mm.
    pivot_behind, pivot_below
        The pivot from the reel's axis, mm; positive to the rear and downwards.
    arm
        From pivot to edge, mm.
    gap
        c, mm; negative is interference.

    Raises
    ------
    OutOfRange
        For any argument outside its range, and when the arm does not reach: the reach needed is named.
    Contradiction
        When the pivot lies on the axis, or the edge would come to stand above it.

    Validity: plane section square to the reel's axis; a rigid carrier.

    Examples
    --------
    >>> at = knife_on_reel(127.0, 70.0, 45.0, 66.0, 0.03)
    >>> round(at.behind_centre, 3), round(at.below_centre, 3), round(math.degrees(at.approach_angle), 3)
    (6.556, 63.191, 5.924)

    References
    ----------
    Geometry, own working.
    """
    circle = _edge_circle(reel_diameter, gap)
    behind = within("pivot_behind", pivot_behind, -1000.0, 1000.0, "mm")
    below = within("pivot_below", pivot_below, -1000.0, 1000.0, "mm")
    reach = within("arm", arm, 0.0, 1500.0, "mm", above=True)
    apart = math.hypot(behind, below)
    if apart == 0.0:
        raise Contradiction(
            ("pivot_behind", "pivot_below"), phrase("the pivot lies on the reel's axis, so it adjusts nothing")
        )
    if not abs(apart - circle) <= reach <= apart + circle:
        raise OutOfRange(
            "arm",
            reach,
            phrase("(to reach the reel) {least:.6g} to {most:.6g}", least=abs(apart - circle), most=apart + circle),
            "mm",
        )
    along = (circle**2 - reach**2 + apart**2) / (2.0 * apart)
    aside = math.sqrt(max(0.0, circle**2 - along**2))
    # the side whose foot points down; a pivot straight below or above leaves the rear side
    side = 1.0 if behind > 0.0 else -1.0
    if behind == 0.0:
        side = -math.copysign(1.0, below)
    edge_behind = (along * behind - side * aside * below) / apart
    edge_below = (along * below + side * aside * behind) / apart
    if edge_below <= 0.0:
        raise Contradiction(
            ("pivot_behind", "pivot_below", "arm"),
            phrase("the edge would stand {height:.6g} mm above the reel's axis", height=-edge_below),
        )
    return KnifeOnReel(edge_behind, edge_below, math.atan2(edge_behind, edge_below))


def _edge_circle(reel_diameter: float, gap: float) -> float:
    return within("reel_diameter", reel_diameter, 40.0, 600.0, "mm") / 2.0 + within("gap", gap, -2.0, 20.0, "mm")


def swing(before: KnifeOnReel, after: KnifeOnReel, pivot_behind: float, pivot_below: float) -> float:
    """Return the angle the carrier has swung between two stands of the knife, rad; positive lowers the seat's rear.

    Equation: difference of the arm's directions atan2(below, behind) seen from the pivot.

    Examples
    --------
    >>> new, worn = knife_on_reel(127.0, 70.0, 45.0, 66.0), knife_on_reel(120.0, 70.0, 45.0, 66.0)
    >>> round(math.degrees(swing(new, worn, 70.0, 45.0)), 2)
    3.07

    References
    ----------
    Geometry, own working.
    """
    first, last = (math.atan2(at.below_centre - pivot_below, at.behind_centre - pivot_behind) for at in (before, after))
    return math.remainder(last - first, 2.0 * math.pi)


def effective_top_clearance(top_angle: float, seat_tilt: float, approach_angle: float) -> float:
    """Return the clearance angle between the blade's path and the knife's top face, as they stand, rad.

    Equation: gamma_t + seat tilt + phi. Behind the edge the blade rises at phi while the face falls at gamma_t + tilt.

    Parameters
    ----------
    top_angle
        gamma_t from the seat plane, rad.
    seat_tilt
        Of the seat against the ground line, rad; positive when its rear lies lower.
    approach_angle
        phi from `knife_on_reel`, rad.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: 0 or less means the blade rubs the face behind the edge and cannot cut.

    Examples
    --------
    >>> round(math.degrees(effective_top_clearance(*map(math.radians, (12.0, -2.0, 6.1)))), 6)
    16.1

    References
    ----------
    Geometry, own working.
    """
    quarter = math.pi / 2.0
    return (
        within("top_angle", top_angle, -quarter, quarter, "rad")
        + within("seat_tilt", seat_tilt, -quarter, quarter, "rad")
        + within("approach_angle", approach_angle, -quarter, quarter, "rad")
    )


def tail_clearance(
    reel_diameter: float, knife: KnifeOnReel, top_angle: float, seat_tilt: float, top_length: float
) -> float:
    """Return the clearance between the rear corner of the knife's top face and the reel's edge circle, mm.

    Equation: |edge + T (cos d, sin d)| - R, with d = gamma_t + seat tilt and T the face's length from edge to corner.

    Parameters
    ----------
    reel_diameter
        2 R, mm.
    knife
        From `knife_on_reel`.
    top_angle, seat_tilt
        As in `effective_top_clearance`, rad.
    top_length
        T, mm.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: a flat top face. Negative: the corner stands inside the blades' circle.

    Examples
    --------
    >>> at = knife_on_reel(127.0, 70.0, 45.0, 66.0)
    >>> round(tail_clearance(127.0, at, math.radians(12.0), 0.0, 20.0), 2)
    8.71

    References
    ----------
    Geometry, own working.
    """
    radius = _edge_circle(reel_diameter, 0.0)
    length = within("top_length", top_length, 0.0, 200.0, "mm")
    fall = effective_top_clearance(top_angle, seat_tilt, 0.0)
    corner_behind = knife.behind_centre + length * math.cos(fall)
    corner_below = knife.below_centre + length * math.sin(fall)
    return math.hypot(corner_behind, corner_below) - radius


def as_reel_wears(
    new_diameter: float,
    limit_diameter: float,
    pivot_behind: float,
    pivot_below: float,
    arm: float,
    *,
    gap: float = 0.0,
    top_angle: float = 0.0,
    seat_tilt: float = 0.0,
    top_length: float = 0.0,
    steps: int = 41,
) -> WearPath:
    """Return how the knife's stand and its clearances move as the reel wears from new to its limit.

    Equation: `knife_on_reel` at each diameter; the seat tilts by the carrier's swing; the knife as it is, unground.

    Parameters
    ----------
    new_diameter, limit_diameter
        mm; the first the larger.
    pivot_behind, pivot_below, arm, gap
        As in `knife_on_reel`.
    top_angle, seat_tilt, top_length
        As in `tail_clearance`; `seat_tilt` at the new diameter.
    steps
        How many diameters, 2 or more.

    Raises
    ------
    OutOfRange, Contradiction
        As the functions used, and when the limit is not below the new diameter.

    Validity: the pattern in which the knife moves up to a fixed reel.

    Examples
    --------
    >>> path = as_reel_wears(127.0, 120.0, 70.0, 45.0, 66.0, steps=2)
    >>> path.height_change.round(2).tolist(), path.behind_centre.round(2).tolist()
    ([0.0, 3.43], [6.55, 5.67])

    References
    ----------
    Geometry, own working.
    """
    import numpy as np

    new = within("new_diameter", new_diameter, 40.0, 600.0, "mm")
    least = within("limit_diameter", limit_diameter, 40.0, 600.0, "mm")
    if least >= new:
        raise OutOfRange("limit_diameter", least, phrase("below the new diameter, {new:.6g}", new=new), "mm")
    diameters = np.linspace(new, least, int(within("steps", steps, 2, 10_000)))
    stands = [knife_on_reel(float(d), pivot_behind, pivot_below, arm, gap) for d in diameters]
    tilts = [seat_tilt + swing(stands[0], at, pivot_behind, pivot_below) for at in stands]
    both = list(zip(stands, tilts, strict=True))
    behind, below, angle = (np.array(column) for column in zip(*stands, strict=True))
    return WearPath(
        diameters,
        behind,
        below,
        angle,
        np.array(tilts),
        np.array([effective_top_clearance(top_angle, tilt, at.approach_angle) for at, tilt in both]),
        np.array(
            [
                tail_clearance(float(d), at, top_angle, tilt, top_length)
                for d, (at, tilt) in zip(diameters, both, strict=True)
            ]
        ),
        below[0] - below,
    )
