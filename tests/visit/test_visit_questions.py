from __future__ import annotations

import datetime
import statistics

import pytest
from tests.visit.examples import FULL, GAUGES, reading, small

from sparkout.visit.questions import _median_without
from sparkout.visit.reading import read_visit_file

TODAY = datetime.date(2026, 11, 25)


def asked(more: str, today: datetime.date | None = TODAY) -> list[str]:
    return [str(question) for question in read_visit_file(small(more)).questions(today)]


def tape(at: str, value: object, **more: object) -> str:
    return reading("diameter", gauge="tape", at=at, value=value, **more)


def gap(at: str, value: object) -> str:
    return reading("rest gap", gauge="feeler", at=at, value=value)


def lands(*values: object) -> str:
    return "".join(reading("land", gauge="rule", blade=i + 1, value=value) for i, value in enumerate(values))


SOUND = GAUGES + tape("left", 125.4) + tape("right", 125.3) + gap("right", "0.05 mm") + lands(1.0, 1.2, 0.9)


def test_a_plain_visit_raises_no_question() -> None:
    assert asked(SOUND) == []
    assert read_visit_file(FULL).questions(TODAY) == ()


DUE = "\n[[gauges]]\nid = 'tape'\nkind = 'tape'\ncalibration_due = 2026-11-24\n"


@pytest.mark.parametrize(
    ("more", "words"),
    [
        (DUE + tape("left", 125), "calibration of 'tape' ran out on 24 Nov 2026"),
        ("[visit]\ndate = 2026-11-26", "26 Nov 2026 lies in the future"),
        ("relief_angle = '30 deg'", "from the circle's tangent or from the radius"),
        ("[[limits]]\nquantity = 'cone'\nat_most = 1", "where does the limit on cone come from"),
        (reading("land", value=1) + reading("land", value=1), "no gauge is named (and 1 more like it)"),
        (
            GAUGES + reading("run-out", at="left", blade=1, gauge="dial", value=0)
            + reading("run-out", at="left", blade=2, gauge="dial", value=0),
            "no set_up is named (and 1 more like it). Did all these share one zero?",
        ),
        ("[visit]\nunits = 'inch'\n[knife]\nthickness = 3", "counts in mm, but the visit is in inches"),
        ("[visit]\nunits = 'inch'\n[[limits]]\nquantity='cone'\nat_most=1\norigin='x'", "counts in mm"),
        ("[visit]\nunits = 'inch'" + GAUGES + lands(1, 1, 1), "counts in mm (and 2 more like it)"),
        (GAUGES + reading("land", gauge="dial", value=1), "land is seldom read with a gauge of kind 'dial'"),
        (GAUGES + tape("left", 125.4185), "'tape' shows steps of 0.1 mm; 125.4185 is finer"),
        ("[[work]]\nstep='spin grind'\nwheel_diameter_before=149\nwheel_diameter_after=150", "the wheel grew"),
        (GAUGES + tape("left", 128.1), "larger than the reel when new (127 mm)"),
        (
            GAUGES + tape("left", 124.0) + tape("left", 125.0, when="as left"),
            "as left 125.0 is larger than as found 124.0",
        ),
        (GAUGES + tape("left", 124.0) + tape("left", 125.0), "125.0 here, 124.0 at the same place before"),
        (GAUGES + tape("left", 124) + tape("centre", 124) + tape("right", 110), "110 is 14 mm from the others"),
        (GAUGES + lands(1, 1.1, 0.04, 1), "0.04 is far from the others. Did you mean 0.04 in (1.016 mm)?"),
        ("land = 1" + GAUGES + lands(0.04), "Did you mean 0.04 in (1.016 mm)?"),
        (
            GAUGES + reading("rest gap", gauge="feeler", at="left", goes=2, does_not_go=3),
            "a leaf of 2 mm is thick. Did you mean 2 thou (0.0508 mm)?",
        ),
        (
            GAUGES + reading("rest gap", gauge="feeler", at="left", goes="0.15 thou", does_not_go="0.2 thou"),
            "a leaf of 0.15 thou is thinner than leaves are made. Did you mean 0.15 mm?",
        ),
        (
            GAUGES + reading("rest gap", gauge="feeler", at="left", goes="0 mm", does_not_go="0.002 mm"),
            "a leaf of 0.002 mm is thinner than leaves are made. Did you mean 0.002 in?",
        ),
        (
            GAUGES + reading("radial play", at="left", gauge="dial", value="0.002 thou")
            + reading("radial play", at="right", gauge="dial", value="0.003 thou"),
            "0.002 thou is less than any gauge for it shows (and 1 more like it). Did you mean 0.002 in?",
        ),
        (GAUGES + tape("left", 125) + tape("left", 62.5, when="as left"), "62.5 is 62.5 mm smaller than as found 125"),
        (
            "[height]\nof_cut = 4" + GAUGES + reading("height of cut", gauge="rule", at="left", value="100 mm"),
            "Did you mean 100 thou (2.54 mm)?",
        ),
    ],
)  # fmt: skip
def test_each_doubt_is_asked(more, words) -> None:
    questions = asked(more)
    assert any(words in question for question in questions), questions


