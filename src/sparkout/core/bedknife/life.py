"""The knife plan: which face to grind, how much, what that leaves, and how many grinds remain."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sparkout.core.bedknife.edge import completing_stock, edge_shift, included_angle, wear_land_stock
from sparkout.core.errors import BelowServiceLimit, OutOfRange, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from sparkout.core.bedknife.section import KnifeSection

Face = Literal["top", "front", "both"]
FACES: tuple[Face, Face, Face] = ("top", "front", "both")
Cause = Literal["rounding", "wear land", "nick", "top bow", "front bow", "top angle", "front angle"]
CAUTIONS = ("wheel mounting", "knife grind", "deburr", "dust")
"""Steps whose cautions belong beside a knife plan; the burr is removed by hand after grinding."""


@dataclass(frozen=True, slots=True)
class KnifeFindings:
    """What was found on the knife; lengths mm, angles rad, nothing found where nothing is given."""

    edge_radius: float = 0.0
    wear_land: float = 0.0
    """Width of the flat worn on the top along the edge."""
    nick_depth: float = 0.0
    """Depth of the deepest nick, taken alike from either face."""
    top_bow: float = 0.0
    """Highest less lowest of the edge line against a straight edge, along the length; likewise for the front."""
    front_bow: float = 0.0
    top_angle_now: float | None = None
    front_angle_now: float | None = None

    def __post_init__(self) -> None:
        for name in ("edge_radius", "nick_depth", "top_bow", "front_bow"):
            within(name, getattr(self, name), 0.0, 5.0, "mm")
        within("wear_land", self.wear_land, 0.0, 20.0, "mm")
        for name in ("top_angle_now", "front_angle_now"):
            angle = getattr(self, name)
            if angle is not None:
                within(name, angle, 0.0, math.radians(40.0), "rad")


@dataclass(frozen=True, slots=True)
class KnifeOption:
    """One way to do it: stock at the edge square to each face, mm, and the share of remaining life it takes."""

    face: Face
    top_stock: float
    front_stock: float
    life_used: float
    """The larger of lip height used / left and front-lip depth used / left; above 1 it cannot be done."""


@dataclass(frozen=True, slots=True)
class StandingAngles:
    """Clearances in the unit, rad: of the top face to the blade's path, and of the front face to its normal."""

    top: float
    front: float


@dataclass(frozen=True, slots=True)
class KnifePlan:
    """A knife grind worked out; lengths mm, angles rad. `face` is None when nothing asks for a grind."""

    face: Face | None
    causes: tuple[Cause, ...]
    top_stock: float
    """At the edge, square to the face."""
    front_stock: float
    top_passes: int
    front_passes: int
    edge_back: float
    edge_down: float
    included_angle: float
    lip_height_after: Measured
    front_lip_depth_after: Measured
    grinds_left: int | None
    """Whole grinds like this one that the lip still has; None without a least lip height or front-lip depth."""
    limited_by: Literal["lip height", "front-lip depth"] | None
    standing: StandingAngles | None
    """None without an approach angle."""
    options: tuple[KnifeOption, ...]
    """All three ways, whether possible or not, so that the choice can be seen."""
    cautions: tuple[str, ...] = CAUTIONS


@dataclass(frozen=True, slots=True)
class _Need:
    """Stock at the edge that a face needs for itself, and the most anywhere on it (which sets the passes)."""

    top: float
    front: float
    top_most: float
    front_most: float


def angle_stock(now: float, wanted: float, face_width: float) -> tuple[float, float]:
    """Stock at the edge and at the far side of the face to bring it from one angle to another, mm.

    Too steep: the face is cut back about its far side, w sin(now - wanted) at the edge. Too flat: the edge stays and
    the far side takes w sin(wanted - now).

    >>> [round(s, 4) for s in angle_stock(math.radians(14), math.radians(12), 5.0)]
    [0.1745, 0.0]

    References: geometry, own working.
    """
    wedge = within("face_width", face_width, 0.0, 60.0, "mm") * math.sin(abs(now - wanted))
    return (wedge, 0.0) if now > wanted else (0.0, wedge)


