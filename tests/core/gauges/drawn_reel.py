"""A reel drawn as points, and what gauges find on the drawing: independent of every formula in core/gauges.

Lands are arcs of many points; a tape is the perimeter of the convex hull, jaws are its width between parallel lines, a
tip-to-tip reading is the distance of its two farthest points. Width is a sum of support functions: jaws that close on a
body touch its convex hull, whatever lies between the blades.
"""

import numpy as np
from scipy.spatial import ConvexHull
from scipy.spatial.distance import pdist


def points(diameter: float, blade_count: int, land: float, per_land: int = 60) -> np.ndarray:
    radius = diameter / 2.0
    starts = 2.0 * np.pi * np.arange(blade_count) / blade_count + 0.3
    along = np.linspace(0.0, land / radius, per_land if land else 1)
    theta = (starts[:, None] + along[None, :]).ravel()
    return radius * np.column_stack((np.cos(theta), np.sin(theta)))


def tape(drawn: np.ndarray) -> float:
    return ConvexHull(drawn).area / np.pi


def farthest(drawn: np.ndarray) -> float:
    return float(pdist(drawn).max())


def widths(drawn: np.ndarray, directions: np.ndarray) -> np.ndarray:
    heights = drawn @ np.vstack((np.cos(directions), np.sin(directions)))
    return heights.max(axis=0) - heights.min(axis=0)


def rocked(drawn: np.ndarray, smallest: bool) -> float:
    """Return the smallest or largest width over half a turn, the neighbourhood of the best direction searched finer."""
    centre, half = np.pi / 2.0, np.pi / 2.0
    pick = np.argmin if smallest else np.argmax
    for _ in range(4):
        directions = np.linspace(centre - half, centre + half, 3001)
        found = widths(drawn, directions)
        centre, half = float(directions[pick(found)]), half / 300.0
    return float(found.min() if smallest else found.max())
