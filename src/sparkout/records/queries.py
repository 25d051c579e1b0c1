"""What the workshop's records answer. Everything about a unit's state comes from `visit_file` and `reckon` alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.records.board import BoardRow, board, next_steps
from sparkout.records.life import PartLife, UnitLife, part_life, unit_life
from sparkout.records.models import HistoryLine, Visit
from sparkout.records.searching import Found, perhaps_meant, search
from sparkout.records.tables import signed_tables, visit_tables, whole_visit
from sparkout.visit.checking import checked

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.records.checked import Table
    from sparkout.visit.schema import Visit as VisitFile


__all__ = [
    "BoardRow",
    "Found",
    "PartLife",
    "UnitLife",
    "board",
    "history_of",
    "next_steps",
    "part_life",
    "perhaps_meant",
    "search",
    "unit_life",
    "visit_file",
]


def visit_file(visit: Visit, choices: Mapping[str, Table] | None = None) -> VisitFile:
    """Return the visit as a visit file: the one bridge from the records to `reckon`.

    A signed visit is the file that was signed. `choices` ({"wanted": {...}, "grinder": {...}}) stand in for the plan
    kept last: what if.

    Raises
    ------
    VisitProblems
        When the records contradict each other, as after a reel with fewer blades was entered.
    """
    whole = visit if visit.as_signed is not None else whole_visit(visit.pk)
    if whole.as_signed is not None:
        return checked(signed_tables(whole), lambda _: None)
    return checked(visit_tables(whole, choices), lambda _: None)


def history_of(visit: Visit) -> list[HistoryLine]:
    """Return what was done during a visit, last first."""
    return list(visit.history.select_related("who").order_by("-pk"))
