"""All measurements, side by side, in one run: `python3 start.py bench` (`--write` also writes docs/bench.md).

Only ratios to a baseline of the same run mean anything: a number of milliseconds belongs to one machine on one day.
"""

from __future__ import annotations

import argparse
import os
import platform
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from bench.timing import table  # noqa: E402

from bench import draws, processes, simulation, stubble  # noqa: E402 - only now can they be found

PAGE = ROOT / "docs" / "bench.md"
INTRODUCTION = """\
# Speed

Made by `python3 start.py bench --write`. Every figure is the median of rounds in which each action had its turn, and
what counts is its **ratio** to a baseline of the same run; a number of milliseconds belongs to one machine on one day.
"""


def machine() -> str:
    """What the figures were measured on."""
    import numpy
    import scipy

    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    facts = [f"{cores} processor cores", f"{platform.system()} {platform.machine()}"]
    facts += [f"Python {platform.python_version()}", f"numpy {numpy.__version__}", f"scipy {scipy.__version__}"]
    if hasattr(os, "getloadavg"):
        facts.append(f"{os.getloadavg()[0]:.1f} processes waiting or running when the run began")
    return ", ".join(facts)


def report(rounds: int) -> str:
    """Measure everything and return the page."""
    kept = processes.compiled()
    compiled = (
        "Bytecode was compiled first, and PYTHONDONTWRITEBYTECODE taken out of the environment, as on a user's machine."
        if kept
        else "Bytecode could NOT be compiled here: start-up looks slower than it is on a user's machine."
    )
    parts = [INTRODUCTION, f"Measured on: {machine()}."]
    parts += ["\n## From nothing to an answer\n", f"Whole processes, {rounds} rounds. {compiled}\n"]
    parts.append(table(processes.lines(rounds)))
    size = f"{simulation.BLADES} blades x {simulation.STATIONS:,} stations x {simulation.PASSES} passes"
    parts += ["\n## Pass simulation\n", f"{size}, {3 * rounds} rounds; the copies are the limit memory sets.\n"]
    parts.append(table(simulation.lines(3 * rounds)))
    parts += ["\n## Stubble map\n", f"2 m x 0.5 m at 0.5 mm, bobbing, coned and with one low blade, {rounds} rounds.\n"]
    parts.append(table(stubble.lines(rounds)))
    few = max(3, rounds // 3)
    parts += ["\n## Monte Carlo of the whole diagnosis\n", f"The coned demonstration unit, {few} rounds.\n"]
    parts.append(table(draws.lines(few)))
    return "\n".join(parts) + "\n"


def main(arguments: list[str]) -> int:
    made = argparse.ArgumentParser("start.py bench", description=__doc__)
    made.add_argument("--rounds", type=int, default=11, help="rounds of the whole processes (default 11)")
    made.add_argument("--write", action="store_true", help=f"also write {PAGE.relative_to(ROOT)}")
    asked = made.parse_args(arguments)
    if asked.rounds < 1:
        made.error(f"--rounds is {asked.rounds}; allowed: at least 1")
    text = report(asked.rounds)
    sys.stdout.reconfigure(encoding="utf-8", errors="replace")
    print(text)
    if asked.write:
        PAGE.write_text(text, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
