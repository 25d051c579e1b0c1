"""The paper grid: letters and words, and every refusal."""

import math

import pytest

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.reel.geometry import Reel
from sparkout.core.setting.paper_grid import OUTCOMES, paper_grid

REEL = Reel(3, 127.0, 533.0)
AT = [13.0, 266.5, 520.0]


def test_letters_and_words_are_the_same_grid() -> None:
    letters = paper_grid(["cpu", "c-u", "ccc"], AT, REEL, thickness=0.1, square=True)
    words = paper_grid(
        [("clean", "pinched", "uncut"), ("clean", "", "uncut"), ("clean", "clean", "clean")], AT, REEL, thickness=0.1
    )
    assert (letters.outcomes == words.outcomes).all()
    assert letters.outcomes.tolist() == [[0, 1, 2], [0, -1, 2], [0, 0, 0]]
    assert letters.tried.sum() == 8
    assert letters.t[1] == pytest.approx(0.0)
    assert OUTCOMES == ("clean", "pinched", "uncut")
    assert words.square is None


@pytest.mark.parametrize(
    ("changed", "refusal", "named"),
    [
        ({"rows": ["cpx", "ccc", "ccc"]}, OutOfRange, "blade 1, station 3"),
        ({"rows": ["ccc", "ccc"]}, Contradiction, "2 rows for 3 blades"),
        ({"rows": ["ccc", "cc", "ccc"]}, Contradiction, "blade 2"),
        ({"rows": ["---"] * 3}, NotEnough, "at least one trial"),
        ({"stations": [520.0, 266.5, 13.0]}, OutOfRange, "rising"),
        ({"stations": [13.0, 266.5, 620.0]}, OutOfRange, r"stations\[2\]"),
        ({"stations": [13.0, math.nan, 520.0]}, OutOfRange, r"stations\[1\]"),
        ({"stations": [[13.0, 266.5, 520.0]]}, OutOfRange, "rising"),
        ({"thickness": 4.0}, OutOfRange, "thickness"),
    ],
)
def test_refusals(changed: dict, refusal: type[Exception], named: str) -> None:
    arguments = {"rows": ["ccc"] * 3, "stations": AT, "reel": REEL, **changed}
    with pytest.raises(refusal, match=named):
        paper_grid(**arguments)
