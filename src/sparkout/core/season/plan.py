"""The season's plan: which unit on which day, how far from the best there can be, and why a unit is late."""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sparkout.core.errors import within
from sparkout.core.phrase import Phrase, joined, phrase
from sparkout.core.season.assign import Assigned, Assigning, Taken, dispatched, improved, replayed
from sparkout.core.season.bound import bounded
from sparkout.core.season.every_set import cheapest
from sparkout.core.season.exchanged import MOST_UNITS, exchanged
from sparkout.core.season.jobs import CannotBeDone, Floats, Job, Season, checked, days_open, overtime, undone_cost
from sparkout.core.season.polish import DaySets, by_day, polished

FEW, WHOLE = 40, 100
"""So few units are first given to the solver whole, which may prove the best there is; up to so many have sets chosen
for the whole season at once."""
HELPS = (0.5, 1.0, 2.0, 4.0, 8.0)
"""Further hours a week tried when a late unit is explained."""
FULL = 0.05
"""Hours left below which a day counts as full."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a plan has come: cost of the best so far, proven bound, seconds spent, and what is being done."""

    cost: float
    bound: float
    seconds: float
    doing: Phrase
    best: Assigned
    """The best whole plan so far; a search under way may have come to `cost` beyond it."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A season's plan with its proven bound. Costs are in units of importance: what a day late costs."""

    season: Season
    assigned: Assigned
    bound: float
    cannot: tuple[CannotBeDone, ...]
    seconds: float

    @property
    def cost(self) -> float:
        """What lateness, early grinding, overtime, moves and undone units cost together."""
        return self.assigned.cost

    @property
    def gap(self) -> float:
        """Share of the cost by which a better plan could at most be cheaper; 0 when none can be."""
        return 0.0 if self.cost <= 1e-9 else max(0.0, (self.cost - self.bound) / self.cost)

    def day(self, job: Job) -> int | None:
        """Return the day of a job, None when it is left undone."""
        taken = self.taken(job)
        return None if taken is None else taken.day

    def taken(self, job: Job) -> Taken | None:
        """Return the hours a job takes."""
        return self.assigned.taken[self.season.jobs.index(job)]

    @property
    def days(self) -> dict[str, int]:
        """The day of each job that has one, by name: what is kept of a plan, and what `replanned` holds on to."""
        return {job.unit: day for job in self.season.jobs if (day := self.day(job)) is not None}


@dataclass(frozen=True, slots=True)
class Late:
    """A unit done after its due day, or not at all, and what would have it done in time."""

    unit: str
    days: int | None
    """Days late; None: left undone."""
    why: Phrase
    helps: float | None
    """Further hours a week of whoever or whatever is full that would have it done in time; None: none tried would."""
    full: tuple[str, ...] = ()
    """Who or what is full, where that is why, on each day from `first` to `last` on which it could be done in time."""
    first: int | None = None
    last: int | None = None


