"""Long arrays worked on in pieces that stay in a processor's own memory, on two threads where that pays."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

THREADS = 2
"""Most of the work is memory's; more threads gain little."""
FEWEST = 8
"""Pieces below which a thread costs more than it saves."""
Done = TypeVar("Done")


def pieces(size: int, at_once: int) -> list[slice]:
    """Return how to cut so many things.

    Examples
    --------
    >>> pieces(5, 2)
    [slice(0, 2, None), slice(2, 4, None), slice(4, 5, None)]
    """
    return [slice(start, min(start + at_once, size)) for start in range(0, size, at_once)]


def of_each(work: Callable[[slice], Done], cuts: Sequence[slice]) -> list[Done]:
    """Return what the work makes of each piece, in their order.

    Examples
    --------
    >>> of_each(lambda at: at.stop, pieces(5, 2))
    [2, 4, 5]
    """
    if len(cuts) < FEWEST:
        return [work(at) for at in cuts]
    shares = [cuts[len(cuts) * i // THREADS : len(cuts) * (i + 1) // THREADS] for i in range(THREADS)]
    with ThreadPoolExecutor(THREADS) as pool:
        return [done for share in pool.map(lambda share: [work(at) for at in share], shares) for done in share]
