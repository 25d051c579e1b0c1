"""A name for what the records hold at this moment: what was worked out under the same name still stands."""

from __future__ import annotations

import os
import sqlite3
import threading
import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from django.db import connection

_NAMES = 64
_lock = threading.Lock()
_but_readings: dict[str, str] = {}
"""The name before the readings that alone were entered since, by the name after."""


def stamp() -> str:
    """Return a name that changes whenever anything is committed to the records, by whomever.

    The same name twice means that nothing was committed between. Ask for it before reading: what is read then is as
    new as the name says, or newer. Inside a transaction every answer is a name of its own.
    """
    if connection.in_atomic_block:
        return uuid.uuid4().hex
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_current_snapshot()::text")
            return str(cursor.fetchone()[0])
    return _watch.version(str(connection.settings_dict["NAME"]))


def stamp_but_readings() -> str:
    """Return a name that changes whenever anything but a reading entered is committed: for what no reading changes."""
    now = stamp()
    return _but_readings.get(now, now)


@dataclass(slots=True)
class Span:
    """What the records are called before and after readings were written."""

    before: str
    after: str = ""
    """Empty unless this thread alone wrote meanwhile."""


@contextmanager
def readings_written() -> Iterator[Span]:
    """Name the records before and after readings are entered inside; outside of a transaction.

    `after` is told only when nobody else committed anything from before the first name to after the second: then the
    records differ by what was written inside alone.
    """
    others = _others()
    if others is None:
        yield Span("")
        return
    span = Span(stamp())
    yield span
    after = stamp()
    if others == _others():
        span.after = after
        with _lock:
            _but_readings.setdefault(after, _but_readings.get(span.before, span.before))
            while len(_but_readings) > _NAMES:
                _but_readings.pop(next(iter(_but_readings)))


def _others() -> int | None:
    """Return SQLite's data_version for this connection, which its own commits leave as it is; None without one."""
    if connection.vendor != "sqlite" or connection.in_atomic_block:
        return None
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA data_version")
        return int(cursor.fetchone()[0])


class _Watch:
    """A connection that only watches: SQLite's data_version changes for it when any other connection commits."""

    def __init__(self) -> None:
        self._file: tuple[str, int, int] | None = None
        self._connection: sqlite3.Connection | None = None
        self._opened = ""

    def version(self, name: str) -> str:
        """Return a name for what the database file holds; one of its own each time when it is no file."""
        with _lock:
            try:
                found = os.stat(name)
                self._open((name, found.st_dev, found.st_ino))
                assert self._connection is not None
                return f"{self._opened}.{self._connection.execute('PRAGMA data_version').fetchone()[0]}"
            except (OSError, sqlite3.Error):
                self._close()
                return uuid.uuid4().hex

    def _open(self, file: tuple[str, int, int]) -> None:
        if file == self._file:
            return
        self._close()
        self._connection = sqlite3.connect(file[0], check_same_thread=False, isolation_level=None)
        self._file, self._opened = file, uuid.uuid4().hex

    def _close(self) -> None:
        if self._connection is not None:
            self._connection.close()
        self._connection = self._file = None


_watch = _Watch()
