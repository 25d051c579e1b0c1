"""The stubble map: what a real reel, with its run-out, cone and helix, leaves on a strip of turf as it bounces along.

The model. The knife's edge runs level over the ground at a height H that bounce and rollers change. A blade meets the
edge at one place after another along the reel (the helix), and again one clip later the next blade does. At a meeting
a leaf rooted s ahead of the edge is drawn back and cut at sqrt(H² + s²) (`cut.stubble`), if the gap between this blade
and the knife at this place is small enough for the leaf: below `clean` every leaf is cut, above `folds` none is, and in
between the share falls in a straight line. What one blade misses the blades before it had cut longer, as far ahead as
standing grass reaches back to the edge. So a low blade leaves a longer rib once per turn, and a cone that the knife
does not follow leaves a strip that gets longer towards the small end.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.cut.clip import clip
from sparkout.core.errors import Contradiction, OutOfRange, all_within, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.reel.geometry import Reel

STANDING = phrase(
    "A model without a field trial: straight limp leaves, each by itself, on even turf. It shows which pattern a fault "
    "makes and which of two faults is worse; it does not foretell how long the grass will be."
)
"""Stands beside every map."""
_ROWS = 8
"""Rows of the map worked on at a time, so that they stay in the processor's cache."""


@dataclass(frozen=True, slots=True)
class LeafGap:
    """The gap between blade and knife up to which every leaf is cut, and from which none is, mm.

    The figures to start from are from memory and untried: a leaf of fine turf is some 0.1 to 0.2 mm thick, a gap of
    0.05 mm still cuts it and one of 0.2 mm folds it.
    """

    clean: float = 0.05
    folds: float = 0.2

    def __post_init__(self) -> None:
        within("clean", self.clean, 0.0, 5.0, "mm")
        within("folds", self.folds, 0.0, 5.0, "mm")
        if self.clean > self.folds:
            raise Contradiction(("clean", "folds"), phrase("the first must not be above the second"))

    def share_cut(self, gap: NDArray[np.float64]) -> NDArray[np.float64]:
        """Share of leaves cut at a gap; where both gaps are the same, all of them up to it and none above.

        Examples
        --------
        >>> LeafGap(0.05, 0.15).share_cut(np.array([0.0, 0.1, 0.3])).round(6).tolist()
        [1.0, 0.5, 0.0]
        """
        if self.clean == self.folds:
            return np.where(gap <= self.clean, 1.0, 0.0)
        return np.clip((self.folds - gap) / (self.folds - self.clean), 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Wave:
    """A wave of the knife's height along the ground: H + amplitude sin(2 pi X / pitch + phase), mm and rad.

    Bounce has the pitch v / f, a roller out of round its circumference.
    """

    amplitude: float
    pitch: float
    phase: float = 0.0

    def __post_init__(self) -> None:
        within("amplitude", self.amplitude, 0.0, 100.0, "mm")
        within("pitch", self.pitch, 1.0, 1e6, "mm")
        within("phase", self.phase, -1e3, 1e3, "rad")


@dataclass(frozen=True, slots=True)
class Mowing:
    """How the strip is mown: speeds (mm/s, rad/s), height of cut at either end, waves of it, standing grass, mm."""

    travel_speed: float
    reel_speed: float
    height_left: float
    height_right: float
    standing_grass: float
    waves: tuple[Wave, ...] = ()
    leaf_gap: LeafGap = LeafGap()

    def __post_init__(self) -> None:
        within("height_left", self.height_left, 0.0, 500.0, "mm", above=True)
        within("height_right", self.height_right, 0.0, 500.0, "mm", above=True)
        highest = max(self.height_left, self.height_right)
        within("standing_grass", self.standing_grass, highest, 1_000.0, "mm")
        deepest = min(self.height_left, self.height_right) - math.fsum(wave.amplitude for wave in self.waves)
        if deepest <= 0.0:
            raise Contradiction(("height of cut", "waves"), phrase("the knife would dip into the ground"))


@dataclass(frozen=True, slots=True, eq=False)
class StubbleMap:
    """Length of leaf left (A, T) at places across (A,) and along travel (T,), mm; where several lengths stand together,
    their root mean square."""

    across: NDArray[np.float64]
    along: NDArray[np.float64]
    length: NDArray[np.float32]
    clip: float
    standing: str = STANDING


def knife_over(radius: NDArray[np.float64], x: NDArray[np.float64], gap: float = 0.0) -> NDArray[np.float64]:
    """Return the knife edge's distance from the axis at stations, mm: set as close as a straight edge can be.

    Equation: of all straight lines nowhere nearer the axis than the highest blade plus `gap`, the one lowest at the
    middle of the length (which is the one of least mean gap).

    Parameters
    ----------
    radius
        r of every blade at every station, mm, shape (N, S).
    x
        Stations, mm, rising, shape (S,), 2 or more.
    gap
        Least gap, mm, 0 or more.

    Raises
    ------
    OutOfRange
        For values that are not finite, fewer than two stations or shapes that do not match.

    Examples
    --------
    A cone is followed, a hollow is not:

    >>> x = np.array([0.0, 250.0, 500.0])
    >>> knife_over(np.array([[63.0, 62.9, 62.8]]), x).round(3).tolist()
    [63.0, 62.9, 62.8]
    >>> knife_over(np.array([[63.0, 62.9, 63.0]]), x).round(3).tolist()
    [63.0, 63.0, 63.0]

    References
    ----------
    Own working: the line through the side of the upper hull that stands over the middle.
    """
    places = all_within("x", x)
    heights = all_within("radius", radius, 20.0, 400.0, "mm")
    if heights.ndim != 2 or places.ndim != 1 or heights.shape[1] != len(places) or len(places) < 2:
        raise OutOfRange("radius", heights.shape, phrase("(blades, stations) with 2 stations or more"))
    if (np.diff(places) <= 0.0).any():
        raise OutOfRange("x", places.tolist(), phrase("each farther than the one before"), "mm")
    highest = heights.max(axis=0) + within("gap", gap, 0.0, 20.0, "mm")
    middle = 0.5 * (places[0] + places[-1])
    left, right = places <= middle, places > middle
    run = places[right][None, :] - places[left][:, None]
    slope = (highest[right][None, :] - highest[left][:, None]) / run
    at_middle = highest[left][:, None] + slope * (middle - places[left][:, None])
    over = np.unravel_index(int(at_middle.argmax()), at_middle.shape)
    line: NDArray[np.float64] = at_middle[over] + slope[over] * (places - middle)
    return line


def stubble_map(
    reel: Reel,
    gap: ArrayLike,
    stations: ArrayLike,
    mowing: Mowing,
    *,
    travelled: float = 2000.0,
    step: float = 0.5,
    width: float | None = None,
) -> StubbleMap:
    """Return the stubble left on a strip, mm, place by place.

    Equation: blade k mod N meets the knife at place x when the edge is at X_k(x) = F k + F N x tan(beta) / (2 pi R).
    It reaches leaves rooted up to sqrt(S² - H0²) ahead, S the standing grass and H0 the level height of cut there. With
    q_k the share of leaves it cuts, the mean square length of the leaves rooted s ahead of the last meeting is
    sum over d of w_d (H_(k-d)² + (s + d F)²) + w S², d counting the meetings back that still reached them,
    w_d = q_(k-d) prod_(j<d) (1 - q_(k-j)), w what is left. That is a parabola in s on either side of where one meeting
    fewer reaches, so two times three numbers per meeting and place say all. The map is its root, never above S.

    Parameters
    ----------
    reel
        N, nominal diameter, length and helix angle.
    gap
        Between each blade and the knife, mm, shape (N, S): `knife_over(r, x) - r`. Negative counts as contact.
    stations
        Places of the gaps along the reel from the left end, mm, shape (S,), rising; straight lines between them, level
        beyond.
    mowing
        Speeds, heights, waves, leaves.
    travelled, step, width
        Length and grid of the strip and its width from the left end (the reel's length when left out), mm.

    Raises
    ------
    OutOfRange
        For values outside their range, shapes that do not match, a step above half the clip (the ribs would not be
        seen), more than 20 million places, or waves that lift the knife so fast that a blade would meet leaves already
        shorter than it leaves them.

    Validity: see `STANDING`. Exact for the model where every blade either cuts all or none. In between (where bobbing
    also moves the reach by a little) the root mean
    square stands for the mean, which is less: at the worst by 1 - 2 sqrt(rho)/(1 + rho), rho the longest leaf over the
    shortest (13 % at three).

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> reel = Reel(11, 127.0, 500.0, math.radians(20.0))
    >>> mowing = Mowing(1250.0, 50 * math.pi, 4.0, 4.0, 12.0)
    >>> strip = stubble_map(reel, np.zeros((11, 2)), [0.0, 500.0], mowing, travelled=100.0)
    >>> strip.length.shape, round(float(strip.length.min()), 2), round(float(strip.length.max()), 2)
    ((1000, 200), 4.0, 6.05)

    References
    ----------
    Own working on the swept-leaf model; no published model of a reel's stubble was found.
    """
    places = all_within("stations", stations)
    gaps = all_within("gap", gap, -20.0, 50.0, "mm")
    if gaps.shape != (reel.blade_count, len(places)):
        wanted = phrase("({blades}, {stations}): blades x stations", blades=reel.blade_count, stations=len(places))
        raise OutOfRange("gap", gaps.shape, wanted)
    if (np.diff(places) <= 0.0).any():
        raise OutOfRange("stations", places.tolist(), phrase("each farther than the one before"), "mm")
    travel = clip(mowing.travel_speed, reel.blade_count, mowing.reel_speed)
    spacing = within("step", step, 0.01, 0.5 * travel, "mm")
    wide = within("width", reel.length if width is None else width, spacing, reel.length, "mm")
    long = within("travelled", travelled, spacing, 1e5, "mm")
    size = round(wide / spacing), round(long / spacing)
    within("places on the map", size[0] * size[1], 1, 2e7)
    across, along = _middles(size[0], spacing), _middles(size[1], spacing)
    lead = across * (travel * reel.blade_count * math.tan(reel.helix_angle) / (2.0 * math.pi * reel.radius))
    level = mowing.height_left + (mowing.height_right - mowing.height_left) * across / reel.length
    reach = np.sqrt(mowing.standing_grass**2 - level**2)
    back = math.floor(float(reach.max()) / travel) + 1
    first = math.floor(-float(lead.max()) / travel) - back
    meetings = np.arange(first, math.floor((long - float(lead.min())) / travel) + 1)
    height = _heights(mowing.waves, level, travel * meetings[:, None] + lead[None, :], travel)
    share = mowing.leaf_gap.share_cut(np.array([np.interp(across, places, row) for row in gaps]))
    parabolas = _parabolas(share[meetings % reel.blade_count], height, reach / travel, mowing.standing_grass, travel)
    length = np.empty((size[0], size[1]), dtype=np.float32)
    for start in range(0, size[0], _ROWS):
        rows = slice(start, start + _ROWS)
        _roots(parabolas[:, rows], lead[rows] / travel + first, along / travel, reach[rows] / travel, length[rows])
    np.minimum(length, mowing.standing_grass, out=length)
    return StubbleMap(across, along, length, travel)


def _middles(count: int, step: float) -> NDArray[np.float64]:
    places: NDArray[np.float64] = (np.arange(count, dtype=np.float64) + 0.5) * step
    return places


def _heights(
    waves: tuple[Wave, ...], level: NDArray[np.float64], edge: NDArray[np.float64], travel: float
) -> NDArray[np.float64]:
    """Height of the edge at every meeting and place across (K, A)."""
    height = np.broadcast_to(level, edge.shape).copy()
    for wave in waves:
        height += wave.amplitude * np.sin(2.0 * math.pi / wave.pitch * edge + wave.phase)
    rise = float((height[1:] ** 2 - height[:-1] ** 2).max()) if waves else 0.0
    if rise > travel * travel:
        allowed = phrase("at most {most:.6g}", most=travel**2)
        raise OutOfRange(phrase("largest rise of the square of the height in one clip"), rise, allowed, "mm²")
    return height


def _parabolas(
    share: NDArray[np.float64], height: NDArray[np.float64], reach: NDArray[np.float64], standing: float, travel: float
) -> NDArray[np.float64]:
    """Numbers (a, b, c) of a + b s + c s², s and `reach` in clips, after every meeting at every place across.

    Shape (3, A, 2 K): K for s below the part of a clip that the reach has over whole clips, and K for s from there on,
    where one meeting fewer reaches. The first meetings of all have none before them: they are there to be looked back
    upon.
    """
    meetings, places = share.shape
    full = np.floor(reach)
    found = np.empty((3, places, 2 * meetings))
    sums = np.zeros((3, meetings, places))
    left = np.ones_like(share)
    for d in range(int(full.max()) + 1):
        there = full == d
        found[:, there, meetings:] = _with_standing(sums, left, standing, there)
        cut = left[d:] * share[: meetings - d]
        sums[0, d:] += cut * (height[: meetings - d] ** 2 + (d * travel) ** 2)
        sums[1, d:] += cut * (2.0 * d * travel * travel)
        sums[2, d:] += cut * (travel * travel)
        left[d:] -= cut
        found[:, there, :meetings] = _with_standing(sums, left, standing, there)
    return found


def _with_standing(
    sums: NDArray[np.float64], left: NDArray[np.float64], standing: float, there: NDArray[np.bool_]
) -> NDArray[np.float64]:
    whole = sums[:, :, there]
    whole[0] += left[:, there] * (standing * standing)
    return whole.transpose(0, 2, 1)


def _roots(
    parabolas: NDArray[np.float64],
    behind: NDArray[np.float64],
    along: NDArray[np.float64],
    reach: NDArray[np.float64],
    out: NDArray[np.float32],
) -> None:
    """Write the root of the parabola that holds at each place into `out`; all lengths in clips.

    `behind` is where meeting 0 of the parabolas stands for each row.
    """
    ahead = along[None, :] - behind[:, None]
    index = ahead.astype(np.intp)  # never negative: meetings begin before the strip
    ahead -= index
    meetings = parabolas.shape[2] // 2
    index += meetings * (ahead >= (reach - np.floor(reach))[:, None])
    index += (np.arange(len(behind)) * 2 * meetings)[:, None]
    square = np.take(parabolas[2], index)
    square *= ahead
    square += np.take(parabolas[1], index)
    square *= ahead
    square += np.take(parabolas[0], index)
    np.sqrt(square, out=out, casting="same_kind")