def standing_angles(top_angle: float, front_angle: float, seat_tilt: float, approach_angle: float) -> StandingAngles:
    """Clearances as the knife stands in the unit: top + tilt + approach, and front - tilt - approach, rad.

    The edge angle does not change, so what the top face gains the front face loses.

    >>> s = standing_angles(0.2, 0.09, 0.01, 0.05)
    >>> round(s.top, 9), round(s.front, 9)
    (0.26, 0.03)

    References: definition; the sign of tilt: positive when the seat's rear lies lower.
    """
    turned = within("seat_tilt", seat_tilt, -math.pi / 4, math.pi / 4, "rad")
    turned += within("approach_angle", approach_angle, -math.pi / 2, math.pi / 2, "rad")
    return StandingAngles(top_angle + turned, front_angle - turned)


def knife_plan(
    section: KnifeSection,
    findings: KnifeFindings,
    *,
    least_lip_height: float | None,
    least_front_lip_depth: float | None,
    infeed: float,
    allowance: float = 0.02,
    face: Face | None = None,
    lip_height_u: float = 0.0,
    front_lip_depth_u: float = 0.0,
    approach_angle: float | None = None,
    seat_tilt: float = 0.0,
) -> KnifePlan:
    """Knife-grind plan: face or faces, stock from each, passes, what it leaves, and the angles as they will stand.

    Each face first takes what it needs for itself: wear land or bow, whichever is deeper, on top of an angle to be set
    right. Rounding and nicks may then come out from either face or both; of the three ways the one that uses the
    smallest share of what is left of lip height and front-lip depth is chosen, unless `face` says otherwise.

    Parameters
    ----------
    section : KnifeSection
        As it is now, with the angles it should have.
    findings : KnifeFindings
    least_lip_height, least_front_lip_depth : float or None
        The machine's handbook's least figures, mm. None: no count of grinds; the share is then of the whole lip.
    infeed : float
        Per pass, square to the face, mm.
    allowance : float
        Clean-up on each ground face, mm.
    face : optional
        To settle the way beforehand.
    lip_height_u, front_lip_depth_u : float
        Standard uncertainties of the two, mm.
    approach_angle, seat_tilt : float, optional
        Of the edge on the reel and of the seat, rad.

    Raises
    ------
    BelowServiceLimit
        When no way (or not the one asked for) leaves the least lip; says what would be possible.
    OutOfRange
        For any argument outside its range.

    >>> from sparkout.core.bedknife.section import KnifeSection
    >>> section = KnifeSection(math.radians(12), math.radians(5), 3.0, 5.0)
    >>> plan = knife_plan(section, KnifeFindings(edge_radius=0.1), least_lip_height=1.0,
    ...                   least_front_lip_depth=2.0, infeed=0.02)
    >>> plan.face, round(plan.top_stock, 4), round(plan.front_stock, 4), plan.grinds_left
    ('both', 0.0605, 0.0605, 25)

    References: geometry, own working; preference and allowance common practice, no source.
    """
    within("infeed", infeed, 0.0, 1.0, "mm", above=True)
    within("allowance", allowance, 0.0, 1.0, "mm")
    least_lip = within("least_lip_height", least_lip_height or 0.0, 0.0, 60.0, "mm")
    least_depth = within("least_front_lip_depth", least_front_lip_depth or 0.0, 0.0, 60.0, "mm")
    if face is not None and face not in FACES:
        raise OutOfRange("face", face, phrase("top, front or both"))
    need, causes = _needs(section, findings)
    room = section.lip_height - least_lip, section.front_lip_depth - least_depth
    options = tuple(_option(way, section, findings, need, allowance, room) for way in FACES)
    chosen = _chosen(options, face, section, least_lip, least_depth) if causes else None
    top, front = (chosen.top_stock, chosen.front_stock) if chosen else (0.0, 0.0)
    moved = edge_shift(top, front, section.top_angle, section.front_angle)
    left, limited_by = _grinds_left(room, (moved.down, moved.back), least_lip_height, least_front_lip_depth)
    return KnifePlan(
        face=chosen.face if chosen else None,
        causes=causes,
        top_stock=top,
        front_stock=front,
        top_passes=_passes(top, need.top, need.top_most, infeed),
        front_passes=_passes(front, need.front, need.front_most, infeed),
        edge_back=moved.back,
        edge_down=moved.down,
        included_angle=section.included_angle,
        lip_height_after=Measured(section.lip_height - moved.down, lip_height_u),
        front_lip_depth_after=Measured(section.front_lip_depth - moved.back, front_lip_depth_u),
        grinds_left=left,
        limited_by=limited_by,
        standing=None
        if approach_angle is None
        else standing_angles(section.top_angle, section.front_angle, seat_tilt, approach_angle),
        options=options,
    )


