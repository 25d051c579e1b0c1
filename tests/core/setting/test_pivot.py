"""Knife on reel: against brute force on swung arms and drawn faces, worked wear figures, and the refusals."""

import math

import numpy as np
import pytest

from sparkout.core.errors import Contradiction, OutOfRange
from sparkout.core.setting.pivot import (
    KnifeOnReel,
    as_reel_wears,
    effective_top_clearance,
    knife_on_reel,
    swing,
    tail_clearance,
)

CARRIERS = [
    (127.0, 70.0, 45.0, 66.0, 0.03),
    (127.0, 60.0, -10.0, 75.0, 0.0),
    (127.0, -50.0, 60.0, 55.0, 0.05),
    (127.0, 0.0, 100.0, 37.5, 0.0),
    (127.0, 0.0, -30.0, 93.0, -0.02),
    (178.0, 95.0, 20.0, 118.0, 0.1),
]


@pytest.mark.parametrize("carrier", CARRIERS)
def test_agrees_with_swinging_the_arm(carrier: tuple[float, ...]) -> None:
    """Brute force: swing the arm through a full turn, keep where it crosses the circle, take the place nearest straight
    down (the rear one of a pair)."""
    diameter, behind, below, arm, gap = carrier
    turn = np.linspace(0, 2 * math.pi, 2_000_001)
    across, down = behind + arm * np.cos(turn), below + arm * np.sin(turn)
    miss = np.hypot(across, down) - (diameter / 2 + gap)
    crossing = np.nonzero(np.sign(miss[1:]) != np.sign(miss[:-1]))[0]
    angles = np.arctan2(across[crossing], down[crossing])
    nearest = np.abs(angles).min()
    expected = angles[np.abs(angles) < nearest + 1e-4].max()
    found = knife_on_reel(*carrier)
    assert found.approach_angle == pytest.approx(expected, abs=2e-5)
    assert math.hypot(found.behind_centre, found.below_centre) == pytest.approx(diameter / 2 + gap, rel=1e-12)
    assert math.hypot(found.behind_centre - behind, found.below_centre - below) == pytest.approx(arm, rel=1e-12)
    assert math.tan(found.approach_angle) == pytest.approx(found.behind_centre / found.below_centre)


def test_arm_that_does_not_reach_is_told_the_reach() -> None:
    with pytest.raises(OutOfRange, match=r"arm is 5 mm; allowed: \(to reach the reel\) 6\.5 to 133\.5 mm"):
        knife_on_reel(127.0, 70.0, 0.0, 5.0)
    with pytest.raises(OutOfRange, match="to reach the reel"):
        knife_on_reel(127.0, 70.0, 0.0, 140.0)


