"""The relief grind: bringing a land that has grown back to its width; and what an uneven land tells."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import OutOfRange, within
from sparkout.core.grinding.plan import PLACES, Place
from sparkout.core.measured import Measured, coverage_factor

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.geometry import Reel

CAUTIONS = ("set up grinder", "wheel mounting", "relief grind", "dust")
"""Steps whose cautions belong beside a relief plan."""


@dataclass(frozen=True, slots=True)
class ReliefEnd:
    """At one place: land now, stock square to the facet, and in how many passes the wheel meets it; mm."""

    place: Place
    land: Measured
    stock: Measured
    passes: int


@dataclass(frozen=True, slots=True)
class UnevenLand:
    """Land right less left, mm, and the cone on diameter (right less left) that would have left it when spun true."""

    difference: Measured
    old_cone: Measured
    proven: bool
    """Whether the difference exceeds its own 95 % uncertainty."""


@dataclass(frozen=True, slots=True)
class ReliefPlan:
    """A relief grind worked out; mm, s, mm^3, all blades together unless said otherwise."""

    due: bool | None
    """Whether any land is over the workshop's limit; None without one."""
    ends: tuple[ReliefEnd, ReliefEnd, ReliefEnd]
    land_after: float
    heaviest_stock: float
    passes_per_blade: int
    volume: float
    time: float
    uneven: UnevenLand
    cautions: tuple[str, ...] = CAUTIONS


def relief_stock(land: float, land_wanted: float, relief_angle: float) -> float:
    """Stock square to the facet that brings the land back, mm: (w - w0) sin(alpha); nothing when it is narrow already.

    Parameters
    ----------
    land, land_wanted : float
        w and w0, mm, along the tip circle.
    relief_angle : float
        alpha, rad, from the tip-circle tangent.

    Validity: the new facet parallel to the old, the land flat. On the arc the depth is greater, by about
    (w - w0) / (2 R tan alpha) of itself: below 0.5 % for 0.5 mm on a reel of 100 mm at 45 degrees.

    >>> round(relief_stock(1.4, 1.0, math.radians(30)), 9)
    0.2

    References: geometry, own working; tested against lines and circle.
    """
    within("land", land, 0.0, 30.0, "mm")
    within("land_wanted", land_wanted, 0.0, 30.0, "mm")
    within("relief_angle", relief_angle, math.radians(5.0), math.radians(85.0), "rad")
    return max(0.0, land - land_wanted) * math.sin(relief_angle)


def uneven_land(left: Measured, right: Measured, relief_angle: float) -> UnevenLand:
    """Land difference end to end, and the cone once spun true without a new relief that would explain it.

    Spinning true takes (cone / 2) more off the radius of the larger end, and the land there grows by that over
    tan(alpha); so cone = 2 (w_right - w_left) tan(alpha), with u = 2 tan(alpha) sqrt(u_left^2 + u_right^2).

    Validity: the lands were even before, the relief angle is the same at both ends, and nothing was relieved since.
    It is evidence, not proof: an uneven relief grind looks the same.

    >>> told = uneven_land(Measured(1.22, 0.03), Measured(1.04, 0.04), math.radians(45))
    >>> round(told.old_cone.value, 9), round(told.old_cone.u, 9), told.proven
    (-0.36, 0.1, True)

    References: geometry, own working.
    """
    within("relief_angle", relief_angle, math.radians(5.0), math.radians(85.0), "rad")
    difference = Measured(right.value - left.value, math.hypot(left.u, right.u))
    proven = abs(difference.value) > coverage_factor(0.95) * difference.u
    return UnevenLand(difference, difference.scaled(2.0 * math.tan(relief_angle)), proven)


