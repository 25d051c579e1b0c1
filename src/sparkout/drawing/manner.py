"""The manner a picture speaks in: words, number formats, size and the prefix of its ids."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypedDict

from sparkout.core.errors import within
from sparkout.drawing.svg import checked_prefix
from sparkout.drawing.text import hard
from sparkout.drawing.words import WORDS

Format = Callable[[float], str]


def millimetres(value: float) -> str:
    """Return a length as plain text in mm: what is shown when no format is passed.

    Examples
    --------
    >>> millimetres(-0.05)
    '−0.05 mm'
    """
    return f"{value:.6g} mm".replace("-", "−")


def degrees(value: float) -> str:
    """Return an angle given in rad as plain text in degrees.

    Examples
    --------
    >>> degrees(0.7853981633974483)
    '45°'
    """
    return f"{math.degrees(value):.4g}°".replace("-", "−")


def percent(value: float) -> str:
    """Return a share (0 to 1) as plain text in percent.

    Examples
    --------
    >>> percent(0.125)
    '12.5 %'
    """
    return f"{100 * value:.3g} %"


class Manners(TypedDict, total=False):
    """The keyword arguments that every picture takes; all may be left out."""

    words: Mapping[str, str]
    """Replaces words of `WORDS`; `reel` and `knife` alone change the vocabulary."""
    length: Format
    """mm to shown text, number and unit with a blank between."""
    place: Format
    """mm along the reel to shown text; as `length` when not given."""
    angle: Format
    """rad to shown text."""
    share: Format
    """0 to 1 to shown text."""
    unit: float
    """mm in one shown unit (25.4 for inches), so that scale marks fall on round figures."""
    prefix: str
    """Prefix of the picture's ids; give each picture on a page its own."""
    width: float
    """Width of the picture, in px of its view box: 390 is a phone."""
    titled: bool
    """False where the page already names the picture: no heading is drawn."""


@dataclass(frozen=True, slots=True)
class Manner:
    """What `Manners` came to after checks and defaults."""

    words: Mapping[str, str]
    length: Format
    place: Format
    angle: Format
    share: Format
    unit: float
    prefix: str
    width: float
    titled: bool

    def say(self, key: str, **values: str) -> str:
        """Return the text for a key, with the trade words and the values filled in.

        Examples
        --------
        >>> manner_of("p", {"words": {"reel": "reel"}}).say("unrolled")
        'The reel unrolled'
        """
        text = self.words[key]
        for name in ("reel", "knife"):
            text = text.replace("{" + name + "}", self.words[name])
        for name, value in values.items():
            text = text.replace("{" + name + "}", hard(value))
        return text[:1].upper() + text[1:] if self.words[key].startswith(("{reel}", "{knife}")) else text

    def figure(self, value: float) -> str:
        """Return a length without its unit, for places where the unit stands beside.

        Examples
        --------
        >>> manner_of("p", {}).figure(0.05)
        '0.05'
        """
        return _parted(self.length(value))[0]

    def unit_name(self, value: float) -> str:
        """Return the unit that the length format writes, or nothing.

        Examples
        --------
        >>> manner_of("p", {}).unit_name(0.05)
        'mm'
        """
        return _parted(self.length(value))[1]


def _parted(shown: str) -> tuple[str, str]:
    head, _, tail = shown.rpartition(" ")
    return (head, tail) if head and not any(letter.isdigit() for letter in tail) else (shown, "")


def manner_of(prefix: str, given: Manners) -> Manner:
    """Return the manner for the keywords given, with `prefix` where none was given.

    Raises
    ------
    OutOfRange
        For a width outside 320 to 2000, a unit of 0 or less, or a prefix that cannot begin an id.

    Examples
    --------
    >>> manner_of("cone", {"width": 520}).width
    520.0
    """
    return Manner(
        {**WORDS, **given.get("words", {})},
        given.get("length", millimetres),
        given.get("place", given.get("length", millimetres)),
        given.get("angle", degrees),
        given.get("share", percent),
        within("unit", given.get("unit", 1.0), 0.0, 1e6, "mm", above=True),
        checked_prefix(given.get("prefix", prefix)),
        within("width", given.get("width", 390.0), 320.0, 2000.0, "px"),
        given.get("titled", True),
    )