def test_pivot_on_the_axis_and_edge_above_it_are_refused() -> None:
    with pytest.raises(Contradiction, match="on the reel's axis"):
        knife_on_reel(127.0, 0.0, 0.0, 63.5)
    with pytest.raises(Contradiction, match="above the reel's axis"):
        knife_on_reel(127.0, 0.0, -100.0, 40.0)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((math.nan, 70.0, 45.0, 66.0, 0.0), "reel_diameter"),
        ((127_000.0, 70.0, 45.0, 66.0, 0.0), "reel_diameter"),
        ((127.0, 7e4, 45.0, 66.0, 0.0), "pivot_behind"),
        ((127.0, 70.0, -7e4, 66.0, 0.0), "pivot_below"),
        ((127.0, 70.0, 45.0, 0.0, 0.0), "arm"),
        ((127.0, 70.0, 45.0, 66.0, 40.0), "gap"),
    ],
)
def test_refusals(arguments: tuple[float, ...], named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        knife_on_reel(*arguments)


def test_clearance_is_the_angle_between_the_drawn_path_and_the_drawn_face() -> None:
    """Brute force: step along the face from the edge, and see how fast it leaves the circle."""
    at = knife_on_reel(*CARRIERS[0])
    top, tilt = math.radians(12.0), math.radians(-3.0)
    step = 1e-6
    face = (at.behind_centre + step * math.cos(top + tilt), at.below_centre + step * math.sin(top + tilt))
    leaving = (math.hypot(*face) - math.hypot(at.behind_centre, at.below_centre)) / step
    assert math.asin(leaving) == pytest.approx(effective_top_clearance(top, tilt, at.approach_angle), abs=1e-6)


def test_tail_clearance_of_a_face_along_the_tangent_is_pythagoras() -> None:
    at = KnifeOnReel(0.0, 60.0, 0.0)
    assert tail_clearance(120.0, at, 0.0, 0.0, 25.0) == pytest.approx(5.0), "25, 60, 65"
    assert tail_clearance(120.0, at, -0.5, 0.0, 5.0) < 0.0
    with pytest.raises(OutOfRange, match="top_length"):
        tail_clearance(120.0, at, 0.0, 0.0, -1.0)
    with pytest.raises(OutOfRange, match="top_angle"):
        tail_clearance(120.0, at, 3.0, 0.0, 1.0)


def test_wear_at_constant_behind_centre_raises_the_edge_as_the_reference_says() -> None:
    """63.5 to 62.5 mm radius at 8 mm behind centre raises the edge 1.01 mm (trade reference, own working there): a
    carrier so long that its arc is a vertical line."""
    pivot_behind, start = 8.0 + 900.0, math.sqrt(63.5**2 - 64.0)
    path = as_reel_wears(127.0, 125.0, pivot_behind, start, 900.0, steps=3)
    assert path.behind_centre[-1] == pytest.approx(8.0, abs=0.001)
    assert path.height_change[-1] == pytest.approx(1.01, abs=0.005)


def test_wear_path_agrees_with_itself_point_by_point() -> None:
    diameter, behind, below, arm, gap = CARRIERS[0]
    path = as_reel_wears(
        diameter, 115.0, behind, below, arm, gap=gap, top_angle=0.2, seat_tilt=0.05, top_length=18.0, steps=13
    )
    assert path.diameter[0] == diameter
    assert path.diameter[-1] == 115.0
    assert path.seat_tilt[0] == pytest.approx(0.05)
    assert path.height_change[0] == 0.0
    assert (np.diff(path.height_change) > 0).all()
    worn = knife_on_reel(115.0, behind, below, arm, gap)
    tilt = 0.05 + swing(knife_on_reel(diameter, behind, below, arm, gap), worn, behind, below)
    assert path.seat_tilt[-1] == pytest.approx(tilt)
    assert path.approach_angle[-1] == pytest.approx(worn.approach_angle)
    assert path.top_clearance[-1] == pytest.approx(0.2 + tilt + worn.approach_angle)
    assert path.tail_clearance[-1] == pytest.approx(tail_clearance(115.0, worn, 0.2, tilt, 18.0))
    assert path.height_change[-1] == pytest.approx(path.below_centre[0] - path.below_centre[-1])


def test_rigid_carrier_keeps_the_corner_at_its_distance_from_the_pivot() -> None:
    """Independent: whatever the wear, edge and rear corner are two points of one rigid body."""
    diameter, behind, below, arm, _ = CARRIERS[0]
    path = as_reel_wears(diameter, 115.0, behind, below, arm, top_angle=0.2, seat_tilt=-0.04, top_length=18.0, steps=5)
    fall = 0.2 + path.seat_tilt
    corner = np.hypot(
        path.behind_centre + 18.0 * np.cos(fall) - behind, path.below_centre + 18.0 * np.sin(fall) - below
    )
    assert np.ptp(corner) < 1e-9


def test_wear_refuses_a_limit_that_is_not_smaller_and_too_few_steps() -> None:
    with pytest.raises(OutOfRange, match="limit_diameter"):
        as_reel_wears(127.0, 127.0, 70.0, 45.0, 66.0)
    with pytest.raises(OutOfRange, match="steps"):
        as_reel_wears(127.0, 120.0, 70.0, 45.0, 66.0, steps=1)
