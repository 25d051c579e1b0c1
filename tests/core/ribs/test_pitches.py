"""Pitches found in a map: a known sine, and from a fault through the map and its ruler to the finder's answer."""

import math

import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.reel.geometry import Reel
from sparkout.core.ribs.finder import find_ribs
from sparkout.core.ribs.machine import Machine, OwnSpeed, Setting, Stretch
from sparkout.core.ribs.pitches import Rib, rib_pitches
from sparkout.core.ribs.stubble_map import Mowing, StubbleMap, Wave, knife_over, stubble_map

REEL = Reel(11, 127.0, 500.0, math.radians(20.0))
STATIONS = np.linspace(0.0, 500.0, 6)
MOWING = Mowing(1250.0, 50 * math.pi, 4.0, 4.0, 12.0)


@pytest.mark.parametrize("pitch", [7.3, 31.0, 163.0])
def test_a_sine_comes_back_with_its_pitch_and_depth(pitch: float) -> None:
    along = (np.arange(4000) + 0.5) * 0.5
    rows = 5.0 + 0.35 * np.sin(2 * math.pi * along / pitch + np.arange(3)[:, None])
    strip = StubbleMap(np.arange(3.0), along, rows.astype(np.float32), 4.5)
    (rib,) = rib_pitches(strip, 1)
    assert rib.pitch == pytest.approx(pitch, rel=2e-3)
    assert rib.depth == pytest.approx(0.7, rel=0.03)


def test_even_stubble_has_no_ribs() -> None:
    along = (np.arange(400) + 0.5) * 0.5
    assert rib_pitches(StubbleMap(np.arange(2.0), along, np.full((2, 400), 4.0, dtype=np.float32), 4.5)) == ()


def deepest_but_the_clip(reel_radius: np.ndarray, mowing: Mowing) -> Rib:
    strip = stubble_map(REEL, knife_over(reel_radius, STATIONS) - reel_radius, STATIONS, mowing, step=1.0)
    shape = [rib for rib in rib_pitches(strip, 12) if rib.pitch > 1.5 * strip.clip]
    return shape[0]


def named(pitch: float) -> str:
    machine = Machine(11, OwnSpeed(), {"front roller": Measured(63.0, 0.5)})
    at = Setting(Measured(1250.0, 12.5), Measured(50 * math.pi, 1.5))
    return find_ribs(machine, [Stretch(Measured(pitch, 0.01 * pitch), at)]).best.cause.kind


def test_a_low_blade_is_found_through_map_ruler_and_finder() -> None:
    r = np.full((11, 6), 63.5)
    r[3] -= 0.15
    rib = deepest_but_the_clip(r, MOWING)
    assert rib.pitch == pytest.approx(50.0, rel=0.01)
    assert named(rib.pitch) == "turn"


def test_a_bouncing_unit_and_a_roller_out_of_round_are_found_through_map_ruler_and_finder() -> None:
    true = np.full((11, 6), 63.5)
    for wave, kind in ((Wave(0.5, 1250.0 / 3.0), "bounce"), (Wave(0.3, math.pi * 63.0), "roller")):
        mowing = Mowing(1250.0, 50 * math.pi, 4.0, 4.0, 12.0, (wave,))
        rib = deepest_but_the_clip(true, mowing)
        assert rib.pitch == pytest.approx(wave.pitch, rel=0.05)
        assert named(rib.pitch) == kind


def test_refusals() -> None:
    strip = stubble_map(REEL, np.zeros((11, 6)), STATIONS, MOWING, travelled=20.0, width=5.0)
    with pytest.raises(NotEnough, match="eight clips long"):
        rib_pitches(strip)
    with pytest.raises(OutOfRange, match="most"):
        rib_pitches(strip, 0)
    single = StubbleMap(np.zeros(1), np.zeros(1), np.zeros((1, 1), dtype=np.float32), 4.5)
    with pytest.raises(NotEnough, match="eight clips long"):
        rib_pitches(single)
