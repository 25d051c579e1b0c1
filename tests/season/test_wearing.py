"""What wears beside the reel's diameter: land, knife lip and rollers, to each limit."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest

from sparkout.core.season.wear import CHANCES
from sparkout.season.as_data import forecast_data
from sparkout.season.doubts import looked_over
from sparkout.season.forecast import UnitNow, forecast
from sparkout.season.now import season_now
from sparkout.season.sheet import SeasonSheet, sheet_of
from sparkout.season.unit_file import units_of
from sparkout.season.wearing import Quantity, Size, Wearing, fleet_wears
from sparkout.season.work import work_of
from sparkout.showing import Showing
from sparkout.telling.season_wear import first_at_limit, tell_wear
from sparkout.visit.problems import VisitProblems

TODAY = datetime.date(2026, 11, 26)
OFF = (0.004, -0.006, 0.002, -0.001, 0.005, -0.004, 0.001, -0.003)
"""By how much readings lie beside the truth, mm, in turn."""
RATES = (0.002, 0.003, 0.0025, 0.0015)
"""mm an hour, of four units."""


def lands(often: float = 100.0) -> list[Wearing]:
    """Lands of four units: widening from 1 mm, brought back to 1 mm at each relief grind, read before and after it."""
    made = []
    for rate in RATES:
        sizes, removed = [], 0.0
        for k in range(4):
            wide = 1.0 + rate * often * (k > 0) + OFF[k]
            sizes.append(Size(k * often, wide, removed))
            removed += wide - 1.0
            sizes.append(Size(k * often, 1.0, removed))
        made.append(Wearing("land", "greens", 3 * often + 50.0, tuple(sizes), 1.6))
    return made


def falling(quantity: Quantity, start: float, limit: float, step: float = 0.0, which: str = "") -> list[Wearing]:
    """Four lips or rollers that fall along their rates, ground by `step` at each reading."""
    return [
        Wearing(
            quantity,
            "greens",
            550.0,
            tuple(
                Size(h, start - rate * h - step * h / 100.0 + OFF[(int(h) // 100 + i) % 8], step * h / 100.0)
                for h in (0.0, 100.0, 200.0, 300.0, 400.0, 500.0)
            ),
            limit,
            which,
        )
        for i, rate in enumerate(RATES)
    ]


def test_a_land_is_told_to_its_next_relief_grind() -> None:
    """1 mm when last relieved, 50 h ago: it is 1.6 mm wide (1.6 - 1)/rate hours after that grind."""
    found = fleet_wears(lands())
    for rate, ends in zip(RATES, found.ends, strict=True):
        assert ends is not None
        assert ends.value == pytest.approx(1.0 + rate * 50.0, abs=0.01)
        assert ends.per_hour == pytest.approx(rate, abs=5e-5)
        assert ends.hours[2] == pytest.approx(0.6 / rate - 50.0, rel=0.04)
        assert list(ends.hours) == sorted(ends.hours)


def test_spin_grinds_on_file_widen_a_land_in_times_to_come() -> None:
    """Each spin grind, one in 100 h, puts 0.05 mm on: 0.6 mm go in 0.6 / (rate + 0.0005) hours."""
    made = []
    for rate in RATES:
        sizes = [Size(0.0, 1.0, 0.0)]
        for k in (1, 2, 3):
            wide = 1.0 + rate * 100.0 * k + 0.05 * (k - 1) + OFF[k]
            sizes += [Size(100.0 * k, wide, -0.05 * (k - 1)), Size(100.0 * k, wide + 0.05, -0.05 * k)]
        made.append(Wearing("land", "greens", 300.0, tuple(sizes), 3.0))
    for rate, ends in zip(RATES, fleet_wears(made).ends, strict=True):
        assert ends is not None
        left = 3.0 - (1.0 + rate * 300.0 + 0.15)
        assert ends.hours[2] == pytest.approx(left / (rate + 0.0005), rel=0.04)


@pytest.mark.parametrize(("quantity", "start", "limit", "step"), [("lip", 6.0, 2.5, 0.2), ("roller", 60.0, 57.0, 0.0)])
def test_a_lip_and_a_roller_fall_to_their_limits(quantity: Quantity, start: float, limit: float, step: float) -> None:
    found = fleet_wears(falling(quantity, start, limit, step))
    for rate, ends in zip(RATES, found.ends, strict=True):
        assert ends is not None
        now = start - rate * 550.0 - 5 * step
        assert ends.value == pytest.approx(now, abs=0.01)
        assert ends.hours[2] == pytest.approx((now - limit) / (rate + step / 100.0), rel=0.04)


@pytest.mark.parametrize("things", [lands(), falling("lip", 6.0, 2.5, 0.2)], ids=["widens", "falls"])
def test_the_fan_crosses_the_limit_when_it_says(things: list[Wearing]) -> None:
    """By the hours with chance p the size is at the limit with chance p: the fan and the hours are one forecast."""
    rng = np.random.default_rng(7)
    rough = [
        replace(thing, sizes=tuple(replace(size, value=size.value + rng.normal(0, 0.03)) for size in thing.sizes))
        for thing in things
    ]
    found = fleet_wears(rough)
    ends = found.ends[1]
    assert ends is not None
    ahead = found.ahead(1, ends.hours)
    assert ahead is not None
    assert (np.diff(ahead, axis=0) >= 0).all()
    of_chance = ahead[::-1] if things[0].quantity == "land" else ahead
    assert [of_chance[i, i] for i in range(len(CHANCES))] == pytest.approx([rough[1].limit] * 5, abs=1e-6)


def test_what_is_wanted_is_named_and_the_rest_told() -> None:
    some = lands()
    some[0] = replace(some[0], limit=None)
    some[1] = replace(some[1], sizes=some[1].sizes[:1])
    found = fleet_wears(some)
    assert [ends is None for ends in found.ends] == [True, True, False, False]
    assert "widest allowed" in found.why
    assert found.ahead(0, [0.0]) is None
    assert fleet_wears([]).ends == ()
    once = fleet_wears([replace(some[0], limit=1.6, hours=None)])
    assert (once.wear, once.ends) == (None, (None,))


def units() -> list[UnitNow]:
    front, rear = falling("roller", 60.0, 57.0, which="front"), falling("roller", 50.0, 47.0, which="rear")
    lips = falling("lip", 6.0, 2.5, 0.2)
    return [
        UnitNow(f"U{i}", "M", "P", "greens", 350.0, 20.0, 300.0, parts=parts)
        for i, parts in enumerate(zip(lands(), lips, front, rear, strict=True))
    ]


def test_all_that_wears_is_told_with_hours_and_dates() -> None:
    now = season_now(SeasonSheet(), units(), TODAY)
    data = forecast_data(now)
    told = data["units"][0]["wears"]
    assert [(one["part"], one["ends_on"] != {}) for one in told] == [
        ("reel", False),
        ("land", True),
        ("knife lip", True),
        ("front roller", True),
        ("rear roller", True),
    ]
    assert told[0]["missing"]
    land = told[1]
    hours = land["ends_in_h"]["50 %"]
    assert land["ends_on"]["50 %"] == str(TODAY + datetime.timedelta(days=hours / 20.0 * 7.0))
    assert list(land["ends_in_h"]) == ["5 %", "25 %", "50 %", "75 %", "95 %"]
    section = tell_wear(now, Showing("inch", "us"))
    assert len(section.tables[0].rows) == 16
    assert section.tables[0].rows[0][2].endswith(("in", "thou"))
    soonest = [each.wearing.words for each in first_at_limit(now.forecast.units[0])]
    assert soonest[0] == "land"
    nothing = tell_wear(season_now(SeasonSheet(), [UnitNow("A")], TODAY), Showing())
    assert nothing.lines == ("nothing was read yet",)
    untold = units()
    untold[0] = replace(untold[0], parts=(replace(untold[0].parts[0], limit=None),))
    lines = tell_wear(season_now(SeasonSheet(), untold, TODAY), Showing()).lines
    assert any(line.startswith("U0, land: wanted for more: two lands") for line in lines)


def test_a_land_too_wide_by_then_puts_a_relief_grind_into_the_plan() -> None:
    """Due in 170 h; the quick one's land, 0.003 mm an hour, is at its limit in 150 h, those of the others later."""
    sheet = sheet_of({"weeks": 12, "interval": "200 h", "people": [{"name": "A"}], "grinders": [{"name": "G"}]})
    found = forecast([replace(unit, sharpened=320.0) for unit in units()], sheet)
    assert [one.wants_relief for one in found.units] == [False, True, False, False]
    jobs = work_of(found, sheet, TODAY).season.jobs
    relieved = {job.unit for job in jobs if any(phase.skill == "relief" for phase in job.phases)}
    assert relieved == {"U1"}
    again = forecast([replace(unit, relief=True) for unit in units()], sheet)
    assert all(one.wants_relief for one in again.units)


