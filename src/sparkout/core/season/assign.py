"""Assigning jobs to days: a workshop with hours taken, what each day would cost one more job, and a search over it.

Hours are taken person by person and grinder by grinder, so a day's work fits the people there are; two people may
share a phase. The search takes jobs off the plan and puts them back where they cost least, and keeps what is no dearer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sparkout.core.season.jobs import Floats, Job, Season, day_cost, days_open, overtime, undone_cost

FORCED = 1e4
"""Cost of an hour beyond what there is, where a day chosen by hand leaves no other way."""
_HARD = 1e-9


@dataclass(slots=True)
class Taken:
    """The hours one job takes on its day, by person (as normal hours and overtime) and by grinder."""

    day: int
    normal: Floats
    over: Floats
    grinders: Floats
    forced: float
    cost: float


class Workshop:
    """Hours still free by person, grinder and day, and who goes where."""

    def __init__(self, season: Season) -> None:
        self.season = season
        people, grinders, days = season.technicians, season.grinders, season.days
        self.free = np.array([person.hours for person in people], dtype=np.float64).reshape(len(people), days)
        self.over = np.array([overtime(person) for person in people], dtype=np.float64).reshape(len(people), days)
        self.over_cost = [person.overtime_cost for person in people]
        self.grinding = np.array([one.hours for one in grinders], dtype=np.float64).reshape(len(grinders), days)
        self.visits: dict[tuple[str, int], list[Job]] = {}
        # The least skilled first: whoever can do everything is kept for what only they can do.
        by_skills = sorted(range(len(people)), key=lambda k: (len(people[k].skills), people[k].overtime_cost))
        skills = {phase.skill for job in season.jobs for phase in job.phases}
        self.able = {skill: [k for k in by_skills if skill in people[k].skills] for skill in skills}
        by_kinds = sorted(range(len(grinders)), key=lambda g: len(grinders[g].kinds))
        kinds = {phase.grinder for job in season.jobs for phase in job.phases if phase.grinder is not None}
        self.fit = {kind: [g for g in by_kinds if kind in grinders[g].kinds] for kind in kinds}
        self.base = {job: _base(season, job) for job in season.jobs}
        self.needs = {job: self._needs(job) for job in season.jobs}

    def _needs(self, job: Job) -> tuple[list[tuple[str, float]], list[tuple[str, float]]]:
        """Return hours by skill, the skill fewest people have first, and hours by kind of grinder."""
        skills: dict[str, float] = {}
        kinds: dict[str, float] = {}
        for phase in job.phases:
            skills[phase.skill] = skills.get(phase.skill, 0.0) + phase.hours
            if phase.grinder is not None:
                kinds[phase.grinder] = kinds.get(phase.grinder, 0.0) + phase.hours
        return sorted(skills.items(), key=lambda item: len(self.able[item[0]])), list(kinds.items())

    def prices(self, job: Job) -> Floats:
        """Return what the job would cost on each day, infinite where it cannot be done."""
        free, over, grinding = self.free.copy(), self.over.copy(), self.grinding.copy()
        extra, missing = self._take(job, free, over, grinding, self._travel(job))
        if job.fixed is None:
            return np.where(missing > _HARD, np.inf, self.base[job] + extra)
        return self.base[job] + extra + FORCED * missing

    def _travel(self, job: Job) -> Floats:
        """Return the hours of travel one more job would bring, by day."""
        travel = np.full(self.season.days, self.season.travel.get(job.place, 0.0))
        if travel[0]:
            travel[[day for place, day in self.visits if place == job.place]] = 0.0
        return travel

    def _take(self, job: Job, free: Floats, over: Floats, grinding: Floats, travel: Floats) -> tuple[Floats, Floats]:
        """Take a job's hours out of these arrays, in place; return what overtime it costs and the hours missing."""
        cost, missing = np.zeros(free.shape[1]), np.zeros(free.shape[1])
        skills, kinds = self.needs[job]
        for position, (skill, hours) in enumerate(skills):
            # Whoever does the last of it also travels.
            need = hours + travel if position == len(skills) - 1 else np.full(free.shape[1], hours)
            for k in self.able[skill]:
                taken = np.minimum(need, free[k])
                free[k] -= taken
                need = need - taken
            for k in self.able[skill]:
                taken = np.minimum(need, over[k])
                over[k] -= taken
                need = need - taken
                cost += taken * self.over_cost[k]
            missing += need
        for kind, hours in kinds:
            need = np.full(free.shape[1], hours)
            for g in self.fit[kind]:
                taken = np.minimum(need, grinding[g])
                grinding[g] -= taken
                need = need - taken
            missing += need
        return cost, missing

    def take(self, job: Job, day: int) -> Taken:
        """Take a job's hours on a day."""
        at = slice(day, day + 1)
        before = self.free[:, day].copy(), self.over[:, day].copy(), self.grinding[:, day].copy()
        cost, missing = self._take(job, self.free[:, at], self.over[:, at], self.grinding[:, at], self._travel(job)[at])
        if job.place in self.season.travel:
            self.visits.setdefault((job.place, day), []).append(job)
        return Taken(
            day,
            before[0] - self.free[:, day],
            before[1] - self.over[:, day],
            before[2] - self.grinding[:, day],
            float(missing[0]),
            float(self.base[job][day] + cost[0] + FORCED * missing[0]),
        )

    def give_back(self, job: Job, taken: Taken) -> None:
        """Give back what a job took. Jobs of one visit go back together: the first of them holds the travel."""
        self.free[:, taken.day] += taken.normal
        self.over[:, taken.day] += taken.over
        self.grinding[:, taken.day] += taken.grinders
        visit = self.visits.get((job.place, taken.day))
        if visit is not None:
            visit.remove(job)
            if not visit:
                del self.visits[job.place, taken.day]


