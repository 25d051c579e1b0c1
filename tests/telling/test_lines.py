"""Single sentences and tables: what they say in cases that the demonstration's files do not reach."""

from __future__ import annotations

import json
from dataclasses import replace

from tests.reckoning.answers import answer_of
from tests.reckoning.partial import Data, data_of

from sparkout.core.grinding.setup import TouchOff
from sparkout.core.measured import Measured
from sparkout.reckoning.answer import Answer, Spin
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.telling import after, finding, work
from sparkout.telling.section import keeping
from sparkout.telling.whole import grind_asked, summary, tell, why_no_grind
from sparkout.visit.reading import read_visit

US = Showing("mm", "us")


def reckoned(data: Data) -> Answer:
    return reckon(read_visit(json.dumps(data, default=str)))


def text(answer: Answer, key: str, showing: Showing = US) -> str:
    return " ".join(next(s for s in tell(answer, showing) if s.key == key).lines)


def test_the_summary_says_what_is_wrong_how_sure_and_what_to_do() -> None:
    lines = summary(answer_of("coned"), US).lines
    assert lines[0].startswith("Coned reel: 93 % by itself, 98")
    assert "left end larger" in lines[0]
    assert "Does not conform: cone." in lines
    assert any(line.startswith("Spin grind to 124.16") for line in lines)
    bent = " ".join(summary(answer_of("bent-shaft"), US).lines)
    assert "over 99.9 % with whatever else may be wrong" in bent
    assert "Find out why the shaft runs out" in bent
    three = " ".join(summary(answer_of("three-readings"), US).lines)
    assert "Cannot be told apart yet: coned reel, or frame or mounts out" in three
    assert "depth gauge from the bearing axis to the bedknife's mounts" in three


def test_whether_a_grind_is_asked() -> None:
    assert grind_asked(answer_of("coned")) is True
    assert grind_asked(answer_of("frame-out")) is False
    assert why_no_grind(answer_of("frame-out")) == "No limit asks for a grind."
    assert grind_asked(answer_of("three-readings")) is None
    assert "No limit on cone" in why_no_grind(answer_of("three-readings"))
    data = data_of("frame-out")
    data["readings"] = [r for r in data["readings"] if r["of"] != "land"]
    unread = reckoned(data)
    assert grind_asked(unread) is None
    assert why_no_grind(unread) == "Whether to grind is not decided yet."
    assert "Whether to grind is not decided yet. The plan shows" in text(unread, "summary")


def test_signed_quantities_name_their_side_and_their_interval_goes_with_it() -> None:
    ends = ("right end larger", "left end larger")
    assert finding.signed(Measured(-0.3, 0.01), ends, US) == "0.300 ± 0.020 mm, left end larger"
    assert finding.signed(Measured(0.3, 0.01), ends, US) == "0.300 ± 0.020 mm, right end larger"
    assert finding.signed(Measured(-0.01, 0.01), ends, US) == "0.010 ± 0.020 mm, not told from none"
    rows = {row[0]: row for row in finding.state(answer_of("coned"), US).tables[0].rows}
    assert rows["cone on diameter"][1].startswith("0.343")
    assert rows["cone on diameter"][2] == "0.29 to 0.39 mm"


def test_explanations_that_no_reading_would_tell_apart() -> None:
    confusion = answer_of("three-readings").diagnosis.apart[0]
    alone = finding.apart_words(replace(confusion, separation=None), US)
    assert alone.endswith("to 1).")
    assert "What would" not in alone


def test_a_swept_shaft_is_shown_by_its_turn_and_a_flagged_cell_is_marked() -> None:
    tables = finding.readings(answer_of("bent-shaft"), US).tables
    shaft = next(table for table in tables if table.title.startswith("shaft"))
    assert shaft.head[0] == "turned to"
    assert [row[0] for row in shaft.rows] == ["0°", "45°", "90°", "135°", "180°", "225°", "270°", "315°"]
    assert all("-" not in row for row in shaft.rows)
    data = data_of("coned")
    data["sweeps"][0]["values"][4][2] = 0.6
    odd = reckoned(data)
    assert odd.diagnosis.state.outliers
    grid = next(t for t in finding.readings(odd, US).tables if t.title.startswith("run-out"))
    assert any(cell.endswith(" !") for row in grid.rows for cell in row)
    assert "! does not fit the others" in grid.title
    told = text(odd, "state")
    assert "does not fit the others" in told
    assert "Without what does not fit, the cone would be" in told


def test_readings_that_scatter_more_than_their_gauges_allow() -> None:
    data = data_of("coned")
    for row, values in enumerate(data["sweeps"][0]["values"]):
        data["sweeps"][0]["values"][row] = [v + 0.08 * (-1) ** (row * k + k) for k, v in enumerate(values)]
    for gauge in data["gauges"]:
        gauge["repeatability"] = "0.001 mm" if gauge["kind"] == "dial" else gauge["repeatability"]
    assert "scatter more than their gauges allow" in text(reckoned(data), "state")


