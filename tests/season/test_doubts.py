"""What looks wrong with units: named, and an answer as far as one exists."""

from __future__ import annotations

import datetime
import math

import pytest

from sparkout.core.errors import NotEnough
from sparkout.season.doubts import looked_over
from sparkout.season.forecast import UnitNow, forecast
from sparkout.season.now import planned, season_now
from sparkout.season.sheet import SeasonSheet, sheet_of
from sparkout.season.wearing import Size
from sparkout.season.work import work_of

TODAY = datetime.date(2026, 11, 26)
OFF = (0.004, -0.006, 0.002, -0.001, 0.005, -0.004)


def unit(name: str, *levels: float, hours: float = 600.0, sharpened: float = 500.0, step: float = 100.0) -> UnitNow:
    sizes = tuple(Size(step * k, level + OFF[k % 6], 0.0) for k, level in enumerate(levels))
    return UnitNow(name, "M", "P", "greens", hours, 20.0, sharpened, (), sizes, 120.0)


def even(name: str) -> UnitNow:
    return unit(name, *(126.0 - 0.2 * k for k in range(6)))


def test_nothing_is_doubted_of_what_is_even() -> None:
    units = [even("A"), even("B")]
    found, doubts = looked_over(units)
    assert list(found) == units
    assert doubts == []
    assert looked_over([]) == ((), [])


def test_two_units_swapped_are_named_and_what_was_before_is_set_aside() -> None:
    one = unit("A", 126.0, 125.8, 125.6, 123.0, 122.8, 122.6)
    other = unit("B", 123.6, 123.4, 123.2, 125.4, 125.2, 125.0)
    found, doubts = looked_over([even("C"), one, other])
    assert {name for name, _ in doubts} == {"A", "B"}
    assert all("were the two swapped?" in text for _, text in doubts)
    assert "that of A before" in dict(doubts)["B"]
    assert [len(each.sizes) for each in found] == [6, 3, 3]
    ends = {each.unit.name: each.ends for each in forecast(found, SeasonSheet()).units}
    for name, now in (("A", 122.4), ("B", 124.8)):
        told = ends[name]
        assert told is not None
        assert told.value == pytest.approx(now, abs=0.1)
        assert told.per_hour == pytest.approx(0.002, abs=0.0005)


def test_a_reel_that_grew_is_another_or_a_slip() -> None:
    grown = [unit("A", 126.0, 125.8, 127.5, 127.3), unit("B", 126.0, 125.8, 126.1, 125.9)]
    found, doubts = looked_over([*map(even, "CDEF"), *grown])
    told = {name: str(text) for name, text in doubts}
    assert told["A"].startswith("grown by 1.71 mm at 200 h: another reel, or a slip?")
    assert told["B"].startswith("grown by 0.31 mm at 200 h: a slip? Kept as it stands")
    assert [len(each.sizes) for each in found][4:] == [2, 4]


def test_metal_gone_without_a_grind_is_asked_about() -> None:
    levels = [126.0 - 0.2 * k - (0.5 if k > 2 else 0.0) for k in range(6)]
    _, doubts = looked_over([even("C"), even("D"), even("E"), unit("A", *levels)])
    assert [name for name, _ in doubts] == ["A"]
    assert "was it ground?" in doubts[0][1]


def test_a_meter_replaced_between_readings_or_since_the_last_is_carried_on() -> None:
    sizes = (Size(0.0, 126.0, 0.0), Size(200.0, 125.6, 0.0), Size(50.0, 125.5, 0.0))
    between = UnitNow("A", hours=80.0, hours_a_week=20.0, sharpened=50.0, sizes=sizes)
    since = UnitNow("B", hours=12.0, hours_a_week=20.0, sharpened=150.0, sizes=sizes[:2])
    unread = UnitNow("C", hours=10.0, hours_a_week=20.0, sharpened=70.0)
    unknown = UnitNow("D", sizes=sizes)
    (one, two, three, four), doubts = looked_over([between, since, unread, unknown])
    assert [size.hours for size in one.sizes] == [0.0, 200.0, 250.0]
    assert (one.hours, one.sharpened) == (280.0, 250.0)
    assert (two.hours, two.sharpened) == (212.0, 150.0)
    assert (three.hours, three.sharpened) == (80.0, 70.0)
    assert four.hours is None
    assert [name for name, _ in doubts] == ["A", "B", "C", "D"]
    assert all("was the meter replaced?" in text for _, text in doubts)


@pytest.mark.parametrize(
    ("sheet", "wanted"),
    [
        ({}, "somebody with hours on the season sheet"),
        ({"people": [{"name": "A", "week": [0] * 7}]}, "somebody with hours in the season"),
        ({"people": [{"name": "A"}], "start": "2020-01-06"}, "it ran until 30 Mar 2020"),
    ],
)
def test_a_season_without_capacity_still_tells_what_is_due(sheet: dict, wanted: str) -> None:
    now = season_now(sheet_of(sheet), [even("A")], TODAY)
    assert wanted in now.trouble
    assert now.due_on(now.forecast.units[0]) is not None
    with pytest.raises(NotEnough):
        planned(now, 0.1)


def test_what_is_overdue_beyond_all_measure_is_still_planned() -> None:
    sheet = sheet_of({"people": [{"name": "A"}], "grinders": [{"name": "G"}], "weeks": 4})
    work = work_of(forecast([UnitNow("A", hours=9e5, hours_a_week=20.0, sharpened=0.0)], sheet), sheet, TODAY)
    assert work.season.jobs[0].due == -2000
    assert math.isfinite(planned(season_now(sheet, [even("A")], TODAY), 0.2).plan.cost)
