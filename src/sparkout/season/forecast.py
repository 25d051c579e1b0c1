"""What a fleet's units have been through and what is to come: the next sharpening, and the reel at its limit."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough
from sparkout.core.phrase import Phrase, counted, phrase
from sparkout.core.season.edge_life import EdgeLife
from sparkout.core.season.interval import BestInterval, best_interval
from sparkout.core.season.unit_sums import Readings
from sparkout.core.season.wear import CHANCES, Ahead, Fleet, Wear, fleet_wear, reached, value_ahead, value_now
from sparkout.season.edges import Edge, edges_of, life_of
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sand import EVENT_WORDS, EventCost, Happening, event_costs, seen, since_first
from sparkout.season.sheet import HOUR, PHASES, SeasonSheet

WEEK = 7.0


@dataclass(frozen=True, slots=True)
class Size:
    """A reel's mean diameter as found or as left at a visit: hours on the reel, mm, and what had come before this."""

    hours: float
    diameter: float
    removed: float
    """mm ground off it."""
    sandings: int = 0
    stones: int = 0


@dataclass(frozen=True, slots=True)
class UnitNow:
    """What is on file of one unit. Hours are its reel's, since new or since its first visit."""

    name: str
    machine: str = ""
    place: str = ""
    duty: str = ""
    """What it is compared with: its type of reel."""
    hours: float | None = None
    """Hours now."""
    hours_a_week: float | None = None
    sharpened: float | None = None
    """Hours at the last sharpening."""
    edges: tuple[Edge, ...] = ()
    sizes: tuple[Size, ...] = ()
    limit: float | None = None
    """Least service diameter, mm."""
    relief: bool = False
    """Whether the next sharpening is to have a relief grind."""
    hectares_an_hour: float | None = None
    """What its machine mows in an hour, by areas on file."""
    sandings: int = 0
    stones: int = 0
    """That its reel has been through by now, counted as at its sizes."""
    reel: ReelOnFile | None = None
    """What its reel and grinder are, where that is told."""


@dataclass(frozen=True, slots=True)
class Due:
    """When a unit's next sharpening is due, in days from today; and when its edge goes, by chance."""

    hours: float
    """Hours from now to the sharpening; below 0 when it is overdue."""
    day: int
    goes: tuple[float, ...] = ()
    """Days by which its edge has gone with each of `CHANCES`; empty where no edge life is known."""


@dataclass(frozen=True, slots=True)
class Ends:
    """When a unit's reel reaches its limit."""

    diameter: float
    """Now, mm."""
    per_hour: float
    """mm an hour, of cutting alone."""
    hours: tuple[float, ...]
    """From now, for each of `CHANCES`; infinite where no time gives that chance."""
    days: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class UnitAhead:
    """One unit's forecast."""

    unit: UnitNow
    interval: float
    """Hours between sharpenings gone by."""
    weekly: float | None
    """Hours it mows in a week."""
    due: Due | None
    ends: Ends | None
    missing: tuple[str, ...] = ()
    """What would have to be known for more."""


@dataclass(frozen=True, slots=True)
class Forecast:
    """A fleet's forecast."""

    units: tuple[UnitAhead, ...]
    life: EdgeLife | None
    best: BestInterval | None
    interval_from: Phrase
    """Where the interval comes from."""
    wear: Wear | None
    """None where no unit was read at two different hours, or their readings settle no wear."""
    events: tuple[EventCost, ...] = ()
    """What one sanding and one stone cost, where the readings settle it."""
    untold: tuple[Phrase, ...] = ()
    """Why they do not settle it of the others."""


