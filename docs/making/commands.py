"""docs/commands.md from what the commands themselves say when asked for help."""

from __future__ import annotations

import contextlib
import io
import os
import tempfile
from pathlib import Path
from unittest import mock

from sparkout.cli.main import COMMANDS, main
from sparkout.cli.world import World

INTRODUCTION = """\
# Commands

Made from the commands' own help by `python docs/make.py`; change the code, not the page.

`python3 start.py COMMAND ...` runs any of them in Sparkout's own environment. What a command ends with: 0 answered,
1 could not be answered as asked (the text says why), 2 the command itself was not understood.
"""
WITHIN = {"visit": ("new", "check", "schema")}
"""Commands that have commands of their own."""


def shown(arguments: list[str], width: int = 100) -> str:
    """Return what a command prints, at a fixed width, on a fixed day, in an empty folder."""
    out = io.StringIO()
    plain = {"COLUMNS": str(width), "NO_COLOR": "1"}
    with (
        tempfile.TemporaryDirectory() as folder,
        mock.patch.dict(os.environ, plain),
        contextlib.redirect_stdout(out),  # argparse prints its help there
    ):
        main(arguments, World(out, out, {"SPARKOUT_TODAY": "2026-11-25", **plain}, Path(folder)))
    return out.getvalue().rstrip()


def page() -> str:
    """Return the page."""
    parts = [INTRODUCTION, _block([])]
    for name in COMMANDS:
        parts.append(f"\n## {name}\n")
        parts.append(_block([name]))
        parts += [f"\n{_block([name, inner])}" for inner in WITHIN.get(name, ())]
    return "\n".join(parts) + "\n"


def _block(command: list[str]) -> str:
    asked = [*command, "--help"]
    return f"```console\n$ sparkout {' '.join(asked)}\n{shown(asked)}\n```"
