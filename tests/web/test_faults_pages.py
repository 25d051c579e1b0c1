"""Why does it look like that: the same ranking as the core's, answers in the address, what is on file, kept once."""

import json
import re
import uuid
from datetime import timedelta

import pytest
from django.test import Client
from tests.records.workshops import Bench

from sparkout.core.faults.diagnosis import Answer, diagnose
from sparkout.core.faults.reading import usual_tables
from sparkout.records.models import Event, HistoryLine, Unit, Visit
from sparkout.records.operations.doing import today
from sparkout.records.operations.faults import keep_ranking
from sparkout.visit.problems import VisitProblems

TABLES = usual_tables()


def ahead_of(text: str) -> dict[str, str]:
    found = re.search(r'<script type="application/json" id="ahead">(.*?)</script>', text, re.DOTALL)
    assert found is not None
    pages: dict[str, str] = json.loads(found[1])
    return pages


def test_nothing_seen_yet_lists_what_can_be_seen(client: Client) -> None:
    text = client.get("/why/").content.decode()
    assert all(f'value="{finding.id}.y"' in text for finding in TABLES.seen)
    assert ahead_of(text) == {}


def test_the_ranking_is_the_cores(client: Client) -> None:
    text = client.get("/why/?a=torn-one-end.y&a=rocks.n&a=rattle.u").content.decode()
    answers = [Answer("torn-one-end", 1.0), Answer("rocks", 0.0), Answer("rattle", None)]
    best = diagnose(TABLES, answers).best
    assert f"<b>{best.chance:.0%}".replace("%", " %") in text
    assert "Why, and what we would do" in text
    assert "gloves" in text, "the caution stands beside the check"
    assert 'href="?a=torn-one-end.y&amp;a=rocks.n"' in text, "undo"


def test_what_is_ahead_is_what_the_server_would_show(client: Client) -> None:
    pages = ahead_of(client.get("/why/?a=hand-bands.y").content.decode())
    assert len(pages) == 12
    plain = re.compile(r'value="[0-9a-f-]{36}"')
    address, shown = next(iter(pages.items()))
    asked = client.get(f"/why/ahead/{address}").json()
    assert plain.sub("", asked[address]) == plain.sub("", shown)
    assert address in asked
    assert len(asked) == 13


@pytest.mark.parametrize(
    "query", ["a=nonsense.y", "a=torn-all", "a=torn-all.x", "a=.y", "unit=abc", "unit=-1", "unit=٣", "a=" + "x" * 5000]
)
def test_what_is_no_answer_is_left_out(client: Client, query: str) -> None:
    assert client.get(f"/why/?{query}").status_code == 200


def test_an_unknown_unit(client: Client) -> None:
    assert client.get("/why/?unit=99999").status_code == 404
    assert client.get("/why/ahead/?unit=99999").status_code == 404
    assert client.post("/why/keep/", {"a": "clack.y"}).status_code == 404


def test_what_is_on_file_is_known_with_a_link_and_not_asked(visitor: Client) -> None:
    visit = next(v for v in Visit.objects.filter(state="signed").order_by("-pk") if "cone" in str(v.as_signed))
    text = visitor.get(f"/why/?unit={visit.unit_id}&a=torn-one-end.y").content.decode()
    assert "measured, against the limit" in text
    assert re.search(r'href="/visits/\d+/"', text)


def test_sand_of_late_counts_and_sand_of_long_ago_does_not(client: Client, on_bench: Bench) -> None:
    unit = Unit.objects.order_by("pk")[0]
    event = Event.objects.create(kind="sand", on=today() - timedelta(days=3), unit=unit)
    text = client.get(f"/why/?unit={unit.pk}").content.decode()
    assert f"/workshop/turf/{event.pk}/" in text
    Event.objects.filter(pk=event.pk).update(on=today() - timedelta(days=40))
    assert f"/workshop/turf/{event.pk}/" not in client.get(f"/why/?unit={unit.pk}").content.decode()


def test_kept_once_with_the_unit(client: Client, on_bench: Bench) -> None:
    unit = Unit.objects.order_by("pk")[0]
    sent = {"unit": unit.pk, "a": ["torn-all.y", "edge-round.n"], "key": str(uuid.uuid4())}
    for _ in range(2):
        assert client.post("/why/keep/", sent)["Location"] == f"/workshop/units/{unit.pk}/"
    (line,) = HistoryLine.objects.filter(action="keep_ranking")
    assert line.after["answers"] == [
        {"finding": "torn-all", "answer": "yes"},
        {"finding": "edge-round", "answer": "no"},
    ]
    assert len(line.after["causes"]) == 3
    assert "looked for a fault" in client.get(f"/workshop/units/{unit.pk}/").content.decode()


def test_nothing_to_keep_is_refused(on_bench: Bench) -> None:
    unit = Unit.objects.order_by("pk")[0]
    with pytest.raises(VisitProblems, match="nothing was answered"):
        keep_ranking(actor=on_bench.me, unit=unit, answers={}, causes={})
    with pytest.raises(VisitProblems, match="answered by y, n or u"):
        keep_ranking(actor=on_bench.me, unit=unit, answers={"clack": "maybe"}, causes={})


def test_a_page_is_light_enough_for_a_poor_wireless(client: Client) -> None:
    assert len(client.get("/why/?a=torn-all.y").content) < 120_000
