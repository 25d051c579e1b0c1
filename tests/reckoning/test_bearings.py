"""The bearings of a visit: torque, slowing, side against side, now against then; by hand where it can be."""

import json
import math

import pytest

from sparkout.core.bearing.drag import slowing_by_speed, slowing_by_turns
from sparkout.core.bearing.play import preload_by_nut
from sparkout.core.faults.reading import usual_tables
from sparkout.core.measured import Measured
from sparkout.papers.card import card_data
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.known_faults import known_from_visit
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.telling.whole import tell
from sparkout.visit.problems import VisitProblems
from sparkout.visit.reading import read_visit

BALANCE = {"id": "sb", "kind": "spring balance", "resolution": "0.1 N", "repeatability": "0.1 N"}
DIAL = {"id": "dial", "kind": "dial"}


def of(readings, earlier=(), **more):
    rows = [{"gauge": "sb" if r["of"] == "drag" else None, **r} for r in readings]
    rows = [{k: v for k, v in row.items() if v is not None} for row in rows]
    data = {"unit": {"name": "3"}, "reel": {"blades": 11, "diameter": 127, "length": 533, **more.pop("reel", {})}}
    data |= {"gauges": [BALANCE, DIAL], "readings": rows, "earlier": list(earlier), **more}
    return reckon(read_visit(json.dumps(data)))


def drag(value, **more):
    return {"of": "drag", "value": value, "gauge": "sb", **more}


def against(answer, of, base, side=""):
    return next(a for a in answer.bearings.against if (a.of, a.base, a.side) == (of, base, side))


def figure(answer, name, side=""):
    return next(f.measured for f in answer.bearings.figures if (f.of, f.side) == (name, side))


def test_nothing_read_nothing_told():
    answer = of([])
    assert answer.bearings is None
    assert as_data(answer)["bearings"] is None
    assert "bearings" not in [section.key for section in tell(answer, Showing())]


def test_torque_of_the_pull_is_force_times_radius():
    assert figure(of([drag("6 N")]), "drag torque").value == pytest.approx(6.0 * 63.5)


def test_an_earlier_pull_goes_round_the_reel_as_it_was_then():
    """Jaws on an even reel read the diameter outright: 120 mm then, 127 mm when new."""
    jaws = {"id": "jaws", "kind": "jaws"}
    pull = drag("5 N", on="2026-03-02")
    size = {"of": "diameter", "value": "120 mm", "gauge": "jaws", "on": "2026-03-02"}
    asked = {"gauges": [BALANCE, jaws], "reel": {"blades": 10}}
    found = against(of([drag("5 N")], [pull, size], **asked), "drag torque", "last")
    assert found.then.value == pytest.approx(5.0 * 60.0, rel=1e-3)
    assert found.now.value == pytest.approx(5.0 * 63.5)
    unknown = of([drag("5 N")], [pull], gauges=[BALANCE, jaws], reel={"blades": 10})
    assert against(unknown, "drag torque", "last").then.value == pytest.approx(5.0 * 63.5)
    assert any("today's radius" in note for note in unknown.bearings.notes)


def test_a_run_down_by_turns_and_by_speed_come_to_the_same():
    """An evenly slowing reel at 600 1/min that stands after 10 s makes 50 turns: 2π rad/s²."""
    for more in ({"of": "run-down turns", "value": 50}, {"of": "run-down speed", "value": "600 1/min"}):
        answer = of([{"of": "run-down time", "value": "10 s"}, more], reel={"inertia": "12000 kg mm²"})
        assert figure(answer, "slowing").value == pytest.approx(2 * math.pi)
        assert figure(answer, "drag torque by the run-down").value == pytest.approx(12 * 2 * math.pi)
    alone = of([{"of": "run-down time", "value": "10 s"}])
    assert [f.of for f in alone.bearings.figures] == ["run-down time"]


