"""What was typed, kept beside what it means: quantities and places along the reel."""

from __future__ import annotations

from typing import Any

from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.units import KINDS, could_be, from_core, split, to_core

Typed = str | int | float


class Entered(float):
    """A quantity in core units (mm, s, rad, K, N, kg) that remembers how it was typed.

    It is a float in every sum; `typed` is what the file said, so that writing the file again loses nothing.

    Examples
    --------
    >>> gap = Entered(0.0508, "2 thou")
    >>> gap * 2, gap.text
    (0.1016, '2 thou')
    """

    __slots__ = ("typed",)

    typed: Typed

    def __new__(cls, value: float, typed: Typed | None = None) -> Entered:
        """Return the quantity; without `typed` the number itself stands for the text."""
        self = super().__new__(cls, value)
        self.typed = float(value) if typed is None else typed
        return self

    def __getnewargs__(self) -> Any:
        return float(self), self.typed

    def __repr__(self) -> str:
        return f"Entered({float(self)!r}, {self.typed!r})"

    @property
    def text(self) -> str:
        """The quantity as typed."""
        return str(self.typed)

    @property
    def unit(self) -> str:
        """The unit as typed; empty when the number stood alone."""
        return split(self.typed)[1] if isinstance(self.typed, str) else ""

    @property
    def number(self) -> float:
        """The number as typed, before its unit."""
        return split(self.typed)[0] if isinstance(self.typed, str) else float(self.typed)


_WORDS = {
    "left": 0.0,
    "left end": 0.0,
    "left quarter": 0.25,
    "centre": 0.5,
    "center": 0.5,
    "middle": 0.5,
    "right quarter": 0.75,
    "right": 1.0,
    "right end": 1.0,
}
PLACE_WORDS = tuple(_WORDS)


class Place:
    """A station along the reel: a word, or a length from the left end.

    Left is the left hand of an operator behind the machine, facing travel.

    Examples
    --------
    >>> Place("centre").along(533), Place("5 in", 127.0).along(533)
    (266.5, 127.0)
    """

    __slots__ = ("distance", "typed")

    def __init__(self, typed: Typed, distance: float | None = None) -> None:
        self.typed = typed
        self.distance = distance

    def along(self, length: float) -> float:
        """Return the distance from the left end of a reel of this length, mm."""
        return _WORDS[str(self.typed).strip().lower()] * length if self.distance is None else self.distance

    @property
    def text(self) -> str:
        """The place as typed."""
        return str(self.typed)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Place) and (self.distance, self.typed) == (other.distance, other.typed)

    def __hash__(self) -> int:
        return hash((self.distance, self.typed))

    def __repr__(self) -> str:
        return f"Place({self.typed!r})"


LIKELY = {"length": ("mm", "in", "thou", "µm", "cm", "m"), "angle": ("deg", "rad")}
"""Units in which a bare number is sometimes meant in a workshop, likeliest first."""


def perhaps_meant(number: float, kind: str, low: float, high: float) -> str:
    """Return 'did you mean ...?' naming the units in which the bare number would be in range, or nothing.

    Examples
    --------
    >>> perhaps_meant(5, "length", 40, 600)
    'Did you mean 5 in (127 mm) or 5 cm (50 mm)?'
    """
    likely = LIKELY.get(kind, tuple(KINDS[kind].units))
    fitting = [unit for unit in likely if unit in could_be(number, kind, low, high)]
    usual = KINDS[kind].metric
    named: list[str] = []
    for unit in fitting[:3]:
        own = AsTyped(f"{number:g} {unit}".strip())  # as it would be typed: a reader in inches is not told another
        there = from_core(to_core(number, kind, unit), kind, usual)
        named.append(own if unit == usual else phrase("{own} ({there})", own=own, there=f"{there:g} {usual}"))
    return phrase("Did you mean {meant}?", meant=joined(" or ", named)) if named else ""
