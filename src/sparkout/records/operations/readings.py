"""Single readings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import Table, checked_row, checked_value, refuse
from sparkout.records.models import Gauge, Reading, Reel, ReelType, Visit
from sparkout.records.operations.doing import Conflict, Key, asking, operation
from sparkout.records.operations.entries import expected_current, made_entry, withdrawn
from sparkout.records.operations.visits import still_open
from sparkout.records.tables import READING_KEYS, gauge_rows, given, reading_row, reel_table, standing
from sparkout.records.worded import Worded
from sparkout.units import parse
from sparkout.visit.words import Clock, Where

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.records.models import Person


_PLACE = Where("a station")


_VISIT = Worded(Visit, Visit.objects.select_for_update().filter, "id")
_REEL = Worded(Reel, Reel.objects.filter, "id")
_REEL_TYPE = Worded(ReelType, ReelType.objects.filter, "id")


def with_reel(visit: int) -> Visit:
    """Return a visit, held, with its reel: what a reading is checked against."""
    held = _VISIT.one(id=visit)
    held.reel = _REEL.one(id=held.reel_id)
    held.reel.type = _REEL_TYPE.one(id=held.reel.type_id)
    return held


def surroundings(visit: Visit) -> dict[str, Any]:
    """Return the tables a reading has to agree with: the reel and the gauges."""
    return {"reel": reel_table(visit), "gauges": gauge_rows(visit)}


def gauge_of(row: Table, known: Mapping[str, Gauge] | None = None) -> Gauge | None:
    """Return the gauge a checked row names; `known` saves asking for each row of many.

    Raises
    ------
    Refusal
        When only the visit's file knows it.
    """
    if "gauge" not in row:
        return None
    name = row["gauge"]
    gauge = Gauge.objects.filter(name=name).first() if known is None else known.get(name)
    if gauge is None:
        raise refuse(
            "gauge",
            phrase("the workshop has no gauge '{name}'", name=AsTyped(row["gauge"])),
            suggestion=phrase("Enter it first."),
        )
    return gauge


def reading_columns(row: Table, known: Mapping[str, Gauge] | None = None) -> Table:
    """Return a checked row of [[readings]] as columns."""
    columns = {key: row.get(key) for key in READING_KEYS} | {"gauge": gauge_of(row, known)}
    if columns["time"] is not None:
        columns["time"] = checked_value("time", Clock("a time"), columns["time"])
    return columns


@operation
def record_reading(*, actor: Person, visit: Visit, key: Key, if_empty: bool = False, **reading: Any) -> Reading:
    """Record a reading: entries of the visit file's [[readings]], `gauge` by its id. The same key records once.

    A second reading at a place stands beside the first, and both count. `if_empty`: the page showed the place empty, so
    that a reading entered there meanwhile is not to be joined by this one unasked.

    Raises
    ------
    KeyUsed
        When the key came before with another reading.
    Conflict
        When `if_empty` and the place is taken: with both values.
    Refusal
        When the visit is closed, or an entry is wrong or contradicts the reel or the gauge.
    """
    words = _words(reading)
    ask = asking("record_reading", actor, key, words, visit=visit, reading=given(reading))
    if (done := ask.answered(Reading)) is not None:
        return done
    held = still_open(visit.pk, with_reel)
    row = checked_row("readings", reading, surroundings(held))
    if if_empty and (there := standing_at(held, row)) is not None:
        raise Conflict(str(there), there.shown, _words(reading), there)
    made = made_entry(Reading, ask, {"visit": held, **reading_columns(row)})
    ask.note(made, visit=held, after=row)
    return made


def x_of(visit: Visit, at: Any) -> float | None:
    """Return a place along the reel as typed, in mm from the left to a tenth."""
    return None if at is None else round(_PLACE.read(at).along(parse(reel_table(visit)["length"], "length", "mm")), 1)


def standing_at(visit: Visit, row: Table) -> Reading | None:
    """Return the first reading that stands at the place of a checked row; ask while the visit is held."""
    held = standing(Reading).filter(
        visit=visit,
        of=row["of"],
        when=row.get("when", "as found"),
        blade=row.get("blade"),
        which=row.get("which"),
    )
    wanted = _where(visit, row.get("at"), row.get("angle"))
    return next((entry for entry in held if _where(visit, entry.at, entry.angle) == wanted), None)


def _where(visit: Visit, at: Any, angle: Any) -> tuple[float | None, int | None]:
    """Return the place along the reel to a tenth of a mm, and the angle in whole degrees."""
    return x_of(visit, at), None if angle is None else round(math.degrees(parse(angle, "angle", "deg"))) % 360


@operation
def correct_reading(*, actor: Person, reading: Reading, expected_version: int, key: Key, **changes: Any) -> Reading:
    """Correct a reading: entries given change (None takes one away), the others stay; a new row replaces the old.

    `expected_version` is the version the page showed.

    Raises
    ------
    Conflict
        When it was corrected or withdrawn meanwhile: with both values.
    Refusal
        As `record_reading`.
    """
    ask = asking("correct_reading", actor, key, _words(changes), reading=reading, changes=changes)
    if (done := ask.answered(Reading)) is not None:
        return done
    held = still_open(reading.visit_id, with_reel)
    old = expected_current(Reading, reading, expected_version, _words(changes))
    before = reading_row(old)
    row = checked_row("readings", {**before, **changes}, surroundings(held))
    made = made_entry(Reading, ask, {"visit": held, **reading_columns(row)}, old)
    ask.note(made, visit=held, before=before, after=row)
    return made


@operation
def withdraw_reading(*, actor: Person, reading: Reading, expected_version: int, key: Key = None) -> Reading:
    """Withdraw a reading: it counts no longer, and stays on file.

    Raises
    ------
    Conflict
        When it was corrected or withdrawn meanwhile.
    Refusal
        When the visit is closed.
    """
    ask = asking("withdraw_reading", actor, key, "withdrawn", reading=reading)
    if (done := ask.answered(Reading)) is not None:
        return done
    held = still_open(reading.visit_id, with_reel)
    old = expected_current(Reading, reading, expected_version, "withdrawn")
    done = withdrawn(old, actor)
    ask.note(done, visit=held, before=reading_row(done))
    return done


def _words(reading: Table) -> str:
    value = reading.get("value")
    leaves = [f"{name.replace('_', ' ')} {reading[name]}" for name in ("goes", "does_not_go") if reading.get(name)]
    shown = ", ".join(leaves) if value is None else str(value)
    where = "" if reading.get("at") is None else f"at {reading['at']}"
    told = " ".join(filter(None, (str(reading.get("of") or ""), where)))
    return ": ".join(filter(None, (told, shown))) or ", ".join(reading)
