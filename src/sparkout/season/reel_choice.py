"""Grind a unit's reel once more or put a new one in; spin only or relieve as well: from what is on file and the sheet.

The sums are `core.season.policies`; here stands what goes into them, and what had to be assumed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sparkout.core.errors import NotEnough, Refusal
from sparkout.core.grinding import usual
from sparkout.core.grinding.grinder import GIVE_TO_START_WITH, Grinder
from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.core.reel.geometry import Reel
from sparkout.core.season.policies import GrindOrReplace, WaysApart, grind_or_replace, ways_apart
from sparkout.core.season.reel_lives import Costs, Edge, Luck, ReliefGrinder, Upkeep, Way, grinder_hours
from sparkout.reckoning.given import Given
from sparkout.reckoning.grind import grinder
from sparkout.reckoning.knife import relief_set_up
from sparkout.season.forecast import Forecast, UnitAhead, UnitNow
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sheet import SeasonSheet
from sparkout.visit.schema import Visit
from sparkout.visit.sections import GrinderSection, UnitSection

LIVES = 1000
"""Reels lived through for each figure: its own doubt is then far below that of what goes in. Own choice."""
SEED = 5
FEWEST_GRINDS = 3
"""Grinds on file of a unit itself, below which those of its type count too. Own choice."""
SPIN_ONLY, RELIEVED = phrase("spin only"), phrase("spin and relief")


@dataclass(frozen=True, slots=True)
class ToChoose:
    """What a choice is made from: the reel and its costs, as it is now, the two ways of working."""

    upkeep: Upkeep
    diameter: float
    """mm, now."""
    land: float
    """mm, now."""
    ways: tuple[Way, Way]
    """Spin only, spin and relief."""
    assumed: tuple[str, ...]
    """Everything that was not on file."""


@dataclass(frozen=True, slots=True)
class ReelChoice:
    """A unit's reel ground against a new one, by each way of working; and the two ways over a reel's whole life."""

    unit: str
    to_choose: ToChoose
    found: tuple[GrindOrReplace, GrindOrReplace]
    apart: WaysApart
    """Spin and relief less spin only, over the whole life of a new reel with the same luck."""

    @property
    def cheaper(self) -> GrindOrReplace:
        """The way whose new reel costs less an hour: what the workshop would go on with."""
        return min(self.found, key=lambda each: each.new_cost)


def luck() -> Luck:
    """Return the luck of the lives behind a choice: always the same, and drawn once for as many units as share it."""
    return Luck(np.random.default_rng(SEED), LIVES)


def reel_choice(ahead: Forecast, one: UnitAhead, sheet: SeasonSheet, drawn: Luck | None = None) -> ReelChoice:
    """Return whether a unit's reel is better ground or replaced when next it is blunt, and which way of working costs less.

    Parameters
    ----------
    drawn : luck already drawn, shared with other units

    Raises
    ------
    NotEnough
        Naming everything that is wanted.
    OutOfRange, BelowServiceLimit
        Where figures on file cannot be lived with.

    Validity: as `core.season.policies.grind_or_replace`; figures that go in count as exact, the doubt told is the
    simulation's own.
    """  # noqa: E501
    given = to_choose(ahead, one, sheet)
    same = drawn or luck()
    found = [
        grind_or_replace(given.upkeep, way, given.diameter, given.land, way.stock.value, same) for way in given.ways
    ]
    return ReelChoice(one.unit.name, given, (found[0], found[1]), ways_apart(found[0].new, found[1].new))


def choice_or_why(
    ahead: Forecast, one: UnitAhead, sheet: SeasonSheet, drawn: Luck | None = None
) -> ReelChoice | Refusal:
    """Return the choice, or why there is none: what is wanted, or what on file cannot be lived with."""
    try:
        return reel_choice(ahead, one, sheet, drawn)
    except Refusal as why:
        return why


def to_choose(ahead: Forecast, one: UnitAhead, sheet: SeasonSheet) -> ToChoose:
    """Return what the choice is made from.

    Raises
    ------
    NotEnough
        Naming everything that is wanted.
    """
    unit, ends = one.unit, one.ends
    told, limit = unit.reel, unit.limit
    price = next((float(shelf.price) for shelf in sheet.parts if shelf.part == unit.duty), 0.0)
    stock, ground_by = _stock(unit, [each.unit for each in ahead.units])
    wanted: list[str] = []
    if ends is None:
        wanted.append(one.missing[-1])
    if told is None:
        wanted.append(phrase("its reel's sizes: blades, diameter when new, length"))
    if price <= 0.0:
        wanted.append(phrase("the price of '{part}' on the season sheet", part=AsTyped(unit.duty or "?")))
    if stock is None:
        wanted.append(phrase("what a spin takes off: a diameter as found and as left of one grind"))
    if ends is None or told is None or stock is None or limit is None or wanted:
        raise NotEnough(phrase("whether to grind or to replace"), joined("; ", wanted))
    given = _given(told)
    reel = given.reel()
    machine = grinder(given, reel)
    infeed, indexing = relief_set_up(given)
    relief = ReliefGrinder(infeed, machine.traverse_speed, machine.wheel_width, 0, indexing)
    assumed = [*given.assumed, *ground_by]
    edge = _edge(ahead, sheet, max(ends.per_hour, 0.0) / 2.0, assumed)
    upkeep = Upkeep(reel, limit, edge, _costs(sheet, price, reel, machine, relief, stock), machine, relief)
    land = told.land
    if land is None:
        land = reel.land
        assumed.append(phrase("land now as of a freshly relieved blade, because none was read"))
    relieve_at = told.land_limit
    if relieve_at is None:
        relieve_at = math.inf
        assumed.append(phrase("spin only until the relief is gone, because no limit on the land is set"))
    ways = (Way(SPIN_ONLY, one.interval, stock, relieve_at), Way(RELIEVED, one.interval, stock, 0.0))
    return ToChoose(
        upkeep, min(ends.value, reel.diameter), min(land, reel.blade_thickness), ways, tuple(dict.fromkeys(assumed))
    )


_BEARS_NOT = {
    "give": GIVE_TO_START_WITH.value,
    "g_ratio": usual.G_RATIO,
    "wheel_diameter": usual.WHEEL_DIAMETER,
    "spindle_speed": usual.SPINDLE_SPEED,
    "work_speed": usual.WORK_SPEED,
    "thread_pitch": usual.THREAD_PITCH,
    "specific_energy": usual.SPECIFIC_ENERGY,
    "mount_spacing": 600.0,
}
"""Figures of a grinder on which no hours depend: whichever are taken, nobody need be told."""


def _given(told: ReelOnFile) -> Given:
    """Return reel and grinder as a visit gives them, so that stand-ins are the main job's."""
    grinder = (told.grinder or GrinderSection()).model_copy(update=_BEARS_NOT)
    return Given(Visit(unit=UnitSection(name="-"), reel=told.spec, grinder=grinder))


