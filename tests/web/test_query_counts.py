"""The number of queries does not grow with what is on file."""

import uuid

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from tests.records.workshops import Bench

from sparkout.records.operations.units import add_unit


def count(client: Client, path: str) -> int:
    client.get(path)
    with CaptureQueriesContext(connection) as queries:
        assert client.get(path).status_code == 200
    return len(queries)


def test_board(client: Client, on_bench: Bench) -> None:
    before = count(client, "/")
    for number in range(20):
        add_unit(actor=on_bench.me, name=f"more {number}")
    assert count(client, "/") == before <= 14


def test_visit_page(client: Client, on_bench: Bench) -> None:
    def enter(box: str) -> None:
        client.post(
            "/visits/1/reading/", {"box": box, "line": "0.01", "unit": "mm", "key": str(uuid.uuid4()), "more": "1"}
        )

    enter("run-out-f-1-l")
    enter("lip_height-f")
    before = count(client, "/visits/1/")
    for blade in range(2, 12):
        for place in "lcr":
            enter(f"run-out-f-{blade}-{place}")
    for box in ("front_lip_depth-f", "knife_straightness-f-l", "knife_straightness-f-c", "land-f-l"):
        enter(box)
    assert count(client, "/visits/1/") == before <= 40
