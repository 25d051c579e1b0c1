"""The units of one machine at one height, in words."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, phrase
from sparkout.core.stance.moves import CAUTION
from sparkout.telling.section import Section, Table
from sparkout.telling.standing import turns_to_set

if TYPE_CHECKING:
    from sparkout.core.stance.matching import UnitMatched
    from sparkout.reckoning.matching import Matching, UnitTyped
    from sparkout.showing import Showing


def matching_sections(found: Matching, showing: Showing) -> tuple[Section, ...]:
    """Return what to turn on each unit, where each stands then, and what stays unmatched."""
    done = found.matched
    head = (phrase("Unit"), phrase("Now, left"), phrase("Now, right"), phrase("Turn left"), phrase("Turn right"),
            phrase("Then, left"), phrase("Then, right"), phrase("Ends differ"), phrase("Off the common height"))  # fmt: skip
    rows = tuple(_row(row, unit, showing) for row, unit in zip(found.rows, done.units, strict=True))
    lines = [
        phrase("Common height {height}; {turns} turns in all.", height=showing.length(done.height),
               turns=turns_to_set(done.total_turns, showing)),
        phrase("Highest less lowest unit then: {spread}.", spread=showing.measured(done.unit_to_unit)),
    ]  # fmt: skip
    if done.on_turf.u > 0.0:
        lines.append(
            phrase(
                "Against a wanted height it is worth {height}: the setting bar's own error is in all readings alike, and "
                "drops out between units.",
                height=showing.measured(done.on_turf),
            )
        )
    stays = [phrase("All stand within your limits then: measure again after turning.")]
    if not done.matched:
        stays = list(done.remains)
    return (
        Section("turn", phrase("What to turn"), tuple(lines), (Table(head, rows),), (CAUTION,)),
        Section("stays", phrase("What stays unmatched"), tuple(stays)),
    )


def _row(row: UnitTyped, unit: UnitMatched, showing: Showing) -> tuple[str, ...]:
    return (
        AsTyped(unit.name),
        showing.length(row.left),
        showing.length(row.right),
        _turn(unit.turns.left, showing),
        _turn(unit.turns.right, showing),
        showing.length(unit.left.value),
        showing.length(unit.right.value),
        showing.residue(abs(unit.end_to_end.value)),
        showing.residue(abs(unit.off.value)),
    )


def _turn(turns: float, showing: Showing) -> str:
    if abs(turns) < 5e-4:
        return phrase("leave it")
    much = turns_to_set(turns, showing)
    return phrase("{much} up", much=much) if turns > 0.0 else phrase("{much} down", much=much)
