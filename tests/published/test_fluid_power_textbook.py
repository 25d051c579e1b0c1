"""Speed, flow and volumetric efficiency of hydraulic motors, worked in a textbook.

Source: J. A. Sullivan, Fluid Power: Theory and Applications, 4th ed., chapter 9, examples 9.2, 9.3 and 9.5. Read as
worked again, inputs and printed results, in a public collection of textbook examples, not in the book itself.
Tolerance: half the last printed digit; the example prints 866.250 from an exact 231 cubic inches to the US gallon.
"""

import math

from tests.published.evidence import evidence
from tests.published.printed import printed

from sparkout.core.cut.drive import flow_for_reel_speed, reel_speed_hydraulic
from sparkout.units import from_core, to_core

SEEN = "as quoted elsewhere"

SOURCE = "Sullivan, Fluid Power, 4th ed., chapter 9"
PER_MINUTE = 2 * math.pi / 60
SPEED, SPEED_TOLERANCE = printed("866.250")
FLOW, FLOW_TOLERANCE = printed("8.095")


@evidence(SOURCE, "example 9.2: speed at 7.5 gal/min and 2 in³ a turn, 1/min", printed=SPEED, tolerance=SPEED_TOLERANCE)
def test_speed() -> float:
    flow, turn = to_core(7.5, "flow", "US gal/min"), to_core(2.0, "volume", "in³")
    return reel_speed_hydraulic(flow, turn, 1.0) / PER_MINUTE


@evidence(
    SOURCE, "example 9.3: flow for 3400 1/min at 0.55 in³ a turn, gal/min", printed=FLOW, tolerance=FLOW_TOLERANCE
)
def test_flow() -> float:
    flow = flow_for_reel_speed(3400 * PER_MINUTE, to_core(0.55, "volume", "in³"), 1.0)
    return from_core(flow, "flow", "US gal/min")
