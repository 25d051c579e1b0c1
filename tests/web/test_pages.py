"""Every address: what it shows, whom it turns away, and what it refuses."""

import re
from pathlib import Path

import pytest
from django.test import Client
from django.urls import get_resolver, reverse
from tests.records.workshops import Bench

from sparkout.records.board import board as board_rows
from sparkout.records.models import Gauge, Person, Unit, Workshop
from sparkout.server.security import POLICY

ARGUMENTS = {"form": "xlsx", "kind": "gauges", "number": 1, "unit": 1, "box": "diameter-f-l", "name": "passes"}
ARGUMENTS |= {"paper": "A4", "token": "none", "which": 0}
ADDRESSES = {name: entry[0][0] for name, entry in get_resolver().reverse_dict.items() if isinstance(name, str)}
POSTED = {
    "start-demonstration",
    "manner",
    "open",
    "reading",
    "ahead",
    "another",
    "look",
    "keep",
    "pass",
    "paper",
    "sign",
}
POSTED |= {"set-aside", "correct", "bring", "end", "end-limit", "end-token", "faults-keep"}
POSTED |= {"table-receive", "table-enter", "table-stop"}
POSTED |= {"season-release", "season-plan", "season-stop", "season-keep", "season-begin", "season-forget"}
POSTED |= {"season-remove", "ahead"}
POSTED |= {
    "stance-keep",
    "hear",
    "enter-run-down",
    "authorise",
    "end-authorisation",
    "withdraw-exposure",
    "end-fault-table",
}
POSTED |= {"attach-unit", "attach-visit", "describe-attachment", "remove-attachment"}
ATTACHED = {
    "heard",
    "attachment",
    "attachment-small",
    "attachment-large",
    "attachment-original",
}  # tests/web/test_attached.py
FOR_ANYBODY = {"away", "calendar", "manner"}
"""A script that holds nobody's data; what asks for a secret in its address; the language chosen before a name is."""
OF_A_TABLE = {"table-columns", "table-rows", "table-progress", "table-refused"}  # tests/web/test_exchange_pages.py
OF_A_SEASON = {"calendar", "season-calendar", "season-print", "season-workbook"}  # tests/web/test_season_files.py
OF_A_SEASON |= {"season-entry", "season-entry-new", "season-fan", "season-figures", "season-move", "season-picture"}
"""With a sheet, a plan or figures that this workshop has not: tests/web/test_season_pages.py."""
SHOWN = (
    set(ADDRESSES) - POSTED - OF_A_TABLE - OF_A_SEASON - ATTACHED - {"start", "event", "knife"}
)  # events: tests/web/test_forms.py


def address(name: str) -> str:
    return reverse(name, kwargs={key: ARGUMENTS[key] for key in ADDRESSES[name][1]})


@pytest.mark.parametrize("name", sorted(SHOWN))
def test_shown_to_somebody(client: Client, on_bench: Bench, name: str) -> None:
    answer = client.get(address(name))
    assert answer.status_code == 200, answer.content[:300]
    assert answer["Content-Security-Policy"] == POLICY
    if answer["Content-Type"].startswith("text/html") and b"<html" in answer.content:
        text = answer.content.decode()
        assert " style=" not in text
        assert "<script>" not in text
        assert " onclick" not in text
    for _ in answer.streaming_content if answer.streaming else ():
        pass  # a file sent is closed when it has been sent


@pytest.mark.parametrize("name", sorted(SHOWN - FOR_ANYBODY - {"who"}))
def test_a_stranger_is_asked_who_they_are(on_bench: Bench, name: str) -> None:
    answer = Client(SERVER_NAME="localhost").get(address(name))
    assert (answer.status_code, answer["Location"].partition("?")[0]) == (302, "/who/")


@pytest.mark.parametrize("name", sorted(set(ADDRESSES) - FOR_ANYBODY - {"start", "start-demonstration"}))
def test_an_empty_workshop_is_set_up_first(records: Path, name: str) -> None:
    ask = Client(SERVER_NAME="localhost")
    answer = ask.post(address(name)) if name in POSTED else ask.get(address(name))
    assert (answer.status_code, answer["Location"]) == (302, "/start/")


@pytest.mark.parametrize("name", sorted(POSTED))
def test_what_changes_something_is_posted_with_a_token(client: Client, name: str) -> None:
    assert client.get(address(name)).status_code == 405
    strict = Client(enforce_csrf_checks=True, SERVER_NAME="localhost")
    assert strict.post(address(name)).status_code == 403


@pytest.mark.parametrize("name", sorted(n for n in SHOWN if "number" in ADDRESSES[n][1]))
def test_what_is_not_there(client: Client, name: str) -> None:
    arguments = {key: ARGUMENTS[key] for key in ADDRESSES[name][1]} | {"number": 999}
    assert client.get(reverse(name, kwargs=arguments)).status_code == 404


def test_first_start(records: Path) -> None:
    ask = Client(SERVER_NAME="localhost")
    assert b"demonstration workshop" in ask.get("/start/").content
    refused = ask.post("/start/", {"name": "", "first_person": "me"})
    assert refused.status_code == 422
    assert b"allowed: 1 to 100 characters" in refused.content
    mine = {
        "name": "ours",
        "first_person": "me",
        "units": "inch",
        "vocabulary": "us",
        "decimal": ",",
        "language": "en",
        "paper_size": "Letter",
    }
    assert ask.post("/start/", mine)["Location"] == "/workshop/"
    made = Workshop.objects.get()
    assert (made.units, made.vocabulary, made.decimal, made.paper_size) == ("inch", "us", ",", "Letter")
    assert ask.get("/start/").status_code == 302
    assert b"Bedknife" in ask.get("/workshop/").content or b"Reel" in ask.get("/workshop/").content


