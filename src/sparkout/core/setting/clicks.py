"""The adjusters: from a gap measured at each end to clicks at each end."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from sparkout.core.errors import Contradiction, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.core.setting.pivot import effective_top_clearance, knife_on_reel, swing

CAUTION = phrase(
    "A blade moved at one end moves all of them: isolate, wear gloves, and turn the reel with a tool, never by hand."
)


class Ends(NamedTuple):
    """One value for the left end and one for the right."""

    left: float
    right: float


@dataclass(frozen=True, slots=True)
class ClicksToClose:
    """What to turn at each adjuster (positive closes), and what gap that leaves (mm)."""

    left: Measured
    right: Measured
    """Clicks as the sum gives them, with their uncertainty from the gaps'."""
    left_whole: int
    right_whole: int
    """Whole clicks to turn."""
    gap_after: Ends
    """At the two gap stations, after whole clicks."""
    least_gap: float
    least_at: float
    """Least gap anywhere along the blades after whole clicks, and where (x)."""
    greatest_gap: float
    notes: tuple[str, ...]


class AttitudeChange(NamedTuple):
    """How the knife's stand changes while the gap is closed (mm, rad; after less before)."""

    behind_centre: float
    below_centre: float
    approach_angle: float
    seat_tilt: float
    top_clearance: float


def gap_per_click(thread_pitch: float, clicks_per_turn: float, lever_ratio: float = 1.0) -> float:
    """Return how much one click of an adjuster changes the gap at it, mm.

    Equation: pitch x lever ratio / clicks per turn.

    Parameters
    ----------
    thread_pitch
        Of the adjuster screw, mm.
    clicks_per_turn
        Detents in one turn of the screw.
    lever_ratio
        Movement of the knife's edge square to the reel, over movement of the screw.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: the lever ratio at the present attitude; screw play taken out in the direction of turning.

    Examples
    --------
    >>> round(gap_per_click(1.5, 32, 0.5), 5)
    0.02344

    References
    ----------
    Geometry, own working.
    """
    pitch = within("thread_pitch", thread_pitch, 0.0, 10.0, "mm", above=True)
    clicks = within("clicks_per_turn", clicks_per_turn, 1.0, 1000.0)
    return pitch * within("lever_ratio", lever_ratio, 0.0, 10.0, above=True) / clicks


def clicks_to_close(
    gaps: tuple[Measured | float, Measured | float],
    wanted: float,
    gap_per_click: float,
    *,
    length: float,
    stations: tuple[float, float] | None = None,
    adjusters: tuple[float, float] | None = None,
    bow: float = 0.0,
) -> ClicksToClose:
    """Return the clicks at each adjuster that bring both measured gaps to the wanted one.

    Equation: an adjuster moves the knife as a straight line. The closing needed at the two stations, measured less
    wanted, is drawn through to the adjusters and divided by the gap per click. Whole clicks are chosen, among the four
    nearest pairs, to leave the smallest error at either station; of equals, the more open.

    Parameters
    ----------
    gaps
        Measured at the left and the right station, mm; a bare number counts as exact.
    wanted
        mm.
    gap_per_click
        mm, from the function of that name.
    length
        Blade length L, mm.
    stations, adjusters
        Where the gaps were measured and where the adjusters act, x in mm from the left end; the ends of the blades
        unless given. Adjusters may stand outside the blades.
    bow
        Gap in the middle less the mean of the gaps at the ends, mm, with the ends equal: the knife's bow less the
        reel's barrel. No adjuster takes it out.

    Raises
    ------
    OutOfRange
        For any argument outside its range.
    Contradiction
        When left is not left of right.

    Validity: straight-line movement; play in the screws taken up. The clicks are advice: the paper has the last word.

    Examples
    --------
    >>> plan = clicks_to_close((0.12, 0.07), 0.03, 0.01, length=533.0, adjusters=(-40.0, 573.0))
    >>> round(plan.left.value, 2), round(plan.right.value, 2), plan.left_whole, plan.right_whole
    (9.38, 3.62, 9, 4)

    References
    ----------
    Geometry, own working.
    """
    span = within("length", length, 50.0, 3000.0, "mm")
    at = _left_right("stations", stations or (0.0, span), 0.0, span)
    screws = _left_right("adjusters", adjusters or (0.0, span), -span, 2.0 * span)
    step = within("gap_per_click", gap_per_click, 0.0, 1.0, "mm", above=True)
    aim = within("wanted", wanted, -0.5, 2.0, "mm")
    bent = within("bow", bow, -5.0, 5.0, "mm")
    left, right = (_gap(side, gap) for side, gap in zip(("left", "right"), gaps, strict=True))

    def along(values: tuple[float, float], nodes: Ends, x: float) -> float:
        return values[0] + (values[1] - values[0]) * (x - nodes.left) / (nodes.right - nodes.left)

    def clicks(x: float) -> Measured:
        share = (x - at.left) / (at.right - at.left)
        closing = along((left.value - aim, right.value - aim), at, x)
        return Measured(closing / step, math.hypot((1 - share) * left.u, share * right.u) / step)

    def after(whole: tuple[int, int]) -> Ends:
        moved = [along((whole[0] * step, whole[1] * step), screws, x) for x in at]
        return Ends(left.value - moved[0], right.value - moved[1])

    exact = clicks(screws.left), clicks(screws.right)
    around = [sorted({math.floor(c.value), math.ceil(c.value)}) for c in exact]

    def badness(whole: tuple[int, int]) -> tuple[float, float]:
        ends = after(whole)
        return round(max(abs(ends.left - aim), abs(ends.right - aim)), 12), -(ends.left + ends.right)

    pairs = [(a, b) for a in around[0] for b in around[1]]
    whole = min(pairs, key=badness)
    ends = after(whole)
    least, least_at, greatest = _extremes(ends, at, bent, span)
    notes = _notes(aim, step, least, greatest, bent)
    return ClicksToClose(exact[0], exact[1], whole[0], whole[1], ends, least, least_at, greatest, notes)


