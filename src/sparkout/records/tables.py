"""The records of a visit as the tables of a visit file."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from django.db.models import Exists, OuterRef, Q, QuerySet
from django.db.models.functions import Coalesce
from django.db.models.utils import create_namedtuple_class

from sparkout.records.models import Cell, Gauge, HoursEntry, Limit, PaperProof, Reading, Visit, WorkDone
from sparkout.records.models.visits import SIGNED
from sparkout.records.this_workshop import this_workshop
from sparkout.visit.quantities import BEARING, LIMITS
from sparkout.visit.taken import Reading as ReadingTable
from sparkout.visit.taken import Sweep as SweepTable

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sparkout.records.checked import Table
    from sparkout.records.models import Sweep

READING_KEYS = tuple(key for key in ReadingTable.model_fields if key != "gauge")
SWEEP_KEYS = tuple(key for key in SweepTable.model_fields if key not in ("gauge", "values"))
LIMIT_KEYS = ("quantity", "at_least", "at_most", "origin", "set_by", "on", "risk")
SINGLE = ("visit", "unit", "reel", "knife", "height", "mowing", "grinder", "wanted")
"""Tables that stand once, of which a visit may have its own entries; [sign_off] comes from the visit itself."""

MOST_EARLIER = 60
"""Readings of earlier visits that are held against today's, the latest."""


def given(table: Mapping[str, Any]) -> Table:
    """Return the entries that say something."""
    return {key: value for key, value in table.items() if value is not None}


def standing(kind: type[Any]) -> QuerySet[Any]:
    """Return the entries of a kind that count: neither replaced nor withdrawn, each in the place of its first."""
    found: QuerySet[Any] = kind.objects.filter(replaced_by__isnull=True, withdrawn_at__isnull=True)
    return found.order_by(Coalesce("first_id", "pk"))


WHOLE_VISIT = ("unit__position__machine", "reel__type", "knife__type", "grinder")
"""Everything about a visit that stands once, for one query."""


def whole_visit(pk: int) -> Visit:
    """Return the visit with everything about it that stands once, in one query."""
    return Visit.objects.select_related(*WHOLE_VISIT).get(pk=pk)


def reel_table(visit: Visit) -> Table:
    """Return [reel]: the type's sizes, then the reel's own, then the visit's own."""
    return given({**visit.reel.type.spec, **visit.reel.spec, **visit.own.get("reel", {})})


def gauge_row(gauge: Gauge) -> Table:
    """Return one of [[gauges]]."""
    return given({"id": gauge.name, "kind": gauge.kind, **gauge.spec, "calibration_due": gauge.calibration_due})


def gauge_rows(visit: Visit) -> list[Table]:
    """Return [[gauges]]: those the visit came with, else those in use."""
    rows: list[Table] = visit.own.get("gauges") or []
    if "gauges" not in visit.own:
        rows = [gauge_row(gauge) for gauge in Gauge.objects.filter(retired=False).order_by("pk")]
    return rows


def also_used(rows: list[Table], used: Iterable[Gauge]) -> list[Table]:
    """Return [[gauges]] with whatever else was read with."""
    known = {row["id"] for row in rows}
    others = {gauge.name: gauge for gauge in used if gauge.name not in known}
    return [*rows, *map(gauge_row, others.values())]


def limit_row(limit: Limit) -> Table:
    """Return one of [[limits]]."""
    return given({key: getattr(limit, key) for key in LIMIT_KEYS})


def limit_rows(visit: Visit) -> list[Table]:
    """Return [[limits]]: of each quantity the one for this type of reel or knife, else the one for everything."""
    if "limits" in visit.own:
        return list(visit.own["limits"])
    knife_type = visit.knife.type_id if visit.knife else None
    nearest: dict[str, Limit] = {}
    for limit in Limit.objects.filter(ended_at__isnull=True).order_by("pk"):
        for_this = limit.reel_type_id == visit.reel.type_id or (
            limit.knife_type_id is not None and limit.knife_type_id == knife_type
        )
        for_all = limit.reel_type_id is None and limit.knife_type_id is None
        if for_this or (for_all and limit.quantity not in nearest):
            nearest[limit.quantity] = limit
    return [limit_row(nearest[quantity]) for quantity in LIMITS if quantity in nearest]


def reading_row(reading: Reading) -> Table:
    """Return one of [[readings]]."""
    gauge = None if reading.gauge is None else reading.gauge.name
    return given({"of": reading.of, "gauge": gauge, **{key: getattr(reading, key) for key in READING_KEYS}})


