"""Sand and stones: what one sanding, or one stone, costs a reel in metal, and in hours and days of its life."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol, get_args

from sparkout.core.measured import Measured
from sparkout.core.phrase import Phrase, phrase
from sparkout.core.season.wear import Wear

Happening = Literal["sandings", "stones"]
HAPPENINGS: tuple[Happening, ...] = get_args(Happening)
EVENT_WORDS: dict[Happening, Phrase] = {"sandings": phrase("one sanding"), "stones": phrase("one stone")}
COVERAGE = 0.9


class Counted(Protocol):
    """What counts happenings so far."""

    @property
    def sandings(self) -> int:
        """Sandings so far."""
        ...

    @property
    def stones(self) -> int:
        """Stones so far."""
        ...


class Read(Protocol):
    """A unit with counts at each of its sizes."""

    @property
    def sizes(self) -> Sequence[Counted]:
        """Its sizes, in the order of hours."""
        ...


@dataclass(frozen=True, slots=True)
class EventCost:
    """What one event costs: metal, and what the average unit wears away as much in."""

    event: Happening
    metal: Measured
    """mm"""
    hours: Measured | None
    """Of mowing (or hectares); None where nothing is seen to wear without events."""
    days: Measured | None
    """None where hours a day are not known either."""

    @property
    def is_told(self) -> bool:
        """Whether the readings tell that it costs metal at all: the interval of 90 % lies above 0."""
        return self.metal.interval(COVERAGE)[0] > 0.0


def event_costs(wear: Wear, events: Sequence[Happening], per_day: float) -> tuple[EventCost, ...]:
    """Return what one of each event costs, by the fleet's line.

    Metal is the coefficient c of its count; hours are c/b with b the wear an hour, with variance
    (var c − 2 r cov(c, b) + r² var b)/b², r = c/b.

    Parameters
    ----------
    events : as the covariates of the wear stand
    per_day : hours (hectares) a day of the average unit; not a number where that is not known

    Validity: b well apart from 0.

    Source: first-order propagation of uncertainty (JCGM 100).
    """
    b, spread = -float(wear.fixed[1]), wear.fixed_covariance
    found = []
    for i, event in enumerate(events, start=2):
        metal = Measured(-float(wear.fixed[i]), math.sqrt(max(float(spread[i, i]), 0.0)))
        hours = days = None
        if b > 0.0:
            r = metal.value / b
            variance = float(spread[i, i]) - 2.0 * r * float(spread[i, 1]) + r * r * float(spread[1, 1])
            hours = Measured(r, math.sqrt(max(variance, 0.0)) / b)
            days = hours.scaled(1.0 / per_day) if per_day > 0.0 else None
        found.append(EventCost(event, metal, hours, days))
    return tuple(found)


def since_first(unit: Read, at: Counted, name: Happening) -> int:
    """Return how often something has happened to a unit from its first size to a later one, or to now."""
    return int(getattr(at, name)) - int(getattr(unit.sizes[0], name))


def seen(units: Sequence[Read]) -> tuple[tuple[Happening, ...], tuple[Phrase, ...]]:
    """Return what happened between two sizes of a unit, so that its cost can be told; and why that of others cannot."""
    found: list[Happening] = []
    untold: list[Phrase] = []
    for name in HAPPENINGS:
        if any(since_first(unit, size, name) for unit in units for size in unit.sizes):
            found.append(name)
        else:
            untold.append(phrase("{event}: none on file between two diameters of a unit", event=EVENT_WORDS[name]))
    return tuple(found), tuple(untold)
