"""What a faultless gauge shows of a virtual unit, by drawing the reel and laying the gauge on it.

No closed form of `core/gauges/` is used: the tape goes round the convex hull of the drawn outline, jaws close on it,
a knife is lowered until it touches.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import OutOfRange, all_within, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.practice.virtual_unit import VirtualUnit

_POINTS_PER_LAND = 65
"""Odd, so that the middle of a land is one of the points."""
_GRID = 2001
"""Stations on which the resting knife seeks its contact; odd, so that the middle is one of them."""


def outline(unit: VirtualUnit, x: float) -> NDArray[np.float64]:
    """Return points of the section at station x that a gauge can touch: edges and lands, shape (N * 65, 2), mm.

    Every edge stands at centre + (r - centre . u) u, which keeps r to the square of the centre's offset, so that an
    offset moves the drawn reel without bending it. A land follows the arc about that centre from the edge
    backwards. Blades are counted against rotation, so backwards is the way the blade angle grows; an arc square to
    the axis is longer than the land by 1 / cos(helix).
    """
    theta = unit.reel.angles(np.array([float(x)]))[:, 0]
    centre = unit.centre(x)[0]
    own = unit.radius(x)[:, 0] - centre[0] * np.cos(theta) - centre[1] * np.sin(theta)
    arc = unit.land(x)[:, 0] / math.cos(unit.reel.helix_angle) / own
    along = theta[:, None] + arc[:, None] * np.linspace(0.0, 1.0, _POINTS_PER_LAND)
    points = centre + own[:, None, None] * np.stack((np.cos(along), np.sin(along)), axis=-1)
    return np.asarray(points.reshape(-1, 2))


def _hull(unit: VirtualUnit, x: float) -> NDArray[np.float64]:
    """Corners of the outline's convex hull, in order round it, shape (corners, 2)."""
    from scipy.spatial import ConvexHull  # slow to import

    points = np.unique(outline(unit, x), axis=0)  # lands of no width give every point 65 times
    return np.asarray(points[ConvexHull(points).vertices])


def tape(unit: VirtualUnit, x: float) -> float:
    """Return what a circumference tape shows at station x: the hull's perimeter over pi, mm.

    Validity: arcs drawn as 64 chords each; the length lost is below 1e-7 mm for lands up to 5 mm.

    Examples
    --------
    >>> from sparkout.core.practice.virtual_unit import VirtualUnit
    >>> from sparkout.core.reel.geometry import Reel
    >>> round(tape(VirtualUnit(Reel(11, 127.0, 533.0), 63.5), 266.5), 4)
    125.4185

    References
    ----------
    Geometry, own working.
    """
    corners = _hull(unit, x)
    sides = np.roll(corners, -1, axis=0) - corners
    return float(np.hypot(sides[:, 0], sides[:, 1]).sum() / math.pi)


def _farthest(points: NDArray[np.float64]) -> float:
    apart = points[:, None, :] - points[None, :, :]
    return float(np.sqrt((apart**2).sum(axis=-1)).max())


def jaws(unit: VirtualUnit, x: float) -> float:
    """Return what flat parallel jaws read at station x, mm: odd blade count the smallest over a turn, even the largest.

    The smallest width of a convex body has one jaw flush on a side of it, the largest is its longest chord.

    Examples
    --------
    >>> from sparkout.core.practice.virtual_unit import VirtualUnit
    >>> from sparkout.core.reel.geometry import Reel
    >>> round(jaws(VirtualUnit(Reel(11, 127.0, 533.0), 63.5), 266.5), 3)
    124.567

    References
    ----------
    Geometry, own working.
    """
    corners = _hull(unit, x)
    if unit.reel.blade_count % 2 == 0:
        return _farthest(corners)
    sides = np.roll(corners, -1, axis=0) - corners
    normals = np.stack((sides[:, 1], -sides[:, 0]), axis=-1) / np.hypot(sides[:, 0], sides[:, 1])[:, None]
    heights = normals @ corners.T
    return float((heights.max(axis=1) - heights.min(axis=1)).min())


def chord(unit: VirtualUnit, x: float) -> float:
    """Return the largest distance from tip to tip at station x, mm.

    Examples
    --------
    >>> from sparkout.core.practice.virtual_unit import VirtualUnit
    >>> from sparkout.core.reel.geometry import Reel
    >>> round(chord(VirtualUnit(Reel(11, 127.0, 533.0), 63.5), 266.5), 3)
    125.846

    References
    ----------
    Geometry, own working.
    """
    return _farthest(_hull(unit, x))


def dial(unit: VirtualUnit, x: ArrayLike, *, zero: float | None = None, rail_out: float = 0.0) -> NDArray[np.float64]:
    """Return what a dial on a rail shows on every blade at stations x, shape (N, S), mm.

    r(x, b) - zero - rail_out t/2; the rail stands farther from the axis at the right by `rail_out` over the length.

    Parameters
    ----------
    x : stations, mm.
    zero : radius at which the dial was set to nought; blade 0 at the first station when not given, mm.
    rail_out : the rail's error against the bearing axis, right less left over the blade length, mm.

    References
    ----------
    Definition (docs/decisions/0002-definitions.md).
    """
    shown = unit.radius(x) - rail_out * unit.station(x) / 2.0
    levelled: NDArray[np.float64] = shown - (shown[0, 0] if zero is None else zero)
    return levelled


def _support(unit: VirtualUnit, x: NDArray[np.float64], held: bool) -> NDArray[np.float64]:
    """Height of the resting knife edge at stations x, shape (S,)."""
    everywhere = np.concatenate((np.linspace(0.0, unit.reel.length, _GRID), x))
    line, reel = unit.knife_line(everywhere), unit.upper_envelope(everywhere)
    here = slice(_GRID, None)
    if held:
        lowered: NDArray[np.float64] = line[here] + (reel - line).max()
        return lowered
    t = unit.station(everywhere)
    level, slope = _settled(t, reel - line)
    rocked: NDArray[np.float64] = line[here] + level + slope * t[here]
    return rocked


