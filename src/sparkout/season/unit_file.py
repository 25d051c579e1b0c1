"""Units as a file tells them, where there are no records: plain tables (TOML, JSON) in, what a forecast wants out."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Any, Literal, get_args

from sparkout.core.phrase import AsTyped, phrase
from sparkout.season.edges import GAPS, Edge, Gap
from sparkout.season.forecast import UnitNow
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sand import HAPPENINGS, Happening
from sparkout.season.sheet import HOUR
from sparkout.season.wearing import Size, Wearing
from sparkout.units import from_core
from sparkout.visit.asked import Quantity, a_length
from sparkout.visit.checking import checked_as
from sparkout.visit.contradictions import Finding
from sparkout.visit.entered import Entered
from sparkout.visit.problems import Path
from sparkout.visit.sections import GrinderSection, ReelSection, Section
from sparkout.visit.words import Switch, Text, Whole, Word

PartQuantity = Literal["land", "lip", "roller"]


def _clock(meaning: str, example: str) -> Quantity:
    return Quantity(meaning, example, "time", 0.0, 1e6, "h")


def _so_many(meaning: str) -> Whole:
    return Whole(meaning, 2, 0, 10_000)


class OneSize(Section):
    """A reel's mean diameter at some hours, as found or as left."""

    hours: Annotated[float, _clock(phrase("hours the reel had run"), "240 h")]
    diameter: Annotated[float, a_length(20.0, 600.0, phrase("mean diameter"), "125.4 mm")]
    removed: Annotated[
        float, a_length(0.0, 100.0, phrase("ground off it before, on diameter, since the first of these"), "0.2 mm")
    ] = Entered(0.0)
    sandings: Annotated[int, Whole(phrase("sandings so far"), 2, 0, 10_000)] = 0
    stones: Annotated[int, Whole(phrase("stones so far"), 0, 0, 10_000)] = 0


class OnePartSize(Section):
    """A land, a lip height or a roller's diameter at some hours, as found or as left."""

    hours: Annotated[float, _clock(phrase("hours the part had run"), "240 h")]
    value: Annotated[float, a_length(0.0, 600.0, phrase("mean land, lip height or diameter"), "1.2 mm")]
    removed: Annotated[
        float,
        a_length(
            -100.0,
            100.0,
            phrase("ground off it before, since the first of these; what relief grinds narrowed a land by"),
            "0.4 mm",
        ),
    ] = Entered(0.0)
    sandings: Annotated[int, Whole(phrase("sandings so far"), 2, 0, 10_000)] = 0
    stones: Annotated[int, Whole(phrase("stones so far"), 0, 0, 10_000)] = 0


class OnePart(Section):
    """Something that wears beside the reel's diameter."""

    quantity: Annotated[PartQuantity, Word(phrase("what of it"), "lip", get_args(PartQuantity))]
    which: Annotated[Literal["", "front", "rear"], Word(phrase("which roller"), "front", ("", "front", "rear"))] = ""
    type: Annotated[str, Text(phrase("what it is compared with: its type"), "greens knife", 100)] = ""
    hours: Annotated[
        float | None, _clock(phrase("hours it has run by now; those of the unit where left out"), "300 h")
    ] = None
    limit: Annotated[
        float | None, a_length(0.0, 600.0, phrase("least diameter or lip height, widest land"), "2.5 mm")
    ] = None
    sandings: Annotated[int | None, _so_many(phrase("sandings so far; those of its last size where left out"))] = None
    stones: Annotated[int | None, _so_many(phrase("stones so far; those of its last size where left out"))] = None
    sizes: tuple[OnePartSize, ...] = ()


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
    sandings: Annotated[int | None, _so_many(phrase("sandings so far; those of its last size where left out"))] = None
    stones: Annotated[int | None, _so_many(phrase("stones so far; those of its last size where left out"))] = None
    sizes: tuple[OneSize, ...] = ()
    edges: tuple[OneEdge, ...] = ()
    reel: ReelSection | None = None
    land: Annotated[float | None, a_length(0.0, 20.0, phrase("land as read last"), "1.2 mm")] = None
    land_limit: Annotated[float | None, a_length(0.0, 20.0, phrase("widest land allowed"), "2 mm")] = None
    grinder: GrinderSection | None = None
    parts: tuple[OnePart, ...] = ()


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
        tuple(_size(size, size.diameter) for size in one.sizes),
        None if one.limit is None else float(one.limit),
        one.relief,
        None if one.area_an_hour is None else from_core(one.area_an_hour, "area", "ha"),
        _so_far(one, one.sandings, "sandings"),
        _so_far(one, one.stones, "stones"),
        None if one.reel is None else ReelOnFile(one.reel, one.land, one.land_limit, one.grinder),
        tuple(_part(part, h(one.hours)) for part in one.parts),
    )