def planned(
    season: Season,
    seconds: float = 10.0,
    rng: np.random.Generator | None = None,
    told: Callable[[Progress], bool] | None = None,
) -> Plan:
    """Return a plan of the season with a proven bound on what any plan must cost.

    A dispatch rule; a search that takes jobs off and puts them back; a bound from days that do units whole; a search by
    exchanges from the relaxation's days; sets of units settled day by day; in a season of few units every set that a
    plan cheaper than the best could have, chosen among, which may prove the best; then stretches of days set anew and
    searched about, in turn; whatever is best when the time is up.

    Parameters
    ----------
    seconds : time to spend, 0.1 to 36,000 s
    rng : for the search; without one, always the same
    told : called as the plan gets better; False ends the search and returns the best plan so far

    Raises
    ------
    OutOfRange, Contradiction, NotEnough
        From `jobs.checked`: named with the job or person.

    Validity: hours are counted by person, grinder and day; the order within a day is `timetable`'s.

    Source: own formulation.
    """
    within("seconds", seconds, 0.1, 36_000.0, "s")
    began = time.monotonic()
    cannot = checked(season)
    left_out = frozenset(one.unit for one in cannot)
    random = rng if rng is not None else np.random.default_rng(0)
    best, bound = dispatched(season, left_out), 0.0
    wanted = True

    def ask(cost: float, doing: Phrase) -> bool:
        nonlocal wanted
        if told is not None and wanted:
            wanted = told(Progress(cost, bound, time.monotonic() - began, doing, best))
        return wanted

    def until(share: float, doing: Phrase) -> Callable[[int, float], bool]:
        def go_on(rounds: int, cost: float) -> bool:
            if cost <= bound + 1e-6:
                return False
            return time.monotonic() - began < share * seconds and (rounds % 20 > 0 or ask(cost, doing))

        return go_on

    best = improved(season, best, random, until(0.1, phrase("moving units about")), left_out)
    proving = phrase("proving how good a plan can be")
    if len(season.jobs) <= FEW and best.cost > bound + 1e-6 and ask(best.cost, proving):
        whole = bounded(season, 0.2 * seconds, left_out, go_on=lambda: ask(best.cost, proving))
        if whole.days is not None and whole.cost < best.cost - 1e-9:
            best = min(best, tried(season, whole.days, left_out), key=lambda one: one.cost)
        bound = min(whole.bound, best.cost)
    if best.cost > bound + 1e-6 and ask(best.cost, proving):
        rounds, more = itertools.count(1), until(0.95, proving)
        sets = DaySets(season, left_out)
        sets.add(by_day((job, taken.day) for job, taken in zip(season.jobs, best.taken, strict=True) if taken))
        sets.gathered(best.cost, 0.2 * seconds, lambda: more(next(rounds), best.cost))
        bound = min(max(bound, sets.bound), best.cost)
        best = _moved(season, sets, sets.nearest, best, until(0.6, phrase("moving units about")), left_out)
        if wanted and best.cost > bound + 1e-6:
            settled = sets.dived(0.5 * seconds, lambda: more(next(rounds), best.cost))
            best = min(best, _of_sets(season, settled, left_out), key=lambda one: one.cost)
            days = [None if (taken := best.taken[i]) is None else taken.day for i in sets.days.at]
            best = _moved(season, sets, days, best, until(0.9, phrase("moving units about")), left_out)
        if wanted and best.cost > bound + 1e-6 and len(season.jobs) <= WHOLE:
            chosen = sets.chosen(0.1 * seconds, lambda: ask(best.cost, proving))
            best = min(best, _of_sets(season, chosen, left_out), key=lambda one: one.cost)
            if best.cost > bound + 1e-6 and ask(best.cost, proving):
                left = max(0.9 * seconds - (time.monotonic() - began), 0.1)
                found = cheapest(sets.days, sets.prices, best.cost, left, lambda: ask(best.cost, proving))
                best = min(best, _of_sets(season, found.placed, left_out), key=lambda one: one.cost)
                bound = min(max(bound, found.bound), best.cost)
    while wanted and best.cost > bound + 1e-6 and time.monotonic() - began < seconds:
        anew = until(1.0, phrase("setting stretches of days anew"))
        best = polished(season, best, random, lambda rounds, cost: rounds < 3 and anew(rounds, cost), left_out)  # noqa: B023
        share = min(1.0, (time.monotonic() - began) / seconds + 0.1)
        best = improved(season, best, random, until(share, phrase("moving units about")), left_out)
    ask(best.cost, phrase("done"))
    return Plan(season, best, min(bound, best.cost), cannot, time.monotonic() - began)


def _moved(
    season: Season,
    sets: DaySets,
    days: list[int | None],
    best: Assigned,
    go_on: Callable[[int, float], bool],
    left_out: frozenset[str],
) -> Assigned:
    """Return the better of a plan and what a search by exchanges finds from these days of the units asked about."""
    if len(sets.days.jobs) > MOST_UNITS:
        return best
    found = exchanged(season, sets.days.jobs, days, lambda steps, cost: go_on(steps, min(cost, best.cost)))
    return min(best, _of_sets(season, zip(sets.days.jobs, found, strict=True), left_out), key=lambda one: one.cost)


