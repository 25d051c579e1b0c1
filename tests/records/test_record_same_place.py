"""Two at one place: at once, as a repeat, by another way of writing the place. Run on SQLite and on PostgreSQL."""

import pytest
from tests.records.workshops import Bench, diameter, key

from sparkout.reckoning.reckon import reckon
from sparkout.records.models import Reading, Sweep
from sparkout.records.operations.doing import Conflict
from sparkout.records.operations.readings import correct_reading, record_reading, withdraw_reading
from sparkout.records.operations.sweeps import record_cell, record_sweep
from sparkout.records.queries import visit_file


def shown(on_bench: Bench) -> list[str]:
    return [reading.value.text for reading in visit_file(on_bench.visit).readings]


def test_two_into_one_empty_place_at_once_one_is_told(on_bench: Bench, many_at_once) -> None:
    def enter(value: str) -> object:
        return diameter(on_bench, value=value, if_empty=True)

    found = many_at_once([lambda v=v: enter(v) for v in ("125.1 mm", "125.2 mm", "125.3 mm", "125.4 mm")])
    kinds = sorted(type(one).__name__ for one in found)
    assert kinds == ["Conflict", "Conflict", "Conflict", "Reading"], found
    (kept,) = shown(on_bench)
    told = next(one for one in found if isinstance(one, Conflict))
    assert (told.theirs, told.current.shown) == (kept, kept)


@pytest.mark.parametrize("place", ["left", "0 mm", "0 in"])
def test_the_place_counts_and_not_how_it_is_written(on_bench: Bench, place: str) -> None:
    diameter(on_bench)
    with pytest.raises(Conflict, match=r"125.4 mm"):
        diameter(on_bench, at=place, value="125.9 mm", if_empty=True)


@pytest.mark.parametrize(
    "other", [{"at": "right"}, {"when": "as left"}, {"of": "land", "gauge": None, "value": "1 mm"}]
)
def test_another_place_stage_or_quantity_is_empty(on_bench: Bench, other: dict[str, str]) -> None:
    diameter(on_bench)
    diameter(on_bench, if_empty=True, **other)
    assert Reading.objects.count() == 2


def test_angles_round_the_shaft(on_bench: Bench) -> None:
    def shaft(angle: str) -> Reading:
        entries = {"of": "shaft", "gauge": "dial 1", "at": "centre", "angle": angle, "value": "0 mm"}
        return record_reading(actor=on_bench.me, visit=on_bench.visit, key=key(), if_empty=True, **entries)

    shaft("0 deg")
    shaft("90 deg")
    with pytest.raises(Conflict):
        shaft("360 deg")


def test_a_corrected_or_withdrawn_reading_leaves_one_or_none(on_bench: Bench) -> None:
    first = diameter(on_bench)
    second = correct_reading(
        actor=on_bench.me, reading=first, expected_version=1, key=key(), value="125.5 mm", at="right"
    )
    diameter(on_bench, if_empty=True)  # the correction moved the first away
    withdraw_reading(actor=on_bench.me, reading=second, expected_version=2)
    diameter(on_bench, at="right", if_empty=True)


def test_the_same_sent_again_is_no_conflict_with_itself(on_bench: Bench) -> None:
    mine = key()
    assert diameter(on_bench, key=mine, if_empty=True) == diameter(on_bench, key=mine, if_empty=True)


def test_a_repeat_stands_beside_the_first_and_both_count(on_bench: Bench) -> None:
    """The mean of n readings of one gauge: independent parts fall with the root of n (JCGM 100:2008, 4.2.3)."""
    first = diameter(on_bench, value="125.40 mm")
    once = reckon(visit_file(on_bench.visit)).diagnosis.state.mean_radius
    diameter(on_bench, value="125.44 mm")
    assert shown(on_bench) == ["125.40 mm", "125.44 mm"]
    twice = reckon(visit_file(on_bench.visit)).diagnosis.state.mean_radius
    assert once.value < twice.value < once.value + 0.04
    assert twice.u < once.u
    withdraw_reading(actor=on_bench.me, reading=first, expected_version=1)
    assert shown(on_bench) == ["125.44 mm"]


def sweep(on_bench: Bench, **more: object) -> Sweep:
    content = {"of": "run-out", "gauge": "dial 1", "at": ["left", "centre"], "rows": 11, "set_up": "A", **more}
    return record_sweep(actor=on_bench.me, visit=on_bench.visit, key=key(), if_new=True, **content)


def test_a_sweep_begun_meanwhile_is_joined(on_bench: Bench, many_at_once) -> None:
    found = many_at_once([lambda: sweep(on_bench)] * 4)
    begun = Sweep.objects.get()
    assert sorted(type(one).__name__ for one in found) == ["Conflict", "Conflict", "Conflict", "Sweep"]
    assert {one.current.pk for one in found if isinstance(one, Conflict)} == {begun.pk}
    sweep(on_bench, at=["right"])
    sweep(on_bench, when="as left", set_up="B")
    assert Sweep.objects.count() == 3


def test_two_into_one_empty_cell_at_once(on_bench: Bench, many_at_once) -> None:
    begun = sweep(on_bench)

    def enter(value: str) -> object:
        return record_cell(actor=on_bench.me, sweep=begun, row=0, column=0, value=value, key=key())

    found = many_at_once([lambda v=v: enter(v) for v in ("0.01", "0.02", "0.03")])
    assert sorted(type(one).__name__ for one in found) == ["Cell", "Conflict", "Conflict"], found
