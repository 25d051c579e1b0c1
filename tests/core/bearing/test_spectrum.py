"""Recordings of known truth: noise, blades and one damaged bearing, drawn with a seeded generator."""

import numpy as np
import pytest

from sparkout.core.bearing.geometry import Bearing, defect_multiples
from sparkout.core.bearing.spectrum import heard, reel_speed
from sparkout.core.errors import NotEnough, OutOfRange

BEARING = Bearing(9, 7.94, 39.04)
MULTIPLES = defect_multiples(BEARING)
RATE = 16_000
SPEED = 1480.0


def recording(fault, strength, seed, seconds=6, blades=11, ringing=3600.0):
    """Noise of unit strength, blades that hum and press on the noise, and blows `strength` as strong as the noise."""
    rng = np.random.default_rng(seed)
    t = np.arange(RATE * seconds) / RATE
    turn = SPEED / 60
    x = rng.normal(size=t.size)
    for k in range(1, 6):
        x += np.sin(2 * np.pi * blades * turn * k * t + rng.uniform(0, 6.28)) / k
    for k in range(1, 4):
        x += 0.5 * np.sin(2 * np.pi * turn * k * t + rng.uniform(0, 6.28)) / k
    x *= 1 + 0.3 * np.cos(2 * np.pi * blades * turn * t)
    if fault is None:
        return x
    multiple = {"outer race": MULTIPLES.outer, "inner race": MULTIPLES.inner, "ball": MULTIPLES.element}[fault]
    every = 1 / (turn * multiple * (1 + rng.uniform(-0.012, 0.012)))
    times = np.cumsum(every * (1 + rng.normal(0, 0.01, int(seconds / every))))
    times = times[times < seconds - 0.01]
    size = np.ones(times.size)
    if fault == "inner race":
        size = 1 + np.cos(2 * np.pi * turn * times)
    if fault == "ball":
        size = 1 + 0.7 * np.cos(2 * np.pi * turn * MULTIPLES.cage * times)
    blows = np.zeros(t.size)
    np.add.at(blows, (times * RATE).astype(int), size)
    k = np.arange(int(0.004 * RATE)) / RATE
    rung = np.convolve(blows, np.exp(-1500 * k) * np.sin(2 * np.pi * ringing * k))[: t.size]
    return x + strength * rung / rung.std()


@pytest.mark.parametrize("fault", ["outer race", "inner race", "ball"])
def test_faults_are_named_at_every_strength_that_shows_and_never_wrongly(fault):
    for strength, at_least in ((0.1, 0), (0.25, 3), (0.5, 4), (1.0, 4)):
        named = [heard(recording(fault, strength, seed), RATE, SPEED, BEARING, 11).fault for seed in range(4)]
        assert set(named) <= {fault, None}
        assert named.count(fault) >= at_least, (fault, strength, named)


def test_a_sound_bearing_is_left_alone():
    for seed in range(15):
        found = heard(recording(None, 0.0, seed), RATE, SPEED, BEARING, 11)
        assert found.fault is None
        assert all(line.by_chance > 0.001 or not line.named for line in found.lines)


def test_the_chance_is_that_of_noise():
    """Noise alone comes under a stated chance no more often than stated."""
    least = []
    for seed in range(60):
        noise = np.random.default_rng(seed).normal(size=RATE * 3)
        least.append(min(line.by_chance for line in heard(noise, RATE, SPEED, BEARING, 11).lines))
    assert np.mean(np.array(least) < 0.1) <= 0.25
    assert np.mean(np.array(least) < 0.01) <= 0.06


def test_a_fault_whose_lines_are_the_belts_is_not_told():
    x = recording("outer race", 1.0, 1)
    belt = heard(x, RATE, SPEED, BEARING, 11).lines[0].found
    found = heard(x, RATE, SPEED, BEARING, 11, others={"the belt": belt})
    assert found.lines[0].fault == "outer race"
    assert not found.lines[0].named
    # Where every place the lines could be is the belt's, that is said.
    narrow = heard(x[: 2 * RATE], RATE, SPEED, BEARING, 11, others={"the belt": 1.5})
    assert narrow.lines[0].hidden_by == "the belt"
    assert any("the belt" in text for text in narrow.cannot)


def test_what_a_recording_cannot_show_is_said():
    x = recording(None, 0.0, 2)
    said = heard(np.clip(x, -1.0, 1.0), RATE, SPEED, BEARING, 11).cannot
    assert any("overdriven" in text for text in said)
    assert any("short" in text for text in heard(x[: 3 * RATE], RATE, SPEED, BEARING, 11).cannot)
    assert any("2000 Hz" in text for text in heard(x[::4], RATE / 4, SPEED, BEARING, 11).cannot)


@pytest.mark.parametrize(("blades", "seed"), [(7, 1), (8, 2), (11, 3)])
def test_reel_speed_by_blade_pass(blades, seed):
    found = reel_speed(recording(None, 0.0, seed, blades=blades), RATE, blades)
    assert found.speed == pytest.approx(SPEED, rel=0.002)


def test_a_speed_in_doubt_says_so():
    t = np.arange(0, 4, 1 / RATE)
    noise = np.random.default_rng(0).normal(size=t.size)
    lone = reel_speed(np.sin(2 * np.pi * 300 * t) + 0.3 * noise, RATE, 11)
    assert not lone.sure


def test_bad_recordings_are_named():
    with pytest.raises(NotEnough, match="2 s"):
        heard(np.ones(RATE), RATE, SPEED, BEARING, 11)
    with pytest.raises(NotEnough, match="sound in it"):
        heard(np.ones(RATE * 3), RATE, SPEED, BEARING, 11)
    with pytest.raises(NotEnough, match="stand out"):
        reel_speed(np.random.default_rng(1).normal(size=RATE * 4), RATE, 11)
    with pytest.raises(OutOfRange, match="one channel"):
        heard(np.zeros((10, 2)), RATE, SPEED, BEARING, 11)
    with pytest.raises(OutOfRange, match="rate"):
        heard(np.zeros(RATE * 3), 10.0, SPEED, BEARING, 11)
    with pytest.raises(OutOfRange, match="speed"):
        heard(recording(None, 0.0, 1), RATE, 5.0, BEARING, 11)
    with pytest.raises(OutOfRange, match="samples"):
        heard(np.full(RATE * 3, np.nan), RATE, SPEED, BEARING, 11)
