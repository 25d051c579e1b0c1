"""What every question about a visit looks at, and how what was found is told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from sparkout.core.gauges.instrument import USUAL_REPEATABILITY
from sparkout.core.phrase import phrase
from sparkout.visit.problems import Path
from sparkout.visit.schema import Visit
from sparkout.visit.sections import GaugeEntry
from sparkout.visit.taken import Reading

Asking = Iterator[tuple[Path, str]]
Placed = tuple[Path, Reading]


@dataclass(frozen=True, slots=True)
class Look:
    """The visit with what every question looks at, made once."""

    visit: Visit
    placed: tuple[Placed, ...]
    gauges: dict[str, GaugeEntry]


def length_told(look: Look, value: float) -> str:
    """Return a length, mm, in the units of the visit."""
    return f"{value / 25.4:.3g} in" if look.visit.visit.units == "inch" else f"{value:.3g} mm"


def and_more(what: str, paths: list[Path]) -> str:
    """Return what was found, with how many more there are like it."""
    rest = len(paths) - 1
    return phrase("{what} (and {rest} more like it)", what=what, rest=rest) if rest else what


def allowance(look: Look, reading: Reading) -> float:
    """How far two readings of one thing may differ without a question: three of its steps or standard deviations."""
    gauge = look.gauges.get(reading.gauge or "")
    if gauge is None:
        return 0.5
    spread = USUAL_REPEATABILITY[gauge.kind] if gauge.repeatability is None else float(gauge.repeatability)
    return 3.0 * max(float(gauge.resolution or 0.0), spread)
