"""A plan told job by job, what it costs, which reels to order; its print, workbook and calendar."""

from __future__ import annotations

import datetime
import io
import math
import re
import tomllib
from pathlib import Path

import pypdf
import pytest
from icalendar import Calendar
from python_calamine import CalamineWorkbook

from sparkout.core.phrase import phrase
from sparkout.papers.season_calendar import season_calendar
from sparkout.papers.season_print import print_data, season_print
from sparkout.papers.season_tables import season_workbook
from sparkout.season.forecast import UnitNow
from sparkout.season.now import SeasonPlanned, held, moved_to, season_now
from sparkout.season.placing import Placed, as_data, from_data, still_to_come
from sparkout.season.sheet import sheet_of
from sparkout.season.spend import chance_by, parts_ahead
from sparkout.season.unit_file import units_of
from sparkout.season.wearing import Ends, Size
from sparkout.showing import Showing
from sparkout.telling.season import doing_told, how_good, tell_due, tell_plan, tell_what_ifs, why_told

TODAY = datetime.date(2026, 11, 25)
SHEET = {
    "start": "2026-11-30",
    "weeks": 4,
    "people": [{"name": "A", "week": [4, 0, 4, 0, 0, 0, 0]}],
    "grinders": [{"name": "G"}],
    "fresh": [{"at": "P", "on": "2026-12-13", "name": "final"}],
    "chosen": [{"job": "U1", "on": "2026-12-09"}],
    "parts": [{"part": "greens", "on_shelf": 0, "lead_weeks": 2, "pack": 2, "price": 400}],
}


def worn(name: str, hours: float = 300.0, diameter: float = 124.0) -> UnitNow:
    sizes = tuple(Size(h, diameter - 0.004 * h, 0.0) for h in (0.0, 100.0, 200.0))
    return UnitNow(name, "M", "P", "greens", hours, 20.0, hours - 100.0, (), sizes, 120.0, True)


@pytest.fixture(scope="module")
def planned() -> SeasonPlanned:
    units = [worn("U1"), worn("U2", 310.0, 121.3), worn("U3"), worn("U4")]
    return held(season_now(sheet_of(SHEET), units, TODAY), ())


def test_jobs_are_told_with_everything_about_them(planned: SeasonPlanned) -> None:
    assert [one.on for one in planned.placed if one.job == "U1"] == [datetime.date(2026, 12, 9)]
    first = next(one for one in planned.placed if one.job == "U1")
    assert first.by_hand
    assert [step.phase for step in first.doing] == ["strip", "spin", "relief", "knife", "set"]
    assert first.doing[1].grinder == "G"
    assert any(one.fresh_for == "final" for one in planned.placed)
    assert planned.late
    assert all(one.why for one in planned.late)
    for one in planned.placed:
        assert from_data(as_data(one)) == one
        assert doing_told(one).startswith("A: strip") or one.on is None
    hours = sum(week.taken["A"] for week in planned.weeks)
    assert hours == pytest.approx(sum(3.25 for one in planned.placed if one.on is not None))


def test_the_money_is_hours_and_wheels(planned: SeasonPlanned) -> None:
    """Own arithmetic: 3.25 h at 30 and a wheel's 3 for each job done."""
    done = [one for one in planned.placed if one.on is not None]
    assert planned.spent.by_cause["hours of work"] == pytest.approx(len(done) * 3.25 * 30)
    assert planned.spent.by_cause["wheels"] == pytest.approx(3 * len(done))
    assert planned.spent.by_machine["M"] == pytest.approx(len(done) * (3.25 * 30 + 3))


def test_moving_costs_and_what_is_left_after_a_sharpening(planned: SeasonPlanned) -> None:
    now = planned.now
    later = moved_to(now, planned.placed, "U3", datetime.date(2026, 12, 21))
    assert next(one.on for one in later.placed if one.job == "U3") == datetime.date(2026, 12, 21)
    two = [one for one in planned.placed if one.unit == "U2"]
    left = still_to_come(planned.placed, {"U2": 1, "U1": 9})
    assert [one.on for one in left if one.unit == "U2"] == [one.on for one in sorted(two, key=lambda j: j.due)][1:]
    assert [one.job for one in left if one.unit == "U2"][:1] == ["U2"][: len(two) - 1]
    assert not [one for one in left if one.unit == "U1"]


