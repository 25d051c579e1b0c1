"""Django for the tests: records in a folder made for this run, never somebody's own.

SPARKOUT_DATABASE, when set, names a PostgreSQL database that the tests may empty (tests/postgresql
starts one).
"""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import django
import pytest

if TYPE_CHECKING:
    from django.db.models import Model

_FOLDER = Path(tempfile.mkdtemp(prefix="sparkout-tests-"))


if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # A shell starts what it puts in the background deaf to Ctrl-C, and so would be every server started from here.
    signal.signal(signal.SIGINT, signal.default_int_handler)
os.environ["SPARKOUT_DATA"] = str(_FOLDER)
# A browser test leaves an event loop in its process; the tests after it there are no less synchronous for that.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"
os.environ["DJANGO_SETTINGS_MODULE"] = "sparkout.server.settings"
django.setup()  # here, because modules with models are imported while tests are collected


def pytest_configure(config: pytest.Config) -> None:
    """Name the markers."""
    config.addinivalue_line("markers", "postgres: starts a PostgreSQL server")
    config.addinivalue_line("markers", "sqlite: about the SQLite file itself")


def pytest_unconfigure() -> None:
    """Leave nothing behind."""
    shutil.rmtree(_FOLDER, ignore_errors=True)


@pytest.fixture(scope="session")
def empty_records() -> Path:
    """Records without anything in them, brought to the current layout once."""
    from django.core.management import call_command
    from django.db import connection

    if connection.vendor != "sqlite":  # may hold what an earlier run left
        with connection.cursor() as cursor:
            cursor.execute("DROP SCHEMA public CASCADE; CREATE SCHEMA public")
    call_command("migrate", verbosity=0, interactive=False, skip_checks=True)
    connection.close()
    return _copied(_FOLDER / "records.sqlite3", _FOLDER / "empty.sqlite3")


@pytest.fixture(scope="session")
def demonstration_file(empty_records: Path) -> Path:
    """The demonstration workshop, loaded once."""
    from sparkout.records.demonstration import load_demonstration

    _put(empty_records, _FOLDER / "loading.sqlite3")
    load_demonstration()
    return _copied(_FOLDER / "loading.sqlite3", _FOLDER / "demonstration.sqlite3")


@pytest.fixture
def records(empty_records: Path, tmp_path: Path) -> Iterator[Path]:
    """Empty records, this test's own; the data folder they lie in."""
    yield from _own(empty_records, tmp_path)


@pytest.fixture
def demonstration(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Path]:
    """The demonstration workshop, this test's own; the data folder it lies in."""
    start = request.getfixturevalue("demonstration_file")
    shutil.copytree(_FOLDER / "attachments", tmp_path / "attachments", dirs_exist_ok=True)
    yield from _own(start, tmp_path)


@pytest.fixture
def many_at_once() -> Callable[[list[Callable[[], object]]], list[object]]:
    """Run things in threads, each with a connection of its own; what each returned or raised."""
    from concurrent.futures import ThreadPoolExecutor

    from django.db import connection

    def one(ask: Callable[[], object]) -> object:
        try:
            return ask()
        except Exception as error:
            return error
        finally:
            connection.close()

    def run(asks: list[Callable[[], object]]) -> list[object]:
        with ThreadPoolExecutor(len(asks)) as pool:
            return list(pool.map(one, asks))

    return run


def _own(start: Path, folder: Path) -> Iterator[Path]:
    from django.conf import settings
    from django.db import connection

    _put(start, folder / "records.sqlite3")
    before, settings.MEDIA_ROOT = settings.MEDIA_ROOT, folder / "attachments"
    yield folder
    settings.MEDIA_ROOT = before
    if connection.vendor != "sqlite":  # where the next test has the same database
        _end_background_work()
    connection.close()


def _end_background_work() -> None:
    from sparkout.records.models import Job

    Job.objects.update(stop_asked=True)
    for thread in threading.enumerate():
        if thread.name == "sparkout-jobs":
            thread.join(60)


def _put(start: Path, file: Path) -> None:
    """Connect to a copy of these records."""
    from django.db import connection

    connection.close()
    if connection.vendor == "sqlite":
        shutil.copyfile(start, file)
        connection.settings_dict["NAME"] = str(file)
    else:
        _refill(start)


def _copied(file: Path, copy: Path) -> Path:
    """Return a copy of the records connected to; on PostgreSQL their rows as one file."""
    from django.db import connection

    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)")
        connection.close()
        shutil.copyfile(file, copy)
    else:
        _dump(copy)
    return copy


def _models() -> list[type[Model]]:
    from django.apps import apps

    return list(apps.get_app_config("records").get_models())


def _tables() -> list[str]:
    return [model._meta.db_table for model in _models()]


def _dump(copy: Path) -> None:
    import pickle

    from django.db import connection

    with connection.cursor() as cursor:
        rows = {table: _copy_out(cursor.cursor, table) for table in _tables()}
    copy.write_bytes(pickle.dumps(rows))


def _copy_out(cursor: Any, table: str) -> bytes:
    with cursor.copy(f'COPY "{table}" TO STDOUT') as rows:
        return b"".join(map(bytes, rows))


def _refill(start: Path) -> None:
    """Empty the PostgreSQL database and put these rows in, keys unchecked: they held where the rows were taken."""
    import pickle

    from django.core.management.color import no_style
    from django.db import connection, transaction

    rows: dict[str, bytes] = pickle.loads(start.read_bytes())
    with transaction.atomic(), connection.cursor() as cursor:
        # Emptying by DELETE, because TRUNCATE makes a new file for each table and index: far slower.
        emptied = [f'DELETE FROM "{table}"' for table in _tables()]
        cursor.execute("; ".join(["SET LOCAL session_replication_role = replica", *emptied]))
        for table in filter(rows.get, rows):
            with cursor.cursor.copy(f'COPY "{table}" FROM STDIN') as into:
                into.write(rows[table])
        cursor.execute("; ".join(connection.ops.sequence_reset_sql(no_style(), _models())))
