"""Figures of the visits of a life: kept ones at once, the others worked out newest first, a few at each look."""

from __future__ import annotations

import contextlib
import json
import time
from typing import TYPE_CHECKING, NamedTuple

from django.utils import timezone

from sparkout.core.errors import Refusal
from sparkout.reckoning.in_figures import InFigures, as_kept, calculations, from_kept, in_figures
from sparkout.reckoning.reckon import reckon
from sparkout.records.life import keep_figures, signed_files
from sparkout.records.queries import visit_file
from sparkout.visit.checking import checked
from sparkout.web.visit.bench import answered

if TYPE_CHECKING:
    from sparkout.records.life import Life
    from sparkout.records.models import Visit

_LONGEST = 1.2
"""Seconds one look may spend on visits whose figures are not kept yet."""
_MOST = 20
"""Visits whose files are fetched for it at one look."""


class Worked(NamedTuple):
    """Figures by visit, and how many visits still wait for theirs."""

    figures: dict[int, InFigures]
    waiting: int


def worked_out(life: Life) -> Worked:
    """Return the figures of a life's visits that count, as far as they are known by now."""
    figures = {number: from_kept(told) for number, told in life.kept.items()}
    signed = [visit.pk for visit in life.drawn_visits if visit.signed_at is not None and visit.pk not in figures]
    fresh = _fresh(signed[::-1][:_MOST])
    figures |= fresh
    if life.opened is not None:
        figures[life.opened.pk] = _of_open(life.opened)
    return Worked(figures, len(signed) - len(fresh))


def _fresh(wanted: list[int]) -> dict[int, InFigures]:
    files, until = signed_files(wanted), time.monotonic() + _LONGEST
    found: dict[int, InFigures] = {}
    for number in wanted:
        if found and time.monotonic() > until:
            break
        found[number] = _of_signed(files[number])
    with contextlib.suppress(Refusal):  # a full disk: shown all the same, worked out again at the next look
        keep_figures({number: as_kept(told) for number, told in found.items()}, calculations())
    return found


def _of_signed(file: str) -> InFigures:
    try:
        return in_figures(reckon(checked(json.loads(file), lambda _: None)))
    except Refusal as refusal:
        return InFigures(trouble=str(refusal))


def _of_open(visit: Visit) -> InFigures:
    try:
        answer = answered(visit_file(visit), timezone.localdate())
    except Refusal as refusal:
        return InFigures(trouble=str(refusal))
    return InFigures(trouble=answer) if isinstance(answer, str) else in_figures(answer)