def _base(season: Season, job: Job) -> Floats:
    """Return what a job costs by day for its lateness or earliness, infinite where it cannot be had."""
    cost = np.array([day_cost(job, day) for day in range(season.days)])
    return np.where(days_open(season, job), cost, np.inf)


@dataclass(frozen=True, slots=True)
class Assigned:
    """Jobs and what each takes, in the season's order; None for a job left undone."""

    taken: tuple[Taken | None, ...]
    cost: float
    rounds: int


class Assigning:
    """A plan being made: what each job takes, and its cost so far."""

    def __init__(self, season: Season, left_out: frozenset[str] = frozenset()) -> None:
        self.season = season
        self.jobs = [job for job in season.jobs if job.unit not in left_out]
        self.workshop = Workshop(season)
        self.taken: dict[Job, Taken] = {}
        self.undone = {job: undone_cost(season, job) for job in self.jobs}
        self.cost = sum(self.undone.values())

    def place(self, job: Job) -> None:
        """Put a job on the day where it costs least, when that is less than leaving it undone."""
        price = self.workshop.prices(job)
        day = int(price.argmin())
        if job.fixed is None and not price[day] < self.undone[job]:
            return
        self.put(job, day)

    def put(self, job: Job, day: int) -> None:
        """Put a job on a day."""
        taken = self.taken[job] = self.workshop.take(job, day)
        self.cost += taken.cost - self.undone[job]

    def remove(self, job: Job) -> None:
        """Take a job off the plan."""
        taken = self.taken.pop(job)
        self.workshop.give_back(job, taken)
        self.cost += self.undone[job] - taken.cost

    def frozen(self, rounds: int) -> Assigned:
        """Return the plan as it stands."""
        return Assigned(tuple(self.taken.get(job) for job in self.season.jobs), self.cost, rounds)

    def together(self, job: Job) -> list[Job]:
        """Return the jobs that leave the plan with this one: those of the same visit to a place."""
        if job not in self.taken:
            return [job]
        return list(self.workshop.visits.get((job.place, self.taken[job].day), [job]))


def dispatched(season: Season, left_out: frozenset[str] = frozenset()) -> Assigned:
    """Return the plan of a dispatch rule: days chosen by hand first, then each job where it costs least.

    The best of three rules: earliest due date, most important first, and importance over hours by due date.
    """
    rules: list[Callable[[Job], tuple[float, ...]]] = [
        lambda job: (job.fixed is None, job.due, -job.importance),
        lambda job: (job.fixed is None, -job.importance, job.due),
        lambda job: (job.fixed is None, job.due - 5.0 * job.importance / max(job.hours, 0.1)),
    ]
    best: Assigned | None = None
    for rule in rules:
        made = Assigning(season, left_out)
        for job in sorted(made.jobs, key=rule):
            made.place(job)
        if best is None or made.cost < best.cost:
            best = made.frozen(0)
    assert best is not None
    return best


