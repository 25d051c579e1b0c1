"""What the three diameter gauges share: which reels they hold for, and the way back from a reading."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Callable

LEAST_SIZE = 10.0
GREATEST_SIZE = 2000.0
"""mm. Far wider than any reel: these catch metres taken for millimetres, they do not know reels."""


class Shown(NamedTuple):
    """What a gauge shows of a reel of radius R and land w, with its slopes against both."""

    reading: float
    by_radius: float
    by_land: float

    @property
    def land_effect(self) -> float:
        """Change of the diameter per change of the land, the reading staying as it is."""
        return -2.0 * self.by_land / self.by_radius


def checked(argument: str, size: float, blade_count: int, land: float) -> tuple[float, int, float]:
    """Return size, blade count and land when they can belong to one reel; lands may meet but not overlap.

    A reading is at most the diameter 2R, and lands meet at w = 2 pi R / N, where every gauge reads 2R; so
    w <= pi size / N is the right bound for a diameter and for a reading alike.

    Raises
    ------
    OutOfRange
        Naming what cannot be.

    Examples
    --------
    >>> checked("diameter", 127, 11, 1)
    (127.0, 11, 1.0)
    """
    size = within(argument, size, LEAST_SIZE, GREATEST_SIZE, "mm")
    if within("blade_count", blade_count, 2, 40) % 1:
        raise OutOfRange("blade_count", blade_count, phrase("a whole number, 2 to 40"))
    return size, int(blade_count), within("land", land, 0.0, math.pi * size / blade_count, "mm")


def radius_showing(reading: float, shown: Callable[[float], Shown]) -> float:
    """Return the radius of the reel that shows `reading`, to the last digits.

    Newton's rule from reading / 2, which no gauge exceeds, kept between the bounds known so far; what a
    gauge shows rises with the radius, so the root is unique.

    Raises
    ------
    OutOfRange
        No such radius found in 100 steps (the three gauges here need four or five).

    Examples
    --------
    >>> radius_showing(127.0, lambda radius: Shown(2 * radius, 2.0, 0.0))
    63.5
    """
    low, high = reading / 2.0, math.inf
    radius = low
    for _ in range(100):
        here = shown(radius)
        if here.reading > reading:
            high = radius
        else:
            low = radius
        wanted = radius - (here.reading - reading) / here.by_radius
        if not low <= wanted <= high:
            wanted = 0.5 * (low + high)
        if abs(wanted - radius) <= 1e-15 * radius:
            return wanted
        radius = wanted
    raise OutOfRange("reading", reading, phrase("one that some reel of this kind shows"), "mm")
