"""What a sanding costs by the workshop's own readings: found where they tell it, said where they cannot."""

from __future__ import annotations

import datetime
from dataclasses import replace

import numpy as np
import pytest

from sparkout.season.as_data import forecast_data
from sparkout.season.forecast import UnitNow, forecast
from sparkout.season.now import season_now
from sparkout.season.sheet import SeasonSheet
from sparkout.season.unit_file import units_of
from sparkout.season.wearing import Size
from sparkout.showing import Showing
from sparkout.telling.season import sand_told
from sparkout.visit.problems import VisitProblems

TODAY = datetime.date(2026, 11, 25)
A_SANDING, AN_HOUR = 0.03, 0.002


def fleet(rng: np.random.Generator, sanded: bool = True) -> list[UnitNow]:
    """Twelve units, each sanded at its own times: 0.03 mm a sanding, 0.002 mm an hour."""
    units = []
    for u in range(12):
        sands = np.cumsum(rng.integers(0, 3, 6)) if sanded else np.zeros(6, dtype=int)
        sizes = tuple(
            Size(100.0 * k, 127.0 - 0.1 * u - AN_HOUR * 100.0 * k - A_SANDING * int(sands[k]) + rng.normal(0, 0.003),
                 0.0, int(sands[k]))
            for k in range(6)
        )  # fmt: skip
        units.append(
            UnitNow(f"U{u}", "M", "P", "greens", 500.0, 20.0, 400.0, (), sizes, 120.0, sandings=int(sands[-1]))
        )
    return units


def test_the_cost_of_a_sanding_in_metal_and_days() -> None:
    found = forecast(fleet(np.random.default_rng(5)), SeasonSheet())
    (cost,) = found.events
    assert cost.event == "sandings"
    assert cost.is_told
    assert cost.metal.value == pytest.approx(A_SANDING, abs=3 * cost.metal.u)
    assert cost.metal.u < 0.005
    assert cost.hours is not None
    assert cost.days is not None
    assert cost.hours.value == pytest.approx(A_SANDING / AN_HOUR, abs=3 * cost.hours.u)
    assert cost.days.value == pytest.approx(cost.hours.value / 20.0 * 7.0)
    told = sand_told(found, Showing())
    assert told[0].startswith(f"one sanding costs {cost.metal.value:.3f} mm of diameter (90 %: ")
    assert "days of mowing" in told[0]
    assert told[1].startswith("one stone: none on file")


def test_sand_to_come_goes_on_as_so_far() -> None:
    """Own arithmetic: at its limit when hours and sandings together have taken what is left."""
    units = fleet(np.random.default_rng(5))
    found = forecast(units, SeasonSheet())
    first = found.units[0]
    assert first.ends is not None
    a_sanding = found.events[0].metal.value
    rate = first.ends.per_hour + a_sanding * (units[0].sandings - units[0].sizes[0].sandings) / 500.0
    assert first.ends.hours[2] == pytest.approx((first.ends.value - 120.0) / rate, rel=1e-6)
    ahead = found.ahead(first.wears[0], [0.0, 100.0])
    assert ahead is not None
    assert ahead[2, 0] - ahead[2, 1] == pytest.approx(100.0 * rate, rel=1e-6)


def test_one_count_for_all_units_at_all_hours_says_nothing() -> None:
    """Sanded once every hundred hours without fail: sand and hours cannot be told apart, and the rest still stands."""
    units = [
        replace(unit, sizes=tuple(replace(size, sandings=k) for k, size in enumerate(unit.sizes)), sandings=5)
        for unit in fleet(np.random.default_rng(5), sanded=False)
    ]
    found = forecast(units, SeasonSheet())
    assert found.events == ()
    assert "one sanding" in found.untold[-1]
    assert found.units[0].ends is not None
    data = forecast_data(season_now(SeasonSheet(), units, TODAY))
    assert data["events"] == []
    assert len(data["events_untold"]) == 2


def test_what_cannot_be_told_from_nothing_is_said_so() -> None:
    units = [
        replace(unit, sizes=tuple(replace(size, sandings=int(k > 2)) for k, size in enumerate(unit.sizes)), sandings=1)
        for unit in fleet(np.random.default_rng(5), sanded=False)[:2]
    ]
    found = forecast(units, SeasonSheet())
    assert not found.events[0].is_told
    assert "cannot tell it from nothing" in sand_told(found, Showing())[0]


def test_without_any_wear_nothing_is_told_of_sand() -> None:
    assert sand_told(forecast([], SeasonSheet()), Showing()) == []


def test_a_file_tells_counts_and_area() -> None:
    size = {"hours": 100, "diameter": 125, "sandings": 2}
    row = {"name": "A", "hours": 300, "sizes": [{"hours": 0, "diameter": 126}, size], "area_an_hour": "2 acre"}
    (unit,) = units_of({"units": [row]})
    assert unit.sandings == 2
    assert unit.hectares_an_hour == pytest.approx(0.8094, abs=1e-4)
    (later,) = units_of({"units": [{**row, "sandings": 3}]})
    assert later.sandings == 3
    for wrong in ({"sandings": 1}, {"sizes": [size, {"hours": 200, "diameter": 124, "sandings": 1}]}):
        with pytest.raises(VisitProblems, match="counts so far rise"):
            units_of({"units": [{**row, **wrong}]})
