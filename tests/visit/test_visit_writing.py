from __future__ import annotations

import json
import re
import tomllib

import jsonschema
import pytest
from hypothesis import given, settings
from tests.visit.any_visit import visits
from tests.visit.examples import FULL, SMALL

from sparkout.visit.fields import described, sections
from sparkout.visit.lines import line_finder
from sparkout.visit.reading import read_visit
from sparkout.visit.schema import Visit
from sparkout.visit.schema_docs import json_schema
from sparkout.visit.writing import starting_file, to_json, to_toml


def as_typed(visit: Visit) -> object:
    return visit.model_dump(exclude_none=True)


@pytest.mark.parametrize("text", [FULL, SMALL])
@pytest.mark.parametrize("write", [to_toml, to_json])
def test_a_file_survives_reading_and_writing_with_its_quantities_as_typed(text, write) -> None:
    visit = read_visit(text)
    again = read_visit(write(visit))
    assert again == visit
    assert as_typed(again) == as_typed(visit)
    assert write(again) == write(visit)


@given(visits())
@settings(deadline=None, max_examples=40)
def test_any_visit_survives_toml_and_json_and_passes_the_json_schema(data) -> None:
    visit = Visit.model_validate(data)
    for again in (tomllib.loads(to_toml(visit)), json.loads(to_json(visit))):
        back = Visit.model_validate(again)
        assert back == visit
        assert as_typed(back) == as_typed(visit)
    SCHEMA.validate(json.loads(to_json(visit)))


SCHEMA = jsonschema.Draft202012Validator(json_schema())


@given(visits())
@settings(deadline=None, max_examples=15)
def test_the_line_of_an_entry_is_the_line_it_is_written_on(data) -> None:
    text = to_toml(Visit.model_validate(data))
    find, lines = line_finder(text, "toml"), text.split("\n")
    for name, content in tomllib.loads(text).items():
        for i, table in enumerate(content if isinstance(content, list) else [content]):
            if isinstance(table, dict):
                for key in table:
                    path = (name, i, key) if isinstance(content, list) else (name, key)
                    assert lines[find(path) - 1].startswith(f"{key} = ")


def test_the_starting_file_is_valid_as_it_stands() -> None:
    visit = read_visit(starting_file())
    assert (visit.unit.name, visit.reel.blades, visit.all_readings) == ("change me", 11, ())


def test_what_is_known_is_put_into_the_starting_file() -> None:
    text = starting_file('a "b"', 7, "5 in", 533, units="inch", vocabulary="us", demonstration=True)
    visit = read_visit(text)
    assert (visit.unit.name, visit.reel.diameter.text, visit.visit.units) == ('a "b"', "5 in", "inch")
    assert visit.visit.demonstration is True


def test_every_commented_line_of_the_starting_file_is_valid_when_its_mark_is_taken_away() -> None:
    text = starting_file()
    live = re.sub(r"^#(?=[^ \n]|    |\])", "", text, flags=re.MULTILINE)
    live = live.replace('name = "change me"', 'name = "x"')
    live += '\n[[gauges]]\nid = "dial 1"\nkind = "dial"\n'
    visit = read_visit(live)
    assert len(visit.all_readings) == 1 + 5
    assert visit.grinder.spark_out_passes == 4
    assert visit.sign_off.statement


def test_every_field_stands_in_the_starting_file_with_its_meaning() -> None:
    text = starting_file()
    for name, model, _ in sections():
        assert f"[{name}]" in text
        for field in described(model):
            assert re.search(rf"^#? ?{field.key}( = |: )", text, flags=re.MULTILINE), field.key
            assert field.meaning in text


def test_every_line_of_the_starting_file_can_be_read_by_the_standard_library() -> None:
    assert tomllib.loads(starting_file())["reel"]["blades"] == 11
