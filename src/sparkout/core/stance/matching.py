"""The units of one machine set to one height with the least turning."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, Phrase, phrase
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.given import Amount, best
from sparkout.core.stance.least_turning import ROUNDING, Room, Turned, any_turns, whole_steps

if TYPE_CHECKING:
    from numpy.typing import NDArray

_ANY_UP, _ANY_DOWN, _BLADES = Ends(-math.inf, -math.inf), Ends(math.inf, math.inf), Ends(0.0, 1.0)
_MOST_UNITS = 20


@dataclass(frozen=True, slots=True)
class UnitHeights:
    """One unit of a machine: its heights by the bar, and what its adjusters can do. Turns are positive upwards."""

    name: str
    left: Amount
    right: Amount
    """Height of cut at each end, mm; the uncertainty is the reading's own, without what the bar shares with all."""
    height_per_turn: float
    """Rise of the edge at an adjuster for one turn of it, mm."""
    step: float | None = None
    """Least part of a turn that can be set; None: any."""
    least: Ends = _ANY_UP
    most: Ends = _ANY_DOWN
    """Turns left at each end, down (negative) and up; both 0 where it is locked."""
    weight: float = 1
    """How dear a turn on this unit is."""
    stations: Ends = _BLADES
    adjusters: Ends = _BLADES
    """Where the bar stood and where the adjusters act along the unit, in one measure (mm or shares)."""

    def __post_init__(self) -> None:
        for side in ("left", "right"):
            within(f"{self.name} {side} height", best(getattr(self, side)), -5.0, 200.0, "mm")
        within(f"{self.name} height_per_turn", self.height_per_turn, 0.0, 20.0, "mm", above=True)
        within(f"{self.name} weight", self.weight, 0.0, 1e6, above=True)
        if self.step is not None:
            within(f"{self.name} step", self.step, 0.0, 10.0, above=True)
        for side, low, high in zip(("left", "right"), self.least, self.most, strict=True):
            if not low <= 0.0 <= high:
                given = f"{low:g} to {high:g}"
                raise OutOfRange(f"{self.name} {side} turns left", given, phrase("a range with 0 in it"))
        for ends in (self.stations, self.adjusters):
            if not ends.left < ends.right:
                raise Contradiction(("left", "right"), phrase("the left one is not left of the right one"))

    @property
    def start(self) -> NDArray[np.float64]:
        """Height at (left, right), mm."""
        return np.array([best(self.left), best(self.right)])

    @property
    def rise(self) -> NDArray[np.float64]:
        """Rise at (left, right) bar station for one turn at (left, right) adjuster, mm, shape (2, 2)."""
        span = self.adjusters.right - self.adjusters.left
        shares = [(x - self.adjusters.left) / span for x in self.stations]
        return self.height_per_turn * np.array([[1.0 - share, share] for share in shares])


@dataclass(frozen=True, slots=True)
class UnitMatched:
    """What to turn on one unit and where it then stands."""

    name: str
    turns: Ends
    """Up positive."""
    left: Measured
    right: Measured
    """Heights after, mm; uncertainty as against the other units (the bar's own error is shared by all)."""
    end_to_end: Measured
    """Right less left."""
    off: Measured
    """Mean of both ends less the common height."""
    remains: tuple[Phrase, ...]
    """What stays out of tolerance, and why."""


@dataclass(frozen=True, slots=True)
class Matched:
    """The units of a machine at one height."""

    height: float
    """The common height, mm: as wanted, else the one that takes the least turning."""
    units: tuple[UnitMatched, ...]
    total_turns: float
    unit_to_unit: Measured
    """Highest less lowest unit, mean of its ends: the bar's own error drops out."""
    on_turf: Measured
    """The common height with all the uncertainty there is, the bar's too: what it is worth against a wanted height."""
    matched: bool
    """Whether all stand within the tolerances."""

    @property
    def remains(self) -> tuple[Phrase, ...]:
        """Everything that stays out of tolerance."""
        return tuple(text for unit in self.units for text in unit.remains)