def replayed(season: Season, start: Assigned, left_out: frozenset[str] = frozenset()) -> Assigning:
    """Return a plan in the making that stands where `start` stands."""
    made = Assigning(season, left_out)
    for job, taken in zip(season.jobs, start.taken, strict=True):
        if taken is not None:
            made.put(job, taken.day)
    return made


def improved(
    season: Season,
    start: Assigned,
    rng: np.random.Generator,
    go_on: Callable[[int, float], bool],
    left_out: frozenset[str] = frozenset(),
) -> Assigned:
    """Return a plan no dearer than `start`: jobs of a stretch of days are taken off and put back, over and over.

    A round that makes the plan a little dearer is kept now and then, the less the longer the search goes on, so that it
    does not stay where it began; the best plan seen is what is returned. `go_on` is called with the rounds done and the
    best cost, and ends the search when it returns False.
    """
    made = replayed(season, start, left_out)
    best, best_days, rounds = made.cost, _days(made), 0
    movable = [job for job in made.jobs if job.fixed is None]
    if not movable:
        return made.frozen(0)
    warmth = 0.5 * abs(best) / len(movable)
    while go_on(rounds, best):
        rounds += 1
        before, removed = made.cost, _removed(made, movable, rng)
        back = [(job, made.taken[job].day) for job in removed if job in made.taken]
        for job in removed:
            if job in made.taken:
                made.remove(job)
        for job in _order(removed, rng):
            made.place(job)
        if made.cost < best - 1e-9:
            best, best_days = made.cost, _days(made)
        elif made.cost > before + warmth * rng.exponential():
            for job in removed:
                if job in made.taken:
                    made.remove(job)
            for job, day in back:
                made.put(job, day)
        warmth *= 0.9995
    again = Assigning(season, left_out)
    for job, day in best_days:
        again.put(job, day)
    return again.frozen(rounds)


def _days(made: Assigning) -> list[tuple[Job, int]]:
    """Return the jobs with their days, in the order that takes the same hours again."""
    return [(job, taken.day) for job, taken in made.taken.items()]


def _removed(made: Assigning, movable: Sequence[Job], rng: np.random.Generator) -> list[Job]:
    """Return jobs to take off: those about one job's day, or its due day, and some that are late or undone."""
    seed = movable[int(rng.integers(len(movable)))]
    middle = made.taken[seed].day if seed in made.taken else seed.due
    size = int(rng.integers(2, min(len(movable), 14) + 1)) if len(movable) > 2 else len(movable)
    by_due = rng.random() < 0.5
    width = rng.exponential(2.0) + 1.0

    at = [job.due if by_due or (taken := made.taken.get(job)) is None else taken.day for job in movable]
    away = np.abs(np.array(at) - middle) / width + 2.0 * rng.random(len(movable))
    near = [movable[i] for i in np.argsort(away, kind="stable")[:size].tolist()]
    chosen: dict[Job, None] = {seed: None}
    for job in near:
        chosen.update(dict.fromkeys(made.together(job)))
    return [job for job in chosen if job.fixed is None]


def _order(jobs: Sequence[Job], rng: np.random.Generator) -> list[Job]:
    """Return jobs in the order to put them back: by due date or importance or hours, shaken."""
    rule = int(rng.integers(3))
    noise = rng.exponential(0.3, len(jobs))
    keys = [
        (job.due + 3.0 * shake, -job.importance * (1.0 + shake), -job.hours * (1.0 + shake))[rule]
        for job, shake in zip(jobs, noise, strict=True)
    ]
    return [jobs[i] for i in np.argsort(keys, kind="stable")]


def freed(made: Assigning, jobs: Sequence[Job]) -> Season:
    """Take these jobs off the plan, and return the season that is left for them when all others stay."""
    for job in jobs:
        if job in made.taken:
            made.remove(job)
    shop, season = made.workshop, made.season
    people = tuple(
        replace(person, hours=tuple(free.tolist()), overtime_by_day=tuple(over.tolist()))
        for person, free, over in zip(season.technicians, shop.free, shop.over, strict=True)
    )
    grinders = tuple(
        replace(one, hours=tuple(hours.tolist())) for one, hours in zip(season.grinders, shop.grinding, strict=True)
    )
    return replace(season, technicians=people, grinders=grinders, jobs=tuple(jobs))
