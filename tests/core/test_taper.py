"""Taper: against drawn triangles, signs and refusals. Printed examples: tests/published/test_taper_sine_bar.py."""

import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.taper import set_over, sine_bar_height, taper_angle


def test_angle_between_two_drawn_sides() -> None:
    """Brute force: the angle between the two sides of a cone's section, 63.25 to 63.5 mm from the axis."""
    upper, lower = np.array((533.0, 63.5 - 63.25)), np.array((533.0, 63.25 - 63.5))
    cross = upper[1] * lower[0] - upper[0] * lower[1]
    assert taper_angle(0.5, 533.0) == pytest.approx(math.atan2(cross, float(upper @ lower)), rel=1e-12)


def test_set_over_turns_the_small_end_out_to_the_large() -> None:
    """Brute force: supports 600 apart, blades of 500 in the middle; turning one support in levels the upper side."""
    move = set_over(0.5, 500.0, 600.0)
    ends = np.array((50.0, 550.0))
    upper = np.array((63.25, 63.5)) - move * ends / 600.0
    assert upper[0] == pytest.approx(upper[1], abs=1e-12)


def test_signs() -> None:
    assert taper_angle(-0.5, 533.0) == -taper_angle(0.5, 533.0)
    assert set_over(-0.5, 533.0, 600.0) == -set_over(0.5, 533.0, 600.0)
    assert taper_angle(0.0, 533.0) == set_over(0.0, 533.0, 600.0) == sine_bar_height(100.0, 0.0) == 0.0


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: taper_angle(0.5, 0.0), "length is 0 mm; allowed: above 0"),
        (lambda: taper_angle(math.nan, 5.0), "cone is nan mm"),
        (lambda: set_over(0.5, 533.0, -1.0), "span is -1 mm"),
        (lambda: set_over(0.5, -533.0, 1.0), "length is -533 mm"),
        (lambda: sine_bar_height(0.0, 0.1), "bar_length is 0 mm"),
        (lambda: sine_bar_height(100.0, 30.0), "angle is 30 rad; allowed: 0 to 1.5708 rad"),
    ],
)
def test_refusals(call, says: str) -> None:
    with pytest.raises(OutOfRange, match=says):
        call()
