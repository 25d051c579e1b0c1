"""What the records tell the season: each unit as it stands, the sheet that holds, the plans on file."""

from __future__ import annotations

import datetime
from bisect import bisect_left
from collections import Counter, defaultdict
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeVar

from sparkout.core.days import dated
from sparkout.core.errors import Refusal
from sparkout.core.phrase import Phrase, phrase
from sparkout.reckoning.in_figures import InFigures, calculations, from_kept
from sparkout.records.board import IN_ORDER
from sparkout.records.courses import ByHoursRun, Clock, clocks_of
from sparkout.records.figures import fresh_figures
from sparkout.records.models import (
    Event,
    Fitting,
    HoursEntry,
    Job,
    KeptFigures,
    KeptPlan,
    KeptSheet,
    Limit,
    Reading,
    Reel,
    SeasonPlan,
    Unit,
    Visit,
    WorkDone,
)
from sparkout.records.models.visits import OPEN, SIGNED
from sparkout.records.operations.doing import today as this_day
from sparkout.records.tables import standing
from sparkout.records.this_workshop import this_workshop
from sparkout.season.doubts import looked_over
from sparkout.season.edges import Gap
from sparkout.season.forecast import Size, UnitNow
from sparkout.season.now import SeasonNow, SeasonPlanned, held, season_now, told
from sparkout.season.on_file import (
    Sharpening,
    edges_between,
    gap_set,
    mown_an_hour,
    run_by,
    since_it_fell,
    usual_week,
)
from sparkout.season.placing import Placed, from_data, still_to_come
from sparkout.season.reel_on_file import ReelOnFile
from sparkout.season.sheet import HOUR, SeasonSheet, sheet_of
from sparkout.season.work import plan_kept
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
        self.stays: dict[int, list[Fitting]] = defaultdict(list)
        self.now_in: dict[int, Fitting] = {}
        related = ("reel__type", "unit__position__machine")
        fittings = Fitting.objects.filter(reel__isnull=False).select_related(*related).order_by("since", "pk")
        for fitting in fittings:
            assert fitting.reel_id is not None
            self.stays[fitting.reel_id].append(fitting)
            if fitting.until is None:
                self.now_in[fitting.unit_id] = fitting
        self.visits: dict[int, list[Visit]] = defaultdict(list)
        signed = Visit.objects.filter(state=SIGNED).exclude(corrected_by__state__in=(OPEN, SIGNED))
        for visit in signed.select_related("hours_entry", "grinder").defer("as_signed", "own").order_by("date", "pk"):
            self.visits[visit.reel_id].append(visit)
        steps = list(standing(WorkDone).filter(visit__state=SIGNED).values_list("visit", "entry"))
        self.ground_by: dict[int, str] = {}
        for visit, entry in steps:
            if entry["step"] in SHARPENS:
                self.ground_by[visit] = self.ground_by.get(visit) or entry.get("by") or ""
        self.relieved = {visit for visit, entry in steps if entry["step"] == "relief grind"}
        self.gaps = _GapsSet()
        self.limits, self.widest = _limits()
        self.turf = _TurfEvents(today)
        self.figures, self.waiting = self._figures(seconds)

    def _figures(self, seconds: float | None) -> tuple[dict[int, InFigures], int]:
        reels = {fitting.reel_id for fitting in self.now_in.values()}
        wanted = [visit.pk for reel in reels if reel is not None for visit in self.visits[reel]]
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
        fitting = self.now_in.get(unit.pk)
        if fitting is None:
            self.doubts.append((name, phrase("no reel is in it: nothing is due")))
            return UnitNow(name, *where, hours_a_week=week)
        reel = fitting.reel
        assert reel is not None
        stays = self.stays[reel.pk]
        course = ByHoursRun(stays, self.clocks)
        visits = [(visit, at) for visit in self.visits[reel.pk] if (at := _h(course.of_visit(visit))) is not None]
        done = [(visit, at) for visit, at in visits if visit.pk in self.ground_by]
        sharpenings = [self._sharpening(visit, at) for visit, at in done]
        hours = self._hours(fitting, course, clock, week)
        happened = tuple(self.turf.during(stays, kind) for kind in ("sand", "stone"))
        new = _h(course.came(len(stays) - 1))
        last = max([at for _, at in done], default=new)
        return UnitNow(
            name,
            *where,
            reel.type.name,
            hours,
            week,
            last,
            edges_between(sharpenings, hours),
            self._sizes(visits, happened),
            self.limits.get(reel.type_id, self.limits.get(None)),
            bool(done) and done[-1][0].pk in self.relieved,
            self._mown(unit, name, clock),
            len(happened[0]),
            len(happened[1]),
            self._reel(reel, [visit for visit, _ in visits]),
        )

    def _reel(self, reel: Reel, visits: list[Visit]) -> ReelOnFile:
        """Return what is on file of a reel beside its diameters."""
        seen = [self.figures[visit.pk] for visit in reversed(visits) if visit.pk in self.figures]
        lands = (stage.land for one in seen for stage in (one.left, one.found) if stage.land is not None)
        land = next(lands, None)
        grinder = next((visit.grinder for visit in reversed(visits) if visit.grinder is not None), None)
        return ReelOnFile(
            _section(ReelSection, {**reel.type.spec, **reel.spec}),
            None if land is None else land.value,
            self.widest.get(reel.type_id, self.widest.get(None)),
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

    def _hours(
        self, fitting: Fitting, course: ByHoursRun, clock: list[tuple[int, float]], week: float | None
    ) -> float | None:
        """Return what the reel has run by today: up to when its clock was last read, or it was fitted since, and on."""
        on = None if not clock else datetime.date.fromordinal(clock[-1][0])
        if on is not None and on >= fitting.since:
            run = _h(course.of_day(fitting.unit_id, on))
        else:
            on, run = fitting.since, _h(course.came(len(self.stays[fitting.reel_id or 0]) - 1))
        return None if run is None else run_by(run, on, week, self.today)

    def _sizes(self, visits: list[tuple[Visit, float]], happened: tuple[list[datetime.date], ...]) -> tuple[Size, ...]:
        """Return the reel's diameters as found and as left, in the order of hours, with what had come before."""
        sizes: list[Size] = []
        removed = 0.0
        for visit, at in sorted(visits, key=lambda one: one[1]):
            figures = self.figures.get(visit.pk)
            if figures is None:
                continue
            found, left = figures.found.diameter, figures.left.diameter
            counts = tuple(bisect_left(days, visit.date or self.today) for days in happened)
            if found is not None:
                sizes.append(Size(at, found.value, removed, *counts))
            if left is not None:
                removed += max(found.value - left.value, 0.0) if found is not None and figures.ground else 0.0
                sizes.append(Size(at, left.value, removed, *counts))
        return tuple(sizes)


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


class _TurfEvents:
    """Sand and stones on file up to a day."""

    def __init__(self, today: datetime.date) -> None:
        self.at: dict[tuple[str, str, int], list[datetime.date]] = defaultdict(list)
        rows = Event.objects.filter(kind__in=("sand", "stone"), on__lte=today)
        for kind, on, place, machine, unit in rows.values_list("kind", "on", "place", "machine", "unit"):
            for what, pk in (("unit", unit), ("machine", machine), ("place", place)):
                if pk is not None:
                    self.at[kind, what, pk].append(on)
                    break

    def during(self, stays: list[Fitting], kind: str) -> list[datetime.date]:
        """Return the days on which it happened to a reel, in whichever unit it was then."""
        found: list[datetime.date] = []
        for stay in stays:
            machine = stay.unit.position.machine if stay.unit.position is not None else None
            of = [("unit", stay.unit_id)]
            if machine is not None:
                of += [("machine", machine.pk), *([("place", machine.place_id)] if machine.place_id else [])]
            days = (day for what, pk in of for day in self.at.get((kind, what, pk), ()))
            found += [day for day in days if stay.since <= day and (stay.until is None or day < stay.until)]
        return sorted(found)


def _h(seconds: float | None) -> float | None:
    return None if seconds is None else seconds / HOUR


def _limits() -> tuple[dict[int | None, float], dict[int | None, float]]:
    """Return the least service diameter and the widest land by type of reel; under None the one for everything."""
    least: dict[int | None, float] = {}
    widest: dict[int | None, float] = {}
    for limit in Limit.objects.filter(quantity__in=("diameter", "land"), ended_at=None, knife_type=None):
        told, of = (limit.at_least, least) if limit.quantity == "diameter" else (limit.at_most, widest)
        if told is not None:
            of[limit.reel_type_id] = parse(told, "length", "mm")
    return least, widest


def _section(kind: type[S], table: dict[str, Any]) -> S:
    """Return a table on file, which was checked when it was entered, as a visit file has it."""
    told = tuple((name, value) for name, value in table.items() if value is not None)
    made: S = _section_of(kind, told)
    return made


@lru_cache(512)
def _section_of(kind: type[Any], told: tuple[tuple[str, Any], ...]) -> Any:
    return kind(**dict(told))


def kept_sheet(what_if: str = "") -> KeptSheet | None:
    """Return the sheet that holds: the workshop's own, or a what-if of that name."""
    return KeptSheet.objects.filter(what_if=what_if, ended_at=None).first()


def sheet_now(what_if: str = "") -> SeasonSheet:
    """Return the sheet that holds, checked; the usual figures where nothing was ever set."""
    kept = kept_sheet(what_if)
    return sheet_of({} if kept is None else kept.tables)


def what_ifs() -> list[KeptSheet]:
    """Return the what-ifs on file, by name."""
    return list(KeptSheet.objects.filter(ended_at=None).exclude(what_if="").order_by("what_if"))


def kept_plan(what_if: str = "") -> SeasonPlan | None:
    """Return the plan that is kept of a sheet: the last one kept, of whichever state of it."""
    found: SeasonPlan | None = _plans(what_if).filter(ended_at=None).exclude(kept_at=None).first()
    return found


def last_plan(what_if: str = "") -> SeasonPlan | None:
    """Return the plan made last of a sheet, kept or not."""
    found: SeasonPlan | None = _plans(what_if).first()
    return found


def _plans(what_if: str) -> Any:
    return SeasonPlan.objects.filter(sheet__what_if=what_if).select_related("sheet", "job", "made_by").order_by("-pk")


def placements(plan: SeasonPlan | None, units: UnitsOnFile | None = None) -> tuple[Placed, ...]:
    """Return what a plan says, job by job; with the units on file, what of it is still to come."""
    if plan is None:
        return ()
    made = tuple(map(from_data, plan.placements))
    return made if units is None else still_to_come(made, _sharpened_since(plan, units))


def _sharpened_since(plan: SeasonPlan, units: UnitsOnFile) -> dict[str, int]:
    """Return how often each unit has been sharpened and signed since a plan was made."""
    names = {number: name for name, number in units.numbers.items()}
    signed = standing(WorkDone).filter(visit__state=SIGNED, visit__signed_at__gt=plan.made_at)
    done = {
        (visit, unit)
        for visit, unit, entry in signed.values_list("visit", "visit__unit", "entry")
        if entry["step"] in SHARPENS
    }
    return Counter(names[unit] for _, unit in done if unit in names)


def season_on_file(what_if: str = "", seconds: float | None = None) -> tuple[UnitsOnFile, SeasonNow]:
    """Return the units on file and the season as it stands today by the sheet that holds."""
    units = units_now(this_day(), seconds)
    return units, season_now(sheet_now(what_if), units.units, this_day())


def plan_shown(season: SeasonNow, units: UnitsOnFile, plan: SeasonPlan | None) -> SeasonPlanned | None:
    """Return a plan on file as it stands today; None where there is none, or no work."""
    if plan is None or season.work is None:
        return None
    same = plan.on == this_day() and plan.sheet.ended_at is None
    return held(season, placements(plan, units), plan.bound if same else 0.0)


def best_so_far(season: SeasonNow, job: Job | None) -> SeasonPlanned | None:
    """Return the best plan so far of one that is being made; None where none is being made, or none is known yet."""
    best = None if job is None or not job.is_going_on else (job.told or {}).get("best")
    if best is None or season.work is None:
        return None
    days = {
        name: (datetime.date.fromisoformat(day) - season.work.start).days
        for name, day in best["days"].items()
        if day is not None
    }
    return told(season, plan_kept(season.work, days))


def plan_of_job(job: Job) -> SeasonPlan | None:
    """Return the plan that came of a piece of work, as soon as there is one."""
    return SeasonPlan.objects.filter(job=job).select_related("sheet", "job", "made_by").order_by("-pk").first()
