from __future__ import annotations

import json

import jsonschema
import pytest
from tests.visit.examples import ROOT

from sparkout.visit.fields import described, model_at, sections
from sparkout.visit.quantities import GAUGE_KINDS, GAUGE_MEANING, QUANTITIES
from sparkout.visit.schema_docs import PAGE_NAME, SCHEMA_NAME, field_reference, json_schema, write_docs


@pytest.mark.parametrize("name", [PAGE_NAME, SCHEMA_NAME])
def test_the_committed_pages_are_the_generated_ones(tmp_path, name) -> None:
    write_docs(tmp_path)
    made = (tmp_path / name).read_text(encoding="utf-8")
    kept = (ROOT / "docs" / name).read_text(encoding="utf-8")
    assert made == kept, "run: python -m sparkout.visit.schema_docs docs"


def test_the_json_schema_is_a_json_schema() -> None:
    jsonschema.Draft202012Validator.check_schema(json_schema())


@pytest.mark.parametrize(
    ("change", "valid"),
    [
        ({}, True),
        ({"reel": {"blades": 11, "diameter": 5, "length": 533}}, False),
        ({"reel": {"blades": 1, "diameter": 127, "length": 533}}, False),
        ({"reel": {"blades": 11, "length": 533}}, False),
        ({"nonsense": 1}, False),
        ({"readings": [{"of": "nonsense"}]}, False),
        ({"readings": [{"of": "land", "value": "1 mm", "at": "left"}]}, True),
    ],
)
def test_the_json_schema_refuses_what_it_can(change, valid) -> None:
    data = {"unit": {"name": "x"}, "reel": {"blades": 11, "diameter": "127 mm", "length": 533}, **change}
    assert jsonschema.Draft202012Validator(json_schema()).is_valid(data) is valid


def test_schema_carries_kind_unit_and_range() -> None:
    diameter = json_schema()["$defs"]["ReelSection"]["properties"]["diameter"]
    assert (diameter["x-kind"], diameter["x-unit"], diameter["x-range"]) == ("length", "mm", [40, 600])
    assert json.loads(json.dumps(json_schema())) == json_schema()


def test_the_page_names_every_field_quantity_and_gauge() -> None:
    page = field_reference()
    for _, model, _ in sections():
        for field in described(model):
            assert f"| `{field.key}` |" in page
            assert field.meaning
    for name in (*QUANTITIES, *GAUGE_KINDS):
        assert f"| `{name}` |" in page
    assert set(GAUGE_MEANING) == set(GAUGE_KINDS)


def test_the_page_needs_no_cell_to_break_its_table() -> None:
    rows = [line for line in field_reference().splitlines() if line.startswith("|")]
    assert all(line.endswith("|") for line in rows)


def test_a_path_leads_to_its_section() -> None:
    assert model_at(("readings", 3)).__name__ == "Reading"
    assert model_at(("nonsense",)) is None
    assert model_at(("reel", "blades")) is None


def test_gauges_of_a_quantity_show_its_kind() -> None:
    from sparkout.visit.quantities import gauge_shows

    for name, entry in QUANTITIES.items():
        assert all(gauge_shows(gauge)[0] == entry.kind for gauge in entry.gauges), name
        assert entry.read or entry.limited
        assert entry.core_range[0] < entry.core_range[1]