def sweep_row(sweep: Sweep, cells: Iterable[Cell]) -> Table:
    """Return one of [[sweeps]]; '-' where nothing stands."""
    gauge = None if sweep.gauge is None else sweep.gauge.name
    values: list[list[Any]] = [["-"] * len(sweep.at) for _ in range(sweep.rows)]
    for cell in cells:
        values[cell.row][cell.column] = cell.value
    return given({"gauge": gauge, **{key: getattr(sweep, key) for key in SWEEP_KEYS}, "values": values})


CELL = ("sweep", "row", "column", "value", "pk", "version", "entered_by__name", "entered_at")
"""What is asked of each cell: rows instead of instances, for of everything on file these are the most."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What was read during a visit and counts; three queries, however much there is."""

    readings: list[Reading]
    sweeps: list[Sweep]
    cells: list[Any]
    """A row of CELL each."""

    @property
    def gauges(self) -> list[Gauge]:
        """The gauges it was read with."""
        used = [*(reading.gauge for reading in self.readings), *(sweep.gauge for sweep in self.sweeps)]
        return [gauge for gauge in used if gauge is not None]

    def reading_rows(self) -> list[Table]:
        """Return [[readings]]."""
        return [reading_row(reading) for reading in self.readings]

    def sweep_rows(self) -> list[Table]:
        """Return [[sweeps]]."""
        of_sweep: dict[int, list[Any]] = {}
        for cell in self.cells:
            of_sweep.setdefault(cell.sweep, []).append(cell)
        return [sweep_row(sweep, of_sweep.get(sweep.pk, ())) for sweep in self.sweeps]

    def after(self, made: Reading | Cell, visit: Visit) -> Taken:
        """Return what counts once this was entered as well, and nothing else was."""
        rows: list[Any] = self.readings if isinstance(made, Reading) else self.cells
        at = next((i for i, held in enumerate(rows) if held.pk == made.replaces_id), None)
        known = isinstance(made, Reading) or any(sweep.pk == made.sweep_id for sweep in self.sweeps)
        if not known or (at is None and made.replaces_id is not None):
            return taken(visit)
        first, last = (rows, []) if at is None else (rows[:at], rows[at + 1 :])
        if isinstance(made, Reading):
            return replace(self, readings=[*first, made, *last])
        return replace(self, cells=[*first, _cell_row(made), *last])


def _cell_row(cell: Cell) -> Any:
    """Return what is asked of each cell, of one at hand."""
    entries = {name: getattr(cell, name) for name in CELL if name not in ("sweep", "entered_by__name")}
    row: Any = create_namedtuple_class(*CELL)
    return row(sweep=cell.sweep_id, entered_by__name=cell.entered_by.name, **entries)


def _readings(visit: Visit) -> QuerySet[Any]:
    return standing(Reading).filter(visit=visit).select_related("gauge", "entered_by")


def _cells(sweeps: Iterable[Any]) -> QuerySet[Any]:
    return standing(Cell).filter(sweep__in=sweeps).values_list(*CELL, named=True)


def taken(visit: Visit) -> Taken:
    """Return readings and sweeps that count."""
    sweeps: list[Sweep] = list(visit.sweeps.filter(withdrawn_at__isnull=True).select_related("gauge").order_by("pk"))
    return Taken(list(_readings(visit)), sweeps, list(_cells(sweeps)) if sweeps else [])


def _grinder(visit: Visit) -> Table:
    if visit.grinder is None:
        return {}
    learnt = visit.grinder.learnt.filter(at__lt=visit.opened_at).order_by("-at", "-pk").first()
    return {"name": visit.grinder.name, **visit.grinder.spec, **(learnt.spec if learnt else {})}


def _hours(visit: Visit) -> Any:
    entry = HoursEntry.objects.filter(visit=visit).first()
    return None if entry is None else entry.hours


def single_tables(visit: Visit) -> dict[str, Table]:
    """Return the tables that stand once, from the records alone: without the visit's own entries, without a plan."""
    workshop = this_workshop()
    position = visit.unit.position
    knife = {**visit.unit.carrier, **((visit.knife.type.spec | visit.knife.spec) if visit.knife else {})}
    told = {
        "vocabulary": workshop.vocabulary if workshop else None,
        "units": workshop.units if workshop else None,
        "paper_size": workshop.paper_size if workshop else None,
        "demonstration": (workshop is not None and workshop.demonstration) or None,
    }
    unit = {
        "name": visit.unit.name,
        "machine": position.machine.name if position else None,
        "position": (position.name or None) if position else None,
        "hours": _hours(visit),
        "complaint": visit.complaint,
        "pattern": visit.unit.pattern,
    }
    wanted = visit.wanted if visit.wanted is not None else (workshop.wanted if workshop else {})
    return {
        "visit": given({"date": visit.date, "technician": visit.technician, "notes": visit.notes, **told}),
        "unit": given(unit),
        "reel": given({**visit.reel.type.spec, **visit.reel.spec}),
        "knife": knife,
        "height": visit.unit.height,
        "mowing": visit.unit.mowing,
        "grinder": _grinder(visit),
        "wanted": wanted,
    }