def _of_sets(season: Season, chosen: Iterable[tuple[Job, int | None]], left_out: frozenset[str]) -> Assigned:
    days = dict(chosen)
    return tried(season, tuple(days.get(job, job.fixed) for job in season.jobs), left_out)


def tried(season: Season, days: tuple[int | None, ...], left_out: frozenset[str] = frozenset()) -> Assigned:
    """Return the plan with these days, as far as people and grinders really allow them."""
    made = Assigning(season, left_out)
    jobs = [(job, day) for job, day in zip(season.jobs, days, strict=True) if job.unit not in left_out]
    for job, day in sorted(jobs, key=lambda item: (item[0].fixed is None, -item[0].hours)):
        if day is not None and np.isfinite(made.workshop.prices(job)[day]):
            made.put(job, day)
    for job, _ in jobs:
        if job not in made.taken:
            made.place(job)
    return made.frozen(0)


def on_days(season: Season, days: Sequence[int | None], bound: float = 0.0) -> Plan:
    """Return the plan that has each job on this day (None: left undone, or where it costs least when that is cheaper).

    For a plan kept as days, and for what a move by hand would cost: its cost against the other's.

    Parameters
    ----------
    days : in the order of the season's jobs
    bound : proven before for the same season

    Raises
    ------
    OutOfRange, Contradiction, NotEnough
        As `planned`.
    """
    cannot = checked(season)
    assigned = tried(season, tuple(days), frozenset(one.unit for one in cannot))
    return Plan(season, assigned, min(bound, assigned.cost), cannot, 0.0)


def late(plan: Plan) -> tuple[Late, ...]:
    """Return each late or undone unit with why, in the order of what it costs.

    Every other unit stays where it is while it is asked what would let this one be done by its due day; the answer is
    tried on the workshop as planned, not guessed.
    """
    found: list[tuple[float, Late]] = []
    cannot = {one.unit: one for one in plan.cannot}
    for job in plan.season.jobs:
        day = plan.day(job)
        if job.unit in cannot:
            found.append((undone_cost(plan.season, job), Late(job.unit, None, Phrase(cannot[job.unit].why), None)))
        elif day is None or day > job.due:
            cost = undone_cost(plan.season, job) if day is None else job.importance * (day - job.due)
            found.append((cost, _explained(plan, job, day)))
    return tuple(one for _, one in sorted(found, key=lambda item: -item[0]))


def _explained(plan: Plan, job: Job, day: int | None) -> Late:
    late_by = None if day is None else day - job.due
    if job.fixed is not None:
        return Late(job.unit, late_by, phrase("its day was chosen by hand"), None)
    made = replayed(plan.season, plan.assigned, frozenset(one.unit for one in plan.cannot))
    if job in made.taken:
        made.remove(job)
    last = min(job.due, plan.season.days - 1)
    could = np.flatnonzero(days_open(plan.season, job)[: last + 1]) if last >= 0 else np.array([], dtype=np.intp)
    if could.size == 0:
        if job.ready > job.due:
            return Late(job.unit, late_by, phrase("it can only be had after it is due"), None)
        return Late(job.unit, late_by, phrase("its machine cannot be spared before it is due"), None)
    full = _full(made, job, could)
    if not full:
        why = phrase("doing it in time would push a dearer unit out or cost more overtime")
        return Late(job.unit, late_by, why, None)
    helps = next((hours for hours in HELPS if _would_fit(made, job, could, full, hours)), None)
    first, last, who = int(could[0]), int(could[-1]), joined(", ", full)
    if helps is None:
        why = phrase("{who} full on days {first} to {last}", who=who, first=first, last=last)
    else:
        why = phrase(
            "{who} full on days {first} to {last}; {hours:g} more hours a week would clear it",
            who=who, first=first, last=last, hours=helps,
        )  # fmt: skip
    return Late(job.unit, late_by, why, helps, tuple(full), first, last)


