"""Grinding a virtual unit, against sums done by hand."""

import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.practice.virtual_grind import TrueGrinder, spun_on
from sparkout.core.practice.virtual_unit import VirtualUnit
from sparkout.core.reel.geometry import Reel

REEL = Reel(11, 127.0, 533.0, helix_angle=math.radians(20.0))
HARD = 1e12


def test_spark_out_leaves_a_power_of_what_the_give_spares() -> None:
    """One infeed of d and m passes in all leave (1 - give)^m d standing above the wheel's line."""
    done = spun_on(VirtualUnit(REEL, 63.0), TrueGrinder(0.6, HARD, 150.0, 20.0), [0.1, 0.0, 0.0, 0.0])
    assert done.unit.radius(200.0) == pytest.approx(62.9 + 0.4**4 * 0.1)


def test_a_cone_is_ground_true_from_its_large_end() -> None:
    coned = VirtualUnit(REEL, 63.0, cone=0.4)
    done = spun_on(coned, TrueGrinder(1.0, HARD, 150.0, 20.0), [0.1, 0.05])
    assert done.unit.radius([0.0, 533.0])[0] == pytest.approx([62.9, 62.95])


def test_a_carriage_out_of_parallel_grinds_twice_that_in_on_diameter() -> None:
    done = spun_on(VirtualUnit(REEL, 63.0), TrueGrinder(1.0, HARD, 150.0, 20.0, carriage_out=0.03), [0.2])
    left, right = 2.0 * done.unit.radius([0.0, 533.0])[0]
    assert right - left == pytest.approx(0.06)


def test_volume_and_wheel_loss_agree_with_the_g_ratio() -> None:
    """A true reel, land 1 mm that grows by the depth at 45 degrees: N x (land + d/2) x d x length / cos(helix)."""
    done = spun_on(VirtualUnit(REEL, 63.0), TrueGrinder(1.0, 15.0, 150.0, 20.0), [0.1])
    by_hand = 11 * (1.0 + 0.05) * 0.1 * 533.0 / math.cos(math.radians(20.0))
    assert done.volume == pytest.approx(by_hand, rel=1e-3)
    lost = math.pi / 4.0 * (150.0**2 - done.wheel_diameter**2) * 20.0
    assert lost == pytest.approx(done.volume / 15.0, rel=1e-3)


def test_a_wearing_wheel_falls_behind_its_dial() -> None:
    infeeds = [0.02] * 10 + [0.0] * 30
    done = spun_on(VirtualUnit(REEL, 63.0), TrueGrinder(0.7, 15.0, 150.0, 20.0), infeeds)
    behind = (150.0 - done.wheel_diameter) / 2.0
    assert behind > 0.005
    assert done.unit.radius(100.0)[0, 0] == pytest.approx(63.0 - 0.2 + behind, abs=1e-5)


def test_no_pass_no_change() -> None:
    unit = VirtualUnit(REEL, 63.0)
    done = spun_on(unit, TrueGrinder(0.7, 15.0, 150.0, 20.0), [])
    assert (done.unit, done.wheel_diameter, done.volume) == (unit, 150.0, 0.0)
    assert np.array_equal(done.unit.radius(10.0), unit.radius(10.0))


def test_refusals() -> None:
    unit = VirtualUnit(REEL, 63.0)
    with pytest.raises(OutOfRange, match="infeeds"):
        spun_on(unit, TrueGrinder(0.7, 15.0, 150.0, 20.0), [-0.01])
    with pytest.raises(OutOfRange, match="g_ratio"):
        spun_on(unit, TrueGrinder(0.7, 0.0, 150.0, 20.0), [0.01])
    with pytest.raises(OutOfRange, match="give"):
        spun_on(unit, TrueGrinder(1.7, 15.0, 150.0, 20.0), [0.01])
