"""Pictures of a season: its plan on the wall, the load of its weeks, the age of the fleet, how often to sharpen."""

from __future__ import annotations

import itertools
import math
from typing import TYPE_CHECKING

from sparkout.core.days import month_of, short, with_weekday
from sparkout.core.phrase import AsTyped, Phrase, capital, counted, phrase
from sparkout.core.season.interval import cost_curve
from sparkout.drawing.age import Aged, fleet_age
from sparkout.drawing.amounts import MOST, Amount, amounts
from sparkout.drawing.fan import Band, Grind, wear_fan
from sparkout.drawing.interval import interval_curve
from sparkout.drawing.load import Hours, load_by_week
from sparkout.drawing.wall import wall_and_names
from sparkout.drawing.wall_given import Block, FreshFor, Row, Stretch, Wall
from sparkout.papers.pictures import manners
from sparkout.season.forecast import cost_of_sharpening
from sparkout.season.sheet import HOUR
from sparkout.season.work import concerns

if TYPE_CHECKING:
    from collections.abc import Callable

    from sparkout.core.season.jobs import Job
    from sparkout.season.forecast import Forecast, WearAhead
    from sparkout.season.now import SeasonNow, SeasonPlanned
    from sparkout.season.placing import Placed
    from sparkout.season.sheet import SeasonSheet
    from sparkout.showing import Showing

LEAST_WANTED = 0.005
"""Pieces in a month below which there is nothing to draw."""
WIDE = 1360.0
"""Width of the wall on a screen that has room for it, px."""
_TELLING = ("relief", "spin", "knife", "set", "strip")
"""Which phase of a job its letter stands for: the first of these it has."""


def standing_of(one: Placed) -> Phrase:
    """Return how a job's day stands to the day it is due.

    Examples
    --------
    >>> import datetime
    >>> from sparkout.season.placing import Placed
    >>> due = datetime.date(2026, 12, 9)
    >>> days = [datetime.date(2026, 12, day) for day in (8, 9, 12)]
    >>> [str(standing_of(Placed("A", "A", "", "", day, due, False, "", ()))) for day in (*days, None)]
    ['in time, 1 day to spare', 'in time, on the day it is due', '3 days late', 'left undone']
    """
    late = one.days_late
    if late is None:
        return phrase("left undone")
    if late > 0:
        return counted(late, "{n} day late", "{n} days late")
    if late == 0:
        return phrase("in time, on the day it is due")
    return counted(-late, "in time, {n} day to spare", "in time, {n} days to spare")


def season_wall_and_names(
    season: SeasonPlanned,
    showing: Showing,
    *,
    first: int = 0,
    days: int | None = None,
    machines: bool = False,
    href: Callable[[str], str] | None = None,
    width: float = WIDE,
) -> tuple[str, str]:
    """Return the plan as a wall planner, and its column of names alone: units down, or machines.

    With `href` each block leads to what it gives.
    """
    work, sheet = season.now.needed, season.now.sheet
    names, rows = _rows(season, machines)
    at = {name: i for i, name in enumerate(names)}
    works = {job.unit: _telling(job) for job in work.season.jobs}
    of = {one.unit.name: at[_row_name(one.unit.machine, one.unit.name, machines)] for one in work.units}
    blocks = [
        Block(
            of[one.unit],
            None if one.on is None else (one.on - work.start).days,
            (one.due - work.start).days,
            works[one.job],
            showing.say(job_words(one)),
            one.by_hand,
            "" if href is None else href(one.job),
        )
        for one in season.placed
    ]
    fresh = [
        FreshFor(
            occasion.name or occasion.at,
            (occasion.on - work.start).days,
            tuple(sorted({of[one.unit.name] for one in work.units if concerns(occasion, one)})),
        )
        for occasion in sheet.fresh
    ]
    away = [
        Stretch(gap.who, max((gap.first - work.start).days, 0), (gap.last - work.start).days)
        for gap in sheet.away
        if gap.last >= work.start
    ]
    people = work.season.technicians
    off = [day for day in range(work.season.days) if not any(person.hours[day] for person in people)]
    shown = min(days or work.season.days, work.season.days - first, 400)
    today = (season.now.today - work.start).days
    wall = Wall(
        work.start, shown, rows, blocks, fresh, away, off, first, today if today >= 0 else None,
        lambda on: showing.say(with_weekday(on)),
    )  # fmt: skip
    return wall_and_names(wall, **manners(showing, "wall", width))