def _full(made: Assigning, job: Job, days: np.ndarray) -> list[str]:
    """Return the skills and kinds of grinder that are short on every one of these days for the job."""
    shop = made.workshop
    skills, kinds = shop.needs[job]
    short = []
    for kind, hours in kinds:
        if np.all(shop.grinding[shop.fit[kind]][:, days].sum(axis=0) < hours - FULL):
            short += [made.season.grinders[g].name for g in shop.fit[kind]]
    for skill, hours in skills:
        able = shop.able[skill]
        if np.all((shop.free[able] + shop.over[able])[:, days].sum(axis=0) < hours - FULL):
            short += [made.season.technicians[k].name for k in able]
    if not short and not np.isfinite(shop.prices(job)[days]).any():
        short = [person.name for person in made.season.technicians]
    return list(dict.fromkeys(short))


def _would_fit(made: Assigning, job: Job, days: np.ndarray, full: list[str], hours: float) -> bool:
    """Tell whether the job fits one of these days when those who are full have so many more hours a week."""
    shop, season = made.workshop, made.season
    kept = shop.free.copy(), shop.grinding.copy()
    try:
        for k, person in enumerate(season.technicians):
            if person.name in full:
                shop.free[k, days] += hours
        for g, grinder in enumerate(season.grinders):
            if grinder.name in full:
                shop.grinding[g, days] += hours
        return bool(np.isfinite(shop.prices(job)[days]).any())
    finally:
        shop.free, shop.grinding = kept


def replanned(season: Season, before: Mapping[str, int], change_cost: float) -> Season:
    """Return a season to plan anew that holds on to an earlier plan's days: moving a unit costs `change_cost`.

    Examples
    --------
    A technician ill next week: give the season with the new hours, plan it, and only what must move moves.
    """
    within("change_cost", change_cost, 0.0, 1e9)
    return replace(
        season,
        jobs=tuple(replace(job, was=before.get(job.unit), change_cost=change_cost) for job in season.jobs),
    )


def load(plan: Plan) -> tuple[Floats, Floats]:
    """Return hours taken (with overtime) and hours there are: rows people then grinders, columns days."""
    season = plan.season
    rows = len(season.technicians) + len(season.grinders)
    used = np.zeros((rows, season.days))
    for taken in plan.assigned.taken:
        if taken is not None:
            used[: len(season.technicians), taken.day] += taken.normal + taken.over
            used[len(season.technicians) :, taken.day] += taken.grinders
    there = np.array([p.hours for p in season.technicians] + [g.hours for g in season.grinders], dtype=np.float64)
    return used, there.reshape(rows, season.days)


@dataclass(frozen=True, slots=True)
class CostParts:
    """What a plan's cost is made of."""

    late: float
    early: float
    overtime: float
    moved: float
    undone: float


def cost_parts(plan: Plan) -> CostParts:
    """Return a plan's cost by cause; the parts sum to it (hours forced by days chosen by hand count as overtime)."""
    parts = {"late": 0.0, "early": 0.0, "overtime": 0.0, "moved": 0.0, "undone": 0.0}
    for job, taken in zip(plan.season.jobs, plan.assigned.taken, strict=True):
        if taken is None:
            if job.unit not in {one.unit for one in plan.cannot}:
                parts["undone"] += undone_cost(plan.season, job)
            continue
        off = taken.day - job.due
        due = job.importance * off if off > 0 else -job.early_cost * off
        moved = job.change_cost if job.was is not None and job.was != taken.day else 0.0
        parts["late" if off > 0 else "early"] += due
        parts["moved"] += moved
        parts["overtime"] += taken.cost - due - moved
    return CostParts(**parts)


def spare_overtime(season: Season) -> float:
    """Return the hours of overtime there are in a season."""
    return float(sum(sum(overtime(person)) for person in season.technicians))
