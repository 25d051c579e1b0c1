"""A belt drive with slip, worked in a textbook.

Source: Khurmi and Gupta, Theory of Machines, chapter 11, example 11.1: an engine at 150 r.p.m. with a 750 mm pulley
drives a 450 mm pulley on a line shaft, whose 900 mm pulley drives a 150 mm pulley. Without slip 1500 r.p.m., with 2 %
at each drive 1440 r.p.m. Read in a copy of the page. The book rounds 0.98 x 0.98 x 10 = 9.604 to 9.6, hence a
tolerance of 1.
"""

import math

from tests.published.evidence import evidence_table

from sparkout.core.cut.drive import reel_speed_belt

SEEN = "in a copy of the source"

PER_MINUTE = 2 * math.pi / 60


@evidence_table(
    "Khurmi and Gupta, Theory of Machines, example 11.1",
    {"two belts without slip, 1/min": (1500, 1e-6), "two belts, 2 % slip each, 1/min": (1440, 1.0)},
    note="the book rounds the ratio 9.604 to 9.6 before it multiplies",
)
def test_two_belts() -> dict[str, float]:
    def dynamo(slip: float) -> float:
        line = reel_speed_belt(150 * PER_MINUTE, 750.0, 450.0, slip=slip)
        return reel_speed_belt(line, 900.0, 150.0, slip=slip) / PER_MINUTE

    return {"two belts without slip, 1/min": dynamo(0.0), "two belts, 2 % slip each, 1/min": dynamo(0.02)}
