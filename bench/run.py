"""All measurements, side by side, in one run: `python3 start.py bench` (`--write` also writes docs/bench.md).

Only ratios to a baseline of the same run mean anything: a number of milliseconds belongs to one machine on one day.
"""

from __future__ import annotations

import argparse
import importlib
import os
import platform
import subprocess
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from bench.timing import Line, table  # noqa: E402 - only now can it be found

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


@dataclass(frozen=True)
class Asked:
    """How long a part may take its time."""

    rounds: int
    short: bool

    @property
    def few(self) -> int:
        """Rounds of what takes seconds each."""
        return max(3, self.rounds // 3)


def _processes(asked: Asked) -> str:
    from bench import processes

    kept = processes.compiled()
    compiled = (
        "Bytecode was compiled first, and PYTHONDONTWRITEBYTECODE taken out of the environment, as on a user's machine."
        if kept
        else "Bytecode could NOT be compiled here: start-up looks slower than it is on a user's machine."
    )
    return f"Whole processes, {asked.rounds} rounds. {compiled}\n\n{table(processes.lines(asked.rounds))}"


def _simulation(asked: Asked) -> str:
    from bench import simulation

    size = f"{simulation.BLADES} blades x {simulation.STATIONS:,} stations x {simulation.PASSES} passes"
    told = f"{size}, {3 * asked.rounds} rounds; the copies are the limit memory sets."
    return f"{told}\n\n{table(simulation.lines(3 * asked.rounds))}"


def _stubble(asked: Asked) -> str:
    from bench import stubble

    told = f"2 m x 0.5 m at 0.5 mm, bobbing, coned and with one low blade, {asked.rounds} rounds."
    return f"{told}\n\n{table(stubble.lines(asked.rounds))}"


def _draws(asked: Asked) -> str:
    from bench import draws

    return f"The coned demonstration unit, {asked.few} rounds.\n\n{table(draws.lines(asked.few))}"


def _page(asked: Asked) -> str:
    from bench import page

    told = f"The demonstration workshop, asked through Django's own client in one process, {asked.rounds} rounds."
    return f"{told}\n\n{table(page.lines(asked.rounds))}"


def _board(asked: Asked) -> str:
    from bench import board

    rounds = 12 if asked.short else board.ROUNDS
    told = f"{board.UNITS:,} units, {rounds} rounds; the slowest twentieth against the bare page's median."
    return f"{told}\n\n{table(board.lines(rounds))}"


def _rows(asked: Asked) -> str:
    from bench import rows

    rounds = 1 if asked.short else asked.few
    found = rows.lines(rounds)
    told = f"Read, checked and kept with where each record came from, against the driver alone; rounds: {rounds}."
    return f"{told}\n\n{table(found)}\n\n{rows.rows_per_second(found)}"


def _fleet(asked: Asked) -> str:
    from bench import fleet

    units = fleet.UNITS // 10 if asked.short else fleet.UNITS
    parts = [table(fleet.large(1 if asked.short else 5, units))]
    try:
        parts.append(table(fleet.small(5)))
    except ModuleNotFoundError as missing:
        parts.append(f"Not measured beside a general library: {missing.name} is not installed.")
    return "\n\n".join(parts)


def _plan(asked: Asked) -> str:
    from bench import plan

    seconds, sizes, loads = (10.0, (60,), (1.1,)) if asked.short else (60.0, (60, 200, 600), (0.9, 1.1))
    made = [plan.row(size, load, seconds) for size in sizes for load in loads]
    goals = " Its goals are for a minute each." if asked.short else ""
    return f"{seconds:.0f} s for each plan, as long for the single model.{goals}\n\n{plan.table(made)}"


def _lines_of(name: str) -> Callable[[Asked], str]:
    """Measure a module of this folder that has `lines(rounds)`."""

    def measured(asked: Asked) -> str:
        found: list[Line] = importlib.import_module(f"bench.{name}").lines(asked.few)
        return table(found)

    return measured


PARTS: dict[str, tuple[str, Callable[[Asked], str]]] = {
    "processes": ("From nothing to an answer", _processes),
    "simulation": ("Pass simulation", _simulation),
    "stubble": ("Stubble map", _stubble),
    "draws": ("Monte Carlo of the whole diagnosis", _draws),
    "page": ("The visit page and one reading", _page),
    "board": ("The board with 2,000 units, and search", _board),
    "rows": ("Tables brought in", _rows),
    "fleet": ("Wear of a fleet", _fleet),
    "plan": ("The season's plan", _plan),
    "season": ("A season", _lines_of("season")),
    "stand": ("How a unit stands", _lines_of("stand")),
}
"""Every part: its title, and what measures it."""
HERE = [name for name in PARTS if (ROOT / "bench" / f"{name}.py").exists()]


def _apart(name: str, asked: Asked) -> str:
    """Measure one part in a process of its own: Django is set up once in a process, and memory is given back."""
    command = [sys.executable, __file__, "--apart", name, "--rounds", str(asked.rounds)]
    began = time.monotonic()
    done = subprocess.run(
        [*command, *(["--short"] if asked.short else [])], capture_output=True, encoding="utf-8", cwd=ROOT, check=False
    )
    took = time.monotonic() - began
    why = (done.stderr.strip().splitlines() or ["no reason was told"])[-1]
    told = done.stdout.strip() if done.returncode == 0 else f"NOT MEASURED: {why}"
    print(f"{name}: {took:.0f} s", file=sys.stderr, flush=True)
    return f"\n## {PARTS[name][0]}\n\n{told}"


def main(arguments: list[str]) -> int:
    made = argparse.ArgumentParser("start.py bench", description=__doc__)
    made.add_argument("--rounds", type=int, help="rounds of the whole processes (default 11, short: 5)")
    made.add_argument("--short", action="store_true", help="fewer rounds, smaller fleet, one short plan: some minutes")
    made.add_argument("--only", nargs="+", choices=HERE, default=HERE, help="only these parts")
    made.add_argument("--apart", choices=HERE, help=argparse.SUPPRESS)
    made.add_argument("--write", action="store_true", help=f"also write {PAGE.relative_to(ROOT)}")
    told = made.parse_args(arguments)
    asked = Asked(told.rounds if told.rounds is not None else 5 if told.short else 11, told.short)
    if asked.rounds < 1:
        made.error(f"--rounds is {asked.rounds}; allowed: at least 1")
    sys.stdout.reconfigure(encoding="utf-8", errors="replace")
    if told.apart:
        print(PARTS[told.apart][1](asked))
        return 0
    short = " Short: fewer rounds and smaller sizes." if asked.short else ""
    text = "\n".join([INTRODUCTION, f"Measured on: {machine()}.{short}", *(_apart(name, asked) for name in told.only)])
    print(text)
    if told.write:
        PAGE.write_text(text + "\n", encoding="utf-8")
    return int("NOT MEASURED" in text)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
