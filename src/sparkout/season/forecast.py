"""What a fleet's units have been through and what is to come: the next sharpening, and what wears at its limit."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough
from sparkout.core.phrase import AsTyped, Phrase, counted, phrase
from sparkout.core.season.edge_life import EdgeLife
from sparkout.core.season.interval import BestInterval, best_interval
from sparkout.core.season.wear import CHANCES, Wear
from sparkout.season.edges import Edge, edges_of, life_of
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sand import EventCost, event_costs
from sparkout.season.sheet import HOUR, PHASES, WEEK, SeasonSheet
from sparkout.season.wearing import QUANTITIES, WIDENS, Ends, FleetWear, Quantity, Size, Wearing, fleet_wears

BOUGHT: tuple[Quantity, ...] = ("diameter", "lip")
"""What is bought anew at its limit, by its type: reels and knives."""


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
    """Whether the last sharpening had a relief grind, so that the next is to have one."""
    hectares_an_hour: float | None = None
    """What its machine mows in an hour, by areas on file."""
    sandings: int = 0
    stones: int = 0
    """That its reel has been through by now, counted as at its sizes."""
    reel: ReelOnFile | None = None
    """What its reel and grinder are, where that is told."""
    parts: tuple[Wearing, ...] = ()
    """What else of it wears: land, knife lip, rollers."""

    @property
    def wearing(self) -> tuple[Wearing, ...]:
        """Everything of it that wears, its reel's diameter first."""
        reel = Wearing(
            "diameter", self.duty, self.hours, self.sizes, self.limit, sandings=self.sandings, stones=self.stones
        )
        return reel, *self.parts


@dataclass(frozen=True, slots=True)
class Due:
    """When a unit's next sharpening is due, in days from today; and when its edge goes, by chance."""

    hours: float
    """Hours from now to the sharpening; below 0 when it is overdue."""
    day: int
    goes: tuple[float, ...] = ()
    """Days by which its edge has gone with each of `CHANCES`; empty where no edge life is known."""


@dataclass(frozen=True, slots=True)
class WearAhead:
    """Something of a unit that wears, and when it is at its limit."""

    wearing: Wearing
    place: int
    """Its place among all of its quantity."""
    ends: Ends | None
    why: str
    """What would have to be known; empty where it is told."""

    def bought_as(self, unit: UnitNow) -> str:
        """Return the type under which it is bought; a knife's is told apart where it has the name of the reel's."""
        name = self.wearing.duty
        alike = self.wearing.quantity == "lip" and name == unit.duty
        return phrase("{type}, knife", type=AsTyped(name)) if alike else name


@dataclass(frozen=True, slots=True)
class UnitAhead:
    """One unit's forecast."""

    unit: UnitNow
    interval: float
    """Hours between sharpenings gone by."""
    weekly: float | None
    """Hours it mows in a week."""
    due: Due | None
    wears: tuple[WearAhead, ...]
    """Everything of it that wears, its reel's diameter first."""
    missing: tuple[str, ...] = ()
    """What would have to be known for more."""

    @property
    def ends(self) -> Ends | None:
        """When its reel is at its least diameter."""
        return self.wears[0].ends

    def at_limit_by(self, day: float) -> list[str]:
        """Return the types of what is bought anew that is as likely as not at its limit in so many days."""
        return [
            each.bought_as(self.unit)
            for each in self.wears
            if each.wearing.quantity in BOUGHT and each.ends is not None and each.ends.days and each.ends.days[2] <= day
        ]

    @property
    def wants_relief(self) -> bool:
        """Whether its next sharpening is to have a relief grind.

        The last one had, or the land is by then as likely as not as wide as it may be.
        """
        lands = [each.ends for each in self.wears if each.wearing.quantity == WIDENS and each.ends is not None]
        by_then = 0.0 if self.due is None else max(self.due.hours, 0.0)
        return self.unit.relief or any(land.hours[2] <= by_then for land in lands)


