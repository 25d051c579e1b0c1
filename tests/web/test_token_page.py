"""The tokens' page: shown once, listed without the secret, ended; what a program did is told as its doing."""

from __future__ import annotations

import re

from django.test import Client
from tests.api.conftest import Program
from tests.records.workshops import Bench

from sparkout.records.models import Place, Token

PAGE = "/workshop/tokens/"


def made(client: Client, name: str = "office sheet", scope: str = "write") -> str:
    page = client.post(PAGE, {"name": name, "scope": scope}).content.decode()
    found = re.search(r'id="token" class="token" value="(sparkout_[0-9a-f]{8}_[\w-]{43})"', page)
    assert found
    return found[1]


def test_shown_once(client: Client) -> None:
    token = made(client)
    assert Program(token).told("GET", "token")["name"] == "office sheet"
    again = client.get(PAGE)
    assert again.headers["Cache-Control"] == "no-store"
    page = again.content.decode()
    assert token not in page
    assert token[:17] in page
    assert token.split("_", 2)[2] not in page


def test_ended_from_the_page(client: Client) -> None:
    token = made(client)
    assert client.post(f"{PAGE}{Token.objects.get().pk}/end/").status_code == 302
    assert Program(token).get("token").status_code == 401
    assert "Tokens that ended" in client.get(PAGE).content.decode()
    told = client.post(f"{PAGE}{Token.objects.get().pk}/end/")
    assert told.status_code == 422
    assert "has ended already" in told.content.decode()


def test_what_is_wrong_stands_beside_its_box(client: Client) -> None:
    page = client.post(PAGE, {"name": "", "scope": "all"})
    assert page.status_code == 422
    assert 'id="f-name-wrong"' in page.content.decode()
    made(client)
    page = client.post(PAGE, {"name": "office sheet", "scope": "read"})
    assert page.status_code == 422
    assert "already has a token" in page.content.decode()


def test_only_somebody_makes_one(on_bench: Bench) -> None:
    assert Client(SERVER_NAME="localhost").post(PAGE, {"name": "x", "scope": "write"}).status_code == 302
    assert not Token.objects.exists()


def test_history_tells_the_program(client: Client) -> None:
    token = made(client)
    place = Program(token).told("POST", "places", {"name": "eighteen holes"}, 201)
    assert Place.objects.filter(pk=place["id"]).exists()
    page = client.get(f"/workshop/places/{place['id']}/").content.decode()
    assert "AB, by API (office sheet)" in page
