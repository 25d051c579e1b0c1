"""The virtual unit against the written definitions, and its land against a brute-force intersection."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.practice.virtual_unit import Nick, VirtualUnit, WheelPass, one_blade_off
from sparkout.core.reel.geometry import Reel

REEL = Reel(11, 127.0, 533.0, helix_angle=math.radians(20.0))
ENDS = np.array([0.0, 533.0])


def test_cone_is_right_less_left_diameter() -> None:
    r = VirtualUnit(REEL, 63.3, cone=0.35).radius(ENDS)
    assert 2.0 * (r[:, 1] - r[:, 0]) == pytest.approx(0.35)


def test_barrel_is_middle_less_line_between_ends_and_leaves_the_mean() -> None:
    unit = VirtualUnit(REEL, 63.3, cone=0.2, barrel=-0.07)
    left, middle, right = unit.radius([0.0, 266.5, 533.0])[0]
    assert middle - (left + right) / 2.0 == pytest.approx(-0.07)
    fine = np.linspace(0.0, 533.0, 20001)
    assert unit.radius(fine)[0].mean() == pytest.approx(63.3, abs=1e-5)


def test_a_bent_shaft_swings_at_the_middle_and_not_at_the_ends() -> None:
    r = VirtualUnit(REEL, 63.3, shaft_bow=(0.06, 0.08)).radius([0.0, 266.5, 533.0])
    assert np.ptp(r[:, 0]) == pytest.approx(0.0, abs=1e-12)
    assert np.ptp(r[:, 1]) == pytest.approx(2 * 0.1, rel=0.03)  # eleven blades need not meet the very top
    assert r.mean(axis=0) == pytest.approx(63.3)


def test_offset_points_at_the_marked_blade_at_the_left_end_and_skew_turns_over() -> None:
    r = VirtualUnit(REEL, 63.3, offset=(0.05, 0.0)).radius(0.0)[:, 0]
    assert r[0] == pytest.approx(63.35)
    skewed = VirtualUnit(Reel(4, 127.0, 533.0), 63.3, skew=(0.05, 0.0)).radius(ENDS)
    assert skewed[0] == pytest.approx([63.25, 63.35])


def test_blade_heights_add_to_their_own_blade() -> None:
    high = VirtualUnit(REEL, 63.3, blade_heights=one_blade_off(11, 3, 0.03)).radius(100.0)[:, 0]
    assert int(high.argmax()) == 3
    assert high.mean() == pytest.approx(63.3)
    assert high[3] - high[0] == pytest.approx(0.03)


def test_knife_line() -> None:
    left, middle, right = VirtualUnit(REEL, 63.3, frame_out=0.2, knife_bow=0.03).knife_line([0.0, 266.5, 533.0])
    assert right - left == pytest.approx(0.2)
    assert middle - (left + right) / 2.0 == pytest.approx(0.03)


def test_a_pass_takes_its_share_of_what_stands_above_it() -> None:
    coned = VirtualUnit(REEL, 63.0, cone=0.4)
    once = coned.spun([WheelPass(63.0, 63.0, 0.7)]).radius(ENDS)[0]
    assert once == pytest.approx([62.9, 63.1 - 0.7 * 0.1])
    many = coned.spun([WheelPass(62.8, 62.8, 0.7)] * 60).radius(ENDS)[0]
    assert many == pytest.approx(62.8)
    askew = coned.spun([WheelPass(62.8, 62.9, 1.0)]).radius(ENDS)[0]
    assert askew == pytest.approx([62.8, 62.9])


def land_by_marching(radius: float, land: float, relief: float, removed: float) -> float:
    """Brute force: walk down the drawn facet until it meets the new circle, measure the arc back to the edge."""
    back = land / radius
    start = radius * np.array([math.cos(back), math.sin(back)])
    inward, along = -start / radius, np.array([-math.sin(back), math.cos(back)])
    low, high = 0.0, 20.0
    for _ in range(200):
        step = (low + high) / 2.0
        point = start + step * (math.cos(relief) * along + math.sin(relief) * inward)
        low, high = (step, high) if math.hypot(*point) > radius - removed else (low, step)
    return (radius - removed) * math.atan2(point[1], point[0])


@pytest.mark.parametrize(("relief", "removed"), [(45.0, 0.3), (30.0, 0.3), (45.0, 0.05), (60.0, 1.0)])
def test_land_grows_as_the_drawn_facet_says(relief: float, removed: float) -> None:
    reel = Reel(11, 127.0, 533.0, relief_angle=math.radians(relief))
    ground = VirtualUnit(reel, 63.5).spun([WheelPass(63.5 - removed, 63.5 - removed, 1.0)])
    assert ground.land(200.0)[:, 0] == pytest.approx(
        land_by_marching(63.5, 1.0, math.radians(relief), removed), abs=1e-9
    )


def test_land_runs_from_end_to_end_and_stops_at_relief_grind_and_blade() -> None:
    unit = VirtualUnit(REEL, 63.0, land_ends=(1.4, 1.0))
    assert unit.land([0.0, 266.5, 533.0])[5] == pytest.approx([1.4, 1.2, 1.0])
    assert replace(unit, relieved_to=1.1).land([0.0, 533.0])[0] == pytest.approx([1.1, 1.0])
    gone = unit.spun([WheelPass(50.0, 50.0, 1.0)])
    assert gone.land(0.0)[:, 0] == pytest.approx(REEL.blade_thickness)


def test_the_specified_land_stands_when_none_is_given() -> None:
    assert VirtualUnit(REEL, 63.0).land(10.0)[:, 0] == pytest.approx(1.0)


@pytest.mark.parametrize(
    ("wrong", "named"),
    [
        ({"mean_radius": 5.0}, "mean_radius"),
        ({"mean_radius": float("nan")}, "mean_radius"),
        ({"cone": 30.0}, "cone"),
        ({"skew": (0.0, 12.0)}, "skew"),
        ({"blade_heights": (0.0, 0.1)}, "blade_heights"),
        ({"blade_heights": (0.1,) * 11}, "sum of blade_heights"),
        ({"land_ends": (1.0, 9.0)}, "land_ends"),
        ({"edge_rounding": -0.1}, "edge_rounding"),
        ({"end_play": float("nan")}, "end_play"),
        ({"radial_play": (0.0, -0.1)}, "radial_play"),
        ({"passes": (WheelPass(63.0, 63.0, 1.5),)}, "give"),
    ],
)
def test_no_unit_like_that(wrong: dict[str, object], named: str) -> None:
    with pytest.raises(OutOfRange) as refused:
        VirtualUnit(**({"reel": REEL, "mean_radius": 63.0} | wrong))
    assert refused.value.argument.startswith(named)


def test_no_station_off_the_reel() -> None:
    with pytest.raises(OutOfRange, match=r"x.*allowed: 0 to 533 mm"):
        VirtualUnit(REEL, 63.0).radius([0.0, 534.0])


def test_no_blade_that_is_not_there() -> None:
    with pytest.raises(OutOfRange, match="0 to 10"):
        one_blade_off(11, 11, 0.1)


def test_a_mirrored_unit_seen_in_the_mirror_again_is_the_first() -> None:
    unit = VirtualUnit(
        REEL,
        63.0,
        cone=0.3,
        offset=(0.02, -0.01),
        skew=(0.03, 0.04),
        shaft_bow=(-0.05, 0.02),
        land_ends=(1.2, 1.0),
        nicks=(Nick(2, 100.0, 0.2),),
        passes=(WheelPass(62.9, 62.8, 0.5),),
        frame_out=0.1,
        radial_play=(0.01, 0.02),
    )
    twice = unit.mirrored().mirrored()
    for name in ("offset", "skew", "shaft_bow"):
        assert getattr(twice, name) == pytest.approx(getattr(unit, name), abs=1e-15)
    assert replace(twice, offset=unit.offset, skew=unit.skew, shaft_bow=unit.shaft_bow) == unit
