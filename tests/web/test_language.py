"""In which language a page is told: a person's own, else the workshop's; a browser's only for somebody unknown."""

import datetime
import re
from pathlib import Path

import pytest
from django.test import Client
from django.utils.translation import get_language
from tests.records.workshops import Bench

from sparkout.core.cautions import STEPS
from sparkout.core.days import at_time, dated, month_of
from sparkout.records.models import Person, Workshop
from sparkout.records.operations.workshop import change_workshop, set_preferences
from sparkout.records.queries import visit_file
from sparkout.showing import Showing
from sparkout.translation import translated
from sparkout.units import parse
from sparkout.visit.problems import VisitProblems
from sparkout.web.exchange import page as exchange

GERMAN = {"HTTP_ACCEPT_LANGUAGE": "fr;q=0.9, de-AT;q=0.8, en;q=0.5"}


def told_in(client: Client, address: str = "/", **headers: str) -> str:
    page = client.get(address, **headers).content.decode()  # type: ignore[arg-type]
    return page.partition('lang="')[2].partition('"')[0]


def test_a_person_is_told_in_the_workshops_language_until_they_choose(client: Client, on_bench: Bench) -> None:
    assert told_in(client) == "en"
    change_workshop(actor=on_bench.me, language="de")
    assert told_in(client) == "de"
    set_preferences(actor=on_bench.me, person=on_bench.me, language="en")
    assert told_in(client) == "en"


def test_the_browser_is_asked_only_about_somebody_unknown(client: Client, on_bench: Bench) -> None:
    assert told_in(client, **GERMAN) == "en"
    stranger = Client(SERVER_NAME="localhost")
    assert told_in(stranger, "/who/", **GERMAN) == "de"
    assert told_in(stranger, "/who/", HTTP_ACCEPT_LANGUAGE="fr") == "en"
    assert stranger.post("/who/manner/", {"language": "en", "next": "/who/"}, **GERMAN).status_code == 302  # type: ignore[arg-type]
    assert told_in(stranger, "/who/", **GERMAN) == "en"


def test_first_start_asks_for_the_language_and_keeps_it(records: Path) -> None:
    ask = Client(SERVER_NAME="localhost")
    page = ask.get("/start/", **GERMAN).content.decode()  # type: ignore[arg-type]
    assert '<option value="de" selected>Deutsch' in page
    assert '<option value="," selected>' in page
    mine = {"name": "ours", "first_person": "me", "units": "mm", "vocabulary": "uk", "decimal": ",", "paper_size": "A4"}
    assert ask.post("/start/", {**mine, "language": "xx"}).status_code == 422
    assert ask.post("/start/", {**mine, "language": "de"}).status_code == 302
    assert Workshop.objects.get().language == "de"
    assert Person.objects.get().language is None
    assert told_in(ask, "/workshop/", HTTP_ACCEPT_LANGUAGE="en") == "de"


def test_both_trade_vocabularies_are_told_by_their_own_words(client: Client, on_bench: Bench) -> None:
    """Said in the words of one of them both read the same."""
    for page in ("/workshop/settings/", f"/workshop/people/{on_bench.me.pk}/"):
        told = client.get(page).content.decode()
        assert ">cylinder and bottom blade<" in told, page
        assert ">reel and bedknife<" in told, page


def test_big_keys_type_in_the_readers_own_manner(client: Client, on_bench: Bench) -> None:
    def keys() -> set[str]:
        return set(re.findall('data-key="([^"]+)"', client.get("/visits/1/").content.decode()))

    assert {"go", "nogo", "mm", "."} <= keys()
    set_preferences(actor=on_bench.me, person=on_bench.me, language="de", units="inch")
    assert {"geht", "nicht", "in", "thou", ","} <= keys()
    assert not {"go", "nogo", "mm", "."} & keys()


def test_another_reading_is_asked_for_and_placed_in_german(client: Client, on_bench: Bench) -> None:
    set_preferences(actor=on_bench.me, person=on_bench.me, language="de")
    assert ">as found<" not in client.get("/visits/1/").content.decode()
    sent = {"of": "nick depth", "at": "Links", "blade": "3", "line": "0,3 mm", "when": "as found"}
    assert client.post("/visits/1/another/", sent).status_code == 302
    (reading,) = visit_file(on_bench.visit).readings
    assert reading.at is not None
    assert reading.at.text == "left"


def test_a_language_without_a_catalogue_is_refused(on_bench: Bench) -> None:
    with pytest.raises(VisitProblems, match="language"):
        change_workshop(actor=on_bench.me, language="xx")


def test_djangos_own_texts_follow_the_reader(client: Client, on_bench: Bench) -> None:
    change_workshop(actor=on_bench.me, language="de")
    answer = client.get("/", HTTP_ACCEPT_LANGUAGE="en")
    assert (answer["Content-Language"], get_language()) == ("de", "de")


def test_a_day_is_told_in_the_language_and_may_is_a_month() -> None:
    may, german = datetime.date(2026, 5, 3), Showing(language="de", decimal=",")
    assert [Showing().say(text) for text in (dated(may), month_of(may))] == ["3 May 2026", "May 2026"]
    assert [german.say(text) for text in (dated(may), month_of(may))] == ["3. Mai 2026", "Mai 2026"]
    assert german.say(at_time(datetime.datetime(2026, 5, 3, 9, 4))) == "3. Mai 2026, 09:04"


