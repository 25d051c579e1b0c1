"""What no plan can undercut: the assignment as a mixed-integer programme, its relaxation and its proven bound.

Hours are a flow: a day's need for a skill is met by the hours of the people who have it, a day's need for a kind of
grinder by the grinders that fit; jobs are 0 or 1 on each day. A plan of whole phases by single people is one of its
solutions, so the programme's bound is a bound on every plan.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from sparkout.core.season.assign import FORCED, Assigned, Assigning, freed, replayed
from sparkout.core.season.jobs import Floats, Job, Season, day_cost, days_open, overtime, undone_cost

PART_JOBS = 40
"""Jobs set anew at once by the programme: as many as it still does in a second or two."""
PART_SECONDS = 2.0


@dataclass(frozen=True, slots=True)
class Bounded:
    """A proven lower bound on a season's cost; `days` the whole assignment found, when the programme found one."""

    bound: float
    days: tuple[int | None, ...] | None
    """Day of each job (None: undone), or None when no whole assignment was found in the time."""
    cost: float
    """Cost of that assignment in the programme, infinite without one."""


class _Rows:
    """A sparse programme being written: columns with cost and limits, rows with limits."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.high: list[float] = []
        self.whole: list[int] = []
        self.entries: list[tuple[int, int, float]] = []
        self.low_row: list[float] = []
        self.high_row: list[float] = []

    def column(self, cost: float, high: float, whole: bool = False) -> int:
        self.cost.append(cost)
        self.high.append(high)
        self.whole.append(int(whole))
        return len(self.cost) - 1

    def row(self, entries: list[tuple[int, float]], low: float, high: float) -> None:
        at = len(self.low_row)
        self.entries += [(at, column, value) for column, value in entries]
        self.low_row.append(low)
        self.high_row.append(high)


def bounded(season: Season, seconds: float, left_out: frozenset[str] = frozenset(), whole: bool = True) -> Bounded:
    """Return a proven bound on the cost of any plan of the season, and the programme's own best assignment.

    With `whole` False only the relaxation is solved (jobs may be split over days): quick, and weaker.

    Validity: exact for what `assign` counts, except that phases may be split among people freely.
    Source: time-indexed assignment, own formulation; solved by HiGHS through scipy.optimize.milp.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import coo_array

    jobs = [job for job in season.jobs if job.unit not in left_out]
    constant = sum(undone_cost(season, job) for job in season.jobs if job.unit in left_out)
    if not jobs:
        return Bounded(constant, (None,) * len(season.jobs), constant)
    programme, at = _written(season, jobs)
    rows, columns, values = (np.array(one) for one in zip(*programme.entries, strict=True))
    matrix = coo_array((values, (rows, columns)), shape=(len(programme.low_row), len(programme.cost))).tocsr()
    cost = np.array(programme.cost)
    found = milp(
        cost,
        integrality=np.array(programme.whole) if whole else None,
        bounds=Bounds(0.0, np.array(programme.high)),
        constraints=LinearConstraint(matrix, np.array(programme.low_row), np.array(programme.high_row)),
        options={"time_limit": seconds, "mip_rel_gap": 1e-6},
    )
    proven = found.mip_dual_bound if whole else (found.fun if found.status == 0 else None)
    bound = constant + (float(proven) if proven is not None and math.isfinite(proven) else 0.0)
    if not whole or found.x is None:
        return Bounded(bound, None, math.inf)
    days = tuple(_day(found.x, at.get(job.unit, {})) for job in season.jobs)
    return Bounded(bound, days, constant + float(found.fun))


def _day(x: Floats, columns: dict[int, int]) -> int | None:
    """Return the day whose column is chosen."""
    return next((day for day, column in columns.items() if x[column] > 0.5), None)


def _written(season: Season, jobs: list[Job]) -> tuple[_Rows, dict[str, dict[int, int]]]:
    """Return the programme, and the column of each job on each day."""
    out = _Rows()
    at: dict[str, dict[int, int]] = {}
    skill_use: dict[tuple[str, int], list[tuple[int, float]]] = {}
    kind_use: dict[tuple[str, int], list[tuple[int, float]]] = {}
    visits: dict[tuple[str, int], list[int]] = {}
    for job in jobs:
        undone = undone_cost(season, job)
        columns = at[job.unit] = {}
        for day in np.flatnonzero(days_open(season, job)).tolist():
            price = day_cost(job, day)
            if job.fixed is None and price >= undone:
                continue
            column = columns[day] = out.column(price, 1.0, whole=True)
            for phase in job.phases:
                skill_use.setdefault((phase.skill, day), []).append((column, phase.hours))
                if phase.grinder is not None:
                    kind_use.setdefault((phase.grinder, day), []).append((column, phase.hours))
            if season.travel.get(job.place, 0.0):
                visits.setdefault((job.place, day), []).append(column)
        entries = [(column, 1.0) for column in columns.values()]
        if job.fixed is None:
            entries.append((out.column(undone, 1.0), 1.0))
        out.row(entries, 1.0, 1.0)
    travel: dict[int, list[tuple[int, float]]] = {}
    for (place, day), columns_there in visits.items():
        going = out.column(0.0, 1.0, whole=True)
        travel.setdefault(day, []).append((going, season.travel[place]))
        for column in columns_there:
            out.row([(column, 1.0), (going, -1.0)], -math.inf, 0.0)
    _people(season, out, skill_use, travel)
    _grinders(season, out, kind_use)
    return out, at


