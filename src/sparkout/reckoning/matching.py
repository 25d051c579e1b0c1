"""The units of one machine, as typed beside each other, set to one height."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from sparkout.core.measured import Measured
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.matching import Matched, UnitHeights, match_heights

if TYPE_CHECKING:
    from collections.abc import Sequence


class UnitTyped(NamedTuple):
    """A unit's heights by the bar, mm, and which of its adjusters does not turn: no, left, right or both."""

    name: str
    left: float
    right: float
    locked: str = "no"


class Matching(NamedTuple):
    """What to turn, and the readings it goes by."""

    rows: tuple[UnitTyped, ...]
    matched: Matched
    bar_u: float


def matching(
    rows: Sequence[UnitTyped],
    *,
    rise: float,
    smallest_turn: float | None = None,
    wanted: float | None = None,
    ends: float = 0.0,
    between: float = 0.0,
    bar: float = 0.0,
    reading: float = 0.0,
    guard: float = 0.0,
) -> Matching:
    """Return what to turn on each unit of a machine.

    Parameters
    ----------
    rise
        Of the edge for one turn of the adjuster, mm.
    smallest_turn
        Least part of a turn that can be set.
    wanted
        Common height, mm; None: whichever takes the least turning.
    ends, between
        Largest difference of a unit's ends, and between units, mm.
    bar, reading
        Standard uncertainty of the setting bar (alike in all readings) and of one reading, mm.
    guard
        By how many standard uncertainties the tolerances are taken smaller.

    Raises
    ------
    Refusal
        As `core.stance.matching.match_heights`.
    """
    units = [
        UnitHeights(
            row.name,
            Measured(row.left, reading),
            Measured(row.right, reading),
            rise,
            smallest_turn,
            Ends(*(_most(row, side, -1.0) for side in ("left", "right"))),
            Ends(*(_most(row, side, 1.0) for side in ("left", "right"))),
        )
        for row in rows
    ]
    found = match_heights(units, end_tolerance=ends, unit_tolerance=between, wanted=wanted, bar_u=bar, guard=guard)
    return Matching(tuple(rows), found, bar)


def _most(row: UnitTyped, side: str, way: float) -> float:
    return 0.0 if row.locked in (side, "both") else way * math.inf


def matching_data(found: Matching) -> dict[str, Any]:
    """Return it as data: mm and turns, up positive; nothing rounded."""
    done = found.matched
    return {
        "height_mm": done.height,
        "height_uncertainty_mm": done.on_turf.u,
        "total_turns": done.total_turns,
        "unit_to_unit": {"value": done.unit_to_unit.value, "standard_uncertainty": done.unit_to_unit.u, "unit": "mm"},
        "matched": done.matched,
        "remains": list(done.remains),
        "units": [
            {
                "name": unit.name,
                "left_turns": unit.turns.left,
                "right_turns": unit.turns.right,
                "left_mm": unit.left.value,
                "right_mm": unit.right.value,
                "ends_apart_mm": unit.end_to_end.value,
                "off_mm": unit.off.value,
            }
            for unit in done.units
        ],
    }
