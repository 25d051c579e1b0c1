"""What to turn at the rollers, how far and at which end, so that a unit stands as wanted. Imports `math` only."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange, within
from sparkout.core.phrase import Phrase, phrase
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.section import Roller, Section
from sparkout.core.stance.unit import CuttingUnit, Stance, stance

CAUTION = phrase(
    "Stop the engine and take its key, or isolate; support the unit so that it cannot drop or tip, and keep hands "
    "clear of the reel: a blade moved at one place moves all of them. Never set height on a running unit."
)


_ANY_UP, _ANY_DOWN = Ends(-math.inf, -math.inf), Ends(math.inf, math.inf)


@dataclass(frozen=True, slots=True)
class RollerAdjuster:
    """What moves one roller, alike at both ends. Travel counts from where it stands now, mm, down positive."""

    pitch: float
    """Travel for one turn, mm."""
    slide: float = 0.0
    """Direction of travel, rad from straight below towards the rear, in the unit's axes."""
    least: Ends = _ANY_UP
    most: Ends = _ANY_DOWN
    """How far each end can still go; both 0 where it is stuck."""
    step: float | None = None
    """Least part of a turn that can be set (a notch or click); None: any."""
    places: Ends | None = None
    """Where the adjusters act, x in mm; the ends of the blades unless given."""

    def __post_init__(self) -> None:
        within("pitch", self.pitch, 0.0, 20.0, "mm", above=True)
        within("slide", self.slide, -1.2, 1.2, "rad")
        if self.step is not None:
            within("step", self.step, 0.0, 10.0, above=True)
        for side, low, high in zip(("left", "right"), self.least, self.most, strict=True):
            if not low <= 0.0 <= high:
                raise OutOfRange(f"{side} travel left", f"{low:g} to {high:g}", phrase("a range with 0 in it"), "mm")


class Move(NamedTuple):
    """What to do at one end of one roller."""

    travel: float
    """Exact, mm; positive: roller down, the unit comes up there."""
    turns: float
    """The same in turns."""
    set_turns: float
    """Turns that can be set: in whole steps and within the adjuster's range."""
    short: float
    """Travel wanted beyond the adjuster's range, mm, with its sign; 0 when the range does."""


class Pair(NamedTuple):
    """The moves of one roller's two ends."""

    left: Move
    right: Move


@dataclass(frozen=True, slots=True)
class Moves:
    """What to turn and what it gives; a roller that stays is None."""

    front: Pair | None
    rear: Pair | None
    after: Stance
    """With the turns that can be set."""
    unit: CuttingUnit
    notes: tuple[Phrase, ...]
    caution: Phrase = CAUTION


def moves_to(
    unit: CuttingUnit,
    height: float,
    *,
    attitude: float | None = None,
    behind_centre: float | None = None,
    front: RollerAdjuster | None = None,
    rear: RollerAdjuster | None = None,
) -> Moves:
    """Return what to turn at each end for a wanted height of cut, and for a wanted attitude where both rollers move.

    Equation: the wanted ground line lies H from the edge; its slope follows from the attitude wanted, or from
    b = |edge - axis| sin(phi + slope), or, with one roller left alone, from that line being tangent to it:
    n . (roller - edge) = H - r. A roller then travels m = (depth - r - n . roller) / (n . travel direction).

    Parameters
    ----------
    unit
        As it stands, gap closed.
    height
        Height of cut wanted, at both ends, mm.
    attitude
        Tilt of the knife's seat wanted, rad; or instead
    behind_centre
        mm. Neither: the front roller alone is moved, or the rear one where the front has no adjuster.
    front, rear
        Adjusters; None: that roller stays.

    Raises
    ------
    NotEnough
        No adjuster; or a wanted attitude with one roller that cannot move.
    Contradiction
        Attitude and behind-centre both wanted: either follows from the other.
    OutOfRange
        A height or distance behind centre that no stand of this unit can have.

    Validity: as `stance`; each end is set as a bar over both rollers shows it.

    Examples
    --------
    Up from 4.0 to 5.0 mm by the front roller alone; it sits twice as far away as the edge from the rear one:

    >>> from sparkout.core.stance.section import Closing, Point
    >>> parts = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0), Closing("knife up")
    >>> end = Section(127.0, Point(0.0, 0.0), Point(8.0, 63.0), *parts)
    >>> plan = moves_to(CuttingUnit(end, end, 533.0), 5.0, front=RollerAdjuster(1.5, step=0.25))
    >>> round(plan.front.left.travel, 2), round(plan.front.left.turns, 2), plan.front.left.set_turns
    (2.07, 1.38, 1.5)
    >>> round(plan.after.left.height_of_cut, 2)
    5.09

    References
    ----------
    Geometry, own working; tested by turning the adjusters one after the other until a brute-force unit stands right.
    """
    if attitude is not None and behind_centre is not None:
        raise Contradiction(("attitude", "behind_centre"), phrase("each follows from the other; give one"))
    tilting = attitude is not None or behind_centre is not None
    if front is None and rear is None:
        raise NotEnough("the turns", phrase("a roller with an adjuster, and its thread pitch"))
    if tilting and (front is None or rear is None):
        raise NotEnough("the turns for an attitude", phrase("adjusters at both rollers"))
    wanted = within("height", height, -5.0, 200.0, "mm")
    moving = ("front", "rear") if tilting else ("front",) if front is not None else ("rear",)
    slopes = [_slope(s, wanted, attitude, behind_centre, moving) for s in unit.sections]
    pairs: dict[str, Pair] = {}
    for which, adjuster in (("front", front), ("rear", rear)):
        if which in moving and adjuster is not None:
            travels = [
                _travel(s, getattr(s, which), slope, wanted, adjuster.slide)
                for s, slope in zip(unit.sections, slopes, strict=True)
            ]
            pairs[which] = _pair(unit.length, travels, adjuster)
    moved = unit
    for which, adjuster in (("front", front), ("rear", rear)):
        if which in pairs and adjuster is not None:
            ends = Ends(*(move.set_turns * adjuster.pitch for move in pairs[which]))
            moved = roller_moved(moved, which, ends, adjuster)
    return Moves(pairs.get("front"), pairs.get("rear"), stance(moved), moved, _notes(pairs))


