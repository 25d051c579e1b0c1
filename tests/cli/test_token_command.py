"""`sparkout token`: made without a browser, known to the API, ended; refusals as everywhere."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.api.conftest import Program
from tests.cli.commands import run
from tests.records.workshops import bench

from sparkout.records.models import Person
from sparkout.records.operations.workshop import add_person


@pytest.fixture
def data(records: Path) -> Iterator[Path]:
    """A data folder with the small test workshop; the command leaves the environment as it found it."""
    bench()
    before = dict(os.environ)
    yield records
    os.environ.clear()
    os.environ.update(before)


def test_made_used_listed_ended(data: Path) -> None:
    status, token, told = run("token", "new", "office sheet", "--write", "--data", data)
    assert status == 0
    assert "acts as AB. It is shown this once" in told
    assert Program(token.strip()).told("GET", "token")["scope"] == "write"
    _, listed, _ = run("token", "list", "--data", data)
    assert re.fullmatch(
        r"sparkout_[0-9a-f]{8}  write  last used \d{4}-\d\d-\d\d \d\d:\d\dZ  +AB: office sheet\n", listed
    )
    assert token.strip()[:17] == listed[:17]
    assert run("token", "end", listed[:17], "--data", data) == (0, "The token 'office sheet' has ended.\n", "")
    assert Program(token.strip()).get("token").status_code == 401
    assert "ended" in run("token", "list", "--data", data)[1]


def test_a_token_reads_unless_told(data: Path) -> None:
    token = run("token", "new", "wall screen", "--data", data)[1].strip()
    assert Program(token).told("GET", "token")["scope"] == "read"


def test_several_people(data: Path) -> None:
    add_person(actor=Person.objects.get(), name="CD")
    status, _, told = run("token", "new", "x", "--data", data)
    assert (status, told) == (1, "say with --person who it is; known: AB, CD\n")
    status, _, told = run("token", "new", "x", "--person", "CE", "--data", data)
    assert (status, told) == (1, "nobody called 'CE' works here; known: AB, CD\n")
    token = run("token", "new", "x", "--person", "CD", "--data", data)[1].strip()
    assert Program(token).told("GET", "token")["person"]["name"] == "CD"


@pytest.mark.parametrize(
    ("words", "status", "told"),
    [
        (("end", "sparkout_00000000"), 1, "there is no token that begins with 'sparkout_00000000'"),
        (("new", " "), 1, "name: ' ' is blank; allowed: 1 to 100 characters."),
        (("new",), 2, ""),
        (("other",), 2, ""),
        (("--help",), 0, ""),
    ],
)
def test_refusals(data: Path, words: tuple[str, ...], status: int, told: str) -> None:
    found = run("token", *words, *(("--data", data) if status == 1 else ()))
    assert found[0] == status
    assert told in found[2]


def test_no_workshop_no_token(records: Path) -> None:
    before = dict(os.environ)
    try:
        status, _, told = run("token", "new", "x", "--data", records)
    finally:
        os.environ.clear()
        os.environ.update(before)
    assert status == 1
    assert "no workshop is set up" in told
