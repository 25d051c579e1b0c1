"""The stubble a moving knife leaves: the swept-leaf model. Imports `math` only."""

from __future__ import annotations

import math
from typing import NamedTuple  # not a dataclass: importing those would double the start-up of a quick sum

from sparkout.core.errors import within
from sparkout.core.phrase import phrase

STANDING = phrase(
    "A model without a field trial: leaf stiffness, lean and shading are left out. Use it to rank, not to predict."
)
"""Stands beside every result of `stubble`."""


class Stubble(NamedTuple):
    """Leaf lengths left within one clip, mm."""

    longest: float
    spread: float
    """Longest less shortest; the shortest is the height of cut."""
    mean: float
    standing: str = STANDING


def stubble(height_of_cut: float, clip: float) -> Stubble:
    """Return the longest leaf, the spread and the mean length left by one blade pass, mm.

    Equation: a leaf rooted s ahead of the edge, 0 <= s < F, is drawn back and cut at sqrt(H^2 + s^2). Longest at s = F;
    mean = (sqrt(H^2 + F^2) + (H^2/F) asinh(F/H)) / 2.

    Parameters
    ----------
    height_of_cut
        H of the knife edge above the ground the leaf is rooted in, mm.
    clip
        F, mm.

    Raises
    ------
    OutOfRange
        When either is not above 0.

    Validity: a model without a field trial (see `STANDING`).

    Examples
    --------
    >>> cut = stubble(4.0, 4.0)
    >>> round(cut.longest, 3), round(cut.spread, 3), round(cut.mean, 3)
    (5.657, 1.657, 4.591)

    References
    ----------
    Geometry, own working; no published model of a reel's stubble was found.
    """
    height = within("height_of_cut", height_of_cut, 0.0, 500.0, "mm", above=True)
    travel = within("clip", clip, 0.0, 10_000.0, "mm", above=True)
    longest = math.hypot(height, travel)
    mean = 0.5 * (longest + height * (math.asinh(travel / height) / (travel / height)))
    return Stubble(longest, travel * travel / (longest + height), mean)
