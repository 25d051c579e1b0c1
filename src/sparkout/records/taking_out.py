"""Everything in the records as tables: what can be brought in again, and what is only for reading."""

from __future__ import annotations

import json
import tempfile
from typing import IO, TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.interchange.targets import KINDS
from sparkout.interchange.writing import (
    ABOUT,
    LAYOUT,
    TableOut,
    for_reading,
    plain_tables,
    write_json,
    write_texts,
    write_workbook,
)
from sparkout.records.bringing.files import file_key, text_of
from sparkout.records.bringing.store import folder
from sparkout.records.models import (
    Attachment,
    Calibration,
    Event,
    Fitting,
    Gauge,
    Grinder,
    HistoryLine,
    HoursEntry,
    KeptSheet,
    Knife,
    KnifeType,
    Learnt,
    Limit,
    Machine,
    Person,
    Place,
    Reel,
    ReelType,
    SeasonPlan,
    Unit,
    Visit,
    Workshop,
)
from sparkout.records.models.visits import SET_ASIDE
from sparkout.records.operations.doing import now
from sparkout.records.tables import gauge_row, given, limit_row
from sparkout.season.placing import from_data
from sparkout.visit.reading import read_visit

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Iterator

    from sparkout.interchange.writing import Say
    from sparkout.units import System
    from sparkout.visit.schema import Visit as VisitFile

Row = dict[str, Any]
FORMS = ("xlsx", "zip", "json")
_PART = 30_000
"""A cell of a workbook takes 32,767 characters."""
_PLAN = (
    "what if", "made for", "kept", "job", "machine", "day", "due", "by hand", "fresh for", "who does what", "why late",
    "cost", "no plan below",
)  # fmt: skip
_ON_MACHINE = "unit__position__machine__name"


def tables() -> list[TableOut]:
    """Return every table, what is named before what names it; rows are read when they are asked for."""
    makers = {
        "place": _places, "person": _people, "machine": _machines, "reel type": _reel_types, "knife type": _knife_types,
        "gauge": _gauges, "calibration": _calibrations, "grinder": _grinders, "limit": _limits, "unit": _units,
        "reel": _reels, "knife": _knives, "fitting": _fittings, "hours": _hours, "event": _events,
        "visit file": _visit_files, "reading": _readings, "work": _work, "season sheet": _season_sheets,
    }  # fmt: skip
    made = [TableOut(KINDS[kind].sheet, KINDS[kind].fields, rows).without_empty() for kind, rows in makers.items()]
    return [
        for_reading(ABOUT, ("what", "is"), _about),
        *made,
        for_reading("learnt from grinds", ("grinder", "when", "figures"), _learnt),
        for_reading("files kept", ("unit", "visit", "name", "kind of file", "bytes", "sha256", "note"), _files),
        for_reading("season plans kept", _PLAN, _season_plans),
        for_reading("history", ("when", "who", "what", "of", "before", "after"), _history),
        for_reading("left out", ("visit", "why"), _left_out),
    ]


def taken_out(form: str, system: System = "mm", say: Say = str, decimal: str = ".") -> IO[bytes]:
    """Return everything as a passing file, open at its beginning; it is gone when closed.

    Raises
    ------
    Refusal
        When there is no such form, or no room for the file.
    """
    if form not in FORMS:
        raise Refusal(phrase("'{form}' is no form to take things out in; allowed: xlsx, zip, json", form=AsTyped(form)))
    try:
        folder().mkdir(parents=True, exist_ok=True)
        made = tempfile.TemporaryFile(dir=folder())  # noqa: SIM115 - whoever asked closes it
        if form == "xlsx":
            write_workbook(made, plain_tables(tables(), system, say))
        elif form == "zip":
            write_texts(made, plain_tables(tables(), system, say), decimal)
        else:
            write_json(made, (t for t in tables() if t.sheet != ABOUT), {ABOUT: {r["what"]: r["is"] for r in _about()}})
    except OSError as error:
        raise Refusal(
            phrase("the tables could not be written: {why}", why=AsTyped(error.strerror or str(error)))
        ) from None
    made.seek(0)
    return made


def _about() -> Iterator[Row]:
    workshop = Workshop.objects.first()
    yield {"what": "made by", "is": f"Sparkout, layout {LAYOUT}"}
    yield {"what": "workshop", "is": workshop.name if workshop else ""}
    yield {"what": "taken out", "is": now().isoformat(timespec="minutes")}
    if workshop is not None and workshop.demonstration:
        yield {"what": "demonstration", "is": "units, people and readings are invented"}
    yield {"what": "visits", "is": "whole in 'visit files'; 'readings' and 'work done' tell the same for reading"}
    yield {"what": "for reading only", "is": "learnt from grinds, files kept, season plans kept, history"}
    if SeasonPlan.objects.exclude(kept_at=None).exists():
        why = (
            "a plan is of the day it was made: bring in the season sheets, which hold what was chosen by hand, and plan"
        )
        yield {"what": "season plans", "is": why}


def _places() -> Iterator[Row]:
    for name, ended in Place.objects.order_by("pk").values_list("name", "ended_on"):
        yield {"name": name, "ended_on": ended}


