"""Budget, parts by month and cost by hectare, by own arithmetic; the same in words, tables and pictures."""

from __future__ import annotations

import datetime
import io
import math

import numpy as np
import pytest
from python_calamine import CalamineWorkbook
from scipy.stats import poisson

from sparkout.core.season.cost import sharpenings
from sparkout.papers.season_pictures import season_budget, season_demand
from sparkout.papers.season_tables import season_workbook
from sparkout.season.as_data import forecast_data, plan_data
from sparkout.season.budget import budget_ahead
from sparkout.season.edges import Edge
from sparkout.season.forecast import UnitNow, forecast
from sparkout.season.now import SeasonPlanned, held, season_now
from sparkout.season.sheet import sheet_of
from sparkout.season.spend import hectares_ahead, months_between
from sparkout.season.wearing import Size
from sparkout.showing import Showing
from sparkout.telling.season import interval_told, tell_due, tell_plan

TODAY = datetime.date(2026, 11, 25)
SHEET = {
    "start": "2026-11-30",
    "weeks": 12,
    "people": [{"name": "A"}],
    "grinders": [{"name": "G"}],
    "costs": {"hour": 40, "wheel": 5, "busier": "0 %", "dearer": "0 %"},
    "parts": [{"part": "greens", "on_shelf": 1, "price": 400}],
}
ONE = 40 * 2.25 + 5
"""Own arithmetic: strip 0.5, spin 0.75, knife 0.5 and set 0.5 h at 40, and a wheel's 5."""


def unit(name: str, diameter: float = 127.0, **more) -> UnitNow:
    off = (0.004, -0.006, 0.002)  # as a tape reads
    sizes = tuple(Size(h, diameter - 0.004 * h + e, 0.0) for h, e in zip((0.0, 100.0, 200.0), off, strict=True))
    return UnitNow(name, "M", "P", "greens", 300.0, 20.0, 240.0, (), sizes, 120.0, hectares_an_hour=0.5, **more)


@pytest.fixture(scope="module")
def planned() -> SeasonPlanned:
    return held(season_now(sheet_of(SHEET), [unit("U1"), unit("U2", 121.3), unit("U3", 121.4)], TODAY), ())


def test_without_doubt_the_budget_is_jobs_times_their_cost(planned: SeasonPlanned) -> None:
    now = planned.now
    jobs = len(now.needed.season.jobs)
    found = now.budget.found
    assert found is not None
    work = found.lines[0]
    assert work.cause == "sharpening"
    assert work.mean == pytest.approx(jobs * ONE)
    assert work.spread == pytest.approx(0.0, abs=1e-6)
    assert (now.budget.first, now.budget.last) == (datetime.date(2026, 11, 30), datetime.date(2027, 2, 21))


def test_reels_count_beyond_those_on_the_shelf(planned: SeasonPlanned) -> None:
    (part,) = planned.now.parts
    found = planned.now.budget.found
    assert found is not None
    assert part.mean == pytest.approx(2.0, abs=0.02)  # U2 and U3 are near their limit, U1 is not; one lies on the shelf
    beyond = sum(max(n - 1, 0) * chance for n, chance in enumerate(part.pieces))
    assert found.lines[-1].mean == pytest.approx(400.0 * beyond)


def test_the_next_are_ordered_with_so_many_left(planned: SeasonPlanned) -> None:
    """Poisson use in the lead time: of the fewest that last with a chance of 95 %, told at every door."""
    (part,) = planned.now.parts
    assert part.shelf is not None
    assert part.reorder is not None
    use = part.mean / 12 * part.shelf.lead_weeks
    assert poisson.cdf(part.reorder.point, use) >= 0.95 > poisson.cdf(part.reorder.point - 1, use)
    told = next(s for s in tell_due(planned.now, Showing()) if s.key == "orders")
    assert f"order the next when {part.reorder.point} are left" in told.lines[-1]
    assert forecast_data(planned.now)["parts"][0]["order_when_left"] == part.reorder.point


def test_how_flat_the_best_interval_is_is_told_at_every_door() -> None:
    edges = tuple(Edge(h, went=True) for h in (90.0, 100.0, 105.0, 110.0, 120.0, 95.0))
    now = season_now(sheet_of(SHEET), [unit("U1"), UnitNow("U2", edges=edges)], TODAY)
    best = now.forecast.best
    assert best is not None
    told = forecast_data(now)["best_interval"]
    assert told == {
        "hours_h": best.hours, "cost_an_hour": best.cost, "flat_from_h": best.within_low,
        "flat_to_h": best.within_high, "flat_share": best.allowed,
    }  # fmt: skip
    lines = next(s for s in tell_due(now, Showing()) if s.key == "due").lines
    flat = f"Anything from {best.within_low:.0f} h to {best.within_high:.0f} h costs at most"
    assert any(flat in line for line in lines)
    unknown = season_now(sheet_of(SHEET), [unit("U1")], TODAY)
    assert forecast_data(unknown)["best_interval"] is None
    assert interval_told(unknown.forecast) == []


def test_months_make_the_season(planned: SeasonPlanned) -> None:
    (part,) = planned.now.parts
    assert [month.first for month in part.months] == [
        datetime.date(2026, 11, 30), datetime.date(2026, 12, 1), datetime.date(2027, 1, 1), datetime.date(2027, 2, 1),
    ]  # fmt: skip
    assert math.fsum(month.mean for month in part.months) == pytest.approx(part.mean)
    assert all(month.low <= month.mean <= month.high or month.low == month.high for month in part.months)
    assert months_between(TODAY, TODAY) == []


