"""How a visit's unit stands and what the plan does to it: against the core asked by hand; what is missing is named."""

import copy
import json
import math

import pytest
from tests.reckoning.answers import answer_of, visit_of
from tests.reckoning.partial import Data, data_of

from sparkout.core.measured import Measured
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.given import OnBench
from sparkout.core.stance.moves import RollerAdjuster, roller_moved
from sparkout.core.stance.unit import stance
from sparkout.reckoning.answer import Answer, Untold
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.reckon import reckon
from sparkout.reckoning.stance import StanceFound, stance_of
from sparkout.showing import Showing
from sparkout.telling.stance import now_lines, plan_lines
from sparkout.visit.reading import read_visit


def reckoned(data: Data) -> Answer:
    return reckon(read_visit(json.dumps(data, default=str)))


def found_in(answer) -> StanceFound:
    assert not isinstance(answer.stance, Untold)
    return answer.stance


def test_coned_unit_stands_as_its_readings_say() -> None:
    """Readings of the file: heights at both ends, both rollers; the level knows nothing of the bar's own error."""
    answer = answer_of("coned")
    heights = {r.at.text: float(r.value) for r in answer.visit.all_readings if r.of == "height of cut"}
    found = found_in(answer)
    assert found.stance.left.height_of_cut == pytest.approx(heights["left"])
    assert found.stance.right.height_of_cut == pytest.approx(heights["right"])
    assert found.known["level"].measured.value == pytest.approx(heights["right"] - heights["left"])
    assert found.known["level"].components.get("bar", 0.0) == pytest.approx(0.0, abs=1e-9)
    assert found.unit.left.front.diameter == pytest.approx(59.6, abs=0.05)


def test_the_turns_told_bring_the_planned_unit_to_the_height_wanted() -> None:
    """Turned on the unit after the plan with the rollers as they were, end by end."""
    found = found_in(answer_of("coned"))
    plan = found.plan
    assert plan is not None
    assert plan.turns is not None
    assert plan.wanted_height == 3.5
    assert plan.stance.left.height_of_cut == pytest.approx(3.5)
    assert plan.stance.right.height_of_cut == pytest.approx(3.5)
    pitch = float(answer_of("coned").visit.height.adjuster_pitch)
    back = roller_moved(plan.unit, "front", Ends(*(-t.value * pitch for t in plan.turns)), RollerAdjuster(pitch))
    untouched = stance(back)
    for side, change in zip(("left", "right"), plan.height_change, strict=True):
        was = getattr(found.stance, side).height_of_cut
        assert getattr(untouched, side).height_of_cut - was == pytest.approx(change.value, abs=1e-9)
    assert all(m.u > 0.0 for m in (*plan.height_change, *plan.travel, *plan.turns))


def test_the_cone_ground_away_levels_the_unit() -> None:
    """The larger right end loses less: the left edge comes up more, as the knife follows the reel."""
    found = found_in(answer_of("coned"))
    assert found.plan is not None
    left, right = (m.value for m in found.plan.height_change)
    cone = answer_of("coned").diagnosis.state.cone.value
    assert left - right == pytest.approx(-cone / 2.0, abs=0.01)


def test_from_what_was_measured_on_it() -> None:
    bench = OnBench(
        pattern="reel down", length=533.0, reel_diameter=Measured(125.0, 0.05), behind_centre=8.0, height_left=4.0,
        height_right=4.2, front_ahead=88.0, rear_behind=82.0, front_diameter=64.0, rear_diameter=50.0,
    )  # fmt: skip
    found = stance_of(bench)
    assert isinstance(found, StanceFound)
    assert found.plan is None
    assert found.known["level"].measured.value == pytest.approx(0.2)
    assert stance_of(visit_of("three-readings")).wanted.startswith("which part the adjuster moves")
    assert isinstance(stance_of(visit_of("coned")), StanceFound)


def test_heights_not_read_are_those_wanted() -> None:
    answer = answer_of("frame-out")
    found = found_in(answer)
    assert "the unit stands at the height of cut wanted, because none was read" in answer.assumed
    assert found.stance.level == pytest.approx(0.0)
    assert "front roller's diameter as new, because none was read" in answer.assumed


def test_one_place_stands_for_both_ends() -> None:
    data = data_of("coned")
    data["readings"] = [r for r in data["readings"] if not (r["of"] == "height of cut" and r["at"] != "left")]
    found = found_in(reckoned(data))
    assert found.stance.level == pytest.approx(0.0)
    assert found.notes == ("Height of cut was read at one place: both ends are taken to stand alike.",)


