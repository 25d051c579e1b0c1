"""The bench without a socket: Django's test client on this test's own records."""

from pathlib import Path

import pytest
from django.test import Client
from tests.records.workshops import Bench, bench

from sparkout.records.models import Person


@pytest.fixture
def on_bench(records: Path) -> Bench:
    return bench()


@pytest.fixture
def client(on_bench: Bench) -> Client:
    """Somebody at the small test workshop's bench."""
    return sat_down(on_bench.me)


@pytest.fixture
def visitor(demonstration: Path) -> Client:
    """Somebody in the demonstration workshop."""
    return sat_down(Person.objects.order_by("pk")[0])


def sat_down(person: Person) -> Client:
    made = Client(SERVER_NAME="localhost")
    assert made.post("/who/", {"person": person.pk, "next": "/"}).status_code == 302
    return made
