"""Defect frequencies of a rolling bearing, as multiples of the shaft's speed."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sparkout.core.errors import OutOfRange, within


@dataclass(frozen=True, slots=True)
class Bearing:
    """A bearing's inside: rolling elements, their diameter and the pitch circle's in mm, contact angle in rad."""

    elements: int
    element_diameter: float
    pitch_diameter: float
    contact_angle: float = 0.0


@dataclass(frozen=True, slots=True)
class Multiples:
    """Defect frequencies over shaft frequency, outer ring standing still."""

    cage: float
    outer: float
    inner: float
    element_spin: float
    """One spot on a ball meets one race once per spin; both races: `element`."""

    @property
    def element(self) -> float:
        """A spot on a ball strikes both races: twice the spin."""
        return 2.0 * self.element_spin


def defect_multiples(bearing: Bearing) -> Multiples:
    """Return the defect frequencies of a bearing over the shaft's frequency.

    With q = (d/D) cos φ: cage (1 − q)/2, outer race n(1 − q)/2, inner race n(1 + q)/2, element spin (D/2d)(1 − q²).

    Parameters
    ----------
    bearing
        Elements 3 to 100; element diameter above 0 and below the pitch diameter; contact angle 0 to 75 degrees.

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: rolling without slip, outer ring fixed; real ones run up to about 2 % off. Outer and inner add up to n.

    Examples
    --------
    >>> found = defect_multiples(Bearing(9, 7.94004, 39.0398))
    >>> round(found.inner, 4), round(found.outer, 4), round(found.element, 4)
    (5.4152, 3.5848, 4.7134)

    References
    ----------
    Kinematics of the rolling bearing; published multiples of one bearing in tests/published.
    """
    within("elements", bearing.elements, 3, 100)
    within("pitch_diameter", bearing.pitch_diameter, 1.0, 1000.0, "mm")
    within("contact_angle", bearing.contact_angle, 0.0, math.radians(75.0), "rad")
    d, pitch = bearing.element_diameter, bearing.pitch_diameter
    if not 0.0 < d < pitch:
        raise OutOfRange("element_diameter", d, f"above 0 and below the pitch diameter ({pitch:g})", "mm")
    q = d / pitch * math.cos(bearing.contact_angle)
    n = bearing.elements
    return Multiples((1.0 - q) / 2.0, n * (1.0 - q) / 2.0, n * (1.0 + q) / 2.0, pitch / (2.0 * d) * (1.0 - q * q))
