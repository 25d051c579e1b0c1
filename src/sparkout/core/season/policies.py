"""When to sharpen and how: two ways of working over a reel's whole life, and whether a worn one is worth grinding."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sparkout.core.errors import OutOfRange, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.core.season.reel_lives import OUTER, Floats, Lives, Luck, Start, Upkeep, Way, checked, stepped


@dataclass(frozen=True, slots=True)
class WaysApart:
    """The second way's cost an hour less the first's, life by life with the same luck."""

    first: Lives
    second: Lives
    difference: Measured


@dataclass(frozen=True, slots=True)
class GrindOrReplace:
    """Going on with a reel against a new one, by cost of each hour still to be cut; u is the simulation's own."""

    grind: bool
    kept: Measured | None
    """Cost an hour of going on for `sharpenings`, the cheapest choice of that number; None when none fits."""
    new: Lives
    """A new reel's whole lives, worked the same way."""
    sharpenings: int
    hours: float
    """Mean hours those sharpenings give."""
    saved: Measured
    """Money saved by going on first, against replacing now; 0 where replacing is cheaper."""
    why: str

    @property
    def kept_cost(self) -> float:
        """Cost an hour of going on; infinite when no sharpening fits."""
        return math.inf if self.kept is None else self.kept.value

    @property
    def new_cost(self) -> float:
        """Cost an hour of a new reel over its whole life."""
        return self.new.cost_an_hour.value


def lived(upkeep: Upkeep, way: Way, rng: np.random.Generator, lives: int = 2000) -> Lives:
    """Return whole lives of a new reel under one way of working, from its diameter to the service diameter.

    A life ends before the first sharpening that would leave the reel below its service diameter. The hours of each
    edge are Weibull with scale η·m^(land − land new); with an interval T they end at min(T, life), or with a cost for
    each blunt hour always at T. Generators in the same state give different ways the same luck.

    Parameters
    ----------
    lives : 10 to 1,000,000

    Raises
    ------
    OutOfRange
        Naming the argument.
    NotEnough
        An interval without end with a cost for blunt hours: nothing would ever end an edge.
    BelowServiceLimit
        The mean stock does not fit once between new and limit.

    Validity: spins are independent; every sharpening makes the edge as sharp as any other on that land; the knife's
    own life is not counted. The effect of the land on life is the workshop's figure; its exponential form is assumed.

    Source: renewal reward over a reel's life, own working; geometry and times as in the functions used.
    """
    checked(upkeep, way, lives)
    reel = upkeep.reel
    return stepped(upkeep, way, Start(reel.diameter, reel.land, upkeep.costs.new_reel), Luck(rng, lives))


def ways_apart(first: Lives, second: Lives) -> WaysApart:
    """Return how two ways differ in cost an hour; lives simulated with generators in the same state cancel their luck.

    Raises
    ------
    OutOfRange
        Unlike numbers of lives.
    """
    if first.hours.size != second.hours.size:
        raise OutOfRange("lives of the second way", second.hours.size, str(first.hours.size))
    parts = []
    for one in (first, second):
        mean = float(one.hours.mean())
        parts.append((one.cost - one.cost_an_hour.value * one.hours) / mean)
    u = float(np.std(parts[1] - parts[0])) / math.sqrt(first.hours.size)
    return WaysApart(first, second, Measured(second.cost_an_hour.value - first.cost_an_hour.value, u))


def grind_or_replace(
    upkeep: Upkeep,
    way: Way,
    diameter: float,
    land: float,
    first_stock: float,
    rng: np.random.Generator | Luck,
    lives: int = 2000,
) -> GrindOrReplace:
    """Return whether a blunt reel is better ground or replaced, by cost of each hour still to be cut.

    A new reel costs g = (its price + all its sharpenings)/(all its hours). Going on for k sharpenings costs c_k/h_k;
    the reel is worth grinding when the least of these is below g, and what it saves is the greatest g·h_k − c_k
    (optimal stopping of a renewal reward: compare with the long-run rate).

    Parameters
    ----------
    diameter, land : mm, as they are now, blunt
    first_stock : mm off the radius that this grind must take (a cone, a nick); later ones take the way's own
    rng : or luck already drawn, to be shared by many units: it says how many lives

    Raises
    ------
    OutOfRange, NotEnough, BelowServiceLimit
        As `lived`.

    Validity: as `lived`; the machine itself is kept long enough for the hours to be used.

    Source: renewal reward, own working.
    """
    luck = rng if isinstance(rng, Luck) else Luck(rng, lives)
    checked(upkeep, way, luck.lives)
    within("diameter", diameter, 40.0, upkeep.reel.diameter, "mm")
    within("land", land, 0.0, upkeep.reel.blade_thickness, "mm")
    within("first_stock", first_stock, 0.0, 20.0, "mm", above=True)
    new = stepped(upkeep, way, Start(upkeep.reel.diameter, upkeep.reel.land, upkeep.costs.new_reel), luck)
    nothing = Measured(0.0, 0.0)
    if diameter - 2.0 * first_stock < upkeep.service_diameter - OUTER:
        why = phrase("this grind would leave it below its service diameter")
        return GrindOrReplace(False, None, new, 0, 0.0, nothing, why)
    kept = stepped(upkeep, way, Start(diameter, land, 0.0, first_stock), luck, new.drawn)
    rate = new.cost_an_hour
    best = int(np.argmax(rate.value * kept.hours_to - kept.cost_to))
    saved = kept.gain(best, rate)
    if saved.value <= 0.0:
        best, saved = int(np.argmin(kept.cost_to / kept.hours_to)), nothing
        why = phrase("every hour it has left costs more than an hour of a new one")
    else:
        why = phrase("the hours it has left cost less than those of a new one")
    return GrindOrReplace(saved.value > 0.0, kept.rate(best), new, best + 1, float(kept.hours_to[best]), saved, why)


def spread_of(values: Sequence[float] | Floats, coverage: float = 0.9) -> tuple[float, float]:
    """Return the interval that holds the middle share of simulated values.

    Examples
    --------
    >>> [round(end, 9) for end in spread_of(range(101), 0.9)]
    [5.0, 95.0]
    """
    within("coverage", coverage, 0.0, 0.999, above=True)
    low, high = np.quantile(np.asarray(values, dtype=np.float64), [0.5 - coverage / 2.0, 0.5 + coverage / 2.0])
    return float(low), float(high)
