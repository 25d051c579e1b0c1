"""Cuts per metre against the one neutral figure found.

Source: Grounds Management Association, resource pages on mowing the cricket square (undated, read): a pedestrian
cylinder mower of five or more blades giving "about 85 cuts per metre or more" is enough for a square kept at 12-18 mm.

The check: a clip equal to the lower height, 12 mm, must come out at that figure. "About 85" is a figure to the nearest
five, so the tolerance is 2.5.
"""

import math

from tests.published.evidence import evidence

from sparkout.core.cut.clip import clip, cuts_per_length, reel_speed_for_clip

SEEN = "in the source"


@evidence(
    "Grounds Management Association, mowing the cricket square",
    "cuts per metre at a clip of 12 mm",
    printed=85,
    tolerance=2.5,
    note="'about 85': to the nearest five",
)
def test_clip_no_longer_than_the_lower_height() -> float:
    """Worked the whole way: the speed a 5-blade machine needs at 4 km/h for a 12 mm clip, and what it then gives."""
    travel = 4e6 / 3600
    turning = reel_speed_for_clip(travel, 5, 12.0)
    assert 60 * turning / (2 * math.pi) < 1500, "a speed such a machine can have"
    return 1000 * cuts_per_length(clip(travel, 5, turning))
