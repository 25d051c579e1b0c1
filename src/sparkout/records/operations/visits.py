"""Opening, describing, signing and correcting a visit."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

from sparkout.core.days import dated
from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import checked_table, checked_value, refuse
from sparkout.records.models import Fitting, Grinder, HoursEntry, Visit
from sparkout.records.models.visits import OPEN, SET_ASIDE, SIGNED
from sparkout.records.operations.doing import Conflict, Key, asking, now, operation, today
from sparkout.records.tables import WHOLE_VISIT, visit_tables, whole_visit
from sparkout.visit.checking import checked
from sparkout.visit.words import Day, Text
from sparkout.visit.writing import to_json

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable

    from sparkout.records.models import Person, Unit

DESCRIBING = ("date", "technician", "complaint", "notes", "wanted", "grinder", "hours")
_DAY = Day("a day", "2026-11-25")


def _whole(visit: int) -> Visit:
    found: Visit = Visit.objects.select_related(*WHOLE_VISIT).select_for_update(of=("self",)).get(pk=visit)
    return found


def still_open(visit: int, look_up: Callable[[int], Visit] = _whole) -> Visit:
    """Return the visit of this number as it stands now, held until the operation ends, when entries may still be made.

    With everything about it that stands once, which most entries are checked against, unless `look_up` has less.

    Raises
    ------
    Refusal
        When it is signed or set aside.
    """
    held = look_up(visit)
    if held.state == SIGNED:
        raise refuse(
            "visit",
            phrase(
                "this visit was signed by {person} on {day} and is closed",
                person=held.signed_by,
                day=dated(held.signed_on) if held.signed_on else phrase("an unknown day"),
            ),
            suggestion=phrase("A correction is a new visit that names this one."),
        )
    if held.state == SET_ASIDE:
        raise refuse("visit", phrase("this visit was set aside"), suggestion=phrase("Open a new one."))
    return held


def refuse_second_visit(unit: Unit) -> None:
    """Refuse when the unit has an open visit: one unit lies on one bench.

    Raises
    ------
    Refusal
        Naming the open visit.
    """
    other = Visit.objects.filter(unit=unit, state=OPEN).first()
    if other is not None:
        raise refuse(
            "unit",
            phrase("{unit} has an open visit of {day}", unit=unit, day=other.date or phrase("an unknown day")),
            suggestion=phrase("Go on with it, sign it, or set it aside."),
        )


@operation
def open_visit(
    *,
    actor: Person,
    unit: Unit,
    date: datetime.date | None = None,
    technician: str | None = None,
    complaint: str | None = None,
    notes: str | None = None,
    hours: str | float | None = None,
    grinder: Grinder | None = None,
    key: Key = None,
) -> Visit:
    """Take a unit in. Date is else today, technician else the actor, grinder else the workshop's only one.

    Raises
    ------
    Refusal
        When the unit has an open visit or holds no reel, or an entry is wrong.
    """
    ask = asking(
        "open_visit", actor, key, str(unit),
        unit=unit, date=date, technician=technician, complaint=complaint, notes=notes, hours=hours, grinder=grinder,
    )  # fmt: skip
    if (done := ask.answered(Visit)) is not None:
        return done
    refuse_second_visit(unit)
    fitted = {name: _fitted(unit, name) for name in ("reel", "knife")}
    if fitted["reel"] is None:
        raise refuse("reel", phrase("{unit} holds no reel", unit=unit), suggestion=phrase("Fit one first."))
    entries = _checked_description(
        {"date": date or today(), "technician": technician or actor.name, "complaint": complaint, "notes": notes}
    )
    visit = Visit.objects.create(
        unit=unit, **fitted, **entries, grinder=grinder or _only_grinder(), opened_at=now(), opened_by=actor
    )
    if hours is not None:
        enter_hours(visit, hours)
    ask.note(visit, visit=visit, after={**entries, "hours": hours})
    return visit


def _fitted(unit: Unit, name: str) -> Any:
    fitting = Fitting.objects.filter(unit=unit, until=None, **{f"{name}__isnull": False}).first()
    return fitting and fitting.part


def _only_grinder() -> Grinder | None:
    found = list(Grinder.objects.filter(retired=False)[:2])
    return found[0] if len(found) == 1 else None


def _checked_description(entries: dict[str, Any]) -> dict[str, Any]:
    """Return date, technician, complaint, notes, wanted as they will be kept; None stays None."""
    found = dict(entries)
    own = {key: found[key] for key in ("date", "technician", "notes") if found.get(key) is not None}
    found |= checked_table("visit", own)
    if found.get("date") is not None:
        found["date"] = checked_value("date", _DAY, found["date"])
    if found.get("complaint") is not None:
        found["complaint"] = checked_table("unit", {"name": "?", "complaint": found["complaint"]})["complaint"]
    if found.get("wanted") is not None:
        found["wanted"] = checked_table("wanted", found["wanted"])
    return found


def enter_hours(visit: Visit, hours: object) -> None:
    """Enter the unit's clock as read at this visit; None takes it away."""
    before = HoursEntry.objects.filter(visit=visit).first()
    if hours is None:
        if before is not None:
            before.delete()
        return
    typed = checked_table("unit", {"name": "?", "hours": hours})["hours"]
    entry = before or HoursEntry(visit=visit, unit=visit.unit)
    entry.hours, entry.on = typed, visit.date
    entry.save()