def test_a_job_left_undone_is_told_so() -> None:
    undone = Placed("A", "A", "M", "P", None, TODAY, False, "", (), phrase("no room"))
    assert undone.is_late
    assert why_told(undone) == "A: left undone; no room"
    assert from_data(as_data(undone)) == undone


@pytest.mark.parametrize(
    ("days", "asked", "told"),
    [
        ((math.inf,) * 5, [10.0], [0.0]),
        ((5.0,) * 5, [4.0, 5.0], [0.0, 1.0]),
        ((0.0, 0.0, 10.0, 20.0, 30.0), [10.0], [0.5]),
        ((10.0, 20.0, math.inf, math.inf, math.inf), [20.0], [0.25]),
        ((10.0, math.inf, math.inf, math.inf, math.inf), [9.0, 11.0], [0.0, 1.0]),
    ],
)
def test_the_chance_that_a_reel_has_ended(days: tuple[float, ...], asked: list[float], told: list[float]) -> None:
    assert chance_by(Ends(125.0, 0.001, (), days), asked) == pytest.approx(told, abs=1e-9)


def test_reels_are_ordered_in_packs_before_they_are_wanted(planned: SeasonPlanned) -> None:
    (part,) = planned.now.parts
    assert part.mean == pytest.approx(1.0, abs=0.05)  # U2 is at its limit, the others are far from it
    assert part.orders[0].pieces == 2
    assert part.orders[0].money == 800.0
    assert part.orders[0].comes - part.orders[0].on == datetime.timedelta(weeks=2)
    assert part.short > 0.9
    ends = Ends(121.0, 0.004, (), (1.0, 2.0, 3.0, 4.0, 5.0))
    (unknown,) = parts_ahead([("U", "greens", ends), ("V", "greens", None)], sheet_of({}), TODAY, TODAY, 4)
    assert (unknown.shelf, unknown.orders) == (None, ())


@pytest.mark.parametrize("paper", ["A3", "A4", "Letter"])
def test_the_print_is_landscape_with_text_that_can_be_searched(planned: SeasonPlanned, paper: str) -> None:
    made = season_print(planned, Showing(), paper, demonstration=True)
    pages = pypdf.PdfReader(io.BytesIO(made)).pages
    assert pages[0].mediabox.width > pages[0].mediabox.height
    text = " ".join(" ".join(page.extract_text() for page in pages).split())
    for wanted in ("U1", "M, P", "30 Nov", "Wed 9", "final", "Late or left undone", "days late", "invented"):
        assert wanted in text
    assert season_print(planned, Showing(), paper, demonstration=True) == made


def test_the_print_marks_by_shape_what_is_late_by_hand_and_fresh(planned: SeasonPlanned) -> None:
    data = print_data(planned, Showing("mm", "uk", ",", language="de"), "A4")
    (group,) = data["groups"]
    marks = {mark for row in group["rows"] for cell in row["cells"] for item in cell for mark in item["marks"]}
    assert marks == {"late", "hand", "job"}
    assert [item["text"] for cell in group["marks"] for item in cell] == ["So 13 final"]
    with pytest.raises(ValueError, match="A3, A4, Letter"):
        print_data(planned, Showing(), "A5")