def _left_right(name: str, pair: tuple[float, float], low: float, high: float) -> Ends:
    ends = Ends(*(within(f"{name}[{i}]", x, low, high, "mm") for i, x in enumerate(pair)))
    if ends.left >= ends.right:
        raise Contradiction((f"{name}[0]", f"{name}[1]"), phrase("the left one is not left of the right one"))
    return ends


def _gap(side: str, gap: Measured | float) -> Measured:
    name = phrase("left gap") if side == "left" else phrase("right gap")
    measured = gap if isinstance(gap, Measured) else Measured(within(name, gap), 0.0)
    within(name, measured.value, -2.0, 20.0, "mm")
    return measured


def _extremes(ends: Ends, at: Ends, bow: float, span: float) -> tuple[float, float, float]:
    """Least gap, its place and the greatest gap over the blades, for a parabola of that bow through both stations."""
    curvature = -4.0 * bow / span**2  # of the gap: bow (1 - t^2), t = 2 x / L - 1
    slope = (ends.right - ends.left) / (at.right - at.left)

    def gap(x: float) -> float:
        return ends.left + slope * (x - at.left) + curvature * (x - at.left) * (x - at.right)

    places = [0.0, span]
    if curvature:
        turning = 0.5 * (at.left + at.right - slope / curvature)
        places += [turning] if 0.0 < turning < span else []
    values = {x: gap(x) for x in places}
    least_at = min(values, key=lambda x: (values[x], x))
    return values[least_at], least_at, max(values.values())


def _notes(aim: float, step: float, least: float, greatest: float, bow: float) -> tuple[str, ...]:
    notes = []
    if bow and greatest - least > step:
        notes.append(phrase("The gap cannot be made even: bow or barrel is not taken out by the adjusters."))
    if least < 0.0 <= aim:
        notes.append(
            phrase("After these clicks the blades would touch hard where the gap is least: stop short and look there.")
        )
    return tuple(notes)


def attitude_change(
    reel_diameter: float,
    pivot_behind: float,
    pivot_below: float,
    arm: float,
    gap_before: float,
    gap_after: float,
) -> AttitudeChange:
    """Return how the knife's stand and its clearance change while the gap is brought from one value to another.

    Equation: `knife_on_reel` before and after; the seat tilts by the swing; clearance by swing plus change of phi.

    Parameters
    ----------
    reel_diameter, pivot_behind, pivot_below, arm
        As `knife_on_reel`, mm.
    gap_before, gap_after
        mm.

    Raises
    ------
    OutOfRange, Contradiction
        As `knife_on_reel`.

    Validity: a knife carried on a pivot.

    Examples
    --------
    >>> change = attitude_change(127.0, 70.0, 45.0, 66.0, 1.0, 0.03)
    >>> round(change.below_centre, 3), round(math.degrees(change.seat_tilt), 3)
    (-0.946, 0.856)

    References
    ----------
    Geometry, own working.
    """
    before, after = (
        knife_on_reel(reel_diameter, pivot_behind, pivot_below, arm, gap) for gap in (gap_before, gap_after)
    )
    tilt = swing(before, after, pivot_behind, pivot_below)
    turned = after.approach_angle - before.approach_angle
    return AttitudeChange(
        after.behind_centre - before.behind_centre,
        after.below_centre - before.below_centre,
        turned,
        tilt,
        effective_top_clearance(0.0, tilt, turned),
    )
