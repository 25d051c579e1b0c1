"""The knife's section, simplified to what grinding changes: a lip standing at the front of a flat body."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from sparkout.core.bedknife.edge import edge_shift, included_angle
from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class KnifeSection:
    """Section of a bedknife; lengths mm, angles rad.

    `lip_height` is from the body's upper surface up to the edge; `front_lip_depth` from the edge to the lip's rear,
    level; `thickness` is the body's; `width` from the edge to the rear of the body.
    """

    top_angle: float
    front_angle: float
    lip_height: float
    front_lip_depth: float
    thickness: float = 5.0
    width: float = 50.0

    def __post_init__(self) -> None:
        included_angle(self.top_angle, self.front_angle)
        within("front_lip_depth", self.front_lip_depth, 0.0, 60.0, "mm", above=True)
        within("thickness", self.thickness, 0.0, 30.0, "mm", above=True)
        within("width", self.width, self.front_lip_depth, 300.0, "mm")
        within("lip_height", self.lip_height, 0.0, 60.0, "mm", above=True)
        if self.lip_height <= self.front_lip_depth * math.tan(self.top_angle):
            least = self.front_lip_depth * math.tan(self.top_angle)
            raise OutOfRange(
                "lip_height", self.lip_height, phrase("above {least:g} for this depth and top angle", least=least), "mm"
            )

    @property
    def included_angle(self) -> float:
        """Angle at the edge, rad."""
        return included_angle(self.top_angle, self.front_angle)

    def polygon(self, edge: Point = (0.0, 0.0)) -> list[Point]:
        """Corners from the edge round by the rear, mm; x rearwards, y up.

        >>> flat = KnifeSection(0.0, 0.0, 4.0, 6.0, 5.0, 40.0)
        >>> flat.polygon()
        [(0.0, 0.0), (6.0, 0.0), (6.0, -4.0), (40.0, -4.0), (40.0, -9.0), (0.0, -9.0)]
        """
        x, y = edge
        foot = self.lip_height + self.thickness
        return [
            (x, y),
            (x + self.front_lip_depth, y - self.front_lip_depth * math.tan(self.top_angle)),
            (x + self.front_lip_depth, y - self.lip_height),
            (x + self.width, y - self.lip_height),
            (x + self.width, y - foot),
            (x + foot * math.tan(self.front_angle), y - foot),
        ]

    def ground(self, top_stock: float, front_stock: float) -> KnifeSection:
        """The section after grinding both faces by these stocks at their angles; its edge lies by `edge_shift`.

        >>> KnifeSection(0.0, 0.0, 4.0, 6.0).ground(0.3, 0.5).front_lip_depth
        5.5
        """
        moved = edge_shift(top_stock, front_stock, self.top_angle, self.front_angle)
        return replace(
            self,
            lip_height=self.lip_height - moved.down,
            front_lip_depth=self.front_lip_depth - moved.back,
            width=self.width - moved.back,
        )