def _people() -> Iterator[Row]:
    for row in Person.objects.order_by("pk").values(
        "name", "units", "vocabulary", "decimal", "language", "active", "ended_on"
    ):
        yield dict(row)


def _machines() -> Iterator[Row]:
    for name, place, ended in Machine.objects.order_by("pk").values_list("name", "place__name", "ended_on"):
        yield {"name": name, "place": place, "ended_on": ended}


def _reel_types() -> Iterator[Row]:
    for name, spec, ended in ReelType.objects.order_by("pk").values_list("name", "spec", "ended_on"):
        yield {**spec, "name": name, "ended_on": ended}


def _knife_types() -> Iterator[Row]:
    for name, spec, ended in KnifeType.objects.order_by("pk").values_list("name", "spec", "ended_on"):
        yield {**spec, "name": name, "ended_on": ended}


def _gauges() -> Iterator[Row]:
    for gauge in Gauge.objects.order_by("pk"):
        yield {**gauge_row(gauge), "retired": gauge.retired or None, "ended_on": gauge.ended_on}


def _grinders() -> Iterator[Row]:
    for grinder in Grinder.objects.order_by("pk"):
        yield {**grinder.spec, "name": grinder.name, "retired": grinder.retired or None, "ended_on": grinder.ended_on}


def _calibrations() -> Iterator[Row]:
    for done in Calibration.objects.select_related("gauge").order_by("on", "pk"):
        figures = "; ".join(f"{key.replace('_', ' ')} {value}" for key, value in done.figures.items())
        lines = "; ".join(f"{line['at']}: {line['error']}" for line in done.lines)
        told = {"certificate": done.certificate or None, "by": done.by or None, "due": done.due}
        yield {"gauge": done.gauge.name, "on": done.on, **told, "figures": figures or None, "lines": lines or None}


def _limits() -> Iterator[Row]:
    for limit in Limit.objects.filter(ended_at=None).select_related("reel_type", "knife_type").order_by("pk"):
        types = {
            "reel_type": limit.reel_type and limit.reel_type.name,
            "knife_type": limit.knife_type and limit.knife_type.name,
        }
        yield {**limit_row(limit), **types}


def _units() -> Iterator[Row]:
    for unit in Unit.objects.select_related("position__machine").order_by("pk").iterator():
        row: Row = {
            "name": unit.name,
            "pattern": unit.pattern,
            "active": None if unit.active else False,
            "ended_on": unit.ended_on,
        }
        if unit.position is not None:
            row |= {"machine": unit.position.machine.name, "position": unit.position.name or None}
        for table in ("carrier", "height", "mowing"):
            row |= {f"{table}.{key}": value for key, value in getattr(unit, table).items()}
        yield row


def _parts(model: Any) -> Iterator[Row]:
    for part in model.objects.select_related("type").order_by("pk").iterator():
        yield {**part.spec, "label": part.label, "type": part.type.name, "scrapped_on": part.scrapped_on}


def _reels() -> Iterator[Row]:
    yield from _parts(Reel)


def _knives() -> Iterator[Row]:
    yield from _parts(Knife)


def _fittings() -> Iterator[Row]:
    rows = Fitting.objects.order_by("since", "pk").values_list(
        _ON_MACHINE, "unit__name", "reel__label", "knife__label", "since", "since_hours", "until", "until_hours"
    )
    for machine, unit, reel, knife, since, hours, until, until_hours in rows.iterator():
        part = {"part": "reel" if reel is not None else "knife", "label": reel if reel is not None else knife}
        then = {"since": since, "hours": hours, "until": until, "until_hours": until_hours}
        yield {"machine": machine, "unit": unit, **part, **then}


def _hours() -> Iterator[Row]:
    """Yield hours read between visits; those of a visit travel with it."""
    rows = (
        HoursEntry.objects.filter(visit=None)
        .order_by("on", "pk")
        .values_list(_ON_MACHINE, "unit__name", "on", "hours", "area")
    )
    for machine, unit, on, hours, area in rows.iterator():
        yield {"machine": machine, "unit": unit, "on": on, "hours": hours, "area": area}


def _events() -> Iterator[Row]:
    rows = Event.objects.order_by("on", "pk").values_list(
        "kind", "on", "place__name", "machine__name", _ON_MACHINE, "unit__name", "note"
    )
    for kind, on, place, machine, on_machine, unit, note in rows.iterator():
        where = {"place": place, "machine": on_machine if unit else machine, "unit": unit}
        yield {"kind": kind, "on": on, **where, "note": note or None}


def _visits() -> Iterable[Visit]:
    related = ("unit__position__machine", "reel", "knife", "corrects")
    return Visit.objects.select_related(*related).order_by("pk").iterator(chunk_size=200)


def _where(visit: Visit) -> Row:
    position = visit.unit.position
    return {"machine": position.machine.name if position else None, "unit": visit.unit.name, "date": visit.date}


def _text(visit: Visit) -> str | None:
    """Return a visit's file, or nothing when its records contradict each other ('left out' tells it)."""
    try:
        return text_of(visit)
    except Refusal:
        return None