def test_the_workbook_has_numbers_with_their_units(planned: SeasonPlanned) -> None:
    book = CalamineWorkbook.from_filelike(io.BytesIO(season_workbook(planned, Showing("inch", "us"))))
    assert book.sheet_names == [
        "what is due",
        "wear",
        "plan",
        "steps",
        "load",
        "orders",
        "parts by month",
        "budget",
        "cost",
        "Grind or replace",
    ]
    due = book.get_sheet_by_name("what is due").to_python()
    at = due[0].index("diameter now (in)")
    assert due[1][at] == pytest.approx(planned.now.forecast.units[0].ends.value / 25.4, abs=1e-3)
    plan = book.get_sheet_by_name("plan").to_python()
    assert len(plan) == 1 + len(planned.placed)
    assert plan[1][4] == planned.placed[0].on
    orders = book.get_sheet_by_name("orders").to_python()
    assert orders[1][5] == 2


def test_the_calendar_has_a_stable_entry_for_each_phase(planned: SeasonPlanned) -> None:
    content = season_calendar(planned.placed, Showing())
    entries = Calendar.from_ical(content).walk("VEVENT")
    steps = [(one, step) for one in planned.placed for step in one.doing]
    assert len(entries) == len(steps)
    assert len({str(entry["UID"]) for entry in entries}) == len(entries)
    for entry, (one, step) in zip(entries, steps, strict=True):
        assert entry["DTSTART"].dt == one.on
        assert entry["DTEND"].dt == one.on + datetime.timedelta(days=1)
        assert step.who in entry["SUMMARY"]
        assert not entry.walk("VALARM")
    assert season_calendar(planned.placed, Showing()) == content
    moved = moved_to(planned.now, planned.placed, "U3", datetime.date(2026, 12, 21))
    again = Calendar.from_ical(season_calendar(moved.placed, Showing())).walk("VEVENT")
    assert {str(e["UID"]) for e in again if "U3:" in e["SUMMARY"]} == {
        str(e["UID"]) for e in entries if "U3:" in e["SUMMARY"]
    }
    assert b"VEVENT" not in season_calendar((), Showing())


def test_the_written_examples_are_planned() -> None:
    """The two files of docs/season-files.md, as they stand there."""
    page = (Path(__file__).parents[2] / "docs" / "season-files.md").read_text(encoding="utf-8")
    sheet, units = map(tomllib.loads, re.findall(r"```toml\n(.*?)```", page, re.DOTALL))
    made = held(season_now(sheet_of(sheet), units_of(units), TODAY), ())
    assert [one.on for one in made.placed if one.by_hand] == [datetime.date(2026, 12, 9)]
    assert made.plan.cannot == ()
    assert made.now.needed.notes == ()
    sheet["grinders"] = sheet["grinders"][:1]
    none = held(season_now(sheet_of(sheet), units_of(units), TODAY), ())
    assert "fit no day" in how_good(none, Showing())
    assert all("no grinder" in one.why for one in none.placed)


def test_told_in_sections(planned: SeasonPlanned) -> None:
    due = tell_due(planned.now, Showing())
    assert [section.key for section in due][:3] == ["due", "wear", "orders"]
    assert [section.key for section in tell_plan(planned, Showing())] == ["plan", "late", "load", "spend"]
    side = tell_what_ifs([("as it is", planned), ("other", planned)], Showing())
    assert len(side.tables[0].rows) == 2
    nobody = season_now(sheet_of({"parts": [], "weeks": 52}), [worn("U1")], TODAY)
    told = tell_due(nobody, Showing())
    assert any("somebody with hours" in line for section in told for line in section.lines)
    assert any("does not say what is on the shelf" in line for section in told for line in section.lines)
    assert nobody.date(1e12) is None


def test_the_workshop_s_own_names_stay_as_typed() -> None:
    units = [UnitNow("reel bench", "bedknife mower", "P", "own reel", 300.0, 20.0, 200.0, (), worn("A").sizes, 120.0)]
    told = [
        text for section in tell_due(season_now(sheet_of(SHEET), units, TODAY), Showing()) for text in section.lines
    ]
    told += [
        cell
        for s in tell_due(season_now(sheet_of(SHEET), units, TODAY), Showing())
        for t in s.tables
        for row in t.rows
        for cell in row
    ]
    assert any("own reel:" in text for text in told)
    assert not any("own cylinder" in text or "cylinder bench" in text for text in told)
