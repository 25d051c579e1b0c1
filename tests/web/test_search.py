"""Search over everything: what is found, where it leads, slips of a letter, and what the page keeps."""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest
from django.test import Client
from tests.records.workshops import Bench, diameter, key

from sparkout.records.models import HistoryLine, Person
from sparkout.records.operations import equipment, job, turf, units, workshop
from sparkout.records.searching import KINDS, perhaps_meant, search, slips
from sparkout.web.search.page import TITLES


def found(page: str) -> dict[str, list[tuple[str, str]]]:
    """Return what a page found: for each kind, addresses and labels."""
    parts = re.findall(r'aria-labelledby="g-(\w+)".*?</section>', page, re.DOTALL)
    texts = re.findall(r'<section class="sheet" aria-labelledby="g-\w+">.*?</section>', page, re.DOTALL)
    links = [re.findall(r'<a class="tall" href="([^"]+)">([^<]+)</a>', text) for text in texts]
    return dict(zip(parts, links, strict=True))


def test_every_kind_is_found_and_leads_somewhere(client: Client, on_bench: Bench) -> None:
    me = on_bench.me
    units.add_place(actor=me, name="quokka green")
    units.add_machine(actor=me, name="quokka machine")
    unit = units.add_unit(actor=me, name="quokka unit")
    workshop.add_person(actor=me, name="Quokka")
    equipment.add_gauge(actor=me, id="quokka tape", kind="tape")
    equipment.add_grinder(actor=me, name="quokka grinder")
    equipment.set_limit(actor=me, quantity="cone", at_most="0.2 mm", origin="quokka book")
    turf.record_event(actor=me, kind="stone", on="2026-11-01", unit=unit, note="quokka hit")
    diameter(on_bench, note="quokka hair on it")
    job.record_work(actor=me, visit=on_bench.visit, key=key(), step="look over", what="quokka fur")
    page = client.get("/search/?q=QUOKKA").content.decode()
    told = found(page)
    kinds = ("unit", "machine", "place", "gauge", "grinder", "person", "limit", "event", "note", "work", "history")
    assert set(told) == set(kinds)
    for links in told.values():
        for address, label in links:
            assert client.get(address).status_code == 200, label
    assert set(TITLES) == set(KINDS)


def test_all_words_have_to_be_there(visitor: Client) -> None:
    assert search("fairway zebra") == []
    assert {one.kind for one in search("second reel")} >= {"reel"}
    assert [one.kind for one in search("tape", kinds=("gauge",))] == ["gauge", "gauge"]
    page = visitor.get("/search/?q=zebra+crossing").content.decode()
    assert "Nothing on file holds all these words" in page
    assert "Several words" in visitor.get("/search/").content.decode()


def test_capitals_beyond_ascii(on_bench: Bench) -> None:
    units.add_place(actor=on_bench.me, name="Übungsgrün an der Straße")
    for text in ("übungsgrün", "Übungsgrün", "grün", "uebungsgruen", "STRASSE", "strasse"):
        assert "place" in {one.kind for one in search(text)}, text


@pytest.mark.parametrize(
    ("typed", "meant"),
    [("geens", "greens"), ("bolwing gren", "bowling green"), ("fairwaay machine 1", "fairway machine 1")],
)
def test_a_slip_finds_what_was_meant(visitor: Client, typed: str, meant: str) -> None:
    assert set(perhaps_meant(typed).split()) & set(meant.split())
    page = visitor.get(f"/search/?q={typed}").content.decode()
    assert "Found instead" in page
    assert found(page)


def test_no_sense_is_not_mended(visitor: Client) -> None:
    assert perhaps_meant("xylophone") == ""
    assert perhaps_meant("") == ""
    assert perhaps_meant("bowling") == ""


def test_slips_against_brute_force() -> None:
    """Independent brute force: all texts that one slip makes of a word are one slip away."""
    letters, word = "abcde", "bade"
    around = {word[:i] + word[i + 1 :] for i in range(len(word))}
    around |= {word[:i] + letter + word[i:] for i in range(len(word) + 1) for letter in letters}
    around |= {word[:i] + letter + word[i + 1 :] for i in range(len(word)) for letter in letters}
    around |= {word[:i] + word[i + 1] + word[i] + word[i + 2 :] for i in range(len(word) - 1)}
    assert {slips(word, other) for other in around - {word}} == {1}
    assert slips(word, word) == 0
    assert slips("abc", "cab") == 2


def test_a_part_of_the_page_for_typing_on(visitor: Client) -> None:
    part = visitor.get("/search/?q=fairway", headers={"HX-Request": "true", "HX-Target": "found"}).content.decode()
    assert "<html" not in part
    assert "unit" in found(part)


def test_more_of_one_kind(client: Client, on_bench: Bench) -> None:
    for number in range(12):
        units.add_place(actor=on_bench.me, name=f"green {number}")
    few = client.get("/search/?q=green").content.decode()
    assert len(found(few)["place"]) == 6
    assert "?q=green&amp;kind=place" in few
    many = found(client.get("/search/?q=green&kind=place").content.decode())
    assert {kind: len(links) for kind, links in many.items()} == {"place": 12}
    assert "unit" in found(client.get("/search/?q=unit&kind=nonsense").content.decode())


def test_twenty_thousand_records_are_searched_in_a_tenth_of_a_second(on_bench: Bench, records: Path) -> None:
    """The goal is 100 ms; of processor time, and the best of five, because others may use this machine."""
    line, me = HistoryLine.objects.order_by("-pk")[0], Person.objects.get()
    HistoryLine.objects.bulk_create(
        HistoryLine(at=line.at, who=me, action="add_place", subject="place", subject_id=1, label=f"place {i}, a name")
        for i in range(20_000)
    )
    for text in ("place", "zebra crossing"):
        taken = []
        for _ in range(5):
            start = time.process_time()
            search(text)
            taken.append(time.process_time() - start)
        assert min(taken) < 0.1, f"{text}: {min(taken):.3f} s, in {records}"
