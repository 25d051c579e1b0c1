"""The grinder as the workshop knows it: its feeds, its wheel, its give."""

from __future__ import annotations

from dataclasses import dataclass

from sparkout.core.errors import OutOfRange, within
from sparkout.core.measured import Measured

GIVE_TO_START_WITH = Measured(0.7, 0.1)
"""Share of the set infeed that goes in one pass, before this grinder's own is learnt: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Grinder:
    """A spin grinder and its wheel; mm, s, rad, N. Infeeds are radial, per pass."""

    give: Measured
    """kappa: share of what stands in the wheel's way that goes in one pass."""
    g_ratio: Measured
    """Volume of steel ground per volume of wheel lost; published values differ fivefold, so it carries its doubt."""
    wheel_diameter: float
    wheel_width: float
    spindle_speed: float
    """rad/s."""
    traverse_speed: float
    work_speed: float
    """Turning of the reel, rad/s."""
    rough_infeed: float
    finish_infeed: float
    spark_out_passes: int
    mount_spacing: float
    thread_pitch: float
    divisions_per_turn: float
    specific_energy: float
    """N mm per mm^3 removed (1 J/mm^3 = 1000)."""
    marked_speed: float | None = None
    """Maximum speed marked on the wheel, mm/s; without it there is no verdict on the wheel's speed."""
    one_way: bool = False
    """Whether the wheel grinds on the way out only and returns clear of the reel."""

    def __post_init__(self) -> None:
        within("give", self.give.value, 0.02, 1.0)
        within("give's uncertainty", self.give.u, 0.0, 0.5)
        within("g_ratio", self.g_ratio.value, 0.1, 1e5)
        within("wheel_diameter", self.wheel_diameter, 5.0, 1000.0, "mm")
        within("wheel_width", self.wheel_width, 0.5, 300.0, "mm")
        within("spindle_speed", self.spindle_speed, 0.0, 10000.0, "rad/s", above=True)
        within("traverse_speed", self.traverse_speed, 0.0, 2000.0, "mm/s", above=True)
        within("work_speed", self.work_speed, 0.0, 1000.0, "rad/s", above=True)
        within("rough_infeed", self.rough_infeed, 0.0, 0.5, "mm", above=True)
        within("finish_infeed", self.finish_infeed, 0.0, self.rough_infeed, "mm", above=True)
        if not 0 <= self.spark_out_passes <= 50:
            raise OutOfRange("spark_out_passes", self.spark_out_passes, "0 to 50")
        within("mount_spacing", self.mount_spacing, 50.0, 5000.0, "mm")
        within("thread_pitch", self.thread_pitch, 0.0, 50.0, "mm", above=True)
        within("divisions_per_turn", self.divisions_per_turn, 1.0, 10000.0)
        within("specific_energy", self.specific_energy, 0.0, 1e6, "N mm/mm^3", above=True)
        if self.marked_speed is not None:
            within("marked_speed", self.marked_speed, 0.0, 2e5, "mm/s", above=True)
