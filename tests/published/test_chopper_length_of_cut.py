"""Clip has the form of a chopping cylinder's theoretical length of cut.

Source: Srivastava, Goering and Rohrbach, Engineering Principles of Agricultural Machines, ASABE: length of cut in mm is
60 000 times the feed in m/s over knives times revolutions per minute. The form is from memory, the page was not seen;
the figures at the three feeds are its arithmetic, done by hand. So this shows that the constant and the units agree
with another trade's form, and no more. Tolerance: half the last digit written.
"""

import math

from tests.published.evidence import evidence_table
from tests.published.printed import printed

from sparkout.core.cut.clip import clip

SEEN = "from memory"


@evidence_table(
    "Srivastava, Goering, Rohrbach: L = 60 000 v / (knives x rpm)",
    {
        "2 m/s, 8 knives, 1000 1/min: mm": printed("15.0"),
        "2.5 m/s, 12 knives, 1000 1/min: mm": printed("12.5"),
        "1.25 m/s, 11 knives, 1500 1/min: mm": printed("4.545"),
    },
    note="form from memory, figures its arithmetic by hand",
)
def test_length_of_cut() -> dict[str, float]:
    def length(metres: float, knives: int, rpm: float) -> float:
        return clip(1000 * metres, knives, rpm * 2 * math.pi / 60)

    return {
        "2 m/s, 8 knives, 1000 1/min: mm": length(2.0, 8, 1000),
        "2.5 m/s, 12 knives, 1000 1/min: mm": length(2.5, 12, 1000),
        "1.25 m/s, 11 knives, 1500 1/min: mm": length(1.25, 11, 1500),
    }
