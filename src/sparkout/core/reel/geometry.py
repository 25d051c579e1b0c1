"""The reel as specified: where each blade's edge lies on a true reel."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sparkout.core.errors import OutOfRange, within

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class Reel:
    """A reel as specified, all lengths in mm, angles in rad.

    x runs along the axis from the left end (operator behind the machine, facing travel); blades are
    numbered 0 .. N-1 against rotation from the marked blade (people are shown 1 .. N).
    """

    blade_count: int
    diameter: float
    length: float
    helix_angle: float = 0.0
    land: float = 1.0
    relief_angle: float = math.radians(45.0)
    """From the tip-circle tangent at the back of the land."""
    blade_thickness: float = 5.0

    def __post_init__(self) -> None:
        if not 2 <= self.blade_count <= 40:
            raise OutOfRange("blade_count", self.blade_count, "2 to 40")
        within("diameter", self.diameter, 40.0, 600.0, "mm")
        within("length", self.length, 50.0, 3000.0, "mm")
        within("helix_angle", self.helix_angle, -math.radians(60.0), math.radians(60.0), "rad")
        within("land", self.land, 0.0, 20.0, "mm")
        within("relief_angle", self.relief_angle, math.radians(5.0), math.radians(85.0), "rad")
        within("blade_thickness", self.blade_thickness, self.land, 30.0, "mm")

    @property
    def radius(self) -> float:
        """Nominal edge radius, mm."""
        return self.diameter / 2.0

    def angles(self, x: NDArray[np.float64]) -> NDArray[np.float64]:
        """Angle theta of every blade's edge at stations `x`, rad, shape (blade_count, len(x)).

        theta = 2 pi b / N + x tan(helix) / R. Source: definition (docs/decisions/0002-definitions.md).
        """
        import numpy as np

        turns = 2.0 * np.pi * np.arange(self.blade_count) / self.blade_count
        lead: NDArray[np.float64] = turns[:, None] + np.asarray(x)[None, :] * (math.tan(self.helix_angle) / self.radius)
        return lead
