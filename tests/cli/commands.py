"""Ways to run the command line in a test: inside this process, or as a process of its own."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

from sparkout.cli.main import main
from sparkout.cli.world import World

ROOT = Path(__file__).parents[2]
TODAY = {"SPARKOUT_TODAY": "2026-11-25"}


def run(*arguments: object, folder: Path | None = None, env: dict[str, str] | None = None) -> tuple[int, str, str]:
    """Return status, what was said and what was complained of."""
    out, err = io.StringIO(), io.StringIO()
    world = World(out, err, TODAY if env is None else env, folder)
    status = main([str(argument) for argument in arguments], world)
    assert "Traceback" not in err.getvalue()
    return status, out.getvalue(), err.getvalue()


def process(*arguments: object, folder: Path | None = None, **env: str) -> subprocess.CompletedProcess[bytes]:
    """Run `python -m sparkout` for itself and return what came of it."""
    return subprocess.run(
        [sys.executable, "-m", "sparkout", *map(str, arguments)],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT / "src"), **TODAY, **env},
        capture_output=True,
        timeout=120,
        check=False,
    )
