"""A machine as timed and counted: clip, cuts and edge speed with their uncertainty, and the chance of the band."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sparkout.core.cut.band import ClipBand
from sparkout.core.cut.clip import clip, cuts_per_length
from sparkout.core.cut.drive import tip_speed
from sparkout.core.errors import within
from sparkout.core.measured import Measured


@dataclass(frozen=True, slots=True)
class Running:
    """Clip (mm), cuts per length (1/mm) and edge speed (mm/s), and the chance that the clip lies in the band."""

    clip: Measured
    cuts: Measured
    tip_speed: Measured | None = None
    band: ClipBand | None = None
    chance_within: float | None = None


def travel_speed_timed(distance: Measured, time: Measured) -> Measured:
    """Return the travel speed of a machine timed over a measured distance, mm/s.

    Equation: v = x / t, (u_v / v)² = (u_x / x)² + (u_t / t)².

    Parameters
    ----------
    distance
        x, mm, above 0.
    time
        t, s, above 0. A stop-watch by hand is good to some 0.2 s (common practice, no source).

    Raises
    ------
    OutOfRange
        For a value not above 0.

    Examples
    --------
    20 m in 16 s, in km/h:

    >>> speed = travel_speed_timed(Measured(20_000.0, 20.0), Measured(16.0, 0.2))
    >>> round(speed.value * 0.0036, 2), round(speed.u * 0.0036, 2)
    (4.5, 0.06)

    References
    ----------
    Law of propagation (JCGM 100, product form).
    """
    within("distance", distance.value, 0.0, 1e8, "mm", above=True)
    within("time", time.value, 0.0, 1e5, "s", above=True)
    speed = distance.value / time.value
    return Measured(speed, speed * math.hypot(distance.u / distance.value, time.u / time.value))


def running(
    travel_speed: Measured,
    blade_count: int,
    reel_speed: Measured,
    reel_diameter: float | None = None,
    band: ClipBand | None = None,
) -> Running:
    """Return clip, cuts per length and edge speed of a machine as timed and counted, with their uncertainty.

    Equation: (u_F / F)² = (u_v / v)² + (u_omega / omega)²; the cuts the same; u_u / u = u_omega / omega. Chance of the
    band: Phi((coarsest - F) / u_F) - Phi((finest - F) / u_F).

    Parameters
    ----------
    travel_speed, reel_speed
        v (mm/s) and omega (rad/s) at work, read independently of each other.
    blade_count
        N.
    reel_diameter
        D, mm, for the edge's speed; its own uncertainty is too small to matter there.
    band
        The workshop's own band, if there is one.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: relative uncertainties up to some 20 %.

    Examples
    --------
    >>> from sparkout.core.cut.band import clip_band
    >>> as_timed = Measured(1250.0, 20.0), 11, Measured(50 * math.pi, 1.0), 127.0
    >>> found = running(*as_timed, clip_band(4.0, 0.8, 1.15, "house: greens"))
    >>> round(found.clip.value, 2), round(found.clip.u, 2), round(found.chance_within, 2)
    (4.55, 0.08, 0.76)

    References
    ----------
    Law of propagation (JCGM 100); chance as JCGM 106 clause 7 (two limits, normal).
    """
    travelled = clip(travel_speed.value, blade_count, reel_speed.value)
    share = math.hypot(travel_speed.u / travel_speed.value, reel_speed.u / reel_speed.value)
    found = Measured(travelled, travelled * share)
    edge = None if reel_diameter is None else tip_speed(reel_speed.value, reel_diameter)
    per_length = cuts_per_length(travelled)
    return Running(
        found,
        Measured(per_length, per_length * share),
        None if edge is None else Measured(edge, edge * reel_speed.u / reel_speed.value),
        band,
        None if band is None else _chance(found, band),
    )


def _chance(clip: Measured, band: ClipBand) -> float:
    if clip.u == 0.0:
        return 1.0 if band.lies(clip.value) == "within" else 0.0
    below = [0.5 * math.erfc((clip.value - end) / (clip.u * math.sqrt(2.0))) for end in (band.finest, band.coarsest)]
    return below[1] - below[0]
