"""A visit file into the records. Back again is `queries.visit_file`: nothing is lost between."""

from __future__ import annotations

import json
import uuid
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import BLADE_KEYS, CARRIER_KEYS, Table, refuse
from sparkout.records.models import (
    Fitting,
    Gauge,
    Grinder,
    HoursEntry,
    Knife,
    KnifeType,
    Machine,
    PaperProof,
    Reading,
    Reel,
    ReelType,
    Unit,
    Visit,
    WorkDone,
)
from sparkout.records.models.visits import SET_ASIDE, SIGNED
from sparkout.records.operations.doing import asking, now, operation, today
from sparkout.records.operations.entries import bulk_entries, of_visit
from sparkout.records.operations.equipment import add_gauge, add_grinder
from sparkout.records.operations.parts import (
    add_knife,
    add_knife_type,
    add_reel,
    add_reel_type,
    fit_knife,
    fit_reel,
)
from sparkout.records.operations.readings import reading_columns
from sparkout.records.operations.sweeps import made_sweep
from sparkout.records.operations.units import add_machine, add_unit
from sparkout.records.operations.visits import refuse_second_visit
from sparkout.records.tables import SINGLE, earlier_rows, gauge_rows, limit_rows, single_tables, whole_visit
from sparkout.visit.writing import to_json

if TYPE_CHECKING:
    from sparkout.records.models import Person
    from sparkout.visit.schema import Visit as VisitFile


_FILES = uuid.UUID("5e9c8a34-2b7d-4f10-9d0e-6c1f3a7b8d25")
"""Name space of the keys of files, which are made from their content."""


@operation
def visit_from_file(visit: VisitFile, actor: Person, unit: Unit | None = None) -> Visit:
    """Enter a visit that came in a file; unit, reel, knife, gauges and grinder are found by name or made.

    What the file says otherwise than the records stays the visit's own; limits of a file never become the workshop's.
    A signed file is entered signed. The same file is entered once, unless it was set aside or
    is meant for another unit.

    Raises
    ------
    Refusal
        When the file is not signed and the unit has an open visit.
    """
    text = to_json(visit)
    ask = asking("visit_from_file", actor, uuid.uuid5(_FILES, text), visit.unit.name, file=text)
    if (done := ask.answered(Visit)) is not None:
        if done.state != SET_ASIDE and unit in (None, done.unit):
            return done
        ask = asking("visit_from_file", actor, None, visit.unit.name)
    tables = _as_tables(visit)
    found = unit or _unit(tables["unit"], tables, actor)
    parts = {
        "reel": _reel(found, tables["reel"], actor),
        "knife": _knife(found, tables["knife"], actor),
        "grinder": _grinder(tables["grinder"], actor),
    }
    if visit.sign_off.name is None:
        refuse_second_visit(found)
    made = enter_file(visit, actor, found, parts)
    ask.note(made, visit=made, after={"unit": str(found)})
    return made


def enter_file(visit: VisitFile, actor: Person, unit: Unit, standing: dict[str, Any]) -> Visit:
    """Enter the visit itself; `standing` are reel, knife, grinder and what it corrects."""
    tables = _as_tables(visit)
    known = set(Gauge.objects.values_list("name", flat=True))
    for row in tables["gauges"]:
        if row["id"] not in known:
            add_gauge(actor=actor, **row)
    signed: dict[str, Any] = {}
    if visit.sign_off.name is not None:
        told = visit.sign_off
        signed = {"state": SIGNED, "signed_by": told.name, "signed_on": told.date, "statement": told.statement}
        signed |= {"as_signed": to_json(visit), "signed_at": now()}
    made = Visit.objects.create(
        unit=unit,
        **standing,
        **signed,
        date=visit.visit.date,
        technician=visit.visit.technician,
        notes=visit.visit.notes,
        complaint=visit.unit.complaint,
        wanted=tables["wanted"],
        opened_at=now(),
        opened_by=actor,
    )
    if "hours" in tables["unit"]:
        HoursEntry.objects.create(unit=unit, visit=made, on=visit.visit.date, hours=tables["unit"]["hours"])
    _enter_rows(made, tables, actor)
    made.own = _own(whole_visit(made.pk), tables)
    made.save()
    return made


def _as_tables(visit: VisitFile) -> dict[str, Any]:
    tables: dict[str, Any] = json.loads(json.dumps(visit.model_dump(mode="json", exclude_none=True)))
    return tables


def _enter_rows(visit: Visit, tables: dict[str, Any], actor: Person) -> None:
    gauges = {gauge.name: gauge for gauge in Gauge.objects.all()}
    readings = ({"visit": visit, **reading_columns(row, gauges)} for row in tables["readings"])
    bulk_entries(Reading, actor, readings)
    for row in tables["sweeps"]:
        made_sweep(visit, row, actor)
    bulk_entries(WorkDone, actor, (of_visit(row, visit) for row in tables["work"]))
    bulk_entries(PaperProof, actor, (of_visit(row, visit) for row in tables["paper"]))