def _size(size: OneSize | OnePartSize, value: float) -> Size:
    return Size(size.hours / HOUR, float(value), float(size.removed), size.sandings, size.stones)


def _part(part: OnePart, hours: float | None) -> Wearing:
    """Return something that wears; `hours` are the unit's."""
    return Wearing(
        part.quantity,
        part.type,
        hours if part.hours is None else part.hours / HOUR,
        tuple(_size(size, size.value) for size in part.sizes),
        None if part.limit is None else float(part.limit),
        part.which,
        _so_far(part, part.sandings, "sandings"),
        _so_far(part, part.stones, "stones"),
    )


def _edges(one: OneUnit) -> tuple[Edge, ...]:
    """Return the edges sharpened away, and the one the unit cuts with."""
    gone = [Edge(edge.hours / HOUR, edge.went, edge.relief, edge.gap, edge.who) for edge in one.edges]
    so_far = 0.0 if one.hours is None or one.sharpened is None else (one.hours - one.sharpened) / HOUR
    return (*gone, *([Edge(so_far, went=False)] if so_far > 0.0 else []))


def _so_far(one: OneUnit | OnePart, told: int | None, name: Happening) -> int:
    """Return how often something has happened to a unit: as told, else as at its last size."""
    return told if told is not None else int(getattr(one.sizes[-1], name)) if one.sizes else 0


def _contradictions(file: UnitsFile) -> Iterator[Finding]:
    """Names twice, counts so far that fall. Hours that fall are looked over in `doubts`."""
    names = [one.name for one in file.units]
    for i, one in enumerate(file.units):
        if one.name in names[:i]:
            yield Finding(("units", i, "name"), phrase("'{name}' stands here twice", name=AsTyped(one.name)), one.name)
        yield from _fallen(("units", i), one)
        for k, part in enumerate(one.parts):
            yield from _fallen(("units", i, "parts", k), part)
            if (part.quantity == "roller") != bool(part.which):
                told = phrase("'{which}': a roller is front or rear, nothing else is", which=AsTyped(part.which))
                yield Finding(("units", i, "parts", k, "which"), told, part.which)
            alike = [(other.quantity, other.which) for other in one.parts[:k]]
            if (part.quantity, part.which) in alike:
                yield Finding(("units", i, "parts", k, "quantity"), phrase("stands here twice"), part.quantity)


def _fallen(path: Path, one: OneUnit | OnePart) -> Iterator[Finding]:
    """Counts so far that fall from a size to the next, or to now."""
    for name in HAPPENINGS:
        counts = [getattr(size, name) for size in one.sizes]
        for k, (before, after) in enumerate(pairwise(counts), 1):
            if after < before:
                text = phrase("{n} is less than in the row before: counts so far rise", n=after)
                yield Finding((*path, "sizes", k, name), text)
        now = getattr(one, name)
        if now is not None and counts and now < counts[-1]:
            text = phrase("{n} is less than at its last size: counts so far rise", n=now)
            yield Finding((*path, name), text)
