"""The cheapest whole choice of a mixed-integer programme, by a solver that can be told to stop.

The solver (HiGHS through scipy) hears nothing once it works but the time it was given. Where that is more than a moment
it works in a process of its own, which is ended as soon as somebody asks for it; nothing runs on behind a plan.
"""

from __future__ import annotations

import pickle
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from sparkout.core.season.jobs import Floats

SOON = 2.0
"""Seconds up to which the solver is waited for here: to begin a process of its own takes about one. Own choice."""
ASKED = 0.2
"""Seconds between two times of asking whether to go on."""
_CHILD = (
    "import pickle, sys; sys.path[:] = pickle.load(sys.stdin.buffer); "
    "from sparkout.core.season.solver import _answer; _answer()"
)


@dataclass(frozen=True, slots=True)
class Programme:
    """Least cost of columns from 0 to `high`, those of `whole` whole numbers, rows between their limits."""

    cost: Floats
    high: Floats | float
    whole: Any
    matrix: Any
    """(rows, columns), sparse."""
    low_row: Floats | float
    high_row: Floats | float
    gap: float
    """Share of the cost by which the choice may be dearer than the best."""


@dataclass(frozen=True, slots=True)
class Solved:
    """What the solver came to: columns (None: no whole choice found), their cost, and the bound it proved, if any."""

    columns: Floats | None
    cost: float
    bound: float | None


def solved(programme: Programme, seconds: float, go_on: Callable[[], bool] = lambda: True) -> Solved:
    """Return the cheapest choice found in these seconds, with its proven bound; nothing when told to stop.

    Parameters
    ----------
    go_on : asked now and then where the seconds are more than a moment; False ends the solver

    Examples
    --------
    >>> from scipy.sparse import csr_array
    >>> one = Programme(np.array([-1.0, -2.0]), 1.0, np.ones(2), csr_array([[1.0, 1.0]]), -np.inf, 1.0, 1e-6)
    >>> solved(one, 1.0).columns.tolist()
    [0.0, 1.0]
    """
    if seconds <= SOON:
        return _solve(programme, seconds)
    with tempfile.TemporaryFile() as asked:  # a pipe would have to be filled while the child is waited for
        pickle.dump(sys.path, asked)
        pickle.dump((programme, seconds), asked)
        asked.seek(0)
        try:
            child = subprocess.Popen(
                [sys.executable, "-c", _CHILD],
                stdin=asked,
                stdout=subprocess.PIPE,
                creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),
            )
        except OSError:  # no process to be had here: then as long as it takes
            return _solve(programme, seconds)
        with child:
            while True:
                try:
                    given, _ = child.communicate(timeout=ASKED)
                    break
                except subprocess.TimeoutExpired:
                    if not go_on():
                        child.kill()
                        child.communicate()
                        return Solved(None, np.inf, None)
    if child.returncode:
        return _solve(programme, seconds)
    found: Solved = pickle.loads(given)
    return found


def _solve(programme: Programme, seconds: float) -> Solved:
    from scipy.optimize import Bounds, LinearConstraint, milp

    found = milp(
        programme.cost,
        integrality=programme.whole,
        bounds=Bounds(0.0, programme.high),
        constraints=LinearConstraint(programme.matrix, programme.low_row, programme.high_row),
        options={"time_limit": seconds, "mip_rel_gap": programme.gap},
    )
    proven = found.mip_dual_bound
    bound = float(proven) if proven is not None and np.isfinite(proven) else None
    if found.x is None:
        return Solved(None, np.inf, bound)
    return Solved(np.asarray(found.x), float(found.fun), bound)


def _answer() -> None:
    """Solve what stands on the standard input; in the process of its own."""
    programme, seconds = pickle.load(sys.stdin.buffer)
    sys.stdout.buffer.write(pickle.dumps(_solve(programme, seconds)))
