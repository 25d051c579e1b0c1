"""Two ways of working compared on a workshop's own edges: how many times as long they last, and what would tell."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from sparkout.core.errors import NotEnough
from sparkout.core.phrase import Phrase, counted, phrase
from sparkout.core.season.edge_life import Compared, EdgeLife, compared, edge_life

FEWEST = 3
"""Edges that went blunt with each way, below which nothing is compared: a spread cannot be told from fewer."""


@dataclass(frozen=True, slots=True)
class EdgeCut:
    """One edge: which way it was made, hours it cut, and whether it went blunt (False: still cutting, or taken off)."""

    way: str
    hours: float
    blunt: bool


@dataclass(frozen=True, slots=True)
class WaysTold:
    """The comparison: medians by way, the ratio with its interval, and it in words."""

    first: str
    second: str
    median_first: float
    median_second: float
    life: EdgeLife
    compared: Compared
    words: Phrase


def ways_compared(
    edges: Sequence[EdgeCut], first: str, second: str, to_tell: float = 1.25, confidence: float = 0.95
) -> WaysTold:
    """Return how long edges made the second way last against those made the first way, from their recorded hours.

    Weibull regression with right-censoring on one column that is 1 for the second way (`edge_life`, `compared`).

    Parameters
    ----------
    edges : of any ways; those of the two are taken
    to_tell : the least ratio worth telling
    confidence : of the interval

    Raises
    ------
    NotEnough
        Fewer than three edges that went blunt with either way, named with how many more.
    OutOfRange
        Hours not above 0, `to_tell` not above 1.

    Examples
    --------
    >>> edges = [EdgeCut("spin", h, True) for h in (20, 24, 31, 36)]
    >>> edges += [EdgeCut("both", h, True) for h in (26, 33, 38, 48)]
    >>> told = ways_compared(edges, "spin", "both")
    >>> told.words
    'not yet: about 9 more sharpenings would tell 1.31 times'

    Validity: as `edge_life`; which edge got which way had nothing to do with how it would have lasted anyway.

    Source: as `edge_life`.
    """
    mine = [edge for edge in edges if edge.way in (first, second)]
    for way in (first, second):
        blunt = sum(edge.blunt for edge in mine if edge.way == way)
        if blunt < FEWEST:
            more = counted(FEWEST - blunt, "{n} more edge that went blunt", "{n} more edges that went blunt")
            raise NotEnough(phrase("edges of {way}", way=way), more)
    columns = [[1.0, float(edge.way == second)] for edge in mine]
    life = edge_life([edge.hours for edge in mine], [edge.blunt for edge in mine], columns, ("all", second))
    found = compared(life, second, to_tell, confidence)
    return WaysTold(first, second, life.life([1, 0]), life.life([1, 1]), life, found, _words(first, second, found))


def _words(first: str, second: str, found: Compared) -> Phrase:
    if not found.told_apart:
        return still_wanted(found)
    longer = phrase("edges of {second} last longer than those of {first}", first=first, second=second)
    shorter = phrase("edges of {second} last less long than those of {first}", first=first, second=second)
    return longer if found.ratio > 1.0 else shorter


def still_wanted(found: Compared) -> Phrase:
    """Return how many more sharpenings would tell two ways apart."""
    return counted(
        found.more_sharpenings,
        "not yet: about {n} more sharpening would tell {ratio} times",
        "not yet: about {n} more sharpenings would tell {ratio} times",
        ratio=f"{found.to_tell:.2f}",
    )
