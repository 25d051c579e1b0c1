"""Long arrays worked on in pieces that stay in a processor's own memory.

On one thread: most of the work is memory's, and two were no faster.
"""

from __future__ import annotations


def pieces(size: int, at_once: int) -> list[slice]:
    """Return how to cut so many things.

    Examples
    --------
    >>> pieces(5, 2)
    [slice(0, 2, None), slice(2, 4, None), slice(4, 5, None)]
    """
    return [slice(start, min(start + at_once, size)) for start in range(0, size, at_once)]
