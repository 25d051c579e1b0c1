"""After one entry only its own row is asked for: what is held then is what the records say, asked whole."""

import json
import sqlite3
from contextlib import closing
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from tests.records.workshops import Bench
from tests.web.test_entries import enter

import sparkout.records.held as held_module
from sparkout.records.held import held
from sparkout.records.operations.equipment import retire_gauge
from sparkout.records.stamp import stamp
from sparkout.records.tables import taken, visit_tables, whole_visit

DIAL = {"unit": "mm", "gauge": "dial 1"}
ENTRIES: list[tuple[str, str, dict[str, Any]]] = [
    ("diameter-f-l", "125.4", {}),
    ("diameter-f-r", "125.6", {}),
    ("run-out-f-1-l", "0.03", DIAL),  # begins a sweep
    ("run-out-f-2-c", "0.05", DIAL),
    ("diameter-f-l", "125.9", {"expected": "1"}),  # corrected, in its old place
    ("run-out-f-1-l", "0.04", {"expected": "1", **DIAL}),
    ("diameter-f-l", "again 125.8", {"expected": "2"}),
    ("run-out-f-2-c", "-", {"expected": "1", **DIAL}),  # taken out
    ("run-out-f-2-c", "0.06", DIAL),  # and entered again where a withdrawn one stands
    ("run-out-f-3-c", "0.01", DIAL),
    ("diameter-f-r", "-", {"expected": "1"}),
    ("diameter-f-r", "125.7", {}),
    ("rest_gap-f-l", "go 1.9 nogo 2.0", {"gauge": ""}),
    ("diameter-f-r", "twelve", {"expected": "1"}),  # refused
]


def as_text(tables: Any) -> str:
    return json.dumps(tables, default=str)


def rows(read: Any) -> tuple[Any, ...]:
    """What was read, down to each instance's own columns."""
    instances = [
        {name: value for name, value in vars(one).items() if name != "_state"} for one in (*read.readings, *read.sweeps)
    ]
    return instances, [tuple(cell) for cell in read.cells]


@pytest.mark.parametrize("in_parts", [True, False], ids=["answer waited for", "hasty"])
def test_it_is_what_the_records_say(client: Client, on_bench: Bench, in_parts: bool) -> None:
    client.get("/visits/1/")
    for box, line, more in ENTRIES:
        enter(client, box, line, **more, **({} if in_parts else {"more": "1"}))
        now, fresh = held(1), whole_visit(1)
        assert as_text(now.tables) == as_text(visit_tables(fresh)), line
        assert rows(now.read) == rows(taken(fresh)), line


def queries_after(client: Client, number: int) -> list[str]:
    with CaptureQueriesContext(connection) as asked:
        enter(client, f"run-out-f-{number}-l", "0.02", **DIAL)
    return [query["sql"] for query in asked]


@pytest.mark.sqlite
def test_what_an_entry_leaves_as_it_was_is_not_asked_for_again(client: Client, on_bench: Bench) -> None:
    enter(client, "diameter-f-l", "125.4")
    enter(client, "run-out-f-1-l", "0.01", **DIAL)
    carried = queries_after(client, 2)
    assert not any("records_limit" in sql or "records_keptplan" in sql for sql in carried)
    retire_gauge(actor=on_bench.me, gauge=on_bench.visit.readings.get().gauge)
    assert any("records_limit" in sql for sql in queries_after(client, 3))


@pytest.mark.sqlite
def test_what_others_write_meanwhile_is_asked_for(
    client: Client, on_bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Somebody else commits between the looking up and the entry: nothing is carried over from before that."""
    from sparkout.web.visit import entries

    real = entries.enter

    def with_others(*args: Any) -> Any:
        with closing(sqlite3.connect(connection.settings_dict["NAME"])) as other, other:
            other.execute("UPDATE records_visit SET notes = 'said by others'")
        return real(*args)

    client.get("/visits/1/")
    monkeypatch.setattr(entries, "enter", with_others)
    enter(client, "diameter-f-l", "125.4")
    assert held(1).tables["visit"]["notes"] == "said by others"
    assert (1, stamp()) in held_module._held
