"""Hand-arm vibration over a day."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sparkout.core.errors import within

REFERENCE_HOURS = 8.0


def daily_vibration(magnitudes: Sequence[float], hours: Sequence[float]) -> float:
    """Return the day's hand-arm vibration A(8), m/s²: √(Σ a² t / 8 h).

    Parameters
    ----------
    magnitudes : m/s², frequency-weighted vector sum of each tool or task
    hours : trigger time of each

    Examples
    --------
    >>> round(daily_vibration([4.0], [3.1]), 2)
    2.49

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: magnitudes measured at this work; a maker's test figure can be half of what the hands get.

    References
    ----------
    Directive 2002/44/EC and the UK regulations of 2005 use this sum (formula as quoted by the UK authority).
    """
    total = 0.0
    for magnitude, time in _pairs(magnitudes, hours, "magnitude", "m/s²", 100.0):
        total += magnitude**2 * time / REFERENCE_HOURS
    return math.sqrt(total)


def vibration_points(magnitude: float, hours: float) -> float:
    """Return exposure points, (a/2.5)² (t/8) 100: 100 are the action value of 2.5 m/s², 400 the limit of 5 m/s².

    Examples
    --------
    >>> round(vibration_points(5.0, 2.0))
    100

    Raises
    ------
    OutOfRange
        Naming the argument.
    """
    within("magnitude", magnitude, 0.0, 100.0, "m/s²")
    within("hours", hours, 0.0, 24.0, "h")
    return (magnitude / 2.5) ** 2 * hours / REFERENCE_HOURS * 100.0


def hours_to_vibration(magnitude: float, value: float) -> float:
    """Return the hours at which a tool alone brings the day to a value, 8 (value/a)².

    Examples
    --------
    >>> round(hours_to_vibration(4.0, 2.5), 2), round(hours_to_vibration(4.0, 5.0), 1)
    (3.12, 12.5)

    Raises
    ------
    OutOfRange
        Naming the argument.
    """
    within("magnitude", magnitude, 0.0, 100.0, "m/s²", above=True)
    within("value", value, 0.0, 100.0, "m/s²", above=True)
    return REFERENCE_HOURS * (value / magnitude) ** 2


def _pairs(
    values: Sequence[float], hours: Sequence[float], name: str, unit: str, highest: float
) -> list[tuple[float, float]]:
    within("number of tasks", len(values), 1, 1000)
    within("number of hours", len(hours), len(values), len(values))
    for value, time in zip(values, hours, strict=True):
        within(name, value, 0.0, highest, unit)
        within("hours", time, 0.0, 24.0, "h")
    within("hours together", math.fsum(hours), 0.0, 24.0, "h")
    return list(zip(values, hours, strict=True))
