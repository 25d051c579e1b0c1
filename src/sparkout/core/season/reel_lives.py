"""Reels lived through from new to worn out under one way of working: hours cut, cost, sharpenings.

One life is a chain of cuts and sharpenings. Cutting wears the radius; a spin takes its stock off the radius; both widen
the land along the facet that is there (exact on the arc, as `reel.land`). When the land is over what the way of working
allows, or has reached the back of the blade, the relief is ground again. Passes and times are those of the main job's
plans (`grinding.schedule`, `grinding.relief`). All lives are stepped together, one sharpening at a time.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import BelowServiceLimit, NotEnough, OutOfRange, within
from sparkout.core.grinding.grinder import Grinder
from sparkout.core.grinding.relief import relief_plan
from sparkout.core.grinding.schedule import infeeds
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.core.reel.geometry import Reel

Floats: TypeAlias = NDArray[np.float64]
MOST_SHARPENINGS = 2000
OUTER = 1e-9
"""mm by which rounding may make a radius look short of its limit."""
_HOUR = 3600.0


@dataclass(frozen=True, slots=True)
class ReliefGrinder:
    """How a relief is ground here; mm, mm/s, s."""

    infeed: float
    traverse_speed: float
    wheel_width: float
    spark_out_passes: int = 0
    indexing_time: float = 0.0


@dataclass(frozen=True, slots=True)
class Edge:
    """How long an edge lasts and what cutting does to the reel."""

    characteristic_life: float
    """h, Weibull scale with the land as new (`edge_life` tells it)."""
    shape: float
    life_per_land: float = 1.0
    """Each mm of land beyond new multiplies the life by this: the workshop's own figure; 1 means no effect."""
    wear: float = 0.0
    """mm off the radius for each hour cut."""


@dataclass(frozen=True, slots=True)
class Costs:
    """Money; hours and rates as the workshop has them."""

    new_reel: float
    """A new reel, fitted."""
    hour: float
    """An hour of technician and grinder."""
    handling: float
    """Hours for each sharpening whatever is ground: strip, set, prove."""
    spin_wheel: float = 0.0
    """Wheel and sundries for each spin."""
    relief_wheel: float = 0.0
    relief_handling: float = 0.0
    """Further hours of setting up for each relief."""
    unplanned: float = 0.0
    """Further cost of a sharpening that came by itself: spoilt cut, hire, overtime."""
    blunt_hour: float = 0.0
    """Each hour cut blunt; above 0 the edge is only looked at when the interval is over."""


@dataclass(frozen=True, slots=True)
class Upkeep:
    """A kind of reel and what keeping it costs: the reel as new, where it ends, its edge, the grinders, the money."""

    reel: Reel
    service_diameter: float
    """mm, the machine's handbook's or the workshop's own."""
    edge: Edge
    costs: Costs
    spin: Grinder
    relief: ReliefGrinder


@dataclass(frozen=True, slots=True)
class Way:
    """A way of working: the interval kept to, what a spin takes, and from which land on the relief is ground."""

    name: str
    interval: float
    """h; infinite where the edge is sharpened when it goes."""
    stock: Measured
    """mm off the radius for each spin: mean, and the spread from one spin to the next (lognormal)."""
    relieve_at: float
    """mm of land after the spin above which relief is ground; 0: always; infinite: only when it is gone."""


@dataclass(frozen=True, slots=True)
class Lives:
    """What many lives of one way came to; arrays (lives,)."""

    way: Way
    drawn: int
    """Sharpenings whose luck was used."""
    hours: Floats
    cost: Floats
    spins: Floats
    reliefs: Floats
    bench: Floats
    """Hours at grinder and bench."""
    hours_to: Floats
    """(edges,) mean hours cut by the end of each edge, those that were never ground counted as 0."""
    cost_to: Floats
    """(edges,) mean cost by then, without a new reel."""
    spread_to: Floats
    """(edges, 2, 2) covariance between lives of hours and cost by then."""

    @property
    def cost_an_hour(self) -> Measured:
        """Cost of an hour cut, the new reel shared in: mean cost over mean hours, with its simulation uncertainty."""
        mean_hours = float(self.hours.mean())
        ratio = float(self.cost.mean()) / mean_hours
        return Measured(ratio, float(np.std(self.cost - ratio * self.hours)) / mean_hours / math.sqrt(self.hours.size))

    def gain(self, edge: int, rate: Measured) -> Measured:
        """Money that the hours up to the end of an edge are worth at a rate an hour, less their cost: r·h − c."""
        hours, cost = float(self.hours_to[edge]), float(self.cost_to[edge])
        weights = np.array([rate.value, -1.0])
        own = float(weights @ self.spread_to[edge] @ weights) / self.hours.size
        return Measured(rate.value * hours - cost, math.sqrt(max(own, 0.0) + (rate.u * hours) ** 2))

    def rate(self, edge: int) -> Measured:
        """Cost of an hour up to the end of an edge, without a new reel: c/h, with its simulation uncertainty."""
        hours, cost = float(self.hours_to[edge]), float(self.cost_to[edge])
        return Measured(cost / hours, self.gain(edge, Measured(cost / hours, 0.0)).u / hours)


