"""Figures of the visits of a life: kept ones at once, the others worked out newest first, a few at each look."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from django.utils import timezone

from sparkout.core.errors import Refusal
from sparkout.reckoning.in_figures import InFigures, from_kept, in_figures
from sparkout.records.figures import fresh_figures
from sparkout.web.visit.reckoned import reckoned

if TYPE_CHECKING:
    from sparkout.records.life import Life
    from sparkout.records.models import Visit


class Worked(NamedTuple):
    """Figures by visit, and how many visits still wait for theirs."""

    figures: dict[int, InFigures]
    waiting: int


def worked_out(life: Life) -> Worked:
    """Return the figures of a life's visits that count, as far as they are known by now."""
    figures = {number: from_kept(told) for number, told in life.kept.items()}
    signed = [visit.pk for visit in life.drawn_visits if visit.signed_at is not None and visit.pk not in figures]
    fresh = fresh_figures(signed[::-1])
    figures |= fresh
    if life.opened is not None:
        figures[life.opened.pk] = _of_open(life.opened)
    return Worked(figures, len(signed) - len(fresh))


def _of_open(visit: Visit) -> InFigures:
    try:
        answer = reckoned(visit, timezone.localdate()).answer
    except Refusal as refusal:
        return InFigures(trouble=str(refusal))
    return InFigures(trouble=answer) if isinstance(answer, str) else in_figures(answer)