def test_limits_either_way_between_and_one_sided() -> None:
    data = data_of("coned")
    for limit in data["limits"]:
        if limit["quantity"] == "gap":
            limit["at_least"] = "0.01 mm"
    rows = {row[0]: row[1] for row in finding.verdicts(reckoned(data), US).tables[0].rows}
    assert rows["cone"].startswith("± 0.250 mm (")
    assert rows["gap"].startswith("0.010 mm to 0.050 mm (")
    assert rows["run-out"].startswith("at most 0.050 mm (")
    assert rows["mean diameter"].startswith("at least 120.00 mm (")


def test_edge_meant_to_stay_unground_is_said() -> None:
    data = data_of("coned")
    data["wanted"]["uncleaned_share"] = "10 %"
    assert "of the edge length stays unground" in text(reckoned(data), "finish")


def test_a_reel_with_both_ends_alike_touches_alike() -> None:
    spin = answer_of("coned").spin
    assert isinstance(spin, Spin)
    alike = replace(spin.plan.set_up, touch_off=TouchOff("neither", Measured(0.0, 0.01)))
    lines = work.set_up_lines(replace(spin.plan, set_up=alike), US)
    assert "Touch-off check: both ends must touch alike." in lines


def test_a_sound_knife_asks_for_nothing() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] == "edge rounding":
            reading["value"] = "0 mm"
    assert "Nothing asks for a grind." in text(reckoned(data), "knife")


def test_a_bow_not_told_from_none_is_no_reason_to_grind() -> None:
    assert "not straight" not in text(answer_of("coned"), "knife")
    assert "not straight" not in text(answer_of("frame-out"), "knife")


def test_a_relief_grind_asked_for_is_told_as_asked_for() -> None:
    data = data_of("frame-out")
    data["wanted"]["relief"] = "yes"
    assert text(reckoned(data), "relief").startswith("Asked for in the file.")
    assert text(answer_of("frame-out"), "relief").startswith("Not due by the workshop's limit")


def test_counts_are_words() -> None:
    assert [work.clicks(n) for n in (0, 1, 2)] == ["no click", "1 click", "2 clicks"]


def test_what_the_grinder_has_taught() -> None:
    answer = answer_of("coned-as-left")
    assert answer.as_left is not None
    learned = answer.as_left.learned
    assert learned is not None

    def lines(**told: object) -> str:
        left = replace(answer.as_left, learned=replace(learned, **told))  # type: ignore[type-var, arg-type]
        return " ".join(after.after(replace(answer, as_left=left), US)[0].lines)

    assert "says little of it (a long spark-out hides it). Grinding" in lines(told_of_give=False)
    assert "learnt from this grind. Enter it in the file" in lines(told_of_give=True)
    assert "grinding ratio 20 ± 14, learnt from this grind" in lines(told_of_wheel=True)
    assert "wheel diameters before and after would teach it" in lines(wheel_loss=None, told_of_wheel=False)
    assert "look for play, heat or a loose mount" in lines(fits=False)
    unlearnt = replace(answer, as_left=replace(answer.as_left, learned=None))
    assert "give" not in " ".join(after.after(unlearnt, US)[0].lines)


def test_nothing_assumed_leaves_no_list() -> None:
    answer = replace(answer_of("coned"), assumed=())
    assert "Taken because" not in text(answer, "sources")


def test_the_user_s_own_names_stand_as_typed() -> None:
    data = data_of("coned")
    data["gauges"][0]["id"] = "reel tape, 1 mm marks"
    for reading in data["readings"]:
        if reading.get("gauge") == "tape 1":
            reading["gauge"] = "reel tape, 1 mm marks"
    next(limit for limit in data["limits"] if limit["quantity"] == "cone")["origin"] = "the reel maker's book, 0.25 mm"
    answer = reckoned(data)
    showing = keeping(answer, Showing("inch", "uk"))
    assert set(showing.kept) == {
        "(reel tape, 1 mm marks)", "gauge reel tape, 1 mm marks:", "(the reel maker's book, 0.25 mm)",
    }  # fmt: skip
    cells = [
        cell
        for section in tell(answer, Showing("inch", "uk"))
        for table in section.tables
        for row in table.rows
        for cell in row
    ]
    assert "circumference tape (reel tape, 1 mm marks)" in cells
    assert "± 9.8 thou (the reel maker's book, 0.25 mm)" in cells
    assert keeping(answer_of("coned"), Showing("mm", "us")).kept == ()


def test_a_click_that_opens_and_one_that_closes() -> None:
    data = data_of("coned")
    for reading in data["readings"]:
        if reading["of"] == "gap" and reading["at"] == "right":
            reading |= {"goes": "0.08 mm", "does_not_go": "0.1 mm"}
    told = text(reckoned(data), "setting")
    assert "more open" in told
    assert "closer" in told