def test_sides_are_held_against_each_other_without_what_they_share():
    found = against(of([drag("6 N", at="left"), drag("3 N", at="right")]), "drag torque", "right")
    assert found.found.told
    assert found.found.value.value == pytest.approx(3 * 63.5)
    assert found.found.value.u == pytest.approx(math.hypot(0.1, 0.1 / math.sqrt(12)) * 63.5 * math.sqrt(2))
    alike = against(of([drag("6 N", at="left"), drag("6.1 N", at="right")]), "drag torque", "right")
    assert not alike.found.told


def test_now_against_the_last_visit_and_against_fresh_bearings():
    earlier = [
        drag("5 N", on="2025-11-02", when="as left", fresh=True),
        drag("6 N", on="2026-03-02"),
    ]
    answer = of([drag("9 N")], earlier)
    last, fresh = (against(answer, "drag torque", base) for base in ("last", "fresh"))
    assert (str(last.on), str(fresh.on)) == ("2026-03-02", "2025-11-02")
    assert last.ratio.value == pytest.approx(1.5)
    assert fresh.ratio.value == pytest.approx(1.8)
    words = " ".join(line for s in tell(answer, Showing()) if s.key == "bearings" for line in s.lines)
    assert "larger now" in words
    assert "2 Nov 2025" in words


def test_hard_turning_answers_fault_finding_where_no_limit_does():
    earlier = [drag("5 N", on="2026-03-02")]
    known = {a.finding: a for a in known_from_visit(of([drag("9 N")], earlier), usual_tables())}
    assert known["drags-all-round"].yes > 0.95
    same = {a.finding: a for a in known_from_visit(of([drag("5 N")], earlier), usual_tables())}
    assert same["drags-all-round"].yes < 0.05
    assert "drags-all-round" not in {a.finding for a in known_from_visit(of([drag("9 N")]), usual_tables())}
    limit = {"quantity": "drag", "at_most": "20 N", "origin": "workshop"}
    judged = {a.finding: a for a in known_from_visit(of([drag("9 N")], earlier, limits=[limit]), usual_tables())}
    assert judged["drags-all-round"].yes < 0.05  # the workshop's own limit is kept


def test_preload_and_run_down_time_are_judged_and_told():
    limits = [{"quantity": "run-down time", "at_least": "8 s", "origin": "x"}]
    limits += [{"quantity": "preload", "at_most": "0.05 mm", "origin": "x"}]
    read = [{"of": "run-down time", "value": "5 s"}, {"of": "preload", "gauge": "dial", "value": "0.02 mm"}]
    read += [{"of": "end play", "gauge": "dial", "value": "0.03 mm"}]
    answer = of(read, limits=limits)
    assert [j.verdict.outcome for j in answer.judged] == ["does not conform", "conforms"]
    assert any("exclude each other" in note for note in answer.bearings.notes)
    text = "\n".join(row for s in tell(answer, Showing()) for t in s.tables for r in t.rows for row in r)
    assert "at least 8.0 s" in text


def test_what_cannot_be_is_refused_with_its_place():
    with pytest.raises(VisitProblems, match=r"earlier number 1, gauge"):
        of([], [{"of": "drag", "value": "5 N", "gauge": "nobody's"}])
    with pytest.raises(VisitProblems, match=r"earlier"):
        of([], [{"of": "diameter", "value": "5 mm"}])


def test_by_hand():
    assert slowing_by_speed(Measured(60.0, 0.6), Measured(12.0, 0.0)).u == pytest.approx(0.05)
    assert slowing_by_turns(Measured(50.0, 0.0), Measured(10.0, 0.1)).u == pytest.approx(2 * math.pi * 0.02)
    nut = preload_by_nut(Measured(math.pi / 2, 0.0), Measured(1.5, 0.0))
    assert nut.value == pytest.approx(0.375)


def test_a_difference_told_stands_on_the_card():
    card = card_data(of([drag("9 N")], [drag("5 N", on="2026-03-02")]), Showing(), "A4")
    lines = [line for step in card["bench"]["steps"] for line in step["lines"]]
    assert any("at the last visit, 2 Mar 2026" in line for line in lines)
    alike = card_data(of([drag("5 N")], [drag("5 N", on="2026-03-02")]), Showing(), "A4")
    assert not any("at the last visit" in line for step in alike["bench"]["steps"] for line in step["lines"])
