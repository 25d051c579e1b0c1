"""Removal rate and the power it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sparkout.core.errors import OutOfRange, within


@dataclass(frozen=True, slots=True)
class Removal:
    """removal_rate Q in mm^3/s, specific_removal_rate Q' per wheel width in mm^2/s, power in N mm/s (1 W = 1000)."""

    removal_rate: float
    specific_removal_rate: float
    power: float


def removal_rate(work_speed: float, width: float, depth: float) -> float:
    """Removal rate in grinding, volume per time: Q = v_w w d.

    Parameters
    ----------
    work_speed, width, depth : float
        Speed of the work past the wheel, width of the path ground, depth of cut; any one system of units.

    >>> removal_rate(25_000.0, 0.50, 0.05)  # mm/min, mm, mm
    625.0

    References: M. P. Groover, Fundamentals of Modern Manufacturing, ch. 24, section 24.1.2.
    """
    within("work_speed", work_speed, 0.0)
    within("width", width, 0.0)
    within("depth", depth, 0.0)
    return work_speed * width * depth


def removal(
    infeed: float,
    land: float,
    blade_count: int,
    traverse_speed: float,
    wheel_width: float,
    specific_energy: float,
    helix_angle: float = 0.0,
) -> Removal:
    """Removal rate, specific removal rate and power while the wheel traverses a reel, all blades touched.

    Q = infeed x land x N / cos(helix) x traverse speed; Q' = Q / wheel width; P = Q x specific energy.

    Each mm of traverse takes `infeed` off N lands; the land is measured square to the edge, and a helical edge is
    longer than the reel by 1 / cos(helix).

    Parameters
    ----------
    infeed : float
        Depth removed per pass, radial, mm.
    land : float
        Land, mm.
    blade_count : int
        Blades on the reel, N.
    traverse_speed, wheel_width : float
        mm/s, mm.
    specific_energy : float
        Energy per volume removed, N mm/mm^3 (1 J/mm^3 = 1000 N mm/mm^3).
    helix_angle : float
        rad; 0 leaves the helix out.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: mean over a turn; a blade meets the wheel in a short stroke, so the peak is higher.

    >>> removal(0.01, 1.0, 11, 50.0, 20.0, 50_000.0)
    Removal(removal_rate=5.5, specific_removal_rate=0.275, power=275000.0)

    References: Q = v_w w d and U = P / Q, M. P. Groover, Fundamentals of Modern Manufacturing, ch. 24; power from
    specific energy is a model: the energy of this steel and wheel is the workshop's to enter.
    """
    within("infeed", infeed, 0.0, 5.0, "mm")
    within("land", land, 0.0, 30.0, "mm")
    if not 2 <= blade_count <= 40:
        raise OutOfRange("blade_count", blade_count, "2 to 40")
    within("traverse_speed", traverse_speed, 0.0, 2000.0, "mm/s")
    within("wheel_width", wheel_width, 0.5, 300.0, "mm")
    within("specific_energy", specific_energy, 0.0, 1e6, "N mm/mm^3")
    within("helix_angle", helix_angle, -math.radians(60.0), math.radians(60.0), "rad")
    rate = removal_rate(traverse_speed, land * blade_count / math.cos(helix_angle), infeed)
    return Removal(rate, rate / wheel_width, rate * specific_energy)
