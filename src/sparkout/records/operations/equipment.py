"""Gauges, grinders and limits."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import Table, checked_row, checked_table, checked_value, refuse
from sparkout.records.models import Calibration, Gauge, Grinder, Learnt, Limit
from sparkout.records.operations.doing import Key, asking, now, operation, today
from sparkout.records.tables import gauge_row, given, limit_row
from sparkout.visit.asked import Quantity
from sparkout.visit.quantities import gauge_shows
from sparkout.visit.words import Day, Text

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Mapping

    from sparkout.records.models import KnifeType, Person, ReelType, Visit

LEARNT_KEYS = ("give", "give_uncertainty", "g_ratio", "g_ratio_uncertainty")


@operation
def add_gauge(*, actor: Person, key: Key = None, **entries: Any) -> Gauge:
    """Add a gauge: entries of the visit file's [[gauges]], of which id and kind are needed.

    Raises
    ------
    Refusal
        When an entry is wrong, or the id taken.
    """
    ask = asking("add_gauge", actor, key, str(entries.get("id")), **entries)
    if (done := ask.answered(Gauge)) is not None:
        return done
    row = checked_row("gauges", entries)
    if Gauge.objects.filter(name=row["id"]).exists():
        raise refuse("id", phrase("there is already a gauge '{name}'", name=AsTyped(row["id"])), value=row["id"])
    gauge = Gauge.objects.create(name=row["id"], **_gauge_columns(row))
    ask.note(gauge, after=row)
    return gauge


@operation
def change_gauge(*, actor: Person, gauge: Gauge, kind: str | None = None, key: Key = None, **figures: Any) -> Gauge:
    """Put what is on file of a gauge right: kind and all its figures; its calibrations and its name stay.

    Raises
    ------
    Refusal
        When an entry is wrong.
    """
    ask = asking("change_gauge", actor, key, gauge.name, gauge=gauge, kind=kind, **figures)
    if (done := ask.answered(Gauge)) is not None:
        return done
    before = gauge_row(gauge)
    row = checked_row(
        "gauges", {**figures, "id": gauge.name, "kind": kind or gauge.kind, "calibration_due": gauge.calibration_due}
    )
    for name, value in _gauge_columns(row).items():
        setattr(gauge, name, value)
    gauge.save()
    ask.note(gauge, before=before, after=row)
    return gauge


@operation
def calibrate_gauge(
    *,
    actor: Person,
    gauge: Gauge,
    due: datetime.date | str | None,
    on: datetime.date | str | None = None,
    certificate: str = "",
    by: str = "",
    lines: Iterable[Mapping[str, Any]] = (),
    key: Key = None,
    **figures: Any,
) -> Gauge:
    """Enter a calibration: when the next falls due, and the figures it found (those not given stay).

    `on`, `certificate`, `by` and `lines` ({"at": "125 mm", "error": "0.02 mm"}: shown less true) are the certificate's.

    Raises
    ------
    Refusal
        When an entry is wrong.
    """
    told_lines = [dict(line) for line in lines]
    certified = {"due": due, "on": on, "certificate": certificate, "by": by, "lines": told_lines}
    ask = asking("calibrate_gauge", actor, key, gauge.name, gauge=gauge, certified=certified, **figures)
    if (done := ask.answered(Gauge)) is not None:
        return done
    before = gauge_row(gauge)
    found = {name: value for name, value in figures.items() if value is not None}
    if figures.keys() & {"calibration_uncertainty"}:
        figures = {"expanded_uncertainty": None, "k": None, **figures}
    elif figures.keys() & {"expanded_uncertainty"}:
        figures = {"calibration_uncertainty": None, **figures}
    row = checked_row("gauges", {**before, **figures, "calibration_due": due})
    told = {
        "on": None if on is None else checked_value("on", Day("a day"), on),
        "certificate": checked_value(
            "certificate", Text(phrase("number of the certificate"), "", 100), certificate
        ).strip(),
        "by": checked_value("by", Text("who calibrated", "", 100), by).strip(),
        "lines": certificate_lines(gauge.kind, told_lines),
    }
    for name, value in _gauge_columns({**row, "id": gauge.name, "kind": gauge.kind}).items():
        setattr(gauge, name, value)
    gauge.save()
    Calibration.objects.create(gauge=gauge, due=gauge.calibration_due, figures=found, **told)
    ask.note(gauge, before=before, after={**row, **given(told)})
    return gauge


def certificate_lines(kind: str, lines: Iterable[Mapping[str, Any]]) -> list[Table]:
    """Return the lines of a certificate as they will be kept.

    Raises
    ------
    Refusal
        Naming the line, counted from 1, when it is no pair of quantities that the gauge shows.

    Examples
    --------
    >>> certificate_lines("tape", [{"at": "125 mm", "error": "-0.02 mm"}])
    [{'at': '125 mm', 'error': '-0.02 mm'}]
    """
    shows, unit, _ = gauge_shows(kind)
    asked = {
        "at": Quantity(phrase("where it was checked"), "125 mm", shows, 0, 10_000, unit),
        "error": Quantity("shown less true", "0.02 mm", shows, -100, 100, unit),
    }
    return [
        {name: checked_value(f"lines, line {i}, {name}", asked[name], line.get(name)).typed for name in asked}
        for i, line in enumerate(lines, 1)
    ]


@operation
def retire_gauge(*, actor: Person, gauge: Gauge, retired: bool = True, key: Key = None) -> Gauge:
    """Take a gauge out of use, or into use again; its readings stay."""
    ask = asking("retire_gauge", actor, key, gauge.name, gauge=gauge, retired=retired)
    if (done := ask.answered(Gauge)) is not None:
        return done
    before, gauge.retired = gauge.retired, retired
    gauge.ended_on = today() if retired else None
    gauge.save()
    ask.note(gauge, before={"retired": before}, after={"retired": retired})
    return gauge


def _gauge_columns(row: Table) -> Table:
    spec = {key: value for key, value in row.items() if key not in ("id", "kind", "calibration_due")}
    due = row.get("calibration_due")
    return {
        "kind": row["kind"],
        "spec": spec,
        "calibration_due": None if due is None else checked_value("calibration_due", Day("a day"), due),
    }


@operation
def add_grinder(*, actor: Person, name: str, key: Key = None, **spec: Any) -> Grinder:
    """Add a grinder: entries of [grinder].

    Raises
    ------
    Refusal
        When an entry is wrong, or the name taken.
    """
    ask = asking("add_grinder", actor, key, name, name=name, **spec)
    if (done := ask.answered(Grinder)) is not None:
        return done
    table = checked_table("grinder", {"name": name, **spec})
    told = table.pop("name")
    if not told.strip():
        raise refuse("name", phrase("a grinder needs a name"))
    if Grinder.objects.filter(name=told).exists():
        raise refuse("name", phrase("there is already a grinder '{name}'", name=AsTyped(told)), value=told)
    grinder = Grinder.objects.create(name=told, spec=table)
    ask.note(grinder, after=table)
    return grinder


@operation
def change_grinder(*, actor: Person, grinder: Grinder, key: Key = None, **changes: Any) -> Grinder:
    """Change entries of a grinder, such as a new wheel's diameter, or its name; None takes an entry away.

    Raises
    ------
    Refusal
        When an entry is wrong, or the name taken.
    """
    ask = asking("change_grinder", actor, key, ", ".join(changes), grinder=grinder, **changes)
    if (done := ask.answered(Grinder)) is not None:
        return done
    before = {"name": grinder.name, **grinder.spec}
    table = checked_table("grinder", {**before, **changes})
    told = table.pop("name", "").strip()
    if not told:
        raise refuse("name", phrase("a grinder needs a name"))
    if Grinder.objects.filter(name=told).exclude(pk=grinder.pk).exists():
        raise refuse("name", phrase("there is already a grinder '{name}'", name=AsTyped(told)), value=told)
    grinder.name, grinder.spec = told, table
    grinder.save()
    ask.note(grinder, before=before, after={"name": told, **table})
    return grinder


@operation
def record_learnt(
    *, actor: Person, grinder: Grinder, visit: Visit | None = None, key: Key = None, **learnt: Any
) -> Learnt:
    """Keep what a grinder taught: give and g_ratio with their uncertainties; they hold for visits opened afterwards.

    Raises
    ------
    Refusal
        When an entry is wrong.
    """
    ask = asking("record_learnt", actor, key, str(learnt), grinder=grinder, visit=visit, **learnt)
    if (done := ask.answered(Learnt)) is not None:
        return done
    strange = [name for name in learnt if name not in LEARNT_KEYS]
    if strange or not learnt:
        raise refuse(
            (strange or ["give"])[0], phrase("a grind teaches the grinder's figures"), allowed=", ".join(LEARNT_KEYS)
        )
    made = Learnt.objects.create(grinder=grinder, visit=visit, at=now(), spec=checked_table("grinder", learnt))
    ask.note(made, visit=visit, after=made.spec)
    return made


@operation
def set_limit(
    *,
    actor: Person,
    quantity: str,
    origin: str,
    reel_type: ReelType | None = None,
    knife_type: KnifeType | None = None,
    key: Key = None,
    **entries: Any,
) -> Limit:
    """Set a limit: at_least, at_most, risk, set_by (else the actor), on (else today); for everything or for one type.

    A limit on the same quantity for the same type ends with it, and stays on file.

    Raises
    ------
    Refusal
        When an entry is wrong or the origin is missing: a limit without one is nobody's.
    """
    content = {"quantity": quantity, "origin": origin, **entries}
    ask = asking(
        "set_limit", actor, key, f"{quantity}, {origin}", reel_type=reel_type, knife_type=knife_type, **content
    )
    if (done := ask.answered(Limit)) is not None:
        return done
    if not isinstance(origin, str) or not origin.strip():
        raise refuse(
            "origin",
            phrase("a limit needs its origin"),
            allowed=phrase("the house, practice, the machine's book, a standard"),
        )
    if reel_type is not None and knife_type is not None:
        raise refuse("knife_type", phrase("a limit holds for a type of reel or for a type of knife, not for both"))
    row = checked_row("limits", {"set_by": actor.name, "on": today(), **content})
    of_type = {"reel_type": reel_type, "knife_type": knife_type}
    old = Limit.objects.filter(quantity=row["quantity"], ended_at=None, **of_type).first()
    if old is not None:
        old.ended_at = now()
        old.save()
    columns = {**row, "on": checked_value("on", Day("a day"), row["on"])}
    limit = Limit.objects.create(**columns, **of_type)
    ask.note(limit, before=None if old is None else limit_row(old), after=row)
    return limit


@operation
def end_limit(*, actor: Person, limit: Limit, key: Key = None) -> Limit:
    """End a limit; it stays on file."""
    ask = asking("end_limit", actor, key, str(limit), limit=limit)
    if (done := ask.answered(Limit)) is not None:
        return done
    limit.ended_at = limit.ended_at or now()
    limit.save()
    ask.note(limit, before=limit_row(limit))
    return limit
