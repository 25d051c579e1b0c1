"""From a quantity to a coordinate, and where round figures lie between two ends."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Scale:
    """A straight-line map from [low, high] of a quantity to [start, stop] of the picture."""

    low: float
    high: float
    start: float
    stop: float

    def __call__(self, value: float) -> float:
        """Return the coordinate of a value.

        Examples
        --------
        >>> Scale(0.0, 2.0, 100.0, 0.0)(0.5)
        75.0
        """
        return self.start + (self.stop - self.start) * ((value - self.low) / (self.high - self.low))

    @property
    def per_unit(self) -> float:
        """Picture units per unit of the quantity, without sign."""
        return abs((self.stop - self.start) / (self.high - self.low))


def spread(low: float, high: float, margin: float = 0.0) -> tuple[float, float]:
    """Return an interval about [low, high] with a margin (share of its width), never of zero width.

    Examples
    --------
    >>> spread(1.0, 3.0, 0.5), spread(2.0, 2.0)
    ((0.0, 4.0), (1.9998, 2.0002))
    """
    width = high - low
    if width <= 1e-9 * max(abs(low), abs(high), 1e-9):
        half = max(1e-4 * abs(low), 1e-6)
        return low - half, high + half
    return low - margin * width, high + margin * width


def round_steps(low: float, high: float, unit: float = 1.0, wanted: int = 5) -> tuple[float, ...]:
    """Return values inside [low, high] that are round figures when counted in `unit`.

    Equation: step = 1, 2 or 5 times a power of ten of `unit`, the smallest giving at most `wanted` steps.

    Examples
    --------
    >>> round_steps(0.0, 1.0, wanted=4)
    (0.0, 0.5, 1.0)
    >>> [round(value / 25.4, 6) for value in round_steps(0.0, 2.0, unit=25.4, wanted=4)]
    [0.0, 0.02, 0.04, 0.06]
    """
    step = round_up((high - low) / unit / max(wanted, 1))
    first, last = math.ceil(low / unit / step - 1e-9), math.floor(high / unit / step + 1e-9)
    return tuple(count * step * unit for count in range(first, last + 1))


FINE = (1.0, 1.2, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)
"""Factors for the end of a scale; 1, 2, 5 are for its steps."""


def round_up(value: float, factors: Sequence[float] = (1.0, 2.0, 5.0, 10.0)) -> float:
    """Return the next of the factors times a power of ten at or above a positive value.

    Examples
    --------
    >>> round_up(0.13), round_up(2.0), round_up(7.0)
    (0.2, 2.0, 10.0)
    """
    power = math.floor(math.log10(value))
    candidates = (float(f"{factor}e{power}") for factor in factors)
    return next((c for c in candidates if c >= value * (1 - 1e-12)), float(f"1e{power + 1}"))


@dataclass(frozen=True, slots=True)
class Columns:
    """Equal columns, one per station, whatever the distances; places between stand in proportion."""

    stations: tuple[float, ...]
    start: float
    stop: float

    @property
    def width(self) -> float:
        """Width of one column."""
        return (self.stop - self.start) / len(self.stations)

    def __call__(self, x: float) -> float:
        """Return the coordinate of a place; before the first or after the last station at most half a column aside.

        Examples
        --------
        >>> columns = Columns((0.0, 10.0, 40.0), 0.0, 90.0)
        >>> columns(10.0), columns(25.0), columns(60.0)
        (45.0, 60.0, 85.0)
        """
        last = len(self.stations) - 1
        if last == 0:
            return (self.start + self.stop) / 2
        after = min(max(bisect_right(self.stations, x), 1), last)
        low, high = self.stations[after - 1], self.stations[after]
        place = min(max(after - 1 + (x - low) / (high - low), -1 / 3), last + 1 / 3)
        return self.start + self.width * (place + 0.5)