def test_readings_repeated_count_as_their_mean_and_without_a_gauge_as_less_sure() -> None:
    data = data_of("coned")
    more = copy.deepcopy([r for r in data["readings"] if r["of"] == "height of cut" and r["at"] == "left"])
    first = found_in(reckoned(data)).stance.left.height_of_cut
    more[0]["value"] = f"{first + 0.1:.3f} mm"
    data["readings"] += more
    found = found_in(reckoned(data))
    assert found.stance.left.height_of_cut == pytest.approx(first + 0.05)
    assert found.known["left.height_of_cut"].components["height_left"] == pytest.approx(
        0.1 / math.sqrt(2) / math.sqrt(2), rel=1e-3
    )
    for reading in data["readings"]:
        if reading["of"] in ("height of cut", "roller diameter"):
            reading.pop("gauge", None)
    loose = found_in(reckoned(data))
    assert loose.known["right.height_of_cut"].measured.u > 0.09


def test_a_reel_that_comes_down_needs_no_pivot_of_its_own() -> None:
    data = data_of("coned")
    data["unit"]["pattern"] = "reel down"
    found = found_in(reckoned(data))
    assert found.unit.left.closing.pivot is None
    assert found.plan is not None
    assert abs(found.plan.height_change[0].value) < 0.3
    del data["height"]["adjuster_pitch"]
    without = found_in(reckoned(data))
    assert without.plan is not None
    assert without.plan.turns is None
    told = " ".join(plan_lines(reckoned(data), Showing("mm")))
    assert "turns" not in told
    assert "front roller left" in told
    assert without.plan.travel == pytest.approx(found.plan.travel)
    del data["height"]["of_cut"]
    kept = found_in(reckoned(data)).plan
    assert kept is not None
    assert kept.wanted_height == pytest.approx(found.stance.middle.height_of_cut)


def test_no_plan_no_change() -> None:
    """Nothing read of the reel: no grind plan; what can be told of the stance still is."""
    data = data_of("coned")
    data["readings"] = [r for r in data["readings"] if r["of"] in ("height of cut", "roller diameter")]
    data["sweeps"] = []
    answer = reckoned(data)
    assert isinstance(answer.spin, Untold)
    found = found_in(answer)
    assert found.plan is None
    assert any("no grind plan yet" in note for note in found.notes)
    assert found.unit.left.reel_diameter == answer.reel.diameter


@pytest.mark.parametrize(
    ("table", "key", "wanted"),
    [
        ("height", "front_roller_ahead", "how far the front roller lies ahead of the edge"),
        ("height", "rear_roller_behind", "how far the rear roller lies behind the edge"),
        ("height", "rear_roller_diameter", "the rear roller's diameter"),
        ("knife", "arm", "the knife's pivot (behind, below, arm)"),
        ("unit", "pattern", "which part the adjuster moves"),
    ],
)
def test_what_is_missing_is_named(table: str, key: str, wanted: str) -> None:
    data = data_of("frame-out")
    del data[table][key]
    part = reckoned(data).stance
    assert isinstance(part, Untold)
    assert part.wanted == wanted


def test_figures_that_do_not_go_together_are_untold() -> None:
    data = data_of("frame-out")
    data["height"] |= {"front_roller_ahead": "0 mm", "rear_roller_behind": "0 mm"}
    part = reckoned(data).stance
    assert isinstance(part, Untold)
    assert "figures of the unit that go together" in part.wanted
    data = data_of("frame-out")
    data["knife"]["arm"] = "300 mm"
    part = reckoned(data).stance
    assert isinstance(part, Untold)
    assert part.wanted == "a pivot of the knife that fits the reel"


def test_as_data_names_every_unit() -> None:
    told = as_data(answer_of("coned"))["stance"]
    assert told["answered"]
    assert told["now"]["middle.attitude"]["unit"] == "rad"
    assert told["now"]["level"]["unit"] == "mm"
    assert told["plan"]["front_roller_turns"][0]["unit"] == "turns"
    assert told["plan"]["then"]["left.height_of_cut"]["value"] == pytest.approx(3.5)
    assert as_data(answer_of("three-readings"))["stance"]["answered"] is False
    bare = found_in(answer_of("coned"))
    assert as_data(answer_of("coned"))["stance"]["caution"] == bare.caution


def test_told_in_words_in_both_vocabularies_and_units() -> None:
    answer = answer_of("coned")
    now, plan = (" ".join(lines(answer, Showing("mm", "us"))) for lines in (now_lines, plan_lines))
    assert "stands at 3.510 ± 0.044 mm left" in now
    assert "front roller left up 0.623 mm, 0.50 turns" in plan
    assert "left end 0.293 mm higher" in plan
    inches = " ".join(plan_lines(answer, Showing("inch", "us")))
    assert "mm" not in inches
    assert now_lines(answer_of("three-readings"), Showing("mm")) == ()
    assert plan_lines(answer_of("three-readings"), Showing("mm")) == ()
