"""A machine as timed and counted: against simulation and the core's own sums."""

import math

import numpy as np
import pytest

from sparkout.core.cut.band import clip_band
from sparkout.core.cut.clip import clip
from sparkout.core.cut.running import running, travel_speed_timed
from sparkout.core.errors import OutOfRange
from sparkout.core.measured import Measured

TRAVEL, TURNING = Measured(1250.0, 25.0), Measured(157.0, 2.0)
BAND = clip_band(4.0, 0.8, 1.15, "house: greens")


def test_uncertainty_and_chance_by_simulation() -> None:
    """Brute force (JCGM 101): draw both speeds, reckon each clip, look at the spread and count those in the band."""
    rng = np.random.default_rng(9)
    drawn = 2 * math.pi * rng.normal(1250.0, 25.0, 200_000) / (11 * rng.normal(157.0, 2.0, 200_000))
    found = running(TRAVEL, 11, TURNING, 127.0, BAND)
    assert found.clip.value == clip(1250.0, 11, 157.0)
    assert found.clip.u == pytest.approx(float(drawn.std()), rel=0.01)
    inside = float(((drawn > BAND.finest) & (drawn < BAND.coarsest)).mean())
    assert found.chance_within == pytest.approx(inside, abs=0.005)
    assert found.cuts.value * found.clip.value == pytest.approx(1.0)
    assert found.cuts.u == pytest.approx(float((1 / drawn).std()), rel=0.01)
    assert found.tip_speed is not None
    assert (found.tip_speed.value, found.tip_speed.u) == pytest.approx((157.0 * 63.5, 2.0 * 63.5))


def test_without_a_band_there_is_no_chance_of_it_and_without_doubt_it_is_nought_or_one() -> None:
    bare = running(TRAVEL, 11, TURNING)
    assert bare.chance_within is None
    assert bare.tip_speed is None
    sure = Measured(1250.0, 0.0), 11, Measured(157.0, 0.0), 127.0
    assert running(*sure, BAND).chance_within == 1.0
    assert running(*sure, clip_band(4.0, 0.2, 0.8, "house")).chance_within == 0.0


def test_timed_over_a_distance_by_simulation() -> None:
    rng = np.random.default_rng(10)
    drawn = rng.normal(20_000.0, 50.0, 200_000) / rng.normal(16.0, 0.2, 200_000)
    speed = travel_speed_timed(Measured(20_000.0, 50.0), Measured(16.0, 0.2))
    assert speed.value == 1250.0
    assert speed.u == pytest.approx(float(drawn.std()), rel=0.01)


def test_refusals() -> None:
    with pytest.raises(OutOfRange, match="distance"):
        travel_speed_timed(Measured(0.0, 1.0), Measured(1.0, 0.1))
    with pytest.raises(OutOfRange, match="time"):
        travel_speed_timed(Measured(1.0, 1.0), Measured(0.0, 0.1))
    with pytest.raises(OutOfRange, match="travel_speed"):
        running(Measured(0.0, 1.0), 11, TURNING, 127.0)
    with pytest.raises(OutOfRange, match="reel_diameter"):
        running(TRAVEL, 11, TURNING, 10.0)
