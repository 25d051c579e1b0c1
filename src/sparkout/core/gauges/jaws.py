"""Flat jaws across the reel: on an odd-bladed reel a blade faces a gap, so they read less than the diameter."""

from __future__ import annotations

import math

from sparkout.core.gauges.solve import Shown, checked, radius_showing


def _shown(radius: float, blade_count: int, land: float) -> Shown:
    if blade_count % 2 == 0:
        return Shown(2.0 * radius, 2.0, 0.0)
    half_span = math.pi / blade_count - land / (2.0 * radius)
    sine, cosine = math.sin(half_span), math.cos(half_span)
    return Shown(radius * (1.0 + cosine), 1.0 + cosine - sine * land / (2.0 * radius), sine / 2.0)


def jaws_reading(diameter: float, blade_count: int, land: float) -> float:
    """Return what flat jaws across the reel read, mm: odd count at their smallest, even count at their largest.

    Equation: odd N: R [1 + cos(pi/N - w/2R)] (one jaw square on a land, the other across two blades);
    even N: 2R (a blade in the middle of each jaw).

    Parameters
    ----------
    diameter : 2R over the edges, mm.
    blade_count : N.
    land : w, mm, along the arc.

    Raises
    ------
    OutOfRange
        A size no reel has, or lands wide enough to overlap.

    Validity: a regular reel; jaws parallel, long enough to reach two blades, and narrow along the axis (wide
    jaws meet a helical blade at other stations and read more).

    Examples
    --------
    >>> round(jaws_reading(127.0, 11, 1.0), 3), jaws_reading(127.0, 10, 1.0)
    (124.567, 127.0)

    References
    ----------
    Geometry, own working; checked against the width of a drawn reel in the tests.
    """
    diameter, blade_count, land = checked("diameter", diameter, blade_count, land)
    return _shown(diameter / 2.0, blade_count, land).reading


def diameter_from_jaws(reading: float, blade_count: int, land: float) -> float:
    """Return the diameter over the edges of a reel across which flat jaws read `reading`, mm.

    Equation: the inverse of `jaws_reading` in R.

    Raises
    ------
    OutOfRange
        A size no reel has, or lands wide enough to overlap.

    Validity: as `jaws_reading`; the reading taken at its smallest (odd) or largest (even) while rocking the reel.

    Examples
    --------
    >>> round(diameter_from_jaws(124.567, 11, 1.0), 2)
    127.0

    References
    ----------
    Geometry, own working.
    """
    reading, blade_count, land = checked("reading", reading, blade_count, land)
    return 2.0 * radius_showing(reading, lambda radius: _shown(radius, blade_count, land))


def jaws_land_effect(diameter: float, blade_count: int, land: float) -> float:
    """Return d(diameter)/d(land) at a fixed jaws reading, dimensionless; zero for an even count.

    Equation: -2 (d reading / d w) / (d reading / d R), of `jaws_reading`.

    Raises
    ------
    OutOfRange
        As `jaws_reading`.

    Validity: as `jaws_reading`; small changes of land.

    Examples
    --------
    >>> round(jaws_land_effect(127.0, 11, 1.0), 3)
    -0.14

    References
    ----------
    Geometry, own working.
    """
    diameter, blade_count, land = checked("diameter", diameter, blade_count, land)
    return _shown(diameter / 2.0, blade_count, land).land_effect
