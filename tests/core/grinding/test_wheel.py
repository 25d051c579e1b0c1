import math

import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.grinding.wheel import cone_from_wheel_loss, overlap, speed_check, surface_speed, wheel_loss

RPM = 2.0 * math.pi / 60.0


def test_rim_speed_is_pi_d_n() -> None:
    assert surface_speed(150.0, 3000 * RPM) == pytest.approx(math.pi * 150.0 * 50.0)


def test_speed_at_the_mark_is_allowed_and_just_above_is_not() -> None:
    speed = surface_speed(150.0, 3000 * RPM)
    assert speed_check(150.0, 3000 * RPM, speed).allowed
    too_fast = speed_check(150.0, 3000 * RPM, speed * 0.999)
    assert not too_fast.allowed
    assert too_fast.margin < 0.0
    assert too_fast.fastest_spindle < 3000 * RPM
    assert surface_speed(150.0, too_fast.fastest_spindle) == pytest.approx(too_fast.marked_speed)


def test_no_verdict_without_the_mark() -> None:
    with pytest.raises(NotEnough, match="marked on the wheel"):
        speed_check(150.0, 3000 * RPM, None)


def test_wheel_loss_takes_the_ring_of_that_volume() -> None:
    lost = wheel_loss(5000.0, 40.0, 100.0, 20.0)
    ring = math.pi * 20.0 * (50.0**2 - (50.0 - lost) ** 2)
    assert ring == pytest.approx(5000.0 / 40.0, rel=1e-9)


def test_a_tiny_loss_keeps_its_digits() -> None:
    assert wheel_loss(1e-9, 40.0, 100.0, 20.0) == pytest.approx(1e-9 / 40.0 / (math.pi * 100.0 * 20.0), rel=1e-12)


def test_a_wheel_cannot_lose_more_than_it_has() -> None:
    with pytest.raises(OutOfRange, match="volume_removed"):
        wheel_loss(1e9, 1.0, 100.0, 20.0)


def test_overlap_counts_turns_while_the_wheel_passes_a_point() -> None:
    """Brute force: count the turns made while the point lies under the width."""
    width, traverse, turns_per_second = 20.0, 50.0, 7.5
    assert overlap(width, traverse, 2 * math.pi * turns_per_second) == pytest.approx(
        width / traverse * turns_per_second
    )


def test_cone_is_on_diameter() -> None:
    assert cone_from_wheel_loss(0.002) == 0.004


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: surface_speed(0.0, 100.0), "wheel_diameter"),
        (lambda: surface_speed(100.0, -1.0), "spindle_speed"),
        (lambda: speed_check(100.0, 100.0, 0.0), "marked_speed"),
        (lambda: wheel_loss(-1.0, 40.0, 100.0, 20.0), "volume_removed"),
        (lambda: wheel_loss(1.0, 0.0, 100.0, 20.0), "g_ratio"),
        (lambda: overlap(20.0, 0.0, 1.0), "traverse_speed"),
        (lambda: cone_from_wheel_loss(-0.1), "loss_in_traverse"),
    ],
)
def test_bad_values_are_named(call: object, named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        call()  # type: ignore[operator]