def job_words(one: Placed) -> Phrase:
    """Return everything about a job on its day in words."""
    due = with_weekday(one.due)
    if one.on is None:
        return phrase("{unit}: left undone; due {due}", unit=AsTyped(one.job), due=due)
    told = phrase(
        "{unit}: {day}; due {due}; {standing}",
        unit=AsTyped(one.job),
        day=with_weekday(one.on),
        due=due,
        standing=standing_of(one),
    )
    if one.new_part:
        told = phrase("{told}; a new '{part}' goes in", told=told, part=AsTyped(one.new_part))
    return phrase("{told}; day chosen by hand", told=told) if one.by_hand else told


def _telling(job: Job) -> str:
    return next(name for name in _TELLING if any(phase.skill == name for phase in job.phases))


def _row_name(machine: str, unit: str, machines: bool) -> str:
    return (machine or unit) if machines else unit


def _rows(season: SeasonPlanned, machines: bool) -> tuple[list[str], list[Row]]:
    """Return the rows' names and the rows, machine by machine."""
    work = season.now.needed
    held: dict[str, tuple[tuple[int, int], ...]] = {}
    groups: dict[str, str] = {}
    for one, job in zip(work.units, work.season.jobs, strict=True):
        name = _row_name(one.unit.machine, one.unit.name, machines)
        if name not in held:
            held[name] = _stretches(job.spared, work.season.days)
            groups[name] = "" if machines else one.unit.machine
    names = sorted(held, key=lambda name: (groups[name], name))
    return names, [Row(name, groups[name], held[name]) for name in names]


def _stretches(spared: frozenset[int] | None, days: int) -> tuple[tuple[int, int], ...]:
    if spared is None:
        return ()
    gone = [day for day in range(days) if day not in spared]
    runs = itertools.groupby(enumerate(gone), key=lambda item: item[1] - item[0])
    ends = [[day for _, day in run] for _, run in runs]
    return tuple((run[0], run[-1]) for run in ends)


def season_load(season: SeasonPlanned, showing: Showing, width: float = 390.0) -> str:
    """Return hours taken against hours there, by week."""
    names = list(season.weeks[0].there)[:60]
    rows = [
        Hours(name, [week.there[name] for week in season.weeks], [week.taken[name] for week in season.weeks])
        for name in names
    ]
    weeks = [showing.say(short(week.first)) for week in season.weeks]
    return load_by_week(weeks, rows, time=_hours(showing), **manners(showing, "load", width))


def _hours(showing: Showing) -> Callable[[float], str]:
    return lambda value: showing.quantity(value * HOUR, "time", unit="h", places=int(0.0 < value < 20.0))


def season_age(forecast: Forecast, showing: Showing, width: float = 390.0) -> str:
    """Return the fleet's age, soonest at its limit first; empty where no unit's wear can be told."""
    aged = aged_units(forecast)
    if not aged:
        return ""
    return fleet_age(aged[:1000], along=_hours(showing), **manners(showing, "age", width))


def aged_units(forecast: Forecast) -> list[Aged]:
    """Return each unit with metal left and hours to its limit, soonest first."""
    found = []
    for one in forecast.units:
        if one.ends is not None and one.unit.limit is not None:
            five = one.ends.hours
            found.append(Aged(one.unit.name, one.ends.value - one.unit.limit, (five[0], *five[1:4], five[4])))  # type: ignore[arg-type]
    return sorted(found, key=lambda unit: (unit.hours[2], unit.hours[0], unit.name))


