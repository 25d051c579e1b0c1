"""The one next reading: which boxes it asks for, so that page and drawing can point at them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.reckoning.readings import OBSERVED

if TYPE_CHECKING:
    from sparkout.core.verdict.next_reading import Candidate, Touch
    from sparkout.reckoning.answer import Found
    from sparkout.web.visit.places import Key

_QUANTITY = {kind: of for of, kind in OBSERVED.items()}


@dataclass(frozen=True, slots=True)
class NextReading:
    """The reading most worth taking, as the answer names it, and its places."""

    label: str
    keys: tuple[Key, ...]
    again: bool


def next_reading(found: Found) -> NextReading | None:
    """Return the reading that settles most: first what tells explanations apart, then what brings a verdict."""
    telling = [c.separation.candidate for c in found.diagnosis.apart if c.separation is not None]
    worth = [j.next_reading for j in found.judged if j.next_reading is not None]
    worth.sort(key=lambda prospect: prospect.risk_after - prospect.risk_before)
    telling += [prospect.candidate for prospect in worth]
    return NextReading(telling[0].label, places(telling[0]), telling[0].again) if telling else None


def places(candidate: Candidate) -> tuple[Key, ...]:
    """Return the places a candidate's gauge is put to, as the boxes name them.

    Examples
    --------
    >>> import numpy as np
    >>> from sparkout.core.verdict.next_reading import Candidate, Touch
    >>> places(Candidate("dial", np.ones(1), 0.01, touches=(Touch("run-out", 266.5, 2),)))
    (('run-out', 266.5, 3, None, 'as found'),)
    """
    return tuple(_key(touch) for touch in candidate.touches)


def _key(touch: Touch) -> Key:
    of = _QUANTITY[touch.kind]
    blade = None if touch.blade is None or of == "diameter" else touch.blade + 1  # diameters have one box a place
    angle = None if touch.angle is None else round(math.degrees(touch.angle)) % 360
    return of, round(touch.x, 1), blade, angle, "as found"
