"""`sparkout serve` as a process: it says where it is, refuses a second start, stops when told, and keeps everything."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest


def command(data: Path, *more: str) -> list[str]:
    return [sys.executable, "-m", "sparkout", "serve", "--data", str(data), "--port", "0", *more]


@contextmanager
def serving(data: Path, *more: str) -> Iterator[tuple[subprocess.Popen[str], str, list[str]]]:
    """A server at a free port, its address and what it said; killed in the end if it still runs."""
    environment = {key: value for key, value in os.environ.items() if not key.startswith(("SPARKOUT_", "DJANGO_"))}
    with subprocess.Popen(
        command(data, *more),
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        env=environment,
    ) as server:
        try:
            assert server.stdout is not None
            said = []
            for line in server.stdout:
                said.append(line)
                if " is at " in line:
                    break
            assert said, "it ended without a word"
            assert " is at " in said[-1], "".join(said)
            yield server, said[-1].split(" is at ")[1].split()[0], said
        finally:
            server.kill()


def fetched(address: str) -> tuple[int, str]:
    with urllib.request.urlopen(address, timeout=20) as answer:
        return answer.status, answer.headers["Content-Security-Policy"]


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGTERM])
def test_it_serves_says_where_and_stops_when_told(tmp_path: Path, how: signal.Signals) -> None:
    data = tmp_path / "my data"
    with serving(data) as (server, address, _):
        assert address.startswith("http://127.0.0.1:")
        status, policy = fetched(address)
        assert status == 200
        assert "default-src 'self'" in policy
        server.send_signal(how)
        rest = server.communicate(timeout=30)[0]
        assert server.returncode == 0, rest
        assert "everything entered is kept" in rest
        assert "Traceback" not in rest
    assert (data / "records.sqlite3").exists()


def test_a_second_start_on_the_same_data_names_the_first(tmp_path: Path) -> None:
    with serving(tmp_path) as (_, address, _said):
        second = subprocess.run(command(tmp_path), capture_output=True, text=True, timeout=60, check=False)
        assert second.returncode == 1
        assert address in second.stderr
        assert "Traceback" not in second.stderr
        port = address.rstrip("/").rpartition(":")[2]
        other = [*command(tmp_path / "other")[:-1], port]
        taken = subprocess.run(other, capture_output=True, text=True, timeout=60, check=False)
        assert (taken.returncode, f"port {port}" in taken.stderr) == (1, True)
        assert fetched(address)[0] == 200


def test_a_killed_server_starts_again_on_its_data(tmp_path: Path) -> None:
    with serving(tmp_path, "--demo") as (server, _, _said):
        server.kill()
        server.wait()
    with serving(tmp_path, "--demo") as (_, address, _said):
        assert fetched(address)[0] == 200


def test_listening_to_the_network_says_what_that_means(tmp_path: Path) -> None:
    with serving(tmp_path, "--host", "0.0.0.0") as (_, _address, said):
        assert "no passwords" in "".join(said)
    with serving(tmp_path) as (_, _address, said):
        assert "no passwords" not in "".join(said)


@pytest.mark.parametrize(
    ("arguments", "status", "says"),
    [
        (["--port", "70000"], 2, "0 to 65535"),
        (["--port", "-1"], 2, "0 to 65535"),
        (["--host", "300.1.1.1"], 1, "no address of this machine"),
        (["--data", "/dev/null/x"], 1, "cannot be used"),
    ],
)
def test_what_cannot_be_served_is_said(tmp_path: Path, arguments, status, says) -> None:
    run = subprocess.run([*command(tmp_path), *arguments], capture_output=True, text=True, timeout=60, check=False)
    assert (run.returncode, says in run.stderr) == (status, True), run.stderr
    assert "Traceback" not in run.stderr
