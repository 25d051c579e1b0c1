"""A visit file goes into the records and comes out again without loss, whatever the records say otherwise."""

from __future__ import annotations

import json
import uuid
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from tests.records.workshops import Bench
from tests.visit.any_visit import visits
from tests.visit.examples import FULL, SMALL, small

from sparkout.demonstration.listing import demonstration_files
from sparkout.records.exchange import visit_from_file
from sparkout.records.models import Gauge, Limit, Person, Reel, Unit, Visit
from sparkout.records.operations.equipment import add_gauge
from sparkout.records.operations.units import add_unit
from sparkout.records.operations.visits import set_aside_visit
from sparkout.records.operations.workshop import set_up_workshop
from sparkout.records.queries import visit_file
from sparkout.records.tables import visit_tables, whole_visit
from sparkout.visit.contradictions import contradictions
from sparkout.visit.problems import VisitProblems
from sparkout.visit.reading import read_visit
from sparkout.visit.schema import Visit as VisitFile
from sparkout.visit.writing import to_json, to_toml

FILES = {**{name: path.read_text() for name, path in demonstration_files().items()}, "full": FULL, "small": SMALL}


@pytest.fixture
def me(records) -> Person:
    set_up_workshop(name="test", first_person="AB")
    return Person.objects.get()


def from_the_rows(visit: Visit) -> VisitFile:
    """The file built from the rows, for a signed visit too: not the copy that was signed."""
    tables = json.loads(json.dumps(visit_tables(whole_visit(visit.pk)), default=str))
    if visit.as_signed:
        tables["sign_off"] = json.loads(visit.as_signed)["sign_off"]
    return VisitFile.model_validate(tables)


def in_any_order(visit: VisitFile) -> list[Any]:
    tables = json.loads(to_json(visit))
    return [
        (name, sorted(json.dumps(row) for row in content) if isinstance(content, list) else content)
        for name, content in tables.items()
    ]


@pytest.mark.parametrize("name", FILES)
def test_a_file_survives_the_records(me: Person, name: str) -> None:
    file = read_visit(FILES[name])
    made = visit_from_file(file, me)
    assert to_toml(visit_file(made)) == to_toml(file)
    assert in_any_order(from_the_rows(made)) == in_any_order(file)


@pytest.mark.parametrize("name", FILES)
def test_a_file_survives_records_that_say_otherwise(demonstration, name: str) -> None:
    file = read_visit(FILES[name])
    me, unit = Person.objects.get(name="technician A"), Unit.objects.get(name="F2 left")
    made = visit_from_file(file, me, unit)
    assert made.unit == unit
    assert in_any_order(visit_file(made)) == in_any_order(file)
    assert in_any_order(from_the_rows(made)) == in_any_order(file)


def agreeing(data: dict[str, Any]) -> VisitFile:
    """A visit of any shape, without the rows that contradict the rest."""
    while findings := contradictions(VisitFile.model_validate(data)):
        path = findings[0].path
        if isinstance(data[path[0]], list):
            del data[path[0]][path[1]]
        else:
            data[path[0]].pop(path[1])
    return VisitFile.model_validate(data)


@given(visits())
@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_visit_survives_the_records(me: Person, data: dict[str, Any]) -> None:
    data["unit"]["name"] = uuid.uuid4().hex  # a unit of its own, on machines that earlier ones may be on
    file = agreeing(data)
    for other in Visit.objects.filter(state="open"):
        set_aside_visit(actor=me, visit=other, reason="room for the next")
    made = visit_from_file(file, me)
    assert in_any_order(visit_file(made)) == in_any_order(file)
    assert in_any_order(from_the_rows(made)) == in_any_order(file)


def test_the_same_file_is_entered_once(me: Person) -> None:
    file = read_visit(FULL)
    first = visit_from_file(file, me)
    assert visit_from_file(read_visit(FULL), me) == first
    assert (Visit.objects.count(), Unit.objects.count(), Reel.objects.count()) == (1, 1, 1)


def test_a_file_set_aside_can_come_again(me: Person) -> None:
    file = read_visit(SMALL)
    first = visit_from_file(file, me)
    set_aside_visit(actor=me, visit=first, reason="by mistake")
    second = visit_from_file(file, me)
    assert second != first
    assert second.is_open


def test_an_unsigned_file_for_a_unit_on_the_bench_is_refused(on_bench: Bench) -> None:
    before = (Visit.objects.count(), Gauge.objects.count())
    with pytest.raises(VisitProblems, match="has an open visit"):
        visit_from_file(read_visit(small('[[gauges]]\nid = "new"\nkind = "tape"\n')), on_bench.me, on_bench.unit)
    assert (Visit.objects.count(), Gauge.objects.count()) == before


def test_a_name_that_several_units_have_is_asked_back(me: Person) -> None:
    for _ in range(2):
        add_unit(actor=me, name="3")
    with pytest.raises(VisitProblems, match="several units called '3'"):
        visit_from_file(read_visit(SMALL), me)


def test_a_files_limits_and_figures_stay_its_own(me: Person) -> None:
    add_gauge(actor=me, id="tape 1", kind="tape", resolution="1 mm")
    made = visit_from_file(read_visit(FULL), me)
    assert not Limit.objects.exists()
    assert Gauge.objects.get(name="tape 1").spec == {"resolution": "1 mm"}
    assert visit_file(made).gauge("tape 1").resolution.text == "0.1 mm"


def test_known_parts_are_found_again(me: Person) -> None:
    set_aside_visit(actor=me, visit=visit_from_file(read_visit(FILES["coned"]), me), reason="next")
    visit_from_file(read_visit(FILES["coned-as-left"]), me)
    assert (Unit.objects.count(), Reel.objects.count()) == (1, 1)
    assert Unit.objects.get().carrier["arm"] == "60.4 mm"
