"""Each published check says what it was compared with, once; docs/validation.md is generated from these.

    @evidence("JCGM 100:2008 H.3", "slope", printed=0.00218, tolerance=0.000005)
    def test_slope() -> float:
        return fitted.slope

The value returned is compared with the printed one at the stated tolerance (half the last printed digit
unless the source itself is coarser, which `note` then says) and recorded. Import it with
`from tests.published.evidence import evidence, evidence_table`.

Each file under tests/published says, as SEEN, how its printed figures came here (one of SEEN_WAYS); rows that are from
memory say so in their note.

A test elsewhere that holds a result against an independent route (brute force, simulation, a reference library) puts
it on the same page with `compared(...)`; such rows stand in tables of their own.
"""

from __future__ import annotations

import functools
import json
import os
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

SEEN_WAYS = ("in the source", "in a copy of the source", "as quoted elsewhere", "in our own notes", "from memory")


@dataclass(frozen=True)
class Check:
    """One comparison. `printed` is what the source prints, or what the independent route found."""

    source: str
    quantity: str
    printed: float
    tolerance: float
    obtained: float
    note: str = ""
    module: str = ""
    test: str = ""
    published: bool = True


def digits_of_agreement(check: Check) -> float:
    """-log10 of the relative difference, at most 15 (absolute where the printed value is 0)."""
    import math

    scale = abs(check.printed) or 1.0
    difference = abs(check.obtained - check.printed) / scale
    return 15.0 if difference == 0 else min(15.0, -math.log10(difference))


def evidence(
    source: str, quantity: str, *, printed: float, tolerance: float, note: str = ""
) -> Callable[[Callable[[], float]], Callable[[], None]]:
    """Turn a function returning the value obtained into a test that compares it with the printed one."""

    def wrap(compute: Callable[[], float]) -> Callable[[], None]:
        def test() -> None:
            obtained = float(compute())
            _record(Check(source, quantity, printed, tolerance, obtained, note, *_place(compute)))
            assert abs(obtained - printed) <= tolerance, (
                f"{source}, {quantity}: printed {printed}, obtained {obtained}, allowed +-{tolerance}"
            )

        functools.update_wrapper(test, compute)
        del test.__wrapped__  # pytest would otherwise look through to `compute`
        return test

    return wrap


def evidence_table(
    source: str, rows: dict[str, tuple[float, float]], *, note: str = ""
) -> Callable[[Callable[[], dict[str, float]]], Callable[[], None]]:
    """Like `evidence`, for a function returning several values: rows is {quantity: (printed, tolerance)}."""

    def wrap(compute: Callable[[], dict[str, float]]) -> Callable[[], None]:
        def test() -> None:
            obtained = {key: float(value) for key, value in compute().items()}
            assert set(rows) == set(obtained), "every printed quantity is computed, and no other"
            for quantity, (printed, tolerance) in rows.items():
                _record(Check(source, quantity, printed, tolerance, obtained[quantity], note, *_place(compute)))
            off = {k: (p, obtained[k], t) for k, (p, t) in rows.items() if abs(obtained[k] - p) > t}
            assert not off, f"{source}: (printed, obtained, allowed) {off}"

        functools.update_wrapper(test, compute)
        del test.__wrapped__
        return test

    return wrap


def compared(
    source: str, quantity: str, *, reference: float, obtained: float, tolerance: float, note: str = ""
) -> None:
    """Hold a result against an independent route, and record it; the page shows the worst of equal quantities."""
    module = sys._getframe(1).f_globals["__name__"]
    _record(Check(source, quantity, float(reference), tolerance, float(obtained), note, module, "", published=False))
    assert abs(obtained - reference) <= tolerance, (
        f"{source}, {quantity}: by the other route {reference}, obtained {obtained}, allowed +-{tolerance}"
    )


def _place(compute: Callable[..., Any]) -> tuple[str, str]:
    return compute.__module__, compute.__qualname__


def _record(check: Check) -> None:
    folder = os.environ.get("SPARKOUT_EVIDENCE")
    if folder:
        row: dict[str, Any] = asdict(check)
        with (Path(folder) / f"{os.getpid()}.jsonl").open("a", encoding="utf-8") as handle:
            handle.write(json.dumps(row) + "\n")