def test_doubts_name_the_part() -> None:
    some = units()
    jump = tuple(replace(size, value=size.value + 0.9 * (size.hours > 150.0)) for size in some[0].parts[1].sizes)
    narrow = tuple(replace(size, value=size.value - 0.7 * (size.hours > 250.0)) for size in some[1].parts[0].sizes)
    smaller = tuple(replace(size, value=size.value - 0.9 * (size.hours > 150.0)) for size in some[2].parts[2].sizes)
    some[0] = replace(some[0], parts=(some[0].parts[0], replace(some[0].parts[1], sizes=jump), *some[0].parts[2:]))
    some[1] = replace(some[1], parts=(replace(some[1].parts[0], sizes=narrow), *some[1].parts[1:]))
    some[2] = replace(some[2], parts=(*some[2].parts[:2], replace(some[2].parts[2], sizes=smaller), some[2].parts[3]))
    found, doubts = looked_over(some)
    told = {name: str(text) for name, text in doubts}
    assert told["U0"].startswith("knife lip: grown by 0.")
    assert "another knife" in told["U0"]
    assert told["U1"].startswith("land: narrower by 0.")
    assert told["U2"].startswith("front roller: ")
    assert "another roller" in told["U2"]
    assert [size.hours for size in found[0].parts[1].sizes] == [200.0, 300.0, 400.0, 500.0]
    assert "U3" not in told