def test_first_start_counts_no_bare_figure_as_mm_where_inches_are_chosen(records: Path) -> None:
    ask = Client(SERVER_NAME="localhost", headers={"Accept-Language": "de"})
    manner = {"units": "inch", "vocabulary": "uk", "decimal": ",", "language": "de", "paper_size": "A4"}
    form = {"name": "wir", "first_person": "ich"} | manner
    tape = {"gauge-tape": "on", "gauge-tape-id": "Band", "gauge-tape-calibration_uncertainty": "0,002"}
    bare = ask.post("/start/", form | tape)
    assert (bare.status_code, Workshop.objects.exists()) == (422, False)
    assert "hat keine Einheit" in bare.content.decode()
    offered = ask.get("/start/").content.decode()
    assert 'value="Umfangsband 1"' in offered
    assert 'value="0,25 mm"' in offered
    told = tape | {"gauge-tape-calibration_uncertainty": "0,002 Zoll", "gauge-tape-resolution": "1/64 Zoll"}
    assert ask.post("/start/", form | told).status_code == 302
    assert Gauge.objects.get().spec == {"resolution": "1/64 Zoll", "calibration_uncertainty": "0,002 Zoll"}


def test_the_demonstration_is_loaded_once(records: Path) -> None:
    ask = Client(SERVER_NAME="localhost")
    ask.post("/start/demonstration/")
    count = Unit.objects.count()
    assert count == 14
    ask.post("/start/demonstration/")
    assert Unit.objects.count() == count


def test_who(client: Client, on_bench: Bench) -> None:
    assert client.post("/who/", {"person": 99}).status_code == 422
    assert client.post("/who/", {"person": "x"}).status_code == 422
    assert client.post("/who/", {"name": "CD", "next": "/units/1/"})["Location"] == "/units/1/"
    assert Person.objects.filter(name="CD").exists()
    assert client.post("/who/", {"name": "CD"}).status_code == 422
    assert client.post("/who/", {"person": on_bench.me.pk, "next": "https://elsewhere.example/"})["Location"] == "/"


def test_manner_is_the_persons_and_live(client: Client, on_bench: Bench) -> None:
    assert "cylinder" in client.get("/visits/1/").content.decode()
    client.post("/who/manner/", {"units": "inch", "vocabulary": "us", "decimal": ",", "next": "/visits/1/"})
    page = client.get("/visits/1/").content.decode()
    assert "5,0000 in" in page
    assert "Measure reel" in page
    assert client.post("/who/manner/", {"units": "furlongs"}).status_code == 422
    on_bench.me.refresh_from_db()
    assert (on_bench.me.units, on_bench.me.vocabulary, on_bench.me.decimal) == ("inch", "us", ",")


def test_bring_in_a_file(client: Client, tmp_path: Path) -> None:
    assert client.post("/workshop/bring/").status_code == 422
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('unit.name = "3"')
    with wrong.open("rb") as sent:
        assert "reel" in client.post("/workshop/bring/", {"file": sent}).content.decode()
    good = tmp_path / "good.toml"
    good.write_text('unit.name = "brought"\nreel = {blades = 11, diameter = "5 in", length = 533}')
    with good.open("rb") as sent:
        assert client.post("/workshop/bring/", {"file": sent}).status_code == 302
    assert Unit.objects.filter(name="brought").exists()


def test_board_keeps_its_filters_in_the_address(visitor: Client) -> None:
    everything = visitor.get("/").content.decode()
    assert everything.count("<li><h2>") == 14
    some = visitor.get("/?state=open").content.decode()
    assert 0 < some.count("<li><h2>") < 14
    assert '<option value="open" selected>' in some
    part = visitor.get("/?q=fairway", headers={"HX-Request": "true", "HX-Target": "list"}).content.decode()
    assert "<html" not in part
    assert 0 < part.count("<li><h2>") < 14
    assert visitor.get("/?q=nothing-like-it").content.decode().count("<li><h2>") == 0


def test_every_filter_finds_what_the_board_rows_say(visitor: Client) -> None:
    """Independent of the database's own filtering: the same choice made row by row."""
    rows = board_rows()

    def shown(query: str) -> set[int]:
        page = visitor.get(f"/?{query}").content.decode()
        return {int(pk) for pk in re.findall(r'<h2><a href="/units/(\d+)/"', page)}

    opened = {row.unit.pk for row in rows if row.open_visit}
    assert shown("state=open") == opened
    assert shown("state=ready") == {row.unit.pk for row in rows if row.last_signed and not row.open_visit}
    assert shown("state=never") == {row.unit.pk for row in rows if not row.last_signed and not row.open_visit}
    for step in {row.next_step for row in rows} - {""}:
        assert shown(f"next={step}") == {row.unit.pk for row in rows if row.next_step == step} != set()
    for machine in {row.machine for row in rows}:
        assert shown(f"machine={machine}") == {row.unit.pk for row in rows if row.machine == machine}
    assert shown("q=cuts+higher") == {
        row.unit.pk for row in rows if row.open_visit and "cuts higher" in (row.open_visit.complaint or "")
    }


def test_unit_page_tells_its_life(visitor: Client) -> None:
    unit = Unit.objects.filter(visits__state="signed").distinct()[0]
    page = visitor.get(f"/units/{unit.pk}/").content.decode()
    assert page.count("/visits/") >= unit.visits.count()
    assert "fitted" in page
    label = visitor.get(f"/units/{unit.pk}/label/").content.decode()
    assert f"http://localhost/units/{unit.pk}/" in label
    assert "<svg" in label
