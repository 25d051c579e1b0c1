"""A reading is kept once, as typed; corrected without loss; refused with the visit file's own words."""

from __future__ import annotations

import uuid

import pytest
from tests.records.workshops import REEL, Bench, diameter, key

from sparkout.core.errors import Refusal
from sparkout.records.models import HistoryLine, Reading
from sparkout.records.operations.doing import Conflict, KeyUsed
from sparkout.records.operations.equipment import retire_gauge
from sparkout.records.operations.readings import correct_reading, record_reading, withdraw_reading
from sparkout.records.queries import visit_file
from sparkout.records.tables import READING_KEYS
from sparkout.visit.problems import VisitProblems
from sparkout.visit.reading import read_visit
from sparkout.visit.taken import Reading as ReadingTable


def values(at: Bench) -> list[str]:
    return [reading.value.text for reading in visit_file(at.visit).readings]


def test_every_field_of_a_reading_in_a_file_has_a_column() -> None:
    columns = {field.name for field in Reading._meta.get_fields()}
    assert set(ReadingTable.model_fields) <= columns
    assert {*READING_KEYS, "gauge"} == set(ReadingTable.model_fields)


@pytest.mark.parametrize("typed", ["125.4 mm", "4.94 in", "125,4", 125.4, 125, "4 15/16 in"])
def test_a_reading_is_kept_as_typed(on_bench: Bench, typed) -> None:
    diameter(on_bench, typed)
    kept = visit_file(on_bench.visit).readings[0].value.typed
    assert kept == typed
    assert type(kept) is type(typed)


def test_the_same_key_records_once_and_leaves_one_line(on_bench: Bench) -> None:
    mine = key()
    first = diameter(on_bench, key=mine)
    lines = HistoryLine.objects.count()
    for again in (mine, str(mine)):
        assert diameter(on_bench, key=again).pk == first.pk
    assert (Reading.objects.count(), HistoryLine.objects.count()) == (1, lines)


def test_the_same_key_with_something_else_is_refused_naming_both(on_bench: Bench) -> None:
    mine = key()
    diameter(on_bench, key=mine)
    with pytest.raises(KeyUsed) as refused:
        diameter(on_bench, "125.9 mm", key=mine)
    assert "125.4 mm" in str(refused.value)
    assert "125.9 mm" in str(refused.value)
    assert values(on_bench) == ["125.4 mm"]


def test_a_key_that_is_none_is_refused(on_bench: Bench) -> None:
    with pytest.raises(VisitProblems, match="UUID"):
        diameter(on_bench, key="twelve")


WRONG = [
    ({"value": "12.7 mm"}, "value"),
    ({"value": "2 mph"}, "value"),
    ({"value": None}, "this reading has no value"),
    ({"at": None}, "at"),
    ({"at": "600 mm"}, "at"),
    ({"blade": 12}, "blade"),
    ({"gauge": "tape 9"}, "gauge"),
    ({"gauge": "dial 1"}, "gauge"),
    ({"of": "diametre"}, "of"),
    ({"collour": "red"}, "collour"),
    ({"note": "a\x00b"}, "note"),
    ({"time": "25:00"}, "time"),
]


@pytest.mark.parametrize(("change", "names"), WRONG, ids=lambda wrong: str(wrong)[:30])
def test_what_is_wrong_is_said_as_in_a_file_and_nothing_is_kept(on_bench: Bench, change, names) -> None:
    lines = HistoryLine.objects.count()
    with pytest.raises(VisitProblems) as refused:
        diameter(on_bench, **change)
    assert names in str(refused.value)
    assert (Reading.objects.count(), HistoryLine.objects.count()) == (0, lines)


def test_the_words_of_an_error_are_those_of_the_file(on_bench: Bench) -> None:
    text = f'unit.name = "3"\nreel = {{blades = 11, diameter = "{REEL["diameter"]}", length = "{REEL["length"]}"}}\n'
    text += '[[gauges]]\nid = "tape 1"\nkind = "tape"\n[[readings]]\nof = "diameter"\ngauge = "tape 1"\n'
    text += 'at = "left"\nvalue = "12.7 mm"'
    with pytest.raises(VisitProblems) as in_file:
        read_visit(text)
    with pytest.raises(VisitProblems) as at_bench:
        diameter(on_bench, "12.7 mm")
    (one,), (other,) = in_file.value.problems, at_bench.value.problems
    told = ("text", "value", "allowed", "unit", "suggestion")
    assert [getattr(one, name) for name in told] == [getattr(other, name) for name in told]
    assert other.path == "value"