def earlier_rows(visit: Visit) -> list[Table]:
    """Return [[earlier]], oldest first: a file's own, else those of the signed visits before; two queries at most.

    Read as left in a visit with work on the bearings, they count as fresh. A pull comes with the reel's
    diameter in that visit.
    """
    if "earlier" in visit.own:
        return list(visit.own["earlier"])
    pulls = standing(Reading).filter(visit=OuterRef("visit"), of="drag", value__isnull=False)
    read = (
        standing(Reading)
        .filter(
            _before(visit), Q(of__in=BEARING) | Q(Exists(pulls), of="diameter"), visit__unit=visit.unit_id,
            visit__reel=visit.reel_id, visit__state=SIGNED, visit__corrected_by=None, value__isnull=False,
        )
        .exclude(visit__in=[pk for pk in (visit.pk, visit.corrects_id) if pk is not None])
        .select_related("gauge", "visit")
        .order_by("-visit__date", "-visit_id", "-pk")
    )  # fmt: skip
    latest = list(read[:MOST_EARLIER])[::-1]
    left = {reading.visit_id for reading in latest if reading.when == "as left" and reading.of != "diameter"}
    worked = set()
    if left:
        worked = visits_with_work(left, ("bearings",))
    return [_earlier_row(reading, fresh=reading.when == "as left" and reading.visit_id in worked) for reading in latest]


def _before(visit: Visit) -> Q:
    if visit.date is None:
        return Q(visit__lt=visit.pk)
    return Q(visit__date__lt=visit.date) | Q(visit__date=visit.date, visit__lt=visit.pk)


def visits_with_work(visits: Iterable[int], steps: Iterable[str]) -> set[int]:
    """Return which of these visits had work of one of these steps; one query."""
    done = standing(WorkDone).filter(visit__in=visits).order_by().values_list("visit", "entry")
    wanted = set(steps)
    return {visit for visit, entry in done if entry["step"] in wanted}


def _earlier_row(reading: Reading, *, fresh: bool) -> Table:
    return given(
        {
            "of": reading.of,
            "at": reading.at,
            "value": reading.value,
            "gauge": None if reading.gauge is None else reading.gauge.name,
            "on": reading.visit.date,
            "when": reading.when,
            "fresh": fresh or None,
        }
    )


def _also_named(known: list[Table], rows: Iterable[Table]) -> list[Table]:
    """Return the gauges that these rows name and nobody uses any more."""
    names = {row["gauge"] for row in rows if "gauge" in row} - {row["id"] for row in known}
    return [gauge_row(gauge) for gauge in Gauge.objects.filter(name__in=names).order_by("pk")] if names else []


def besides(visit: Visit, choices: Mapping[str, Table] | None = None) -> dict[str, Any]:
    """Return the tables of a visit but for what was read during it; `choices` stand in for the plan kept last.

    Entering a reading changes none of them.
    """
    tables: dict[str, Any] = single_tables(visit)
    for name in SINGLE:
        tables[name] = given({**tables[name], **visit.own.get(name, {})})
    if choices is None:
        plan = visit.plans.order_by("-pk").first()
        choices = plan.choices if plan else {}
    for name, chosen in choices.items():
        tables[name] = given({**tables[name], **chosen})
    tables["limits"] = limit_rows(visit)
    tables["earlier"] = earlier_rows(visit)
    tables["gauges"] = gauge_rows(visit)
    tables["readings"], tables["sweeps"] = [], []
    tables["work"] = [entry.entry for entry in standing(WorkDone).filter(visit=visit)]
    tables["paper"] = [entry.entry for entry in standing(PaperProof).filter(visit=visit)]
    tables["sign_off"] = visit.own.get("sign_off", {})
    return tables


def with_read(tables: Mapping[str, Any], read: Taken) -> dict[str, Any]:
    """Return the tables of the whole visit: those of `besides`, what was read, and the gauges it was read with."""
    gauges = also_used(tables["gauges"], read.gauges)
    gauges += _also_named(gauges, tables["earlier"])
    return {**tables, "gauges": gauges, "readings": read.reading_rows(), "sweeps": read.sweep_rows()}


def visit_tables(visit: Visit, choices: Mapping[str, Table] | None = None) -> dict[str, Any]:
    """Return the tables of the whole visit from its records; `choices` stand in for the plan kept last."""
    return with_read(besides(visit, choices), taken(visit))


def signed_tables(visit: Visit) -> dict[str, Any]:
    """Return the tables of a signed visit: those of the file that was signed."""
    signed: dict[str, Any] = json.loads(visit.as_signed or "{}")
    return signed
