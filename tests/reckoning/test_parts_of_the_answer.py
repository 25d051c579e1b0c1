"""Parts of the answer that the demonstration's files do not reach: stand-ins, odd gauges, half-known settings."""

from __future__ import annotations

import json
import math

import pytest
from tests.reckoning.answers import answer_of
from tests.reckoning.partial import Data, data_of, without

from sparkout.core.errors import Refusal
from sparkout.core.grinding.plan import SpinPlan
from sparkout.reckoning.answer import Answer, Judged, Setting, Spin, Untold
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.given import Given
from sparkout.reckoning.grind import lands
from sparkout.reckoning.readings import jaw_blades, meanings
from sparkout.reckoning.reckon import reckon
from sparkout.reckoning.verdicts import _repeats
from sparkout.visit.reading import read_visit


def reckoned(data: Data) -> Answer:
    return reckon(read_visit(json.dumps(data, default=str)))


def judged_on(answer: Answer, limit: str) -> Judged:
    return next(j for j in answer.judged if j.limit.quantity == limit)


def plan_of(answer: Answer) -> SpinPlan:
    assert isinstance(answer.spin, Spin)
    return answer.spin.plan


def setting_of(answer: Answer) -> Setting:
    assert not isinstance(answer.setting, Untold)
    return answer.setting


def test_a_reading_without_a_gauge_gets_a_usual_uncertainty_that_is_written_down() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] in ("top angle", "drag", "edge rounding"):
            del reading["gauge"]
    answer = reckoned(data)
    words = [text for text in answer.assumed if "no gauge named" in text]
    assert [text.split(" read with")[0] for text in words] == ["top angle", "edge rounding", "drag"]
    assert "standard uncertainty 0.5°" in words[0]
    assert "standard uncertainty 0.1 mm" in words[1]
    assert "standard uncertainty 1 N" in words[2]
    by_name = {m.of: m.measured.u for m in answer.readings if m.of in ("top angle", "drag", "edge rounding")}
    assert by_name == {"top angle": pytest.approx(math.radians(0.5)), "drag": 1.0, "edge rounding": 0.1}


def test_leaves_under_a_straight_edge_count_as_readings_of_the_knife() -> None:
    """A pair of leaves says as much as a value in the middle between them."""
    data = without(data_of("coned"), "frame and knife straightness", "rest gaps")
    assert "knife bow" not in reckoned(data).diagnosis.informed
    leaves = [("left", None, "0.02 mm"), ("centre", "0.15 mm", "0.2 mm"), ("right", None, "0.02 mm")]
    data["readings"] += [
        {"of": "knife straightness", "gauge": "leaves 1", "at": at, "set_up": "edge", "does_not_go": stays}
        | ({"goes": goes} if goes else {})
        for at, goes, stays in leaves
    ]
    answer = reckoned(data)
    assert "knife bow" in answer.diagnosis.informed
    assert answer.diagnosis.state.knife_bow.value == pytest.approx(0.175 - 0.01, abs=0.02)


def test_only_the_leaf_that_goes_leaves_the_gap_open_above() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] == "rest gap" and "goes" in reading:
            del reading["does_not_go"]
    opened = reckoned(data)
    known, less = (
        next(m for m in answer.readings if m.of == "rest gap" and m.x == 533.0).measured
        for answer in (answer_of("coned"), opened)
    )
    assert less.u > known.u
    assert less.value - 2 * less.u < 0.15 < less.value + 2 * less.u
    assert next(m for m in opened.readings if m.of == "rest gap" and m.x == 533.0).interval is None


@pytest.mark.parametrize(
    ("kind", "blade", "count", "seen"),
    [
        ("jaws", None, 11, ()),
        ("jaws", 1, 8, (0, 4)),
        ("chord", 8, 8, (7, 3)),
        ("jaws", 1, 11, (0, 0, 5, 6)),
        ("chord", 11, 11, (10, 4)),
    ],
)
def test_jaws_see_the_edges_they_touch(kind: str, blade: int | None, count: int, seen: tuple[int, ...]) -> None:
    """Even reels: two edges opposite. Odd: one edge, and the two across; tip to tip only one of these."""
    assert jaw_blades(kind, blade, count) == seen


