"""What of a unit wears: reel, land, knife lip and rollers; how a fleet's wear along, and when each is at its limit."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough
from sparkout.core.phrase import Phrase, phrase
from sparkout.core.season.unit_sums import Readings
from sparkout.core.season.wear import CHANCES, Ahead, Fleet, Wear, fleet_wear, reached, value_ahead, value_now
from sparkout.season.sand import EVENT_WORDS, Happening, seen, since_first
from sparkout.season.sheet import WEEK

Quantity = Literal["diameter", "land", "lip", "roller"]
QUANTITIES: tuple[Quantity, ...] = get_args(Quantity)
WIDENS = "land"
"""The one of them that grows where the others shrink."""
MIRROR = 1000.0
"""What widens is reckoned as this less it, mm."""
_WORDS = {
    "diameter": phrase("reel"),
    "land": phrase("land"),
    "lip": phrase("knife lip"),
    "front": phrase("front roller"),
    "rear": phrase("rear roller"),
}
WANTED: dict[Quantity, Phrase] = {
    "diameter": phrase("two diameters at different hours, and its limit"),
    "land": phrase("two lands at different hours, and the widest allowed"),
    "lip": phrase("two lip heights at different hours, and the least allowed"),
    "roller": phrase("two diameters of the roller at different hours, and the least allowed"),
}


@dataclass(frozen=True, slots=True)
class Size:
    """A mean diameter, land or lip height as found or as left at a visit, and what had come before this."""

    hours: float
    """That the part had run."""
    value: float
    """mm"""
    removed: float
    """mm ground off it; of a land what relief grinds have narrowed it by, less what spin grinds have widened it by."""
    sandings: int = 0
    stones: int = 0


@dataclass(frozen=True, slots=True)
class Wearing:
    """Something of a unit that wears, as its readings on file tell it. Hours are the part's own."""

    quantity: Quantity
    duty: str = ""
    """What it is compared with: its type."""
    hours: float | None = None
    """Hours now."""
    sizes: tuple[Size, ...] = ()
    limit: float | None = None
    """Least diameter or lip height, widest land, mm."""
    which: str = ""
    """Front or rear, of rollers."""
    sandings: int = 0
    stones: int = 0
    """That it has been through by now, counted as at its sizes."""

    @property
    def words(self) -> Phrase:
        """What it is called.

        Examples
        --------
        >>> str(Wearing("roller", which="rear").words), str(Wearing("lip").words)
        ('rear roller', 'knife lip')
        """
        return _WORDS[self.which or self.quantity]

    @property
    def can_be_told(self) -> bool:
        """Whether it was read at two different hours, its hours now are known, and it has a limit."""
        return len({size.hours for size in self.sizes}) > 1 and self.limit is not None and self.hours is not None

    @property
    def ground_off(self) -> list[float]:
        """What each grind on file took off it, mm."""
        removed = [size.removed for size in self.sizes]
        return [b - a for a, b in itertools.pairwise(removed) if b > a]


@dataclass(frozen=True, slots=True)
class Ends:
    """When something is at its limit."""

    value: float
    """Now, mm."""
    per_hour: float
    """mm an hour, of cutting alone; of a land what it widens by."""
    hours: tuple[float, ...]
    """From now, for each of `CHANCES`; infinite where no time gives that chance."""
    days: tuple[float, ...] = ()

    def dated(self, weekly: float | None) -> Ends:
        """Return it with the days these hours take at so many a week; without days where that is not known.

        Examples
        --------
        >>> Ends(125.0, 0.001, (20.0, 40.0)).dated(20.0).days
        (7.0, 14.0)
        """
        if weekly is None or weekly <= 0.0:
            return self
        return replace(self, days=tuple(h / weekly * WEEK for h in self.hours))


@dataclass(frozen=True, slots=True)
class FleetWear:
    """How one quantity wears in a fleet, and when each thing is at its limit."""

    of: tuple[Wearing, ...]
    wear: Wear | None = None
    """None where nothing was read at two different hours, or the readings settle no wear; of those that can be told."""
    ends: tuple[Ends | None, ...] = ()
    """Of each; None where that cannot be told."""
    why: str = ""
    """What the others want for it."""
    happened: tuple[Happening, ...] = ()
    """What its covariates count."""
    untold: tuple[Phrase, ...] = ()
    """Why others are none."""

    def ahead(self, place: int, hours: Sequence[float]) -> NDArray[np.float64] | None:
        """Return the size of the thing at a place in so many hours from now, mm: a row for each of `CHANCES`, rising.

        None where its wear is not told.
        """
        if self.wear is None or self.ends[place] is None:
            return None
        able = [i for i, ends in enumerate(self.ends) if ends is not None]
        to_come = _ahead([falling(self.of[i]) for i in able], self.happened)
        found: NDArray[np.float64] = value_ahead(self.wear, to_come, hours)[:, able.index(place)]
        return MIRROR - found[::-1] if self.of[place].quantity == WIDENS else found


