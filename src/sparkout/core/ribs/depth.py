"""How deep the rib is by each of two models that leave different things out. Imports `math` only."""

from __future__ import annotations

from typing import NamedTuple

from sparkout.core.cut.clip import clip
from sparkout.core.cut.stubble import stubble
from sparkout.core.cut.trochoid import cusp, speed_ratio
from sparkout.core.phrase import phrase

STANDING = phrase(
    "Two models, neither tried on turf. The cusp is what the blades' free paths would leave if they cut by themselves; "
    "the leaf spread is what leaves drawn back to the bedknife would leave if they were straight, limp and alone. "
    "Use them to rank settings, not to predict a depth."
)
"""Stands beside every result of `rib_depth`."""


class RibDepth(NamedTuple):
    """Clip and the rib's depth by both models, mm."""

    clip: float
    speed_ratio: float
    """Blade speed round the axis over travel speed."""
    cusp: float
    """Trochoid model: lowest point to crossing of the paths of neighbouring blades."""
    leaf_spread: float
    """Swept-leaf model: longest leaf less shortest."""
    standing: str = STANDING

    @property
    def deeper(self) -> str:
        """The model that gives the deeper rib: "leaf spread" or "cusp"."""
        return "leaf spread" if self.leaf_spread >= self.cusp else "cusp"


def rib_depth(
    travel_speed: float, blade_count: int, reel_speed: float, reel_diameter: float, height_of_cut: float
) -> RibDepth:
    """Return the depth of the clip's own rib by the trochoid and by the swept-leaf model, mm.

    Equation: as `trochoid.cusp` (edge moving backwards at its lowest point) and `stubble.stubble`.

    Parameters
    ----------
    travel_speed, blade_count, reel_speed, reel_diameter
        v (mm/s), N, omega (rad/s), 2 R (mm).
    height_of_cut
        H, mm.

    Raises
    ------
    OutOfRange
        For any argument outside its range, and when the blades go round no faster than the machine travels.

    Validity: see `STANDING`; a true reel on an even ground. For run-out, cone, bounce and helix: `stubble_map`.

    Examples
    --------
    >>> import math
    >>> depth = rib_depth(1250.0, 11, 50 * math.pi, 127.0, 4.0)
    >>> round(depth.clip, 2), round(depth.cusp, 3), round(depth.leaf_spread, 2), depth.deeper
    (4.55, 0.053, 2.05, 'leaf spread')

    References
    ----------
    Geometry, own working; no published model of a reel's stubble was found.
    """
    travelled = clip(travel_speed, blade_count, reel_speed)
    return RibDepth(
        travelled,
        speed_ratio(travel_speed, reel_speed, reel_diameter),
        cusp(travel_speed, blade_count, reel_speed, reel_diameter),
        stubble(height_of_cut, travelled).spread,
    )