def test_a_correction_is_a_new_row_in_the_place_of_the_old(on_bench: Bench) -> None:
    first = diameter(on_bench, "125.4 mm")
    diameter(on_bench, "125.0 mm", at="right")
    second = correct_reading(actor=on_bench.me, reading=first, expected_version=1, key=key(), value="125.5 mm")
    third = correct_reading(
        actor=on_bench.me, reading=second, expected_version=2, key=key(), value="125.6 mm", note="read again"
    )
    assert values(on_bench) == ["125.6 mm", "125.0 mm"]
    assert [r.value for r in Reading.objects.order_by("pk")] == ["125.4 mm", "125.0 mm", "125.5 mm", "125.6 mm"]
    assert (third.version, third.replaces, third.at, third.note) == (3, second, "left", "read again")
    line = HistoryLine.objects.latest("pk")
    assert (line.before["value"], line.after["value"], line.who) == ("125.5 mm", "125.6 mm", on_bench.me)


def test_a_correction_of_what_was_corrected_meanwhile_shows_both(on_bench: Bench) -> None:
    first = diameter(on_bench)
    theirs = correct_reading(actor=on_bench.me, reading=first, expected_version=1, key=key(), value="125.5 mm")
    with pytest.raises(Conflict) as conflict:
        correct_reading(actor=on_bench.me, reading=first, expected_version=1, key=key(), value="125.9 mm")
    assert "125.5 mm" in conflict.value.theirs
    assert "125.9 mm" in conflict.value.mine
    assert conflict.value.current == theirs
    assert values(on_bench) == ["125.5 mm"]
    correct_reading(actor=on_bench.me, reading=first, expected_version=2, key=key(), value="125.9 mm")
    assert values(on_bench) == ["125.9 mm"]


def test_a_repeated_correction_is_made_once(on_bench: Bench) -> None:
    first, mine = diameter(on_bench), key()
    asked = {"actor": on_bench.me, "reading": first, "expected_version": 1, "key": mine, "value": "125.5 mm"}
    assert correct_reading(**asked) == correct_reading(**asked)
    assert Reading.objects.count() == 2


def test_a_correction_keeps_what_it_does_not_name_and_takes_away_what_is_none(on_bench: Bench) -> None:
    first = diameter(on_bench, note="wet", temperature="18 °C", time="09:40")
    second = correct_reading(actor=on_bench.me, reading=first, expected_version=1, key=key(), note=None)
    assert (second.note, second.temperature, str(second.time), second.value) == (None, "18 °C", "09:40:00", "125.4 mm")


def test_withdrawn_counts_no_longer_and_stays(on_bench: Bench) -> None:
    first = diameter(on_bench)
    withdraw_reading(actor=on_bench.me, reading=first, expected_version=1)
    assert values(on_bench) == []
    kept = Reading.objects.get()
    assert (kept.value, kept.withdrawn_by) == ("125.4 mm", on_bench.me)
    with pytest.raises(Conflict, match="withdrawn"):
        correct_reading(actor=on_bench.me, reading=first, expected_version=1, key=key(), value="125.5 mm")


def test_leaves_and_a_place_by_length(on_bench: Bench) -> None:
    made = record_reading(
        actor=on_bench.me, visit=on_bench.visit, key=key(), of="rest gap", gauge="leaves 1", at="5 in", goes=".05",
        does_not_go="3 thou",
    )  # fmt: skip
    assert made.shown == "goes .05, does not go 3 thou"
    told = visit_file(on_bench.visit).readings[0]
    assert (told.at.distance, told.goes.text, told.does_not_go.text) == (127.0, ".05", "3 thou")


def test_a_retired_gauge_still_explains_its_readings(on_bench: Bench) -> None:
    reading = diameter(on_bench)
    retire_gauge(actor=on_bench.me, gauge=reading.gauge)
    told = visit_file(on_bench.visit)
    assert [gauge.id for gauge in told.gauges] == ["dial 1", "leaves 1", "tape 1"]
    assert told.gauge(told.readings[0].gauge).kind == "tape"


def test_one_reading_sent_by_eight_at_once_is_recorded_once(on_bench: Bench, many_at_once) -> None:
    mine = uuid.uuid4()
    found = many_at_once([lambda: diameter(on_bench, key=mine).pk] * 8)
    assert set(found) == {Reading.objects.get().pk}


def test_two_corrections_at_once_one_wins_and_the_other_is_told(on_bench: Bench, many_at_once) -> None:
    first = diameter(on_bench)

    def correct(value: str) -> object:
        return correct_reading(actor=on_bench.me, reading=first, expected_version=1, key=key(), value=value)

    found = many_at_once([lambda: correct("125.5 mm"), lambda: correct("125.6 mm")])
    kinds = sorted(type(one).__name__ for one in found)
    assert kinds == ["Conflict", "Reading"], found
    assert len(values(on_bench)) == 1


def test_many_writing_at_once_all_get_in(on_bench: Bench, many_at_once) -> None:
    def several() -> int:
        return len([diameter(on_bench) for _ in range(10)])

    assert many_at_once([several] * 4) == [10] * 4
    assert len(values(on_bench)) == 40


def test_a_refusal_is_a_refusal(on_bench: Bench) -> None:
    assert issubclass(Conflict, Refusal)
    assert issubclass(KeyUsed, Refusal)
