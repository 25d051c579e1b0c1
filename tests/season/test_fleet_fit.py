"""A fleet file: the same answer however it is cut, doubts named, and an answer as far as one exists."""

import csv
import math

import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange, Refusal
from sparkout.season import fleet_rows as reading
from sparkout.season.fleet_file import layout_of
from sparkout.season.fleet_fit import fit_file, fleet_phrases, forecasts

TODAY = 20_782
HEADINGS = ["unit", "workshop", "duty", "date", "hours", "diameter (mm)", "ground so far (mm)", "sandings so far"]


def fleet_rows(units=60, per=8, seed=3):
    """Readings of an invented fleet: [unit, workshop, duty, day, hours, diameter, ground, sandings]."""
    rng = np.random.default_rng(seed)
    rows = []
    for unit in range(units):
        slope, start = 0.0015 + rng.normal(0, 0.0003), 127 + rng.normal(0, 0.3)
        for hours in np.sort(rng.uniform(0, 900, per)):
            ground, sand = 0.3 * (hours // 250), hours // 90
            size = start - slope * hours - ground - 0.01 * sand + rng.normal(0, 0.05)
            day = 20_000 + int(hours / 1.5)
            rows.append([f"U{unit}", f"W{unit % 4}", "tees", day, hours, size, ground, sand])
    return rows


def written(path, rows, headings=HEADINGS):
    with path.open("w", newline="", encoding="utf-8") as handle:
        writer = csv.writer(handle)
        writer.writerow(headings)
        for row in rows:
            dated = [*row]
            if "date" in headings:
                dated[3] = str(np.datetime64(int(row[3]), "D"))
            writer.writerow(dated)
    return path


def parquet(path, rows, group=37):
    pa, pq = pytest.importorskip("pyarrow"), pytest.importorskip("pyarrow.parquet")
    columns = dict(zip(HEADINGS, zip(*rows, strict=True), strict=True))
    columns["date"] = pa.array(columns["date"], pa.int32()).cast(pa.date32())
    pq.write_table(pa.table(columns), path, row_group_size=group)
    return path


def middle(fit):
    return np.concatenate([ahead.hours[2] for ahead in forecasts(fit, 17)])


def test_the_same_estimates_however_the_file_is_cut(tmp_path):
    rows = fleet_rows()
    whole = fit_file(written(tmp_path / "a.csv", rows), TODAY, limit=121.0)
    path = parquet(tmp_path / "a.parquet", rows)
    assert whole.wear.fitted is not None
    for parts in (1, 2, 5, 13):
        cut = fit_file(path, TODAY, limit=121.0, parts=parts)
        assert cut.taken.units.tolist() == whole.taken.units.tolist()
        assert cut.wear.fixed == pytest.approx(whole.wear.fixed, rel=1e-10)
        assert cut.wear.fitted is not None
        for a, b in zip(cut.wear.fitted.level_covariances, whole.wear.fitted.level_covariances, strict=True):
            assert a == pytest.approx(b, rel=1e-10, abs=1e-14)
        assert middle(cut) == pytest.approx(middle(whole), rel=1e-10)
    assert whole.taken.rows == len(rows)
    assert sum(1 for _ in forecasts(whole)) == 1


def test_small_batches_are_the_whole(tmp_path, monkeypatch):
    path = written(tmp_path / "a.csv", fleet_rows())
    whole = fit_file(path, TODAY)
    monkeypatch.setattr(reading, "BATCH", 11)
    assert fit_file(path, TODAY).wear.fixed == pytest.approx(whole.wear.fixed, rel=1e-10)


def test_rows_that_stand_apart_are_put_together_and_said(tmp_path):
    rows = fleet_rows()
    whole = fit_file(written(tmp_path / "a.csv", rows), TODAY)
    apart = rows[:4] + rows[8:] + rows[4:8]
    found = fit_file(written(tmp_path / "b.csv", apart), TODAY)
    assert found.wear.fixed == pytest.approx(whole.wear.fixed, rel=1e-9)
    assert [d.unit for d in found.doubts if d.kind == "apart"] == ["U0"]
    assert found.taken.hours[:, 0].tolist() == whole.taken.hours[:, 0].tolist()


def test_what_is_planted_is_named_with_its_rows(tmp_path):
    rows = fleet_rows()
    rows[3][3] = TODAY + 30  # a date in the future
    for row in rows[12:16]:  # unit 1: its meter replaced
        row[4] -= rows[11][4]
    for row in rows[20:24]:  # unit 2: ground, not recorded
        row[5] -= 0.8
    for row in rows[28:32]:  # unit 3: a new reel
        row[5] += 4.0
    day = rows[35][3]
    rows[43][3] = rows[42][3] + 1
    rows[43][3] = day  # units 4 and 5 swapped the same day
    rows[35][4], rows[43][4] = 5000.0, 4000.0
    for at in range(40, 48):
        rows[at][3] = day - 43 + at
    rows[50][5] = "gone"
    rows[51][4] = -5.0
    found = fit_file(written(tmp_path / "a.csv", rows), TODAY, limit=121.0)
    told = {doubt.kind: doubt for doubt in found.doubts if doubt.kind != "refused row"}
    assert (told["future"].unit, told["future"].rows) == ("U0", (4,))
    assert (told["meter"].unit, told["meter"].rows) == ("U1", (12, 13))
    assert (told["unrecorded grind"].unit, told["unrecorded grind"].rows) == ("U2", (20, 21))
    assert told["unrecorded grind"].odds > 3
    assert (told["new part"].unit, told["new part"].rows) == ("U3", (28, 29))
    assert (told["swapped"].unit, told["swapped"].rows) == ("U4", (36, 44))
    assert "hours out of line" not in told
    assert [doubt.rows for doubt in found.doubts if doubt.kind == "refused row"] == [(51,), (52,)]
    assert found.taken.tally["refused row"] == 2
    assert found.robust is not None
    ahead = next(forecasts(found))
    # With the grind put back, unit 2 wears more slowly and its limit is farther.
    assert ahead.robust_hours[2] > ahead.hours[2, 2]
    assert np.isnan(ahead.robust_hours[[0, 1, 3]]).all()
    assert np.all(np.diff(ahead.hours, axis=0)[:, np.isfinite(ahead.hours[4])] >= 0)


def test_a_fleet_of_one_reading_each_has_one_line_and_says_so(tmp_path):
    rows = fleet_rows()[::8]
    found = fit_file(written(tmp_path / "a.csv", rows), TODAY, limit=110.0)
    assert found.wear.fitted is None
    assert any("one line serves all" in text for text in fleet_phrases(found))
    assert np.isfinite(middle(found)).any()
    assert math.isnan(found.per_day)


def test_levels_too_few_are_said(tmp_path):
    rows = [[*row[:1], "W", *row[2:]] for row in fleet_rows()]
    found = fit_file(written(tmp_path / "a.csv", rows), TODAY)
    assert any("fewer than three" in text for text in fleet_phrases(found))
    assert any("no limit" in text for text in fleet_phrases(found))
    assert np.isnan(middle(found)).all()


def test_land_widens_towards_a_limit_above_it(tmp_path):
    rng = np.random.default_rng(0)
    rows = [
        [f"U{u}", h, 1.0 + 0.002 * h + rng.normal(0, 0.02), 3.0]
        for u in range(12)
        for h in (0.0, 100.0, 200.0, 300.0)
    ]  # fmt: skip
    path = written(tmp_path / "a.csv", rows, ["unit", "hours", "land (mm)", "limit (mm)"])
    found = fit_file(path, TODAY)
    ahead = next(forecasts(found))
    assert found.per_hour.value == pytest.approx(0.002, abs=1e-4)
    assert ahead.value == pytest.approx(1.6, abs=0.1)
    assert ahead.hours[2] == pytest.approx(700, rel=0.1)


def test_inches_and_hectares_are_read(tmp_path):
    rng = np.random.default_rng(2)
    places = [(u, ha) for u in range(5) for ha in (0.0, 50.0, 100.0)]
    rows = [[f"U{u}", ha, (127 - 0.01 * ha - 0.1 * u + rng.normal(0, 0.01)) / 25.4] for u, ha in places]
    found = fit_file(written(tmp_path / "a.csv", rows, ["Unit", "Hectares (ha)", "Diameter (in)"]), TODAY, limit=125.0)
    assert found.layout.use == "hectares"
    assert next(forecasts(found)).hours[2] == pytest.approx([100 - 10 * u for u in range(5)], abs=3.0)


def test_what_one_sanding_costs(tmp_path):
    found = fit_file(written(tmp_path / "a.csv", fleet_rows(300)), TODAY)
    (cost,) = found.events
    assert cost.metal.value == pytest.approx(0.01, abs=4 * cost.metal.u)
    assert cost.days is not None
    assert cost.days.value == pytest.approx(cost.metal.value / found.per_hour.value / 1.5, rel=0.02)
    assert cost.days.u > cost.metal.u / found.per_hour.value / 1.5 * 0.5


@pytest.mark.parametrize(
    ("headings", "error", "match"),
    [
        (["unit", "hours"], NotEnough, "columns"),
        (["unit", "hours", "diameter"], OutOfRange, "diameter"),
        (["unit", "hours", "diameter (cm)"], OutOfRange, "cm"),
        (["unit", "hours", "diameter (mm)", "land (mm)"], NotEnough, "--quantity"),
        (["unit", "hours", "Hours", "diameter (mm)"], OutOfRange, "one column"),
    ],
)
def test_headings_that_do_not_do_are_named(headings, error, match):
    with pytest.raises(error, match=match):
        layout_of(headings)


def test_files_that_cannot_be_read_are_named(tmp_path):
    with pytest.raises(Refusal, match="cannot be read"):
        fit_file(tmp_path / "none.csv", TODAY)
    (tmp_path / "bad.parquet").write_bytes(b"PAR1 and no more")
    with pytest.raises(Refusal, match="Parquet"):
        fit_file(tmp_path / "bad.parquet", TODAY)
    (tmp_path / "empty.csv").write_text("unit,hours,diameter (mm)\n")
    with pytest.raises(NotEnough, match="row"):
        fit_file(tmp_path / "empty.csv", TODAY)
    (tmp_path / "wrong.csv").write_text("unit,hours,diameter (mm)\nA,ten,127\n")
    with pytest.raises(NotEnough, match="row 1: hours is missing"):
        fit_file(tmp_path / "wrong.csv", TODAY)
    with pytest.raises(NotEnough, match="lip"):
        fit_file(tmp_path / "wrong.csv", TODAY, quantity="lip")


def test_a_file_made_by_a_formula_has_its_answer(tmp_path):
    """Own arithmetic: every unit wears 2 µm an hour and loses 0.25 mm a grind, one grind every 100 h."""
    rows = [
        [f"U{u}", "W", "tees", 20_000 + 10 * k, 100.0 * k, 126.0 - 0.01 * u - 0.2 * k - 0.25 * k, 0.25 * k, 0]
        for u in range(6)
        for k in range(6)
    ]
    fit = fit_file(written(tmp_path / "formula.csv", rows), TODAY, limit=120.0)
    assert fit.per_hour.value == pytest.approx(0.002, rel=1e-5)
    assert fit.unseen == ("sandings so far",)
    assert any("sandings so far" in text for text in fleet_phrases(fit))
    left = [(126.0 - 0.01 * u - 5 * 0.45 - 120.0) / (0.002 + 0.25 / 100) for u in range(6)]
    assert middle(fit) == pytest.approx(left, rel=1e-4)
