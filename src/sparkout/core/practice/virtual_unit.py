"""A cutting unit whose faults are known: the truth behind practice readings, and an oracle for the state room.

Nothing here is shared with the rooms that work backwards from readings (`core/reel/parameters.py`,
`core/gauges/`): the shapes are written out again from docs/decisions/0002-definitions.md, so that the two routes
can be held against each other.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import OutOfRange, all_within, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.reel.geometry import Reel

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Nick:
    """A nick in one blade's edge: blade (0 .. N-1), place along the reel and depth square to the edge circle, mm."""

    blade: int
    x: float
    depth: float


@dataclass(frozen=True, slots=True)
class WheelPass:
    """One pass of the wheel over the whole reel: where its face stands from the bearing axis at each end, mm."""

    left: float
    right: float
    give: float
    """Share of the metal standing above the wheel's line that the pass takes off, 0 to 1."""


@dataclass(frozen=True, slots=True)
class VirtualUnit:
    """One cutting unit with its true shape, mm and rad, signs of docs/decisions/0002-definitions.md.

    Land is the width square to the edge. `passes` are grinds done on the shape that the other numbers describe.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> unit = VirtualUnit(Reel(5, 127.0, 500.0), mean_radius=63.0, cone=0.4)
    >>> unit.radius([0.0, 500.0])[0].round(3).tolist()
    [62.9, 63.1]
    """

    reel: Reel
    mean_radius: float
    cone: float = 0.0
    barrel: float = 0.0
    offset: Pair = (0.0, 0.0)
    skew: Pair = (0.0, 0.0)
    shaft_bow: Pair = (0.0, 0.0)
    blade_heights: tuple[float, ...] = ()
    land_ends: Pair | None = None
    """Land at the left and the right end before any grind in `passes`; the specified land when not given."""
    nicks: tuple[Nick, ...] = ()
    passes: tuple[WheelPass, ...] = ()
    relieved_to: float = math.inf
    """A relief grind after the passes leaves no land wider than this."""
    frame_out: float = 0.0
    knife_bow: float = 0.0
    edge_rounding: float = 0.0
    lip_height: float = 6.0
    front_lip_depth: float = 8.0
    top_angle: float = 0.0
    front_angle: float = 0.0
    end_play: float = 0.0
    radial_play: Pair = (0.0, 0.0)
    """Play of the bearing at the left and at the right end."""

    def __post_init__(self) -> None:
        within("mean_radius", self.mean_radius, 20.0, 300.0, "mm")
        for name in ("cone", "barrel", "frame_out", "knife_bow"):
            within(name, getattr(self, name), -20.0, 20.0, "mm")
        for name in ("offset", "skew", "shaft_bow"):
            all_within(name, getattr(self, name), -10.0, 10.0, "mm")
        heights = all_within("blade_heights", self.blade_heights, -10.0, 10.0, "mm")
        if heights.size not in (0, self.reel.blade_count):
            raise OutOfRange(
                "blade_heights",
                phrase("{size} values", size=heights.size),
                phrase("none or {blade_count}", blade_count=self.reel.blade_count),
            )
        if abs(heights.sum()) > 1e-9:
            raise OutOfRange("sum of blade_heights", float(heights.sum()), "0 (see `one_blade_off`)", "mm")
        all_within("land_ends", self.land_ends or (), 0.0, self.reel.blade_thickness, "mm")
        for name in ("relieved_to", "edge_rounding", "lip_height", "front_lip_depth", "end_play"):
            if not getattr(self, name) >= 0.0:
                raise OutOfRange(name, getattr(self, name), "at least 0", "mm")
        all_within("radial_play", self.radial_play, 0.0, 5.0, "mm")
        for wheel in self.passes:
            within("give", wheel.give, 0.0, 1.0)

    def station(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return t = 2x/L - 1 (left end -1, right end +1), shape of `x` made one-dimensional.

        Raises
        ------
        OutOfRange
            A station off the reel.
        """
        along = np.atleast_1d(all_within("x", x, 0.0, self.reel.length, "mm"))
        t: NDArray[np.float64] = 2.0 * along / self.reel.length - 1.0
        return t

    def centre(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return where the blade circle's centre stands off the bearing axis: e + g t + k (1 - t²), shape (S, 2), mm.

        Source: definition (docs/decisions/0002-definitions.md).
        """
        t = self.station(x)[:, None]
        off: NDArray[np.float64] = (
            np.array(self.offset) + np.array(self.skew) * t + np.array(self.shaft_bow) * (1.0 - t * t)
        )
        return off

    def unground_radius(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return r(x, b) before any pass of the wheel, shape (N, S), mm.

        r = R0 + (cone/4) t + barrel (1/3 - t²) + [e + g t + k (1 - t²)] . u(theta) + h_b.
        Source: definition (docs/decisions/0002-definitions.md).
        """
        t = self.station(x)
        theta = self.reel.angles(np.atleast_1d(np.asarray(x, dtype=np.float64)))
        mean = self.mean_radius + self.cone / 4.0 * t + self.barrel * (1.0 / 3.0 - t * t)
        off = self.centre(x)
        swing = off[:, 0] * np.cos(theta) + off[:, 1] * np.sin(theta)
        heights = np.array(self.blade_heights or (0.0,) * self.reel.blade_count)
        r: NDArray[np.float64] = mean + swing + heights[:, None]
        return r

    def radius(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return r(x, b), distance of every edge from the bearing axis, shape (N, S), mm.

        Every pass takes give * max(0, r - wheel) off, the wheel's face being a straight line from end to end.

        Raises
        ------
        OutOfRange
            A station off the reel.

        References
        ----------
        Definition (docs/decisions/0002-definitions.md). That a pass takes a fixed share: common practice, no source.
        """
        r = self.unground_radius(x)
        right = (self.station(x) + 1.0) / 2.0
        for wheel in self.passes:
            r = r - wheel.give * np.maximum(0.0, r - (wheel.left * (1.0 - right) + wheel.right * right))
        return r

    def upper_envelope(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return the radius of the farthest edge at each station, over a whole turn, shape (S,), mm."""
        top: NDArray[np.float64] = self.radius(x).max(axis=0)
        return top

    def land(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return the land of every blade at stations x, square to the edge, shape (N, S), mm.

        Grinding from radius r to r' moves the back of the land along the facet: with the old back of the land at
        (r, 0) and the facet leaving it in the direction (-sin alpha, cos alpha), the new back is where that line meets
        the circle r'. Not wider than the blade. The section is the one square to the edge, drawn with the reel's own
        radius (its true curvature, cos²(helix) / r, only enters by the square of the depth).

        References
        ----------
        Geometry, own working (coordinates; the land room uses angles, so the two can be compared).
        """
        left, right = self.land_ends or (self.reel.land, self.reel.land)
        old = left + (right - left) * (self.station(x) + 1.0) / 2.0
        before, after = self.unground_radius(x), self.radius(x)
        sine, cosine = math.sin(self.reel.relief_angle), math.cos(self.reel.relief_angle)
        reach = np.maximum(0.0, (before * sine) ** 2 - (before - after) * (before + after))
        along = before * sine - np.sqrt(reach)
        turned = np.arctan2(along * cosine, before - along * sine)
        wide = after * (old / before + turned)
        capped: NDArray[np.float64] = np.minimum(wide, min(self.reel.blade_thickness, self.relieved_to))
        return capped

    def knife_line(self, x: ArrayLike) -> NDArray[np.float64]:
        """Return the knife edge's height from the axis less that of its line's middle, shape (S,), mm.

        frame_out t/2 + knife_bow (1 - t²); positive stands farther from the axis. Source: definition.
        """
        t = self.station(x)
        height: NDArray[np.float64] = self.frame_out * t / 2.0 + self.knife_bow * (1.0 - t * t)
        return height

    def spun(self, passes: Iterable[WheelPass]) -> VirtualUnit:
        """Return the unit after further passes of the wheel."""
        return replace(self, passes=(*self.passes, *passes))

    def mirrored(self) -> VirtualUnit:
        """Return the unit seen in a mirror across its middle: left becomes right, the helix turns the other way.

        The marked blade stays the marked one, and its left end is where its right end was, so the two-vectors turn by
        the blade's whole lead.
        """
        lead = self.reel.length * math.tan(self.reel.helix_angle) / self.reel.radius

        def turned(vector: Pair, sign: float) -> Pair:
            point = sign * complex(*vector) * complex(math.cos(lead), -math.sin(lead))
            return point.real, point.imag

        return replace(
            self,
            reel=replace(self.reel, helix_angle=-self.reel.helix_angle),
            cone=-self.cone,
            offset=turned(self.offset, 1.0),
            skew=turned(self.skew, -1.0),
            shaft_bow=turned(self.shaft_bow, 1.0),
            land_ends=self.land_ends and (self.land_ends[1], self.land_ends[0]),
            nicks=tuple(replace(nick, x=self.reel.length - nick.x) for nick in self.nicks),
            passes=tuple(replace(wheel, left=wheel.right, right=wheel.left) for wheel in self.passes),
            frame_out=-self.frame_out,
            radial_play=(self.radial_play[1], self.radial_play[0]),
        )


def one_blade_off(blade_count: int, blade: int, height: float) -> tuple[float, ...]:
    """Return blade heights of sum zero in which one blade stands `height` above the mean of the others, mm.

    Raises
    ------
    OutOfRange
        A blade that the reel does not have.

    Examples
    --------
    >>> one_blade_off(4, 1, 0.04)
    (-0.01, 0.03, -0.01, -0.01)

    References
    ----------
    Definition.
    """
    if not 0 <= blade < blade_count:
        raise OutOfRange("blade", blade, phrase("0 to {last}", last=blade_count - 1))
    share = height / blade_count
    heights = [-share] * blade_count
    heights[blade] = share * (blade_count - 1)
    return tuple(heights)
