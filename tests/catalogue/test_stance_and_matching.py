"""Stance, matching and heat as asked at a door: answers against each other and the core's own sums; what is refused."""

import math
import shlex

import pytest

from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.core.errors import Refusal

BENCH = {
    "pattern": "knife up", "reel_diameter": 125, "behind_centre": 8, "height_left": 4, "height_right": 4.1,
    "front_ahead": 88, "rear_behind": 82, "front_diameter": 64, "rear_diameter": 50,
}  # fmt: skip


def results(name: str, **inputs: object) -> dict[str, float]:
    return {key: quantity.value for key, quantity in calculate(name, inputs).results.items()}  # type: ignore[misc]


def example(name: str) -> dict[str, float]:
    pairs = dict(word.split("=", 1) for word in shlex.split(CATALOGUE[name].example))
    return results(name, **pairs)


def test_example_of_the_stance() -> None:
    found = example("stance")
    assert found["height_left"] == found["height_right"]
    assert found["reel_clearance"] == pytest.approx(67.0 - 63.5)
    assert found["reach"] == pytest.approx(63.5 - math.sqrt(63.5**2 - found["behind_centre"] ** 2))
    assert found["top_clearance"] == pytest.approx(12.0 + found["attitude"] + found["approach_angle"])


def test_a_roller_lower_at_the_right() -> None:
    """Moved straight down by m, the front roller lifts the edge by its share of the distance from the rear one."""
    built = {
        "reel_diameter": 127, "front_ahead": 80, "front_below": 35, "front_diameter": 64, "rear_behind": 90,
        "rear_below": 42, "rear_diameter": 50, "pivot_behind": 70, "pivot_below": 45, "arm": 65.5,
    }  # fmt: skip
    found = results("stance", **built, front_below_right=35.2)
    assert found["level"] == pytest.approx(0.2 * (90 - found["behind_centre"]) / 170, abs=3e-4)
    assert found["rocks"] == pytest.approx(0.2, abs=1e-4)
    both = results("stance", **built, front_below_right=35.2, rear_below_right=42.2)
    assert both["level"] == pytest.approx(0.2, abs=1e-4)
    assert both["rocks"] == pytest.approx(0.0, abs=1e-4)


def test_turns_there_and_back() -> None:
    """Turned to 3.5 mm, entered again as it then stands and asked back to 4: the same turns the other way."""
    there = results("roller-turns", **{**BENCH, "height_right": 4}, wanted_height=3.5, front_pitch=1.5)
    tilt = math.radians(there["attitude_change"])
    along = math.cos(tilt)
    assert there["front_left_travel"] == pytest.approx(1.5 * there["front_left_turns"])
    assert there["rear_left_travel"] == there["rear_right_turns"] == 0.0
    now = {**BENCH, "height_left": 3.5, "height_right": 3.5, "behind_centre": there["behind_centre"],
           "rear_behind": 82 * along + (25 - 4) * math.sin(-tilt)}  # fmt: skip
    back = results("roller-turns", **now, wanted_height=4, front_pitch=1.5)
    assert back["front_left_travel"] == pytest.approx(-there["front_left_travel"], rel=0.01)
    both = results("roller-turns", **BENCH, wanted_height=4, wanted_behind_centre=6, front_pitch=1.5, rear_pitch="2 mm")
    assert both["behind_centre"] == pytest.approx(6.0)
    assert both["rear_right_turns"] == pytest.approx(both["rear_right_travel"] / 2)


def test_stance_after_work_by_the_trade_references_figure() -> None:
    """63.5 to 62.5 mm radius at 8 mm behind centre raises the edge 1.01 mm (own working there)."""
    bench = {**BENCH, "reel_diameter": 127, "height_right": 4}
    found = results("stance-after-work", **bench, radius_removed=1)
    assert found["height_change"] == pytest.approx(1.01, abs=0.005)
    assert found["front_left_turns"] == 0.0
    still = results("stance-after-work", **{**bench, "pattern": "reel down"}, radius_removed=1)
    assert still["height_change"] == 0.0
    pivoted = results(
        "stance-after-work", **bench, pivot_behind=70, pivot_below=45, radius_removed=1, front_pitch=1.5, rear_pitch=1.5
    )
    assert pivoted["behind_centre_change"] == pytest.approx(-0.3, abs=0.1)
    assert pivoted["front_left_turns"] < 0.0


def test_match_heights() -> None:
    found = example("match-heights")
    assert found["unit_to_unit"] <= 0.05 + 1e-9
    assert found["total_turns"] == pytest.approx(sum(map(abs, found["left_turns"] + found["right_turns"])))
    assert found["height_uncertainty"] > 0.03 > found["unit_to_unit_uncertainty"]
    fixed = results(
        "match-heights", heights_left=[4, 4.2], heights_right=[4, 4.2], height_per_turn=1, end_tolerance=0,
        unit_tolerance=0, wanted="4.1 mm", step=0.05, reading_uncertainty=0, bar_uncertainty=0,
    )  # fmt: skip
    assert fixed["left_turns"] == pytest.approx([0.1, -0.1])
    assert fixed["ends_apart"] == pytest.approx([0.0, 0.0])
    with pytest.raises(Refusal, match="more units than the other"):
        results(
            "match-heights", heights_left="4", heights_right="4,4", height_per_turn=1, end_tolerance=0,
            unit_tolerance=0, reading_uncertainty=0, bar_uncertainty=0,
        )  # fmt: skip


def test_heat_there_and_back() -> None:
    """What is told to set cold is, warm, what was wanted; by the sum of two metals too."""
    warm = {"reel_diameter": 127, "reel_rise": 30, "frame_rise": 20}
    cold = results("gap-to-set-cold", wanted=0.03, early_reel_rise=25, **warm)
    early = results("gap-hot", reel_diameter=127, gap_cold=cold["gap_cold"], reel_rise=25, frame_rise=0)
    assert early["gap"] == pytest.approx(0.03)
    assert results("gap-hot", gap_cold=cold["gap_cold"], **warm)["gap"] == pytest.approx(cold["gap_warm"])
    simple = results("gap-to-set-cold", wanted=0.03, frame_expansion=23.1e-6, **warm)
    change = results("gap-change-hot", reel_expansion=11.5e-6, frame_expansion=23.1e-6, **warm)["gap_change"]
    assert simple["gap_cold"] == pytest.approx(0.03 - change)
    one = results("gap-hot", gap_cold=0.05, **warm)["uncertainty"]
    two = results("gap-hot", gap_cold=0.05, frame_expansion=11.6e-6, **warm)["uncertainty"]
    assert two > one, "one metal: its doubt counts on the difference alone"