def relief_plan(
    reel: Reel,
    land: Measured | tuple[Measured, Measured, Measured],
    land_wanted: float,
    *,
    relief_infeed: float,
    traverse_speed: float,
    wheel_width: float,
    land_limit: float | None = None,
    spark_out_passes: int = 0,
    indexing_time: float = 0.0,
) -> ReliefPlan:
    """Relief-grind plan: stock at each end, passes, volume, time, and what the land's unevenness tells.

    Blades are ground one at a time. Where the land is uneven the first passes meet only the wider end.
    Volume per blade and length: stock x mean facet width, the facet running from the land to the back of the blade,
    (t - w) / cos(alpha).

    Parameters
    ----------
    reel : Reel
        Gives blade count, length, helix, relief angle, blade thickness.
    land : Measured or three of them
        Land (after the spin grind), over the whole reel or at left, middle, right, mm.
    land_wanted : float
        w0, mm.
    relief_infeed : float
        Square to the facet, per pass, mm.
    traverse_speed, wheel_width : float
        mm/s, mm; one traverse carries the wheel clear of both ends.
    land_limit : float, optional
        The workshop's limit on the land, mm.
    spark_out_passes : int
        Passes without infeed, per blade.
    indexing_time : float
        From blade to blade, s.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    >>> from sparkout.core.reel.geometry import Reel
    >>> plan = relief_plan(Reel(8, 120, 500), Measured(1.4, 0.05), 1.0, relief_infeed=0.05, traverse_speed=50,
    ...                    wheel_width=10, land_limit=1.3)
    >>> plan.due, plan.passes_per_blade, round(plan.heaviest_stock, 3), round(plan.time)
    (True, 6, 0.283, 490)

    References: geometry, own working; order of passes common practice, no source.
    """
    lands = land if isinstance(land, tuple) else (land, land, land)
    within("land_wanted", land_wanted, 0.0, reel.blade_thickness, "mm", above=True)
    within("relief_infeed", relief_infeed, 0.0, 1.0, "mm", above=True)
    within("traverse_speed", traverse_speed, 0.0, 2000.0, "mm/s", above=True)
    within("wheel_width", wheel_width, 0.5, 300.0, "mm")
    within("indexing_time", indexing_time, 0.0, 3600.0, "s")
    if land_limit is not None:
        within("land_limit", land_limit, 0.0, 30.0, "mm", above=True)
    if not 0 <= spark_out_passes <= 50:
        raise OutOfRange("spark_out_passes", spark_out_passes, "0 to 50")
    ends = tuple(_end(p, w, land_wanted, reel.relief_angle, relief_infeed) for p, w in zip(PLACES, lands, strict=True))
    passes = max(end.passes for end in ends)
    strokes = passes + (spark_out_passes if passes else 0)
    edge_length = reel.length / math.cos(reel.helix_angle)
    stroke = (edge_length + wheel_width) / traverse_speed
    return ReliefPlan(
        due=None if land_limit is None else any(w.value > land_limit for w in lands),
        ends=(ends[0], ends[1], ends[2]),
        land_after=min(land_wanted, max(w.value for w in lands)),
        heaviest_stock=max(end.stock.value for end in ends),
        passes_per_blade=passes,
        volume=reel.blade_count * edge_length * _mean_section(reel, np.array([w.value for w in lands]), land_wanted),
        time=reel.blade_count * (strokes * stroke + indexing_time) if passes else 0.0,
        uneven=uneven_land(lands[0], lands[2], reel.relief_angle),
    )


def _end(place: Place, land: Measured, wanted: float, alpha: float, infeed: float) -> ReliefEnd:
    stock = relief_stock(land.value, wanted, alpha)
    return ReliefEnd(place, land, Measured(stock, land.u * math.sin(alpha)), math.ceil(stock / infeed - 1e-9))


def _mean_section(reel: Reel, lands: NDArray[np.float64], wanted: float) -> float:
    """Area ground off one blade's section, averaged along the blade, mm^2: stock x mean of old and new facet width."""
    along = np.linspace(0.0, 2.0, 401)
    now = np.minimum(np.interp(along, [0.0, 1.0, 2.0], lands), reel.blade_thickness)
    taken = np.maximum(now - wanted, 0.0) * math.sin(reel.relief_angle)
    facet = (reel.blade_thickness - 0.5 * (now + np.minimum(now, wanted))) / math.cos(reel.relief_angle)
    return float(np.mean(0.5 * ((taken * facet)[1:] + (taken * facet)[:-1])))