def roller_moved(unit: CuttingUnit, which: str, travel: Ends, adjuster: RollerAdjuster) -> CuttingUnit:
    """Return the unit with one roller ("front" or "rear") moved at its adjusters, travel in mm, down positive.

    Examples
    --------
    >>> from sparkout.core.stance.section import Closing, Point
    >>> parts = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0), Closing("knife up")
    >>> end = Section(127.0, Point(0.0, 0.0), Point(8.0, 63.0), *parts)
    >>> roller_moved(CuttingUnit(end, end, 533.0), "rear", Ends(0.25, 0.0), RollerAdjuster(1.5)).left.rear.below
    42.25
    """
    at = adjuster.places or Ends(0.0, unit.length)
    ends = [
        travel.left + (travel.right - travel.left) * (x - at.left) / (at.right - at.left) for x in (0.0, unit.length)
    ]
    sections = []
    for section, way in zip(unit.sections, ends, strict=True):
        roller: Roller = getattr(section, which)
        behind = roller.behind + way * math.sin(adjuster.slide)
        below = roller.below + way * math.cos(adjuster.slide)
        moved = Roller(behind, below, roller.diameter)
        sections.append(replace(section, front=moved) if which == "front" else replace(section, rear=moved))
    return replace(unit, left=sections[0], right=sections[1])


def _slope(
    section: Section, height: float, attitude: float | None, behind: float | None, moving: tuple[str, ...]
) -> float:
    """Slope of the wanted ground line, rad."""
    if attitude is not None:
        return section.seat_tilt - within("attitude", attitude, -0.6, 0.6, "rad")
    if behind is not None:
        back, down = section.edge.behind - section.axis.behind, section.edge.below - section.axis.below
        reach = math.hypot(back, down)
        return math.asin(within("behind_centre", behind, -0.9 * reach, 0.9 * reach, "mm") / reach) - math.atan2(
            back, down
        )
    stays = section.rear if "front" in moving else section.front
    back, down = stays.behind - section.edge.behind, stays.below - section.edge.below
    apart, rise = math.hypot(back, down), height - stays.diameter / 2.0
    if abs(rise) >= apart:
        allowed = phrase("{low:.6g} to {high:.6g}", low=stays.diameter / 2.0 - apart, high=stays.diameter / 2.0 + apart)
        raise OutOfRange("height", height, allowed, "mm")
    turn = math.asin(rise / apart)
    return math.remainder(math.atan2(down, back) - (turn if back > 0.0 else math.pi - turn), 2.0 * math.pi)


def _travel(section: Section, roller: Roller, slope: float, height: float, slide: float) -> float:
    cos, sin = math.cos(slope), math.sin(slope)
    back, down = roller.behind - section.edge.behind, roller.below - section.edge.below
    lies = down * cos - back * sin + roller.diameter / 2.0
    return (height - lies) / math.cos(slope + slide)


def _pair(length: float, travels: list[float], adjuster: RollerAdjuster) -> Pair:
    at = adjuster.places or Ends(0.0, length)
    moves = []
    for x, low, high in zip(at, adjuster.least, adjuster.most, strict=True):
        travel = travels[0] + (travels[1] - travels[0]) * x / length
        moves.append(_move(travel, low, high, adjuster))
    return Pair(*moves)


def _move(travel: float, low: float, high: float, adjuster: RollerAdjuster) -> Move:
    can = min(max(travel, low), high)
    turns = can / adjuster.pitch
    if adjuster.step is not None:
        step = adjuster.step
        steps = round(turns / step)
        if steps * step * adjuster.pitch > high + 1e-12:
            steps = math.floor(high / adjuster.pitch / step)
        elif steps * step * adjuster.pitch < low - 1e-12:
            steps = math.ceil(low / adjuster.pitch / step)
        turns = steps * step
    return Move(travel, travel / adjuster.pitch, turns, travel - can)


def _notes(pairs: dict[str, Pair]) -> tuple[Phrase, ...]:
    words = {"front": phrase("front roller"), "rear": phrase("rear roller")}
    sides = {"left": phrase("left"), "right": phrase("right")}
    return tuple(
        phrase("The {roller}'s {side} adjuster has too little travel for this.", roller=words[which], side=sides[side])
        for which, pair in pairs.items()
        for side, move in zip(("left", "right"), pair, strict=True)
        if move.short
    )
