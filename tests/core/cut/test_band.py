"""The workshop's band of clip: its ends, the speeds that keep to it, and whose it is."""

import pytest

from sparkout.core.cut.band import STANDING, clip_band, own_band
from sparkout.core.cut.clip import clip
from sparkout.core.errors import Contradiction, OutOfRange, Refusal

BAND = clip_band(4.0, 0.75, 1.25, "house: greens")


def test_speeds_at_the_ends_give_the_clips_at_the_ends() -> None:
    slow, fast = BAND.reel_speeds(1250.0, 11)
    assert slow < fast
    assert (clip(1250.0, 11, slow), clip(1250.0, 11, fast)) == pytest.approx((5.0, 3.0), rel=1e-14)
    slow, fast = BAND.travel_speeds(170.0, 11)
    assert slow < fast
    assert (clip(slow, 11, 170.0), clip(fast, 11, 170.0)) == pytest.approx((3.0, 5.0), rel=1e-14)


@pytest.mark.parametrize(
    ("value", "where"), [(2.9, "finer"), (3.0, "within"), (4.0, "within"), (5.0, "within"), (5.1, "coarser")]
)
def test_where_a_clip_lies(value: float, where: str) -> None:
    assert BAND.lies(value) == where


def test_says_whose_it_is_and_what_it_rests_on() -> None:
    assert BAND.origin == "house: greens"
    assert BAND.standing == STANDING
    assert "without a trial" in STANDING


def test_refusals() -> None:
    with pytest.raises(Contradiction, match="least_share and most_share"):
        clip_band(4.0, 1.0, 1.0, "house")
    with pytest.raises(Refusal, match="where it comes from"):
        clip_band(4.0, 0.5, 1.0, " ")
    with pytest.raises(Contradiction, match="finest and coarsest"):
        own_band(5.0, 3.0, "house")
    with pytest.raises(OutOfRange, match="finest"):
        own_band(0.0, 3.0, "house")
    with pytest.raises(OutOfRange, match="coarsest"):
        own_band(1.0, 0.0, "house")
    for arguments, named in (((0.0, 0.5, 1.0), "height"), ((4.0, 0.0, 1.0), "least"), ((4.0, 0.5, 11.0), "most")):
        with pytest.raises(OutOfRange, match=named):
            clip_band(*arguments, "house")
    with pytest.raises(OutOfRange, match="clip"):
        BAND.lies(0.0)
