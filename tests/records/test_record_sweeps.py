"""A sweep is filled cell by cell or whole; two people in one cell are told of each other."""

from __future__ import annotations

import pytest
from tests.records.workshops import Bench, key

from sparkout.records.models import Cell, Sweep
from sparkout.records.operations.doing import Conflict
from sparkout.records.operations.sweeps import record_cell, record_sweep, withdraw_cell, withdraw_sweep
from sparkout.records.queries import visit_file
from sparkout.visit.problems import VisitProblems


@pytest.fixture
def sweep(on_bench: Bench) -> Sweep:
    head = {"of": "run-out", "gauge": "dial 1", "at": ["left", "centre", "right"], "unit": "thou", "set_up": "A"}
    return record_sweep(actor=on_bench.me, visit=on_bench.visit, key=key(), rows=11, **head)


def grid(on_bench: Bench) -> list[list[object]]:
    (sweep,) = visit_file(on_bench.visit).sweeps
    return [["-" if value is None else value.typed for value in row] for row in sweep.values]


def cell(on_bench: Bench, sweep: Sweep, value: object, row: int = 0, column: int = 0, version: int = 0) -> Cell:
    return record_cell(
        actor=on_bench.me, sweep=sweep, row=row, column=column, value=value, key=key(), expected_version=version
    )


def test_an_empty_sweep_is_filled_cell_by_cell(on_bench: Bench, sweep: Sweep) -> None:
    assert grid(on_bench) == [["-"] * 3] * 11
    cell(on_bench, sweep, "1.5", 2, 1)
    cell(on_bench, sweep, "0.02 mm", 10, 2)
    assert grid(on_bench)[2] == ["-", "1.5", "-"]
    told = {(r.blade, r.at.text): float(r.value) for r in visit_file(on_bench.visit).all_readings}
    assert told == {(3, "centre"): pytest.approx(1.5 * 0.0254), (11, "right"): 0.02}


def test_a_whole_sweep_with_numbers_as_typed(on_bench: Bench) -> None:
    values = [[0, 0.0, "0.01 mm"], [-0.04, "-", 1e-05]]
    head = {"of": "run-out", "gauge": "dial 1", "at": ["left", "centre", "right"], "blades": [1, 7]}
    made = record_sweep(actor=on_bench.me, visit=on_bench.visit, key=key(), values=values, **head)
    assert repr(grid(on_bench)) == repr(values)
    assert (made.rows, made.cells.count()) == (2, 5)


def test_a_cell_is_corrected_only_by_who_saw_what_stands_there(on_bench: Bench, sweep: Sweep) -> None:
    first = cell(on_bench, sweep, "1")
    with pytest.raises(Conflict) as conflict:
        cell(on_bench, sweep, "3")
    assert (conflict.value.theirs, conflict.value.mine, conflict.value.current) == ("1", "3", first)
    cell(on_bench, sweep, "2", version=1)
    assert grid(on_bench)[0][0] == "2"
    assert [c.value for c in Cell.objects.order_by("pk")] == ["1", "2"]


def test_a_withdrawn_cell_is_empty_and_can_be_filled_again(on_bench: Bench, sweep: Sweep) -> None:
    first = cell(on_bench, sweep, "1")
    withdraw_cell(actor=on_bench.me, cell=first, expected_version=1)
    assert grid(on_bench)[0][0] == "-"
    assert cell(on_bench, sweep, "4").version == 2
    assert grid(on_bench)[0][0] == "4"


def test_two_in_one_empty_cell_at_once_one_is_told(on_bench: Bench, sweep: Sweep, many_at_once) -> None:
    found = many_at_once([lambda: cell(on_bench, sweep, "1"), lambda: cell(on_bench, sweep, "2")])
    assert sorted(type(one).__name__ for one in found) == ["Cell", "Conflict"], found


@pytest.mark.parametrize(
    ("row", "column", "value", "says"),
    [
        (11, 0, "1", "no row 12"),
        (0, 3, "1", "column 4"),
        (-1, 0, "1", "no row"),
        (0, 0, "25 in", "25 in"),
        (0, 0, "-", "nothing was read"),
        (0, 0, None, "nothing"),
    ],
)
def test_what_cannot_be_entered(on_bench: Bench, sweep: Sweep, row, column, value, says) -> None:
    with pytest.raises(VisitProblems, match=says):
        cell(on_bench, sweep, value, row, column)
    assert not Cell.objects.exists()


def test_a_shaft_sweep_has_angles(on_bench: Bench) -> None:
    head = {"of": "shaft", "gauge": "dial 1", "at": ["centre"], "angles": ["0 deg", "90 deg"]}
    made = record_sweep(actor=on_bench.me, visit=on_bench.visit, key=key(), rows=2, **head)
    cell(on_bench, made, "0.05 mm", 1, 0)
    (reading,) = visit_file(on_bench.visit).all_readings
    assert reading.angle.text == "90 deg"


def test_too_many_rows_are_refused_as_in_a_file(on_bench: Bench) -> None:
    head = {"of": "run-out", "gauge": "dial 1", "at": ["left"]}
    with pytest.raises(VisitProblems, match="12 rows for 11 blades"):
        record_sweep(actor=on_bench.me, visit=on_bench.visit, key=key(), rows=12, **head)
    with pytest.raises(VisitProblems, match="rows"):
        record_sweep(actor=on_bench.me, visit=on_bench.visit, key=key(), **head)


def test_the_same_key_starts_one_sweep(on_bench: Bench) -> None:
    mine, head = key(), {"of": "run-out", "gauge": "dial 1", "at": ["left"], "rows": 11}
    made = [record_sweep(actor=on_bench.me, visit=on_bench.visit, key=mine, **head).pk for _ in range(2)]
    assert made[0] == made[1]
    assert Sweep.objects.count() == 1


def test_a_withdrawn_sweep_counts_no_longer(on_bench: Bench, sweep: Sweep) -> None:
    cell(on_bench, sweep, "1")
    withdraw_sweep(actor=on_bench.me, sweep=sweep)
    assert visit_file(on_bench.visit).sweeps == ()
    assert Cell.objects.get().value == "1"
