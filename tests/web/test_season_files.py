"""The kept plan to take away from its pages: print, workbook, the calendar's address."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from tests.records.workshops import Bench, season_set

from sparkout.records.operations.season import draft_plan

FILES = {"/season/plan-A3.pdf": b"%PDF", "/season/plan-Letter.pdf": b"%PDF", "/season/season.xlsx": b"PK"}


@pytest.mark.parametrize("address", FILES)
def test_nothing_kept_is_said_and_a_kept_plan_is_sent(client: Client, on_bench: Bench, address: str) -> None:
    refused = client.get(address)
    assert refused.status_code == 422
    assert b"no plan of the season is kept yet" in refused.content
    season_set(on_bench)
    draft_plan(actor=on_bench.me)
    sent = client.get(address)
    assert sent.status_code == 200
    assert sent.content.startswith(FILES[address])
    assert "attachment" in sent["Content-Disposition"]


def test_a_paper_nobody_has_is_not_there(client: Client, on_bench: Bench) -> None:
    assert client.get("/season/plan-A9.pdf").status_code == 404


def test_the_page_of_tokens_tells_the_address_of_a_calendar(client: Client, on_bench: Bench) -> None:
    made = client.post("/workshop/tokens/", {"name": "diary", "scope": "calendar"}).content.decode()
    assert "Authorization" not in made
    (address,) = re.findall(r'value="http://localhost(/calendar/\S+\.ics)"', made)
    season_set(on_bench)
    draft_plan(actor=on_bench.me)
    told = Client(SERVER_NAME="localhost").get(address)
    assert told.status_code == 200
    assert b"unit 3" in told.content
    ordinary = client.post("/workshop/tokens/", {"name": "sheet", "scope": "read"}).content.decode()
    assert "Authorization" in ordinary
    assert "/calendar/" not in ordinary
