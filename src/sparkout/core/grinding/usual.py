"""What is usual for a grinder and a blade, where nobody has said: common practice, no source.

Plain numbers in mm, mm/s, s and rad, so that a quick sum can have them as defaults without importing more.
"""

from __future__ import annotations

import math

G_RATIO = 60.0
WHEEL_DIAMETER = 150.0
WHEEL_WIDTH = 20.0
SPINDLE_SPEED = 2 * math.pi * 50.0
TRAVERSE_SPEED = 40.0
WORK_SPEED = 2 * math.pi * 200.0 / 60.0
ROUGH_INFEED = 0.02
FINISH_INFEED = 0.01
SPARK_OUT_PASSES = 3
THREAD_PITCH = 1.5
DIVISIONS_PER_TURN = 50
SPECIFIC_ENERGY = 40e3
RELIEF_INFEED = 0.02
INDEXING_TIME = 20.0
"""From blade to blade while a relief is ground."""
LAND = 1.0
RELIEF_ANGLE = math.radians(45.0)
BLADE_THICKNESS = 5.0