def _settled(t: NDArray[np.float64], height: NDArray[np.float64]) -> tuple[float, float]:
    """Level and slope of the line that lies on `height` with its middle lowest; of several slopes the flattest."""
    order = np.argsort(t, kind="stable")
    t, height = t[order], height[order]
    left, right = t <= 0.0, t >= 0.0
    a, b = t[left][:, None], t[right][None, :]
    before, after = height[left][:, None], height[right][None, :]
    apart = b - a
    one_place = apart == 0.0
    middle = np.where(one_place, before, (before * b - after * a) / np.where(one_place, 1.0, apart))
    level = float(middle.max())
    beyond = t != 0.0
    slopes = (height[beyond] - level) / t[beyond]
    least, most = float(slopes[t[beyond] > 0.0].max()), float(slopes[t[beyond] < 0.0].min())
    return level, min(max(0.0, least), max(least, most))


def rest_gap(unit: VirtualUnit, x: ArrayLike, *, held: bool = True) -> NDArray[np.float64]:
    """Return the gap under the knife laid on the reel, at stations x, shape (S,), mm.

    The knife line (frame and bow as they are) is lowered on the upper envelope of the edges until it touches; at every
    station the gap is measured to the highest blade there, the reel being turned.

    Parameters
    ----------
    x : stations, mm.
    held : the mounts hold the knife's slope; when not, it rocks until it lies on both sides of its middle.

    Validity: knife rigid. On a barrel a rocking knife follows the reel at the middle; on a corner there, it lies as
    flat as it can.

    Examples
    --------
    >>> from sparkout.core.practice.virtual_unit import VirtualUnit
    >>> from sparkout.core.reel.geometry import Reel
    >>> coned = VirtualUnit(Reel(11, 127.0, 533.0), 63.5, cone=4.0)
    >>> rest_gap(coned, [0.0, 533.0]).round(9).tolist(), rest_gap(coned, [0.0, 533.0], held=False).round(9).tolist()
    ([2.0, 0.0], [0.0, 0.0])

    References
    ----------
    Geometry, own working.
    """
    along = np.atleast_1d(np.asarray(x, dtype=np.float64))
    return np.maximum(0.0, _support(unit, along, held) - unit.upper_envelope(along))


def shaft(unit: VirtualUnit, x: float, angles: ArrayLike) -> NDArray[np.float64]:
    """Return what a dial on the bare shaft shows at station x as the reel is turned, mean taken off, mm.

    [e + g t + k (1 - t²)] . u(theta_0 + angle), the angles counted from the marked blade's edge at that station, rad.

    References
    ----------
    Definition (docs/decisions/0002-definitions.md).
    """
    turned = (
        np.atleast_1d(all_within("angles", angles, -100.0, 100.0, "rad")) + unit.reel.angles(np.array([float(x)]))[0, 0]
    )
    east, north = unit.centre(x)[0]
    shown: NDArray[np.float64] = east * np.cos(turned) + north * np.sin(turned)
    return shown


def frame_check(unit: VirtualUnit, x: ArrayLike) -> NDArray[np.float64]:
    """Return the height of the knife mounts' line from the axis at stations x, less its middle, shape (S,), mm.

    References
    ----------
    Definition (docs/decisions/0002-definitions.md).
    """
    height: NDArray[np.float64] = unit.frame_out * unit.station(x) / 2.0
    return height


def straight_edge(unit: VirtualUnit, x: ArrayLike) -> NDArray[np.float64]:
    """Return the knife edge's height over the line through its ends at stations x, positive away from the reel, mm.

    References
    ----------
    Definition (docs/decisions/0002-definitions.md).
    """
    t = unit.station(x)
    height: NDArray[np.float64] = unit.knife_bow * (1.0 - t * t)
    return height


def set_gap(unit: VirtualUnit, x: ArrayLike, left: float, right: float) -> NDArray[np.float64]:
    """Return the gap of every blade to the knife at stations x, shape (N, S), mm; negative is interference.

    Each end is set to its highest blade there, with a gap of `left` and `right`.

    Examples
    --------
    >>> from sparkout.core.practice.virtual_unit import VirtualUnit
    >>> from sparkout.core.reel.geometry import Reel
    >>> barrelled = VirtualUnit(Reel(11, 127.0, 533.0), 63.5, barrel=0.05)
    >>> set_gap(barrelled, [0.0, 266.5], 0.03, 0.03)[0].round(3).tolist()
    [0.03, -0.02]

    References
    ----------
    Geometry, own working.
    """
    within("left", left, -5.0, 20.0, "mm")
    within("right", right, -5.0, 20.0, "mm")
    highest = unit.upper_envelope([0.0, unit.reel.length])
    from_left, from_right = highest[0] + left, highest[1] + right
    along = (unit.station(x) + 1.0) / 2.0
    knife = from_left * (1.0 - along) + from_right * along + straight_edge(unit, x)
    gap: NDArray[np.float64] = knife - unit.radius(x)
    return gap


def nick_depth(unit: VirtualUnit, blade: int) -> float:
    """Return the depth of the deepest nick in a blade's edge, mm; 0 when it has none.

    Raises
    ------
    OutOfRange
        A blade that the reel does not have.

    References
    ----------
    Definition.
    """
    if not 0 <= blade < unit.reel.blade_count:
        raise OutOfRange("blade", blade, phrase("0 to {last}", last=unit.reel.blade_count - 1))
    return max((nick.depth for nick in unit.nicks if nick.blade == blade), default=0.0)