def _stock(unit: UnitNow, units: Sequence[UnitNow]) -> tuple[Measured | None, list[str]]:
    """Return what a spin takes off the radius, mm: mean and spread of grinds on file; and where they are from."""
    told: list[str] = []
    own = unit.wearing[0].ground_off
    alike = [step for each in units if each.duty == unit.duty for step in each.wearing[0].ground_off]
    every = [step for each in units for step in each.wearing[0].ground_off]
    if len(own) >= FEWEST_GRINDS:
        steps = own
    elif alike:
        steps, told = alike, [phrase("what a spin takes off: as with all reels of its type")]
    else:
        steps, told = every, [phrase("what a spin takes off: as with all reels on file")]
    if not steps:
        return None, []
    spread = float(np.std(steps, ddof=1)) if len(steps) > 1 else 0.0
    return Measured(float(np.mean(steps)) / 2.0, spread / 2.0), told


def _edge(ahead: Forecast, sheet: SeasonSheet, wear: float, assumed: list[str]) -> Edge:
    per_land = 1.0 if sheet.life_per_land is None else float(sheet.life_per_land)
    if sheet.life_per_land is None:
        assumed.append(
            phrase("a wide land costs an edge none of its life, because the season sheet does not say how much")
        )
    if ahead.life is None:
        assumed.append(phrase("no edge goes before its interval, because too few on file went"))
        return Edge(*_NEVER, 1.0, wear)
    return Edge(ahead.life.characteristic_life([1.0]), ahead.life.shape, per_land, wear)


_NEVER = (1e5, 20.0)
"""Longest life in h, and the Weibull shape: an edge that goes then only does not go before any interval."""


def _costs(
    sheet: SeasonSheet, price: float, reel: Reel, machine: Grinder, relief: ReliefGrinder, stock: Measured
) -> Costs:
    """Return the sheet's costs: what its hours of a phase hold beyond the passes of the usual grind is setting up."""
    hours, costs = sheet.hours, sheet.costs
    bench = hours.of("strip") + hours.of("knife") + hours.of("set")
    takes = grinder_hours(reel, machine, relief)
    spin = float(takes.spin(np.array([stock.value]))[0])
    widened = reel.land + stock.value / math.tan(reel.relief_angle)
    relieving = float(takes.relief(np.array([widened]))[0])
    return Costs(
        new_reel=price + bench * costs.hour,
        hour=float(costs.hour),
        handling=bench + max(hours.of("spin") - spin, 0.0),
        spin_wheel=float(costs.wheel),
        relief_wheel=float(costs.wheel),
        relief_handling=max(hours.of("relief") - relieving, 0.0),
        unplanned=float(costs.sooner),
    )
