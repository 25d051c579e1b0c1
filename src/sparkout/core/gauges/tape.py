"""A circumference tape round the reel: it spans the blades in straight lines, so it shows less than the diameter."""

from __future__ import annotations

import math

from sparkout.core.gauges.solve import Shown, checked, radius_showing


def _shown(radius: float, blade_count: int, land: float) -> Shown:
    half_span = math.pi / blade_count - land / (2.0 * radius)
    sine, cosine = math.sin(half_span), math.cos(half_span)
    per_turn = blade_count / math.pi
    return Shown(
        per_turn * (land + 2.0 * radius * sine),
        per_turn * (2.0 * sine + land / radius * cosine),
        per_turn * (1.0 - cosine),
    )


def tape_reading(diameter: float, blade_count: int, land: float) -> float:
    """Return what a circumference tape shows (its length round the reel over pi), mm.

    Equation: reading = (N / pi) [w + 2R sin(pi/N - w/2R)], the tape lying on each land and straight
    from blade to blade.

    Parameters
    ----------
    diameter : 2R over the edges, mm.
    blade_count : N.
    land : w, mm, along the arc. (A land measured square to a helical edge is land / cos(helix) along the arc.)

    Raises
    ------
    OutOfRange
        A size no reel has, or lands wide enough to overlap.

    Validity: a regular reel, the tape square to the axis. The tape's own thickness t adds pi t to its length
    here exactly as on a round bar (Steiner's formula for convex bodies), so a tape graduated for that stays right.

    Examples
    --------
    >>> round(tape_reading(127.0, 11, 1.0), 4)
    125.4185

    References
    ----------
    Geometry, own working; checked against the convex hull of a drawn reel in the tests.
    """
    diameter, blade_count, land = checked("diameter", diameter, blade_count, land)
    return _shown(diameter / 2.0, blade_count, land).reading


def diameter_from_tape(reading: float, blade_count: int, land: float) -> float:
    """Return the diameter over the edges of a reel on which a circumference tape shows `reading`, mm.

    Equation: the inverse of `tape_reading` in R.

    Raises
    ------
    OutOfRange
        A size no reel has, or lands wide enough to overlap.

    Validity: as `tape_reading`.

    Examples
    --------
    >>> round(diameter_from_tape(125.4185, 11, 1.0), 3)
    127.0

    References
    ----------
    Geometry, own working.
    """
    reading, blade_count, land = checked("reading", reading, blade_count, land)
    return 2.0 * radius_showing(reading, lambda radius: _shown(radius, blade_count, land))


def tape_land_effect(diameter: float, blade_count: int, land: float) -> float:
    """Return d(diameter)/d(land) at a fixed tape reading, dimensionless: the land's uncertainty enters by it.

    Equation: -2 (d reading / d w) / (d reading / d R), of `tape_reading`.

    Raises
    ------
    OutOfRange
        As `tape_reading`.

    Validity: as `tape_reading`; small changes of land.

    Examples
    --------
    >>> round(tape_land_effect(127.0, 11, 1.0), 3)
    -0.136

    References
    ----------
    Geometry, own working.
    """
    diameter, blade_count, land = checked("diameter", diameter, blade_count, land)
    return _shown(diameter / 2.0, blade_count, land).land_effect