def checked(upkeep: Upkeep, way: Way, lives: int) -> None:
    """Refuse what cannot be lived through; every argument named."""
    edge, costs, reel = upkeep.edge, upkeep.costs, upkeep.reel
    within("lives", lives, 10, 1_000_000)
    within("service_diameter", upkeep.service_diameter, 40.0, reel.diameter, "mm")
    within("characteristic_life", edge.characteristic_life, 0.0, 1e5, "h", above=True)
    within("shape", edge.shape, 0.2, 20.0)
    within("life_per_land", edge.life_per_land, 0.01, 10.0)
    within("wear", edge.wear, 0.0, 1.0, "mm/h")
    within(f"stock of {way.name}", way.stock.value, 0.0, 5.0, "mm", above=True)
    within("relief infeed", upkeep.relief.infeed, 0.0, 1.0, "mm", above=True)
    if not way.interval > 0.0:
        raise OutOfRange(f"interval of {way.name}", way.interval, "above 0", "h")
    if not way.relieve_at >= 0.0:
        raise OutOfRange(f"relieve_at of {way.name}", way.relieve_at, "at least 0", "mm")
    for name in Costs.__slots__:
        within(name, getattr(costs, name), 0.0, 1e9)
    if math.isinf(way.interval) and costs.blunt_hour > 0.0:
        raise NotEnough(phrase("cost of {way}", way=way.name), phrase("an interval after which the edge is looked at"))
    if reel.diameter - 2.0 * way.stock.value < upkeep.service_diameter:
        raise BelowServiceLimit(
            phrase("A new reel has no room for one spin"), phrase("a smaller stock, or a lower service diameter")
        )


@dataclass(frozen=True, slots=True)
class Start:
    """How a life begins: with a sharp edge, or blunt at the grinder with the stock this grind must take."""

    diameter: float
    land: float
    cost: float
    first_stock: float | None = None


class Luck:
    """The luck of many lives, sharpening by sharpening: drawn once, however many units and ways then share it."""

    def __init__(self, rng: np.random.Generator, lives: int) -> None:
        self.rng, self.lives = rng, lives
        self._drawn: list[tuple[Floats, Floats]] = []
        self._powers: dict[tuple[int, float], Floats] = {}

    def edge(self, k: int, shape: float) -> Floats:
        """Return how long the k-th edge of each life lasts, in characteristic lives of its Weibull distribution."""
        if (k, shape) not in self._powers:
            self._powers[k, shape] = (-np.log1p(-self._at(k)[0])) ** (1.0 / shape)
        return self._powers[k, shape]

    def spin(self, k: int) -> Floats:
        """Return how the k-th spin of each life differs from the usual, standard normal."""
        return self._at(k)[1]

    def _at(self, k: int) -> tuple[Floats, Floats]:
        while len(self._drawn) <= k:
            self._drawn.append((self.rng.random(self.lives), self.rng.standard_normal(self.lives)))
        return self._drawn[k]


