"""The command line as the process it is: pipes that close, terminals of another encoding, statuses."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from tests.cli.commands import ROOT, TODAY, process

from sparkout.demonstration.listing import demonstration_files

QUICK = demonstration_files()["three-readings"]


def test_json_through_a_terminal_that_knows_only_ascii(tmp_path: Path) -> None:
    done = process(
        "plan", QUICK, "--json", "--card", "a card.pdf", folder=tmp_path, LC_ALL="C", LANG="C", PYTHONUTF8="0",
        PYTHONCOERCECLOCALE="0",
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout.decode("utf-8"))["sparkout_answer"] == 1
    assert b"job card" in done.stderr


def test_words_through_a_terminal_that_knows_only_ascii() -> None:
    done = process("plan", QUICK, LC_ALL="C", LANG="C", PYTHONUTF8="0", PYTHONCOERCECLOCALE="0", NO_COLOR="1")
    assert done.returncode == 0, done.stderr
    text = done.stdout.decode("utf-8")
    assert "±" in text
    assert "⚠" in text
    assert "\x1b" not in text


@pytest.mark.skipif(os.name != "posix", reason="a pipe of a POSIX shell")
@pytest.mark.parametrize("arguments", [("plan", QUICK), ("plan", QUICK, "--json"), ("visit", "schema")])
def test_whoever_stops_listening_is_no_trouble(arguments: tuple[object, ...]) -> None:
    """As with `| head`: the reader closes after one line; no traceback, nothing said about it."""
    read, write = os.pipe()
    os.set_inheritable(write, True)
    child = subprocess.Popen(
        [sys.executable, "-m", "sparkout", *map(str, arguments)],
        stdout=write,
        stderr=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), **TODAY},
    )
    os.close(write)
    os.close(read)  # before the child can have said anything: every write breaks
    _, err = child.communicate(timeout=120)
    assert err == b""
    assert child.returncode == 0


def test_statuses_are_the_process_s_own(tmp_path: Path) -> None:
    assert process("plan", "absent.toml", folder=tmp_path).returncode == 1
    assert process("plan").returncode == 2
    assert process("clac").returncode == 2
    assert process().returncode == 0
    refused = process("plan", "absent.toml", folder=tmp_path)
    assert refused.stdout == b""
    assert b"Traceback" not in refused.stderr
