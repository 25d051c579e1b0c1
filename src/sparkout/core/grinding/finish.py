"""Where to stop: the finish radius, and what each share of edge left uncleaned would keep."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import BelowServiceLimit, OutOfRange, all_within, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import ArrayLike, NDArray

SHARES_SHOWN = (0.0, 0.01, 0.02, 0.05, 0.10)


@dataclass(frozen=True, slots=True)
class Trade:
    """Share of edge length left uncleaned against life kept; arrays of one length, mm."""

    allowed: NDArray[np.float64]
    """Share that may stay uncleaned."""
    uncleaned: NDArray[np.float64]
    """Share that then does: at most `allowed`."""
    finish_radius: NDArray[np.float64]
    kept: NDArray[np.float64]
    """Radius kept over a full clean-up."""


@dataclass(frozen=True, slots=True)
class Finish:
    """The radius to finish at, and the share of edge length that stays uncleaned there."""

    radius: Measured
    uncleaned_share: float


def finish_radius(lowest: Measured, nick_depth: float, allowance: float) -> Measured:
    """Finish radius, mm: lowest point that must clean up, less nick depth, less clean-up allowance.

    r_f = r_low - d - a, with the uncertainty of r_low.

    >>> finish_radius(Measured(62.11, 0.01), 0.0, 0.02)
    Measured(value=62.089999999999996, u=0.01, dof=inf)

    References: definition; nick depth counts from the lowest point, which is the safe side for nicks elsewhere.
    """
    within("nick_depth", nick_depth, 0.0, 5.0, "mm")
    within("allowance", allowance, 0.0, 2.0, "mm")
    return Measured(lowest.value - nick_depth - allowance, lowest.u, lowest.dof)


def shares_of_length(stations: ArrayLike, length: float) -> NDArray[np.float64]:
    """Share of the blade length that each station stands for: to half way to its neighbours, and to the ends.

    >>> shares_of_length([0.0, 250.0, 500.0], 500.0).tolist()
    [0.25, 0.5, 0.25]

    References: definition.
    """
    x = all_within("stations", stations, 0.0, length, "mm")
    if x.ndim != 1 or x.size == 0 or bool(np.any(np.diff(x) <= 0.0)):
        raise OutOfRange("stations", x.shape, phrase("at least one, each farther right than the one before"))
    bounds = np.concatenate([[0.0], 0.5 * (x[1:] + x[:-1]), [length]])
    shares: NDArray[np.float64] = np.diff(bounds) / length
    return shares


def trade_curve(
    radius_map: NDArray[np.float64],
    lowest: Measured,
    *,
    nick_depth: float = 0.0,
    allowance: float = 0.02,
    shares: NDArray[np.float64] | None = None,
    allowed: Sequence[float] = SHARES_SHOWN,
) -> Trade:
    """Share of edge length left uncleaned against the radius kept.

    For each allowed share: the highest clean-up level below which at most that share of the edge lies, less nick
    depth and allowance. A point is uncleaned when the finish is less than nick depth + allowance below it.

    Parameters
    ----------
    radius_map : array (N, S)
        Mean radius of each blade at each station, mm.
    lowest : Measured
        The lowest point of the whole edge, mm. It usually lies below the mean map's least, because the lowest of
        many uncertain points does; all levels move down with it (safe side). Never moved up.
    nick_depth, allowance : float
        mm.
    shares : array (S,), optional
        Share of the blade length per station; equal when not given.
    allowed : sequence of float
        Shares of edge length, 0 to 1.

    >>> curve = trade_curve(np.array([[60.0, 60.1, 60.2, 60.3]]), Measured(60.0, 0.0), allowance=0.0, allowed=(0, 0.25))
    >>> curve.finish_radius.tolist()
    [60.0, 60.1]

    References: definition.
    """
    wanted = all_within("allowed", allowed, 0.0, 1.0)
    heights, covered = _ranked(radius_map, shares)
    shift = min(0.0, lowest.value - heights[0])
    rank = np.minimum(np.searchsorted(covered, wanted + 1e-12, side="right") - 1, heights.size - 1)
    below = finish_radius(Measured(0.0, 0.0), nick_depth, allowance).value + shift
    radius = heights[rank] + below
    lying_lower = np.searchsorted(heights, heights[rank], side="left")
    return Trade(wanted, covered[lying_lower], radius, radius - (heights[0] + below))


def _ranked(
    radius_map: NDArray[np.float64], shares: NDArray[np.float64] | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """All points in rising order, and the share of edge length that lies before each (and, last, all of it)."""
    blades, stations = radius_map.shape
    along = np.full(stations, 1.0 / stations) if shares is None else shares
    order = np.argsort(radius_map, axis=None, kind="stable")
    weight = np.tile(along / blades, blades)[order]
    return radius_map.ravel()[order], np.concatenate([[0.0], np.cumsum(weight)])


def uncleaned_share(
    radius_map: NDArray[np.float64],
    finish: float,
    *,
    depth_needed: float = 0.0,
    shares: NDArray[np.float64] | None = None,
) -> float:
    """Share of edge length less than `depth_needed` above the finish radius: what that finish leaves uncleaned.

    >>> uncleaned_share(np.array([[60.0, 60.1, 60.2, 60.3]]), 60.05)
    0.25

    References: definition.
    """
    heights, covered = _ranked(radius_map, shares)
    return float(covered[np.searchsorted(heights, finish + depth_needed - 1e-12, side="left")])


def choose_finish(
    radius_map: NDArray[np.float64],
    lowest: Measured,
    service_diameter: float,
    *,
    allowed_share: float = 0.0,
    nick_depth: float = 0.0,
    allowance: float = 0.02,
    shares: NDArray[np.float64] | None = None,
) -> Finish:
    """Finish radius for the share of edge that may stay uncleaned, never below the service limit.

    Raises
    ------
    BelowServiceLimit
        When the reel cannot clean up above its least service diameter; says what would fit instead.

    >>> choose_finish(np.full((3, 5), 60.0), Measured(60.0, 0.01), 119.0).radius
    Measured(value=59.98, u=0.01, dof=inf)

    References: definition.
    """
    limit = within("service_diameter", service_diameter, 10.0, 1000.0, "mm") / 2.0
    curve = trade_curve(
        radius_map, lowest, nick_depth=nick_depth, allowance=allowance, shares=shares, allowed=(allowed_share,)
    )
    radius, left_out = float(curve.finish_radius[0]), float(curve.uncleaned[0])
    if radius < limit:
        shift = min(0.0, lowest.value - float(radius_map.min()))
        share_at_limit = uncleaned_share(radius_map, limit, depth_needed=nick_depth + allowance - shift, shares=shares)
        raise BelowServiceLimit(
            phrase(
                "To clean up, the reel would finish at {diameter:.3f} mm diameter, below its least service diameter of "
                "{service_diameter:.3f} mm",
                diameter=2 * radius,
                service_diameter=service_diameter,
            ),
            _instead(share_at_limit, radius + nick_depth + allowance, limit, float(radius_map.max())),
        )
    return Finish(Measured(radius, lowest.u, lowest.dof), left_out)


def _instead(share_at_limit: float, lowest_cleaned: float, limit: float, highest: float) -> str:
    if highest <= limit:
        return phrase("replace the reel: its highest point is already at or below the limit")
    offers = []
    room = lowest_cleaned - limit
    if room >= 0.001:
        offers.append(
            phrase("nick depth and allowance together no more than {most:.3f} mm", most=np.floor(1000 * room) / 1000)
        )
    if share_at_limit < 1.0:
        offers.append(
            phrase(
                "stop at the limit and leave {share:.1f} % of the edge uncleaned",
                share=np.ceil(1000 * share_at_limit) / 10,
            )
        )
    return "; or ".join([*offers, "replace the reel"])
