"""The knife's edge: what must come off the faces to make it sharp again, and where the edge then lies.

In a section: the top face falls rearwards from the edge at the top angle, from the seat plane; the front face falls
back from the edge at the front angle, from the seat plane's normal. Stock is counted square to the face it comes off.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase

Faces = Literal["top", "front", "both"]
_STEEPEST = math.radians(40.0)


class EdgeStock(NamedTuple):
    """Angle included at the edge, rad, and the stock square to each ground face, mm."""

    included_angle: float
    stock: float


class EdgeShift(NamedTuple):
    """Where the new edge lies from the old sharp one: to the rear, and down, mm."""

    back: float
    down: float


def included_angle(top_angle: float, front_angle: float) -> float:
    """Angle included at the edge, rad: pi/2 - top - front.

    >>> round(math.degrees(included_angle(math.radians(12), math.radians(5))), 9)
    73.0

    References: definition.
    """
    within("top_angle", top_angle, 0.0, _STEEPEST, "rad")
    within("front_angle", front_angle, 0.0, _STEEPEST, "rad")
    return math.pi / 2.0 - top_angle - front_angle


def knife_edge_stock(edge_radius: float, top_angle: float, front_angle: float, faces: Faces) -> EdgeStock:
    """Stock that makes a rounded edge sharp again, and the angle included at it.

    One face alone: rho (1 + cos beta). Both faces alike: rho (1 - sin(beta / 2)) from each.

    One face alone must be taken down to where the rounding runs out into the other face; from both, the new edge
    need only reach the rounding's own surface on the bisector.

    Parameters
    ----------
    edge_radius : float
        Radius rho of the rounding, tangent to both faces, mm.
    top_angle, front_angle : float
        rad, as ground.
    faces : "top", "front" or "both"

    Returns
    -------
    EdgeStock
        included_angle in rad; stock in mm, square to each ground face.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: faces ground at their present angles; clean-up allowance, nicks and wear lands come on top.

    >>> edge = knife_edge_stock(0.1, math.radians(12), math.radians(5), "top")
    >>> round(math.degrees(edge.included_angle), 6), round(edge.stock, 6)
    (73.0, 0.129237)

    References: geometry, own working; tested by cutting a rounded wedge numerically.
    """
    within("edge_radius", edge_radius, 0.0, 5.0, "mm")
    beta = included_angle(top_angle, front_angle)
    if faces == "both":
        return EdgeStock(beta, edge_radius * (1.0 - math.sin(0.5 * beta)))
    if faces in ("top", "front"):
        return EdgeStock(beta, edge_radius * (1.0 + math.cos(beta)))
    raise OutOfRange("faces", faces, phrase("top, front or both"))


def completing_stock(edge_radius: float, beta: float, other_stock: float) -> float:
    """Least stock from one face that makes the edge sharp when `other_stock` comes off the other anyway, mm.

    a = rho - q cos(beta) - sin(beta) sqrt(rho^2 - q^2), q = other - rho; 0 once other >= rho (1 + cos beta).
    With other = 0 it is rho (1 + cos beta), and it equals `other` at rho (1 - sin(beta / 2)).

    >>> round(completing_stock(0.1, math.radians(73), 0.0), 6)
    0.129237

    References: geometry, own working.
    """
    rho = within("edge_radius", edge_radius, 0.0, 5.0, "mm")
    within("included_angle", beta, math.radians(10.0), math.radians(90.0), "rad")
    within("other_stock", other_stock, 0.0, 20.0, "mm")
    if other_stock >= rho * (1.0 + math.cos(beta)):
        return 0.0
    q = other_stock - rho
    return max(0.0, rho - q * math.cos(beta) - math.sin(beta) * math.sqrt(max(0.0, rho**2 - q**2)))


def wear_land_stock(width: float, top_angle: float) -> float:
    """Stock square to the top face that grinds out a flat worn along the edge, mm: u sin(top).

    The flat lies parallel to the seat plane, so it makes the top angle with the face; the height lost at the edge
    is u tan(top), at these angles the same to a few per cent.

    >>> round(wear_land_stock(1.0, math.radians(12)), 4)
    0.2079

    References: geometry, own working.
    """
    within("wear_land", width, 0.0, 20.0, "mm")
    within("top_angle", top_angle, 0.0, _STEEPEST, "rad")
    return width * math.sin(top_angle)


def edge_shift(top_stock: float, front_stock: float, top_angle: float, front_angle: float) -> EdgeShift:
    """How far grinding moves the edge to the rear and down, mm.

    back = (a sin(front) + b cos(top)) / sin(beta), down = (a cos(front) + b sin(top)) / sin(beta), with a off the top
    face and b off the front face, square to each.

    >>> moved = edge_shift(0.2, 0.0, math.radians(12), 0.0)
    >>> round(moved.back, 9), round(moved.down, 6) == round(0.2 / math.cos(math.radians(12)), 6)
    (0.0, True)

    References: geometry, own working.
    """
    within("top_stock", top_stock, 0.0, 50.0, "mm")
    within("front_stock", front_stock, 0.0, 50.0, "mm")
    sine = math.sin(included_angle(top_angle, front_angle))
    return EdgeShift(
        (top_stock * math.sin(front_angle) + front_stock * math.cos(top_angle)) / sine,
        (top_stock * math.cos(front_angle) + front_stock * math.sin(top_angle)) / sine,
    )
