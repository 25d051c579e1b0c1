"""The catalogue: promised names and keys, units at the door, all problems told at once."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sparkout.catalogue.entry import Answered, Input, InputProblems, Quantity, range_text
from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.core.errors import Refusal

LINE = ("intercept", "slope", "u_intercept", "u_slope", "covariance", "chi_squared", "degrees_of_freedom")

RIB_CHANCES = {
    **dict.fromkeys(
        (f"chance_{of}" for of in ("clip", "turn", "opposite", "front_roller", "rear_roller", "bounce", "unlisted")),
        "%",
    ),
    "next_travel": "km/h",
    "tells_apart": "%",
}

ON_BENCH = (
    "pattern reel_diameter behind_centre height_left height_right front_ahead rear_behind front_diameter rear_diameter"
)
BENCH = {
    "pattern": "knife up", "reel_diameter": 125, "behind_centre": 8, "height_left": 4, "height_right": 4.1,
    "front_ahead": 88, "rear_behind": 82, "front_diameter": 64, "rear_diameter": 50,
}  # fmt: skip
STOOD = ("behind_centre", "reach", "reel_clearance")
TURNS = {
    f"{which}_{side}_{what}": unit
    for which in ("front", "rear")
    for side in ("left", "right")
    for what, unit in (("travel", "mm"), ("turns", ""))
}

LIVED = (
    "blade_count new_diameter service_diameter reel_length new_reel interval stock stock_spread wear "
    "characteristic_life shape life_per_land new_land relief_angle blade_thickness hour handling relief_handling wheel "
    "unplanned traverse_speed lives seed"
)
A_LIFE = {
    "blade_count": 11, "new_diameter": 127, "service_diameter": 120, "reel_length": 533, "new_reel": 400,
    "interval": 80, "stock": 0.1, "wear": 0.12,
}  # fmt: skip

# As promised to users: name, inputs, {result: unit}.
PROMISED = {
    "clip": ("travel_speed blade_count reel_speed", {"clip": "mm", "cuts_per_metre": "1/m"}),
    "clip-land-drive": ("roller_diameter reel_turns_per_roller_turn blade_count slip", {"clip": "mm"}),
    "reel-speed-for-clip": ("travel_speed blade_count clip", {"reel_speed": "1/min"}),
    "cusp": ("travel_speed blade_count reel_speed reel_diameter", {"cusp": "mm"}),
    "answer-of-a-check": (
        "chance_before cause_shows_it without_cause",
        {"chance_if_yes": "%", "chance_if_no": "%", "information": ""},
    ),
    "clip-as-timed": (
        "distance distance_uncertainty time time_uncertainty reel_speed reel_uncertainty blade_count finest_clip "
        "coarsest_clip",
        {"travel_speed": "km/h", "clip": "mm", "clip_uncertainty": "mm", "chance_within": "%"},
    ),
    "tip-speed": ("reel_speed reel_diameter", {"tip_speed": "m/s"}),
    "travel-speed-for-clip": ("reel_speed blade_count clip", {"travel_speed": "km/h"}),
    "reel-speed-belt": (
        "engine_speed driving_pulley driven_pulley slip further_ratio",
        {"reel_speed": "1/min"},
    ),
    "pulley-for-reel-speed": (
        "engine_speed driven_pulley reel_speed slip further_ratio",
        {"driving_pulley": "mm"},
    ),
    "reel-speed-hydraulic": ("flow displacement volumetric_efficiency", {"reel_speed": "1/min"}),
    "flow-for-reel-speed": ("reel_speed displacement volumetric_efficiency", {"flow": "L/min"}),
    "hydraulic-efficiency": ("flow displacement reel_speed", {"volumetric_efficiency": "%"}),
    "reel-speed-electric": (
        "no_load_speed stall_torque reel_torque motor_turns_per_reel_turn",
        {"reel_speed": "1/min"},
    ),
    "reel-speed-land-drive": (
        "travel_speed roller_diameter reel_turns_per_roller_turn slip",
        {"reel_speed": "1/min"},
    ),
    "ratio-for-clip": ("roller_diameter blade_count clip slip", {"reel_turns_per_roller_turn": ""}),
    "slip-from-turns": ("distance turns roller_diameter", {"slip": "%"}),
    "clip-after-roller-wear": ("new_diameter worn_diameter", {"change": "%"}),
    "clip-band": (
        "height_of_cut least_share most_share travel_speed blade_count",
        {"finest_clip": "mm", "coarsest_clip": "mm", "slowest_reel": "1/min", "fastest_reel": "1/min"},
    ),
    "growth-rate": ("first_height second_height interval", {"growth": "mm/day"}),
    "mowing-plan": (
        "growth height_of_cut interval share rule",
        {"height_of_cut": "mm", "interval": "day", "share": "%", "grown": "mm", "standing": "mm"},
    ),
    "cuts-to-lower": (
        "standing height_of_cut growth interval rule",
        {"cuts": "", "first_height": "mm", "time": "day"},
    ),
    "rib-depth": (
        "travel_speed blade_count reel_speed reel_diameter height_of_cut",
        {"clip": "mm", "speed_ratio": "", "cusp": "mm", "leaf_spread": "mm"},
    ),
    "low-blade-rib": (
        "travel_speed blade_count reel_speed height_of_cut standing_grass low clean_gap fold_gap",
        {"longest": "mm", "longest_true": "mm", "mean": "mm", "mean_true": "mm", "turn_pitch": "mm"},
    ),
    "bounce-frequency": ("stiffness mass damping", {"bounce_frequency": "Hz"}),
    "bounce-from-sag": ("sag", {"bounce_frequency": "Hz"}),
    "rib-finder": (
        "pitch pitch_uncertainty travel_speed reel_speed blade_count speed_uncertainty front_roller rear_roller "
        "bounce_frequency bounce_uncertainty slowest_travel fastest_travel",
        RIB_CHANCES,
    ),
    "rib-finder-land-drive": (
        "pitch pitch_uncertainty travel_speed driving_roller reel_turns_per_roller_turn blade_count slip "
        "slip_uncertainty speed_uncertainty front_roller rear_roller bounce_frequency bounce_uncertainty "
        "slowest_travel fastest_travel",
        RIB_CHANCES,
    ),
    "stubble": ("height_of_cut clip", {"longest": "mm", "spread": "mm", "mean": "mm"}),
    "blades-in-contact": ("blade_count reel_length helix_angle reel_diameter", {"blades_in_contact": ""}),
    "diameter-from-tape": ("reading blade_count land", {"diameter": "mm"}),
    "diameter-from-jaws": ("reading blade_count land", {"diameter": "mm"}),
    "diameter-from-chord": ("reading blade_count land", {"diameter": "mm"}),
    "cone-from-rest-gap": ("gap", {"cone_on_diameter": "mm"}),
    "adjuster-turns": ("cone_on_diameter reel_length mount_spacing thread_pitch", {"offset": "mm", "turns": ""}),
    "land-after-grind": ("land relief_angle radius_removed reel_diameter", {"land": "mm"}),
    "knife-edge-stock": ("edge_radius top_angle front_angle faces", {"included_angle": "deg", "stock": "mm"}),
    "knife-on-reel": (
        "reel_diameter pivot_behind pivot_below arm gap",
        {"behind_centre": "mm", "below_centre": "mm", "approach_angle": "deg"},
    ),
    "stance": (
        "reel_diameter front_ahead front_below front_diameter rear_behind rear_below rear_diameter pivot_behind "
        "pivot_below arm gap seat_tilt top_angle front_angle front_below_right rear_below_right",
        {
            **dict.fromkeys(("height_left", "height_right", "level", "rocks", *STOOD), "mm"),
            **dict.fromkeys(("attitude", "approach_angle", "top_clearance", "front_lean"), "deg"),
        },
    ),
    "roller-turns": (
        f"{ON_BENCH} wanted_height wanted_behind_centre front_pitch rear_pitch",
        {**TURNS, **dict.fromkeys(STOOD, "mm"), "attitude_change": "deg"},
    ),
    "stance-after-work": (
        f"{ON_BENCH} pivot_behind pivot_below radius_removed top_stock front_stock top_angle front_angle seat_tilt "
        "front_diameter_change rear_diameter_change front_pitch rear_pitch",
        {"height_change": "mm", "behind_centre_change": "mm", **TURNS, **dict.fromkeys(STOOD, "mm")},
    ),
    "match-heights": (
        "heights_left heights_right height_per_turn end_tolerance unit_tolerance wanted step reading_uncertainty "
        "bar_uncertainty",
        {
            **{"height": "mm", "left_turns": "", "right_turns": "", "total_turns": ""},
            **{"unit_to_unit": "mm", "unit_to_unit_uncertainty": "mm", "height_uncertainty": "mm", "ends_apart": ""},
        },
    ),
    "gap-hot": (
        "reel_diameter gap_cold gap_uncertainty reel_rise frame_rise rise_uncertainty reel_expansion frame_expansion "
        "expansion_uncertainty",
        {"gap": "mm", "gap_change": "mm", "uncertainty": "mm"},
    ),
    "gap-to-set-cold": (
        "reel_diameter wanted reel_rise frame_rise early_reel_rise rise_uncertainty reel_expansion frame_expansion "
        "expansion_uncertainty",
        {"gap_cold": "mm", "gap_warm": "mm", "uncertainty": "mm"},
    ),
    "gap-change-hot": (
        "reel_diameter reel_rise frame_rise reel_expansion frame_expansion",
        {"gap_change": "mm"},
    ),
    "conformity": ("value standard_uncertainty lower upper", {"probability_conforming": ""}),
    "guard-band": (
        "prior_shape prior_scale standard_uncertainty upper wanted_false_accept",
        {"acceptance_limit": ""},
    ),
    "straight-line": (
        "x y u_y",
        dict.fromkeys(LINE, ""),
    ),
    "wheel-speed": ("wheel_diameter spindle_speed", {"surface_speed": "m/s"}),
    "removal": (
        "infeed land blade_count traverse_speed wheel_width specific_energy",
        {"removal_rate": "mm3/s", "specific_removal_rate": "mm2/s", "power": "W"},
    ),
    "balance": ("mass speed grade", {"permissible_eccentricity": "um", "permissible_unbalance": "g mm"}),
    "drag-torque": ("pull radius", {"torque": "N m"}),
    "inertia-by-weight": ("mass radius height time drag", {"inertia": "kg mm²"}),
    "drag-from-run-down": ("inertia reel_speed time", {"torque": "N m"}),
    "drag-from-turns": ("inertia turns time", {"torque": "N m", "speed": "1/min"}),
    "reel-inertia": (
        "blades blade_mass radius shaft_mass shaft_radius disc_mass disc_radius",
        {"inertia": "kg mm²"},
    ),
    "preload-by-nut": ("turned pitch", {"preload": "mm"}),
    "bearing-life": ("rating load reel_speed kind", {"life": "h"}),
    "bearing-defect-frequencies": (
        "elements element_diameter pitch_diameter reel_speed contact_angle",
        {"outer_race": "Hz", "inner_race": "Hz", "ball": "Hz", "cage": "Hz"},
    ),
    "vibration-day": ("magnitudes hours", {"a8": "m/s²", "points": ""}),
    "noise-day": ("levels hours", {"level_8h": "dB(A)", "dose_5db": "%"}),
    "best-sharpening-interval": (
        "characteristic_life shape planned unplanned blunt_per_hour",
        {"interval": "h", "cost": "", "from": "h", "to": "h"},
    ),
    "reorder-point": ("use_per_week lead_weeks service", {"reorder_point": "", "chance": "%"}),
    "order-quantity": ("order_cost keeping_cost use_per_year", {"quantity": "", "cost": ""}),
    "edges-compared": (
        "first second first_running second_running to_tell",
        {"ratio": "", "low": "", "high": "", "first_median": "h", "second_median": "h", "more_sharpenings": ""},
    ),
    "parts-to-order": (
        "use on_shelf lead_weeks pack service",
        {"orders": "", "wanted_now": "", "chance": "%", "before": "%"},
    ),
    "grind-or-replace": (
        f"{LIVED} diameter land first_stock relieve_at",
        {
            **{"saved": "", "saved_from": "", "saved_to": "", "kept_cost": "", "new_cost": "", "sharpenings": ""},
            **{"hours": "h", "why": ""},
        },
    ),
    "spin-or-relief": (
        f"{LIVED} relieve_at",
        {
            **{"difference": "", "difference_from": "", "difference_to": "", "spin_cost": "", "relief_cost": ""},
            **{"spin_hours": "h", "relief_hours": "h", "spin_sharpenings": "", "relief_sharpenings": "", "why": ""},
        },
    ),
}
EXAMPLE: dict[str, dict[str, object]] = {
    "clip": {"travel_speed": 4.5, "blade_count": 11, "reel_speed": 1500},
    "clip-land-drive": {"roller_diameter": 190, "reel_turns_per_roller_turn": 6.5, "blade_count": 10, "slip": "5 %"},
    "reel-speed-for-clip": {"travel_speed": 4.5, "blade_count": 11, "clip": 4},
    "cusp": {"travel_speed": 5.4, "blade_count": 11, "reel_speed": 2000, "reel_diameter": 127},
    "answer-of-a-check": {"chance_before": "20 %", "cause_shows_it": "90 %", "without_cause": "5 %"},
    "clip-as-timed": {
        "distance": 20, "time": 16, "reel_speed": 1500, "blade_count": 11, "finest_clip": 3.2, "coarsest_clip": 4.8,
    },
    "tip-speed": {"reel_speed": 1500, "reel_diameter": 127},
    "travel-speed-for-clip": {"reel_speed": 1500, "blade_count": 11, "clip": 4},
    "reel-speed-belt": {"engine_speed": 3000, "driving_pulley": 60, "driven_pulley": 110, "slip": "2 %"},
    "pulley-for-reel-speed": {"engine_speed": 3000, "driven_pulley": 110, "reel_speed": 1700},
    "reel-speed-hydraulic": {"flow": 18, "displacement": 10, "volumetric_efficiency": "92 %"},
    "flow-for-reel-speed": {"reel_speed": 1700, "displacement": 10, "volumetric_efficiency": 0.92},
    "hydraulic-efficiency": {"flow": "4.755 gpm", "displacement": 10, "reel_speed": 1530},
    "reel-speed-electric": {"no_load_speed": 2100, "stall_torque": 9, "reel_torque": 1.5},
    "reel-speed-land-drive": {"travel_speed": 4.5, "roller_diameter": 190, "reel_turns_per_roller_turn": 6.5},
    "ratio-for-clip": {"roller_diameter": 190, "blade_count": 10, "clip": 6},
    "slip-from-turns": {"distance": 20, "turns": 32.2, "roller_diameter": 190},
    "clip-after-roller-wear": {"new_diameter": 190, "worn_diameter": 186},
    "clip-band": {
        "height_of_cut": 4, "least_share": "80 %", "most_share": 1.2, "travel_speed": 4.5, "blade_count": 11,
    },
    "growth-rate": {"first_height": 4, "second_height": 5.2, "interval": 2},
    "mowing-plan": {"growth": 1, "height_of_cut": 4, "share": 0.3},
    "cuts-to-lower": {"standing": 12, "height_of_cut": 4, "growth": 0.5, "interval": 2},
    "rib-depth": {
        "travel_speed": 4.5, "blade_count": 11, "reel_speed": 1500, "reel_diameter": 127, "height_of_cut": 4,
    },
    "low-blade-rib": {
        "travel_speed": 4.5, "blade_count": 11, "reel_speed": 1500, "height_of_cut": 4, "standing_grass": 9,
        "low": 0.12,
    },
    "bounce-frequency": {"stiffness": 150, "mass": 400},
    "bounce-from-sag": {"sag": 25},
    "rib-finder": {
        "pitch": 49, "pitch_uncertainty": 0.7, "travel_speed": 4.5, "reel_speed": 1500, "blade_count": 11,
        "front_roller": 63,
    },
    "rib-finder-land-drive": {
        "pitch": 92, "pitch_uncertainty": 1.5, "travel_speed": 4.5, "driving_roller": 190,
        "reel_turns_per_roller_turn": 6.5, "blade_count": 10, "front_roller": 63, "rear_roller": 50,
        "slowest_travel": 3, "fastest_travel": 6,
    },
    "stubble": {"height_of_cut": 4, "clip": 4},
    "blades-in-contact": {"blade_count": 11, "reel_length": 533, "helix_angle": 20, "reel_diameter": 127},
    "diameter-from-tape": {"reading": 125.4185, "blade_count": 11, "land": 1},
    "diameter-from-jaws": {"reading": 124.567, "blade_count": 11, "land": 1},
    "diameter-from-chord": {"reading": 125.846, "blade_count": 11, "land": 1},
    "cone-from-rest-gap": {"gap": 2},
    "adjuster-turns": {"cone_on_diameter": 0.3, "reel_length": 533, "mount_spacing": 600, "thread_pitch": 1.5},
    "land-after-grind": {"land": 1, "relief_angle": 45, "radius_removed": 0.3, "reel_diameter": 127},
    "knife-edge-stock": {"edge_radius": 0.1, "top_angle": 10, "front_angle": 5, "faces": "top"},
    "knife-on-reel": {"reel_diameter": 127, "pivot_behind": 50, "pivot_below": 40, "arm": 48, "gap": 0.03},
    "stance": {
        "reel_diameter": 127, "front_ahead": 80, "front_below": 35, "front_diameter": 64, "rear_behind": 90,
        "rear_below": 42, "rear_diameter": 50, "pivot_behind": 70, "pivot_below": 45, "arm": 65.5,
    },
    "roller-turns": {**BENCH, "wanted_height": 3.5, "front_pitch": 1.5},
    "stance-after-work": {**BENCH, "radius_removed": 0.3, "front_pitch": 1.5},
    "match-heights": {
        "heights_left": "3.92,4.05,4.10", "heights_right": "3.95,4.02,4.16", "height_per_turn": 0.8,
        "end_tolerance": 0.05, "unit_tolerance": 0.05, "reading_uncertainty": 0.01, "bar_uncertainty": 0.03,
    },
    "gap-hot": {"reel_diameter": 127, "gap_cold": 0.05, "reel_rise": 30, "frame_rise": 10},
    "gap-to-set-cold": {"reel_diameter": 127, "wanted": 0.03, "reel_rise": 30, "frame_rise": 20},
    "gap-change-hot": {"reel_diameter": 127, "reel_rise": 30, "frame_rise": 10},
    "conformity": {"value": 0.03, "standard_uncertainty": 0.01, "upper": 0.05},
    "guard-band": {
        "prior_shape": 2, "prior_scale": 0.02, "standard_uncertainty": 0.01, "upper": 0.1, "wanted_false_accept": 0.01,
    },
    "straight-line": {"x": "1,2,3,4", "y": "2.1,3.9,6.2,7.8", "u_y": "0.1"},
    "wheel-speed": {"wheel_diameter": 150, "spindle_speed": 3450},
    "removal": {
        "infeed": 0.02, "land": 1, "blade_count": 11, "traverse_speed": 40, "wheel_width": 20, "specific_energy": 40,
    },
    "balance": {"mass": 10, "speed": 3000, "grade": 2.5},
    "drag-torque": {"pull": 3, "radius": 64},
    "inertia-by-weight": {"mass": 1, "radius": 60, "height": 1000, "time": 1.2, "drag": 0.15},
    "drag-from-run-down": {"inertia": 12000, "reel_speed": 800, "time": 12},
    "drag-from-turns": {"inertia": 12000, "turns": 80, "time": 12},
    "reel-inertia": {"blades": 11, "blade_mass": 0.35, "radius": 55, "shaft_mass": 2, "shaft_radius": 12},
    "preload-by-nut": {"turned": 15, "pitch": 1.5},
    "bearing-life": {"rating": "14 kN", "load": 700, "reel_speed": 2000, "kind": "ball"},
    "bearing-defect-frequencies": {
        "elements": 9, "element_diameter": 7.94, "pitch_diameter": 39.04, "reel_speed": 1500,
    },
    "vibration-day": {"magnitudes": "4 2.5", "hours": "2 3"},
    "noise-day": {"levels": "90 75", "hours": "2 6"},
    "best-sharpening-interval": {"characteristic_life": 40, "shape": 2.5, "planned": 25, "unplanned": 125},
    "reorder-point": {"use_per_week": 0.5, "lead_weeks": 4},
    "order-quantity": {"order_cost": 8, "keeping_cost": 0.225, "use_per_year": 1300},
    "edges-compared": {"first": [20, 24, 31, 36], "second": [26, 33, 38, 48]},
    "parts-to-order": {"use": [0.5, 0.5, 1, 1, 2, 2], "on_shelf": 2, "lead_weeks": 2},
    "grind-or-replace": {**A_LIFE, "diameter": 122, "land": 1.3},
    "spin-or-relief": A_LIFE,
}  # fmt: skip


def result(name: str, key: str, **inputs: object) -> float:
    value = calculate(name, inputs).results[key].value
    assert isinstance(value, float)
    return value


def numbers(answered: Answered) -> list[float]:
    return [
        float(number)  # type: ignore[arg-type]
        for quantity in answered.results.values()
        if not isinstance(quantity.value, str)
        for number in (quantity.value if isinstance(quantity.value, list) else [quantity.value])
    ]


@pytest.mark.parametrize("name", PROMISED)
def test_promised_names_keys_and_units(name: str) -> None:
    inputs, results = PROMISED[name]
    answered = calculate(name, EXAMPLE[name])
    assert [item.key for item in CATALOGUE[name].inputs] == inputs.split()
    assert {key: quantity.unit for key, quantity in answered.results.items()} == results
    assert all(map(math.isfinite, numbers(answered)))


def test_nothing_in_the_catalogue_is_unpromised() -> None:
    assert set(CATALOGUE) == set(PROMISED)


@pytest.mark.parametrize("name", PROMISED)
def test_every_entry_says_equation_source_validity_and_meanings(name: str) -> None:
    entry = CATALOGUE[name]
    assert entry.equation
    assert entry.source
    assert entry.validity
    assert all(item.meaning for item in (*entry.inputs, *entry.results))


def test_a_value_may_carry_any_unit_of_its_kind() -> None:
    plain = result("clip", "clip", travel_speed="4.5 km/h", blade_count=11, reel_speed=1500)
    assert result(
        "clip", "clip", travel_speed="2.796170365 mph", blade_count="11", reel_speed="25 1/s"
    ) == pytest.approx(plain, rel=1e-9)
    assert plain == pytest.approx(4.5454545, rel=1e-7)


def test_one_unit_for_value_uncertainty_and_limits() -> None:
    thou = calculate("conformity", {"value": "2 thou", "standard_uncertainty": "10 µm", "upper": "0.1 mm"})
    assert thou.inputs["upper"] == Quantity(pytest.approx(0.1 / 0.0254), "thou")
    bare = calculate("conformity", {"value": 0.0508, "standard_uncertainty": 0.01, "upper": 0.1})
    assert thou.results["probability_conforming"].value == pytest.approx(bare.results["probability_conforming"].value)
    band = calculate(
        "guard-band",
        EXAMPLE["guard-band"] | {"upper": "0.1 mm", "prior_scale": "20 µm", "standard_uncertainty": "0.01 mm"},
    )
    assert band.results["acceptance_limit"].unit == "µm"


def test_units_that_do_not_go_together_are_refused() -> None:
    with pytest.raises(InputProblems, match="do not go together"):
        calculate("conformity", {"value": "2 mm", "standard_uncertainty": "1 s", "upper": 3})


def test_every_problem_at_once() -> None:
    with pytest.raises(InputProblems) as caught:
        calculate("clip", {"travel_sped": 4, "blade_count": 0, "reel_speed": "fast"})
    assert len(caught.value.problems) == 4
    text = str(caught.value)
    assert "did you mean travel_speed?" in text
    assert "blade_count is 0" in text
    assert "2 to 40" in text
    assert "'fast' is not a number" in text
    assert "travel_speed (km/h) is missing" in text


@pytest.mark.parametrize(
    ("name", "change", "says"),
    [
        ("clip", {"blade_count": 10.5}, "a whole number, 2 to 40"),
        ("clip", {"travel_speed": 0}, "above 0 to 60 km/h"),
        ("clip", {"travel_speed": math.nan}, "not a finite number"),
        ("cone-from-rest-gap", {"gap": -1}, "gap is -1 mm; allowed: 0 to 20 mm"),
        ("knife-edge-stock", {"faces": "rear"}, "top or front or both"),
        ("straight-line", {"u_y": "0"}, "above 0"),
        ("straight-line", {"x": " "}, "empty list"),
        ("conformity", {"standard_uncertainty": -1}, "at least 0"),
        ("diameter-from-tape", {"reading": "127 m"}, "40 to 600 mm"),
    ],
)
def test_refusals_name_value_range_and_unit(name: str, change: dict[str, object], says: str) -> None:
    with pytest.raises(InputProblems, match=says):
        calculate(name, EXAMPLE[name] | change)


def test_an_unknown_name_names_the_nearest() -> None:
    with pytest.raises(Refusal, match="did you mean guard-band"):
        calculate("guardband", {})


def test_defaults_are_echoed_never_silent() -> None:
    echoed = calculate("gap-change-hot", EXAMPLE["gap-change-hot"]).inputs
    assert echoed["reel_expansion"] == Quantity(pytest.approx(11.5e-6), "1/K")


def test_lists_by_comma_semicolon_space_or_as_lists() -> None:
    wanted = calculate("straight-line", EXAMPLE["straight-line"]).results["slope"].value
    for x in ("1 2 3 4", "1;2;3;4", "[1, 2, 3, 4]", [1, 2, 3, 4]):
        assert calculate("straight-line", EXAMPLE["straight-line"] | {"x": x}).results["slope"].value == wanted


KEYS = sorted({key for example in EXAMPLE.values() for key in example})
ANYTHING = st.one_of(st.text(max_size=8), st.floats(), st.none(), st.booleans())


@given(st.sampled_from(sorted(PROMISED)), st.dictionaries(st.sampled_from(KEYS), ANYTHING))
def test_any_input_is_an_answer_or_a_refusal(name: str, change: dict[str, object]) -> None:
    try:
        answered = calculate(name, EXAMPLE[name] | change)
    except Refusal:
        return
    assert all(map(math.isfinite, numbers(answered)))


def test_ranges_open_at_one_end_or_both_are_told_in_words() -> None:
    def told(**sides: object) -> str:
        return range_text(Input("x", "number", "", "a number", **sides))  # type: ignore[arg-type]

    assert told() == "any finite number"
    assert told(low=2.0) == "at least 2"
    assert told(low=0.0, above=True) == "above 0"
    assert told(high=3.0) == "at most 3"
    assert told(low=1.0, high=3.0) == "1 to 3"


def test_a_list_may_be_one_number_and_inputs_of_one_unit_may_have_none() -> None:
    one = CATALOGUE["straight-line"]
    with pytest.raises(Refusal):
        calculate(one.name, {"x": 1.0, "y": 2.0, "u_y": 0.1})
    bare = calculate("conformity", {"value": 1.0, "standard_uncertainty": 0.5, "upper": 2.0})
    assert bare.inputs["value"].unit == ""
    alike = calculate("conformity", {"value": "1 mm", "standard_uncertainty": "0.5 mm", "upper": "2 mm"})
    assert alike.inputs["value"].unit == "mm"
    assert alike.results == bare.results