def _needs(section: KnifeSection, found: KnifeFindings) -> tuple[_Need, tuple[Cause, ...]]:
    top_now = section.top_angle if found.top_angle_now is None else found.top_angle_now
    front_now = section.front_angle if found.front_angle_now is None else found.front_angle_now
    top_edge, top_far = angle_stock(top_now, section.top_angle, section.front_lip_depth)
    front_edge, front_far = angle_stock(front_now, section.front_angle, section.lip_height)
    top = max(wear_land_stock(found.wear_land, top_now), found.top_bow)
    causes: list[tuple[Cause, float]] = [
        ("rounding", found.edge_radius),
        ("wear land", found.wear_land),
        ("nick", found.nick_depth),
        ("top bow", found.top_bow),
        ("front bow", found.front_bow),
        ("top angle", top_edge + top_far),
        ("front angle", front_edge + front_far),
    ]
    need = _Need(
        top + top_edge, found.front_bow + front_edge, top + top_edge + top_far, found.front_bow + front_edge + front_far
    )
    return need, tuple(name for name, size in causes if size > 0.0)


def _option(
    way: Face, section: KnifeSection, found: KnifeFindings, need: _Need, allowance: float, room: tuple[float, float]
) -> KnifeOption:
    beta = included_angle(section.top_angle, section.front_angle)
    top, front = need.top, need.front
    if way == "both":
        alike = found.edge_radius * (1.0 - math.sin(0.5 * beta))
        top = front = max(top, front, alike, found.nick_depth)
    elif way == "top":
        top = max(top, completing_stock(found.edge_radius, beta, front), _unless_out(found.nick_depth, front))
    else:
        front = max(front, completing_stock(found.edge_radius, beta, top), _unless_out(found.nick_depth, top))
    top += allowance if way != "front" or need.top_most > 0.0 else 0.0
    front += allowance if way != "top" or need.front_most > 0.0 else 0.0
    moved = edge_shift(top, front, section.top_angle, section.front_angle)
    return KnifeOption(way, top, front, max(_share(moved.down, room[0]), _share(moved.back, room[1])))


def _unless_out(nick_depth: float, other_stock: float) -> float:
    return 0.0 if other_stock >= nick_depth else nick_depth


def _share(used: float, room: float) -> float:
    if used <= 0.0:
        return 0.0
    return used / room if room > 0.0 else math.inf


def _chosen(
    options: tuple[KnifeOption, ...], face: Face | None, section: KnifeSection, least_lip: float, least_depth: float
) -> KnifeOption:
    best = min(options, key=lambda option: option.life_used)
    wanted = best if face is None else next(option for option in options if option.face == face)
    if wanted.life_used <= 1.0:
        return wanted
    moved = edge_shift(wanted.top_stock, wanted.front_stock, section.top_angle, section.front_angle)
    raise BelowServiceLimit(
        phrase(
            "Grinding ({face}) would leave a lip {lip_height:.2f} mm high and {front_lip_depth:.2f} mm deep; "
            "least: {least_lip:.2f} mm and {least_depth:.2f} mm",
            face=wanted.face,
            lip_height=section.lip_height - moved.down,
            front_lip_depth=section.front_lip_depth - moved.back,
            least_lip=least_lip,
            least_depth=least_depth,
        ),
        phrase("grind {face}, which leaves enough", face=best.face)
        if best.life_used <= 1.0
        else phrase("fit a new knife"),
    )


def _passes(stock: float, need_at_edge: float, need_anywhere: float, infeed: float) -> int:
    return math.ceil((stock + need_anywhere - need_at_edge) / infeed - 1e-9) if stock > 0.0 else 0


def _grinds_left(
    room: tuple[float, float], used: tuple[float, float], least_lip: float | None, least_depth: float | None
) -> tuple[int | None, Literal["lip height", "front-lip depth"] | None]:
    names: tuple[Literal["lip height", "front-lip depth"], ...] = ("lip height", "front-lip depth")
    counts = [
        (max(0, math.floor((space - taken) / taken + 1e-9)), name)
        for space, taken, least, name in zip(room, used, (least_lip, least_depth), names, strict=True)
        if least is not None and taken > 0.0
    ]
    return min(counts) if counts else (None, None)
