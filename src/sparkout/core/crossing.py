"""Where a function of one number crosses a level."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Callable


def crossing(function: Callable[[float], float], low: float, high: float, level: float = 0.0) -> float:
    """Return the argument between `low` and `high` at which the function crosses `level`.

    Equation: function(x) = level, by false position with the Illinois halving; every third step bisects, so that
    steps and flat stretches cost no more than three times a bisection. Ends at adjacent or nearly adjacent floats
    (4 parts in 1e16 of the larger end, or of the starting width), whichever side.

    Raises
    ------
    Refusal
        When the function is on the same side of the level at both ends.

    Validity: the function crosses once; where it jumps over the level, the place of the jump is returned.

    Examples
    --------
    >>> round(crossing(lambda x: x**3, 0.0, 2.0, level=2.0), 12)
    1.259921049895

    References
    ----------
    Illinois variant of regula falsi (Dowell and Jarratt, BIT 11, 1971, from memory).
    """
    a, b = low, high
    at_a, at_b = function(a) - level, function(b) - level
    if at_a == 0.0 or at_b == 0.0:
        return a if at_a == 0.0 else b
    if (at_a > 0.0) == (at_b > 0.0):
        raise Refusal(phrase("no crossing of {level:g} between {low:g} and {high:g}", level=level, low=low, high=high))
    finest = 4e-16 * abs(high - low)
    step, last_moved = 0, ""
    while abs(b - a) > max(finest, 4e-16 * max(abs(a), abs(b))):
        step += 1
        x = (a * at_b - b * at_a) / (at_b - at_a) if step % 3 else 0.5 * (a + b)
        if not min(a, b) < x < max(a, b):
            x = 0.5 * (a + b)
        if x in (a, b):
            break
        here = function(x) - level
        if here == 0.0:
            return x
        moved = "a" if (here > 0.0) == (at_a > 0.0) else "b"
        if moved == "a":
            a, at_a = x, here
            at_b *= 0.5 if last_moved == "a" else 1.0
        else:
            b, at_b = x, here
            at_a *= 0.5 if last_moved == "b" else 1.0
        last_moved = moved
    return b