def match_heights(
    units: Sequence[UnitHeights],
    *,
    end_tolerance: float,
    unit_tolerance: float,
    wanted: float | None = None,
    allowed: tuple[float, float] = (-5.0, 200.0),
    bar_u: float = 0.0,
    guard: float = 0.0,
) -> Matched:
    """Return what to turn so that all units stand at one height with the least turning.

    Equation: minimise sum of weight x |turns| subject to |right - left| <= end tolerance for each unit and
    |mean - h| <= unit tolerance / 2, h free or as wanted, turns within what the adjusters have left and in whole steps.
    Where no turns do, the sum of what is out of tolerance is made least first. A linear programme; with whole steps all
    that can be set is weighed, unit by unit, at every height that can be best.

    Parameters
    ----------
    units
        1 to 20; each end as the bar shows it.
    end_tolerance, unit_tolerance
        Largest difference of a unit's ends, and of any two units' means, mm.
    wanted
        The common height, mm; None: whichever takes the least turning, within
    allowed
        lowest and highest common height, mm.
    bar_u
        Standard uncertainty of the bar, shared by all readings, mm.
    guard
        k: tolerances are taken smaller by k times the standard uncertainty of the difference, so that the match is
        shown and not only reckoned (ISO 14253-1). 0: as they are.

    Raises
    ------
    NotEnough, OutOfRange, Contradiction
        No unit; values out of range; a lowest above the highest; two units of one name; steps for some units only.

    Validity: rise in proportion to turns; both ends moved by one roller. The turns stop at the edge of the tolerance:
    ask for 0 to meet in one height. Measure again after turning.

    Examples
    --------
    The outer two go to the one in the middle:

    >>> units = [UnitHeights(n, h, h, 1.5) for n, h in (("left", 3.9), ("centre", 4.0), ("right", 4.15))]
    >>> done = match_heights(units, end_tolerance=0.0, unit_tolerance=0.0)
    >>> round(done.height, 3), [round(u.turns.left, 3) for u in done.units], round(done.total_turns, 3)
    (4.0, [0.067, 0.0, -0.1], 0.333)

    References
    ----------
    Own working; for a free height without tolerance the least sum lies at the weighted median, and that and all pairs
    of whole steps tried are the tests.
    """
    if not units:
        raise NotEnough("a common height", phrase("the heights of at least one unit"))
    if len(units) > _MOST_UNITS:
        raise OutOfRange("number of units", len(units), f"1 to {_MOST_UNITS}")
    if len({unit.name for unit in units}) < len(units):
        raise Contradiction(("units",), phrase("two of them have the same name"))
    if len({unit.step is None for unit in units}) > 1:
        raise Contradiction(("step",), phrase("some units have one and some have none; give all of them one, or none"))
    ends = within("end_tolerance", end_tolerance, 0.0, 20.0, "mm")
    between = within("unit_tolerance", unit_tolerance, 0.0, 20.0, "mm")
    k, bar = within("guard", guard, 0.0, 10.0), within("bar_u", bar_u, 0.0, 5.0, "mm")
    low, high = (within("allowed", value, -5.0, 200.0, "mm") for value in allowed)
    if wanted is not None:
        low = high = within("wanted", wanted, -5.0, 200.0, "mm")
    if low > high:
        raise Contradiction(("lowest allowed", "highest allowed"), phrase("the lowest lies above the highest"))
    own = np.array([[u.left.u if isinstance(u.left, Measured) else 0.0 for u in units],
                    [u.right.u if isinstance(u.right, Measured) else 0.0 for u in units]]).T  # fmt: skip
    end_u = np.hypot(own[:, 0], own[:, 1])
    worst = np.sort(end_u / 2.0)[-2:]
    end_room = np.maximum(0.0, ends - k * end_u)
    unit_room = max(0.0, between - k * float(np.hypot(*worst) if len(worst) > 1 else 0.0))
    solve = any_turns if units[0].step is None else whole_steps
    found = solve(units, Room(end_room, unit_room / 2.0, low, high))
    means = found.heights.mean(axis=1)
    middle = min(max(float(means.max() + means.min()) / 2.0, low), high)
    if np.abs(means - middle).max() <= unit_room / 2.0 + ROUNDING:  # any height that near will do: the middle is told
        found = replace(found, height=middle)
    return _told(units, found, own, end_room, unit_room, bar)


def _told(
    units: Sequence[UnitHeights],
    found: Turned,
    own: NDArray[np.float64],
    end_room: NDArray[np.float64],
    unit_room: float,
    bar: float,
) -> Matched:
    means, mean_u = found.heights.mean(axis=1), np.hypot(own[:, 0], own[:, 1]) / 2.0
    told = []
    for i, unit in enumerate(units):
        left, right = (Measured(float(found.heights[i, s]), float(own[i, s])) for s in (0, 1))
        ends = Measured(right.value - left.value, 2.0 * float(mean_u[i]))
        off = Measured(float(means[i]) - found.height, float(mean_u[i]))
        turns = Ends(float(found.turns[i, 0]), float(found.turns[i, 1]))
        out = abs(ends.value) > end_room[i] + 10 * ROUNDING, abs(off.value) > unit_room / 2.0 + 10 * ROUNDING
        told.append(UnitMatched(unit.name, turns, left, right, ends, off, _remains(unit, turns, *out)))
    order = np.argsort(means, kind="stable")
    top, bottom = order[-1], order[0]
    spread = Measured(
        float(means[top] - means[bottom]), float(np.hypot(mean_u[top], mean_u[bottom])) if top != bottom else 0.0
    )
    common = math.hypot(bar, float(np.sqrt((mean_u**2).sum())) / len(units))
    return Matched(
        found.height,
        tuple(told),
        float(np.abs(found.turns).sum()),
        spread,
        Measured(float(means.mean()), common),
        not any(unit.remains for unit in told),
    )


def _remains(unit: UnitHeights, turns: Ends, ends_out: bool, off_out: bool) -> tuple[Phrase, ...]:
    why = _why(unit, turns)
    name = AsTyped(unit.name)
    said = []
    if ends_out:
        said.append(phrase("{unit}: its ends stay uneven; {why}.", unit=name, why=why))
    if off_out:
        said.append(phrase("{unit}: it stays off the common height; {why}.", unit=name, why=why))
    return tuple(said)


def _why(unit: UnitHeights, turns: Ends) -> Phrase:
    sides = phrase("left"), phrase("right")
    for side, low, high, turned in zip(sides, unit.least, unit.most, turns, strict=True):
        if low == high == 0.0:
            return phrase("its {side} adjuster is locked", side=side)
        nearly = unit.step or 1e-6
        if turned - low < nearly or high - turned < nearly:
            return phrase("its {side} adjuster is at the end of its travel", side=side)
    if unit.step is not None:
        return phrase("one step of its adjusters is more than the tolerance leaves")
    return phrase("another unit cannot come to it, or the height wanted lies outside what is allowed")