def _people(
    season: Season,
    out: _Rows,
    use: dict[tuple[str, int], list[tuple[int, float]]],
    travel: dict[int, list[tuple[int, float]]],
) -> None:
    """Write that each day's hours by skill are met by those who have it."""
    given: dict[tuple[int, int], list[tuple[int, float]]] = {}
    extra = [overtime(person) for person in season.technicians]
    for (skill, day), entries in use.items():
        met = []
        for k, person in enumerate(season.technicians):
            if skill in person.skills and person.hours[day] + extra[k][day] > 0:
                column = out.column(0.0, math.inf)
                met.append((column, -1.0))
                given.setdefault((k, day), []).append((column, 1.0))
        missing = out.column(FORCED, math.inf)
        out.row([*entries, *met, (missing, -1.0)], -math.inf, 0.0)
    for day, entries in travel.items():
        met = []
        for k, person in enumerate(season.technicians):
            if person.hours[day] + extra[k][day] > 0:
                column = out.column(0.0, math.inf)
                met.append((column, -1.0))
                given.setdefault((k, day), []).append((column, 1.0))
        missing = out.column(FORCED, math.inf)
        out.row([*entries, *met, (missing, -1.0)], -math.inf, 0.0)
    for (k, day), columns in given.items():
        person = season.technicians[k]
        over = out.column(person.overtime_cost, extra[k][day])
        out.row([*columns, (over, -1.0)], -math.inf, person.hours[day])


def _grinders(season: Season, out: _Rows, use: dict[tuple[str, int], list[tuple[int, float]]]) -> None:
    """Write that each day's hours by kind of grinder are met by those that fit."""
    given: dict[tuple[int, int], list[tuple[int, float]]] = {}
    for (kind, day), entries in use.items():
        met = []
        for g, grinder in enumerate(season.grinders):
            if kind in grinder.kinds and grinder.hours[day] > 0:
                column = out.column(0.0, math.inf)
                met.append((column, -1.0))
                given.setdefault((g, day), []).append((column, 1.0))
        missing = out.column(FORCED, math.inf)
        out.row([*entries, *met, (missing, -1.0)], -math.inf, 0.0)
    for (g, day), columns in given.items():
        out.row(columns, -math.inf, season.grinders[g].hours[day])


def polished(
    season: Season,
    start: Assigned,
    rng: np.random.Generator,
    go_on: Callable[[int, float], bool],
    left_out: frozenset[str] = frozenset(),
) -> Assigned:
    """Return a plan no dearer than `start`: the jobs of a stretch of days are set anew all at once, by the programme.

    `go_on` as in `assign.improved`.
    """
    made = replayed(season, start, left_out)
    movable = [job for job in made.jobs if job.fixed is None]
    rounds = 0
    while movable and go_on(rounds, made.cost):
        rounds += 1
        before = made.cost
        chosen = _stretch(made, movable, rng)
        back = {job: made.taken[job].day for job in chosen if job in made.taken}
        part = freed(made, chosen)
        days = bounded(part, PART_SECONDS).days
        if days is not None:
            for job, day in sorted(zip(part.jobs, days, strict=True), key=lambda item: -item[0].hours):
                if day is not None and np.isfinite(made.workshop.prices(job)[day]):
                    made.put(job, day)
            for job in chosen:
                if job not in made.taken:
                    made.place(job)
        if days is None or made.cost > before + 1e-9:
            for job in chosen:
                if job in made.taken:
                    made.remove(job)
            for job, day in back.items():
                made.put(job, day)
    return made.frozen(rounds)


def _stretch(made: Assigning, movable: list[Job], rng: np.random.Generator) -> list[Job]:
    """Return the jobs nearest one costly job in time, about `PART_JOBS` of them, visits to a place whole."""
    costs = np.array([made.taken[job].cost if job in made.taken else made.undone[job] for job in movable])
    chance = costs + 0.1 * costs.mean() + 1e-9
    seed = movable[int(rng.choice(len(movable), p=chance / chance.sum()))]
    middle = made.taken[seed].day if seed in made.taken and rng.random() < 0.5 else seed.due

    def away(job: Job) -> float:
        at = made.taken[job].day if job in made.taken else job.due
        return min(abs(at - middle), 2.0 * abs(job.due - middle)) + float(rng.random())

    chosen: dict[Job, None] = {seed: None}
    for job in sorted(movable, key=away)[:PART_JOBS]:
        chosen.update(dict.fromkeys(made.together(job)))
    return [job for job in chosen if job.fixed is None]
