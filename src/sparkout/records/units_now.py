"""Every unit in use as the records tell it: what the season's forecast is made from."""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from sparkout.core.days import dated
from sparkout.core.errors import Refusal
from sparkout.core.phrase import Phrase, phrase
from sparkout.reckoning.in_figures import InFigures, calculations, from_kept
from sparkout.records.board import IN_ORDER
from sparkout.records.courses import ByClock, ByHoursRun, Clock, clocks_of
from sparkout.records.figures import fresh_figures
from sparkout.records.models import (
    Fitting,
    HoursEntry,
    KeptFigures,
    KeptPlan,
    Reading,
    Reel,
    Unit,
    Visit,
    WorkDone,
)
from sparkout.records.models.visits import OPEN, SIGNED
from sparkout.records.operations.doing import today as this_day
from sparkout.records.tables import standing
from sparkout.records.this_workshop import this_workshop
from sparkout.records.wearing import Read, Run, Stay, TurfEvents, WearLimits, wearing
from sparkout.season.doubts import looked_over
from sparkout.season.edges import Gap
from sparkout.season.forecast import UnitNow
from sparkout.season.on_file import (
    Sharpening,
    edges_between,
    gap_set,
    mown_an_hour,
    run_by,
    since_it_fell,
    usual_week,
)
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sheet import HOUR
from sparkout.season.wearing import Wearing
from sparkout.units import from_core, parse
from sparkout.visit.sections import GrinderSection, ReelSection, Section

S = TypeVar("S", bound=Section)
SHARPENS = ("spin grind", "relief grind")
"""Steps of work after which an edge is new."""


@dataclass(frozen=True, slots=True)
class UnitsOnFile:
    """Every unit in use as the forecast wants it."""

    units: tuple[UnitNow, ...]
    numbers: dict[str, int]
    """The unit's number by its name here, which is its own: two of one name are told apart by their machine."""
    waiting: int
    """Signed visits whose figures are still to be worked out: their diameters are not in the forecast yet."""
    doubts: tuple[tuple[str, Phrase], ...]
    """What looks wrong on file, by unit, and what was done about it."""


def units_now(today: datetime.date | None = None, seconds: float | None = None) -> UnitsOnFile:
    """Return every unit in use as it stands: diameters, grinds, sharpenings, hours, the usual week, limits.

    Hours are what its reel has run. Figures of visits that are not kept yet are worked out for so many seconds (a
    second or so where not said, 0: none). Thirteen queries however many units there are, and two more when some are.
    """
    day = today or this_day()
    found = _OnFile(day, seconds)
    names = _named(found.units)
    units, doubts = looked_over([found.unit(unit, names[unit.pk]) for unit in found.units])
    numbers = {names[unit.pk]: unit.pk for unit in found.units}
    return UnitsOnFile(units, numbers, found.waiting, (*found.doubts, *doubts))


def _named(units: list[Unit]) -> dict[int, str]:
    """Return a name of its own for each unit."""
    names = {unit.pk: unit.name for unit in units}
    longer = {unit.pk: ", ".join(filter(None, (unit.name, _machine(unit)))) for unit in units}
    for more in (longer, {unit.pk: f"{longer[unit.pk]} ({unit.pk})" for unit in units}):
        often = Counter(names.values())
        names = {pk: more[pk] if often[name] > 1 else name for pk, name in names.items()}
    return names


def _machine(unit: Unit) -> str:
    return unit.position.machine.name if unit.position is not None else ""


