"""`sparkout season plan`: told, written in every form, and every bad input named."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from tests.cli.commands import run

SHEET = """
start = 2026-11-30
weeks = 6
people = [{name = "A", overtime = 1, week = [3.5, 0, 3.5, 0, 0, 0, 0]}]
grinders = [{name = "bench grinder"}]
fresh = [{at = "green", on = 2026-12-13, name = "final"}]
parts = [{part = "greens", on_shelf = 0, lead_weeks = 2, price = 400}]
"""


def unit(name: str, hours: float, diameter: float, **more: object) -> dict:
    sizes = [{"hours": h, "diameter": diameter - 0.004 * h, "removed": 0} for h in (0, 100, 200)]
    row = {"name": name, "machine": "M1", "place": "green", "duty": "greens", "hours": hours, "hours_a_week": "20 h"}
    return {**row, "sharpened": hours - 90, "limit": "120 mm", "relief": True, "sizes": sizes, **more}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "sheet.toml").write_text(SHEET)
    (tmp_path / "more.toml").write_text(SHEET.replace("3.5, 0, 3.5", "3.5, 3.5, 3.5"))
    units = [unit("G1", 240, 121.0), unit("G2", 230, 125.0), unit("G3", 250, 124.0), unit("G4", 260, 126.0)]
    (tmp_path / "fleet.json").write_text(json.dumps({"units": units}))
    return tmp_path


def plan(folder: Path, *more: object, status: int = 0) -> tuple[str, str]:
    found, said, complained = run(
        "season", "plan", "sheet.toml", "--fleet", "fleet.json", "--seconds", 1, *more, folder=folder
    )
    assert found == status, complained
    return said, complained


def test_all_of_it_is_told(folder: Path) -> None:
    said, _ = plan(folder, "--what-if", "more.toml")
    for heading in ("What is due", "Parts to order", "Plan by day", "Late or left undone", "Load by week",
                    "What the planned work costs", "Side by side"):  # fmt: skip
        assert heading.replace("Reels", "Cylinders") in said
    assert "no plan can cost less than" in said
    assert re.search(r"full from \d+ \w+ 20\d\d to", said)
    assert "more hours a week would clear it" in said
    assert "as it is" in said
    assert "more  " in said
    assert "greens: 1.0 wanted" in said
    assert "124.00" in said or "123.0" in said


def test_the_reader_s_words_and_units(folder: Path) -> None:
    said, _ = plan(folder, "--words", "us", "--units", "inch")
    assert "Parts to order" in said
    assert " in " in said
    assert " mm" not in said


def test_every_form_is_written(folder: Path) -> None:
    forms = ("p.json", "p.xlsx", "p.ics", "p.pdf")
    _, complained = plan(folder, *(part for form in forms for part in ("--out", form)), "--paper", "A3")
    assert all(form in complained for form in forms)
    data = json.loads((folder / "p.json").read_text())
    assert len(data["plan"]["jobs"]) >= 4
    assert data["plan"]["bound"] <= data["plan"]["cost"] + 1e-9
    assert (folder / "p.xlsx").read_bytes().startswith(b"PK")
    assert (folder / "p.ics").read_bytes().startswith(b"BEGIN:VCALENDAR")
    assert (folder / "p.pdf").read_bytes().startswith(b"%PDF")


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (("people = [", "people = [{name = 'B', week = [30]}, "), "line 4, people number 1, week"),
        (("overtime = 1", "overtime = '2 kg'"), "overtime"),
        (("weeks = 6", "weeks = 0"), "line 3, weeks: 0 is too small; allowed: 1 to 104"),
        (("people = [{name = \"A\", overtime = 1, week = [3.5, 0, 3.5, 0, 0, 0, 0]}]", ""), "somebody with hours"),
        (("week = [3.5, 0, 3.5", "week = [0, 0, 0"), "hours in the season"),
        (("2026-11-30", "2025-11-30"), "a season that has not ended"),
    ],
)  # fmt: skip
def test_a_wrong_sheet_is_named(folder: Path, change: tuple[str, str], told: str) -> None:
    (folder / "sheet.toml").write_text(SHEET.replace(*change).replace("overtime = 1, week = [0", "week = [0"))
    _, complained = plan(folder, status=1)
    assert told in complained


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ({"hours": "300 kg"}, "hours"),
        ({"sizes": [{"hours": 90, "diameter": 5}]}, "diameter"),
        ({"name": "G2"}, "'G2' stands here twice"),
        ({"colour": "red"}, "colour"),
    ],
)
def test_a_wrong_unit_is_named(folder: Path, row: dict, told: str) -> None:
    units = [unit("G1", 240, 121.0) | row, unit("G2", 230, 125.0)]
    (folder / "fleet.json").write_text(json.dumps({"units": units}))
    _, complained = plan(folder, status=1)
    assert told in complained


@pytest.mark.parametrize(
    ("row", "told"),
    [
        ({"hours": 100, "sharpened": 200}, "G1: hours fall from 200 to 100: was the meter replaced?"),
        ({"sizes": [{"hours": 999, "diameter": 125}]}, "G1: hours fall from 999 to"),
        ({"sizes": [{"hours": 90, "diameter": 125}, {"hours": 80, "diameter": 124.9}]}, "G1: hours fall from 90 to 80"),
        ({"sizes": [{"hours": 10, "diameter": 123}, {"hours": 80, "diameter": 125}]}, "G1: grown by 2.00 mm at 80 h"),
    ],
)
def test_what_looks_wrong_is_named_and_planned_with_as_far_as_can_be(folder: Path, row: dict, told: str) -> None:
    units = [unit("G1", 240, 121.0) | row, unit("G2", 230, 125.0)]
    (folder / "fleet.json").write_text(json.dumps({"units": units}))
    said, complained = plan(folder)
    assert told in complained
    assert "Plan by day" in said


def test_a_fleet_of_one_reading_each_is_planned_and_says_what_is_missing(folder: Path) -> None:
    units = [unit(f"G{i}", 240 + i, 125.0, sizes=[{"hours": 0, "diameter": 125}]) for i in range(3)]
    (folder / "fleet.json").write_text(json.dumps({"units": units}))
    said, _ = plan(folder)
    assert "two diameters at different hours" in " ".join(said.split())
    assert "Plan by day" in said


def test_names_nobody_has_are_told_and_nothing_is_dropped(folder: Path) -> None:
    (folder / "sheet.toml").write_text(
        SHEET + "machines = [{name = 'gone'}]\nchosen = [{job = 'G9', on = 2026-12-02}]\n"
    )
    said, _ = plan(folder)
    assert "there is no machine 'gone' with units on file" in said
    assert "there is no job 'G9' in this season" in said


@pytest.mark.parametrize(
    ("arguments", "status", "told"),
    [
        (("--seconds", "long"), 1, "no time in seconds"),
        (("--seconds", "0"), 1, "--seconds is 0"),
        (("--out", "plan.doc"), 1, "'.doc'; allowed: .json, .xlsx, .ics, .pdf"),
        (("--what-if", "nothing.toml"), 1, "there is no file"),
        (("--paper", "A9"), 2, ""),
    ],
)
def test_a_wrong_question_is_named(folder: Path, arguments: tuple, status: int, told: str) -> None:
    found, _, complained = run("season", "plan", "sheet.toml", "--fleet", "fleet.json", *arguments, folder=folder)
    assert found == status
    assert told in complained
