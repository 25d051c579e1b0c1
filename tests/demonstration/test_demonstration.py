"""The demonstration's files: made again byte for byte, usable as they stand, with the faults they are told to have."""

import datetime
import math
from pathlib import Path

import numpy as np
import pytest

from sparkout.core.practice.gauge_geometry import jaws, rest_gap, set_gap, tape
from sparkout.core.practice.virtual_unit import VirtualUnit
from sparkout.demonstration.listing import demonstration_files
from sparkout.demonstration.make import scenarios, write
from sparkout.demonstration.scenario import Scenario
from sparkout.visit.reading import read_visit, read_visit_file
from sparkout.visit.taken import Reading

MADE = scenarios()
NAMES = ["coned", "frame-out", "bent-shaft", "coned-as-left", "three-readings"]


def test_all_are_listed_with_the_main_one_first() -> None:
    listed = demonstration_files()
    assert next(iter(listed)) == "coned"
    assert sorted(listed) == sorted(MADE) == sorted(NAMES)
    assert all(path.is_file() for path in listed.values())


@pytest.mark.parametrize("name", NAMES)
def test_the_kept_file_is_what_the_seed_makes(name: str) -> None:
    assert demonstration_files()[name].read_bytes() == MADE[name].text.encode()


def test_the_script_writes_them_all(tmp_path: Path) -> None:
    written = write(tmp_path / "new")
    assert [path.stem for path in written] == NAMES
    assert all(path.read_bytes() == demonstration_files()[path.stem].read_bytes() for path in written)


@pytest.mark.parametrize("name", NAMES)
def test_no_problem_and_no_question(name: str) -> None:
    file = read_visit_file(demonstration_files()[name])
    assert file.questions(file.visit.visit.date) == ()


@pytest.mark.parametrize("name", NAMES)
def test_it_says_that_it_is_invented(name: str) -> None:
    text = demonstration_files()[name].read_text(encoding="utf-8")
    assert "everything in this file is invented" in text.splitlines()[0]
    assert "seed" in text.splitlines()[1]
    visit = read_visit(text)
    assert visit.visit.demonstration is True
    assert visit.visit.technician in ("technician A", "technician B")
    assert all("no source" in limit.origin or "invented" in limit.origin for limit in visit.limits if limit.origin)
    assert all(limit.origin for limit in visit.limits)


def test_an_overdue_gauge_would_be_asked_about() -> None:
    file = read_visit_file(demonstration_files()["coned"])
    late = [str(question) for question in file.questions(datetime.date(2031, 1, 1))]
    assert any("tape 1" in text and "ran out" in text for text in late)


def taken(scenario: Scenario, of: str, when: str = "as found") -> list[Reading]:
    return [r for r in read_visit(scenario.text).all_readings if r.of == of and r.when == when]


def x_of(reading: Reading, unit: VirtualUnit) -> float:
    assert reading.at is not None
    return reading.at.along(unit.reel.length)


STAGES = [(name, "as found") for name in NAMES] + [("coned-as-left", "as left")]


@pytest.mark.parametrize(("name", "when"), STAGES)
def test_diameters_and_rest_gaps_are_readings_of_the_truth(name: str, when: str) -> None:
    """Within four standard uncertainties of the gauge as the file itself states them."""
    scenario = MADE[name]
    visit = read_visit(scenario.text)
    unit = scenario.as_left if when == "as left" and scenario.as_left else scenario.as_found
    assert taken(scenario, "diameter", when)
    for reading in taken(scenario, "diameter", when):
        gauge = visit.gauge(str(reading.gauge))
        truth = (tape if gauge.kind == "tape" else jaws)(unit, x_of(reading, unit))
        u = math.hypot(
            float(gauge.calibration_u or 0), float(gauge.repeatability or 0), float(gauge.resolution or 0) / 3.46
        )
        assert abs(float(reading.value or 0) - truth) < 4.0 * u, reading
    for reading in taken(scenario, "rest gap", when):
        gap = rest_gap(unit, x_of(reading, unit))[0]
        assert float(reading.goes or 0.0) - 0.02 < gap < float(reading.does_not_go or 0.0) + 0.02, reading


def dialled(scenario: Scenario, when: str = "as found") -> np.ndarray:
    sweep = next(s for s in read_visit(scenario.text).sweeps if s.of == "run-out" and s.when == when)
    return np.array([[float(value or 0.0) for value in row] for row in sweep.values])


@pytest.mark.parametrize(("name", "when"), [s for s in STAGES if s[0] != "three-readings"])
def test_the_sweep_is_a_reading_of_the_truth(name: str, when: str) -> None:
    scenario = MADE[name]
    unit = scenario.as_left if when == "as left" and scenario.as_left else scenario.as_found
    shown = dialled(scenario, when)
    stations = np.linspace(0.0, unit.reel.length, shown.shape[1])
    truth = unit.radius(stations)
    # shape within each station: a dial of 0.01 mm step, and bearing play
    assert np.abs((shown - shown.mean(axis=0)) - (truth - truth.mean(axis=0))).max() < 0.025


