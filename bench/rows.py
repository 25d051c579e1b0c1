"""Rows of a table into the records, against the driver's own executemany of the same rows, in one run.

The baseline only writes: the rows are Python values already, nothing is read from a file, nothing is checked, nobody is
told where a record came from. Bringing a table in reads the file, finds the columns, checks every cell by its field's
declaration, looks for what is there already, and writes for each record which row it came from.
"""

from __future__ import annotations

import datetime
import json
import os
import sqlite3
import tempfile
import time
import uuid
from collections.abc import Callable
from pathlib import Path
from typing import Any

from bench.timing import Line, in_turn

HOURS_ROWS = 10_000
READING_ROWS = 5_000
_PER_VISIT = 10
_START = datetime.date(2000, 1, 1)


def _hours() -> tuple[str, list[tuple[Any, ...]]]:
    """A table of clocks as text, and the same as rows for the driver."""
    days = [str(_START + datetime.timedelta(days=i // 4)) for i in range(HOURS_ROWS)]
    text = "\n".join(["Unit,Date,Hours", *(f"unit {i % 4},{day},{i} h" for i, day in enumerate(days))])
    return text, [(i % 4 + 1, day, json.dumps(f"{i} h")) for i, day in enumerate(days)]


def _readings() -> tuple[str, list[tuple[Any, ...]]]:
    places = ("left", "left quarter", "centre", "right quarter", "right")
    lines, rows = ["Unit,Date,Quantity,At,Value (mm),Gauge,Before or after"], []
    for i in range(READING_ROWS):
        visit, at = divmod(i, _PER_VISIT)
        day = _START + datetime.timedelta(days=visit // 4)
        place, when = places[at % 5], "as found" if at < 5 else "as left"
        lines.append(f"unit {visit % 4},{day},diameter,{place},{125 + i % 97 / 100:.2f},tape 1,{when}")
        value = json.dumps(f"{125 + i % 97 / 100:.2f} mm")
        rows.append((uuid.uuid4().hex, 1, "diameter", 1, json.dumps(place), value, when))
    return "\n".join(lines), rows


def _workshop(folder: Path) -> Any:
    """A small workshop of four units, on records of its own; the first person in it."""
    os.environ["SPARKOUT_DATA"] = str(folder)
    os.environ["DJANGO_SETTINGS_MODULE"] = "sparkout.server.settings"
    import django

    django.setup()
    from django.core.management import call_command

    call_command("migrate", verbosity=0, interactive=False, skip_checks=True)
    from sparkout.records.models import Person
    from sparkout.records.operations.equipment import add_gauge
    from sparkout.records.operations.parts import add_reel, add_reel_type, fit_reel
    from sparkout.records.operations.units import add_unit
    from sparkout.records.operations.workshop import set_up_workshop

    set_up_workshop(name="speed", first_person="AB")
    me = Person.objects.get()
    add_gauge(actor=me, id="tape 1", kind="tape")
    kind = add_reel_type(actor=me, name="greens", spec={"blades": 11, "diameter": "127 mm", "length": "533 mm"})
    for i in range(4):
        unit = add_unit(actor=me, name=f"unit {i}")
        fit_reel(actor=me, unit=unit, reel=add_reel(actor=me, part_type=kind, label=f"R{i}"), on=_START)
    return me


def _brings(me: Any, text: str) -> Callable[[], float | None]:
    from sparkout.records.bringing.operations import bring_in_table, receive_table
    from sparkout.records.jobs import do_now
    from sparkout.records.models import HoursEntry, Reading, TableRow, Visit

    def run() -> float | None:
        for model in (TableRow, Reading, HoursEntry, Visit):
            model.objects.all()._raw_delete("default")  # type: ignore[attr-defined] - the next round begins empty
        start = time.process_time()
        job = do_now(bring_in_table(actor=me, file=receive_table(actor=me, name="t.csv", chunks=[text.encode()])))
        assert job.told["adds"] == text.count("\n"), job.told
        return time.process_time() - start

    return run


def _writes(path: Path, table: str, columns: str, rows: list[tuple[Any, ...]]) -> Callable[[], float | None]:
    """The driver alone, with the records' own settings, all in one transaction."""
    marks = ", ".join("?" * len(columns.split(",")))

    def run() -> float | None:
        start = time.process_time()
        with sqlite3.connect(path) as connection:
            connection.executescript(f"PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; DELETE FROM {table};")
            connection.executemany(f"INSERT INTO {table} ({columns}) VALUES ({marks})", rows)
        connection.close()
        return time.process_time() - start

    return run


_SCHEMA = """
CREATE TABLE hours (id INTEGER PRIMARY KEY, unit_id INTEGER, "on" TEXT, hours TEXT);
CREATE INDEX hours_by ON hours (unit_id, "on");
CREATE TABLE reading (id INTEGER PRIMARY KEY, key TEXT UNIQUE, visit_id INTEGER, of TEXT, gauge_id INTEGER, at TEXT,
    value TEXT, "when" TEXT);
CREATE INDEX reading_of ON reading (visit_id);
"""


def lines(rounds: int) -> list[Line]:
    """Time both kinds of table beside the driver; the seconds are for all rows of the table."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        me = _workshop(folder)
        path = folder / "driver.sqlite3"
        with sqlite3.connect(path) as connection:
            connection.executescript(_SCHEMA)
        connection.close()
        (hours, hour_rows), (readings, reading_rows) = _hours(), _readings()
        plain_hours = f"executemany, {HOURS_ROWS:,} rows of hours"
        plain_readings = f"executemany, {READING_ROWS:,} readings"
        brought_hours = f"{HOURS_ROWS:,} rows of hours brought in"
        brought_readings = f"{READING_ROWS:,} readings brought in, {READING_ROWS // _PER_VISIT:,} visits"
        timed = in_turn(
            {
                plain_hours: _writes(path, "hours", 'unit_id, "on", hours', hour_rows),
                brought_hours: _brings(me, hours),
                plain_readings: _writes(
                    path, "reading", 'key, visit_id, of, gauge_id, at, value, "when"', reading_rows
                ),
                brought_readings: _brings(me, readings),
            },
            rounds,
        )
        from django.db import connection as records

        records.close()
    return [
        Line(plain_hours, timed[plain_hours], timed[plain_hours]),
        Line(brought_hours, timed[brought_hours], timed[plain_hours]),
        Line(plain_readings, timed[plain_readings], timed[plain_readings]),
        Line(brought_readings, timed[brought_readings], timed[plain_readings]),
    ]


def rows_per_second(found: list[Line]) -> str:
    """Tell the same as rows in a second."""
    counts = (HOURS_ROWS, HOURS_ROWS, READING_ROWS, READING_ROWS)
    return "\n".join(
        f"* {line.name}: {count / line.timed.median:,.0f} rows/s" for line, count in zip(found, counts, strict=True)
    )


if __name__ == "__main__":
    from bench.timing import table

    measured = lines(3)
    print(table(measured))
    print(rows_per_second(measured))
