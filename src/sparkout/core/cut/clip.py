"""Clip: how far the machine travels between one blade passing the knife and the next.

Imports `math` only: the command line answers these sums without waiting for numpy.
"""

from __future__ import annotations

import math

from sparkout.core.errors import OutOfRange, within

FASTEST_TRAVEL = 20_000.0
"""mm/s; 72 km/h, far beyond any mowing: above it a unit was mistaken."""
FASTEST_REEL = 1_200.0
"""rad/s; about 11 460 turns per minute, for the same reason."""


def whole_blades(blade_count: float) -> int:
    """Return the blade count as a whole number from 1 to 40.

    Raises
    ------
    OutOfRange
        When it is not a whole number or not in that range.

    Examples
    --------
    >>> whole_blades(11.0)
    11
    """
    number = within("blade_count", blade_count, 1, 40)
    if number != int(number):
        raise OutOfRange("blade_count", number, "a whole number, 1 to 40")
    return int(number)


def clip(travel_speed: float, blade_count: int, reel_speed: float) -> float:
    """Return the clip, mm: forward travel per blade contact.

    Equation: clip = 2 pi v / (omega N) = v / (n N).

    Parameters
    ----------
    travel_speed
        v, mm/s, above 0.
    blade_count
        N, 1 to 40.
    reel_speed
        omega, rad/s, above 0.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: both speeds as they are under load; the sum knows nothing of wheel slip when `travel_speed`
    was worked out from the drive.

    Examples
    --------
    4.5 km/h, 11 blades, 1500 turns a minute:

    >>> round(clip(1250.0, 11, 50 * math.pi), 3)
    4.545

    References
    ----------
    Definition of cuts per metre: Grounds Management Association, "Cricket mowing: clip rate" (undated web page). The
    sum is its arithmetic; the same form gives a wood planer's marks per inch.
    """
    speed = within("travel_speed", travel_speed, 0.0, FASTEST_TRAVEL, "mm/s", above=True)
    turning = within("reel_speed", reel_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    return 2.0 * math.pi * speed / (turning * whole_blades(blade_count))


def cuts_per_length(clip: float) -> float:
    """Return the cuts per length of travel, 1/mm: the inverse of the clip (times 1000 for cuts per metre).

    Raises
    ------
    OutOfRange
        When the clip is not above 0.

    Examples
    --------
    >>> round(1000 * cuts_per_length(12.0), 1)
    83.3

    References
    ----------
    Grounds Management Association, mowing the cricket square (undated web page): about 85 cuts per metre at 12-18 mm.
    """
    return 1.0 / within("clip", clip, 0.0, 10_000.0, "mm", above=True)


def clip_land_drive(
    roller_diameter: float, reel_turns_per_roller_turn: float, blade_count: int, slip: float = 0.0
) -> float:
    """Return the clip of a reel geared to its driving roller or wheel, mm; travel speed drops out.

    Equation: clip = pi D (1 + s) / (i N).

    Parameters
    ----------
    roller_diameter
        D of the driving roller or wheel, mm, above 0.
    reel_turns_per_roller_turn
        i, above 0.
    blade_count
        N, 1 to 40.
    slip
        s: ground covered per turn of the drive, less pi D, as a share of pi D. Positive when the drive skids (turns
        less than the ground covered), negative when it spins.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: rigid roller; one per cent of roller wear is one per cent of clip.

    Examples
    --------
    >>> round(clip_land_drive(200.0, 8.5, 10, 0.02), 4)
    7.5398

    References
    ----------
    Geometry, own working.
    """
    diameter = within("roller_diameter", roller_diameter, 0.0, 3_000.0, "mm", above=True)
    ratio = within("reel_turns_per_roller_turn", reel_turns_per_roller_turn, 0.0, 200.0, above=True)
    skid = within("slip", slip, -0.5, 1.0)
    return math.pi * diameter * (1.0 + skid) / (ratio * whole_blades(blade_count))


def reel_speed_for_clip(travel_speed: float, blade_count: int, clip: float) -> float:
    """Return the reel speed that gives a wanted clip, rad/s.

    Equation: omega = 2 pi v / (clip N), the inverse of `clip`.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: says what the sum asks for, not what the machine may run at; its book gives that.

    Examples
    --------
    A fairway at 9 km/h, 8 blades, clip 12 mm, in turns per minute:

    >>> round(reel_speed_for_clip(2500.0, 8, 12.0) * 60 / (2 * math.pi))
    1562

    References
    ----------
    As `clip`.
    """
    speed = within("travel_speed", travel_speed, 0.0, FASTEST_TRAVEL, "mm/s", above=True)
    wanted = within("clip", clip, 0.0, 10_000.0, "mm", above=True)
    return 2.0 * math.pi * speed / (wanted * whole_blades(blade_count))


def blades_in_contact(blade_count: int, reel_length: float, helix_angle: float, reel_diameter: float) -> float:
    """Return the mean number of blades in contact with the knife at once.

    Equation: N L |tan(beta)| / (pi D). Below 1 the cut is interrupted and the torque pulses.

    Parameters
    ----------
    blade_count
        N, 1 to 40.
    reel_length
        L, mm.
    helix_angle
        beta, rad, either hand.
    reel_diameter
        D, mm.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: an even helix over the whole length (no chevron).

    Examples
    --------
    >>> round(blades_in_contact(11, 533.0, math.radians(20.0), 127.0), 1)
    5.3

    References
    ----------
    Geometry, own working.
    """
    length = within("reel_length", reel_length, 0.0, 5_000.0, "mm", above=True)
    helix = within("helix_angle", helix_angle, -math.radians(60.0), math.radians(60.0), "rad")
    diameter = within("reel_diameter", reel_diameter, 40.0, 600.0, "mm")
    return whole_blades(blade_count) * length * abs(math.tan(helix)) / (math.pi * diameter)
