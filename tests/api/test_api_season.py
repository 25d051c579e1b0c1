"""The season through the API: looked at, planned in the background, kept, fetched as a calendar."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.test import Client
from icalendar import Calendar
from tests.api.conftest import Program, program
from tests.records.workshops import Bench, season_set

from sparkout.records.jobs import wait_for_all
from sparkout.records.operations.doing import today
from sparkout.records.operations.tokens import make_token


@pytest.fixture
def season(api: Program, on_bench: Bench) -> Program:
    season_set(on_bench)
    return api


def planned(api: Program, path: str = "season/plans", **body: Any) -> dict[str, Any]:
    """Ask for a plan, look until it is done, and return it."""
    job = api.told("POST", path, {"seconds": 0.3, **body}, 202)
    assert job["kind"] == "season plan"
    assert wait_for_all(30.0)
    done = api.told("GET", f"jobs/{job['id']}")
    assert done["state"] == "done", done
    found: dict[str, Any] = api.told("GET", f"season/plans/{done['told']['plan']}")
    assert found["cost"] == done["told"]["cost"]
    return found


def test_planned_kept_and_told(season: Program) -> None:
    assert season.told("GET", "season/plan") == {"kept": None, "today": None}
    forecast = season.told("GET", "season/forecast")
    assert [unit["unit"] for unit in forecast["units"]] == ["unit 3"]
    made = planned(season)
    season.told("POST", f"season/plans/{made['id']}/keep")
    told = season.told("GET", "season/plan")
    assert told["kept"]["id"] == made["id"]
    assert told["today"]["jobs"] == made["jobs"]
    assert told["today"]["cost"] == made["cost"]
    later = str(today() + datetime.timedelta(days=8))
    cost = season.told("POST", "season/move-cost", {"job": "unit 3", "on": later})
    assert cost["after"] > cost["before"]
    moved = season.told("POST", "season/moves", {"job": "unit 3", "on": later})
    assert moved["plan"]["cost"] == pytest.approx(cost["after"])
    season.told("POST", "season/releases", {"job": "unit 3"})
    away = {"who": "A", "first": later, "last": later}
    again = planned(season, "season/replan", away=away)
    assert again["jobs"][0]["on"] != later


def test_the_plan_as_files(season: Program) -> None:
    for path in ("season/print", "season/workbook"):
        assert "no plan" in season.refused("GET", path)[0]["message"]
    season.told("POST", "season/plans/draft", {}, 201)
    assert season.get("season/print?paper=Letter").content.startswith(b"%PDF")
    assert season.get("season/workbook?units=inch").content.startswith(b"PK")
    entries = Calendar.from_ical(season.get("season/calendar?language=de").content).walk("VEVENT")
    assert entries


def test_what_is_wrong_is_told_with_its_place(season: Program) -> None:
    error = season.refused("PUT", "season/sheet", {"tables": {"people": [{"name": "A", "week": [25]}]}})[0]
    assert error["where"].startswith("people")
    assert "24" in error["allowed"]
    assert season.refused("GET", "season/forecast?what_if=never")[0]["where"] == "what_if"
    assert season.refused("POST", "season/plans", {"seconds": 1e6})[0]["allowed"]
    season.told("PUT", "season/sheet", {"tables": {}})
    assert "somebody with hours" in season.refused("POST", "season/plans", {})[0]["message"]
    assert "somebody with hours" in season.told("GET", "season/forecast")["trouble"]


def test_a_calendar_program_needs_the_secret_address_and_gets_nothing_else(season: Program, on_bench: Bench) -> None:
    season.told("POST", "season/plans/draft", {}, 201)
    made = make_token(actor=on_bench.me, name="diary", scope="calendar")
    browser = Client(SERVER_NAME="localhost")
    told = browser.get(f"/calendar/{made.text}.ics")
    assert told.headers["Content-Type"].startswith("text/calendar")
    first = [str(entry["UID"]) for entry in Calendar.from_ical(told.content).walk("VEVENT")]
    assert len(first) == len(set(first)) > 0
    again = browser.get(f"/calendar/{made.text}.ics")
    assert again.content == told.content
    made.token.refresh_from_db()
    assert made.token.used_at is not None
    assert Program(made.text).refused("GET", "season/plan", None, 403)[0]["message"].endswith("for the calendar alone")
    for wrong in (made.text + "x", "nonsense", program(on_bench.me, "read").token):
        assert browser.get(f"/calendar/{wrong}.ics").status_code == 404
    assert browser.post(f"/calendar/{made.text}.ics").status_code == 405
