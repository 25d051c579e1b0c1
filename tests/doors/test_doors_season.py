"""The same sheet and units through Python, the command line and the API: the same figures."""

from __future__ import annotations

import json
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from tests.api.conftest import program
from tests.cli.commands import run
from tests.records.workshops import SEASON, bench, parts_read, season_set
from tests.web.conftest import sat_down

from sparkout.records.jobs import do_now
from sparkout.records.models import Person, Unit
from sparkout.records.operations.doing import today
from sparkout.records.operations.season import make_plan
from sparkout.records.season import plan_of_job, season_on_file
from sparkout.records.units_now import units_now
from sparkout.season.as_data import choice_data, forecast_data, plan_data
from sparkout.season.now import planned, season_now
from sparkout.season.reel_choice import reel_choice
from sparkout.season.sheet import sheet_of
from sparkout.season.wearing import Wearing
from sparkout.showing import Showing
from sparkout.telling.season_reels import way_rows


def test_one_season_three_doors(records: Path, tmp_path: Path) -> None:
    on = bench()
    season_set(on)
    parts_read(on, [("1.2 mm", "1.2 mm"), ("1.31 mm", "1.3 mm")], ("knife grind",))
    (unit,) = units_now(seconds=60.0).units
    sheet = tmp_path / "sheet.json"
    sheet.write_text(json.dumps(SEASON))
    row = {"name": unit.name, "machine": unit.machine, "place": unit.place, "duty": unit.duty,
           "hours": unit.hours, "sharpened": unit.sharpened, "limit": unit.limit,
           "parts": [part_row(part) for part in unit.parts]}  # fmt: skip
    fleet = tmp_path / "fleet.json"
    fleet.write_text(json.dumps({"units": [row]}))

    now = season_now(sheet_of(SEASON), (unit,), today())
    plan = planned(now, 1.0)
    assert plan.plan.gap == 0.0, "this small season is solved to its proven end, so that every door has one answer"
    python = {"forecast": as_read(forecast_data(now)), "plan": as_read(plan_data(plan))}
    told = {one["part"]: one["ends_on"] != {} for one in python["forecast"]["units"][0]["wears"]}
    assert told == {"reel": False, "land": True, "knife lip": True, "front roller": True, "rear roller": True}

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


def test_one_choice_of_grinding_or_replacing_at_three_doors(demonstration: Path) -> None:
    """The demonstration's units: what Python reckons is what the API tells and the page shows."""
    units, now = season_on_file(seconds=60.0)
    me = Person.objects.order_by("pk")[0]
    api, visitor = program(me), sat_down(me)
    for one in now.forecast.units[:2]:
        number = units.numbers[one.unit.name]
        choice = reel_choice(now.forecast, one, now.sheet)
        told = api.told("GET", f"season/units/{number}/reel")
        assert told == as_read({"unit": one.unit.name, "reel_choice": choice_data(choice)})
        page = unescape(visitor.get(f"/season/units/{number}/reel/").content.decode())
        assert all(cell in page for row in way_rows(choice, Showing()) for cell in row[1:])
    put_away = Unit.objects.create(name="put away", active=False)
    api.refused("GET", f"season/units/{put_away.pk}/reel")


def part_row(part: Wearing) -> dict[str, Any]:
    sizes = [
        {"hours": size.hours, "value": size.value, "removed": size.removed, "sandings": size.sandings}
        for size in part.sizes
    ]
    return {"quantity": part.quantity, "which": part.which, "type": part.duty, "hours": part.hours,
            "limit": part.limit, "sizes": sizes}  # fmt: skip