def test_coned_has_its_faults() -> None:
    unit = MADE["coned"].as_found
    left, right = unit.radius([0.0, 533.0]).mean(axis=0)
    # the skew of the axis adds nothing to the mean over equally spaced blades
    assert 2.0 * (right - left) == pytest.approx(-0.35)
    assert int(unit.radius(266.5)[:, 0].argmax()) == 6
    assert unit.edge_rounding > 0.02
    assert unit.land(533.0).max() > unit.reel.land + 0.3
    assert {r.of for r in read_visit(MADE["coned"].text).all_readings} >= {
        "diameter", "run-out", "rest gap", "frame", "knife straightness", "land", "lip height", "front lip depth",
        "top angle", "front angle", "edge rounding", "end play", "height of cut", "gap", "nick depth",
    }  # fmt: skip


def test_frame_out_looks_coned_under_the_knife_and_not_on_the_tape() -> None:
    scenario = MADE["frame-out"]
    gaps = [float(reading.goes or 0.0) for reading in taken(scenario, "rest gap")]
    assert gaps[0] == 0.0
    assert gaps[2] >= 0.15
    tapes = [float(r.value or 0) for r in taken(scenario, "diameter") if r.gauge == "tape 1"]
    assert abs(tapes[-1] - tapes[0]) < 2.0 * gaps[2] - 0.15  # a cone of twice the gap would show
    assert not taken(scenario, "frame")  # the reading that would settle it is left to be asked for


def test_bent_shaft_runs_out_once_per_turn_and_most_at_the_middle() -> None:
    scenario = MADE["bent-shaft"]
    run_out = np.ptp(dialled(scenario), axis=0)
    assert run_out[2] > 0.15
    assert run_out[0] < 0.06
    assert run_out[4] < 0.06
    middle = dialled(scenario)[:, 2]
    waves = np.abs(np.fft.rfft(middle - middle.mean()))
    assert int(waves.argmax()) == 1
    assert waves[1] > 5.0 * waves[2:].max()


def test_bent_shaft_fails_on_paper_on_about_half_the_blades() -> None:
    visit = read_visit(MADE["bent-shaft"].text)
    middle = [row[2] for row in visit.paper[0].outcomes]
    assert visit.paper[0].when == "as found"
    assert 3 <= middle.count("uncut") <= 5


def test_as_left_is_true_again_by_a_grinder_that_is_not_as_believed() -> None:
    scenario = MADE["coned-as-left"]
    assert scenario.as_left is not None
    assert scenario.grinder is not None
    x = np.linspace(0.0, 533.0, 101)
    assert np.ptp(scenario.as_left.radius(x)) < 0.01
    assert scenario.as_left.radius(x).max() < scenario.as_found.radius(x).min()
    visit = read_visit(scenario.text)
    assert abs(float(visit.grinder.give or 0) - scenario.grinder.give) > 0.05
    spin = next(step for step in visit.work if step.step == "spin grind")
    fed = sum(float(infeed) for infeed in spin.infeeds or ())
    came_off = scenario.as_found.radius(x).max() - scenario.as_left.radius(x).mean()
    assert 0.0 < fed - came_off < 0.02  # the wheel's own loss, and the carriage
    assert float(spin.wheel_diameter_after or 0) <= float(spin.wheel_diameter_before or 0)
    assert all(letter == "clean" for row in visit.paper[-1].outcomes for letter in row)
    assert visit.sign_off.name == "technician A"


def test_as_left_begins_as_the_coned_one_was_found() -> None:
    before, after = read_visit(MADE["coned"].text), read_visit(MADE["coned-as-left"].text)
    assert after.readings[: len(before.readings)] == before.readings
    assert after.sweeps[0] == before.sweeps[0]
    assert after.paper[0] == before.paper[0]


def test_three_readings_are_three() -> None:
    scenario = MADE["three-readings"]
    assert len(read_visit(scenario.text).all_readings) == 3
    unit = scenario.as_found
    # the same gaps would come from a true reel in a frame that is out by half the cone, the other way
    other = VirtualUnit(unit.reel, unit.mean_radius, frame_out=unit.frame_out - unit.cone / 2.0)
    assert rest_gap(other, [0.0, 533.0]) == pytest.approx(rest_gap(unit, [0.0, 533.0]), abs=0.02)


def test_height_of_cut_gives_the_hidden_cone_away() -> None:
    """Knife set to the reel at both ends: the gap looks right, the height differs by half the cone."""
    unit = MADE["coned"].as_found
    gap = set_gap(unit, [0.0, 533.0], 0.02, 0.03).min(axis=0)
    assert gap == pytest.approx([0.02, 0.03])
    heights = [float(reading.value or 0) for reading in taken(MADE["coned"], "height of cut")]
    assert heights[-1] - heights[0] == pytest.approx(0.175, abs=0.08)