def test_busier_and_dearer_seasons_widen_it() -> None:
    plain = season_now(sheet_of(SHEET), [unit("U1")], TODAY).budget.found
    costs = {**SHEET["costs"], "busier": "20 %", "dearer": "10 %"}  # type: ignore[dict-item]
    wide = season_now(sheet_of({**SHEET, "costs": costs}), [unit("U1")], TODAY).budget.found
    assert plain is not None
    assert wide is not None
    assert wide.mean == pytest.approx(plain.mean)
    of_work = wide.lines[0]
    assert of_work.spread / of_work.mean == pytest.approx(math.sqrt(1.04 * 1.01 - 1.0))
    assert of_work.levels[0] < of_work.mean < of_work.levels[-1]


def test_edges_that_go_cost_extra_where_their_life_is_known() -> None:
    edges = tuple(Edge(h, went=True) for h in (90.0, 100.0, 105.0, 110.0, 120.0, 95.0))
    sheet = sheet_of({**SHEET, "costs": {**SHEET["costs"], "sooner": 60}})  # type: ignore[dict-item]
    now = season_now(sheet, [unit("U1"), UnitNow("U2", edges=edges)], TODAY)
    found = now.budget.found
    assert found is not None
    life, one = now.forecast.life, now.forecast.units[0]
    assert life is not None
    rng, age = np.random.default_rng(7), 60.0 + 20.0 * 5 / 7
    scale = life.characteristic_life([1.0])
    alone = sharpenings(20.0 * 12, scale, life.shape, one.interval, rng, 200_000, age)
    times = sum(n * chance for n, chance in enumerate(alone.times))
    spoilt = sum(n * chance for n, chance in enumerate(alone.spoilt))
    by_cause = {str(line.cause): line for line in found.lines}
    assert by_cause["sharpening"].mean == pytest.approx(times * ONE, rel=0.03)
    assert by_cause["cuts spoilt before the sharpening"].mean == pytest.approx(spoilt * 60.0, rel=0.2, abs=1.0)
    assert any("U2" in text for text in now.budget.left_out), "a unit of which nothing is known is named"


def test_a_season_that_is_over_or_knows_nothing_costs_nothing() -> None:
    sheet = sheet_of(SHEET)
    nothing = budget_ahead(forecast([], sheet), sheet, (), TODAY, TODAY, TODAY)
    assert nothing.found is None
    over = season_now(sheet_of({**SHEET, "start": "2020-01-06"}), [unit("U1")], TODAY)
    assert over.budget.found is not None
    assert over.budget.found.mean == pytest.approx(0.0, abs=1e-9)
    told = next(s for s in tell_due(season_now(sheet, [], TODAY), Showing()) if s.key == "budget")
    assert told.lines[0] == "Nothing on file tells what the season will cost."


def test_cost_per_hectare_is_of_what_the_machine_mows(planned: SeasonPlanned) -> None:
    """Own arithmetic: 0.5 ha an hour, 20 h a week, 12 weeks: 120 ha."""
    assert hectares_ahead(planned.now.forecast, 84) == {"M": pytest.approx(120.0)}
    spent = planned.spent
    assert spent.per_hectare["M"] == pytest.approx(spent.by_machine["M"] / 120.0)
    metric = next(s for s in tell_plan(planned, Showing()) if s.key == "spend")
    inch = next(s for s in tell_plan(planned, Showing("inch", "us")) if s.key == "spend")
    per = {s.tables[1].head[2]: float(s.tables[1].rows[0][2]) for s in (metric, inch)}
    assert per["money per hectare"] == pytest.approx(2.471 * per["money per acre"], rel=0.01)
    unknown = held(
        season_now(sheet_of(SHEET), [UnitNow("V", "N", hours=300.0, hours_a_week=20.0, sharpened=240.0)], TODAY), ()
    )
    assert "N" in next(s for s in tell_plan(unknown, Showing()) if s.key == "spend").lines[0]


def test_words_tables_pictures_and_data_tell_the_same(planned: SeasonPlanned) -> None:
    found = planned.now.budget.found
    assert found is not None
    data = forecast_data(planned.now)
    assert data["budget"]["mean"] == found.mean
    assert data["budget"]["by_chance"]["95 %"] == found.levels[-1]
    told = next(s for s in tell_due(planned.now, Showing()) if s.key == "budget")
    assert f"{found.mean:.0f}" in told.lines[0]
    book = CalamineWorkbook.from_filelike(io.BytesIO(season_workbook(planned, Showing())))
    rows = book.get_sheet_by_name("budget").to_python()
    assert next(row for row in rows if row[0] == "together")[1] == pytest.approx(found.mean)
    months = book.get_sheet_by_name("parts by month").to_python()
    assert sum(float(row[2]) for row in months[1:]) == pytest.approx(planned.now.parts[0].mean, abs=1e-3)
    cost = {(row[0], row[1]): row[2] for row in book.get_sheet_by_name("cost").to_python()}
    assert cost["machine", "M"] == pytest.approx(plan_data(planned)["spend"]["by_machine"]["M"])
    assert f"{found.mean:.0f}" in season_budget(planned.now, Showing())
    assert "Dec 2026: greens" in season_demand(planned.now, Showing())
    nobody = season_now(sheet_of(SHEET), [], TODAY)
    assert (season_budget(nobody, Showing()), season_demand(nobody, Showing())) == ("", "")
