"""What a worn, grooved or swapped roller does: the diameters that touch, and the height it costs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.phrase import phrase
from sparkout.core.setting.clicks import Ends

if TYPE_CHECKING:
    from numpy.typing import ArrayLike


def touching_diameters(stations: ArrayLike, diameters: ArrayLike, length: float, load_at: float | None = None) -> Ends:
    """Return the diameters at both ends of the straight roller that stands as this worn one does, mm.

    Equation: a roller stands on the two places where a straight edge laid along it touches, one on each side of the
    load (the upper hull of diameter over place); the line through both, drawn to x = 0 and x = L.

    Parameters
    ----------
    stations
        (n,) places along the roller, x in mm from the left end of the blades, rising.
    diameters
        (n,) mm. Of a grooved roller over its ridges; what is measured in a groove never touches, and does no harm here.
    length
        L, mm.
    load_at
        Where the load bears, x; half way along unless given.

    Raises
    ------
    OutOfRange
        Values out of range, stations not rising, a load that is not between the outermost stations.
    NotEnough
        Fewer than two stations.

    Validity: a flat hard bench; a roller bearing on one place only (crowned) rocks on it: the facet under the load is
    meant. On turf the ridges of a grooved roller sink in: no bench shows that.

    Examples
    --------
    Worn hollow in the middle, it still stands on its ends; a groove at 400 mm does not count:

    >>> touching_diameters([0, 266, 400, 533], [63.0, 62.2, 57.0, 62.8], 533.0)
    Ends(left=63.0, right=62.8)

    References
    ----------
    Geometry, own working; tested against a straight edge lowered by linear programming.
    """
    places, sizes = (
        all_within("stations", stations, -3000.0, 6000.0, "mm"),
        all_within("diameters", diameters, 10.0, 600.0, "mm"),
    )
    if places.ndim != 1 or places.shape != sizes.shape:
        raise OutOfRange("diameters", sizes.size, phrase("one for each station ({n})", n=places.size))
    if len(places) < 2:
        raise NotEnough("how a roller stands", phrase("its diameter at two places or more"))
    falling = np.flatnonzero(np.diff(places) <= 0.0)
    if falling.size:
        at = int(falling[0]) + 1
        raise OutOfRange(f"stations[{at}]", float(places[at]), phrase("above {before:g}", before=places[at - 1]), "mm")
    span = within("length", length, 50.0, 3000.0, "mm")
    load = span / 2.0 if load_at is None else load_at
    within("load_at", load, float(places[0]), float(places[-1]), "mm")
    hull = _upper_hull(places.tolist(), sizes.tolist())
    right = next(i for i, (x, _) in enumerate(hull) if i and x >= load)
    (x0, d0), (x1, d1) = hull[right - 1], hull[right]
    slope = (d1 - d0) / (x1 - x0)
    return Ends(d0 - slope * x0, d0 + slope * (span - x0))


def _upper_hull(places: list[float], sizes: list[float]) -> list[tuple[float, float]]:
    hull: list[tuple[float, float]] = []
    for x, d in zip(places, sizes, strict=True):
        while len(hull) > 1 and (hull[-1][1] - hull[-2][1]) * (x - hull[-2][0]) <= (d - hull[-2][1]) * (
            hull[-1][0] - hull[-2][0]
        ):
            hull.pop()
        hull.append((x, d))
    return hull
