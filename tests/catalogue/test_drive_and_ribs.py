"""Drive, growth and ribs as asked at a door: answers against the core's own sums, and what is refused."""

import math

import pytest

from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.core.errors import Refusal

CHANCES = [key for key in (r.key for r in CATALOGUE["rib-finder"].results) if key.startswith("chance_")]


def results(name: str, **inputs: object) -> dict[str, float]:
    return {key: float(quantity.value) for key, quantity in calculate(name, inputs).results.items()}  # type: ignore[arg-type]


@pytest.mark.parametrize("drive", ["own", "land"])
def test_chances_of_ribs_sum_to_one_and_the_right_cause_leads(drive: str) -> None:
    asked = {"pitch": 50, "pitch_uncertainty": "0.5 mm", "travel_speed": "4.5 km/h", "blade_count": 11,
             "front_roller": 63, "rear_roller": 50}  # fmt: skip
    if drive == "own":
        found = results("rib-finder", **asked, reel_speed=1500)
    else:
        found = results(
            "rib-finder-land-drive", **asked, driving_roller=200, reel_turns_per_roller_turn=4 * math.pi, slip=0.0
        )
    assert math.fsum(found[key] for key in CHANCES) == pytest.approx(100.0)
    assert max(CHANCES, key=found.__getitem__) == "chance_turn"
    assert 2.25 - 1e-9 <= found["next_travel"] <= 6.75 + 1e-9


def test_pitch_of_a_roller_points_at_that_roller() -> None:
    asked = {"pitch_uncertainty": 1, "travel_speed": 4.5, "reel_speed": 1500, "blade_count": 11}
    front = results("rib-finder", pitch=math.pi * 63, front_roller=63, rear_roller=50, **asked)
    rear = results("rib-finder", pitch=math.pi * 50, front_roller=63, rear_roller=50, **asked)
    assert front["chance_front_roller"] > 80 > front["chance_rear_roller"]
    assert rear["chance_rear_roller"] > 80 > rear["chance_front_roller"]
    assert results("rib-finder", pitch=198, **asked)["chance_front_roller"] == 0.0


def test_travels_to_choose_from_may_be_given() -> None:
    asked = {"pitch": 50, "pitch_uncertainty": 0.5, "travel_speed": 4.5, "reel_speed": 1500, "blade_count": 11}
    found = results("rib-finder", **asked, slowest_travel="2 mph", fastest_travel="5 km/h")
    assert 3.2 < found["next_travel"] <= 5.0 + 1e-9
    with pytest.raises(Refusal, match="fastest travel"):
        results("rib-finder", **asked, slowest_travel=6, fastest_travel=5)


def test_low_blade_leaves_what_two_clips_would() -> None:
    asked = {"travel_speed": 4.5, "blade_count": 11, "reel_speed": 1500, "height_of_cut": 4, "standing_grass": 30}
    missing = results("low-blade-rib", **asked, low=2)
    assert missing["longest"] == pytest.approx(math.hypot(4, 2 * 4.5454545), abs=0.06)
    assert missing["longest_true"] == pytest.approx(math.hypot(4, 4.5454545), abs=0.06)
    assert missing["turn_pitch"] == pytest.approx(50.0)
    one = results("stubble", height_of_cut=4, clip=4.5454545)["mean"]
    two = results("stubble", height_of_cut=4, clip=9.090909)["mean"]
    assert missing["mean_true"] == pytest.approx(one, abs=0.02)
    assert missing["mean"] == pytest.approx((9 * one + 2 * two) / 11, abs=0.02)
    true = results("low-blade-rib", **asked, low=0)
    assert true["longest"] == true["longest_true"]


def test_plans_are_answered_and_refused() -> None:
    plan = results("mowing-plan", growth="0.28 in/week", height_of_cut='0.125"', interval="1 day")
    assert plan["share"] == pytest.approx(100 * (0.28 / 7) / (0.125 + 0.28 / 7))
    with pytest.raises(Refusal, match="Grounds Management Association"):
        calculate("mowing-plan", {"growth": 1, "height_of_cut": 4, "interval": 7})
    with pytest.raises(Refusal, match="your own rule, as entered"):
        calculate("mowing-plan", {"growth": 1, "height_of_cut": 4, "interval": 1.9, "rule": "30 %"})
    with pytest.raises(Refusal, match="two of height, interval and share"):
        calculate("mowing-plan", {"growth": 1, "height_of_cut": 4})
    assert results("cuts-to-lower", standing=12, height_of_cut=4, growth=0, interval=2)["cuts"] == 3


def test_drives_agree_with_each_other() -> None:
    turning = results("reel-speed-hydraulic", flow=18, displacement="10 cm3", volumetric_efficiency="92 %")
    assert turning["reel_speed"] == pytest.approx(1656)
    back = results("hydraulic-efficiency", flow=18, displacement=10, reel_speed=1656)
    assert back["volumetric_efficiency"] == pytest.approx(92)
    assert results("clip-after-roller-wear", new_diameter=200, worn_diameter=196)["change"] == pytest.approx(-2)
    geared = results("ratio-for-clip", roller_diameter=190, blade_count=10, clip=6, slip="5 %")
    land = results("clip-land-drive", roller_diameter=190, blade_count=10, slip="5 %", **geared)
    assert land["clip"] == pytest.approx(6)
