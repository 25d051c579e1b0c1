"""Tip to tip across the reel at its largest: an odd-bladed reel has no two blades opposite."""

from __future__ import annotations

import math

from sparkout.core.gauges.solve import Shown, checked, radius_showing


def _shown(radius: float, blade_count: int, land: float) -> Shown:
    half_turn_short = math.pi / (2.0 * blade_count) - land / (2.0 * radius)
    if blade_count % 2 == 0 or half_turn_short <= 0.0:
        return Shown(2.0 * radius, 2.0, 0.0)
    sine, cosine = math.sin(half_turn_short), math.cos(half_turn_short)
    return Shown(2.0 * radius * cosine, 2.0 * cosine - sine * land / radius, sine)


def chord_reading(diameter: float, blade_count: int, land: float) -> float:
    """Return the largest distance from tip to tip across the reel, mm.

    Equation: odd N: 2R cos(pi/2N - w/2R), from the edge of one land to the far side of the land nearest
    opposite (2R when lands so wide that two are opposite, w >= pi R / N); even N: 2R.

    Parameters
    ----------
    diameter : 2R over the edges, mm.
    blade_count : N.
    land : w, mm, along the arc.

    Raises
    ------
    OutOfRange
        A size no reel has, or lands wide enough to overlap.

    Validity: a regular reel, the reading square to the axis and taken at its largest.

    Examples
    --------
    >>> round(chord_reading(127.0, 11, 1.0), 3), chord_reading(127.0, 10, 1.0)
    (125.846, 127.0)

    References
    ----------
    Geometry, own working; checked against the farthest points of a drawn reel in the tests.
    """
    diameter, blade_count, land = checked("diameter", diameter, blade_count, land)
    return _shown(diameter / 2.0, blade_count, land).reading


def diameter_from_chord(reading: float, blade_count: int, land: float) -> float:
    """Return the diameter over the edges of a reel whose largest tip-to-tip distance is `reading`, mm.

    Equation: the inverse of `chord_reading` in R.

    Raises
    ------
    OutOfRange
        A size no reel has, or lands wide enough to overlap.

    Validity: as `chord_reading`.

    Examples
    --------
    >>> round(diameter_from_chord(125.846, 11, 1.0), 2)
    127.0

    References
    ----------
    Geometry, own working.
    """
    reading, blade_count, land = checked("reading", reading, blade_count, land)
    return 2.0 * radius_showing(reading, lambda radius: _shown(radius, blade_count, land))


def chord_land_effect(diameter: float, blade_count: int, land: float) -> float:
    """Return d(diameter)/d(land) at a fixed tip-to-tip reading, dimensionless; zero for an even count.

    Equation: -2 (d reading / d w) / (d reading / d R), of `chord_reading`.

    Raises
    ------
    OutOfRange
        As `chord_reading`.

    Validity: as `chord_reading`; small changes of land.

    Examples
    --------
    >>> round(chord_land_effect(127.0, 11, 1.0), 3)
    -0.136

    References
    ----------
    Geometry, own working.
    """
    diameter, blade_count, land = checked("diameter", diameter, blade_count, land)
    return _shown(diameter / 2.0, blade_count, land).land_effect
