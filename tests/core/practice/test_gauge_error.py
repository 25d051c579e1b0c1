"""Gauges that err: as much as they are said to, in the way they are said to."""

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.gauges.instrument import Instrument
from sparkout.core.practice.gauge_error import USUAL_LEAVES, ErringGauge, erring, rattled, stepped
from sparkout.core.practice.virtual_unit import VirtualUnit
from sparkout.core.reel.geometry import Reel

TAPE = Instrument("tape 1", "tape", 0.1, 0.05, 0.08)


def test_bias_is_drawn_once_and_has_the_calibrations_spread() -> None:
    generator = np.random.default_rng(5)
    biases = np.array([erring(TAPE, generator).bias for _ in range(4000)])
    # standard error of a standard deviation of 4000 normal values: 1.1 %; four of them
    assert biases.std() == pytest.approx(0.05, rel=0.045)
    assert abs(biases.mean()) < 4 * 0.05 / np.sqrt(4000)


def test_readings_scatter_by_repeatability_and_step() -> None:
    gauge = ErringGauge(TAPE, bias=0.2)
    shown = gauge.reads_all(np.full(8000, 125.4), np.random.default_rng(6))
    assert shown.mean() == pytest.approx(125.6, abs=0.005)
    assert shown.std() == pytest.approx(np.hypot(0.08, 0.1 / np.sqrt(12.0)), rel=0.03)
    assert np.abs(shown / 0.1 - np.rint(shown / 0.1)).max() < 1e-6


def test_one_reading_is_the_first_of_many() -> None:
    gauge = ErringGauge(TAPE, bias=0.01)
    assert gauge.reads(125.0, np.random.default_rng(3)) == gauge.reads_all([125.0], np.random.default_rng(3))[0]


def test_no_step_no_rounding() -> None:
    assert stepped([0.12345], 0.0).tolist() == [0.12345]
    with pytest.raises(OutOfRange, match="step"):
        stepped([1.0], -1.0)


@pytest.mark.parametrize(
    ("gap", "found"),
    [(0.0, (0.0, 0.02)), (0.019, (0.0, 0.02)), (0.055, (0.05, 0.06)), (0.13, (0.10, 0.15)), (0.97, (0.95, 1.0))],
)
def test_leaves_close_in_on_the_gap(gap: float, found: tuple[float, float]) -> None:
    feeler = ErringGauge(Instrument("leaves", "feeler", 0.0, 0.0, 0.0))
    assert feeler.leaves(gap, np.random.default_rng(1)) == pytest.approx(found)


def test_leaves_are_felt_with_the_hands_scatter() -> None:
    feeler = ErringGauge(Instrument("leaves", "feeler", 0.0, 0.0, 0.01))
    generator = np.random.default_rng(2)
    middles = np.array([np.mean(feeler.leaves(0.055, generator)) for _ in range(3000)])
    assert middles.std() == pytest.approx(np.hypot(0.01, 0.01 / np.sqrt(12.0)), rel=0.06)


def test_leaves_run_out() -> None:
    feeler = ErringGauge(Instrument("leaves", "feeler", 0.0, 0.0, 0.0))
    with pytest.raises(OutOfRange, match="thickest leaf, 1 mm"):
        feeler.leaves(1.4, np.random.default_rng(1))
    with pytest.raises(OutOfRange, match="thickest leaf, 0 mm"):
        feeler.leaves(0.1, np.random.default_rng(1), ())
    with pytest.raises(OutOfRange, match="at least 0"):
        feeler.leaves(-0.1, np.random.default_rng(1))


def test_usual_leaves_grow() -> None:
    assert (np.diff(USUAL_LEAVES) > 0.009).all()


def test_play_shakes_its_own_end_only() -> None:
    unit = VirtualUnit(Reel(11, 127.0, 533.0), 63.5, radial_play=(0.0, 0.06))
    off = np.concatenate([rattled(unit, [0.0, 266.5, 533.0], np.random.default_rng(n)) for n in range(400)])
    assert (off[:, 0] == 0.0).all()
    assert off[:, 2].std() == pytest.approx(0.06 / np.sqrt(12.0), rel=0.05)
    assert np.abs(off[:, 2]).max() <= 0.03
    assert off[:, 1].std() == pytest.approx(0.03 / np.sqrt(12.0), rel=0.05)