class _Tally:
    """What many lives have come to so far."""

    def __init__(self, lives: int, cost: float) -> None:
        self.alive = np.ones(lives, dtype=bool)
        self.hours, self.cost = np.zeros(lives), np.full(lives, cost)
        self.spins, self.reliefs, self.bench = np.zeros(lives), np.zeros(lives), np.zeros(lives)
        self.start = cost
        self.edges: list[tuple[Floats, Floats]] = []
        """Hours and cost of each life by the end of each edge."""

    def cut(self, hours: Floats, money: Floats) -> None:
        """Add an edge of those still living."""
        self.hours = self.hours + np.where(self.alive, hours, 0.0)
        self.cost = self.cost + np.where(self.alive, money, 0.0)
        self.edges.append((self.hours, self.cost))

    def ground(self, bench: Floats, money: Floats, due: NDArray[np.bool_]) -> None:
        """Add a sharpening of those still living."""
        self.bench += np.where(self.alive, bench, 0.0)
        self.cost = self.cost + np.where(self.alive, money, 0.0)
        self.spins += self.alive
        self.reliefs += due

    def lives(self, way: Way, drawn: int) -> Lives:
        """Return what they came to, with what they had come to by the end of each edge."""
        by_edge = np.array(self.edges).reshape(-1, 2, self.hours.size)  # none where the first grind was the last
        mean = by_edge.mean(axis=2)
        apart = by_edge - mean[:, :, None]
        spread = apart @ apart.transpose(0, 2, 1) / self.hours.size
        return Lives(way, drawn, self.hours, self.cost, self.spins, self.reliefs, self.bench,
                     mean[:, 0], mean[:, 1] - self.start, spread)  # fmt: skip


def stepped(upkeep: Upkeep, way: Way, start: Start, luck: Luck, first: int = 0) -> Lives:
    """Step all lives from sharpening to sharpening, until none has room for the next; luck from the `first` on."""
    reel, costs, limit, lives = upkeep.reel, upkeep.costs, upkeep.service_diameter / 2.0, luck.lives
    radius = np.full(lives, start.diameter / 2.0)
    facet = _Facet.of(radius, np.full(lives, start.land), reel.relief_angle)
    told, times = _Tally(lives, start.cost), grinder_hours(reel, upkeep.spin, upkeep.relief)
    for k in range(MOST_SHARPENINGS):
        if k == 0 and start.first_stock is not None:
            taken = np.full(lives, start.first_stock)
        else:
            taken = _stocks(way.stock, luck.spin(first + k))
            hours, money, radius = _cut(upkeep, way, facet, radius, luck.edge(first + k, upkeep.edge.shape))
            told.cut(hours, money)
        told.alive &= radius - taken >= limit - OUTER
        if not told.alive.any():
            return told.lives(way, first + k + 1)
        radius = np.where(told.alive, radius - taken, radius)
        land = facet.land(radius)
        over = (land > way.relieve_at) | (land >= reel.blade_thickness)
        due = told.alive & over & (land > reel.land + OUTER)
        bench, more = costs.handling + times.spin(taken), np.zeros(lives)
        if due.any():
            bench = bench + np.where(due, costs.relief_handling + times.relief(land), 0.0)
            more = np.where(due, costs.relief_wheel, 0.0)
            facet = facet.relieved(due, radius, reel.land, reel.relief_angle)
        told.ground(bench, bench * costs.hour + costs.spin_wheel + more, due)
    allowed = phrase("large enough to use a reel up in {n} spins", n=MOST_SHARPENINGS)
    raise OutOfRange(f"stock of {way.name}", way.stock.value, allowed, "mm")


def _cut(upkeep: Upkeep, way: Way, facet: _Facet, radius: Floats, lasts: Floats) -> tuple[Floats, Floats, Floats]:
    """Return hours cut with each edge (`lasts` in characteristic lives), what being blunt costs, the radius after."""
    edge, costs, reel = upkeep.edge, upkeep.costs, upkeep.reel
    land = np.minimum(facet.land(radius), reel.blade_thickness)
    eta = (
        edge.characteristic_life * edge.life_per_land ** (land - reel.land)
        if edge.life_per_land != 1.0
        else (edge.characteristic_life)
    )
    life = eta * lasts
    if costs.blunt_hour > 0.0:
        hours = np.full(lasts.size, way.interval)
        money = costs.blunt_hour * np.maximum(way.interval - life, 0.0)
    else:
        hours = np.minimum(life, way.interval)
        money = np.where(life < way.interval, costs.unplanned, 0.0)
    if edge.wear == 0.0:
        return hours, money, radius
    # An edge whose reel reaches its limit while cutting ends there.
    share = np.minimum(1.0, np.maximum(radius - upkeep.service_diameter / 2.0, 0.0) / (edge.wear * hours))
    return hours * share, money * share, radius - edge.wear * hours * share


