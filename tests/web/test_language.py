"""In which language a page is told: a person's own, else the workshop's; a browser's only for somebody unknown."""

import datetime
import re
from pathlib import Path

import pytest
from django.test import Client
from django.utils.translation import get_language
from tests.records.workshops import Bench

from sparkout.core.days import at_time, dated, month_of
from sparkout.records.models import Person, Workshop
from sparkout.records.operations.workshop import change_workshop, set_preferences
from sparkout.records.queries import visit_file
from sparkout.showing import Showing
from sparkout.units import parse
from sparkout.visit.problems import VisitProblems

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
