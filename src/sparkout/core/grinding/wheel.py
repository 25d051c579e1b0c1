"""The wheel: its speed against its mark, what it loses, and the cone that loss grinds in."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sparkout.core.errors import NotEnough, OutOfRange, within
from sparkout.core.phrase import phrase


@dataclass(frozen=True, slots=True)
class SpeedCheck:
    """Wheel speed at the rim against the speed marked on the wheel, mm/s; not allowed to run unless `allowed`."""

    surface_speed: float
    marked_speed: float
    margin: float
    """Marked speed less surface speed, as a share of the marked speed; negative when too fast."""
    fastest_spindle: float
    """Spindle speed at which this wheel reaches its mark, rad/s."""
    allowed: bool


def surface_speed(wheel_diameter: float, spindle_speed: float) -> float:
    """Speed of the wheel's rim, mm/s: v = D omega / 2 (= pi D n).

    Parameters
    ----------
    wheel_diameter : float
        mm; use the diameter of the wheel as fitted, not as worn: it is the larger.
    spindle_speed : float
        rad/s.

    >>> round(surface_speed(150.0, 3000 * 2 * math.pi / 60))
    23562

    References: definition.
    """
    within("wheel_diameter", wheel_diameter, 5.0, 1000.0, "mm")
    within("spindle_speed", spindle_speed, 0.0, 10000.0, "rad/s")
    return 0.5 * wheel_diameter * spindle_speed


def speed_check(wheel_diameter: float, spindle_speed: float, marked_speed: float | None) -> SpeedCheck:
    """Whether the spindle may drive this wheel: rim speed not above the maximum marked on the wheel.

    There is no verdict without the mark: limits differ by wheel, bond and shape, so none is assumed here.

    Parameters
    ----------
    wheel_diameter, spindle_speed : float
        mm, rad/s.
    marked_speed : float or None
        Maximum speed marked on the wheel, mm/s. A mark in turns per minute goes through `surface_speed` first, with
        the diameter the wheel was marked for.

    Raises
    ------
    NotEnough
        Without the marked maximum.
    OutOfRange
        For any argument outside its range.

    >>> check = speed_check(150.0, 3000 * 2 * math.pi / 60, 35000.0)
    >>> check.allowed, round(check.margin, 3)
    (True, 0.327)

    References: rule of 29 CFR 1910.215(d)(1), spindle speed not above the maximum marked on the wheel (read as quoted
    by state codes, not in the federal text). Local rules and the wheel maker's mark apply.
    """
    speed = surface_speed(wheel_diameter, spindle_speed)
    if marked_speed is None:
        raise NotEnough(
            phrase("Whether the wheel may run at this speed"), phrase("the maximum speed marked on the wheel")
        )
    marked = within("marked_speed", marked_speed, 0.0, 2e5, "mm/s", above=True)
    return SpeedCheck(speed, marked, 1.0 - speed / marked, 2.0 * marked / wheel_diameter, speed <= marked)


def wheel_loss(volume_removed: float, g_ratio: float, wheel_diameter: float, wheel_width: float) -> float:
    """Loss of wheel radius while `volume_removed` of steel is ground away, mm.

    V_w = V / G; loss = R - sqrt(R^2 - V_w / (pi b)), close to V_w / (pi D b).

    Parameters
    ----------
    volume_removed : float
        V, mm^3.
    g_ratio : float
        G = volume of work / volume of wheel. Published values differ fivefold: learn it, never assume it.
    wheel_diameter, wheel_width : float
        mm; the rim wears evenly over its width b.

    Raises
    ------
    OutOfRange
        For any argument outside its range, or when the wheel has not that much abrasive.

    >>> round(wheel_loss(500.0, 50.0, 100.0, 20.0), 6)
    0.001592

    References: G-ratio as in M. P. Groover, Fundamentals of Modern Manufacturing, ch. 24; ring volume is geometry.
    """
    within("volume_removed", volume_removed, 0.0, math.inf, "mm^3")
    within("g_ratio", g_ratio, 0.0, 1e6, above=True)
    within("wheel_diameter", wheel_diameter, 5.0, 1000.0, "mm")
    within("wheel_width", wheel_width, 0.5, 300.0, "mm")
    radius = 0.5 * wheel_diameter
    squared = radius**2 - volume_removed / g_ratio / (math.pi * wheel_width)
    if squared <= 0.0:
        most = math.pi * wheel_width * radius**2 * g_ratio
        raise OutOfRange("volume_removed", float(volume_removed), phrase("below {most:g}", most=most), "mm^3")
    # R - sqrt(R^2 - a) loses every digit when a is small; the conjugate form does not
    return (radius**2 - squared) / (radius + math.sqrt(squared))


def overlap(wheel_width: float, traverse_speed: float, work_speed: float) -> float:
    """Overlap ratio: wheel width over traverse per work turn, so how often a traverse meets each point of the edge.

    Below 1 the wheel leaves a screw of untouched edge.

    Parameters
    ----------
    wheel_width, traverse_speed, work_speed : float
        mm, mm/s, rad/s (reel turns).

    >>> round(overlap(20.0, 50.0, 2 * math.pi * 5.0), 9)
    2.0

    References: grinding literature, from memory (not opened).
    """
    within("wheel_width", wheel_width, 0.5, 300.0, "mm")
    within("traverse_speed", traverse_speed, 0.0, 2000.0, "mm/s", above=True)
    within("work_speed", work_speed, 0.0, 1000.0, "rad/s", above=True)
    return wheel_width * work_speed / (2.0 * math.pi * traverse_speed)


def cone_from_wheel_loss(loss_in_traverse: float) -> float:
    """Cone on diameter that the wheel's loss of radius within one traverse grinds in, mm: twice the loss.

    The large end is where the traverse ends. This bounds the cone of a reel always ground one way; traverse in both
    directions in turn cancels most of it, and spark-out all but a little (`simulate` works both out).

    >>> cone_from_wheel_loss(0.001)
    0.002

    References: geometry, own working.
    """
    return 2.0 * within("loss_in_traverse", loss_in_traverse, 0.0, 500.0, "mm")
