"""The season's plan beside the best dispatch rule and one single model, all held against the same proven bound.

Run by itself (`.venv/bin/python bench/plan.py`): each size takes its seconds twice, so it takes minutes. Seasons are
invented and seeded. "Load" is the work there is over the normal hours there are; at a load of 1.1 some units must be
late. The gap is (cost - bound)/cost: how much cheaper the best plan could at most be, never how much cheaper it is.
The single model is the same assignment of units to days, given to the solver whole for all of the time.
"""

from __future__ import annotations

import argparse
import sys
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from sparkout.core.season.assign import dispatched
from sparkout.core.season.bound import bounded
from sparkout.core.season.jobs import Grinder, Job, Phase, Season, Technician
from sparkout.core.season.plan import planned, tried

GOALS = {60: 0.03, 200: 0.15, 600: 0.08}
"""Gap each size is meant to reach in a minute."""
SHIFT = 7.0


@dataclass(frozen=True)
class Row:
    """What one season cost by each way, and the best bound any of them proved."""

    jobs: int
    days: int
    load: float
    dispatch: float
    single: float | None
    plan: float
    bound: float
    seconds: float

    def gap(self, cost: float | None) -> float | None:
        return None if cost is None else max(0.0, (cost - self.bound) / cost) if cost > 1e-9 else 0.0


def invented(count: int, load: float, seed: int) -> Season:
    """A workshop's season, invented and seeded: five-day weeks, two kinds of grinder, due days spread evenly."""
    rng = np.random.default_rng([seed, count])
    people = {60: 2, 200: 3, 600: 6}.get(count, max(1, count // 100))
    work = [_phases(rng) for _ in range(count)]
    hours = sum(phase.hours for phases in work for phase in phases)
    shift = SHIFT * people
    weekdays = int(np.ceil(hours / (load * shift)))
    days = weekdays + 2 * (weekdays // 5)
    calendar = tuple(SHIFT if day % 7 < 5 else 0.0 for day in range(days))
    skilled = frozenset({"strip", "spin", "relief", "knife", "set"})
    technicians = tuple(
        Technician(f"T{k + 1}", skilled if k % 2 == 0 else frozenset({"strip", "set", "knife"}), calendar, 1.0, 3.0)
        for k in range(people)
    )
    grinders = tuple(Grinder(f"Reel grinder {g + 1}", frozenset({"reel"}), calendar) for g in range((people + 1) // 2))
    grinders += (Grinder("Knife grinder", frozenset({"bedknife"}), tuple(people * h / 3 for h in calendar)),)
    return Season(days, technicians, grinders, tuple(_job(i, work[i], days, rng) for i in range(count)))


def _phases(rng: np.random.Generator) -> tuple[Phase, ...]:
    def quarter(low: float, high: float) -> float:
        return float(np.round(rng.uniform(low, high) * 4.0) / 4.0)

    phases = [Phase("strip", quarter(0.5, 1.0)), Phase("spin", quarter(0.75, 1.5), "reel")]
    if rng.random() < 0.5:
        phases.append(Phase("relief", quarter(0.75, 1.5), "reel"))
    phases += [Phase("knife", quarter(0.5, 1.0), "bedknife"), Phase("set", quarter(0.5, 0.75))]
    return tuple(phases)


def _job(i: int, phases: tuple[Phase, ...], days: int, rng: np.random.Generator) -> Job:
    due = int(rng.integers(2, days))
    spared = frozenset(d for d in range(days) if d % 7 < 3) if rng.random() < 0.3 else None
    importance, early = float(rng.integers(1, 6)), float(rng.choice([0.02, 0.05, 0.1]))
    return Job(f"U{i + 1}", phases, due, importance, early, max(0, due - 21), spared)


def row(count: int, load: float, seconds: float, seed: int = 1, single: bool = True) -> Row:
    """Plan one season every way."""
    season = invented(count, load, seed)
    rule = dispatched(season).cost
    began = time.monotonic()
    plan = planned(season, seconds)
    took = time.monotonic() - began
    bound, whole = plan.bound, None
    if single:
        model = bounded(season, seconds)
        bound = max(bound, model.bound)
        whole = None if model.days is None else tried(season, model.days).cost
    return Row(count, season.days, load, rule, whole, plan.cost, bound, took)


HEAD = (
    "units",
    "days",
    "load",
    "dispatch rule",
    "gap",
    "single model",
    "gap",
    "this plan",
    "gap",
    "bound",
    "s",
    "goal",
)


def table(rows: list[Row]) -> str:
    """Lay the rows out as Markdown."""
    lines = [HEAD, *(_cells(one) for one in rows)]
    widths = [max(len(line[i]) for line in lines) for i in range(len(HEAD))]
    laid = ["| " + " | ".join(c.ljust(w) for c, w in zip(line, widths, strict=True)) + " |" for line in lines]
    laid.insert(1, "|-" + "-|-".join("-" * w for w in widths) + "-|")
    return "\n".join(laid)


def _cells(one: Row) -> tuple[str, ...]:
    def share(cost: float | None) -> str:
        gap = one.gap(cost)
        return "none" if gap is None else f"{100 * gap:.1f} %"

    goal, reached = GOALS.get(one.jobs), one.gap(one.plan) or 0.0
    kept = "" if goal is None else f"{100 * goal:.0f} %: {'kept' if reached <= goal else 'MISSED'}"
    single = "found none" if one.single is None else f"{one.single:.1f}"
    return (
        *(str(one.jobs), str(one.days), f"{one.load:g}", f"{one.dispatch:.1f}", share(one.dispatch)),
        *(
            single,
            share(one.single),
            f"{one.plan:.1f}",
            share(one.plan),
            f"{one.bound:.1f}",
            f"{one.seconds:.0f}",
            kept,
        ),
    )


def main(arguments: list[str]) -> int:
    made = argparse.ArgumentParser("bench/plan.py", description=__doc__)
    made.add_argument("--seconds", type=float, default=60.0, help="for each plan, and for each single model")
    made.add_argument("--sizes", type=int, nargs="+", default=[60, 200, 600])
    made.add_argument("--loads", type=float, nargs="+", default=[0.9, 1.1])
    made.add_argument("--without-single", action="store_true", help="leave the single model out")
    asked = made.parse_args(arguments)
    rows = []
    for count in asked.sizes:
        for load in asked.loads:
            rows.append(row(count, load, asked.seconds, single=not asked.without_single))
            print(table(rows[-1:]), flush=True)
    print(table(rows))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
