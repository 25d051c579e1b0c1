"""The season sheet: who works when, on which grinder, when machines can be spared, what to be fresh for, what it costs.

Plain tables in (a TOML file or the records), a checked `SeasonSheet` out, everything wrong told at once.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, TypeVar

from sparkout.core.phrase import Phrase, joined, phrase
from sparkout.visit.problems import Problem, VisitProblems, shown

T = TypeVar("T")
PHASES = ("strip", "spin", "relief", "knife", "set")
"""What a unit's work is made of, in order."""
GROUND = ("spin", "relief", "knife")
"""Phases that stand on a grinder."""
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
FIVE_DAYS = (7.5, 7.5, 7.5, 7.5, 7.5, 0.0, 0.0)
PHASE_HOURS = {"strip": 0.5, "spin": 0.75, "relief": 1.0, "knife": 0.5, "set": 0.5}
"""Hours a phase takes until the workshop says its own. Common practice, no source."""
INTERVAL = 120.0
"""Hours between sharpenings where neither the machine's own nor the records tell it. Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Worker:
    """A technician: phases they can do, hours by weekday from Monday, and overtime that can be asked for a day."""

    name: str
    skills: tuple[str, ...] = PHASES
    week: tuple[float, ...] = FIVE_DAYS
    overtime: float = 0.0


@dataclass(frozen=True, slots=True)
class Station:
    """A grinder: phases that stand on it, and hours by weekday."""

    name: str
    work: tuple[str, ...] = GROUND
    week: tuple[float, ...] = FIVE_DAYS


@dataclass(frozen=True, slots=True)
class Rule:
    """What holds for one machine's units; None: as the records tell, or the workshop's usual."""

    name: str
    spared: tuple[str, ...] = DAYS
    hours_a_week: float | None = None
    interval: float | None = None
    importance: float = 1.0


@dataclass(frozen=True, slots=True)
class Absence:
    """Somebody away, or a grinder out of work, from one day to another, both included."""

    who: str
    first: datetime.date
    last: datetime.date
    note: str = ""


@dataclass(frozen=True, slots=True)
class Occasion:
    """A day for which the units of a machine, or of all machines at a place, are to be fresh."""

    at: str
    on: datetime.date
    name: str = ""


@dataclass(frozen=True, slots=True)
class Choice:
    """A day chosen by hand for one job."""

    job: str
    on: datetime.date


@dataclass(frozen=True, slots=True)
class Costs:
    """The workshop's own figures in its own money. The ones standing here are common practice, no source."""

    hour: float = 30.0
    overtime_hour: float = 45.0
    late_day: float = 20.0
    """For a unit of importance 1."""
    early_day: float = 1.0
    """Life wasted by grinding a day before it is due."""
    wheel: float = 3.0
    """Grinding wheel used up by one grind."""
    sooner: float = 60.0
    """Extra cost of a sharpening that came because the cut was spoilt."""
    reel: float = 400.0
    knife: float = 60.0
    lead_days: float = 21.0


@dataclass(frozen=True, slots=True)
class SeasonSheet:
    """Everything about the season that is a workshop's own choice."""

    start: datetime.date | None = None
    """First day; None: the day it is asked."""
    weeks: int = 12
    hours: Mapping[str, float] = field(default_factory=lambda: dict(PHASE_HOURS))
    interval: float = INTERVAL
    people: tuple[Worker, ...] = ()
    grinders: tuple[Station, ...] = ()
    machines: tuple[Rule, ...] = ()
    away: tuple[Absence, ...] = ()
    fresh: tuple[Occasion, ...] = ()
    chosen: tuple[Choice, ...] = ()
    costs: Costs = Costs()
    fresh_days: int = 7
    """How long before an occasion a sharpening still counts as fresh."""

    def rule(self, machine: str) -> Rule:
        """Return what holds for a machine."""
        return next((rule for rule in self.machines if rule.name == machine), Rule(machine))


