"""A page that only looks things up is told again as it was made, until something is written; its forms are new."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from tests.records.workshops import Bench

from sparkout.records.operations.units import keep_stance
from sparkout.web.stand import stance

KEY = re.compile(r'name="key" value="([0-9a-f-]{36})"')


@pytest.mark.parametrize("path", ["/stance/", "/matching/", "/clip/", "/why/"])
def test_the_same_until_something_is_written(client: Client, on_bench: Bench, path: str) -> None:
    address = f"{path}?unit={on_bench.unit.pk}" if path != "/matching/" else path
    first, again = (client.get(address).content.decode() for _ in range(2))
    tokens = re.compile(r'(csrfmiddlewaretoken[^>]*value=|name="key" value=)"[^"]*"')
    assert tokens.sub("", first) == tokens.sub("", again)
    assert not set(KEY.findall(first)) & set(KEY.findall(again))


def test_what_is_written_shows_at_once_and_forms_work(client: Client, on_bench: Bench) -> None:
    address = f"/stance/?unit={on_bench.unit.pk}"
    client.get(address)
    client.get(address)
    keep_stance(actor=on_bench.me, unit=on_bench.unit, height={"front_roller_ahead": "77 mm"})
    assert "77 mm" in client.get(address).content.decode()
    strict = Client(SERVER_NAME="localhost", enforce_csrf_checks=True)
    strict.cookies = client.cookies
    for _ in range(2):
        page = strict.get(address).content.decode()
    token = re.search(r'csrfmiddlewaretoken" value="([^"]+)"', page)
    assert token is not None
    sent = {**stance.EXAMPLE, "unit": str(on_bench.unit.pk), "csrfmiddlewaretoken": token[1]}
    assert strict.post("/stance/keep/", sent).status_code == 302


def test_words_and_units_of_the_reader_are_their_own(client: Client) -> None:
    client.get("/stance/")
    client.post("/who/manner/", {"units": "inch", "next": "/"})
    assert ">mm<" not in client.get("/stance/").content.decode().split("<main", 1)[-1]
