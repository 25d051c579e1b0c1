"""docs/validation.md from the tests: they are run, and each comparison records itself (tests/published/evidence.py)."""

from __future__ import annotations

import ast
import json
import math
import os
import re
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

from docs.making.markdown import table
from tests.published.evidence import SEEN_WAYS, Check, digits_of_agreement

ROOT = Path(__file__).resolve().parents[2]
RECORDING = (
    "tests/published",
    "tests/core/gauges/test_diameter_gauges.py",
    "tests/core/reel/test_coverage.py",
    "tests/core/test_monte_carlo.py",
)
"""What records comparisons."""
FINEST = 13
"""Digits of agreement beyond which two machines may differ."""
INTRODUCTION = """\
# Validation

Made by `python docs/make.py`, which runs the tests and writes down what each compared; change the tests, not the page.

Two kinds of evidence stand here, and they are kept apart. **Published**: a figure printed by somebody else, in a place
that is named, and what Sparkout obtains from the same inputs. The allowed difference is half of the last printed digit
unless the note says why not. **Independent routes**: no publication prints such figures, so the result is held
against another way to it that shares no formula (a drawn polygon, a simulation).

*Digits* are those in which printed and obtained agree, as far as the printed figure has any. *Seen* tells how the
printed figure came here: read in the source itself, in a copy of it, only as quoted elsewhere, or **from memory**,
which proves little until somebody opens the source.
"""


def page() -> str:
    """Return the page."""
    return told(recorded())


def recorded() -> list[Check]:
    """Run the tests that record, and return what they compared."""
    with tempfile.TemporaryDirectory() as folder:
        # not part of a test run that may be going on around this one
        kept = {name: value for name, value in os.environ.items() if not name.startswith(("PYTEST_", "COV_"))}
        command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", *RECORDING]
        done = subprocess.run(
            command, cwd=ROOT, env={**kept, "SPARKOUT_EVIDENCE": folder}, capture_output=True, text=True, check=False
        )
        if done.returncode:
            raise SystemExit(f"the tests do not pass, so there is nothing to write:\n{done.stdout[-4000:]}")
        lines = [
            line
            for file in sorted(Path(folder).glob("*.jsonl"))
            for line in file.read_text(encoding="utf-8").splitlines()
        ]
    return [Check(**json.loads(line)) for line in lines]


def told(checks: Sequence[Check]) -> str:
    """Return the page that tells these comparisons."""
    published = _by_module([c for c in checks if c.published])
    independent = _by_module([c for c in checks if not c.published])
    parts = [INTRODUCTION, "\n## Summary\n", _summary(published, independent), "\n## Published figures\n"]
    parts += [_published(module, found) for module, found in published.items()]
    parts.append("\n## Independent routes\n")
    parts += [_independent(module, found) for module, found in independent.items()]
    return "\n".join(parts)


def _by_module(checks: Sequence[Check]) -> dict[str, list[Check]]:
    found: dict[str, list[Check]] = {}
    for check in sorted(checks, key=lambda c: c.module):  # a stable sort: within a file the order of its tests
        found.setdefault(check.module, []).append(check)
    return found


def _summary(published: dict[str, list[Check]], independent: dict[str, list[Check]]) -> str:
    rows = []
    for module, checks in published.items():
        seen = ", ".join(dict.fromkeys(seen_as(c) for c in checks))
        rows.append((_linked(module), str(len(checks)), str(min(map(_digits, checks))), seen))
    head = table(("published", "figures", "fewest digits", "seen"), rows)
    others = [(_linked(module), str(len(checks))) for module, checks in independent.items()]
    return f"{head}\n{table(('independent route', 'comparisons'), others)}"


def _published(module: str, checks: list[Check]) -> str:
    rows = [
        (
            c.source,
            c.quantity,
            as_printed(c.printed, c.tolerance),
            figure(c.obtained, c.tolerance),
            allowed(c.tolerance),
            str(_digits(c)),
            seen_as(c),
            c.note,
        )
        for c in checks
    ]
    head = ("source", "quantity", "printed", "obtained", "allowed ±", "digits", "seen", "note")
    return f"{_introduced(module)}\n{table(head, rows)}"


