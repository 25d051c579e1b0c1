"""Grind or replace from what is on file: what goes into the sum, what is assumed, what is wanted, how it is told."""

import datetime
import io
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pypdf
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.grinding.grinder import Grinder
from sparkout.core.measured import Measured
from sparkout.core.reel.geometry import Reel
from sparkout.core.season.policies import grind_or_replace, ways_apart
from sparkout.core.season.reel_lives import Costs, Edge, GrinderHours, Luck, ReliefGrinder, Upkeep, grinder_hours
from sparkout.papers.season_print import print_data, season_print
from sparkout.papers.season_tables import tables
from sparkout.season.as_data import choice_data, forecast_data
from sparkout.season.edges import Edge as Cut
from sparkout.season.forecast import UnitNow
from sparkout.season.now import SeasonNow, SeasonPlanned, planned, season_now
from sparkout.season.reel_choice import (
    LIVES,
    RELIEVED,
    SEED,
    SPIN_ONLY,
    ReelChoice,
    choice_or_why,
    reel_choice,
    to_choose,
)
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sheet import sheet_of
from sparkout.season.unit_file import units_of
from sparkout.showing import Showing
from sparkout.telling.season import tell_due
from sparkout.telling.season_reels import TITLE, relief_told, tell_choices, way_rows, why_told

TODAY = datetime.date(2026, 11, 25)
SHEET = {"interval": "80 h", "life_per_land": "60 %", "parts": [{"part": "greens", "price": 400}],
         "costs": {"hour": 32, "wheel": 4, "sooner": 50}}  # fmt: skip
SPEC = {"blades": 11, "diameter": "127 mm", "length": "533 mm", "land": "1 mm", "relief_angle": "45 deg",
        "relief_datum": "tangent", "blade_thickness": "6 mm"}  # fmt: skip
GRINDER = {"traverse_speed": "50 mm/s", "wheel_width": "25 mm", "rough_infeed": "0.03 mm", "finish_infeed": "0.01 mm",
           "spark_out_passes": 2, "relief_infeed": "0.05 mm"}  # fmt: skip


def unit(name: str = "U1", start: float = 124.0, **more: object) -> dict:
    """A reel that wears about 0.001 mm an hour and is ground by 0.2 mm on diameter every 100 h."""
    sizes = []
    for k in range(5):
        before = start - 0.1 * k - 0.2 * k + 0.01 * math.sin(7.0 * (start + k))
        sizes.append({"hours": 100 * k, "diameter": before, "removed": 0.2 * k})
        sizes.append({"hours": 100 * k, "diameter": before - 0.2, "removed": 0.2 * (k + 1)})
    made = {"name": name, "duty": "greens", "hours": 400, "sharpened": 400, "hours_a_week": 20, "limit": "120 mm",
            "sizes": sizes, "reel": SPEC, "grinder": GRINDER, "land": "1.3 mm", "land_limit": "2 mm"}  # fmt: skip
    return {name: value for name, value in (made | more).items() if value is not None}


def season(*units: dict, **sheet: object) -> SeasonNow:
    return season_now(sheet_of(SHEET | sheet), units_of({"units": list(units)}), TODAY)


