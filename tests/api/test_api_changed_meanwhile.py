"""Two programs, or a program and a person, change the same thing: told with both, never overwritten unseen."""

from __future__ import annotations

from typing import Any

import pytest
from tests.api.conftest import Program
from tests.records.workshops import Bench, diameter, key

from sparkout.records.models import Gauge, Place, Reading
from sparkout.records.operations.equipment import change_gauge
from sparkout.records.operations.readings import correct_reading
from sparkout.records.operations.units import add_place, change_place
from sparkout.records.operations.visits import revise_visit


def test_a_reading_corrected_meanwhile(api: Program, on_bench: Bench) -> None:
    reading = diameter(on_bench, "125.4 mm")
    theirs = correct_reading(actor=on_bench.me, reading=reading, expected_version=1, key=key(), value="125.6 mm")
    for path in (f"readings/{reading.pk}/correct", f"readings/{theirs.pk}/correct"):
        error = api.refused("POST", path, {"expected_version": 1, "value": "125.5 mm"}, 409)[0]
        assert (error["theirs"], error["mine"]) == ("125.6 mm", "125.5 mm")
        assert (error["version"], error["id"]) == (2, theirs.pk)
    told = api.told("POST", f"readings/{theirs.pk}/correct", {"expected_version": 2, "value": "125.5 mm"}, 201)
    assert (told["version"], told["replaces"]) == (3, theirs.pk)
    error = api.refused("POST", f"readings/{reading.pk}/withdraw", {"expected_version": 2}, 409)[0]
    assert error["theirs"] == "125.5 mm"


def test_a_place_taken_meanwhile(api: Program, on_bench: Bench) -> None:
    diameter(on_bench, "125.4 mm")
    body = {"of": "diameter", "gauge": "tape 1", "at": "left", "value": "125.6 mm"}
    error = api.refused("POST", f"visits/{on_bench.visit.pk}/readings", {**body, "if_empty": True}, 409)[0]
    assert (error["theirs"], error["version"]) == ("125.4 mm", 1)
    api.told("POST", f"visits/{on_bench.visit.pk}/readings", body, 201)
    assert Reading.objects.count() == 2


def test_a_visit_described_meanwhile(api: Program, on_bench: Bench) -> None:
    revise_visit(actor=on_bench.me, visit=on_bench.visit, notes="theirs")
    path = f"visits/{on_bench.visit.pk}"
    error = api.refused("PATCH", path, {"notes": "mine", "expected": {"notes": None}}, 409)[0]
    assert (error["theirs"], error["mine"]) == ("theirs", "mine")
    assert api.told("PATCH", path, {"notes": "mine", "expected": {"notes": "theirs"}})["notes"] == "mine"


def test_a_change_is_made_only_to_what_was_seen(api: Program, on_bench: Bench) -> None:
    gauge = Gauge.objects.get(name="tape 1")
    path = f"gauges/{gauge.pk}"
    seen = api.get(path).headers["ETag"]
    change_gauge(actor=on_bench.me, gauge=gauge, resolution="0.2 mm")
    error = api.refused("PUT", path, {"resolution": "0.1 mm"}, 412, **{"If-Match": seen})[0]
    assert error["message"] == "gauge tape 1 was changed meanwhile: ask for it again, then change it"
    assert error["current"]["gauge"]["resolution_mm"] == 0.2
    assert Gauge.objects.get(name="tape 1").spec["resolution"] == "0.2 mm"
    made = api.ask("PUT", path, {"resolution": "0.1 mm"}, **{"If-Match": f'"other", {error["tag"]}'})
    assert made.status_code == 200
    assert made.headers["ETag"] == api.get(path).headers["ETag"] != seen


def test_sent_again_with_its_key_is_answered_though_it_has_changed_by_itself(api: Program) -> None:
    place = api.told("POST", "places", {"name": "first"}, 201)
    path = f"places/{place['id']}"
    headers = {"If-Match": api.get(path).headers["ETag"], "Idempotency-Key": str(key())}
    for _ in range(2):
        assert api.told("PUT", path, {"name": "second"}, **headers)["name"] == "second"
    api.refused("PUT", path, {"name": "third"}, 412, **{"If-Match": headers["If-Match"]})


def test_any_state_is_meant_by_a_star(api: Program, on_bench: Bench) -> None:
    place = add_place(actor=on_bench.me, name="first")
    assert api.told("PUT", f"places/{place.pk}", {"name": "second"}, **{"If-Match": "*"})["name"] == "second"


def test_what_is_still_so_is_not_told_again(api: Program, on_bench: Bench) -> None:
    place = add_place(actor=on_bench.me, name="first")
    first = api.get(f"places/{place.pk}")
    again = api.get(f"places/{place.pk}", **{"If-None-Match": first.headers["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    change_place(actor=on_bench.me, place=place, name="second")
    assert api.get(f"places/{place.pk}", **{"If-None-Match": first.headers["ETag"]}).status_code == 200


@pytest.mark.parametrize("times", [8])
def test_at_the_same_moment_one_change_holds(api: Program, on_bench: Bench, many_at_once: Any, times: int) -> None:
    place = add_place(actor=on_bench.me, name="first")
    seen = api.get(f"places/{place.pk}").headers["ETag"]

    def change(i: int) -> int:
        made = api.ask("PUT", f"places/{place.pk}", {"name": f"by {i}"}, **{"If-Match": seen})
        return int(made.status_code)

    found = many_at_once([lambda i=i: change(i) for i in range(times)])
    assert sorted(found) == [200] + [412] * (times - 1)
    assert Place.objects.get(pk=place.pk).name == f"by {found.index(200)}"


def test_at_the_same_moment_one_key_enters_once(api: Program, on_bench: Bench, many_at_once: Any) -> None:
    mine = str(key())
    body = {"of": "diameter", "gauge": "tape 1", "at": "left", "value": "125.4 mm"}

    def enter() -> int:
        headers = {"Idempotency-Key": mine}
        return int(api.told("POST", f"visits/{on_bench.visit.pk}/readings", body, 201, **headers)["id"])

    found = many_at_once([enter] * 6)
    assert len(set(found)) == 1, found
    assert Reading.objects.count() == 1