class _Reading:
    """Reads tables and remembers what is wrong."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []

    def wrong(self, path: str, value: Any, text: Phrase, allowed: str = "") -> None:
        self.problems.append(Problem(path, None, text, shown(value), allowed))

    def number(self, path: str, value: Any, low: float, high: float, unit: str, otherwise: float) -> float:
        if value is None:
            return otherwise
        try:
            found = float(str(value).strip().replace(",", "."))
        except ValueError:
            found = math.nan
        if not low <= found <= high:
            self.wrong(path, value, phrase("is out of range"), f"{low:g} to {high:g} {unit}".strip())
            return otherwise
        return found

    def day(self, path: str, value: Any) -> datetime.date:
        if isinstance(value, datetime.date) and not isinstance(value, datetime.datetime):
            return value
        try:
            return datetime.date.fromisoformat(str(value).strip())
        except ValueError:
            self.wrong(path, value, phrase("is no day"), "2026-11-25")
            return datetime.date.min

    def words(self, path: str, value: Any, allowed: tuple[str, ...], otherwise: tuple[str, ...]) -> tuple[str, ...]:
        if value is None:
            return otherwise
        given = [value] if isinstance(value, str) else list(value)
        for one in given:
            if one not in allowed:
                self.wrong(path, one, phrase("is not known"), ", ".join(allowed))
        return tuple(word for word in allowed if word in given)

    def week(self, path: str, value: Any) -> tuple[float, ...]:
        if value is None:
            return FIVE_DAYS
        given = value.split() if isinstance(value, str) else list(value)
        if len(given) != len(DAYS):
            self.wrong(path, value, phrase("needs seven figures, Monday to Sunday"), "7.5 7.5 7.5 7.5 7.5 0 0")
            return FIVE_DAYS
        return tuple(self.number(f"{path}.{d}", h, 0.0, 24.0, "h", 0.0) for d, h in zip(DAYS, given, strict=True))

    def text(self, path: str, value: Any, needed: bool = False) -> str:
        found = "" if value is None else str(value).strip()
        if needed and not found:
            self.wrong(path, value, phrase("is needed"))
        if len(found) > 200:
            self.wrong(path, found[:20] + "...", phrase("is too long"), "1 to 200 characters")
        return found

    def table(self, path: str, value: Any, known: Iterable[str]) -> Mapping[str, Any]:
        if value is None:
            return {}
        names = tuple(known)
        if not isinstance(value, Mapping):
            self.wrong(path, value, phrase("is no table"))
            return {}
        for name in value:
            if name not in names:
                self.wrong(f"{path}.{name}".strip("."), value[name], phrase("is not known"), ", ".join(names))
        return value

    def each(self, path: str, value: Any, known: tuple[str, ...], made: Callable[[str, Any], T]) -> tuple[T, ...]:
        if value is None:
            return ()
        if not isinstance(value, list | tuple):
            self.wrong(path, value, phrase("is no list"))
            return ()
        rows = [(f"{path}[{i}]", row) for i, row in enumerate(value)]
        return tuple(made(at, self.table(at, row, known)) for at, row in rows)


def sheet_of(tables: Mapping[str, Any]) -> SeasonSheet:
    """Return the season sheet that these tables make.

    Raises
    ------
    VisitProblems
        With everything wrong: path, value, what is allowed.

    Examples
    --------
    >>> sheet_of({"people": [{"name": "A", "week": [8, 8, 8, 8, 6, 0, 0]}], "costs": {"hour": 32}}).people[0].week[4]
    6.0
    >>> sheet_of({"weeks": 0})
    Traceback (most recent call last):
    sparkout.visit.problems.VisitProblems: weeks: is out of range; allowed: 1 to 104 weeks.
    """
    read = _Reading()
    top = read.table("", tables, list(SeasonSheet.__dataclass_fields__))
    start = top.get("start")
    hours = read.table("hours", top.get("hours"), PHASES)
    costs = read.table("costs", top.get("costs"), tuple(Costs.__dataclass_fields__))
    usual = Costs()
    sheet = SeasonSheet(
        start=None if start in (None, "") else read.day("start", start),
        weeks=int(read.number("weeks", top.get("weeks"), 1, 104, "weeks", 12)),
        hours={n: read.number(f"hours.{n}", hours.get(n), 0.0, 24.0, "h", PHASE_HOURS[n]) for n in PHASES},
        interval=read.number("interval", top.get("interval"), 1.0, 5000.0, "h", INTERVAL),
        people=read.each("people", top.get("people"), ("name", "skills", "week", "overtime"), lambda at, row: Worker(
            read.text(f"{at}.name", row.get("name"), needed=True),
            read.words(f"{at}.skills", row.get("skills"), PHASES, PHASES),
            read.week(f"{at}.week", row.get("week")),
            read.number(f"{at}.overtime", row.get("overtime"), 0.0, 12.0, "h", 0.0),
        )),
        grinders=read.each("grinders", top.get("grinders"), ("name", "work", "week"), lambda at, row: Station(
            read.text(f"{at}.name", row.get("name"), needed=True),
            read.words(f"{at}.work", row.get("work"), GROUND, GROUND),
            read.week(f"{at}.week", row.get("week")),
        )),
        machines=read.each(
            "machines", top.get("machines"), tuple(Rule.__dataclass_fields__), lambda at, row: Rule(
                read.text(f"{at}.name", row.get("name"), needed=True),
                read.words(f"{at}.spared", row.get("spared"), DAYS, DAYS),
                _or_none(read, f"{at}.hours_a_week", row.get("hours_a_week"), 0.0, 168.0),
                _or_none(read, f"{at}.interval", row.get("interval"), 1.0, 5000.0),
                read.number(f"{at}.importance", row.get("importance"), 0.0, 1000.0, "", 1.0),
            )
        ),
        away=read.each("away", top.get("away"), ("who", "first", "last", "note"), lambda at, row: Absence(
            read.text(f"{at}.who", row.get("who"), needed=True),
            read.day(f"{at}.first", row.get("first")),
            read.day(f"{at}.last", row.get("last") or row.get("first")),
            read.text(f"{at}.note", row.get("note")),
        )),
        fresh=read.each("fresh", top.get("fresh"), ("at", "on", "name"), lambda at, row: Occasion(
            read.text(f"{at}.at", row.get("at"), needed=True),
            read.day(f"{at}.on", row.get("on")),
            read.text(f"{at}.name", row.get("name")),
        )),
        chosen=read.each("chosen", top.get("chosen"), ("job", "on"), lambda at, row: Choice(
            read.text(f"{at}.job", row.get("job"), needed=True), read.day(f"{at}.on", row.get("on"))
        )),
        costs=Costs(**{
            name: read.number(f"costs.{name}", costs.get(name), 0.0, 1e7, "", getattr(usual, name))
            for name in Costs.__dataclass_fields__
        }),
        fresh_days=int(read.number("fresh_days", top.get("fresh_days"), 0, 60, "days", 7)),
    )  # fmt: skip
    _contradictions(read, sheet)
    if read.problems:
        raise VisitProblems(read.problems)
    return sheet


def _or_none(read: _Reading, path: str, value: Any, low: float, high: float) -> float | None:
    if value in (None, ""):
        return None
    return read.number(path, value, low, high, "h", low)


def _contradictions(read: _Reading, sheet: SeasonSheet) -> None:
    """Names twice, somebody away who does not work here, days the wrong way round."""
    for path, names in (
        ("people", [one.name for one in sheet.people]),
        ("grinders", [one.name for one in sheet.grinders]),
        ("machines", [one.name for one in sheet.machines]),
    ):
        twice = sorted({name for name in names if name and names.count(name) > 1})
        if twice:
            read.wrong(path, twice[0], phrase("stands here twice"))
    here = {worker.name for worker in sheet.people} | {grinder.name for grinder in sheet.grinders}
    for i, gap in enumerate(sheet.away):
        if gap.who and gap.who not in here:
            read.wrong(
                f"away[{i}].who", gap.who, phrase("is nobody and no grinder of this sheet"), ", ".join(sorted(here))
            )
        if gap.last < gap.first:
            read.wrong(f"away[{i}].last", gap.last, phrase("is before the first day"))


def as_tables(sheet: SeasonSheet) -> dict[str, Any]:
    """Return the sheet as plain tables, days as text: what `sheet_of` reads back to the same sheet."""

    def plain(value: Any) -> Any:
        if isinstance(value, datetime.date):
            return value.isoformat()
        if isinstance(value, Mapping):
            return {key: plain(one) for key, one in value.items() if one is not None}
        if isinstance(value, list | tuple):
            return [plain(one) for one in value]
        return value

    return dict(plain(asdict(sheet)))


def named_days(days: Iterable[str]) -> Phrase:
    """Return weekdays as a list."""
    return joined(", ", [phrase(day) for day in days])