def test_what_goes_in_is_what_is_on_file_and_the_core_answers() -> None:
    now = season(unit())
    one = now.forecast.units[0]
    assert one.ends is not None
    given = to_choose(now.forecast, one, now.sheet)
    reel = Reel(11, 127.0, 533.0, land=1.0, relief_angle=math.radians(45), blade_thickness=6.0)
    assert given.upkeep.reel == reel
    assert given.upkeep.service_diameter == 120.0
    assert (given.diameter, given.land) == (pytest.approx(one.ends.value), 1.3)
    assert given.upkeep.edge.wear == pytest.approx(0.0005, rel=0.1), "off the radius, the forecast's is of diameter"
    for way, relieve_at in zip(given.ways, (2.0, 0.0), strict=True):
        assert (way.interval, way.relieve_at) == (80.0, relieve_at)
        assert way.stock.value == pytest.approx(0.1), "off the radius, on file on diameter"
        assert way.stock.u == pytest.approx(0.0, abs=1e-9)
    assert (given.upkeep.spin.traverse_speed, given.upkeep.spin.spark_out_passes) == (50.0, 2)
    assert given.upkeep.relief == ReliefGrinder(0.05, 50.0, 25.0, 0, 20.0)

    edge = Edge(1e5, 20.0, 1.0, max(one.ends.per_hour, 0.0) / 2)
    hours = GrinderHours(reel, given.upkeep.spin, given.upkeep.relief)
    spin, relief = hours.spin(np.array([0.1]))[0], hours.relief(np.array([1.1]))[0]
    costs = Costs(400 + 1.5 * 32, 32.0, 1.5 + 0.75 - spin, 4.0, 4.0, 1.0 - relief, 50.0)
    keep = Upkeep(reel, 120.0, edge, costs, given.upkeep.spin, given.upkeep.relief)
    by_hand = [
        grind_or_replace(keep, way, given.diameter, 1.3, way.stock.value, np.random.default_rng(SEED), LIVES)
        for way in given.ways
    ]
    found = reel_choice(now.forecast, one, now.sheet)
    for mine, core in zip(found.found, by_hand, strict=True):
        assert (mine.grind, mine.sharpenings, mine.why) == (core.grind, core.sharpenings, core.why)
        assert (mine.kept_cost, mine.new_cost) == pytest.approx((core.kept_cost, core.new_cost))
        assert mine.saved.value == pytest.approx(core.saved.value)
    apart = ways_apart(by_hand[0].new, by_hand[1].new).difference
    assert found.apart.difference.value == pytest.approx(apart.value)
    assert reel_choice(now.forecast, one, now.sheet).apart.difference == found.apart.difference, "the same again"


class _Counted(Luck):
    """Luck that counts how often it had to be drawn."""

    draws = 0

    def _at(self, k: int) -> tuple[np.ndarray, np.ndarray]:
        self.draws += len(self._drawn) <= k
        return super()._at(k)


def test_units_share_luck_and_hours_at_the_grinder_and_are_told_the_same_as_alone(monkeypatch: Any) -> None:
    made = _Counted(np.random.default_rng(SEED), LIVES)
    monkeypatch.setattr("sparkout.season.now.luck", lambda: made)
    cuts = [{"hours": hours, "went": True} for hours in (60, 70, 80, 90, 100, 110)]
    now = season(*(unit(f"U{k}", 121.5 + 0.05 * k, edges=cuts) for k in range(8)))
    shared = now.reel_choices
    assert len(shared) == 8
    longest = 0
    for one in now.forecast.units:
        alone = reel_choice(now.forecast, one, now.sheet)
        mine = shared[one.unit.name]
        assert isinstance(mine, ReelChoice)
        for a, b in zip(alone.found, mine.found, strict=True):
            assert (a.kept, a.new.cost_an_hour, a.saved, a.sharpenings) == (
                b.kept, b.new.cost_an_hour, b.saved, b.sharpenings)  # fmt: skip
            longest = max(longest, a.new.drawn + 2 * a.sharpenings + 40)
    assert 0 < made.draws <= longest, "as often as the longest life asks, not for each unit anew"
    upkeep = shared["U0"].to_choose.upkeep  # type: ignore[union-attr]
    hours = grinder_hours(upkeep.reel, upkeep.spin, upkeep.relief)
    assert grinder_hours(replace(upkeep.reel), replace(upkeep.spin), upkeep.relief) is hours


def test_everything_assumed_is_told() -> None:
    full = season(unit())
    assert [str(text) for text in to_choose(full.forecast, full.forecast.units[0], full.sheet).assumed] == [
        "20 s to index from blade to blade (common practice, no source)",
        "no edge goes before its interval, because too few on file went",
    ]
    bare = season(
        unit(reel={"blades": 11, "diameter": 127, "length": 533}, grinder=None, land=None, land_limit=None),
        life_per_land=None,
    )
    given = to_choose(bare.forecast, bare.forecast.units[0], bare.sheet)
    assert (given.land, given.ways[0].relieve_at) == (1.0, math.inf)
    text = "; ".join(given.assumed)
    for words in ("land of a freshly relieved blade 1 mm", "relief angle 45 degrees", "blade thickness 5 mm",
                  "traverse speed 40 mm/s", "relief infeed 0.02 mm", "land now as of a freshly relieved", "no limit on",
                  "costs an edge none of its life"):  # fmt: skip
        assert words in text
    assert isinstance(given.upkeep.spin, Grinder)