def _own(visit: Visit, tables: dict[str, Any]) -> dict[str, Any]:
    """Return what the file says otherwise than the records: of single tables the keys, of lists the whole list."""
    own: dict[str, Any] = {}
    for name, on_file in single_tables(visit).items():
        if name in SINGLE and (differing := _differing(_plain(on_file), tables[name])):
            own[name] = differing
    on_records = {"limits": limit_rows(visit), "gauges": gauge_rows(visit), "earlier": earlier_rows(visit)}
    for name, rows in on_records.items():
        if _in_order(_plain(rows)) != _in_order(tables[name]):
            own[name] = tables[name]
    if tables["sign_off"] and visit.state != SIGNED:
        own["sign_off"] = tables["sign_off"]
    return own


def _differing(on_file: Table, told: Table) -> Table:
    keys = [*told, *(key for key in on_file if key not in told)]
    return {key: told.get(key) for key in keys if _exact(told.get(key)) != _exact(on_file.get(key))}


def _exact(value: Any) -> str:
    return json.dumps(value, sort_keys=True)


def _in_order(rows: list[Table]) -> list[str]:
    return sorted(map(_exact, rows))


def _plain(content: Any) -> Any:
    return json.loads(json.dumps(content, default=str))


def _unit(table: Table, tables: dict[str, Any], actor: Person) -> Unit:
    known = Unit.objects.filter(name=table["name"])
    if "machine" in table:
        known = known.filter(position__machine__name=table["machine"].strip())
    found = list(known[:2])
    if len(found) > 1:
        raise refuse(
            "unit",
            phrase("there are several units called '{name}'", name=AsTyped(table["name"])),
            suggestion=phrase("Say which machine."),
        )
    if found:
        return found[0]
    machine = None
    if table.get("machine", "").strip():
        name = table["machine"].strip()
        machine = Machine.objects.filter(name=name).first() or add_machine(actor=actor, name=name)
    return add_unit(
        actor=actor,
        name=table["name"],
        machine=machine,
        position=_free(machine, table.get("position", "").strip()),
        pattern=table.get("pattern"),
        carrier={key: value for key, value in tables["knife"].items() if key in CARRIER_KEYS},
        height=tables["height"],
        mowing=tables["mowing"],
    )


def _free(machine: Machine | None, position: str) -> str:
    """Return the position when no other unit sits there, else none: the file's own words stay with the visit."""
    taken = machine is not None and Unit.objects.filter(position__machine=machine, position__name=position).exists()
    return "" if taken else position


def _fitted(unit: Unit, name: str) -> Fitting | None:
    return Fitting.objects.filter(unit=unit, until=None, **{f"{name}__isnull": False}).first()


def _reel(unit: Unit, table: Table, actor: Person) -> Reel:
    fitted = _fitted(unit, "reel")
    if fitted is not None and fitted.reel is not None:
        return fitted.reel
    spec = {key: value for key, value in table.items() if key != "marked_blade"}
    kind = next((known for known in ReelType.objects.order_by("pk") if known.spec == spec), None)
    if kind is None:
        name = f"{table['blades']} blades, {table['diameter']} × {table['length']}"
        kind = add_reel_type(actor=actor, name=_unused(ReelType, "name", name), spec=spec)
    label = _unused(Reel, "label", f"reel of {unit.name}")
    reel = add_reel(actor=actor, part_type=kind, label=label, spec={"marked_blade": table.get("marked_blade")})
    fit_reel(actor=actor, unit=unit, reel=reel, on=today())
    return reel


def _knife(unit: Unit, table: Table, actor: Person) -> Knife | None:
    fitted = _fitted(unit, "knife")
    if fitted is not None:
        return fitted.knife
    spec = {key: value for key, value in table.items() if key in BLADE_KEYS}
    if not spec:
        return None
    kind = next((known for known in KnifeType.objects.order_by("pk") if known.spec == spec), None)
    if kind is None:
        kind = add_knife_type(actor=actor, name=_unused(KnifeType, "name", f"knife of {unit.name}"), spec=spec)
    knife = add_knife(actor=actor, part_type=kind, label=_unused(Knife, "label", f"knife of {unit.name}"))
    fit_knife(actor=actor, unit=unit, knife=knife, on=today())
    return knife


def _grinder(table: Table, actor: Person) -> Grinder | None:
    name = table.get("name", "")
    if not name.strip():
        return None
    return Grinder.objects.filter(name=name).first() or add_grinder(actor=actor, **table)


def _unused(kind: type[Any], column: str, name: str) -> str:
    """Return the name, with a number behind it when it is taken."""
    wanted, number = name[:90], 1
    while kind.objects.filter(**{column: wanted}).exists():
        number += 1
        wanted = f"{name[:90]} ({number})"
    return wanted
