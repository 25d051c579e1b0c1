"""The paths of the blade tips over the ground, and the cusp they leave. Imports `math` only."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Literal

from sparkout.core.cut.clip import FASTEST_REEL, FASTEST_TRAVEL, whole_blades
from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase

Sense = Literal[-1, 1]


def speed_ratio(travel_speed: float, reel_speed: float, reel_diameter: float) -> float:
    """Return lambda = omega R / v, the blade's speed round the axis over the travel speed.

    Raises
    ------
    OutOfRange
        For any argument outside its range, and when lambda is not above 1: then no point of the edge ever moves
        backwards over the ground, and the reel cannot gather grass to the knife.

    Examples
    --------
    >>> round(speed_ratio(1500.0, 2000 * math.pi / 30, 127.0), 3)
    8.866

    References
    ----------
    Rotary-tiller kinematics: Hendrick and Gill, Trans. ASAE 14 (1971), ratio of peripheral to forward speed.
    """
    speed = within("travel_speed", travel_speed, 0.0, FASTEST_TRAVEL, "mm/s", above=True)
    turning = within("reel_speed", reel_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    radius = within("reel_diameter", reel_diameter, 40.0, 600.0, "mm") / 2.0
    ratio = turning * radius / speed
    if ratio <= 1.0:
        most = turning * radius
        allowed = phrase("(slower than the blades go round) below {most:.6g}", most=most)
        raise OutOfRange("travel_speed", speed, allowed, "mm/s")
    return ratio


def _root(rising: Callable[[float], float], low: float, high: float) -> float:
    """Root of a continuous function that is below 0 at `low` and not below at `high`, to the last bits, by halving."""
    while low < (middle := 0.5 * (low + high)) < high:
        if rising(middle) < 0.0:
            low = middle
        else:
            high = middle
    return high


def _crossing_angle(ratio: float, blade_count: int, sense: Sense) -> float:
    """Angle from the lowest point at which neighbouring paths first cross, rad."""
    half = math.pi / blade_count
    if sense == 1:
        return _root(lambda a: ratio * math.sin(a) + a - half, 0.0, math.pi)
    widest = math.acos(1.0 / ratio)
    if ratio * math.sin(widest) - widest >= half:
        return _root(lambda a: ratio * math.sin(a) - a - half, 0.0, widest)
    return _root(lambda a: a - ratio * math.sin(a) - half, widest, math.pi)


def cusp(travel_speed: float, blade_count: int, reel_speed: float, reel_diameter: float, sense: Sense = -1) -> float:
    """Return the cusp, mm: height above the blades' lowest point where the paths of neighbouring blades first cross.

    Equation: path x = (R/lambda) a + sense R sin(a), y = R (1 - cos a), with a the angle from the lowest point; the
    neighbour runs one clip behind. By symmetry they cross half a clip from either's lowest point, at the smallest a
    with |x| = clip / 2. When the reel turns too slowly for the lower loops to meet (sense -1, lambda up to about
    1.5 with 11 blades) the lowest crossing lies on the branches above them, and a strip at the bottom is missed.

    Parameters
    ----------
    travel_speed, reel_speed, reel_diameter
        v (mm/s), omega (rad/s), 2 R (mm), with omega R > v.
    blade_count
        N.
    sense
        -1: at its lowest point the edge moves backwards against travel (a mower's reel); +1: forwards.

    Raises
    ------
    OutOfRange
        For any argument outside its range, and when lambda = omega R / v is not above 1.

    Validity: free tip paths; the knife, not the blade circle, makes the cut, so this is a geometric marking
    height and not a measured stubble wave.

    Examples
    --------
    >>> round(cusp(1500.0, 11, 2000 * math.pi / 30, 127.0), 4)
    0.0419

    References
    ----------
    Path: Hendrick and Gill, Rotary tiller design parameters V: Kinematics, ASAE (1978). Crossing: own working.
    """
    if sense not in (-1, 1):
        raise OutOfRange("sense", sense, "-1 (edge moves backwards at its lowest point) or 1 (forwards)")
    ratio = speed_ratio(travel_speed, reel_speed, reel_diameter)
    angle = _crossing_angle(ratio, whole_blades(blade_count), sense)
    return float(reel_diameter) * math.sin(angle / 2.0) ** 2


def cusp_approximation(
    travel_speed: float, blade_count: int, reel_speed: float, reel_diameter: float, sense: Sense = -1
) -> float:
    """Return the cusp by the second-order formula, mm; `cusp` is exact.

    Equation: F^2 / (8 rho), F the clip, rho = (R + sense v/omega)^2 / R the path's radius of curvature at
    its lowest point.

    Raises
    ------
    OutOfRange
        As `cusp`.

    Validity: sense -1: within 1 % of exact for lambda of 4 and more, low by some 4 % at lambda 3 with 5 blades.

    Examples
    --------
    >>> round(cusp_approximation(1500.0, 11, 2000 * math.pi / 30, 127.0), 4)
    0.0419

    References
    ----------
    Geometry, own working.
    """
    if sense not in (-1, 1):
        raise OutOfRange("sense", sense, "-1 (edge moves backwards at its lowest point) or 1 (forwards)")
    ratio = speed_ratio(travel_speed, reel_speed, reel_diameter)
    radius = reel_diameter / 2.0
    travel = 2.0 * math.pi * radius / (ratio * whole_blades(blade_count))
    return travel**2 / (8.0 * radius * (1.0 + sense / ratio) ** 2)
