"""The one-third rule's own worked figures.

Source: Cornell University, home gardening pages on lawn care, "The one-third rule" (undated, read): kept at 3 inches,
mow when the grass is about 4.5 inches tall; kept at 1.5 inches, after it has grown 3/4 inch.
Tolerance: half the last printed digit; the 3/4 inch is a fraction and taken as exact to a hundredth.
"""

from tests.published.evidence import evidence_table

from sparkout.core.cut.growth import DAY, mowing_plan

SEEN = "in the source"
INCH = 25.4


@evidence_table(
    "Cornell University, The one-third rule",
    {"kept at 3 in: height to mow at, in": (4.5, 0.05), "kept at 1.5 in: growth between cuts, in": (0.75, 0.005)},
)
def test_heights_to_mow_at() -> dict[str, float]:
    growth = 3.0 / DAY  # any growth: it drops out of the heights
    return {
        "kept at 3 in: height to mow at, in": mowing_plan(growth, height=3 * INCH, share=1 / 3).standing / INCH,
        "kept at 1.5 in: growth between cuts, in": mowing_plan(growth, height=1.5 * INCH, share=1 / 3).growth / INCH,
    }