def test_jaws_across_an_even_reel_need_no_explaining() -> None:
    data = data_of("bent-shaft")
    data["gauges"].append({"id": "jaws 1", "kind": "jaws"})
    data["readings"].append({"of": "diameter", "gauge": "jaws 1", "at": "left", "blade": 1, "value": "6.882 in"})
    found = reckoned(data).readings
    jaws = next(m for m in found if m.gauge.startswith("flat jaws"))
    assert jaws.why == ""
    assert jaws.measured.value == pytest.approx(6.882 * 25.4, abs=0.01)
    assert next(m for m in found if m.gauge.startswith("circumference")).why


def test_a_dial_without_a_set_up_and_a_chord_count_too() -> None:
    data = data_of("coned")
    for sweep in data["sweeps"]:
        del sweep["set_up"]
    data["gauges"].append({"id": "tips", "kind": "chord"})
    data["readings"].append({"of": "diameter", "gauge": "tips", "at": "centre", "value": "123.35 mm"})
    answer = reckoned(data)
    chord = next(m for m in answer.readings if m.gauge.startswith("tip-to-tip"))
    assert chord.measured.value > 123.35
    assert chord.why
    assert answer.diagnosis.state.chance_of("cone") > 0.9


def test_a_warm_reel_is_told_at_twenty_degrees_with_the_doubt_of_the_gauge_s_own_warmth() -> None:
    """Steel, 11.5e-6 per K: 40 K on 124.7 mm is 0.057 mm, of which half is taken off (common practice)."""
    data = data_of("coned")
    data["readings"][0]["temperature"] = "60 °C"
    cold, warm = (a.readings[0].measured for a in (answer_of("coned"), reckoned(data)))
    assert cold.value - warm.value == pytest.approx(0.5 * 11.5e-6 * 40.0 * cold.value, rel=0.02)
    assert warm.u > cold.u


def test_one_click_larger_than_the_gap_is_said() -> None:
    data = data_of("coned")
    data["knife"]["lever_ratio"] = "1"
    found = setting_of(reckoned(data))
    assert found.gap_per_click == pytest.approx(1.0 / 16.0)
    assert any(note.startswith("One click is more than the gap") for note in found.notes)


def test_adjusters_are_taken_where_the_gaps_were_read_when_their_spacing_is_not_told() -> None:
    data = data_of("coned")
    del data["knife"]["adjuster_spacing"]
    assert setting_of(reckoned(data)).clicks is not None


def test_clicks_that_cannot_be_reckoned_leave_the_rest_of_the_setting() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] == "diameter" and reading["at"] == "centre":
            reading["value"] = "100 mm"
    data["sweeps"] = []
    for limit in data["limits"]:
        if limit["quantity"] in ("barrel", "knife straightness"):
            limit["at_most"] = "10 mm"
    found = setting_of(reckoned(data))
    assert found.clicks is None
    assert any(note.startswith("Clicks: bow is") for note in found.notes)
    assert found.stand_before is not None


def test_the_effect_on_height_needs_to_know_what_the_adjuster_moves() -> None:
    data = data_of("coned")
    del data["unit"]["pattern"]
    found = setting_of(reckoned(data))
    assert found.height is None
    assert any("Which part the adjuster moves" in note for note in found.notes)
    data["unit"]["pattern"] = "reel down"
    down = setting_of(reckoned(data)).height
    assert down is not None
    assert down.height_change < 0.0 < setting_of(answer_of("coned")).height.height_change  # type: ignore[union-attr]


def test_the_wanted_gap_is_the_middle_of_the_limit_when_none_is_wished() -> None:
    data = data_of("coned")
    del data["wanted"]["gap"]
    assert setting_of(reckoned(data)).wanted_gap == pytest.approx(0.025)
    data["limits"] = [limit for limit in data["limits"] if limit["quantity"] != "gap"]
    answer = reckoned(data)
    assert setting_of(answer).wanted_gap == 0.03
    assert any("gap to set 0.03 mm" in text for text in answer.assumed)


