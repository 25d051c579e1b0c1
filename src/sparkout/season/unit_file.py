"""Units as a file tells them, where there are no records: plain tables (TOML, JSON) in, what a forecast wants out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.season.edges import GAPS, Edge, Gap
from sparkout.season.forecast import Size, UnitNow
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sand import HAPPENINGS, Happening
from sparkout.season.sheet import HOUR
from sparkout.units import from_core
from sparkout.visit.asked import Quantity, a_length
from sparkout.visit.checking import checked_as
from sparkout.visit.contradictions import Finding
from sparkout.visit.entered import Entered
from sparkout.visit.problems import Path
from sparkout.visit.sections import GrinderSection, ReelSection, Section
from sparkout.visit.words import Switch, Text, Whole, Word


def _clock(meaning: str, example: str) -> Quantity:
    return Quantity(meaning, example, "time", 0.0, 1e6, "h")


class OneSize(Section):
    """A reel's mean diameter at some hours, as found or as left."""

    hours: Annotated[float, _clock(phrase("hours the reel had run"), "240 h")]
    diameter: Annotated[float, a_length(20.0, 600.0, phrase("mean diameter"), "125.4 mm")]
    removed: Annotated[
        float, a_length(0.0, 100.0, phrase("ground off it before, on diameter, since the first of these"), "0.2 mm")
    ] = Entered(0.0)
    sandings: Annotated[int, Whole(phrase("sandings so far"), 2, 0, 10_000)] = 0
    stones: Annotated[int, Whole(phrase("stones so far"), 0, 0, 10_000)] = 0


class OneEdge(Section):
    """An edge that was sharpened away."""

    hours: Annotated[float, _clock(phrase("hours it was cut with"), "96 h")]
    went: Annotated[bool, Switch(phrase("whether it went, or was still good"), True)] = False
    relief: Annotated[bool | None, Switch(phrase("whether a relief grind was part of its making"), True)] = None
    gap: Annotated[Gap | None, Word(phrase("how it was set to the knife"), "light gap", GAPS)] = None
    who: Annotated[str, Text(phrase("who made it"), "technician A", 100)] = ""


class OneUnit(Section):
    """A unit. Hours are its reel's."""

    name: Annotated[str, Text(phrase("name of the unit"), "G3 left", 100, 1)]
    machine: Annotated[str, Text(phrase("its machine"), "greens machine 1", 100)] = ""
    place: Annotated[str, Text(phrase("where it works"), "bowling green north", 100)] = ""
    duty: Annotated[str, Text(phrase("what it is compared with: its type of reel"), "greens reel", 100)] = ""
    hours: Annotated[float | None, _clock(phrase("hours now"), "300 h")] = None
    hours_a_week: Annotated[
        float | None, Quantity(phrase("hours it mows in a week"), "18 h", "time", 0.1, 168.0, "h")
    ] = None
    sharpened: Annotated[float | None, _clock(phrase("hours at the last sharpening"), "240 h")] = None
    limit: Annotated[float | None, a_length(20.0, 600.0, phrase("least service diameter"), "120 mm")] = None
    relief: Annotated[bool, Switch(phrase("whether the next sharpening has a relief grind"), False)] = False
    area_an_hour: Annotated[
        float | None, Quantity(phrase("area its machine mows in an hour"), "0.8 ha", "area", 0.0001, 100.0, "ha")
    ] = None
    sandings: Annotated[
        int | None, Whole(phrase("sandings so far; those of its last size where left out"), 2, 0, 10_000)
    ] = None
    stones: Annotated[
        int | None, Whole(phrase("stones so far; those of its last size where left out"), 0, 0, 10_000)
    ] = None
    sizes: tuple[OneSize, ...] = ()
    edges: tuple[OneEdge, ...] = ()
    reel: ReelSection | None = None
    land: Annotated[float | None, a_length(0.0, 20.0, phrase("land as read last"), "1.2 mm")] = None
    land_limit: Annotated[float | None, a_length(0.0, 20.0, phrase("widest land allowed"), "2 mm")] = None
    grinder: GrinderSection | None = None


class UnitsFile(Section):
    """Every unit of a fleet."""

    units: tuple[OneUnit, ...] = ()


def units_of(tables: Mapping[str, Any], line_of: Callable[[Path], int | None] = lambda _: None) -> tuple[UnitNow, ...]:
    """Return the units that these tables make.

    Raises
    ------
    VisitProblems
        With everything wrong: path, its line in a file, value, what is allowed and its unit.

    Examples
    --------
    >>> units_of({"units": [{"name": "A", "hours": "300 h", "sharpened": 240}]})[0].hours
    300.0
    >>> units_of({"units": [{"name": "A"}, {"name": "A"}]})
    Traceback (most recent call last):
    sparkout.visit.problems.VisitProblems: units number 2, name: 'A' stands here twice.
    """
    return tuple(_unit(one) for one in checked_as(UnitsFile, dict(tables), _contradictions, line_of).units)


def _unit(one: OneUnit) -> UnitNow:
    def h(seconds: float | None) -> float | None:
        return None if seconds is None else seconds / HOUR

    return UnitNow(
        one.name,
        one.machine,
        one.place,
        one.duty,
        h(one.hours),
        h(one.hours_a_week),
        h(one.sharpened),
        _edges(one),
        tuple(
            Size(size.hours / HOUR, float(size.diameter), float(size.removed), size.sandings, size.stones)
            for size in one.sizes
        ),
        None if one.limit is None else float(one.limit),
        one.relief,
        None if one.area_an_hour is None else from_core(one.area_an_hour, "area", "ha"),
        _so_far(one, one.sandings, "sandings"),
        _so_far(one, one.stones, "stones"),
        None if one.reel is None else ReelOnFile(one.reel, one.land, one.land_limit, one.grinder),
    )


def _edges(one: OneUnit) -> tuple[Edge, ...]:
    """Return the edges sharpened away, and the one the unit cuts with."""
    gone = [Edge(edge.hours / HOUR, edge.went, edge.relief, edge.gap, edge.who) for edge in one.edges]
    so_far = 0.0 if one.hours is None or one.sharpened is None else (one.hours - one.sharpened) / HOUR
    return (*gone, *([Edge(so_far, went=False)] if so_far > 0.0 else []))


def _so_far(one: OneUnit, told: int | None, name: Happening) -> int:
    """Return how often something has happened to a unit: as told, else as at its last size."""
    return told if told is not None else int(getattr(one.sizes[-1], name)) if one.sizes else 0


def _contradictions(file: UnitsFile) -> Iterator[Finding]:
    """Names twice, counts so far that fall. Hours that fall are looked over in `doubts`."""
    names = [one.name for one in file.units]
    for i, one in enumerate(file.units):
        if one.name in names[:i]:
            yield Finding(("units", i, "name"), phrase("'{name}' stands here twice", name=AsTyped(one.name)), one.name)
        yield from _fallen(i, one)


def _fallen(i: int, one: OneUnit) -> Iterator[Finding]:
    """Counts so far that fall from a size to the next, or to now."""
    for name in HAPPENINGS:
        counts = [getattr(size, name) for size in one.sizes]
        for k, (before, after) in enumerate(pairwise(counts), 1):
            if after < before:
                text = phrase("{n} is less than in the row before: counts so far rise", n=after)
                yield Finding(("units", i, "sizes", k, name), text)
        now = getattr(one, name)
        if now is not None and counts and now < counts[-1]:
            text = phrase("{n} is less than at its last size: counts so far rise", n=now)
            yield Finding(("units", i, name), text)
