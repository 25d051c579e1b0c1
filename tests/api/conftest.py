"""The API without a socket: Django's test client with a token, on this test's own records."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.test import Client
from tests.records.workshops import Bench, bench

from sparkout.records.models import Person
from sparkout.records.operations.tokens import make_token

ROOT = "/api/1/"
_client = Client(SERVER_NAME="localhost")
"""One for all: the API knows nobody by a cookie."""


@dataclass
class Program:
    """A program that holds a token."""

    token: str = ""

    def ask(self, method: str, path: str, body: Any = None, **headers: str) -> Any:
        """Ask for something; every answer has to be JSON, or to say that it is a file."""
        sent = {f"HTTP_{name.upper().replace('-', '_')}": value for name, value in headers.items()}
        if self.token:
            sent["HTTP_AUTHORIZATION"] = f"Bearer {self.token}"
        content = body if isinstance(body, bytes) else b"" if body is None else json.dumps(body).encode()
        kind = sent.pop("HTTP_CONTENT_TYPE", "application/json")
        made = _client.generic(method, ROOT + path, content, kind, **sent)
        assert not made.cookies
        assert "html" not in made.headers.get("Content-Type", ""), made.content[:200]
        return made

    def get(self, path: str, **headers: str) -> Any:
        return self.ask("GET", path, **headers)

    def told(self, method: str, path: str, body: Any = None, status: int = 200, **headers: str) -> Any:
        """Ask, expect this status, and return what the JSON holds."""
        made = self.ask(method, path, body, **headers)
        assert made.status_code == status, (made.status_code, made.content[:2000].decode())
        return made.json()

    def refused(self, method: str, path: str, body: Any = None, status: int = 422, **headers: str) -> list[Any]:
        """Ask, expect a refusal, and return what is wrong."""
        errors = self.told(method, path, body, status, **headers)["errors"]
        for error in errors:
            assert {"where", "argument", "value", "allowed", "unit", "message"} <= set(error)
            assert error["message"]
        return list(errors)


def program(person: Person, scope: str = "write") -> Program:
    return Program(make_token(actor=person, name=f"test {scope}", scope=scope).text)


@pytest.fixture
def on_bench(records: Path) -> Bench:
    return bench()


@pytest.fixture
def api(on_bench: Bench) -> Program:
    """A program that may write, at the small test workshop's bench."""
    return program(on_bench.me)


@pytest.fixture
def reader(on_bench: Bench) -> Program:
    """One that may only read."""
    return program(on_bench.me, "read")


@pytest.fixture
def visitor(demonstration: Path) -> Program:
    """A program in the demonstration workshop."""
    return program(Person.objects.order_by("pk")[0])
