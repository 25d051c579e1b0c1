"""What is sent: unread forms, broken JSON, strange entries, units in names; refused clearly, never with a traceback."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.api.conftest import ROOT, Program
from tests.records.workshops import Bench
from tests.visit.any_visit import visits

from sparkout.records.models import Person, Place
from sparkout.visit.fields import sections
from sparkout.web.api.door import ROUTES
from sparkout.web.api.route import Route
from sparkout.web.api.units import as_typed, with_numbers


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b"{", "not readable as JSON: line 1, expecting property name enclosed in double quotes"),
        (b'{"name": "a", "name": "b"}', "'name' stands in one table twice"),
        (b"[]", "a list stands where a table is wanted"),
        (b'"name"', "'name' stands where a table is wanted"),
        (b"null", "nothing stands where a table is wanted"),
        (b'{"name": NaN}', "NaN is no number in JSON"),
        (b'{"name": 1e999}', "1e999 is too large for a number"),
        (b'{"name": ' + b"9" * 5000 + b"}", "a number of 5000 digits stands here; allowed: up to 40"),
        (b'{"name": "\xff"}', "what was sent is not UTF-8"),
        (b'{"name": "\\ud800"}', "half a character (a lone surrogate) stands in a text"),
        (b'{"name": ' + b"[" * 100 + b"]" * 100 + b"}", "lists or tables are nested too deeply"),
        (b"[" * 100_000 + b"]" * 100_000, "lists or tables are nested too deeply"),
        (b'{"name": "a\\u0000b"}', "holds the control character"),
        (b'{"name": ["a"]}', "a list is not a text"),
        (b"{}", "name: needed: a name of its own."),
        (b'{"name": null}', "name: needed: a name of its own."),
        (b'{"name": ""}', "allowed: 1 to 100 characters"),
        (b'{"nam": "a"}', "there is no 'nam' here. Did you mean name?"),
        (b'{"name": "' + b"a" * 101 + b'"}', "allowed: 1 to 100 characters"),
    ],
)
def test_what_cannot_be_read(api: Program, content: bytes, told: str) -> None:
    before = Place.objects.count()
    errors = api.refused("POST", "places", content)
    assert any(told in error["message"] for error in errors), errors
    assert Place.objects.count() == before


@pytest.mark.parametrize("kind", ["application/x-www-form-urlencoded", "text/plain", "multipart/form-data; boundary=x"])
def test_another_form_is_not_guessed_at(api: Program, kind: str) -> None:
    error = api.refused("POST", "places", b"name=a", 415, **{"Content-Type": kind})[0]
    assert "allowed: application/json" in error["message"]


def test_more_than_is_read_at_once_is_told_with_how_much_is(api: Program) -> None:
    error = api.refused("POST", "places", b'{"name": "' + b"a" * 20_000_000 + b'"}', 413)[0]
    assert error["message"] == "more was sent than is read here; allowed: up to 20 MB"


def test_a_byte_order_mark_does_no_harm(api: Program) -> None:
    assert api.told("POST", "places", b'\xef\xbb\xbf{"name": "a"}', 201)["name"] == "a"


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("nowhere", 404),
        ("places/1x", 404),
        ("places/-1", 404),
        ("places/", 404),
        ("", 404),
        (f"places/{'9' * 5000}", 404),
    ],
)
def test_no_such_address(api: Program, path: str, status: int) -> None:
    error = api.refused("GET", path, None, status)[0]
    assert error["message"] == "there is no such address; /api/1/docs lists them all"


def test_a_method_that_is_not_taken(api: Program) -> None:
    made = api.ask("DELETE", "places")
    assert made.status_code == 405
    assert set(made.headers["Allow"].split(", ")) == {"GET", "POST"}
    assert made.json()["errors"][0]["message"].startswith("this address does not take that method; allowed: ")


def test_another_host_is_refused_in_the_same_form(api: Program) -> None:
    made = Client(SERVER_NAME="evil.example").get(f"{ROOT}places")
    assert made.status_code == 400
    assert made.json()["errors"][0]["message"] == "the request cannot be read"


def test_a_fault_of_ours_is_told_as_one(api: Program, monkeypatch: pytest.MonkeyPatch, caplog: Any) -> None:
    from sparkout.web.api import route

    def broken(*_: object) -> None:
        raise ZeroDivisionError("secret inside")

    monkeypatch.setattr(route, "told", broken)
    client = Client(SERVER_NAME="localhost", raise_request_exception=False)
    made = client.get(f"{ROOT}workshop", HTTP_AUTHORIZATION=f"Bearer {api.token}")
    assert made.status_code == 500
    assert "not yours" in made.json()["errors"][0]["message"]
    assert b"secret" not in made.content
    assert "ZeroDivisionError" in caplog.text


def test_the_session_opens_nothing(on_bench: Bench) -> None:
    """Who sits in front of the pages has no say here: a page elsewhere cannot ask in their name."""
    client = Client(SERVER_NAME="localhost", enforce_csrf_checks=False)
    assert client.post("/who/", {"person": on_bench.me.pk, "next": "/"}).status_code == 302
    assert client.get(f"{ROOT}workshop").status_code == 401
    assert client.post(f"{ROOT}places", b'{"name": "a"}', "application/json").status_code == 401
    assert not Place.objects.filter(name="a").exists()


def test_no_page_elsewhere_is_let_in(api: Program) -> None:
    made = api.ask("OPTIONS", "places", None, Origin="https://evil.example")
    assert not [name for name in made.headers if name.lower().startswith("access-control")]
    assert not [n for n in api.get("places", Origin="https://evil.example").headers if "access-control" in n.lower()]


def test_no_token_in_the_address(api: Program) -> None:
    for query in (f"?token={api.token}", f"?access_token={api.token}"):
        assert Program().get(f"places{query}").status_code == 401


def test_everything_wrong_is_told_at_once(api: Program, on_bench: Bench) -> None:
    body = {"of": "diameter", "gauge": "tape 9", "at": "lef", "value": "125 kg", "blade": 99, "strange": 1}
    errors = api.refused("POST", f"visits/{on_bench.visit.pk}/readings", {**body, "if_empty": "yes"})
    assert {e["where"] for e in errors} == {"strange", "if_empty"}
    errors = api.refused(
        "POST", f"visits/{on_bench.visit.pk}/readings", {k: v for k, v in body.items() if k != "strange"}
    )
    assert {e["argument"] for e in errors} >= {"at", "value", "blade"}
    value = next(e for e in errors if e["argument"] == "value")
    assert value["allowed"] == "40 to 600"
    assert value["unit"] == "mm"


@pytest.mark.parametrize(
    ("body", "told"),
    [
        ({"diameter": "5 in", "diameter_mm": 127.0}, None),
        ({"diameter_mm": 127}, None),
        (
            {"diameter": "5 in", "diameter_mm": 126},
            "'5 in' and 126 are not the same; send one of diameter and diameter_mm",
        ),
        ({"diameter_mm": "127"}, "'127' is not a number"),
        ({"diameter_mm": True}, "true is not a number"),
        ({"diameter_in": 5}, "there is no 'diameter_in'"),
        ({"diameter_mm": None, "diameter": 127}, None),
        ({"diameter_mm": 700}, "is too large; allowed: 40 to 600 mm"),
    ],
)
def test_numbers_under_names_with_units(api: Program, body: dict[str, Any], told: str | None) -> None:
    spec = {"blades": 11, "length_mm": 533, **body}
    if told is None:
        made = api.told("POST", "reel-types", {"name": "new", "spec": spec}, 201)["spec"]
        assert (made["diameter_mm"], made["length_mm"]) == (127.0, 533.0)
        assert api.told("PUT", "reel-types/1", {"spec": made})["spec"]["diameter_mm"] == 127.0
    else:
        errors = api.refused("POST", "reel-types", {"name": "new", "spec": spec})
        assert any(told in error["message"] for error in errors), errors


SECTIONS = {name: section for name, section, _ in sections()}


@given(visits())
@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))
def test_what_is_told_can_be_sent_back(data: dict[str, Any]) -> None:
    """Of every table of every visit: numbers put beside what was typed change nothing when they come back."""
    for name, content in data.items():
        if name not in SECTIONS:
            continue
        for table in content if isinstance(content, list) else [content]:
            told = with_numbers(SECTIONS[name], table)
            assert as_typed(SECTIONS[name], told) == (table, []), (name, table, told)


JSON_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(10**39), 10**39)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)
TAKING = [route for route in ROUTES if route.takes.names or route.name == "calculate"]


def test_whatever_is_sent_the_answer_is_a_clear_one(api: Program, on_bench: Bench) -> None:
    for route in TAKING:
        if route.about is None or route.about.records().filter(pk=1).exists():
            anything_sent(api, route)


def anything_sent(api: Program, route: Route) -> None:
    path = route.path.replace("{int:number}", "1").replace("{name}", "clip")
    names = route.takes.names or ("travel_speed", "reel_speed", "blade_count")

    @given(st.dictionaries(st.sampled_from(names), JSON_VALUES, max_size=4))
    @settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
    def send(body: dict[str, Any]) -> None:
        made = api.ask(route.method, path, body)
        assert made.status_code in (200, 201, 401, 409, 422), (body, made.content[:400])
        if made.status_code > 201:
            assert all(error["message"] for error in made.json()["errors"])

    send()


def test_a_refusal_is_told_in_the_language_asked_for_and_a_person_s_own_goes_before_it(
    api: Program, on_bench: Bench
) -> None:
    def told(**headers: str) -> str:
        made = api.ask("GET", "units/9999", **headers)
        assert made.status_code == 404
        assert made.headers["Content-Language"] == ("de" if "vorhanden" in made.content.decode() else "en")
        return str(made.json()["errors"][0]["message"])

    assert told() == "there is no unit 9999"
    assert told(accept_language="de-AT,en;q=0.5") == "nicht vorhanden: Einheit 9999"
    Person.objects.filter(pk=on_bench.me.pk).update(language="en")
    assert told(accept_language="de") == "there is no unit 9999"
    Person.objects.filter(pk=on_bench.me.pk).update(language="de")
    assert told() == "nicht vorhanden: Einheit 9999"
    nobody = Program().refused("GET", "units", status=401, accept_language="de")
    assert "dazu gehört ein Schlüssel" in nobody[0]["message"]
