"""Accurate numerical derivatives, for uncertainty and for fits."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeVar

import numpy as np

from sparkout.core.errors import OutOfRange
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

Result = TypeVar("Result", float, "NDArray[np.float64]")

_SHRINK = 2.0


def slope(function: Callable[[float], Result], x: float, scale: float) -> Result:
    """Return the derivative of `function` at x, one number or an array like what the function returns.

    Equation: central differences at steps scale / 2^i, extrapolated to step zero; the entry of the table that
    changes least against its neighbours is returned, which stops before rounding takes over.

    Parameters
    ----------
    function : smooth within `scale` of x.
    x : where.
    scale : first step, above 0; a distance over which the function bends noticeably or not at all.

    Raises
    ------
    OutOfRange
        The function is not finite there.

    Validity: usually good to 11 or 12 digits; a kink within `scale` spoils it.

    Examples
    --------
    >>> import math
    >>> abs(slope(math.exp, 1.0, 0.5) - math.e) < 1e-11
    True

    References
    ----------
    Ridders, Advances in Engineering Software 4(2) (1982) 75-76 (from memory).
    """
    best: Result | None = None
    least = np.inf
    above: list[Result] = []
    for i in range(10):
        step = scale / _SHRINK**i
        row = [(function(x + step) - function(x - step)) / (2.0 * step)]
        for j, earlier in enumerate(above):
            factor = _SHRINK ** (2 * (j + 1))
            row.append((row[j] * factor - earlier) / (factor - 1.0))
            doubt = max(float(np.max(np.abs(row[j + 1] - row[j]))), float(np.max(np.abs(row[j + 1] - earlier))))
            if doubt <= least:
                best, least = row[j + 1], doubt
        if above and float(np.max(np.abs(row[-1] - above[-1]))) >= 2.0 * least:
            break
        above = row
    if best is None:
        raise OutOfRange("function", "not finite", phrase("finite values within {scale:g} of {x:g}", scale=scale, x=x))
    return best
