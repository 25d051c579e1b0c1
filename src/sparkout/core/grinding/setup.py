"""Set-up of the reel in the grinder: how far to move the adjuster, and the touch-off check on it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sparkout.core.errors import within

if TYPE_CHECKING:
    from sparkout.core.measured import Measured


@dataclass(frozen=True, slots=True)
class AdjusterMove:
    """How far to move the adjuster at one mount: mm there, and turns of its thread; signs as the cone's."""

    offset: float
    turns: float


@dataclass(frozen=True, slots=True)
class TouchOff:
    """What the touch-off must show: the wheel touches the large end and stands off the small by `difference`, mm."""

    large_end: Literal["left", "right", "neither"]
    difference: Measured


@dataclass(frozen=True, slots=True)
class TouchOffCheck:
    """Seen less expected: the carriage's error over the blade length, mm, and the cone it would grind in."""

    carriage_out: Measured
    cone_ground_in: Measured
    proven_out: bool
    """Whether the error exceeds its own 95 % uncertainty; when False it may still be there, unseen."""


def adjuster_turns(
    cone_on_diameter: float, reel_length: float, mount_spacing: float, thread_pitch: float
) -> AdjusterMove:
    """Adjuster move that lines the bearing axis up, from a reel set by its coned outside.

    offset = (cone / 2) (mount spacing / blade length); turns = offset / pitch.

    A reel set by touching both ends lies askew by half its cone. The offset brings the large end's mount towards
    the wheel (or the small end's away), until the *axis*, not the outside, is parallel to the carriage.

    Parameters
    ----------
    cone_on_diameter : float
        Cone over the blade length, mm, signed: positive when the right end is the larger.
    reel_length : float
        Blade length along the axis, mm.
    mount_spacing : float
        Distance between the two mounts, mm.
    thread_pitch : float
        Travel of the adjuster per turn, mm.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: angles so small that sine and tangent agree (a cone of 10 mm on 500 mm: 5 in 100,000).

    >>> adjuster_turns(0.5, 500.0, 600.0, 2.0)
    AdjusterMove(offset=0.3, turns=0.15)

    References: geometry, own working.
    """
    cone = within("cone_on_diameter", cone_on_diameter, -20.0, 20.0, "mm")
    within("reel_length", reel_length, 50.0, 3000.0, "mm")
    within("mount_spacing", mount_spacing, 50.0, 5000.0, "mm")
    within("thread_pitch", thread_pitch, 0.0, 50.0, "mm", above=True)
    offset = 0.5 * cone * mount_spacing / reel_length
    return AdjusterMove(offset, offset / thread_pitch)


def divisions(turns: float, divisions_per_turn: float) -> float:
    """Adjuster move in divisions of its collar: turns times divisions per turn.

    >>> divisions(0.2, 50)
    10.0

    References: definition.
    """
    within("turns", turns)
    return turns * within("divisions_per_turn", divisions_per_turn, 1.0, 10000.0)


def cone_from_carriage(carriage_out: float) -> float:
    """Cone on diameter that a carriage out of parallel by `carriage_out` over the blade length grinds in: 2 a, mm.

    >>> cone_from_carriage(0.02)
    0.04

    References: geometry, own working.
    """
    return 2.0 * within("carriage_out", carriage_out, -20.0, 20.0, "mm")


def touch_off(cone_on_diameter: Measured) -> TouchOff:
    """What the touch-off must show on a reel of this cone: the large end, and the radius difference.

    difference = |cone| / 2.

    With the wheel just touching the large end, the small end stands off by exactly this when the carriage runs
    parallel to the bearing axis. On a reel with run-out the wheel touches the highest blade of each end; use the
    highest blade's radius there (`spin_plan` does).

    >>> from sparkout.core.measured import Measured
    >>> touch_off(Measured(-0.30, 0.04))
    TouchOff(large_end='left', difference=Measured(value=0.15, u=0.02, dof=inf))

    References: geometry, own working.
    """
    half = cone_on_diameter.scaled(-0.5 if cone_on_diameter.value < 0.0 else 0.5)
    if cone_on_diameter.value == 0.0:
        return TouchOff("neither", half)
    return TouchOff("right" if cone_on_diameter.value > 0.0 else "left", half)


def touch_off_check(seen: Measured, expected: Measured) -> TouchOffCheck:
    """Carriage error over the blade length from a touch-off, and the cone it would grind in.

    a = seen - expected; cone = 2 a; u(a) = sqrt(u_seen^2 + u_expected^2). Positive: ground larger at the small end.

    A set-up that cannot be told from a true one is not a true one: with an expected difference known to 0.02 mm
    the check cannot see a ground-in cone below about 0.08 mm. Prove parallel on journals or bearing seats.

    >>> from sparkout.core.measured import Measured
    >>> check = touch_off_check(Measured(0.25, 0.003), Measured(0.15, 0.004))
    >>> round(check.cone_ground_in.value, 9), round(check.cone_ground_in.u, 9), check.proven_out
    (0.2, 0.01, True)

    References: geometry, own working; propagation JCGM 100:2008 5.1.2; for independent readings.
    """
    from sparkout.core.measured import Measured, coverage_factor

    u = (seen.u**2 + expected.u**2) ** 0.5
    error = Measured(seen.value - expected.value, u)
    return TouchOffCheck(error, error.scaled(2.0), abs(error.value) > coverage_factor(0.95) * u)