def test_a_thousandfold_dial_value_is_asked_in_thou() -> None:
    rows = "[[1, 2, 3], [2, 40, 1], [3, 1, 2]]".replace("1", "0.01").replace("2", "0.02").replace("3", "0.03")
    rows = rows.replace("40", "2")
    questions = asked(
        GAUGES + f"\n[[sweeps]]\nof='run-out'\ngauge='dial'\nat=['left','centre','right']\nvalues={rows}\n"
    )
    assert any("2 is far from the others. Did you mean 2 thou (0.0508 mm)?" in q for q in questions), questions


def test_an_honest_cone_under_a_lying_knife_is_no_slip() -> None:
    assert asked(GAUGES + gap("left", 0.02) + gap("centre", 0.25) + gap("right", 0.5)) == []


def test_gauges_that_show_different_diameters_of_one_reel_are_not_compared() -> None:
    jaws = "\n[[gauges]]\nid = 'jaws'\nkind = 'jaws'\n"
    ring = [("left", 125.4), ("centre", 125.4), ("right", 125.4)]
    read = "".join(tape(at, v) + reading("diameter", gauge="jaws", at=at, value=v - 10) for at, v in ring)
    assert asked(GAUGES + jaws + read) == []


@pytest.mark.parametrize("values", [[1.0, 2.0, 3.0], [5.0, 1.0, 4.0, 2.0], [2.0, 2.0, 7.0, 9.0, 1.0]])
def test_the_median_of_the_others_is_that_of_the_standard_library(values) -> None:
    for i, value in enumerate(values):
        assert _median_without(sorted(values), value) == statistics.median(values[:i] + values[i + 1 :])


def test_no_question_about_dates_without_a_today() -> None:
    assert asked(DUE + tape("left", 125), None) == []


def test_an_unused_gauge_may_be_overdue() -> None:
    assert asked(DUE) == []


CONED = GAUGES + tape("left", 125.0) + tape("right", 125.8)


def test_left_and_right_exchanged_between_two_gauges_is_asked() -> None:
    question = next(q for q in asked(CONED + gap("left", 0.0) + gap("right", 0.4)) if "exchanged" in q)
    assert "the rest gap makes the left end larger by 0.8 mm" in question
    assert "'tape' make the right end larger by 0.8 mm" in question
    assert "frame" in question


@pytest.mark.parametrize(
    "other",
    [
        gap("left", 0.4) + gap("right", 0.0),  # agrees
        gap("left", 0.0) + gap("right", 0.01),  # within doubt
        gap("left", 0.0) + gap("right", 8.0),  # ten times as much: no exchange explains it
        gap("left", 0.0) + gap("20 mm", 0.4),  # too close together to tell
        reading("rest gap", gauge="feeler", at="left", goes="0.1 mm") + gap("right", 0.4),  # one leaf is no gap
    ],
)
def test_nothing_is_asked_when_two_gauges_do_not_clash(other) -> None:
    assert not [q for q in asked(CONED + other) if "exchanged" in q]


def test_dial_sweeps_and_leaves_take_part_and_inches_are_spoken() -> None:
    questions = asked(
        "[visit]\nunits = 'inch'"
        + CONED.replace("125.0", "'125.0 mm'").replace("125.8", "'125.8 mm'")
        + reading("rest gap", gauge="feeler", at="left", goes="0.1 mm", does_not_go="0.2 mm")
        + reading("rest gap", gauge="feeler", at="right", goes="0.5 mm", does_not_go="0.6 mm")
        + "\n[[sweeps]]\nof='run-out'\ngauge='dial'\nset_up='A'\nat=['left','right']\nunit='mm'\n"
        + "values=[[0.4,0],[0.4,0]]\n"
    )
    both = [q for q in questions if "exchanged" in q]
    assert len(both) == 2
    assert "0.0315 in" in both[0]
    assert "the dial (A) makes the left end larger" in " ".join(both)


def test_questions_name_the_line() -> None:
    question = read_visit_file(small("relief_angle = '30 deg'")).questions()[0]
    assert (question.path, question.line, question.place) == ("reel.relief_angle", 7, "line 7, reel, relief_angle")


def test_unknown_calibration_state_and_missing_values_do_not_stop_the_questions() -> None:
    assert asked(GAUGES + reading("gap", gauge="feeler", at="left", goes="0.1 mm", does_not_go="0.2 mm")) == []
    assert asked(GAUGES + reading("adjuster count", at="left", value=12)) == []