def test_edges_that_went_tell_how_long_one_lasts() -> None:
    cuts = [{"hours": hours, "went": True} for hours in (60, 70, 80, 90, 100, 110)]
    now = season(unit(edges=cuts))
    assert now.forecast.life is not None
    edge = to_choose(now.forecast, now.forecast.units[0], now.sheet).upkeep.edge
    assert edge.characteristic_life == pytest.approx(now.forecast.life.characteristic_life([1.0]))
    assert (edge.shape, edge.life_per_land) == (now.forecast.life.shape, 0.6)
    assert Cut(60.0, True) in now.forecast.units[0].unit.edges


def test_what_a_spin_takes_off_comes_from_its_like_where_its_own_grinds_are_few() -> None:
    few = unit("U2", 125.0)
    few["sizes"] = [{"hours": 0, "diameter": 125}, {"hours": 400, "diameter": 124.6}]
    now = season(unit(), few)
    given = to_choose(now.forecast, now.forecast.units[1], now.sheet)
    assert given.ways[0].stock.value == pytest.approx(0.1)
    assert "what a spin takes off: as with all reels of its type" in given.assumed
    other = season(unit(), few | {"duty": "fairway"}, parts=[{"part": "fairway", "price": 500}])
    given = to_choose(other.forecast, other.forecast.units[1], other.sheet)
    assert "what a spin takes off: as with all reels on file" in given.assumed
    one = [{"hours": 0, "diameter": 125}, {"hours": 0, "diameter": 124.8, "removed": 0.2},
           {"hours": 400, "diameter": 124.4, "removed": 0.2}]  # fmt: skip
    alone = season(few | {"sizes": one})
    stock = to_choose(alone.forecast, alone.forecast.units[0], alone.sheet).ways[0].stock
    assert (stock.value, stock.u) == (pytest.approx(0.1), 0.0)


def test_everything_wanted_is_named_at_once() -> None:
    few = unit(reel=None, land=None, land_limit=None, grinder=None)
    few["sizes"] = [{"hours": 0, "diameter": 125}, {"hours": 400, "diameter": 124.6}]
    now = season(few, parts=[])
    with pytest.raises(NotEnough) as caught:
        reel_choice(now.forecast, now.forecast.units[0], now.sheet)
    for words in ("blades, diameter when new, length", "price of 'greens'", "what a spin takes off"):
        assert words in caught.value.wanted
    once = unit() | {"sizes": [{"hours": 0, "diameter": 125}]}
    now = season(once)
    why = choice_or_why(now.forecast, now.forecast.units[0], now.sheet)
    assert isinstance(why, NotEnough)
    assert "two diameters at different hours" in why.wanted
    assert choice_data(why) == {"untold": why.words}
    bad = season(unit(limit="126.9 mm"))
    assert "no room for one spin" in str(choice_or_why(bad.forecast, bad.forecast.units[0], bad.sheet))
    worse = season(unit(limit="130 mm"))
    assert isinstance(choice_or_why(worse.forecast, worse.forecast.units[0], worse.sheet), OutOfRange)


def test_a_reel_near_its_end_is_told_and_one_far_from_it_is_not() -> None:
    now = season(unit("far", 126.9), unit("near", 121.9), unit("past", 121.5))
    assert set(now.reel_choices) == {"near", "past"}
    short = season(unit("far", 126.9), unit("soon", 122.2), unit("near", 121.9), unit("past", 121.5), weeks=1)
    assert set(short.reel_choices) == {"soon", "near", "past"}, "less than 1 mm above the limit is near it"
    sections = {section.key: section for section in tell_due(now, Showing())}
    told = sections["reels"]
    assert [row[0] for row in told.tables[0].rows] == ["near", "near", "past", "past"]
    assert [row[1] for row in told.tables[0].rows[:2]] == [SPIN_ONLY, RELIEVED]
    assert any("Assumed: " in line for line in told.lines)
    data = {one["unit"]: one["reel_choice"] for one in forecast_data(now)["units"]}
    assert data["far"] is None
    near = now.reel_choices["near"]
    assert not isinstance(near, Exception)
    assert data["near"] == choice_data(near)
    assert data["near"]["ways"][0]["saved"]["value"] == near.found[0].saved.value
    assert data["past"]["ways"][0]["kept_cost_an_hour"] is None
    assert "reels" not in {section.key for section in tell_due(season(unit("far", 126.9)), Showing())}
    wanted = season(unit("near", 121.9, reel=None))
    (section,) = [one for one in tell_due(wanted, Showing()) if one.key == "reels"]
    assert (section.tables, len(section.lines)) == ((), 1)