def season_spend(season: SeasonPlanned, showing: Showing, width: float = 390.0) -> str:
    """Return what the planned work costs, by cause; empty where it costs nothing."""
    causes = season.spent.by_cause
    rows = [Amount(showing.say(cause), money) for cause, money in causes.items() if money > 0.0]
    if not rows:
        return ""
    return amounts("spend", rows, show=lambda money: showing.figure(money, 0), **manners(showing, "spend", width))


def season_budget(now: SeasonNow, showing: Showing, width: float = 390.0) -> str:
    """Return the season's budget by cause and together, with the interval of 90 %; empty where nothing costs any."""
    found = now.budget.found
    if found is None:
        return ""
    rows = [
        Amount(showing.say(line.cause), line.mean, line.levels[0], line.levels[-1])
        for line in found.lines
        if line.levels[-1] >= 0.5 or line.mean >= 0.5
    ]
    rows.append(Amount(showing.say(phrase("together")), found.mean, found.levels[0], found.levels[-1]))
    return amounts("budget", rows, show=lambda money: showing.figure(money, 0), **manners(showing, "budget", width))


def season_demand(now: SeasonNow, showing: Showing, width: float = 390.0) -> str:
    """Return the reels wanted by part and month, with the interval of 90 %; empty where none is foreseen."""
    rows = [
        Amount(f"{showing.say(month_of(month.first))}: {part.part}", month.mean, month.low, month.high)
        for part in now.parts
        for month in part.months
        if month.high > 0 or month.mean >= LEAST_WANTED
    ]
    if not rows:
        return ""
    return amounts("demand", rows[:MOST], show=lambda n: showing.figure(n, 2), **manners(showing, "demand", width))


def how_often(forecast: Forecast, sheet: SeasonSheet, showing: Showing, width: float = 390.0) -> str:
    """Return the cost of an hour against the interval; empty where this workshop's edge life is not known."""
    if forecast.life is None or forecast.best is None:
        return ""
    best, life = forecast.best, forecast.life
    planned = cost_of_sharpening(sheet)
    scale = life.characteristic_life([1.0])
    hours, costs = cost_curve(best, scale, life.shape, planned, planned + sheet.costs.sooner)
    inside = best.hours if math.isfinite(best.hours) else None
    return interval_curve(
        hours,
        costs,
        best=inside,
        flat=(best.within_low, best.within_high) if inside is not None else None,
        money=lambda value: showing.figure(value, 2),
        time=_hours(showing),
        **manners(showing, "interval", width),
    )


def wear_picture(told: Forecast, one: WearAhead, showing: Showing, width: float = 390.0) -> str:
    """Return sizes of something that wears so far and the fan of those to come, over twice the hours to its limit."""
    thing, band, reached = one.wearing, None, None
    sizes = thing.sizes
    if one.ends is not None and thing.hours is not None:
        middle = one.ends.hours[2]
        far = max(1.3 * middle if math.isfinite(middle) else 0.0, 0.5 * thing.hours, 50.0)
        onward = [far * i / 24 for i in range(25)]
        values = told.ahead(one, onward)
        if values is not None:
            band = Band([thing.hours + each for each in onward], *(line.tolist() for line in values))
            reached = (one.ends.hours[0], middle, one.ends.hours[4])
    grinds = [
        Grind(after.hours, before.value, after.value)
        for before, after in itertools.pairwise(sizes)
        if after.removed != before.removed
    ]
    return wear_fan(
        [size.hours for size in sizes],
        [size.value for size in sizes],
        band,
        what=capital(showing.say(thing.words)),
        limit=thing.limit,
        grinds=grinds,
        reached=reached,
        along=_hours(showing),
        **manners(showing, "fan", width),
    )