def _independent(module: str, checks: list[Check]) -> str:
    groups: dict[tuple[str, str], list[Check]] = {}
    for check in checks:
        groups.setdefault((check.source, check.quantity), []).append(check)
    rows = []
    for (_, quantity), found in groups.items():
        worst = max(found, key=lambda c: abs(c.obtained - c.printed) / c.tolerance)
        rows.append(
            (
                quantity,
                str(len(found)),
                figure(worst.printed, worst.tolerance / 10.0),
                figure(worst.obtained, worst.tolerance / 10.0),
                _difference(worst),
                allowed(worst.tolerance),
                worst.note,
            )
        )
    head = ("quantity", "cases", "other route, worst case", "obtained", "difference", "allowed ±", "note")
    return f"{_introduced(module)}\n{table(head, rows)}"


def _difference(check: Check) -> str:
    off = abs(check.obtained - check.printed)
    return "none" if off < 1e-6 * check.tolerance else f"{off:.2g}"


def seen_as(check: Check) -> str:
    """How the printed figure came here: what its file says, unless the row itself says that it is from memory."""
    if "from memory" in f"{check.source} {check.quantity} {check.note}":
        return "from memory"
    for node in ast.parse(_path(check.module).read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and ast.unparse(node.targets[0]) == "SEEN":
            told = ast.literal_eval(node.value)
            if told in SEEN_WAYS:
                return str(told)
    raise SystemExit(f"{check.module} does not say SEEN = one of {', '.join(SEEN_WAYS)}")


def _digits(check: Check) -> int:
    """Whole digits of agreement, no more than the printed figure has."""
    scale = abs(check.printed) or 1.0
    written = len(repr(float(check.printed)).split("e")[0].replace(".", "").replace("-", "").strip("0"))
    by_tolerance = math.ceil(math.log10(scale / check.tolerance) - 0.31) if check.tolerance else written
    most = min(FINEST, max(written, by_tolerance))
    return min(most, math.floor(digits_of_agreement(check) + 0.31))


def figure(value: float, tolerance: float) -> str:
    """Write a number to one digit more than the tolerance speaks of, twelve at most: the same on every machine."""
    if not tolerance:
        return as_printed(value, 0.0)
    if abs(value) <= tolerance:
        return "0"
    digits = min(12, max(2, math.floor(math.log10(abs(value) / tolerance / 2.0)) + 2))
    return f"{value:#.{digits}g}".rstrip(".")


def as_printed(value: float, tolerance: float) -> str:
    """Write a printed figure with the digits it was printed with: half the last one is what it may differ by."""
    if value == round(value) and not 0.0 < tolerance < 0.5:
        return str(round(value))
    text = repr(float(value))
    last = -math.log10(2.0 * tolerance) if tolerance else 0.0
    if abs(last - round(last)) > 1e-6 or abs(value) < 1e-4:
        return text
    decimals = len(text.partition(".")[2])
    return f"{value:.{max(0, round(last), decimals if value != round(value) else 0)}f}"


def allowed(tolerance: float) -> str:
    """Write a tolerance short."""
    return f"{tolerance:.2g}" if tolerance else "none"


def _path(module: str) -> Path:
    return ROOT / (module.replace(".", "/") + ".py")


def _docstring(module: str) -> str:
    return ast.get_docstring(ast.parse(_path(module).read_text(encoding="utf-8"))) or ""


def _title(module: str) -> str:
    return _parted(module)[0]


def _parted(module: str) -> tuple[str, str]:
    """Return the head of a file's docstring, up to the first stop, and the rest of it."""
    text = _docstring(module)
    stop = re.search(r"[:.;](?:\s|$)|(?<=\?)\s", text)
    if stop is None:
        return text, ""
    rest = text[stop.end() :].strip()
    return text[: stop.start()].replace("\n", " "), rest[:1].upper() + rest[1:]


def _linked(module: str) -> str:
    title = _title(module)
    anchor = re.sub(r"[^\w\- ]", "", title.lower()).replace(" ", "-")
    return f"[{title}](#{anchor})"


def _introduced(module: str) -> str:
    title, rest = _parted(module)
    place = f"In `{_path(module).relative_to(ROOT).as_posix()}`."
    return "\n\n".join(part for part in (f"### {title}", rest, place) if part) + "\n"