def test_told_in_words() -> None:
    now = season(unit("near", 122.5))
    found = reel_choice(now.forecast, now.forecast.units[0], now.sheet)
    assert why_told(found.cheaper).startswith("Grind it: the hours it has left cost less")
    assert "spinning only is cheaper than relieving every time" in relief_told(found, Showing())
    for difference, words in (
        (Measured(-0.2, 0.01), "relieving every time is cheaper than spinning only, by 0.200 (90 %: 0.184 to 0.216)"),
        (Measured(0.01, 0.01), "cannot be told from spinning only: −0.006 to 0.026"),
        (Measured(0.0, 0.0), "come to the same"),
    ):
        other = replace(found, apart=replace(found.apart, difference=difference))
        assert words in relief_told(other, Showing())
    past = season(unit("past", 121.5))
    none = reel_choice(past.forecast, past.forecast.units[0], past.sheet)
    assert why_told(none.cheaper) == "Put a new one in: this grind would leave it below its service diameter."
    assert way_rows(none, Showing())[0][1:3] == ("a new one", "none fits")


def test_a_unit_carries_what_its_row_of_a_file_says() -> None:
    (made,) = units_of({"units": [unit()]})
    assert isinstance(made, UnitNow)
    assert isinstance(made.reel, ReelOnFile)
    assert (made.reel.spec.blades, made.reel.land, made.reel.land_limit) == (11, 1.3, 2.0)
    assert made.reel.grinder is not None


@pytest.fixture(scope="module")
def worn() -> SeasonPlanned:
    """A planned season with a reel near its limit, one past it, one far from it and one too little is known of."""
    units = (unit("near", 121.9), unit("past", 121.5), unit("far", 126.9), unit("bare", 121.9, reel=None))
    return planned(season(*units, people=[{"name": "A"}], grinders=[{"name": "G"}], weeks=10), 0.3)


@pytest.mark.parametrize("showing", [Showing(), Showing("inch", "us"), Showing(language="de", decimal=",")])
def test_the_workbook_tells_what_every_door_tells(worn: SeasonPlanned, showing: Showing) -> None:
    title = showing.say(TITLE)
    (sheet,) = [one for one in tables(worn, showing) if one.sheet == title]
    rows = [list(row) for row in sheet.rows]
    assert {len(row) for row in rows} == {len(sheet.headings)}
    near = worn.now.reel_choices["near"]
    assert isinstance(near, ReelChoice)
    mine = [row for row in rows if row[0] == "near"]
    for row, found in zip(mine, near.found, strict=False):
        assert row[1:3] == [showing.say(found.new.way.name), showing.say("grind it" if found.grind else "a new one")]
        assert row[3] == round(found.kept_cost, 4)
        assert row[6:9] == [round(v, 4) for v in (found.new_cost, *found.new.cost_an_hour.interval(0.9))]
        assert row[12] == found.sharpenings
    assert mine[2][-1] == showing.say(relief_told(near, showing))
    past = [row for row in rows if row[0] == "past"]
    assert past[0][3:6] == [None, None, None], "no grind fits: no cost of going on"
    (bare,) = [row for row in rows if row[0] == "bare"]
    assert bare[-1] == showing.say(worn.now.reel_choices["bare"].words)  # type: ignore[union-attr]
    assert "far" not in {row[0] for row in rows}


@pytest.mark.parametrize("paper", ["A3", "A4", "Letter"])
def test_the_wall_print_tells_it_too(worn: SeasonPlanned, paper: str) -> None:
    showing = Showing("inch", "us")
    pages = pypdf.PdfReader(io.BytesIO(season_print(worn, showing, paper))).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    (told,) = [one.said(showing) for one in tell_choices(worn.now, showing)]
    assert told.title in text
    for row in told.tables[0].rows:
        assert " ".join(cell for cell in row[:3]) in text
    for line in told.lines:
        assert line[:60] in text
    fresh = season(unit("far", 126.9), people=[{"name": "A"}], grinders=[{"name": "G"}], weeks=10)
    assert print_data(planned(fresh, 0.1), showing, paper)["reels"] == []
