"""From dial readings of a faulty reel to the gaps its knife is set with, and to the ribs it leaves."""

import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation
from sparkout.core.reel.state import ReelState, reel_state
from sparkout.core.ribs.as_set import gaps_as_set
from sparkout.core.ribs.pitches import rib_pitches
from sparkout.core.ribs.stubble_map import Mowing, stubble_map

REEL = Reel(11, 127.0, 500.0, math.radians(20.0))
STATIONS = (0.0, 125.0, 250.0, 375.0, 500.0)


def measured(low_blade: float, cone: float) -> ReelState:
    """Every blade's radius at five stations, read to 2 µm: one blade low, and a cone. Invented."""

    def radius(b: int, x: float) -> float:
        return 63.5 - (low_blade if b == 4 else 0.0) + cone * (x / 1000.0 - 0.25)

    observations = [
        Observation(f"{b} at {x:g}", "radius", x, radius(b, x), 0.002, (b,)) for b in range(11) for x in STATIONS
    ]
    return reel_state(REEL, observations)


def test_cone_is_followed_and_a_low_blade_is_not() -> None:
    gaps = gaps_as_set(measured(0.15, 0.3))
    assert gaps.gap.shape == (11, 41)
    assert float(gaps.gap.min()) == pytest.approx(0.0, abs=1e-9)
    others = np.delete(gaps.gap, 4, axis=0)
    assert float(others.max()) < 0.02, "the knife is set along the cone"
    assert float(gaps.gap[4].min()) == pytest.approx(0.15, abs=0.02)


def test_least_gap_is_left() -> None:
    assert float(gaps_as_set(measured(0.0, 0.0), 0.03, 11).gap.min()) == pytest.approx(0.03, abs=1e-9)


def test_a_bowed_knife_stands_off_in_its_middle() -> None:
    """A bow read by straight edge: the middle of the edge stands that much farther from the axis than the ends."""
    observations = [Observation(f"r {x:g}", "radius", x, 63.5, 0.002, (b,)) for x in STATIONS for b in range(11)]
    for x, height in ((0.0, 0.0), (250.0, 0.2), (500.0, 0.0)):
        observations.append(Observation(f"straight edge {x:g}", "knife", x, height, 0.002))
    gaps = gaps_as_set(reel_state(REEL, observations))
    middle, ends = gaps.gap[:, 20].mean(), 0.5 * (gaps.gap[:, 0].mean() + gaps.gap[:, 40].mean())
    assert middle - ends == pytest.approx(0.2, abs=0.02)


def test_measured_low_blade_leaves_its_rib() -> None:
    gaps = gaps_as_set(measured(0.15, 0.0))
    mowing = Mowing(1250.0, 50 * math.pi, 4.0, 4.0, 9.0)
    strip = stubble_map(REEL, gaps.gap, gaps.stations, mowing, step=1.0)
    longer = [rib for rib in rib_pitches(strip, 12) if rib.pitch > 2.0 * strip.clip]
    assert longer[0].pitch == pytest.approx(11 * strip.clip, rel=0.01)


def test_refusals() -> None:
    state = measured(0.0, 0.0)
    with pytest.raises(OutOfRange, match="least_gap"):
        gaps_as_set(state, 2.0)
    with pytest.raises(OutOfRange, match="places"):
        gaps_as_set(state, 0.0, 2)
