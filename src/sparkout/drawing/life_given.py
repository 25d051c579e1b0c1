"""What a drawn life is made of, checked once."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from sparkout.core.errors import OutOfRange
from sparkout.drawing.given import one

VERDICTS = ("conforms", "undecided", "does not conform")
KINDS = ("sand", "stone", "other", "photograph", "recording")
Pair = tuple[float, float]
"""A value with the half width of its 95 % interval, mm."""


class Sight(NamedTuple):
    """One visit: where it stands along the life, and each quantity as found and as left, None where not read.

    `href` leads to the visit, `row` to where several that stand too close together are listed.
    """

    at: float
    label: str
    diameter: tuple[Pair | None, Pair | None] = (None, None)
    land: tuple[Pair | None, Pair | None] = (None, None)
    height: tuple[Pair | None, Pair | None] = (None, None)
    lip: tuple[Pair | None, Pair | None] = (None, None)
    verdicts: tuple[str, str] = ("", "")
    """"conforms", "undecided", "does not conform", or nothing."""
    ground: bool = False
    href: str = ""
    row: str = ""


class Stretch(NamedTuple):
    """The visits between two swaps: lines are never drawn from one stretch to the next."""

    sights: Sequence[Sight]
    limit: float | None = None
    """Least diameter, mm."""


class Segment(NamedTuple):
    """What was in from when to when; None: from before, or still."""

    start: float | None
    stop: float | None
    label: str


class Happening(NamedTuple):
    """Sand, a stone, a photograph: one of `KINDS`."""

    at: float
    kind: str
    label: str
    href: str = ""


class Along(NamedTuple):
    """What runs along: its name, both ends, and the marks with their figures."""

    title: str
    low: float
    high: float
    marks: Sequence[tuple[float, str]]


def checked_axis(along: Along) -> Along:
    """Return the axis when its ends and marks are in order.

    Raises
    ------
    OutOfRange
        When the higher end is not above the lower, or a mark lies outside.
    """
    low, high = one("along low", along.low, unit=""), one("along high", along.high, unit="")
    if not low < high:
        raise OutOfRange("along high", high, f"above {low:g}")
    return Along(along.title, low, high, [(one("mark", at, low, high, ""), str(text)) for at, text in along.marks])


def checked_stretch(stretch: Stretch, along: Along) -> Stretch:
    """Return a stretch with its visits in order.

    Raises
    ------
    OutOfRange
        For a place outside the axis, a value that is not finite, or a word that is no verdict.
    """
    sights = []
    for sight in (Sight(*given) for given in stretch.sights):
        one("visit at", sight.at, along.low, along.high, "")
        for name in ("diameter", "land", "height", "lip"):
            for pair in getattr(sight, name):
                if pair is not None:
                    one(name, pair[0])
                    one(f"half width of {name}", pair[1], 0.0)
        for word in sight.verdicts:
            if word and word not in VERDICTS:
                raise OutOfRange("verdict", word, ", ".join(VERDICTS))
        sights.append(sight)
    limit = None if stretch.limit is None else one("limit", stretch.limit, 0.0, above=True)
    return Stretch(sorted(sights, key=lambda sight: sight.at), limit)


def checked_happening(happening: Happening, along: Along) -> Happening:
    """Return a happening when its place and kind are known.

    Raises
    ------
    OutOfRange
        When they are not.
    """
    one("happening at", happening.at, along.low, along.high, "")
    if happening.kind not in KINDS:
        raise OutOfRange("kind", happening.kind, ", ".join(KINDS))
    return Happening(*happening)
