"""What a plan does to height of cut and behind-centre distance, and what to turn back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal, NamedTuple

from sparkout.core.bedknife.edge import edge_shift as edge_shift_on_seat
from sparkout.core.errors import NotEnough, OutOfRange, within
from sparkout.core.phrase import phrase
from sparkout.core.setting.pivot import KnifeOnReel, knife_on_reel

Pattern = Literal["knife up", "reel down"]
"""Which part moves to close the gap: the knife up to the reel, or the reel down to the knife. Both patterns exist
(Grounds Management Association, Adjusting a cylinder mower)."""

NEXT = phrase(
    "After any grind or new knife, measure again in this order: height of cut, behind-centre, rollers parallel."
)


class EdgeShift(NamedTuple):
    """How far grinding moves the edge in its holder, mm: to the rear and downwards."""

    behind: float
    below: float


class Share(NamedTuple):
    """One cause's part in the change, mm."""

    cause: str
    height: float


@dataclass(frozen=True, slots=True)
class HeightEffect:
    """Change of height of cut and of behind-centre once the gap is closed again, mm (after less before)."""

    height_change: float
    behind_centre_change: float
    shares: tuple[Share, ...]
    """From radius and knife together, and from the rollers; they sum to `height_change`."""
    turn_back: float
    """Adjuster travel that restores the height, mm; positive raises the height."""
    turns: float | None
    """The same in turns of the height adjuster, when its pitch is known."""
    order: str = NEXT


def edge_shift(
    top_stock: float, front_stock: float, top_angle: float = 0.0, front_angle: float = 0.0, seat_tilt: float = 0.0
) -> EdgeShift:
    """Return how far grinding its faces moves a sharp edge in its holder, mm.

    Equation: with the faces meeting at beta = 90 deg - top - front, stock s square to the top face moves the edge down
    the front face by s / sin(beta); stock g square to the front face moves it back along the top face by g / sin(beta).

    Parameters
    ----------
    top_stock, front_stock
        s and g, square to their faces, mm.
    top_angle, front_angle
        Reliefs from the seat plane and from its normal, rad.
    seat_tilt
        Of the seat against the ground line, rad; positive when its rear lies lower.

    Raises
    ------
    OutOfRange
        For any argument outside its range, or when the two angles leave an edge of under 10 degrees.

    Validity: plane faces, edge sharp before and after (the edge meant is where the faces meet).

    Examples
    --------
    >>> edge_shift(0.2, 0.5)
    EdgeShift(behind=0.5, below=0.2)

    References
    ----------
    Geometry, own working.
    """
    widest = math.radians(45.0)
    for name, angle in (("top_angle", top_angle), ("front_angle", front_angle), ("seat_tilt", seat_tilt)):
        within(name, angle, -widest, widest, "rad")
    if top_angle + front_angle > math.radians(80.0):
        raise OutOfRange("top_angle and front_angle", top_angle + front_angle, phrase("at most 1.396 together"), "rad")
    moved = edge_shift_on_seat(
        within("top_stock", top_stock, 0.0, 20.0, "mm"),
        within("front_stock", front_stock, 0.0, 20.0, "mm"),
        top_angle,
        front_angle,
    )
    cos, sin = math.cos(seat_tilt), math.sin(seat_tilt)
    return EdgeShift(moved.back * cos - moved.down * sin, moved.back * sin + moved.down * cos)


