"""Grinding a virtual unit as a real grinder would: its give, its wheel's loss and its carriage are what they are."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import all_within, within
from sparkout.core.practice.virtual_unit import VirtualUnit, WheelPass

if TYPE_CHECKING:
    from collections.abc import Sequence

_GRID = 401


@dataclass(frozen=True, slots=True)
class TrueGrinder:
    """What a grinder really does, which its owner can only learn: mm."""

    give: float
    g_ratio: float
    wheel_diameter: float
    wheel_width: float
    carriage_out: float = 0.0
    """Wheel's line against the bearing axis, right less left over the blade length; positive stands farther off."""


@dataclass(frozen=True, slots=True)
class Ground:
    """A unit after spinning, the wheel it left, and what came off, mm and mm³."""

    unit: VirtualUnit
    wheel_diameter: float
    volume: float


def spun_on(unit: VirtualUnit, grinder: TrueGrinder, infeeds: Sequence[float]) -> Ground:
    """Return the unit after one pass for each of `infeeds`, counted from where the wheel first touches.

    Every pass stands at the sum of the infeeds so far, less what the wheel has lost in the passes before, and takes
    `give` of what stands above it. Wheel loss: volume / (G pi D b), on the wheel's radius.

    Parameters
    ----------
    infeeds : on the radius, 0 for spark-out, mm.

    Raises
    ------
    OutOfRange
        A negative infeed, a give outside 0 to 1, or a G-ratio not above 0.

    Validity: the loss within one traverse is spread over the whole reel (the grind room couples the two).

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> true = VirtualUnit(Reel(11, 127.0, 533.0), 63.0)
    >>> done = spun_on(true, TrueGrinder(1.0, 1e9, 150.0, 20.0), [0.02, 0.02, 0.0])
    >>> float(done.unit.radius(0.0)[0, 0].round(6))
    62.96

    References
    ----------
    Model, common practice, no source.
    """
    fed = all_within("infeeds", infeeds, 0.0, 2.0, "mm")
    within("g_ratio", grinder.g_ratio, 0.0, above=True)
    x = np.linspace(0.0, unit.reel.length, _GRID)
    slope = grinder.carriage_out / 2.0
    touch = float((unit.radius(x) - slope * unit.station(x)).max())
    diameter, whole = grinder.wheel_diameter, 0.0
    for advanced in np.cumsum(fed):
        middle = touch - advanced + (grinder.wheel_diameter - diameter) / 2.0
        done = unit.spun([WheelPass(middle - slope, middle + slope, grinder.give)])
        volume = _between(unit, done, x)
        diameter -= 2.0 * volume / (grinder.g_ratio * math.pi * diameter * grinder.wheel_width)
        unit, whole = done, whole + volume
    return Ground(unit, diameter, whole)


def _between(before: VirtualUnit, after: VirtualUnit, x: np.ndarray[tuple[int], np.dtype[np.float64]]) -> float:
    """Volume between two states, mm³: depth times the mean land, along the helical edge."""
    depth = before.radius(x) - after.radius(x)
    land = (before.land(x) + after.land(x)) / 2.0
    along = before.reel.length / math.cos(before.reel.helix_angle)
    return float(np.trapezoid((depth * land).sum(axis=0), x) / before.reel.length * along)