def _visit_files() -> Iterator[Row]:
    for visit in sorted(_visits_pks(), key=lambda pk_open: pk_open[1]):
        found = Visit.objects.select_related("unit__position__machine", "reel", "knife", "corrects").get(pk=visit[0])
        text = _text(found)
        if text is None:
            continue
        short = json.dumps(json.loads(text), ensure_ascii=False, separators=(",", ":"))
        corrected = _text(found.corrects) if found.corrects is not None else None
        yield {
            **_where(found),
            "state": found.state,
            "key": file_key(text),
            "corrects": None if corrected is None else file_key(corrected),
            "reel": found.reel.label,
            "knife": found.knife.label if found.knife else None,
            **_in_parts("file", short),
        }


def _visits_pks() -> list[tuple[int, bool]]:
    """Return the visits, open ones last: a unit has one open visit, which comes after what was set aside."""
    return [(pk, state == "open") for pk, state in Visit.objects.order_by("pk").values_list("pk", "state")]


def _files_of_visits() -> Iterator[tuple[Visit, VisitFile]]:
    for visit in _visits():
        if visit.state != SET_ASIDE and visit.date is not None and (text := _text(visit)) is not None:
            yield visit, read_visit(text)


def _head(visit: Visit, file: VisitFile) -> Row:
    hours = file.unit.hours
    return {
        **_where(visit),
        "technician": file.visit.technician,
        "hours": None if hours is None else hours.typed,
        "complaint": file.unit.complaint,
        "notes": file.visit.notes,
    }


def _readings() -> Iterator[Row]:
    for visit, file in _files_of_visits():
        head = _head(visit, file)
        for reading in file.all_readings:
            yield {**head, **given(reading.model_dump(mode="json")), "unit of value": ""}


def _work() -> Iterator[Row]:
    for visit, file in _files_of_visits():
        head = _head(visit, file)
        for step in file.work:
            yield {**head, **given(step.model_dump(mode="json"))}


def _season_sheets() -> Iterator[Row]:
    """Yield the sheets that hold, the workshop's own first; those before stay in the records and in the history."""
    for kept in KeptSheet.objects.filter(ended_at=None).order_by("what_if"):
        text = json.dumps(kept.tables, ensure_ascii=False, separators=(",", ":"))
        yield {"what_if": kept.what_if or None, **_in_parts("sheet", text)}


def _season_plans() -> Iterator[Row]:
    """Yield the plans that are kept, a row for each job."""
    kept = SeasonPlan.objects.filter(ended_at=None).exclude(kept_at=None).select_related("sheet").order_by("pk")
    for plan in kept:
        head = {"what if": plan.sheet.what_if or None, "made for": str(plan.on), "kept": _minute(plan.kept_at)}
        good = {"cost": f"{plan.cost:.6g}", "no plan below": f"{plan.bound:.6g}"}
        for one in map(from_data, plan.placements):
            who = "; ".join(f"{step.phase}: {step.who}, {step.grinder or 'bench'}" for step in one.doing)
            yield {
                **head, "job": one.job, "machine": one.machine, "day": str(one.on or "left undone"),
                "due": str(one.due), "by hand": "yes" if one.by_hand else None, "fresh for": one.fresh_for or None,
                "who does what": who or None, "why late": str(one.why) or None, **good,
            }  # fmt: skip


def _minute(at: datetime.datetime | None) -> str | None:
    return None if at is None else at.isoformat(timespec="minutes")


def _in_parts(name: str, text: str) -> Row:
    """Return a text in as many cells as it takes."""
    return {f"{name}.{n + 1}": text[n * _PART : (n + 1) * _PART] for n in range(-(-len(text) // _PART))}


def _learnt() -> Iterator[Row]:
    for learnt in Learnt.objects.select_related("grinder").order_by("pk"):
        figures = ", ".join(f"{key.replace('_', ' ')} {value}" for key, value in learnt.spec.items())
        yield {"grinder": learnt.grinder.name, "when": learnt.at.isoformat(timespec="minutes"), "figures": figures}


def _files() -> Iterator[Row]:
    for kept in Attachment.objects.select_related("unit", "visit").order_by("pk").iterator():
        yield {
            "unit": kept.unit.name, "visit": str(kept.visit.date or "") if kept.visit else None, "name": kept.name,
            "kind of file": kept.content_type, "bytes": str(kept.size), "sha256": kept.sha256, "note": kept.note,
        }  # fmt: skip


def _history() -> Iterator[Row]:
    for line in HistoryLine.objects.select_related("who").order_by("pk").iterator():
        yield {
            "when": line.at.isoformat(timespec="seconds"), "who": line.who.name, "what": line.action.replace("_", " "),
            "of": f"{line.subject}: {line.label}", "before": _short(line.before), "after": _short(line.after),
        }  # fmt: skip


def _short(content: Any) -> str | None:
    return None if content is None else json.dumps(content, ensure_ascii=False)[:2000]


def _left_out() -> Iterator[Row]:
    for visit in _visits():
        try:
            text_of(visit)
        except Refusal as refusal:
            yield {"visit": str(visit), "why": str(refusal)}
