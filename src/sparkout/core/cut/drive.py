"""How fast the reel turns, by what drives it, and these sums turned round. Imports `math` only."""

from __future__ import annotations

import math

from sparkout.core.cut.clip import FASTEST_REEL, FASTEST_TRAVEL, whole_blades
from sparkout.core.errors import Contradiction, within
from sparkout.core.phrase import phrase

_MOST_FLOW = 1e7
"""mm³/s; 600 L/min, for the same reason as the fastest speeds of `clip`."""
_MOST_DISPLACEMENT = 1e6
"""mm³ per turn; 1 L."""


def tip_speed(reel_speed: float, reel_diameter: float) -> float:
    """Return the speed of the edge round the axis, mm/s.

    Equation: u = omega D / 2.

    Parameters
    ----------
    reel_speed
        omega, rad/s, above 0.
    reel_diameter
        D over the edges, mm, 40 to 600.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: speed against the machine; over the ground travel is added or taken away (see `trochoid`). Grinding
    lowers it in proportion to the diameter and leaves the clip alone.

    Examples
    --------
    1700 turns a minute, 127 mm:

    >>> round(tip_speed(1700 * math.pi / 30, 127.0))
    11304

    References
    ----------
    Definition.
    """
    turning = within("reel_speed", reel_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    return turning * within("reel_diameter", reel_diameter, 40.0, 600.0, "mm") / 2.0


def travel_speed_for_clip(reel_speed: float, blade_count: int, clip: float) -> float:
    """Return the travel speed that gives a wanted clip, mm/s.

    Equation: v = F omega N / (2 pi), the inverse of `clip.clip`.

    Parameters
    ----------
    reel_speed
        omega, rad/s, above 0, as it is at work.
    blade_count
        N, 1 to 40.
    clip
        F, mm, above 0.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: a reel that keeps its own speed; on a land drive the clip does not depend on travel (`ratio_for_clip`).

    Examples
    --------
    >>> round(travel_speed_for_clip(50 * math.pi, 11, 4.0) * 0.0036, 2)
    3.96

    References
    ----------
    As `clip.clip`.
    """
    turning = within("reel_speed", reel_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    wanted = within("clip", clip, 0.0, 10_000.0, "mm", above=True)
    return wanted * turning * whole_blades(blade_count) / (2.0 * math.pi)


def reel_speed_belt(
    engine_speed: float, driving_pulley: float, driven_pulley: float, *, slip: float = 0.0, further_ratio: float = 1.0
) -> float:
    """Return the speed of a reel driven by a belt, rad/s.

    Equation: omega = omega_e (d1 / d2) (1 - s) / i.

    Parameters
    ----------
    engine_speed
        omega_e of the shaft the driving pulley sits on, rad/s, above 0.
    driving_pulley, driven_pulley
        d1 and d2 where the belt runs (pitch diameters; with a flat belt its thickness added), mm, above 0.
    slip
        s, share of speed lost in the belt, 0 to below 0.5. A toothed belt loses none.
    further_ratio
        i, turns of the driven pulley per turn of the reel, above 0.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: one belt; several in a row are sums one after another.

    Examples
    --------
    >>> round(reel_speed_belt(3000 * math.pi / 30, 60.0, 110.0, slip=0.02) * 30 / math.pi)
    1604

    References
    ----------
    Khurmi and Gupta, Theory of Machines, chapter 11 (velocity ratio of a belt drive with slip).
    """
    engine = within("engine_speed", engine_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    driving = within("driving_pulley", driving_pulley, 0.0, 2_000.0, "mm", above=True)
    return engine * driving / _belt_divisor(driven_pulley, slip, further_ratio)


def driving_pulley_for_reel_speed(
    engine_speed: float, driven_pulley: float, reel_speed: float, *, slip: float = 0.0, further_ratio: float = 1.0
) -> float:
    """Return the driving pulley's diameter that gives a wanted reel speed, mm: `reel_speed_belt` turned round.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Examples
    --------
    >>> speed = reel_speed_belt(300.0, 60.0, 110.0, slip=0.02)
    >>> round(driving_pulley_for_reel_speed(300.0, 110.0, speed, slip=0.02), 6)
    60.0

    References
    ----------
    As `reel_speed_belt`.
    """
    engine = within("engine_speed", engine_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    wanted = within("reel_speed", reel_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    return wanted / engine * _belt_divisor(driven_pulley, slip, further_ratio)


def _belt_divisor(driven_pulley: float, slip: float, further_ratio: float) -> float:
    """Driving pulley's diameter over the ratio of the speeds, d2 i / (1 - s)."""
    driven = within("driven_pulley", driven_pulley, 0.0, 2_000.0, "mm", above=True)
    lost = within("slip", slip, 0.0, 0.5)
    return driven * within("further_ratio", further_ratio, 0.0, 100.0, above=True) / (1.0 - lost)


def reel_speed_hydraulic(flow: float, displacement: float, volumetric_efficiency: float) -> float:
    """Return the speed of a reel on a hydraulic motor, rad/s.

    Equation: omega = 2 pi Q eta / V.

    Parameters
    ----------
    flow
        Q that reaches the motor, mm³/s, above 0.
    displacement
        V of the motor per turn, mm³, above 0.
    volumetric_efficiency
        eta: share of the flow that turns the motor, the rest leaks past; above 0 to 1. It falls with wear, with hot
        thin oil and with load.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: motor on the reel's shaft; motors in series each get the flow the one before lets through.

    Examples
    --------
    18 L/min into 10 cm³ per turn at 92 %, in turns per minute:

    >>> round(reel_speed_hydraulic(18e6 / 60, 10e3, 0.92) * 30 / math.pi)
    1656

    References
    ----------
    Sullivan, Fluid Power: Theory and Applications, 4th ed., chapter 9 (motor speed and volumetric efficiency).
    """
    reaching = within("flow", flow, 0.0, _MOST_FLOW, "mm³/s", above=True)
    return 2.0 * math.pi * reaching * _efficiency(volumetric_efficiency) / _displacement(displacement)


def flow_for_reel_speed(reel_speed: float, displacement: float, volumetric_efficiency: float) -> float:
    """Return the flow a hydraulic motor needs for a wanted reel speed, mm³/s: `reel_speed_hydraulic` turned round.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Examples
    --------
    >>> round(flow_for_reel_speed(1656 * math.pi / 30, 10e3, 0.92) * 60e-6, 2)
    18.0

    References
    ----------
    As `reel_speed_hydraulic`.
    """
    wanted = within("reel_speed", reel_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    return wanted * _displacement(displacement) / (2.0 * math.pi * _efficiency(volumetric_efficiency))


def volumetric_efficiency(flow: float, displacement: float, reel_speed: float) -> float:
    """Return the share of the flow that turns the motor, from its measured speed: a tired motor shows here.

    Equation: eta = V omega / (2 pi Q).

    Parameters
    ----------
    flow, displacement
        As `reel_speed_hydraulic`.
    reel_speed
        omega as counted, rad/s, above 0.

    Raises
    ------
    OutOfRange
        For any argument outside its range.
    Contradiction
        When the motor would turn faster than the whole flow can turn it (allowing 2 % for the readings).

    Examples
    --------
    >>> round(volumetric_efficiency(18e6 / 60, 10e3, 1530 * math.pi / 30), 3)
    0.85

    References
    ----------
    As `reel_speed_hydraulic`.
    """
    reaching = within("flow", flow, 0.0, _MOST_FLOW, "mm³/s", above=True)
    turning = within("reel_speed", reel_speed, 0.0, FASTEST_REEL, "rad/s", above=True)
    share = turning * _displacement(displacement) / (2.0 * math.pi * reaching)
    if share > 1.02:
        raise Contradiction(
            ("flow", "displacement", "reel_speed"),
            phrase("the motor would turn {share:.3g} times as fast as this flow can turn it", share=share),
        )
    return share


def _efficiency(share: float) -> float:
    return within("volumetric_efficiency", share, 0.0, 1.0, above=True)


def _displacement(displacement: float) -> float:
    return within("displacement", displacement, 0.0, _MOST_DISPLACEMENT, "mm³", above=True)


def reel_speed_electric(
    no_load_speed: float, stall_torque: float, reel_torque: float, *, motor_turns_per_reel_turn: float = 1.0
) -> float:
    """Return the speed of a reel on a permanent-magnet motor at a fixed voltage, under load, rad/s.

    Equation: omega = (omega_0 / i) (1 - T / (i T_s)), the straight line from no load to stall.

    Parameters
    ----------
    no_load_speed
        omega_0 of the motor at this voltage, rad/s, above 0.
    stall_torque
        T_s of the motor at this voltage, N mm, above 0: the line's other end, not a torque to run at.
    reel_torque
        T at the reel, N mm, 0 or more.
    motor_turns_per_reel_turn
        i, above 0.

    Raises
    ------
    OutOfRange
        For any argument outside its range, or a torque that stalls the motor.

    Validity: no speed control; a controlled motor holds its set speed until it runs out of voltage or current, and
    then `clip` is the sum to use. Losses in the gear left out. Warm magnets and windings move both ends of the line.

    Examples
    --------
    >>> round(reel_speed_electric(220.0, 9000.0, 1500.0), 2)
    183.33

    References
    ----------
    Straight speed-torque line of a permanent-magnet motor: common teaching, from memory, no page seen.
    """
    free = within("no_load_speed", no_load_speed, 0.0, 10 * FASTEST_REEL, "rad/s", above=True)
    stall = within("stall_torque", stall_torque, 0.0, 1e7, "N mm", above=True)
    ratio = within("motor_turns_per_reel_turn", motor_turns_per_reel_turn, 0.0, 100.0, above=True)
    load = within("reel_torque", reel_torque, 0.0, 0.999 * stall * ratio, "N mm")
    return free / ratio * (1.0 - load / (ratio * stall))


def reel_speed_land_drive(
    travel_speed: float, roller_diameter: float, reel_turns_per_roller_turn: float, slip: float = 0.0
) -> float:
    """Return the speed of a reel geared to its driving roller or wheel, rad/s.

    Equation: omega = 2 v i / (D (1 + s)).

    Parameters
    ----------
    travel_speed
        v over the ground, mm/s, above 0.
    roller_diameter, reel_turns_per_roller_turn, slip
        As `clip.clip_land_drive`: D as worn, i, and s (skid positive).

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Examples
    --------
    >>> round(reel_speed_land_drive(1250.0, 190.0, 6.5, 0.05) * 30 / math.pi)
    778

    References
    ----------
    Geometry, own working.
    """
    speed = within("travel_speed", travel_speed, 0.0, FASTEST_TRAVEL, "mm/s", above=True)
    return 2.0 * speed * _ratio(reel_turns_per_roller_turn) / (_roller(roller_diameter) * (1.0 + _slip(slip)))


def ratio_for_clip(roller_diameter: float, blade_count: int, clip: float, slip: float = 0.0) -> float:
    """Return the reel turns per roller turn that give a wanted clip: `clip.clip_land_drive` turned round.

    Equation: i = pi D (1 + s) / (F N).

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Examples
    --------
    >>> round(ratio_for_clip(190.0, 10, 6.0, 0.05), 3)
    10.446

    References
    ----------
    Geometry, own working.
    """
    wanted = within("clip", clip, 0.0, 10_000.0, "mm", above=True)
    return math.pi * _roller(roller_diameter) * (1.0 + _slip(slip)) / (wanted * whole_blades(blade_count))


def slip_from_turns(distance: float, turns: float, roller_diameter: float) -> float:
    """Return the slip of a drive, from its turns counted over a measured distance at work; skid is positive.

    Equation: s = x / (n pi D) - 1.

    Parameters
    ----------
    distance
        x, mm, above 0.
    turns
        n of the roller or wheel over it, above 0.
    roller_diameter
        D as worn, mm.

    Raises
    ------
    OutOfRange
        For any argument outside its range.
    Contradiction
        When the slip comes out below -50 % or above 100 %: then a turn was missed or a unit mistaken.

    Validity: only as good as the roller's diameter; count under the load of a full cut, on the turf in question.

    Examples
    --------
    >>> round(slip_from_turns(20_000.0, 32.2, 190.0), 3)
    0.041

    References
    ----------
    Definition.
    """
    covered = within("distance", distance, 0.0, 1e8, "mm", above=True)
    counted = within("turns", turns, 0.0, 1e6, above=True)
    slip = covered / (counted * math.pi * _roller(roller_diameter)) - 1.0
    if not -0.5 <= slip <= 1.0:
        raise Contradiction(
            ("distance", "turns", "roller_diameter"),
            phrase("together they mean a slip of {slip:.3g} %; allowed: -50 to 100 %", slip=100.0 * slip),
        )
    return slip


def clip_change_from_roller_wear(new_diameter: float, worn_diameter: float) -> float:
    """Return by what share a worn driving roller changes the clip; below 0: finer.

    Equation: D_worn / D_new - 1.

    Raises
    ------
    OutOfRange
        For a diameter outside its range.

    Validity: land drive, slip unchanged.

    Examples
    --------
    >>> round(clip_change_from_roller_wear(190.0, 186.2), 3)
    -0.02

    References
    ----------
    Geometry, own working.
    """
    new = within("new_diameter", new_diameter, 0.0, 3_000.0, "mm", above=True)
    return within("worn_diameter", worn_diameter, 0.0, 3_000.0, "mm", above=True) / new - 1.0


def _roller(diameter: float) -> float:
    return within("roller_diameter", diameter, 0.0, 3_000.0, "mm", above=True)


def _ratio(turns: float) -> float:
    return within("reel_turns_per_roller_turn", turns, 0.0, 200.0, above=True)


def _slip(share: float) -> float:
    return within("slip", share, -0.5, 1.0)