def _stocks(stock: Measured, normal: Floats) -> Floats:
    """Return lognormal stocks with the mean and spread given."""
    if stock.u == 0.0:
        return np.full(normal.size, stock.value)
    spread = math.log1p((stock.u / stock.value) ** 2)
    return np.asarray(np.exp(math.log(stock.value) - spread / 2.0 + math.sqrt(spread) * normal))


@dataclass(frozen=True, slots=True)
class _Facet:
    """The relief's flat: its distance from the axis, and the angle from the edge to where it meets that distance."""

    reach: Floats
    angle: Floats

    @classmethod
    def of(cls, radius: Floats, land: Floats, alpha: float) -> _Facet:
        return cls(radius * math.cos(alpha), land / radius + alpha)

    def land(self, radius: Floats) -> Floats:
        """w = r (c − acos(h/r)): the same line for every spin until the relief is ground again."""
        return np.asarray(radius * (self.angle - np.arccos(np.minimum(1.0, self.reach / radius))))

    def relieved(self, due: NDArray[np.bool_], radius: Floats, land: float, alpha: float) -> _Facet:
        new = _Facet.of(radius, np.full(radius.size, land), alpha)
        return _Facet(np.where(due, new.reach, self.reach), np.where(due, new.angle, self.angle))


class GrinderHours:
    """Hours at the grinder by the main job's passes; setting up is none of them."""

    def __init__(self, reel: Reel, spin: Grinder, relief: ReliefGrinder) -> None:
        self.reel, self.grinder, self.relief_grinder = reel, spin, relief
        self.stroke = (reel.length + spin.wheel_width) / spin.traverse_speed * (2.0 if spin.one_way else 1.0)
        self._spins, self._reliefs = _Told(self._spin), _Told(self._relief)

    def spin(self, stock: Floats) -> Floats:
        """Return hours of spinning off so much: passes as `infeeds` has them, and spark-out."""
        return self._spins.of(np.ceil(stock / self.grinder.finish_infeed - 1e-9).astype(np.int64))

    def _spin(self, steps: int) -> float:
        stock = steps * self.grinder.finish_infeed
        passes = len(infeeds(stock, self.grinder.rough_infeed, self.grinder.finish_infeed)[0])
        return (passes + self.grinder.spark_out_passes) * self.stroke / _HOUR

    def relief(self, land: Floats) -> Floats:
        """Return hours of relieving from so wide a land, as `relief_plan` has them."""
        at = self.relief_grinder
        sine = math.sin(self.reel.relief_angle)
        stock = np.maximum(np.minimum(land, self.reel.blade_thickness) - self.reel.land, 0.0) * sine
        return self._reliefs.of(np.ceil(stock / at.infeed - 1e-9).astype(np.int64))

    def _relief(self, passes: int) -> float:
        at, reel = self.relief_grinder, self.reel
        land = reel.land + (passes - 0.5) * at.infeed / math.sin(reel.relief_angle)
        planned = relief_plan(
            reel, Measured(max(land, reel.land), 0.0), reel.land, relief_infeed=at.infeed,
            traverse_speed=at.traverse_speed, wheel_width=at.wheel_width, spark_out_passes=at.spark_out_passes,
            indexing_time=at.indexing_time,
        )  # fmt: skip
        return planned.time / _HOUR


class _Told:
    """Hours by a whole number, each worked out when first asked for."""

    def __init__(self, hours: Callable[[int], float]) -> None:
        self.hours, self.table = hours, np.full(64, np.nan)

    def of(self, numbers: NDArray[np.int64]) -> Floats:
        most = int(numbers.max())
        if most >= self.table.size:
            self.table = np.concatenate([self.table, np.full(most + 1 - self.table.size, np.nan)])
        found = self.table[numbers]
        if np.isnan(found).any():
            for number in np.unique(numbers[np.isnan(found)]).tolist():
                self.table[number] = self.hours(number)
            found = self.table[numbers]
        return found


@lru_cache(64)
def grinder_hours(reel: Reel, spin: Grinder, relief: ReliefGrinder) -> GrinderHours:
    """Return hours at the grinder, shared by all units alike."""
    return GrinderHours(reel, spin, relief)
