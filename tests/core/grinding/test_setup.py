import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.grinding.setup import (
    adjuster_turns,
    cone_from_carriage,
    divisions,
    touch_off,
    touch_off_check,
)
from sparkout.core.measured import Measured


def ground_cone(carriage_out: float, length: float) -> float:
    """Brute force: a wheel whose path leaves the axis by `carriage_out` over the length; diameter at each end."""
    x = np.array([0.0, length])
    radius = 60.0 + carriage_out * x / length
    return float(2.0 * (radius[1] - radius[0]))


def test_carriage_out_grinds_twice_as_much_cone() -> None:
    assert cone_from_carriage(0.03) == pytest.approx(ground_cone(0.03, 533.0))


@pytest.mark.parametrize("cone", [0.5, -0.5])
def test_adjuster_brings_the_axis_parallel(cone: float) -> None:
    """Brute force: a coned reel laid with both ends touching the wheel's path, then one mount moved by the offset."""
    length, spacing = 533.0, 700.0
    left, right = 60.0 - cone / 4, 60.0 + cone / 4  # end radii; the wheel's path is the line y = 0
    slope = (right - left) / length  # of the axis against the path when both ends touch
    move = adjuster_turns(cone, length, spacing, 1.5)
    after = slope - move.offset / spacing  # the right mount moves towards the path by the offset
    assert after == pytest.approx(0.0, abs=1e-15)
    assert move.turns * 1.5 == pytest.approx(move.offset)


def test_collar_divisions() -> None:
    assert divisions(0.25, 60) == 15.0
    with pytest.raises(OutOfRange, match="divisions_per_turn"):
        divisions(0.25, 0)


@pytest.mark.parametrize(
    ("bad", "named"),
    [
        ((50.0, 533.0, 700.0, 1.5), "cone_on_diameter"),
        ((0.5, 0.0, 700.0, 1.5), "reel_length"),
        ((0.5, 533.0, 1.0, 1.5), "mount_spacing"),
        ((0.5, 533.0, 700.0, 0.0), "thread_pitch"),
        ((math.nan, 533.0, 700.0, 1.5), "cone_on_diameter"),
    ],
)
def test_bad_set_up_values_are_named(bad: tuple[float, ...], named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        adjuster_turns(*bad)


@pytest.mark.parametrize(("cone", "end"), [(0.4, "right"), (-0.4, "left"), (0.0, "neither")])
def test_touch_off_names_the_large_end(cone: float, end: str) -> None:
    shown = touch_off(Measured(cone, 0.03))
    assert shown.large_end == end
    assert shown.difference == Measured(abs(cone) / 2, 0.015)


def test_touch_off_error_is_the_carriage_error() -> None:
    """Brute force: stand-off at the small end of a true cone when the carriage leaves the axis by a."""
    cone, carriage = 0.4, 0.05
    radius = {"small": 60.0, "large": 60.0 + cone / 2}
    wheel_at_large = radius["large"]
    wheel_at_small = wheel_at_large + carriage
    seen = wheel_at_small - radius["small"]
    check = touch_off_check(Measured(seen, 0.003), Measured(cone / 2, 0.004))
    assert check.carriage_out.value == pytest.approx(carriage)
    assert check.carriage_out.u == pytest.approx(0.005)
    assert check.cone_ground_in.value == pytest.approx(0.1)
    assert check.proven_out


def test_an_error_within_its_uncertainty_is_not_proven() -> None:
    assert not touch_off_check(Measured(0.105, 0.005), Measured(0.1, 0.0)).proven_out
