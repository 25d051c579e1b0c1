"""Numbers as somebody types them whose decimal mark is a comma: never a thousand for a decimal, or the other way."""

from __future__ import annotations

import pytest
from django.test import Client
from tests.records.workshops import Bench

from sparkout.records.models import HoursEntry, ReelType, Visit


@pytest.fixture
def german(client: Client) -> Client:
    manner = {"units": "mm", "vocabulary": "uk", "decimal": ",", "language": "de", "next": "/"}
    assert client.post("/who/manner/", manner).status_code == 302
    return client


def test_hours_in_the_grid_are_no_thousandth(german: Client, on_bench: Bench) -> None:
    sent = {"on": "2026-11-20", f"h-{on_bench.unit.pk}": "1.240"}
    asked = german.post("/workshop/hours/", sent)
    assert asked.status_code == 422
    assert "„1.240“ lässt sich als 1240 oder als 1,240 lesen" in asked.content.decode()
    for typed, kept in (
        ("1240", "1240 h"),
        ("1.241,5", "1241,5 h"),
        ("1,242", None),
        ("1242,125 Std.", "1242,125 Std."),
    ):
        answer = german.post("/workshop/hours/", {**sent, f"h-{on_bench.unit.pk}": typed})
        assert answer.status_code == (302 if kept else 422), typed
        assert kept is None or HoursEntry.objects.filter(hours=kept).exists(), typed


def test_an_area_is_a_quantity(german: Client, on_bench: Bench) -> None:
    sent = {"on": "2026-11-20", f"h-{on_bench.unit.pk}": "1240", f"a-{on_bench.unit.pk}": "viel"}
    assert german.post("/workshop/hours/", sent).status_code == 422
    assert german.post("/workshop/hours/", sent | {f"a-{on_bench.unit.pk}": "3,5"}).status_code == 302
    assert HoursEntry.objects.get(hours="1240 h").area == "3,5 ha"


def test_a_size_is_read_where_only_one_reading_is_possible(german: Client) -> None:
    form = {"name": "neu", "blades": "11", "length": "533", "diameter": "124.586"}
    assert german.post("/workshop/reel-types/new/", form).status_code == 302
    assert german.post("/workshop/reel-types/new/", form | {"name": "neuer", "diameter": "127,040"}).status_code == 302
    kept = [kind.spec["diameter"] for kind in ReelType.objects.filter(name__startswith="neu").order_by("name")]
    assert kept == ["124.586 mm", "127,0400 mm"]


def test_what_is_asked_back_is_told_as_it_was_typed(german: Client) -> None:
    told = german.post(
        "/workshop/units/1/parts/", {"kind": "reel", "what": "out", "on": "2026-11-20", "hours": "1.240"}
    )
    assert "„1.240“ lässt sich als 1240 oder als 1,240 lesen" in told.content.decode()


def test_a_visit_begins_with_no_thousandth_of_the_hours(german: Client, on_bench: Bench) -> None:
    Visit.objects.update(state="set aside")
    asked = german.post(f"/units/{on_bench.unit.pk}/visit/", {"hours": "1.240", "complaint": ""})
    assert (asked.status_code, Visit.objects.filter(state="open").exists()) == (422, False)
    assert "lässt sich als 1240 oder als 1,240 lesen" in asked.content.decode()