def fleet_wears(of: Sequence[Wearing]) -> FleetWear:
    """Return how things of one quantity wear, with sand and stones as covariates where the sizes settle what they cost.

    They are ground, sanded and struck on as often, and as deep, as so far; a land goes on without a relief grind: what
    is told of it is when the next one is due. Each thing wears along its own line among those of its duty
    (`core.season.wear`).

    Examples
    --------
    >>> read = (0.0, 0.004), (50.0, -0.006), (100.0, 0.002)  # hours, and by how much the readings err
    >>> sizes = [tuple(Size(h, 125.0 - w * h + e, 0.0) for h, e in read) for w in (0.01, 0.012, 0.009)]
    >>> told = fleet_wears([Wearing("diameter", hours=100.0, sizes=each, limit=122.0) for each in sizes])
    >>> [round(ends.hours[2]) for ends in told.ends]
    [199, 150, 233]
    """
    able = [i for i, one in enumerate(of) if one.can_be_told]
    wanted = WANTED[of[0].quantity] if of else ""
    none: tuple[None, ...] = (None,) * len(of)
    if not able:
        return FleetWear(tuple(of), None, none, wanted)
    things = [falling(of[i]) for i in able]
    happened, untold = seen(things)
    wear, why = _fitted(things, happened)
    if wear is None and happened:
        untold = (*untold, *(phrase("{event}: {why}", event=EVENT_WORDS[name], why=why) for name in happened))
        happened = ()
        wear, why = _fitted(things, ())
    if wear is None:
        return FleetWear(tuple(of), None, none, why, (), untold)
    to_come = _ahead(things, happened)
    limits = np.array([thing.limit for thing in things], dtype=np.float64)
    hours = reached(wear, to_come, limits, CHANCES).hours
    here = value_now(wear, to_come)
    ends: list[Ends | None] = [None] * len(of)
    for k, i in enumerate(able):
        now = float(here[k])
        now = MIRROR - now if of[i].quantity == WIDENS else now
        ends[i] = Ends(now, float(wear.per_hour[k]), tuple(map(float, hours[:, k])))
    return FleetWear(tuple(of), wear, tuple(ends), wanted, happened, untold)


def falling(one: Wearing) -> Wearing:
    """Return something that widens as what falls to its limit as it does; anything else as it is."""
    if one.quantity != WIDENS:
        return one
    sizes = tuple(replace(size, value=MIRROR - size.value, removed=-size.removed) for size in one.sizes)
    return replace(one, sizes=sizes, limit=None if one.limit is None else MIRROR - one.limit)


def _fitted(things: Sequence[Wearing], happened: Sequence[Happening]) -> tuple[Wear | None, str]:
    """Return the wear of things whose wear can be told, with these happenings as covariates; or why there is none."""
    sizes = [(i, size) for i, thing in enumerate(things) for size in thing.sizes]
    hours, value, removed = np.array([[s.hours, s.value, s.removed] for _, s in sizes], dtype=np.float64).T
    of = np.array([i for i, _ in sizes], dtype=np.intp)
    counts = [[float(since_first(things[i], size, name)) for i, size in sizes] for name in happened]
    covariates = np.array(counts, dtype=np.float64).reshape(len(happened), len(sizes))
    duties = sorted({(thing.duty, thing.which) for thing in things})
    groups = np.array([duties.index((thing.duty, thing.which)) for thing in things], dtype=np.intp)
    fleet = Fleet(groups, np.zeros(len(duties), dtype=np.intp))
    try:
        return fleet_wear(Readings(of, hours, value, removed, covariates), fleet), ""
    except NotEnough as why:
        return None, why.words


def _ahead(things: Sequence[Wearing], happened: Sequence[Happening]) -> Ahead:
    """Return what is to come for things whose wear can be told: ground and sanded as often, and as deep, as so far."""
    often, mean, spread = np.array([_grinds(thing) for thing in things], dtype=np.float64).T
    now = np.array([thing.hours for thing in things], dtype=np.float64)
    removed = np.array([thing.sizes[-1].removed for thing in things])
    counts = np.array([[since_first(thing, thing, name) for thing in things] for name in happened], dtype=np.float64)
    counts = counts.reshape(len(happened), now.size)
    span = np.array([(thing.hours or 0.0) - thing.sizes[0].hours for thing in things])
    an_hour = np.divide(counts, span, out=np.zeros_like(counts), where=span > 0.0)
    return Ahead(now, removed, often, mean, spread, counts, an_hour)


def _grinds(thing: Wearing) -> tuple[float, float, float]:
    """Return a thing's grinds an hour, and mean and spread of what one takes off, mm."""
    steps = thing.ground_off
    span = thing.sizes[-1].hours - thing.sizes[0].hours
    if not steps or span <= 0.0:
        return 0.0, 0.0, 0.0
    return len(steps) / span, float(np.mean(steps)), float(np.std(steps, ddof=1)) if len(steps) > 1 else 0.0
