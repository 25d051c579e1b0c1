"""The same sheet and units through Python, the command line and the API: the same figures."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from tests.api.conftest import program
from tests.cli.commands import run
from tests.records.workshops import SEASON, bench, season_set

from sparkout.records.jobs import do_now
from sparkout.records.operations.doing import today
from sparkout.records.operations.season import make_plan
from sparkout.records.season import plan_of_job, units_now
from sparkout.season.as_data import forecast_data, plan_data
from sparkout.season.now import planned, season_now
from sparkout.season.sheet import sheet_of


def test_one_season_three_doors(records: Path, tmp_path: Path) -> None:
    on = bench()
    season_set(on)
    (unit,) = units_now(seconds=0.0).units
    sheet = tmp_path / "sheet.json"
    sheet.write_text(json.dumps(SEASON))
    row = {"name": unit.name, "machine": unit.machine, "place": unit.place, "duty": unit.duty,
           "hours": unit.hours, "sharpened": unit.sharpened}  # fmt: skip
    fleet = tmp_path / "fleet.json"
    fleet.write_text(json.dumps({"units": [row]}))

    now = season_now(sheet_of(SEASON), (unit,), today())
    plan = planned(now, 1.0)
    assert plan.plan.gap == 0.0, "this small season is solved to its proven end, so that every door has one answer"
    python = {"forecast": as_read(forecast_data(now)), "plan": as_read(plan_data(plan))}

    day = {"SPARKOUT_TODAY": str(today())}
    status, said, complained = run("season", "plan", sheet, "--fleet", fleet, "--seconds", 1, "--json", env=day)
    assert status == 0, complained
    shell = json.loads(said)
    assert shell["forecast"] == python["forecast"]
    assert without_time(shell["plan"]) == without_time(python["plan"])

    api = program(on.me)
    told = api.told("GET", "season/forecast")
    assert {name: told[name] for name in python["forecast"]} == python["forecast"]
    made = plan_of_job(do_now(make_plan(actor=on.me, seconds=1.0)))
    assert made is not None
    api.told("POST", f"season/plans/{made.pk}/keep")
    today_told = api.told("GET", "season/plan")["today"]
    assert without_time(today_told) == without_time(python["plan"])


def as_read(data: Any) -> Any:
    return json.loads(json.dumps(data))


def without_time(plan: dict[str, Any]) -> dict[str, Any]:
    """All of a plan but how long it took."""
    assert plan["gap"] == pytest.approx(0.0, abs=1e-9)
    return {name: value for name, value in plan.items() if name != "seconds"}