class _OnFile:
    """What is on file of all units, fetched at once."""

    def __init__(self, today: datetime.date, seconds: float | None) -> None:
        self.today = today
        self.doubts: list[tuple[str, Phrase]] = []
        self.units = list(
            Unit.objects.filter(active=True).select_related("position__machine__place").order_by(*IN_ORDER)
        )
        self.read: dict[int, list[HoursEntry]] = defaultdict(list)
        for entry in HoursEntry.objects.order_by("on", "pk"):
            self.read[entry.unit_id].append(entry)
        self.late_read = {unit: [e for e in read if e.on and e.on > today] for unit, read in self.read.items()}
        self.clocks = clocks_of(e for read in self.read.values() for e in read if e.on is None or e.on <= today)
        self.reels, self.knives = _Fitted(), _Fitted()
        related = ("reel__type", "knife__type", "unit__position__machine")
        for fitting in Fitting.objects.select_related(*related).order_by("since", "pk"):
            if fitting.reel_id is not None:
                self.reels.add(fitting, fitting.reel_id)
            elif fitting.knife_id is not None:
                self.knives.add(fitting, fitting.knife_id)
        self.in_unit: dict[int, list[Visit]] = defaultdict(list)
        signed = Visit.objects.filter(state=SIGNED).exclude(corrected_by__state__in=(OPEN, SIGNED))
        for visit in signed.select_related("hours_entry", "grinder").defer("as_signed", "own").order_by("date", "pk"):
            self.in_unit[visit.unit_id].append(visit)
            self.reels.visits[visit.reel_id].append(visit)
            if visit.knife_id is not None:
                self.knives.visits[visit.knife_id].append(visit)
        steps = list(standing(WorkDone).filter(visit__state=SIGNED).values_list("visit", "entry"))
        self.ground_by: dict[int, str] = {}
        for visit, entry in steps:
            if entry["step"] in SHARPENS:
                self.ground_by[visit] = self.ground_by.get(visit) or entry.get("by") or ""
        self.relieved = {visit for visit, entry in steps if entry["step"] == "relief grind"}
        self.gaps = _GapsSet()
        self.limits = WearLimits()
        self.turf = TurfEvents(today)
        self.figures, self.waiting = self._figures(seconds)

    def _figures(self, seconds: float | None) -> tuple[dict[int, InFigures], int]:
        units = (visit.pk for unit in self.units for visit in self.in_unit[unit.pk])
        wanted = {*units, *self.reels.of_now, *self.knives.of_now}
        kept = KeptFigures.objects.filter(made_by=calculations()).values_list("visit", "figures")
        figures = {visit: from_kept(told) for visit, told in kept}
        missing = sorted((visit for visit in wanted if visit not in figures), reverse=True)
        if missing and seconds != 0.0:
            fresh = fresh_figures(missing, seconds, len(missing))
            return figures | fresh, len(missing) - len(fresh)
        return figures, len(missing)

    def unit(self, unit: Unit, name: str) -> UnitNow:
        """Return one unit as it stands."""
        place = unit.position.machine.place if unit.position is not None else None
        where = _machine(unit), "" if place is None else place.name
        clock = self._clock(unit, name)
        week = usual_week(clock)
        fitting = self.reels.now_in.get(unit.pk)
        if fitting is None:
            self.doubts.append((name, phrase("no reel is in it: nothing is due")))
            return UnitNow(name, *where, hours_a_week=week, parts=self._knife(unit, clock, week))
        reel = fitting.reel
        assert reel is not None
        run = self._run(self.reels, fitting, reel.pk, reel.type.name, clock, week)
        done = [(visit, at) for visit, at in run.visits if visit.pk in self.ground_by]
        sharpenings = [self._sharpening(visit, at) for visit, at in done]
        new = _h(self._course(self.reels, reel.pk).came(len(self.reels.stays[reel.pk]) - 1))
        diameter = self._wearing("diameter", run, reel_type=reel.type_id)
        land = self._wearing("land", run, reel_type=reel.type_id)
        rollers = self._rollers(unit, clock, week, reel.type.name)
        return UnitNow(
            name,
            *where,
            run.duty,
            run.hours,
            week,
            max([at for _, at in done], default=new),
            edges_between(sharpenings, run.hours),
            diameter.sizes,
            diameter.limit,
            bool(done) and done[-1][0].pk in self.relieved,
            self._mown(unit, name, clock),
            diameter.sandings,
            diameter.stones,
            self._reel(reel, [visit for visit, _ in run.visits], land.limit),
            (land, *self._knife(unit, clock, week), *rollers),
        )

    def _course(self, parts: _Fitted, part: int) -> ByHoursRun:
        return ByHoursRun(parts.stays[part], self.clocks)

    def _run(
        self, parts: _Fitted, fitting: Fitting, part: int, duty: str, clock: list[tuple[int, float]], week: float | None
    ) -> Run:
        """Return what a reel or a knife that is in a unit has run."""
        stays, course = parts.stays[part], self._course(parts, part)
        visits = [(visit, at) for visit in parts.visits[part] if (at := _h(course.of_visit(visit))) is not None]
        on = None if not clock else datetime.date.fromordinal(clock[-1][0])
        if on is not None and on >= fitting.since:
            run = _h(course.of_day(fitting.unit_id, on))
        else:
            on, run = fitting.since, _h(course.came(len(stays) - 1))
        hours = None if run is None else run_by(run, on, week, self.today)
        return Run(duty, hours, visits, self.turf.happened(stays))

    def _knife(self, unit: Unit, clock: list[tuple[int, float]], week: float | None) -> tuple[Wearing, ...]:
        """Return the lip of the knife that is in a unit; nothing where none is."""
        fitting = self.knives.now_in.get(unit.pk)
        if fitting is None:
            return ()
        knife = fitting.knife
        assert knife is not None
        run = self._run(self.knives, fitting, knife.pk, knife.type.name, clock, week)
        return (self._wearing("lip", run, knife_type=knife.type_id),)

    def _wearing(self, name: Read, run: Run, **of_type: int) -> Wearing:
        return wearing(name, run, self.figures, self.limits.on(name, **of_type))

    def _rollers(
        self, unit: Unit, clock: list[tuple[int, float]], week: float | None, duty: str
    ) -> tuple[Wearing, ...]:
        """Return a unit's rollers, along its own clock."""
        course = ByClock(self.clocks.get(unit.pk, Clock(())))
        visits = [(visit, at) for visit in self.in_unit[unit.pk] if (at := _h(course.of_visit(visit))) is not None]
        hours = None
        if clock:
            day, read = clock[-1]
            hours = run_by(read, datetime.date.fromordinal(day), week, self.today)
        happened = self.turf.happened([Stay(unit, datetime.date.min, None)])
        run = Run(duty, hours, visits, happened)
        return self._wearing("front roller", run), self._wearing("rear roller", run)

    def _reel(self, reel: Reel, visits: list[Visit], widest: float | None) -> ReelOnFile:
        """Return what is on file of a reel beside its diameters."""
        seen = [self.figures[visit.pk] for visit in reversed(visits) if visit.pk in self.figures]
        lands = (stage.land for one in seen for stage in (one.left, one.found) if stage.land is not None)
        land = next(lands, None)
        grinder = next((visit.grinder for visit in reversed(visits) if visit.grinder is not None), None)
        return ReelOnFile(
            _section(ReelSection, {**reel.type.spec, **reel.spec}),
            None if land is None else land.value,
            widest,
            None if grinder is None else _section(GrinderSection, grinder.spec),
        )

    def _sharpening(self, visit: Visit, at: float) -> Sharpening:
        who = self.ground_by[visit.pk] or visit.technician or ""
        return Sharpening(at, bool(visit.complaint), visit.pk in self.relieved, self.gaps.of(visit), who)

    def _mown(self, unit: Unit, name: str, clock: list[tuple[int, float]]) -> float | None:
        """Return the hectares mown in an hour, by the areas entered with its clock since that last fell."""
        areas: dict[int, float] = {}
        for entry in self.read.get(unit.pk, ()):
            if entry.area is None or entry.on is None or entry.on > self.today:
                continue
            try:
                areas[entry.on.toordinal()] = from_core(parse(str(entry.area), "area", "ha"), "area", "ha")
            except Refusal as why:
                told = phrase("the area of {day} cannot be read: {why}", day=dated(entry.on), why=why.words)
                self.doubts.append((name, told))
        return mown_an_hour([(hours, areas.get(day)) for day, hours in clock])

    def _clock(self, unit: Unit, name: str) -> list[tuple[int, float]]:
        read = [(day, seconds / HOUR) for day, seconds in self.clocks.get(unit.pk, Clock(())).read]
        for entry in self.late_read.get(unit.pk, ()):
            assert entry.on is not None
            told = phrase("its clock is read on {day}, which has not come: left out", day=dated(entry.on))
            self.doubts.append((name, told))
        own = since_it_fell(read)
        if len(own) < len(read):
            told = phrase(
                "its clock fell to {hours:g} h: another clock? What it showed before is not its week", hours=own[0][1]
            )
            self.doubts.append((name, told))
        return own


