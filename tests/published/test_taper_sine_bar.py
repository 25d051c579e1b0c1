"""Taper and sine bar, worked examples as printed:

US Army TC 9-524 appendix C (sine bar); an open (CC BY) machining question bank (included angle); J. Rose, Modern
Machine-Shop Practice (set-over, 1 in per foot over 3 feet); a public question-and-answer thread (set-over of a part
taper). Lengths in inches: the formulas do not care.
"""

import math

from tests.published.evidence import evidence, evidence_table
from tests.published.printed import printed

from sparkout.core.taper import set_over, sine_bar_height, taper_angle

SEEN = "in the source"

ANGLE = math.radians(23 + 41 / 60)


@evidence_table("US Army TC 9-524 appendix C", {"sine": printed(".40168"), "height, in": printed("2.0084")})
def test_sine_bar_of_five_inches_at_23_degrees_41() -> dict[str, float]:
    return {"sine": sine_bar_height(5.0, ANGLE) / 5.0, "height, in": sine_bar_height(5.0, ANGLE)}


@evidence(
    "Precision Machining Practices question bank (CC BY)",
    "included angle of 0.550 in/ft, degrees",
    printed=2.626,
    tolerance=0.0005,
)
def test_included_angle() -> float:
    return math.degrees(taper_angle(0.550, 12.0))


@evidence("Rose, Modern Machine-Shop Practice", "set-over, 1 in/ft, 3 ft, in", printed=1.5, tolerance=0.05)
def test_set_over_one_inch_per_foot() -> float:
    return set_over(1.0, 12.0, 36.0)


@evidence(
    "question-and-answer thread on tailstock set-over",
    "8 in overall, 3 in long, 1.25 to 1.0 in",
    printed=0.333,
    tolerance=0.0005,
)
def test_set_over_of_a_part_taper() -> float:
    return set_over(1.25 - 1.0, 3.0, 8.0)
