"""Land: the un-relieved strip behind the edge, and how it grows as the radius is ground away.

Section through one blade, square to the axis: the land is the arc of width w on the tip circle, measured back from
the cutting edge; the relief facet is the straight line that leaves the back of the land inwards at the relief angle
from the tip-circle tangent there; the front of the blade is taken as radial at the edge.
"""

from __future__ import annotations

import math

from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase

_LEAST_ANGLE, _MOST_ANGLE = math.radians(5.0), math.radians(85.0)


def _checked(land: float, relief_angle: float, reel_diameter: float) -> tuple[float, float, float]:
    within("land", land, 0.0, 20.0, "mm")
    within("relief_angle", relief_angle, _LEAST_ANGLE, _MOST_ANGLE, "rad")
    within("reel_diameter", reel_diameter, 40.0, 600.0, "mm")
    return float(land), float(relief_angle), reel_diameter / 2.0


def _land_at(radius: float, land: float, relief_angle: float, old_radius: float) -> float:
    reach = old_radius * math.cos(relief_angle)  # distance of the facet's line from the axis
    return radius * (land / old_radius + relief_angle - math.acos(min(1.0, reach / radius)))


def land_after_grind(land: float, relief_angle: float, radius_removed: float, reel_diameter: float) -> float:
    """Land once `radius_removed` has gone from the radius, mm, exact on the arc.

    w' = (R - dr) [w/R + alpha - acos(R cos(alpha) / (R - dr))], close to w + dr / tan(alpha).

    Parameters
    ----------
    land : float
        Land before, mm, measured back from the edge along the tip circle.
    relief_angle : float
        alpha, rad, from the tip-circle tangent at the back of the land (see `relief_angle_from_radius_datum`).
    radius_removed : float
        dr, mm; up to R (1 - cos alpha), where the circle no longer meets the facet's line.
    reel_diameter : float
        Edge-circle diameter before grinding, mm.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: the facet is flat and reaches that deep; a facet ends at the back of the blade (`relief_gone`).

    >>> round(land_after_grind(1.0, math.radians(45), 0.3, 127.0), 5)
    1.29599

    References: geometry, own working; tested by intersecting circle and line numerically.
    """
    land, relief_angle, radius = _checked(land, relief_angle, reel_diameter)
    deepest = radius * (1.0 - math.cos(relief_angle))
    removed = within("radius_removed", radius_removed, 0.0, deepest, "mm")
    return _land_at(radius - removed, land, relief_angle, radius)


def radius_for_land(land: float, relief_angle: float, land_wanted: float, reel_diameter: float) -> float:
    """Radius that may be removed before the land has grown to `land_wanted`, mm (inverse of `land_after_grind`).

    Solved by bisection on the exact arc form, to the last bit.

    Raises
    ------
    OutOfRange
        When `land_wanted` is below the present land, or beyond what the facet can ever give.

    >>> round(radius_for_land(1.0, math.radians(45), land_after_grind(1.0, math.radians(45), 0.3, 127.0), 127.0), 9)
    0.3

    References: geometry, own working.
    """
    land, relief_angle, radius = _checked(land, relief_angle, reel_diameter)
    shallow, deep = 0.0, radius * (1.0 - math.cos(relief_angle))
    widest = _land_at(radius - deep, land, relief_angle, radius)
    if not land - 1e-12 <= land_wanted <= widest:  # rounding may leave the present land a hair below itself
        raise OutOfRange(
            "land_wanted", float(land_wanted), phrase("{land:g} to {widest:g}", land=land, widest=widest), "mm"
        )
    while True:
        middle = 0.5 * (shallow + deep)
        if middle in (shallow, deep):
            return middle
        if _land_at(radius - middle, land, relief_angle, radius) < land_wanted:
            shallow = middle
        else:
            deep = middle


def relief_gone(land: float, blade_thickness: float) -> bool:
    """Whether the land has reached the back of the blade, so that no relief is left.

    >>> relief_gone(5.0, 5.0), relief_gone(1.2, 5.0)
    (True, False)

    References: definition.
    """
    within("land", land, 0.0, math.inf, "mm")
    within("blade_thickness", blade_thickness, 0.0, 30.0, "mm", above=True)
    return land >= blade_thickness


def relief_angle_from_radius_datum(angle_from_radius: float) -> float:
    """Relief angle from the tip-circle tangent, rad, for one that was stated from the radius: pi/2 - angle.

    Only at 45 degrees are the two the same, so the datum is stored with the angle.

    >>> round(math.degrees(relief_angle_from_radius_datum(math.radians(60))), 9)
    30.0

    References: definition.
    """
    angle = within(
        "angle_from_radius", angle_from_radius, math.pi / 2.0 - _MOST_ANGLE, math.pi / 2.0 - _LEAST_ANGLE, "rad"
    )
    return math.pi / 2.0 - angle
