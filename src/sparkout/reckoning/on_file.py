"""Which readings that could still be taken have been taken already: to read them would be a repeat, and says so."""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from sparkout.core.phrase import phrase
from sparkout.reckoning.readings import OBSERVED

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from sparkout.core.verdict.next_reading import Candidate, Touch
    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import When

SAME_PLACE = 0.5
"""Two readings within so many mm are at one place: no gauge is put down more closely."""
_SAME_ANGLE = math.radians(1.0)


class _Taken(NamedTuple):
    """One reading on file: where, with which kind of gauge (empty: none named), on which zero."""

    x: float
    blade: int | None
    angle: float
    gauge: str
    set_up: str


def marked(possible: Iterable[Candidate], given: Given, when: When) -> tuple[Candidate, ...]:
    """Return the candidates, each of those on file at this stage marked as a repeat in data and label."""
    taken = _taken(given, when)
    return tuple(
        replace(c, again=True, label=phrase("{reading}, again", reading=c.label)) if _on_file(c, taken) else c
        for c in possible
    )


def _taken(given: Given, when: When) -> Mapping[tuple[str, int | None], list[_Taken]]:
    """Return what is on file by kind and blade; diameters under no blade, for a tape sees them all."""
    length = float(given.visit.reel.length)
    kinds = {gauge.id: gauge.kind for gauge in given.visit.gauges}
    found: dict[tuple[str, int | None], list[_Taken]] = defaultdict(list)
    for reading in given.all_readings:
        if reading.of not in OBSERVED or reading.when != when:
            continue
        kind, blade = OBSERVED[reading.of], None if reading.blade is None else reading.blade - 1
        x = length / 2 if reading.at is None else reading.at.along(length)
        gauge = "" if reading.gauge is None else kinds.get(reading.gauge, "")
        entry = _Taken(x, blade, float(reading.angle or 0.0), gauge, reading.set_up or "")
        found[kind, None if kind == "radius" else blade].append(entry)
    return found


def _on_file(candidate: Candidate, taken: Mapping[tuple[str, int | None], list[_Taken]]) -> bool:
    """Tell whether all its places were read with its kind of gauge, and on one zero where the zero is free."""
    zeros: set[str] | None = None
    for touch in candidate.touches:
        there = taken.get((touch.kind, None if touch.kind == "radius" else touch.blade), ())
        here = {_zero(reading, touch) for reading in _at(there, touch) if reading.gauge in ("", candidate.gauge)}
        zeros = here if zeros is None else zeros & here
        if not zeros:
            return False
    return zeros is not None


def _at(there: Sequence[_Taken], touch: Touch) -> list[_Taken]:
    found = [reading for reading in there if abs(reading.x - touch.x) <= SAME_PLACE]
    if touch.kind == "shaft":
        return [r for r in found if abs(math.remainder(r.angle - (touch.angle or 0.0), 2.0 * math.pi)) < _SAME_ANGLE]
    if touch.kind == "radius" and touch.blade is not None:
        return [r for r in found if r.blade in (None, touch.blade)]
    return found


def _zero(reading: _Taken, touch: Touch) -> str:
    """Return what names the zero: a diameter has none, a dial without a set-up one of its own at each place."""
    if touch.kind == "radius":
        return ""
    return reading.set_up or (f"at {touch.x:.1f}" if touch.kind in ("run-out", "shaft") else "")
