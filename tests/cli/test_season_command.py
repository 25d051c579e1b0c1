"""`sparkout season fit`."""

import csv
import json
import sys

import numpy as np
import pytest
from tests.cli.commands import run


@pytest.fixture
def fleet(tmp_path):
    rng = np.random.default_rng(4)
    with (tmp_path / "fleet.csv").open("w", newline="") as handle:
        out = csv.writer(handle)
        out.writerow(["unit", "date", "hours", "diameter (mm)", "sandings so far"])
        for unit in range(12):
            for i, hours in enumerate((0.0, 100.0, 220.0, 300.0, 400.0)):
                size = 127 - 0.1 * unit - 0.0015 * hours - 0.02 * (i // 2) + rng.normal(0, 0.02)
                out.writerow([f"U{unit}", f"2026-0{i + 1}-15", hours, f"{size:.3f}", i // 2])
        out.writerow(["U99", "2026-01-01", "many", "127", "0"])
    return tmp_path


def test_the_fit_is_told(fleet):
    status, said, complained = run("season", "fit", "fleet.csv", "--limit", "4.8 in", folder=fleet)
    assert status == 0
    assert "12 units, 60 readings of diameter" in said
    assert "one sanding costs" in said
    assert "days of the average unit's wear" in said
    assert "row 61: hours is missing or no number (left out)" in complained


def test_the_table_and_the_data_agree(fleet):
    status, said, _ = run("season", "fit", "fleet.csv", "--limit", "122", "--json", "--table", "out.csv", folder=fleet)
    data = json.loads(said)
    assert status == 0
    assert data["units"] == 12
    assert data["forecasts"]["forecast"] == 12
    assert data["doubts"]["counts"]["refused row"] == 1
    with (fleet / "out.csv").open(newline="") as handle:
        rows = list(csv.DictReader(handle))
    assert [row["unit"] for row in rows] == [f"U{i}" for i in range(12)]
    hours = [float(rows[0][f"hours_{chance} (h)"]) for chance in (5, 25, 50, 75, 95)]
    assert hours == sorted(hours)
    assert rows[0]["day_5"] <= rows[0]["day_95"]
    assert not (fleet / "out.csv.part").exists()


@pytest.mark.parametrize(
    ("more", "status", "why"),
    [
        (["none.csv"], 1, "cannot be read"),
        (["fleet.csv", "--limit", "wide"], 1, "wide"),
        (["fleet.csv", "--limit", "-3"], 1, "limit is -3 mm"),
        (["fleet.csv", "--workers", "0"], 1, "--workers is 0; allowed: 1 to 1000"),
        (["fleet.csv", "--table", "no/such/out.csv"], 1, "cannot be written"),
        (["fleet.csv", "--quantity", "lip"], 1, "lip"),
    ],
)
def test_what_cannot_be_done_is_said(fleet, more, status, why):
    found, _, complained = run("season", "fit", *more, folder=fleet)
    assert found == status
    assert why in complained


def test_without_the_extra_parquet_and_clusters_say_what_is_missing(fleet, monkeypatch):
    (fleet / "a.parquet").write_bytes(b"PAR1")
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.setitem(sys.modules, "distributed", None)
    status, _, complained = run("season", "fit", "a.parquet", folder=fleet)
    assert (status, 'extra "fleet"' in complained) == (1, True)
    status, _, complained = run("season", "fit", "fleet.csv", "--cluster", "tcp://127.0.0.1:9", folder=fleet)
    assert (status, 'extra "fleet"' in complained) == (1, True)


def test_help_and_wrong_use(fleet):
    assert run("season", "fit", "--help", folder=fleet)[0] == 0
    assert run("season", folder=fleet)[0] == 2