def forecast(units: Sequence[UnitNow], sheet: SeasonSheet) -> Forecast:
    """Return what is to come for each unit.

    The interval between sharpenings is the machine's own where the sheet says one; else the cheapest by renewal reward
    with this workshop's edge life, where at least `FEWEST_LIVES` edges went and wear, not accident, ends them; else the
    sheet's. Reels wear along their own lines among the fleet's (`core.season.wear`).

    Examples
    --------
    >>> from sparkout.season.sheet import SeasonSheet
    >>> units = [UnitNow("A", hours=300.0, hours_a_week=20.0, sharpened=240.0)]
    >>> forecast(units, SeasonSheet()).units[0].due.day
    21
    """
    life, best, told = _interval(units, sheet)
    usual = best.hours if best is not None and math.isfinite(best.hours) else sheet.interval / HOUR
    worn = _worn(units)
    found = []
    for i, unit in enumerate(units):
        rule = sheet.rule(unit.machine)
        weekly = rule.hours_a_week / HOUR if rule.hours_a_week is not None else unit.hours_a_week
        interval = rule.interval / HOUR if rule.interval is not None else usual
        missing: list[str] = []
        if unit.hours is None or unit.sharpened is None:
            missing.append(phrase("its hours now and at the last sharpening"))
        if weekly is None or weekly <= 0.0:
            missing.append(phrase("its hours a week"))
        due = None if missing else _due(unit, interval, weekly or 1.0, life)
        mine = worn.ends.get(i)
        if mine is None:
            missing.append(worn.wanted)
        dated = None if mine is None else _dated(mine, weekly)
        found.append(UnitAhead(unit, interval, weekly, due, dated, tuple(missing)))
    events = () if worn.wear is None else event_costs(worn.wear, worn.happened, _per_day(found))
    return Forecast(tuple(found), life, best, told, worn.wear, events, worn.untold)


def _per_day(units: Sequence[UnitAhead]) -> float:
    """Return the hours a day of the average unit; not a number where no unit's week is known."""
    known = [one.weekly for one in units if one.weekly]
    return math.fsum(known) / len(known) / WEEK if known else math.nan


def _interval(units: Sequence[UnitNow], sheet: SeasonSheet) -> tuple[EdgeLife | None, BestInterval | None, Phrase]:
    edges = edges_of(units)
    try:
        life = life_of(edges)
    except NotEnough as why:
        return None, None, phrase("the season sheet: {why}", why=why)
    if life is None:
        went = sum(edge.went for edge in edges)
        told = counted(went, "the season sheet: {n} edge on file went", "the season sheet: {n} edges on file went")
        return None, None, told
    costs = sheet.costs
    planned = cost_of_sharpening(sheet)
    best = best_interval(life.characteristic_life([1.0]), life.shape, planned, planned + costs.sooner)
    if not math.isfinite(best.hours):
        return life, best, phrase("the season sheet: these edges end by accident, no interval saves anything")
    return life, best, counted(len(edges), "cheapest by {n} edge on file", "cheapest by {n} edges on file")


def cost_of_sharpening(sheet: SeasonSheet) -> float:
    """Return what a sharpening at its time costs, above 0 so that intervals can be compared."""
    return max(cost_of_one(sheet, relief=True), 1e-6)


def cost_of_one(sheet: SeasonSheet, *, relief: bool) -> float:
    """Return what one sharpening costs: its hours of work and the wheel it uses up."""
    hours = sum(sheet.hours.of(phase) for phase in PHASES if relief or phase != "relief")
    return float(sheet.costs.hour * hours + sheet.costs.wheel)


def _due(unit: UnitNow, interval: float, weekly: float, life: EdgeLife | None) -> Due:
    hours, sharpened = unit.hours or 0.0, unit.sharpened or 0.0
    age = max(hours - sharpened, 0.0)
    left = sharpened + interval - hours
    goes: tuple[float, ...] = ()
    if life is not None:
        goes = tuple(life.remaining([1.0], age, 1.0 - chance) / weekly * WEEK for chance in CHANCES)
    return Due(left, math.floor(left / weekly * WEEK), goes)


class _Worn(NamedTuple):
    """A fleet's wear as far as its sizes tell it."""

    wear: Wear | None
    ends: dict[int, Ends]
    """When each unit (by its place in the list) is at its end."""
    wanted: str
    """What the others want for it."""
    happened: tuple[Happening, ...] = ()
    """What its covariates count."""
    untold: tuple[Phrase, ...] = ()
    """Why others are none."""


