"""Killed processes and full disks: what was acknowledged is there, whole; what was not is not there at all.

A killed process is what these tests can make; a loss of power they cannot. For that SQLite is told to write every
commit through (synchronous=FULL), which a test reads back.
"""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time

import pytest
from django.db import connection
from tests.records.workshops import Bench, diameter, key

from sparkout.records.models import Gauge, HistoryLine, Reading
from sparkout.records.operations.doing import NotKept, operation
from sparkout.records.queries import visit_file

pytestmark = pytest.mark.sqlite

WRITER = """\
import sys, uuid
import django
django.setup()
from sparkout.records.models import Person, Visit
from sparkout.records.operations.readings import record_reading
me, visit = Person.objects.get(), Visit.objects.get()
print("ready", flush=True)
while True:
    key = uuid.uuid4()
    made = record_reading(
        actor=me, visit=visit, key=key, of="diameter", gauge="tape 1", at="left", value="125.4 mm", note="n" * 400
    )
    print(key, flush=True)
"""


def test_every_commit_is_written_through(records) -> None:
    with connection.cursor() as cursor:
        modes = [cursor.execute(f"PRAGMA {name}").fetchone()[0] for name in ("journal_mode", "synchronous")]
    assert modes == ["wal", 2]


def test_a_killed_writer_leaves_nothing_half_written_and_loses_nothing_acknowledged(on_bench: Bench, records) -> None:
    connection.close()
    environment = {**os.environ, "SPARKOUT_DATA": str(records), "DJANGO_SETTINGS_MODULE": "sparkout.server.settings"}
    waits = random.Random(20261125)
    acknowledged: set[str] = set()
    for _ in range(6):
        with subprocess.Popen(
            [sys.executable, "-c", WRITER], env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
        ) as writer:
            assert writer.stdout is not None
            assert writer.stdout.readline() == "ready\n", writer.communicate()[1]
            told = [writer.stdout.readline() for _ in range(waits.randint(1, 15))]
            time.sleep(waits.uniform(0.0, 0.03))  # anywhere in the next entries
            writer.send_signal(signal.SIGKILL)
            told += writer.stdout.read().splitlines(keepends=True)
            acknowledged |= {line.strip() for line in told if line.endswith("\n")}  # cut short: not acknowledged
    assert len(acknowledged) >= 6
    kept = {str(reading.key): reading for reading in Reading.objects.all()}
    assert acknowledged <= set(kept)
    # A kill between commit and answer may leave one more each time; it, too, is whole.
    assert len(kept) - len(acknowledged) <= 6
    lines = {str(line.key): line for line in HistoryLine.objects.filter(action="record_reading")}
    assert set(lines) == set(kept)
    assert {(r.value, r.note) for r in kept.values()} == {("125.4 mm", "n" * 400)}
    with connection.cursor() as cursor:
        assert cursor.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
        assert cursor.execute("PRAGMA foreign_key_check").fetchall() == []


def test_a_full_disk_keeps_nothing_of_what_it_refuses_and_all_that_was_there(on_bench: Bench) -> None:
    with connection.cursor() as cursor:
        pages = cursor.execute("PRAGMA page_count").fetchone()[0]
        cursor.execute(f"PRAGMA max_page_count={pages + 3}")
    kept, mine = 0, key()

    def until_full() -> None:
        nonlocal kept, mine
        for kept in range(1000):  # noqa: B007
            mine = key()
            diameter(on_bench, note="n" * 400, key=mine)

    with pytest.raises(NotKept, match="the disk is full"):
        until_full()
    assert Reading.objects.count() == kept == len(visit_file(on_bench.visit).readings)
    assert HistoryLine.objects.filter(action="record_reading").count() == kept
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA max_page_count=1000000")
    diameter(on_bench, note="n" * 400, key=mine)  # the same entry, sent again, gets in
    assert Reading.objects.count() == kept + 1


def test_a_locked_file_is_said_and_nothing_is_kept(on_bench: Bench, records) -> None:
    import sqlite3
    from contextlib import closing

    with connection.cursor() as cursor:
        cursor.execute("PRAGMA busy_timeout=50")
    with closing(sqlite3.connect(records / "records.sqlite3")) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(NotKept, match="another program is writing"):
            diameter(on_bench)
    diameter(on_bench)
    assert Reading.objects.count() == 1


def test_what_the_database_itself_refuses_is_tried_once_more_and_then_said(on_bench: Bench) -> None:
    tried = []

    @operation
    def lost_the_race() -> str:
        tried.append(1)
        if len(tried) == 1:
            Gauge.objects.create(name="tape 1", kind="tape")
        return "found done by the other"

    @operation
    def always_wrong() -> None:
        Gauge.objects.create(name="tape 1", kind="tape")

    assert lost_the_race() == "found done by the other"
    with pytest.raises(NotKept, match="contradicts what is on file"):
        always_wrong()
    assert Gauge.objects.count() == 3


def test_a_broken_layout_is_said(on_bench: Bench) -> None:
    with connection.cursor() as cursor:
        cursor.execute("ALTER TABLE records_reading RENAME TO gone")
    with pytest.raises(NotKept, match="cannot be written"):
        diameter(on_bench)
