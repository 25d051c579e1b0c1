"""How the unit stands on its rollers, in words: now, after the plan, and what to turn then."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import phrase
from sparkout.reckoning.answer import Untold

if TYPE_CHECKING:
    from sparkout.core.measured import Measured
    from sparkout.reckoning.answer import Answer
    from sparkout.reckoning.stance import AfterPlan
    from sparkout.showing import Showing


def now_lines(answer: Answer, showing: Showing) -> tuple[str, ...]:
    """Say how the unit stands as found; nothing when that is not known."""
    found = answer.stance
    if isinstance(found, Untold):
        return ()
    known = {name: one.measured for name, one in found.known.items()}
    behind = known["middle.behind_centre"]
    return (
        phrase(
            "On its rollers it stands at {left} left and {right} right.",
            left=showing.measured(known["left.height_of_cut"]),
            right=showing.measured(known["right.height_of_cut"]),
        ),
        phrase(
            "Its edge stands {behind} behind centre; the reel reaches {reach} below the edge and clears the ground by "
            "{clear}."
            if behind.value >= 0.0
            else "Its edge stands {behind} ahead of centre; the reel reaches {reach} below the edge and clears the "
            "ground by {clear}.",
            behind=showing.length(abs(behind.value)),
            reach=showing.length(known["middle.reach"].value),
            clear=showing.length(known["middle.reel_clearance"].value),
        ),
        *found.notes,
    )


def plan_lines(answer: Answer, showing: Showing) -> tuple[str, ...]:
    """Say what the plan does to the height, what to turn for the height wanted, and how the unit stands then."""
    found = answer.stance
    if isinstance(found, Untold) or found.plan is None:
        return ()
    plan = found.plan
    left, right = plan.height_change
    return (
        phrase(
            "After this plan, rollers untouched: {left}, {right}.",
            left=_changed(phrase("left"), left.value, showing),
            right=_changed(phrase("right"), right.value, showing),
        ),
        phrase(
            "Then for {height}: {left}; {right}.",
            height=showing.length(plan.wanted_height),
            left=_front(True, plan.travel[0], None if plan.turns is None else plan.turns[0], showing),
            right=_front(False, plan.travel[1], None if plan.turns is None else plan.turns[1], showing),
        ),
        _after(plan, showing),
    )


def _changed(side: str, change: float, showing: Showing) -> str:
    return phrase(
        "{side} end {change} higher" if change > 0.0 else "{side} end {change} lower",
        side=side,
        change=showing.length(abs(change)),
    )


def _front(left: bool, travel: Measured, turns: Measured | None, showing: Showing) -> str:
    """`front roller left up 0.62 mm, 0.50 turns`."""
    way, down = showing.length(abs(travel.value)), travel.value > 0.0
    if left:
        moved = phrase("front roller left down {way}" if down else "front roller left up {way}", way=way)
    else:
        moved = phrase("front roller right down {way}" if down else "front roller right up {way}", way=way)
    if turns is None:
        return moved
    return phrase("{moved}, {turns} turns", moved=moved, turns=showing.figure(abs(turns.value), 2))


def _after(plan: AfterPlan, showing: Showing) -> str:
    after = plan.stance.middle
    return phrase(
        "Then the edge stands {behind} behind centre, the reel reaches {reach} below it, and top clearance is {angle}."
        if after.behind_centre >= 0.0
        else "Then the edge stands {behind} ahead of centre, the reel reaches {reach} below it, and top clearance is "
        "{angle}.",
        behind=showing.length(abs(after.behind_centre)),
        reach=showing.length(after.reach),
        angle=showing.quantity(after.top_clearance, "angle"),
    )