def test_what_is_wrong_with_a_value_is_told_in_the_readers_language(client: Client, on_bench: Bench) -> None:
    set_preferences(actor=on_bench.me, person=on_bench.me, language="de", decimal=",")
    page = client.get("/stance/?reel_diameter=4+mm&front_roller_diameter=49,815+mm").content.decode()
    assert "ist zu klein; erlaubt: 40 bis 600 mm" in page
    assert "is too small" not in page
    assert "can be read" not in page


def test_a_number_proposed_to_a_reader_with_a_comma_can_be_read_again() -> None:
    """Three figures after a comma may be thousands, and are asked back: what a page proposes is never asked back."""
    german = Showing(language="de", decimal=",")
    for value in (124.5858, 3.512, 49.815, 1.25, 90.0, -4.125):
        assert parse(german.boxed(value), "length") == pytest.approx(value, abs=0.0005)


@pytest.fixture
def german(visitor: Client) -> Client:
    assert visitor.post("/who/manner/", {"language": "de", "decimal": ",", "next": "/"}).status_code == 302
    return visitor


CODE = re.compile(r"\[\d|\['|\d{4}-\d\d-\d\d|\d\.\d|\b(True|False|if due|run-out|weeks|skills|uk)\b")


@pytest.mark.parametrize("path", ["settings/", "limits/", "units/1/", "reel-types/1/", "gauges/1/", "grinders/1/"])
def test_what_was_and_what_became_is_told_as_the_page_is(german: Client, path: str) -> None:
    told = german.get(f"/workshop/{path}").content.decode().partition('id="history"')[2].partition("</details>")[0]
    lines = re.findall(r"<li>([^<].*?)</li>", told)
    assert lines
    own = ("tape 1", "(invented")
    wrong = [line for line in lines if CODE.search(line) and not any(name in line for name in own)]
    assert not wrong


def test_the_season_sheets_history_is_told_as_the_sheet_is(german: Client) -> None:
    told = german.get("/season/sheet/").content.decode().partition('id="history"')[2]
    assert "Erster Tag: " in re.sub(r"<[^>]*>", "", told)
    assert "Mo 6 · Mi 6 · Fr 6" in told
    assert not CODE.search(told.partition("</details>")[0].partition("<ol>")[2].replace('class="', ""))


def test_a_box_shows_what_is_on_file_with_the_readers_mark_and_sending_it_back_changes_nothing(german: Client) -> None:
    page = german.get("/workshop/settings/").content.decode()
    boxes = dict(re.findall(r'<input id="[^"]*" name="(\w+)"[^>]*? value="([^"]*)"', page))
    assert boxes["gap"] == "0,03 mm"
    before = Workshop.objects.get()
    sent = {**boxes, "units": "mm", "vocabulary": "uk", "decimal": ".", "language": "en", "paper_size": "A4"}
    sent |= {"relief": "if due"}
    seen = {f"seen-{name}": value for name, value in re.findall(r'name="seen-(\w+)" value="([^"]*)"', page)}
    assert german.post("/workshop/settings/", {**sent, **seen}).status_code == 302
    assert Workshop.objects.get().wanted == before.wanted
    assert german.post("/workshop/settings/", {**sent, **seen, "gap": "0,04 mm"}).status_code == 302
    assert Workshop.objects.get().wanted["gap"] == "0,04 mm"


def test_what_became_of_a_tables_rows_and_a_step_of_the_work_are_told_in_german() -> None:
    for one in (*(word for words in exchange._WORDS.values() for word in words.values()), *STEPS):
        assert translated(one, "de") != one


def test_an_address_with_nothing_at_it_and_a_page_too_old_are_told_in_the_readers_language(german: Client) -> None:
    for path in ("/nowhere/", "/units/999/", "/visits/999/", "/workshop/reels/999/"):
        answer = german.get(path)
        assert answer.status_code == 404
        page = answer.content.decode()
        assert "<h1>Hier ist nichts</h1>" in page
        assert 'href="/"' in page
    strict = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    answer = strict.post("/who/", {"person": "1"})
    assert answer.status_code == 403
    assert "Nothing was changed" in answer.content.decode()


def test_a_fault_of_the_program_has_a_page_of_its_own(german: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def fall(*_: object) -> None:
        raise RuntimeError

    german.raise_request_exception = False
    monkeypatch.setattr("sparkout.web.search.page.search", fall, raising=True)
    answer = german.get("/search/?q=fairway")
    assert answer.status_code == 500
    assert "Ein Fehler des Programms" in answer.content.decode()


@pytest.mark.parametrize("vocabulary", ["uk", "us"])
def test_the_two_trade_vocabularies_can_be_told_apart_in_either(client: Client, vocabulary: str) -> None:
    client.post("/who/manner/", {"vocabulary": vocabulary, "next": "/"})
    page = client.get("/workshop/settings/").content.decode()
    offered = re.search(r'<select id="f-vocabulary".*?</select>', page, re.S)
    assert offered is not None
    assert re.findall(r">([^<]+)</option>", offered[0]) == ["cylinder and bottom blade", "reel and bedknife"]
