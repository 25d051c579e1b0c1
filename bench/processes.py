"""Whole processes: from nothing to an answer on the screen, start-up included.

As on a user's machine the bytecode is compiled beforehand and the environment does not forbid keeping it.
"""

from __future__ import annotations

import compileall
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from bench.timing import Line, in_turn

SOURCE = Path(__file__).parents[1] / "src" / "sparkout"
UNIT = SOURCE / "demonstration" / "units" / "coned.toml"
EMPTY, LIBRARIES = "python -c pass", 'python -c "import numpy, scipy.linalg"'
CALC, PLAN, CARD = "sparkout calc clip ...", "sparkout plan coned.toml", "sparkout plan coned.toml --card"


def environment() -> dict[str, str]:
    """The environment without what would keep Python from caching bytecode."""
    left_out = ("PYTHONDONTWRITEBYTECODE", "PYTHONPROFILEIMPORTTIME", "PYTHONTRACEMALLOC")
    return {name: value for name, value in os.environ.items() if name not in left_out}


def compiled() -> bool:
    """Compile the source's bytecode; False when the folder cannot be written (start-up is then slower)."""
    return bool(compileall.compile_dir(SOURCE, quiet=2))


def ran(arguments: list[str]) -> Callable[[], float | None]:
    """An action that runs Python with these arguments and returns the processor time it took."""
    where = environment()

    def run() -> float | None:
        before = _children()
        subprocess.run([sys.executable, *arguments], check=True, env=where, capture_output=True)
        after = _children()
        return None if before is None or after is None else after - before

    return run


def _children() -> float | None:
    if os.name == "nt":
        return None  # Windows does not tell it this way
    import resource

    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def lines(rounds: int) -> list[Line]:
    """Time a quick sum and the whole answer beside an empty Python and one that only loads the libraries."""
    with tempfile.TemporaryDirectory() as folder:
        calc = "-m sparkout calc clip travel_speed=4.5 blade_count=11 reel_speed=1500"
        plan = ["-m", "sparkout", "plan", str(UNIT)]
        timed = in_turn(
            {
                EMPTY: ran(["-c", "pass"]),
                CALC: ran(calc.split()),
                LIBRARIES: ran(["-c", "import numpy, scipy.linalg"]),
                PLAN: ran(plan),
                CARD: ran([*plan, "--card", str(Path(folder) / "card.pdf")]),
            },
            rounds,
        )
    return [
        Line(EMPTY, timed[EMPTY], timed[EMPTY]),
        Line(f"{CALC}, against it", timed[CALC], timed[EMPTY], 6.0),
        Line(LIBRARIES, timed[LIBRARIES], timed[LIBRARIES]),
        Line(f"{PLAN}, against them", timed[PLAN], timed[LIBRARIES], 4.0),
        Line(f"{CARD}, against them", timed[CARD], timed[LIBRARIES]),
    ]