def test_limits_on_what_nothing_bears_on_are_not_known() -> None:
    data = data_of("bent-shaft")
    data["limits"] += [
        {"quantity": "frame", "at_most": "4 thou", "origin": "house"},
        {"quantity": "total run-out", "at_most": "6 thou", "origin": "house"},
    ]
    answer = reckoned(data)
    assert judged_on(answer, "frame").verdict is None
    assert judged_on(answer, "frame").note == "not measured yet"
    whole = judged_on(answer, "total run-out")
    assert whole.verdict is not None
    assert whole.verdict.outcome == "does not conform"
    assert whole.note == "over the whole length"
    undialled = reckoned({**data, "sweeps": []})
    for limit, place in (("run-out", "every blade"), ("shaft", "bare shaft"), ("total run-out", "every blade")):
        assert judged_on(undialled, limit).verdict is None
        assert place in judged_on(undialled, limit).note


def test_a_total_run_out_near_its_limit_names_its_next_reading() -> None:
    data = data_of("coned")
    data["limits"].append({"quantity": "total run-out", "at_most": "0.21 mm", "origin": "house"})
    found = judged_on(reckoned(data), "total run-out")
    assert found.verdict is not None
    assert found.verdict.outcome == "undecided"
    assert found.next_reading is not None


def test_how_many_readings_would_decide() -> None:
    """From the formula: u / sqrt(n) must not exceed the margin over the quantile; by hand for 5 % (1.6449)."""
    assert "mean of 4 readings" in _repeats(0.1 * 1.6449, 0.2, 0.05)
    assert "a gauge 10 times finer" in _repeats(0.02 * 1.6449, 0.2, 0.05)
    assert _repeats(0.0, 0.2, 0.05) == "on the limit: only a finer gauge could decide"


def test_edge_that_may_stay_unground_saves_diameter() -> None:
    data = data_of("coned")
    data["wanted"]["uncleaned_share"] = "10 %"
    saved, whole = plan_of(reckoned(data)), plan_of(answer_of("coned"))
    assert saved.chance_fully_clean is None
    assert saved.finish_diameter.value > whole.finish_diameter.value


def test_no_relief_wished_is_no_relief_plan() -> None:
    data = data_of("coned")
    data["wanted"]["relief"] = "no"
    found = reckoned(data).relief
    assert isinstance(found, Untold)
    assert "it is 'no' in the file" in found.wanted


def test_a_pivot_that_fits_the_reel_as_found_but_not_as_ground() -> None:
    """The arm just reaches the worn reel (69.46 mm to the pivot, less 62.3 mm); ground smaller, it does not."""
    data = data_of("coned")
    data["knife"]["arm"] = "7.2 mm"
    found = setting_of(reckoned(data))
    assert found.stand_before is not None
    assert found.attitude is None
    assert any("On the reel as ground the pivot as entered does not fit" in note for note in found.notes)


def test_a_knife_angle_beyond_what_a_plan_is_for() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] == "top angle":
            reading["value"] = "44 deg"
    found = reckoned(data).knife
    assert isinstance(found, Untold)
    assert "top_angle_now" in found.what


def test_gaps_told_as_one_value_and_a_dial_read_blade_by_blade() -> None:
    data = without(data_of("coned"), "rest gaps", "dial sweeps")
    data["readings"] += [
        {"of": "rest gap", "gauge": "leaves 1", "at": at, "set_up": "rest", "value": value}
        for at, value in (("left", "0.01 mm"), ("right", "0.175 mm"))
    ] + [
        {"of": "run-out", "gauge": "dial 1", "at": "centre", "blade": blade, "value": f"{0.01 * (blade % 3)} mm"}
        for blade in range(1, 12)
    ]
    answer = reckoned(data)
    assert [m.measured.value for m in answer.readings if m.of == "rest gap"] == [0.01, 0.175]
    assert not any("dial rails" in text for text in answer.assumed), "no rail: each station has its own zero"
    assert "blades" in answer.diagnosis.informed


