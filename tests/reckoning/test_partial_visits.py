"""Half-entered visits at every stage: an answer where there can be one, else the wanted reading; no traceback."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest
from tests.reckoning.answers import NAMES, answer_of
from tests.reckoning.partial import PARTIAL, data_of, partial_answer, without

from sparkout.papers.pictures import pictures
from sparkout.reckoning.answer import Answer, Spin, Untold
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.telling.whole import tell
from sparkout.visit.reading import read_visit

PARTS = ("spin", "relief", "knife", "setting")
MM, INCH = Showing("mm", "uk"), Showing("inch", "us")


def numbers(data: Any) -> list[float]:
    if isinstance(data, dict):
        return [n for value in data.values() for n in numbers(value)]
    if isinstance(data, list):
        return [n for value in data for n in numbers(value)]
    return [data] if isinstance(data, float) else []


def told(answer: Answer, showing: Showing = MM) -> str:
    lines = []
    for section in tell(answer, showing):
        lines += [section.title, *section.lines, *section.cautions]
        for table in section.tables:
            lines += [table.title, *table.head, *(cell for row in table.rows for cell in row)]
    return "\n".join(lines)


@pytest.mark.parametrize("name", PARTIAL)
def test_every_half_entered_visit_is_answered_in_words_numbers_and_pictures(name: str) -> None:
    answer = partial_answer(name)
    for showing in (MM, INCH):
        text = told(answer, showing)
        assert "nan" not in text.lower().split()
        assert "None" not in text
    data = json.loads(json.dumps(as_data(answer), allow_nan=False))
    assert all(map(math.isfinite, numbers(data)))
    for svg in pictures(answer, MM).values():
        assert svg.startswith("<svg")
        assert "nan" not in svg.lower()
        assert ">None<" not in svg


@pytest.mark.parametrize("name", PARTIAL)
def test_what_cannot_be_told_says_what_is_wanted(name: str) -> None:
    answer = partial_answer(name)
    text = told(answer, Showing("mm", "us"))
    data = as_data(answer)
    for part in PARTS:
        found = getattr(answer, part)
        assert data[part]["answered"] is not isinstance(found, Untold)
        if isinstance(found, Untold):
            assert found.wanted
            assert Showing("mm", "us").say(found.wanted) in text


def reckoned(*dropped: str) -> Answer:
    return reckon(read_visit(json.dumps(without(data_of(), *dropped), default=str)))


def test_each_wanted_thing_is_what_was_missing() -> None:
    """What is named as wanted is what was taken away, and giving it back gives the answer."""
    for dropped, part, word in (
        ("every diameter", "spin", "diameter"),
        ("limits", "spin", "limit"),
        ("knife", "setting", "thread pitch"),
    ):
        lacking = getattr(partial_answer(f"without {dropped}"), part)
        assert isinstance(lacking, Untold), (dropped, part)
        assert word in lacking.wanted
        assert not isinstance(getattr(answer_of("coned-as-left"), part), Untold)
    bare = reckoned("knife", "knife's own readings")
    assert isinstance(bare.knife, Untold)
    assert "lip height" in bare.knife.wanted
    unworn = reckoned("knife's own readings")
    assert isinstance(unworn.knife, Untold)
    assert "edge rounding" in unworn.knife.wanted
    unlanded = reckoned("land", "limits")
    assert isinstance(unlanded.relief, Untold)
    assert "land" in unlanded.relief.wanted


def test_nothing_read_at_all_still_says_where_to_begin() -> None:
    answer = partial_answer(f"first {len([n for n in PARTIAL if n.startswith('without')])} left out")
    assert not answer.readings
    assert not answer.diagnosis.informed
    text = told(answer)
    assert "No reading of the cylinder yet" in text
    assert "First reading worth taking" in text
    assert pictures(answer, MM) == {}


def test_the_least_file_that_is_a_visit_is_answered() -> None:
    answer = reckon(read_visit('unit.name = "1"\nreel = {blades = 5, diameter = "5 in", length = "20 in"}'))
    assert all(isinstance(getattr(answer, part), Untold) for part in PARTS)
    assert "No limits on file" in told(answer)


def test_stand_ins_are_written_down_once_each() -> None:
    for name in ("without grinder", "without gauge figures"):
        assumed = partial_answer(name).assumed
        assert len(set(assumed)) == len(assumed)
    assert any("give 0.7" in text for text in partial_answer("without grinder").assumed)
    assert sum("gauge dial 1" in text for text in partial_answer("without gauge figures").assumed) == 1
    assert not any("grinder:" in text for text in answer_of("coned").assumed)


def test_a_lowest_point_hardly_known_gives_a_provisional_plan_or_none() -> None:
    provisional = answer_of("three-readings").spin
    assert isinstance(provisional, Spin)
    assert any(note.startswith("Provisional") for note in provisional.notes)
    data = data_of()
    loose = dict(without(data, "dial sweeps", "rest gaps", "as left"))
    loose["limits"] = [
        {**limit, "at_most": "3 mm"} if limit["quantity"] in ("cone", "run-out", "barrel") else limit
        for limit in loose["limits"]
    ]
    loose["readings"] = [r for r in loose["readings"] if r["of"] != "diameter" or r["at"] == "left"]
    found = reckon(read_visit(json.dumps(loose, default=str))).spin
    assert isinstance(found, Untold)
    assert "dial on every blade" in found.wanted


@pytest.mark.parametrize("name", NAMES)
def test_the_same_file_gives_the_same_bytes_twice(name: str) -> None:
    from sparkout.demonstration.listing import demonstration_files

    visit = read_visit(demonstration_files()[name])
    first = json.dumps(as_data(reckon(visit)))
    again = json.dumps(as_data(reckon(read_visit(demonstration_files()[name]))))
    assert first == again
    answer = reckon(visit)
    assert pictures(answer, MM) == pictures(answer_of(name), MM)