@dataclass(frozen=True, slots=True)
class Forecast:
    """A fleet's forecast."""

    units: tuple[UnitAhead, ...]
    life: EdgeLife | None
    best: BestInterval | None
    interval_from: Phrase
    """Where the interval comes from."""
    wears: Mapping[Quantity, FleetWear]
    """How each quantity wears."""
    events: tuple[EventCost, ...] = ()
    """What one sanding and one stone cost a reel, where the readings settle it."""

    @property
    def wear(self) -> Wear | None:
        """How reels wear; None where no unit was read at two different hours, or their readings settle no wear."""
        return self.wears["diameter"].wear

    @property
    def untold(self) -> tuple[Phrase, ...]:
        """Why the readings do not settle what one of the other events costs."""
        return self.wears["diameter"].untold

    def ahead(self, one: WearAhead, hours: Sequence[float]) -> NDArray[np.float64] | None:
        """Return a size in so many hours from now, mm: a row for each of `CHANCES`; None where it is not told."""
        return self.wears[one.wearing.quantity].ahead(one.place, hours)


def forecast(units: Sequence[UnitNow], sheet: SeasonSheet) -> Forecast:
    """Return what is to come for each unit.

    The interval between sharpenings is the machine's own where the sheet says one; else the cheapest by renewal reward
    with this workshop's edge life, where at least `FEWEST_LIVES` edges went and wear, not accident, ends them; else the
    sheet's. Reels wear along their own lines among the fleet's, and so do lands, knives and rollers
    (`season.wearing`).

    Examples
    --------
    >>> from sparkout.season.sheet import SeasonSheet
    >>> units = [UnitNow("A", hours=300.0, hours_a_week=20.0, sharpened=240.0)]
    >>> forecast(units, SeasonSheet()).units[0].due.day
    21
    """
    life, best, told = _interval(units, sheet)
    usual = best.hours if best is not None and math.isfinite(best.hours) else sheet.interval / HOUR
    wears, of_unit = _wears(units)
    found = []
    for unit, mine in zip(units, of_unit, strict=True):
        rule = sheet.rule(unit.machine)
        weekly = rule.hours_a_week / HOUR if rule.hours_a_week is not None else unit.hours_a_week
        interval = rule.interval / HOUR if rule.interval is not None else usual
        missing: list[str] = []
        if unit.hours is None or unit.sharpened is None:
            missing.append(phrase("its hours now and at the last sharpening"))
        if weekly is None or weekly <= 0.0:
            missing.append(phrase("its hours a week"))
        due = None if missing else _due(unit, interval, weekly or 1.0, life)
        if mine[0].ends is None:
            missing.append(mine[0].why)
        dated = tuple(each if each.ends is None else replace(each, ends=each.ends.dated(weekly)) for each in mine)
        found.append(UnitAhead(unit, interval, weekly, due, dated, tuple(missing)))
    reels = wears["diameter"]
    events = () if reels.wear is None else event_costs(reels.wear, reels.happened, _per_day(found))
    return Forecast(tuple(found), life, best, told, wears, events)


def _wears(units: Sequence[UnitNow]) -> tuple[dict[Quantity, FleetWear], list[list[WearAhead]]]:
    """Return how each quantity of a fleet wears, and of each unit everything that does."""
    of: dict[Quantity, list[Wearing]] = {quantity: [] for quantity in QUANTITIES}
    places: list[list[tuple[Quantity, int]]] = []
    for unit in units:
        places.append([])
        for one in unit.wearing:
            places[-1].append((one.quantity, len(of[one.quantity])))
            of[one.quantity].append(one)
    wears = {quantity: fleet_wears(things) for quantity, things in of.items()}

    def told(quantity: Quantity, place: int) -> WearAhead:
        wear = wears[quantity]
        ends = wear.ends[place]
        return WearAhead(wear.of[place], place, ends, wear.why if ends is None else "")

    return wears, [[told(*each) for each in mine] for mine in places]


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
