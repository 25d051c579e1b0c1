"""What no plan can undercut: the assignment as a mixed-integer programme, its relaxation and its proven bound.

Hours are a flow: a day's need for a skill is met by the hours of the people who have it, a day's need for a kind of
grinder by the grinders that fit; jobs are 0 or 1 on each day. A plan of whole phases by single people is one of its
solutions, so the programme's bound is a bound on every plan.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.season.assign import FORCED
from sparkout.core.season.jobs import Floats, Job, Season, day_cost, days_open, overtime, undone_cost
from sparkout.core.season.solver import Programme, solved

if TYPE_CHECKING:
    from collections.abc import Callable

    from scipy.sparse import csr_array


@dataclass(frozen=True, slots=True)
class Bounded:
    """A proven lower bound on a season's cost; `days` the whole assignment found, when the programme found one."""

    bound: float
    days: tuple[int | None, ...] | None
    """Day of each job (None: undone), in the relaxation the one that has most of it; None without an assignment."""
    cost: float
    """Cost of that assignment in the programme, infinite without one."""
    prices: tuple[float, ...] = ()
    """Of the relaxation: what each job's being done is worth, where it was solved."""
    tolls: dict[tuple[str, int], float] = field(default_factory=dict)
    """And what an hour of a kind of grinder costs on a day."""


class _Rows:
    """A sparse programme being written: columns with cost and limits, rows with limits."""

    def __init__(self) -> None:
        self.cost: list[float] = []
        self.high: list[float] = []
        self.whole: list[int] = []
        self.entries: list[tuple[int, int, float]] = []
        self.low_row: list[float] = []
        self.high_row: list[float] = []
        self.kinds: dict[tuple[str, int], int] = {}
        """Which row says that a day's hours on a kind of grinder are met."""

    def column(self, cost: float, high: float, whole: bool = False) -> int:
        self.cost.append(cost)
        self.high.append(high)
        self.whole.append(int(whole))
        return len(self.cost) - 1

    def matrix(self) -> csr_array:
        """Return the rows as a sparse matrix."""
        from scipy.sparse import coo_array

        rows, columns, values = (np.array(one) for one in zip(*self.entries, strict=True))
        return coo_array((values, (rows, columns)), shape=(len(self.low_row), len(self.cost))).tocsr()

    def row(self, entries: list[tuple[int, float]], low: float, high: float) -> None:
        at = len(self.low_row)
        self.entries += [(at, column, value) for column, value in entries]
        self.low_row.append(low)
        self.high_row.append(high)


def bounded(
    season: Season,
    seconds: float,
    left_out: frozenset[str] = frozenset(),
    whole: bool = True,
    go_on: Callable[[], bool] = lambda: True,
) -> Bounded:
    """Return a proven bound on the cost of any plan of the season, and the programme's own best assignment.

    With `whole` False only the relaxation is solved (jobs may be split over days): quick, and weaker. `go_on` is asked
    while the whole programme is solved; False ends that.

    Validity: exact for what `assign` counts, except that phases may be split among people freely.
    Source: time-indexed assignment, own formulation; solved by HiGHS through scipy.optimize.
    """
    jobs = [job for job in season.jobs if job.unit not in left_out]
    constant = sum(undone_cost(season, job) for job in season.jobs if job.unit in left_out)
    if not jobs:
        return Bounded(constant, (None,) * len(season.jobs), constant)
    programme, at = _written(season, jobs)
    if not whole:
        return _relaxed(season, programme, at, constant, left_out, seconds)
    found = solved(
        Programme(
            np.array(programme.cost),
            np.array(programme.high),
            np.array(programme.whole),
            programme.matrix(),
            np.array(programme.low_row),
            np.array(programme.high_row),
            1e-6,
        ),
        seconds,
        go_on,
    )
    bound = constant + (0.0 if found.bound is None else found.bound)
    if found.columns is None:
        return Bounded(bound, None, math.inf)
    days = tuple(_day(found.columns, at.get(job.unit, {})) for job in season.jobs)
    return Bounded(bound, days, constant + found.cost)


def _relaxed(
    season: Season,
    programme: _Rows,
    at: dict[str, dict[int, int]],
    constant: float,
    left_out: frozenset[str],
    seconds: float,
) -> Bounded:
    """Solve the programme with jobs that may be split; the price of a job is the dual of its own row."""
    from scipy.optimize import linprog

    matrix, low, high = programme.matrix(), np.array(programme.low_row), np.array(programme.high_row)
    equal = low == high
    found = linprog(
        np.array(programme.cost),
        A_ub=matrix[~equal],
        b_ub=high[~equal],
        A_eq=matrix[equal],
        b_eq=high[equal],
        bounds=[(0.0, one) for one in programme.high],
        method="highs",
        options={"time_limit": seconds},
    )
    if found.status != 0:
        return Bounded(constant, None, math.inf)
    price = iter(found.eqlin.marginals.tolist())
    prices = tuple(0.0 if job.unit in left_out else next(price) for job in season.jobs)
    above = np.cumsum(~equal) - 1
    tolls = {key: -float(found.ineqlin.marginals[above[row]]) for key, row in programme.kinds.items()}
    x = np.asarray(found.x)
    days = tuple(_most(x, at.get(job.unit, {})) for job in season.jobs)
    return Bounded(constant + float(found.fun or 0.0), days, math.inf, prices, tolls)


def _day(x: Floats, columns: dict[int, int]) -> int | None:
    """Return the day whose column is chosen."""
    return next((day for day, column in columns.items() if x[column] > 0.5), None)


def _most(x: Floats, columns: dict[int, int]) -> int | None:
    """Return the day that has most of a job, None when it is left undone."""
    return max(
        (day for day, column in columns.items() if x[column] > 1e-3), key=lambda day: x[columns[day]], default=None
    )


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
        out.kinds[kind, day] = len(out.low_row)
        out.row([*entries, *met, (missing, -1.0)], -math.inf, 0.0)
    for (g, day), columns in given.items():
        out.row(columns, -math.inf, season.grinders[g].hours[day])
