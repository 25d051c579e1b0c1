"""Figures of signed visits that are not kept yet: worked out a few at a time, and kept."""

from __future__ import annotations

import contextlib
import json
import time
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.reckoning.in_figures import InFigures, as_kept, calculations, in_figures
from sparkout.reckoning.reckon import reckon
from sparkout.records.life import keep_figures, signed_files
from sparkout.visit.checking import checked

if TYPE_CHECKING:
    from collections.abc import Sequence

LONGEST = 1.2
"""Seconds one look may spend on visits whose figures are not kept yet."""
MOST = 20
"""Visits whose files are fetched for it at one look."""


def fresh_figures(wanted: Sequence[int], seconds: float | None = None, most: int | None = None) -> dict[int, InFigures]:
    """Return figures of the first of these signed visits, as many as the time allows but at least one; keep them."""
    until = time.monotonic() + (LONGEST if seconds is None else seconds)
    numbers = list(wanted)[: MOST if most is None else most]
    files = signed_files(numbers)
    found: dict[int, InFigures] = {}
    for number in numbers:
        if found and time.monotonic() > until:
            break
        found[number] = of_signed(files[number])
    with contextlib.suppress(Refusal):  # a full disk: shown all the same, worked out again at the next look
        keep_figures({number: as_kept(told) for number, told in found.items()}, calculations())
    return found


def of_signed(file: str) -> InFigures:
    """Return the figures of a visit from the file it was signed as."""
    try:
        return in_figures(reckon(checked(json.loads(file), lambda _: None)))
    except Refusal as refusal:
        return InFigures(trouble=str(refusal))
