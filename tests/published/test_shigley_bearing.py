"""Rating life: Budynas and Nisbett, Shigley's Mechanical Engineering Design, problem 11-1 (8th and 10th editions).

30 000 h at 300 1/min, load 1.2 x 1.898 kN = 2.278 kN, reliability 0.90; then a bearing of 19.5 kN. Worked solution as
seen in copies.
"""

from tests.published.evidence import evidence

from sparkout.core.bearing.life import rating_for, reliability

SEEN = "in a copy of the source"
BOOK = "Shigley, problem 11-1"


@evidence(BOOK, "rating wanted, kN", printed=18.59, tolerance=0.005)
def test_rating() -> float:
    return rating_for(30_000, 2278.0, 300) / 1000


@evidence(BOOK, "reliability of a 19.5 kN bearing", printed=0.919, tolerance=0.0005)
def test_reliability() -> float:
    return reliability(30_000, 19_500, 2278.0, 300)
