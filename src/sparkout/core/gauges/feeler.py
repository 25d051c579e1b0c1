"""A feeler leaf goes or does not go: the gap is an interval, not a number."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, NamedTuple

from sparkout.core.errors import Contradiction, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from sparkout.core.measured import Measured

_WIDEST = 20.0
"""mm. A rest gap wider than this is no longer felt with leaves."""


class Interval(NamedTuple):
    """The gap lies between `low` and `high`, mm."""

    low: float
    high: float

    @property
    def middle(self) -> float:
        """Middle of the interval, mm."""
        return 0.5 * (self.low + self.high)

    @property
    def width(self) -> float:
        """Width of the interval, mm."""
        return self.high - self.low


def cone_from_rest_gap(gap: float) -> float:
    """Return the cone on diameter that a rest gap at one end shows, mm (the end with the gap is the small one).

    Equation: cone = 2 gap. The knife rests on the largest radius and its line stands parallel to the axis, so the
    gap is the difference of radii.

    Raises
    ------
    OutOfRange
        A gap below 0 or above 20 mm.

    Validity: bedknife laid on the reel, adjusters off, mounts holding its line parallel to the bearing axis. If they do
    not hold it parallel the test is blind to cone; and a bent frame or a bowed bedknife gives the same picture
    with no cone at all. Only a second, different reading tells them apart.

    Examples
    --------
    >>> cone_from_rest_gap(2.0)
    4.0

    References
    ----------
    Geometry, own working.
    """
    return 2.0 * within("gap", gap, 0.0, _WIDEST, "mm")


def _leaves(goes: float, does_not_go: float, leaf_u: float) -> tuple[float, float, float]:
    goes = within("goes", goes, 0.0, _WIDEST, "mm")
    does_not_go = within("does_not_go", does_not_go, 0.0, _WIDEST, "mm", above=True)
    leaf_u = within("leaf_u", leaf_u, 0.0, 1.0, "mm")
    if goes > does_not_go:
        raise Contradiction(
            ("goes", "does_not_go"),
            phrase(
                "a leaf of {goes:g} mm goes, so the thinner one of {does_not_go:g} mm must go too",
                goes=goes,
                does_not_go=does_not_go,
            ),
        )
    return goes, does_not_go, leaf_u


def gap_interval(goes: float, does_not_go: float, leaf_u: float, coverage_factor: float = 2.0) -> Interval:
    """Return the interval the gap lies in, each end moved out by k times the leaf's own uncertainty, mm.

    Equation: [max(0, goes - k u), does_not_go + k u].

    Parameters
    ----------
    goes : thickest leaf that goes, mm; 0 when none does.
    does_not_go : thinnest leaf that does not go, mm. One leaf in both places is a leaf that is just felt.
    leaf_u : standard uncertainty of a leaf, with the feel of the hand, mm.
    coverage_factor : k.

    Raises
    ------
    OutOfRange
        A leaf outside 0 to 20 mm, an uncertainty outside 0 to 1 mm.
    Contradiction
        The leaf that goes is thicker than the one that does not.

    Validity: edges clean and burr-free; a leaf bends round the helix and is felt, not read. Leaves cannot prove
    a band narrower than the step between them.

    Examples
    --------
    >>> gap_interval(0.05, 0.08, 0.0)
    Interval(low=0.05, high=0.08)

    References
    ----------
    Own working; k = 2 as usual for about 95 % (NIST TN 1297 section 6.2).
    """
    goes, does_not_go, leaf_u = _leaves(goes, does_not_go, leaf_u)
    wider = within("coverage_factor", coverage_factor, 0.0, 10.0) * leaf_u
    return Interval(max(0.0, goes - wider), does_not_go + wider)


def gap_from_leaves(goes: float, does_not_go: float, leaf_u: float) -> Measured:
    """Return the gap with its standard uncertainty from the leaf that goes and the leaf that does not, mm.

    Equation: value = (goes + does_not_go) / 2; u² = (does_not_go - goes)² / 12 + leaf_u².

    Parameters
    ----------
    goes, does_not_go, leaf_u : as `gap_interval`.

    Raises
    ------
    OutOfRange, Contradiction
        As `gap_interval`.

    Validity: nothing known of where between the leaves the gap lies (rectangular); as `gap_interval`.

    Examples
    --------
    >>> gap = gap_from_leaves(0.05, 0.08, 0.005)
    >>> round(gap.value, 3), round(gap.u, 3)
    (0.065, 0.01)

    References
    ----------
    JCGM 100:2008 4.3.7 (from memory): rectangular between two limits.
    """
    from sparkout.core.measured import Measured

    goes, does_not_go, leaf_u = _leaves(goes, does_not_go, leaf_u)
    return Measured(0.5 * (goes + does_not_go), math.hypot((does_not_go - goes) / math.sqrt(12.0), leaf_u))
