"""Removal rate of a surface grind: 625 mm^3/min.

Source: M. P. Groover, Fundamentals of Modern Manufacturing, chapter 24, section 24.1.2, worked problem (work speed
25 m/min, crossfeed 0.50 mm, depth 0.05 mm), seen as text of the section and a worked answer in a public repository.
The problem's chip figures are not used by the project and so not repeated here.
"""

from tests.published.evidence import evidence

from sparkout.core.grinding.removal import removal_rate

SEEN = "in a copy of the source"


@evidence("Groover, ch. 24 worked problem", "removal rate, mm^3/min", printed=625.0, tolerance=0.5)
def test_removal_rate() -> float:
    return removal_rate(25_000.0, 0.50, 0.05)
