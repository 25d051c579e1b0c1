"""A run-down heard against signals of known truth; none is heard where there is none."""

import math

import numpy as np
import pytest

from sparkout.core.bearing.running_down import running_down
from sparkout.core.errors import OutOfRange

RATE = 8000


def sound(seed=0, first=900.0, slows=60.0, by_speed=0.0, noise=1.0, held=0.0, seconds=8.0, blades=11):
    """Blades whose speed, 1/min, falls by `slows` each second and by a share of itself, after having been held."""
    rng, t = np.random.default_rng(seed), np.arange(0.0, seconds, 1.0 / RATE)
    free = np.maximum(t - held, 0.0)
    falls = (
        first - slows * free
        if by_speed == 0.0
        else (first + slows / by_speed) * np.exp(-by_speed * free) - slows / by_speed
    )
    turned = 2.0 * math.pi * np.cumsum(np.maximum(falls, 0.0)) / 60.0 / RATE
    lines = sum(np.sin(blades * k * turned + k) / k**0.7 for k in range(1, 6))
    return lines * (falls > 0.0) + noise * rng.normal(size=t.size)


@pytest.mark.parametrize(("noise", "within"), [(0.3, 0.02), (1.0, 0.02), (3.0, 0.05)])
@pytest.mark.parametrize(("first", "slows", "held"), [(900.0, 90.0, 0.0), (1200.0, 60.0, 1.5), (600.0, 40.0, 0.5)])
def test_even_slowing_is_found_over_noise(noise, within, first, slows, held):
    found = running_down(sound(1, first, slows, noise=noise, held=held), RATE, 11)
    assert found is not None
    assert found.slowing.value * 30 / math.pi == pytest.approx(slows, rel=within)
    assert found.first_speed.value * 30 / math.pi == pytest.approx(first, rel=0.035)
    assert found.stop == pytest.approx(first / slows, rel=0.05)


def test_drag_that_grows_with_speed_is_told_apart():
    found = running_down(sound(2, 900.0, 40.0, by_speed=0.08, noise=0.5), RATE, 11)
    assert found is not None
    assert found.by_speed == pytest.approx(0.08, abs=0.01)
    assert found.slowing.value * 30 / math.pi == pytest.approx(40.0, rel=0.08)


def test_intervals_cover():
    """95 % intervals over 20 signals hold the truth at least as often as a fair 95 % would, bar one in a thousand."""
    held = 0
    for seed in range(20):
        found = running_down(sound(seed, 800.0, 70.0, noise=1.5, seconds=6.0), RATE, 11)
        assert found is not None
        low, high = found.slowing.interval()
        held += low <= 70.0 * math.pi / 30 <= high
    assert held >= 16


def test_none_is_heard_in_noise_nor_at_an_even_speed_nor_in_too_little():
    for seed in range(8):
        assert running_down(np.random.default_rng(seed).normal(size=RATE * 6), RATE, 11) is None
        assert running_down(sound(seed, slows=0.0, seconds=5.0), RATE, 11) is None
    assert running_down(sound(seconds=1.0), RATE, 11) is None
    assert running_down(np.zeros(RATE * 5), RATE, 11) is None
    assert running_down(sound(slows=8.0), RATE, 11) is None  # falls too little to tell


@pytest.mark.parametrize(
    ("args", "named"),
    [((np.zeros((2, 9)), RATE, 11), "samples"), ((np.zeros(9), 5.0, 11), "rate"), ((np.zeros(9), RATE, 1), "blades")],
)
def test_bad_arguments_are_named(args, named):
    with pytest.raises(OutOfRange, match=named):
        running_down(*args)


def test_low_above_high_is_named():
    with pytest.raises(OutOfRange, match="high"):
        running_down(np.zeros(9), RATE, 11, low=900.0, high=100.0)


def turning(speed, seed=0, noise=1.0, blades=11):
    """Blades of a reel with this speed, 1/min, at each sample."""
    turned = 2.0 * math.pi * np.cumsum(np.maximum(speed, 0.0)) / 60.0 / RATE
    lines = sum(np.sin(blades * k * turned + k) / k**0.7 for k in range(1, 6))
    return lines * (speed > 0.0) + noise * np.random.default_rng(seed).normal(size=speed.size)


T = np.arange(0.0, 9.0, 1.0 / RATE)
DRIVEN = {
    "held at half for two seconds": 900.0 - 90.0 * (T - np.clip(T - 4.0, 0.0, 2.0)),
    "braked for the second half": 900.0 - 40.0 * T - 120.0 * np.maximum(T - 4.5, 0.0),
    "let go only slowly": 900.0 - 12.0 * T**2,
}
FREE = {
    "even drag": 900.0 - 80.0 * T,
    "drag with speed": (900.0 + 500.0) * np.exp(-0.08 * T) - 500.0,
    "drag with its square": 900.0 * np.tan(0.9 - 0.09 * T) / math.tan(0.9),
}


@pytest.mark.parametrize("way", DRIVEN)
def test_a_drive_that_holds_or_brakes_for_part_of_the_way_shows(way):
    for seed in range(4):
        found = running_down(turning(DRIVEN[way], seed), RATE, 11)
        assert found is not None
        assert not found.freely, found.strays


@pytest.mark.parametrize("noise", [0.3, 1.0, 2.0])
@pytest.mark.parametrize("way", FREE)
def test_a_reel_that_runs_down_freely_is_not_doubted(way, noise):
    for seed in range(4):
        found = running_down(turning(FREE[way], seed, noise), RATE, 11)
        assert found is not None
        assert found.freely, found.strays
