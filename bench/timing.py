"""Timing things side by side: every round does each of them in turn, so that a busy moment falls on all alike."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace


@dataclass(frozen=True)
class Timed:
    """Seconds of one action in each round, on the wall clock and (where it can be had) of processor time."""

    wall: tuple[float, ...]
    processor: tuple[float, ...] = ()

    @property
    def median(self) -> float:
        return statistics.median(self.wall)

    def scaled(self, by: float) -> Timed:
        return replace(self, wall=tuple(by * s for s in self.wall), processor=tuple(by * s for s in self.processor))


@dataclass(frozen=True)
class Line:
    """One row of a table: how many times the baseline it took, and how many it is meant to take."""

    name: str
    timed: Timed
    baseline: Timed
    at_most: float | None = None
    at_least: float | None = None

    @property
    def ratio(self) -> float:
        return self.timed.median / self.baseline.median

    @property
    def processor_ratio(self) -> float | None:
        if not self.timed.processor or not self.baseline.processor:
            return None
        return statistics.median(self.timed.processor) / statistics.median(self.baseline.processor)

    @property
    def goal(self) -> str:
        if self.at_most is not None:
            return f"at most {_times(self.at_most)}: {'kept' if self.ratio <= self.at_most else 'MISSED'}"
        if self.at_least is not None:
            return f"at least {_times(self.at_least)}: {'kept' if self.ratio >= self.at_least else 'MISSED'}"
        return ""

    def cells(self) -> tuple[str, ...]:
        wall, by_processor = self.timed.wall, self.processor_ratio
        return (
            self.name,
            _time(self.timed.median),
            f"{_time(min(wall))} .. {_time(max(wall))}",
            _times(self.ratio),
            "" if by_processor is None else _times(by_processor),
            self.goal,
        )


HEAD = ("what", "median", "least .. most", "ratio", "of processor time", "goal")


def in_turn(actions: Mapping[str, Callable[[], float | None]], rounds: int) -> dict[str, Timed]:
    """Time each action `rounds` times after one round that does not count; an action may return its processor time."""
    wall: dict[str, list[float]] = {name: [] for name in actions}
    processor: dict[str, list[float]] = {name: [] for name in actions}
    for i in range(rounds + 1):
        for name, action in actions.items():
            start = time.perf_counter()
            used = action()
            taken = time.perf_counter() - start
            if i:
                wall[name].append(taken)
                if used is not None:
                    processor[name].append(used)
    return {name: Timed(tuple(wall[name]), tuple(processor[name])) for name in actions}


def table(lines: list[Line]) -> str:
    """Lay the lines out as a table that reads well as text and as Markdown."""
    rows = [HEAD, *(line.cells() for line in lines)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(HEAD))]
    laid = [" | ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)) for row in rows]
    laid.insert(1, "-|-".join("-" * width for width in widths))
    return "\n".join(f"| {line} |" if i != 1 else f"|-{line}-|" for i, line in enumerate(laid))


def _time(seconds: float) -> str:
    for unit, size in (("s", 1.0), ("ms", 1e-3)):
        if seconds >= size:
            return f"{seconds / size:.3g} {unit}"
    return f"{seconds / 1e-6:.3g} µs"


def _times(ratio: float) -> str:
    return f"{ratio:.0f} x" if ratio >= 100 else f"{ratio:.2g} x"
