"""A quick sum starts quickly: what it must not import (bench/processes.py measures what that is worth)."""

import subprocess
import sys

SLOW = {"argparse", "dataclasses", "difflib", "inspect", "json", "numpy", "pathlib", "pydantic", "rich", "scipy"}


def test_a_quick_sum_at_the_command_line_imports_nothing_slow() -> None:
    code = (
        "import sys\n"
        "before = set(sys.modules)\n"
        "from sparkout.cli.main import main\nfrom sparkout.cli.world import World\n"
        "status = main(['calc', 'clip', 'travel_speed=4.5', 'blade_count=11', 'reel_speed=1500'], World.real())\n"
        f"print(sorted((set(sys.modules) - before) & {SLOW!r}), file=sys.stderr)\n"
        "sys.exit(status)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "clip = 4.54545 mm" in done.stdout
    assert done.stderr.strip() == "[]"
