"""Numbers as given by the caller, checked once: finite, in range, of the right shape.

Arrays are accepted, not needed.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from sparkout.core.errors import OutOfRange, within

_FAR = 1e9


def one(
    argument: str, value: Any, low: float = -_FAR, high: float = _FAR, unit: str = "mm", *, above: bool = False
) -> float:
    """Return `value` as a finite float in range.

    Raises
    ------
    OutOfRange
        When it is not a number, not finite or out of range.

    Examples
    --------
    >>> one("gap", 0.03)
    0.03
    """
    try:
        number = float(value)
    except (TypeError, ValueError):
        raise OutOfRange(argument, value, "a number", unit) from None
    return within(argument, number, low, high, unit, above=above)


def row(
    argument: str, values: Iterable[Any], low: float = -_FAR, high: float = _FAR, unit: str = "mm", least: int = 1
) -> tuple[float, ...]:
    """Return the values as floats, each checked as by `one`; at least `least` of them.

    Examples
    --------
    >>> row("stations", [0, 250])
    (0.0, 250.0)
    """
    checked = tuple(one(f"{argument}[{i}]", value, low, high, unit) for i, value in enumerate(values))
    if len(checked) < least:
        raise OutOfRange(f"number of {argument}", len(checked), f"at least {least}")
    return checked


def rising(argument: str, values: Iterable[Any], most: int = 200, least: int = 2) -> tuple[float, ...]:
    """Return places along the length, each farther than the one before.

    Examples
    --------
    >>> rising("stations", [0.0, 250.0, 500.0])
    (0.0, 250.0, 500.0)
    """
    places = row(argument, values, least=least)
    if len(places) > most:
        raise OutOfRange(f"number of {argument}", len(places), f"{least} to {most}")
    for i, (before, after) in enumerate(pairwise(places), start=1):
        if after <= before:
            raise OutOfRange(f"{argument}[{i}]", after, f"above {before:g}", "mm")
    return places


def grid(
    argument: str, rows: Iterable[Iterable[Any]], columns: int, low: float = -_FAR
) -> tuple[tuple[float, ...], ...]:
    """Return a table of floats in which every row has `columns` entries.

    Examples
    --------
    >>> grid("heights", [[0, 1], [2, 3]], 2)
    ((0.0, 1.0), (2.0, 3.0))
    """
    table = tuple(row(f"{argument}[{i}]", values, low) for i, values in enumerate(rows))
    if not table:
        raise OutOfRange(f"number of rows in {argument}", 0, "at least 1")
    for i, values in enumerate(table):
        same_length(f"{argument}[{i}]", len(values), columns)
    return table


def same_length(argument: str, count: int, wanted: int) -> None:
    """Refuse when a sequence does not have as many entries as its partner.

    Examples
    --------
    >>> same_length("radius_mean", 3, 3)
    """
    if count != wanted:
        raise OutOfRange(f"number of values in {argument}", count, str(wanted))