class _Fitted:
    """Parts of one kind: where each was, which is in which unit now, and the signed visits of each."""

    def __init__(self) -> None:
        self.stays: dict[int, list[Fitting]] = defaultdict(list)
        self.now_in: dict[int, Fitting] = {}
        self.visits: dict[int, list[Visit]] = defaultdict(list)
        self.now: list[int] = []

    def add(self, fitting: Fitting, part: int) -> None:
        """Take in a stay of a part, later than those taken in before."""
        self.stays[part].append(fitting)
        if fitting.until is None:
            self.now_in[fitting.unit_id] = fitting
            self.now.append(part)

    @property
    def of_now(self) -> Iterator[int]:
        """The visits of parts that are in a unit now."""
        return (visit.pk for part in self.now for visit in self.visits[part])


class _GapsSet:
    """To which gap each signed visit's knife was set: as it was read afterwards, else as it was wanted."""

    def __init__(self) -> None:
        self.read: dict[int, list[float]] = defaultdict(list)
        rows = standing(Reading).filter(visit__state=SIGNED, of="gap", when="as left")
        for visit, *typed in rows.values_list("visit", "value", "goes"):
            self.read[visit] += [gap for text in typed if (gap := _gap(text)) is not None]
        plans = KeptPlan.objects.filter(visit__state=SIGNED).order_by("pk").values_list("visit", "choices")
        self.planned = {visit: choices.get("wanted", {}) for visit, choices in plans}
        workshop = this_workshop()
        self.usual: dict[str, Any] = workshop.wanted if workshop else {}

    def of(self, visit: Visit) -> Gap | None:
        """Return how a visit's knife was set; None where nothing tells it."""
        wanted = {**(self.usual if visit.wanted is None else visit.wanted), **self.planned.get(visit.pk, {})}
        return gap_set(self.read.get(visit.pk, ()), _gap(wanted.get("gap")))


def _gap(typed: Any) -> float | None:
    """Return a gap as typed in mm; None where there is none, or none that can be read."""
    try:
        return None if typed is None else parse(typed, "length", "mm")
    except Refusal:
        return None


def _h(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / HOUR


def _section(kind: type[S], table: dict[str, Any]) -> S:
    """Return a table on file, which was checked when it was entered, as a visit file has it."""
    told = tuple((name, value) for name, value in table.items() if value is not None)
    made: S = _section_of(kind, told)
    return made


@lru_cache(512)
def _section_of(kind: type[Any], told: tuple[tuple[str, Any], ...]) -> Any:
    return kind(**dict(told))