def _worn(units: Sequence[UnitNow]) -> _Worn:
    """Return the fleet's wear, with sand and stones as covariates where the sizes settle what they cost."""
    wanted = phrase("two diameters at different hours, and its limit")
    of_able = [i for i, u in enumerate(units) if _can_be_told(u)]
    able = [units[i] for i in of_able]
    if not able:
        return _Worn(None, {}, wanted)
    happened, untold = seen(able)
    wear, why = _fitted(able, happened)
    if wear is None and happened:
        untold = (*untold, *(phrase("{event}: {why}", event=EVENT_WORDS[name], why=why) for name in happened))
        happened = ()
        wear, why = _fitted(able, ())
    if wear is None:
        return _Worn(None, {}, why, (), untold)
    ahead = _ahead(able, happened)
    limits = np.array([unit.limit for unit in able], dtype=np.float64)
    to_come: NDArray[np.float64] = reached(wear, ahead, limits, CHANCES).hours
    here = value_now(wear, ahead)
    ends = {
        of: Ends(float(here[i]), float(wear.per_hour[i]), tuple(map(float, to_come[:, i])), ())
        for i, of in enumerate(of_able)
    }
    return _Worn(wear, ends, wanted, happened, untold)


def _fitted(able: Sequence[UnitNow], happened: Sequence[Happening]) -> tuple[Wear | None, str]:
    """Return the wear of units whose wear can be told, with these happenings as covariates; or why there is none."""
    sizes = [(i, size) for i, unit in enumerate(able) for size in unit.sizes]
    hours, value, removed = np.array([[s.hours, s.diameter, s.removed] for _, s in sizes], dtype=np.float64).T
    of = np.array([i for i, _ in sizes], dtype=np.intp)
    counts = [[float(since_first(able[i], size, name)) for i, size in sizes] for name in happened]
    covariates = np.array(counts, dtype=np.float64).reshape(len(happened), len(sizes))
    duties = sorted({unit.duty for unit in able})
    groups = np.array([duties.index(unit.duty) for unit in able], dtype=np.intp)
    fleet = Fleet(groups, np.zeros(len(duties), dtype=np.intp))
    try:
        return fleet_wear(Readings(of, hours, value, removed, covariates), fleet), ""
    except NotEnough as why:
        return None, why.words


def _ahead(able: Sequence[UnitNow], happened: Sequence[Happening]) -> Ahead:
    """Return what is to come for units whose wear can be told: ground and sanded as often, and as deep, as so far."""
    often, mean, spread = np.array([_grinds(unit) for unit in able], dtype=np.float64).T
    now = np.array([unit.hours for unit in able], dtype=np.float64)
    removed = np.array([unit.sizes[-1].removed for unit in able])
    counts = np.array([[since_first(unit, unit, name) for unit in able] for name in happened], dtype=np.float64)
    counts = counts.reshape(len(happened), now.size)
    span = np.array([(unit.hours or 0.0) - unit.sizes[0].hours for unit in able])
    an_hour = np.divide(counts, span, out=np.zeros_like(counts), where=span > 0.0)
    return Ahead(now, removed, often, mean, spread, counts, an_hour)


def diameter_ahead(told: Forecast, name: str, hours: Sequence[float]) -> NDArray[np.float64] | None:
    """Return a unit's diameter in so many hours from now, mm: a row for each of `CHANCES`; None where none is told."""
    able = [one.unit for one in told.units if one.ends is not None]
    names = [unit.name for unit in able]
    if told.wear is None or name not in names:
        return None
    return value_ahead(told.wear, _ahead(able, [cost.event for cost in told.events]), hours)[:, names.index(name)]


def _can_be_told(unit: UnitNow) -> bool:
    return len({size.hours for size in unit.sizes}) > 1 and unit.limit is not None and unit.hours is not None


def _grinds(unit: UnitNow) -> tuple[float, float, float]:
    """Return a unit's grinds an hour, and mean and spread of what one takes off, mm."""
    steps = ground_off(unit)
    span = unit.sizes[-1].hours - unit.sizes[0].hours
    if not steps or span <= 0.0:
        return 0.0, 0.0, 0.0
    return len(steps) / span, float(np.mean(steps)), float(np.std(steps, ddof=1)) if len(steps) > 1 else 0.0


def ground_off(unit: UnitNow) -> list[float]:
    """Return what each grind on file took off a unit's reel, mm on diameter."""
    removed = [size.removed for size in unit.sizes]
    return [b - a for a, b in itertools.pairwise(removed) if b > a]


def _dated(ends: Ends, weekly: float | None) -> Ends:
    if weekly is None or weekly <= 0.0:
        return ends
    return Ends(ends.diameter, ends.per_hour, ends.hours, tuple(h / weekly * WEEK for h in ends.hours))