def test_a_meter_that_fell_is_carried_on_for_all_parts_and_asked_about_once() -> None:
    one = units()[3]
    fallen = tuple(
        replace(
            part, hours=250.0, sizes=tuple(replace(s, hours=s.hours - 300.0 * (s.hours > 300.0)) for s in part.sizes)
        )
        for part in one.parts[1:]
    )
    (carried,), doubts = looked_over([replace(one, parts=fallen)])
    for part in carried.parts:
        assert part.hours == 550.0
        assert [size.hours for size in part.sizes] == [0.0, 100.0, 200.0, 300.0, 400.0, 500.0]
    assert [str(text).partition("?")[0] for _, text in doubts] == ["hours fall from 300 to 100: was the meter replaced"]
    again = tuple(replace(part, hours=20.0) for part in one.parts[1:])
    (carried,), doubts = looked_over([replace(one, parts=again)])
    assert {part.hours for part in carried.parts} == {520.0}
    assert len(doubts) == 1


UNIT = {
    "name": "A",
    "hours": "350 h",
    "hours_a_week": "20 h",
    "sharpened": "300 h",
    "parts": [
        {
            "quantity": "lip",
            "type": "greens knife",
            "limit": "2.5 mm",
            "sizes": [
                {"hours": "0 h", "value": "5 mm"},
                {"hours": "100 h", "value": "0.19 in", "removed": "0.05 mm", "sandings": 1},
            ],
        },
        {"quantity": "roller", "which": "rear", "hours": "900 h", "sandings": 4},
    ],
}


def test_a_file_tells_parts() -> None:
    (one,) = units_of({"units": [UNIT]})
    lip, roller = one.parts
    assert (lip.quantity, lip.duty, lip.hours, lip.limit, lip.sandings) == ("lip", "greens knife", 350.0, 2.5, 1)
    assert lip.sizes[1] == Size(100.0, pytest.approx(0.19 * 25.4), 0.05, 1, 0)
    assert (roller.which, roller.hours, roller.sandings) == ("rear", 900.0, 4)


@pytest.mark.parametrize(
    ("part", "told"),
    [
        ({"quantity": "lip", "which": "front"}, "a roller is front or rear"),
        ({"quantity": "roller"}, "a roller is front or rear"),
        ({"quantity": "blade"}, "blade"),
        ({"quantity": "lip", "sizes": [{"hours": "1 h", "value": "-1 mm"}]}, "0 to 600"),
        ({"quantity": "lip", "sandings": 0, "sizes": [{"hours": 1, "value": 4, "sandings": 3}]}, "counts so far rise"),
        ({"quantity": "land"}, "stands here twice"),
    ],
)
def test_bad_parts_are_named(part: dict[str, object], told: str) -> None:
    with pytest.raises(VisitProblems, match=told):
        units_of({"units": [{"name": "A", "parts": [{"quantity": "land"}, part]}]})
