"""The few ways a calculation can refuse.

Every refusal is a `Refusal`, so a door catches one class and shows its text; nothing else that the core
raises on purpose is meant for a user.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, joined, phrase

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    import numpy as np
    from numpy.typing import ArrayLike, NDArray


class Refusal(ValueError):
    """The question cannot be answered as asked; the text says why and what would help."""

    @property
    def words(self) -> str:
        """The text as it was made, so that it can be told in another language (`str` of an error forgets how)."""
        return self.args[0] if self.args and isinstance(self.args[0], str) else str(self)


class OutOfRange(Refusal):
    """An argument lies outside what the calculation is valid for."""

    def __init__(self, argument: str, value: object, allowed: str, unit: str = "") -> None:
        self.argument = argument
        self.value = value
        self.allowed = allowed
        self.unit = unit
        spaced = f" {unit}" if unit else ""
        shown = f"{value:.6g}" if isinstance(value, float) else repr(value)
        super().__init__(
            phrase(
                "{argument} is {value}; allowed: {allowed}",
                argument=argument,
                value=AsTyped(shown + spaced),
                allowed=phrase("{allowed} {unit}", allowed=allowed, unit=unit) if unit else allowed,
            )
        )


class NotEnough(Refusal):
    """Too little is known; `wanted` names what would make an answer possible."""

    def __init__(self, what: str, wanted: str) -> None:
        self.what = what
        self.wanted = wanted
        super().__init__(phrase("{what} cannot be told yet; wanted: {wanted}", what=what, wanted=wanted))


class Contradiction(Refusal):
    """Two things entered cannot both be true; `between` names them."""

    def __init__(self, between: Sequence[str], why: str) -> None:
        self.between = tuple(between)
        super().__init__(
            phrase("{between} contradict each other: {why}", between=joined(" and ", self.between), why=why)
        )


class BelowServiceLimit(Refusal):
    """The plan asked for would leave the part below its limit; `instead` says what would be possible."""

    def __init__(self, what: str, instead: str) -> None:
        self.what = what
        self.instead = instead
        super().__init__(phrase("{what}. Instead: {instead}", what=what, instead=instead))


def _allowed(low: float, high: float, above: bool) -> str:
    if math.isinf(low):
        return phrase("at most {high:g}", high=high)
    if math.isinf(high):
        return phrase("above {low:g}", low=low) if above else phrase("at least {low:g}", low=low)
    if above:
        return phrase("above {low:g} up to {high:g}", low=low, high=high)
    return phrase("{low:g} to {high:g}", low=low, high=high)


def within(
    argument: str,
    value: float,
    low: float = -math.inf,
    high: float = math.inf,
    unit: str = "",
    *,
    above: bool = False,
) -> float:
    """Return `value` as a float when it is finite and lies in [low, high]; with `above`, in (low, high].

    Raises
    ------
    OutOfRange
        Naming the argument, its value, the allowed range and the unit.

    Examples
    --------
    >>> within("blade_length", 533, 50, 2000, "mm")
    533.0
    """
    number = float(value)
    if not math.isfinite(number) or number < low or number > high or (above and number == low):
        raise OutOfRange(argument, number, _allowed(low, high, above), unit)
    return number


def all_within(
    argument: str,
    values: ArrayLike,
    low: float = -math.inf,
    high: float = math.inf,
    unit: str = "",
    *,
    above: bool = False,
) -> NDArray[np.float64]:
    """Return `values` as a float array when all are finite and in range; the first that is not is named.

    Raises
    ------
    OutOfRange
        As `within`, with the position of the first offender.
    """
    import numpy as np

    array = np.asarray(values, dtype=np.float64)
    if array.size == 0:
        return array
    least, most = float(array.min()), float(array.max())  # not a number where one of them is not
    if math.isfinite(least) and math.isfinite(most) and low <= least and most <= high and not (above and least == low):
        return array
    bad = ~np.isfinite(array) | (array < low) | (array > high)
    if above:
        bad |= array == low
    at = tuple(int(i) for i in np.argwhere(bad)[0])
    place = f"{argument}[{', '.join(map(str, at))}]" if at else argument
    raise OutOfRange(place, float(array[at]), _allowed(low, high, above), unit)


def did_you_mean(typed: str, known: Iterable[str]) -> str:
    """Return "did you mean ...?" for a word close to a known one, else the list of what is known."""
    import difflib  # slow to import, and only wanted when something is wrong

    names = list(known)
    close = difflib.get_close_matches(typed, names, 1)
    if close:
        return phrase("did you mean {closest}?", closest=AsTyped(close[0]))
    return phrase("known: {names}", names=AsTyped(", ".join(names)))
