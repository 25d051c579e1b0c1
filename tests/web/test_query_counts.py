"""The number of queries does not grow with what is on file."""

import uuid

from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from tests.records.workshops import Bench

from sparkout.records.operations.parts import add_reel, fit_reel
from sparkout.records.operations.turf import record_event
from sparkout.records.operations.units import add_unit
from sparkout.web.workshop.kinds import KINDS


def count(client: Client, path: str) -> int:
    client.get(path)
    with CaptureQueriesContext(connection) as queries:
        assert client.get(path).status_code == 200
    return len(queries)


def test_board(client: Client, on_bench: Bench) -> None:
    """Counted right after something was written, when nothing kept stands; asked again, it takes next to none."""

    def first(path: str) -> int:
        add_unit(actor=on_bench.me, name=f"more {uuid.uuid4()}")
        with CaptureQueriesContext(connection) as queries:
            assert client.get(path).status_code == 200
        return len(queries)

    before = first("/")
    for number in range(70):
        add_unit(actor=on_bench.me, name=f"unit {number}")
    whether_written = 0 if connection.vendor == "sqlite" else 1
    assert first("/") <= before <= 13 + whether_written
    assert first("/?machine=greens+machine+1") == before
    assert first("/?page=2") <= before
    assert first("/?q=unit&state=never") <= before
    assert count(client, "/") <= 3  # on PostgreSQL, whether anything was written is a question too


def test_workshop_pages(client: Client, on_bench: Bench) -> None:
    """Lists of things, the grid of hours, and search ask as often for seventy as for one."""
    machine = on_bench.unit.position.machine
    paths = [f"/workshop/{kind}/" for kind in KINDS]
    paths += ["/workshop/", "/workshop/hours/", "/workshop/turf/", "/workshop/limits/", "/search/?q=unit"]
    paths += ["/stance/", "/clip/", f"/matching/?machine={machine.pk}"]
    record_event(actor=on_bench.me, kind="stone", on="2026-11-01", unit=on_bench.unit)
    before = {path: count(client, path) for path in paths}
    for number in range(70):
        unit = add_unit(actor=on_bench.me, name=f"unit x{number}", machine=machine, position=f"at {number}")
        reel = add_reel(actor=on_bench.me, part_type=on_bench.reel.type, label=f"reel x{number}")
        fit_reel(actor=on_bench.me, unit=unit, reel=reel)
        record_event(actor=on_bench.me, kind="stone", on="2026-11-01", unit=unit)
    assert {path: count(client, path) for path in paths} == before
    assert max(before.values()) <= 21


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