def height_effect(
    pattern: Pattern,
    reel_diameter: float,
    behind_centre: float,
    radius_loss: float,
    *,
    shift: EdgeShift = EdgeShift(0.0, 0.0),  # noqa: B008  immutable
    pivot: tuple[float, float] | None = None,
    front_roller_loss: float = 0.0,
    rear_roller_loss: float = 0.0,
    edge_share: float | None = None,
    height_per_travel: float = 1.0,
    adjuster_pitch: float | None = None,
) -> HeightEffect:
    """Return what a plan does to height of cut and behind-centre, and what to turn back.

    Equation: the edge ends on the reel's circle again, so R^2 = behind^2 + below^2 before and after. Knife up: height
    grows by the fall of `below`. Reel down: the knife stays, height falls by the edge's own downward shift. Rollers:
    the edge falls by (1 - k) x front + k x rear loss of radius, k = `edge_share`.

    Parameters
    ----------
    pattern
        "knife up" or "reel down".
    reel_diameter, behind_centre
        As found, mm.
    radius_loss
        What the reel's radius loses, mm.
    shift
        Of the edge in its holder, from `edge_shift`.
    pivot
        (behind, below) of the knife carrier's pivot from the reel's axis, mm; makes "knife up" exact. Without it
        behind-centre is taken to change by the shift alone.
    front_roller_loss, rear_roller_loss
        Loss of roller radius, mm (negative for a larger roller fitted).
    edge_share
        k: share of the distance from front to rear roller at which the edge sits, 0 to 1. Needed when a roller changed.
    height_per_travel
        Change of height per travel of the height adjuster; 1 when both rollers move alike, 1 - k for a front one alone.
    adjuster_pitch
        Of the height adjuster's thread, mm.

    Raises
    ------
    OutOfRange, Contradiction
        For any argument outside its range; as `knife_on_reel` with a pivot.
    NotEnough
        When a roller changed and `edge_share` is not known.

    Validity: rollers rigid on a flat bench; tilt of the whole unit by unlike rollers left out of behind-centre.

    Examples
    --------
    A reel ground from 63.5 to 62.5 mm radius, knife 8 mm behind centre and brought up to it:

    >>> effect = height_effect("knife up", 127.0, 8.0, 1.0, adjuster_pitch=1.5)
    >>> round(effect.height_change, 2), round(effect.turns, 2)
    (1.01, -0.67)

    References
    ----------
    Geometry, own working.
    """
    if pattern not in ("knife up", "reel down"):
        raise OutOfRange("pattern", pattern, phrase('"knife up" or "reel down"'))
    radius = within("reel_diameter", reel_diameter, 40.0, 600.0, "mm") / 2.0
    behind = within("behind_centre", behind_centre, -0.9 * radius, 0.9 * radius, "mm")
    loss = within("radius_loss", radius_loss, 0.0, 0.5 * radius, "mm")
    below = math.sqrt(radius**2 - behind**2)
    stand = _stand_after(pattern, KnifeOnReel(behind, below, math.atan2(behind, below)), radius - loss, shift, pivot)
    from_edge = -shift.below if pattern == "reel down" else below - stand.below_centre
    from_rollers = _roller_share(front_roller_loss, rear_roller_loss, edge_share)
    change = from_edge + from_rollers
    turn_back = -change / within("height_per_travel", height_per_travel, 0.0, 10.0, above=True)
    pitch = None if adjuster_pitch is None else within("adjuster_pitch", adjuster_pitch, 0.0, 20.0, "mm", above=True)
    shares = Share(phrase("reel and knife"), from_edge), Share(phrase("rollers"), from_rollers)
    return HeightEffect(
        change, stand.behind_centre - behind, shares, turn_back, None if pitch is None else turn_back / pitch
    )


def _stand_after(
    pattern: Pattern, stand: KnifeOnReel, radius: float, shift: EdgeShift, pivot: tuple[float, float] | None
) -> KnifeOnReel:
    behind = stand.behind_centre + shift.behind
    if pattern == "knife up" and pivot is not None:
        reach = math.hypot(behind - pivot[0], stand.below_centre + shift.below - pivot[1])
        return knife_on_reel(2.0 * radius, pivot[0], pivot[1], reach)
    if abs(behind) >= radius:
        raise OutOfRange(
            phrase("behind_centre after the plan"), behind, phrase("below {radius:.6g}", radius=radius), "mm"
        )
    below = math.sqrt(radius**2 - behind**2)
    return KnifeOnReel(behind, below, math.atan2(behind, below))


def _roller_share(front_loss: float, rear_loss: float, edge_share: float | None) -> float:
    front = within("front_roller_loss", front_loss, -50.0, 50.0, "mm")
    rear = within("rear_roller_loss", rear_loss, -50.0, 50.0, "mm")
    if not front and not rear:
        return 0.0
    if edge_share is None:
        raise NotEnough(
            phrase("the height after a change of rollers"), phrase("where the edge sits between front and rear roller")
        )
    share = within("edge_share", edge_share, 0.0, 1.0)
    return -((1.0 - share) * front + share * rear)