def test_a_reading_refused_is_named_where_its_meaning_is_asked_for() -> None:
    visit = read_visit(
        'unit.name = "1"\n'
        'reel = {blades = 40, diameter = "127 mm", length = "533 mm", land = "9 mm", blade_thickness = "10 mm"}\n'
        '[[gauges]]\nid = "t"\nkind = "tape"\n'
        '[[readings]]\nof = "diameter"\ngauge = "t"\nat = "left"\nvalue = "100 mm"\n'
    )
    with pytest.raises(Refusal, match=r"readings\[0\], diameter at left end: land is 9 mm"):
        meanings(Given(visit))


def test_land_without_a_place_stands_for_all_places() -> None:
    data = data_of("coned")
    data["readings"] = [r for r in data["readings"] if r["of"] != "land"]
    data["readings"].append({"of": "land", "gauge": "loupe 1", "value": "1.4 mm"})
    visit = read_visit(json.dumps(data, default=str))
    given = Given(visit)
    assert [place.value for place in lands(given, given.reel())] == [1.4, 1.4, 1.4]


def test_a_knife_with_an_edge_too_far_gone_for_its_lip_has_no_plan() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] == "edge rounding":
            reading["value"] = "3 mm"
    found = reckoned(data).knife
    assert isinstance(found, Untold)
    assert found.what.startswith("a bedknife plan: ")


def test_angles_off_by_less_than_the_protractor_can_tell_ask_for_no_grind() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] == "edge rounding":
            reading["value"] = "0 mm"
    sound = reckoned(data).knife
    assert not isinstance(sound, Untold)
    assert sound.face is None
    for reading in data["readings"]:
        if reading["of"] == "top angle":
            reading["value"] = "8 deg"
    off = reckoned(data).knife
    assert not isinstance(off, Untold)
    assert "top angle" in off.causes


def test_as_left_with_next_to_nothing_read() -> None:
    data = data_of("coned-as-left")
    keep = [r for r in data["readings"] if r.get("when") != "as left" or r["of"] == "land"]
    few = reckoned({**data, "readings": keep, "sweeps": data["sweeps"][:1]})
    assert few.as_left is not None
    assert few.as_left.learned is None
    assert few.as_left.compared == ()
    assert any("would teach the grinder's give" in note for note in few.as_left.notes)
    unrelieved = {**data, "work": [w for w in data["work"] if w["step"] != "relief grind"]}
    left = reckoned(unrelieved).as_left
    assert left is not None
    assert {"land left", "land middle", "land right"} <= {c.name for c in left.compared}
    del data["work"][1]["wheel_diameter_after"]
    wheelless = reckoned(data).as_left
    assert wheelless is not None
    assert wheelless.learned is not None
    assert not wheelless.learned.told_of_wheel


def test_figures_for_a_program_carry_their_units() -> None:
    data = as_data(answer_of("coned-as-left"))
    assert data["setting"]["clicks"]["left"]["unit"] == "clicks"
    assert data["setting"]["clicks"]["gap_after"].keys() == {"left_mm", "right_mm"}
    check = data["spin"]["speed_check"]
    assert check["surface_speed_mm_per_s"] == pytest.approx(math.pi * 150.0 * 2800.0 / 60.0)
    assert check["margin"] == pytest.approx(1.0 - check["surface_speed_mm_per_s"] / 35_000.0)
    assert data["spin"]["passes"][0].keys() >= {"infeed_mm", "time_s", "volume_mm3", "number", "touched"}
    assert data["spin"]["set_up"]["move"].keys() == {"offset_mm", "turns"}
    assert data["knife"]["included_angle_rad"] == pytest.approx(math.radians(90 - 12 - 5))
    assert data["as_left"]["learned"]["give"]["unit"] == ""
    assert json.loads(json.dumps(data)) == data