@operation
def revise_visit(
    *, actor: Person, visit: Visit, expected: dict[str, Any] | None = None, key: Key = None, **changes: Any
) -> Visit:
    """Change date, technician, complaint, notes, hours, grinder or wanted of an open visit.

    `expected` holds, for keys in `changes`, what the page showed before.

    Raises
    ------
    Conflict
        When something expected stands otherwise now.
    Refusal
        When the visit is closed or an entry is wrong.
    """
    ask = asking("revise_visit", actor, key, ", ".join(changes), visit=visit, **changes)
    if (done := ask.answered(Visit)) is not None:
        return done
    held = still_open(visit.pk)
    strange = [name for name in changes if name not in DESCRIBING]
    if strange:
        raise refuse(
            strange[0], phrase("there is no '{key}' to change", key=AsTyped(strange[0])), allowed=", ".join(DESCRIBING)
        )
    before = {name: _described(held, name) for name in changes}
    for name, shown in (expected or {}).items():
        if name in before and str(before[name] or "") not in (str(shown or ""), str(changes[name] or "")):
            raise Conflict(phrase("the visit's {name}", name=name), str(before[name]), str(changes[name]), held)
    entries = _checked_description({name: value for name, value in changes.items() if name != "hours"})
    for name, value in entries.items():
        setattr(held, name, value)
    held.save()
    if "hours" in changes or ("date" in changes and before["date"] is not None):
        enter_hours(held, changes.get("hours", _described(held, "hours")))
    ask.note(held, visit=held, before=before, after=changes)
    return held


def _described(visit: Visit, name: str) -> Any:
    if name == "hours":
        entry = HoursEntry.objects.filter(visit=visit).first()
        return None if entry is None else entry.hours
    return getattr(visit, name)


@operation
def sign_visit(
    *,
    actor: Person,
    visit: Visit,
    statement: str | None = None,
    name: str | None = None,
    on: datetime.date | None = None,
    key: Key = None,
) -> Visit:
    """Sign a visit: it is closed, and its file is kept as it stands. Name is else the actor's, day else today.

    Raises
    ------
    Refusal
        When it is closed already, an entry is wrong, or the visit contradicts itself.
    """
    ask = asking("sign_visit", actor, key, str(visit), visit=visit, statement=statement, name=name, on=on)
    if (done := ask.answered(Visit)) is not None:
        return done
    held = still_open(visit.pk)
    signed = checked_table("sign_off", {"name": name or actor.name, "date": on or today(), "statement": statement})
    whole = checked({**visit_tables(held), "sign_off": signed}, lambda _: None)
    held.as_signed = to_json(whole)
    held.state, held.signed_at = SIGNED, now()
    held.signed_by, held.signed_on = whole.sign_off.name, whole.sign_off.date
    held.statement = whole.sign_off.statement
    held.save()
    ask.note(held, visit=held, after=signed)
    return held


@operation
def set_aside_visit(*, actor: Person, visit: Visit, reason: str, key: Key = None) -> Visit:
    """Set an open visit aside, as one opened by mistake; what was entered stays on file.

    Raises
    ------
    Refusal
        When it is closed already, or no reason is given.
    """
    ask = asking("set_aside_visit", actor, key, str(visit), visit=visit, reason=reason)
    if (done := ask.answered(Visit)) is not None:
        return done
    held = still_open(visit.pk)
    told = checked_value("reason", Text("why", "", 500, 1), reason)
    held.state = SET_ASIDE
    held.save()
    ask.note(held, visit=held, after={"reason": told})
    return held


@operation
def correct_signed_visit(*, actor: Person, visit: Visit, reason: str, key: Key = None) -> Visit:
    """Open a visit that corrects a signed one: it starts with all that was signed, and names what it corrects.

    Raises
    ------
    Refusal
        When the visit is not signed, is corrected already, or the unit has an open visit.
    """
    from sparkout.records.exchange import enter_file
    from sparkout.records.queries import visit_file

    ask = asking("correct_signed_visit", actor, key, str(visit), visit=visit, reason=reason)
    if (done := ask.answered(Visit)) is not None:
        return done
    told = checked_value("reason", Text("why", "", 500, 1), reason)
    signed = whole_visit(visit.pk)
    if signed.state != SIGNED:
        raise refuse("visit", phrase("this visit is not signed: correct its entries themselves"))
    later = Visit.objects.filter(corrects=signed).first()
    if later is not None:
        raise refuse("visit", phrase("this visit is corrected already, by the visit of {day}", day=later.date))
    refuse_second_visit(signed.unit)
    tables = json.loads(to_json(visit_file(signed)))
    tables.pop("sign_off", None)
    made = enter_file(
        checked(tables, lambda _: None),
        actor,
        signed.unit,
        {"reel": signed.reel, "knife": signed.knife, "grinder": signed.grinder, "corrects": signed},
    )
    ask.note(made, visit=made, after={"corrects": signed.pk, "reason": told})
    return made
