"""The edge a unit cuts with now, against how long an edge usually lasts here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sparkout.core.errors import NotEnough
from sparkout.season.edges import edges_of, life_of
from sparkout.season.forecast import UnitNow
from sparkout.season.sheet import HOUR, SeasonSheet


@dataclass(frozen=True, slots=True)
class ThisEdge:
    """Work on an edge so far, and what is usual."""

    hours: float
    """Since the last sharpening."""
    usual: float
    """Hours by which half of the edges here have gone; without an edge life, the interval that the sheet sets."""
    gone: float
    """Share of edges here that have gone by `hours`; without an edge life, 1 beyond the interval and 0 before."""
    edges: int
    """Edges on file that tell it; 0: the season sheet does."""


def this_edge(unit: UnitNow, units: Sequence[UnitNow], sheet: SeasonSheet) -> ThisEdge | None:
    """Return how far a unit's edge is through its usual life; None where neither records nor sheet tell.

    With an edge life (`forecast.life_of`): gone = 1 - exp(-(hours/eta)^k). Else the machine's own interval or the
    sheet's, where somebody set one: the usual figure that comes with Sparkout answers nothing.

    Examples
    --------
    >>> sheet = SeasonSheet.model_validate({"interval": "80 h"})
    >>> this_edge(UnitNow("A", hours=300.0, sharpened=210.0), [], sheet)
    ThisEdge(hours=90.0, usual=80.0, gone=1.0, edges=0)

    Validity: the life as fitted, without its own uncertainty. Own choice.
    """
    if unit.hours is None or unit.sharpened is None:
        return None
    hours = max(unit.hours - unit.sharpened, 0.0)
    edges = edges_of(units)
    try:
        life = life_of(edges)
    except NotEnough:
        life = None
    if life is not None:
        return ThisEdge(hours, life.life([1.0]), life.gone([1.0], hours), len(edges))
    set_to = sheet.rule(unit.machine).interval
    if set_to is None and "interval" in sheet.model_fields_set:
        set_to = sheet.interval
    if set_to is None:
        return None
    usual = set_to / HOUR
    return ThisEdge(hours, usual, float(hours > usual), 0)
