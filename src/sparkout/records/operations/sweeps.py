"""Sweeps: a grid of readings on one set-up, entered whole or cell by cell."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.records.checked import Table, checked_row, checked_value, refuse
from sparkout.records.models import Cell, Sweep
from sparkout.records.operations.doing import Conflict, Key, asking, now, operation
from sparkout.records.operations.entries import as_expected, bulk_entries, expected_current, made_entry, withdrawn
from sparkout.records.operations.readings import gauge_of, surroundings, with_reel, x_of
from sparkout.records.operations.visits import still_open
from sparkout.records.tables import SWEEP_KEYS, given, sweep_row
from sparkout.records.worded import Worded
from sparkout.visit.words import Clock, Whole

if TYPE_CHECKING:
    from sparkout.records.models import Person, Visit

_ROWS = Whole("number of rows", 11, 1, 400)


@operation
def record_sweep(
    *, actor: Person, visit: Visit, key: Key, rows: int | None = None, if_new: bool = False, **sweep: Any
) -> Sweep:
    """Start a sweep: entries of [[sweeps]]; with `values` the cells as well, else `rows` empty rows to fill.

    `if_new`: the page showed no sweep at these stations, so that one begun there meanwhile is to be joined.

    Raises
    ------
    KeyUsed
        When the key came before with another sweep.
    Conflict
        When `if_new` and one was begun meanwhile: with it.
    Refusal
        When the visit is closed, or an entry is wrong or contradicts the reel or the gauge.
    """
    ask = asking(
        "record_sweep",
        actor,
        key,
        f"sweep of {sweep.get('of')}",
        visit=visit,
        rows=rows,
        sweep=given(sweep),
    )
    if (done := ask.answered(Sweep)) is not None:
        return done
    held = still_open(visit.pk, with_reel)
    if "values" not in sweep:
        stations = sweep.get("at") or ()
        sweep["values"] = [["-"] * len(stations) for _ in range(checked_value("rows", _ROWS, rows))]
    row = checked_row("sweeps", sweep, surroundings(held))
    if if_new and (there := _begun(held, row)) is not None:
        raise Conflict("this sweep", str(there), str(row["of"]), there)
    made = made_sweep(held, row, actor)
    ask.note(made, visit=held, after=row)
    return made


def _begun(visit: Visit, row: Table) -> Sweep | None:
    """Return the sweep of the same quantity and stage that stands at one of the stations; ask while it is held."""
    wanted = {x_of(visit, at) for at in row["at"]}
    standing = Sweep.objects.filter(visit=visit, of=row["of"], when=row.get("when", "as found"), withdrawn_at=None)
    return next((sweep for sweep in standing.order_by("pk") if wanted & {x_of(visit, at) for at in sweep.at}), None)


def made_sweep(visit: Visit, row: Table, actor: Person) -> Sweep:
    """Enter a checked sweep with its cells; each cell has a key of its own."""
    columns = {key: row.get(key) for key in SWEEP_KEYS} | {"gauge": gauge_of(row), "rows": len(row["values"])}
    if columns["time"] is not None:
        columns["time"] = checked_value("time", Clock("a time"), columns["time"])
    made = Sweep.objects.create(visit=visit, **columns, entered_by=actor, entered_at=now())
    cells = (
        {"sweep": made, "row": i, "column": j, "value": value}
        for i, values in enumerate(row["values"])
        for j, value in enumerate(values)
        if value != "-"
    )
    bulk_entries(Cell, actor, cells)
    return made


@operation
def record_cell(
    *, actor: Person, sweep: Sweep, row: int, column: int, value: Any, key: Key, expected_version: int = 0
) -> Cell:
    """Enter or correct one value of a sweep; `expected_version` is the version the page showed, 0 for an empty place.

    Raises
    ------
    Conflict
        When something else was entered there meanwhile: with both values.
    Refusal
        When the visit is closed, the place is outside the grid, or the value is wrong.
    """
    ask = asking("record_cell", actor, key, str(value), sweep=sweep, row=row, column=column, value=value)
    if (done := ask.answered(Cell)) is not None:
        return done
    held = still_open(sweep.visit_id, with_reel)
    _inside(sweep, row, column)
    told = _checked_value(held, sweep, row, column, value)
    old = _expected(sweep, row, column, expected_version, str(value))
    made = made_entry(Cell, ask, {"sweep": sweep, "row": row, "column": column, "value": told}, old)
    ask.note(made, visit=held, before=None if old is None else old.value, after=told)
    return made


def _inside(sweep: Sweep, row: int, column: int) -> None:
    if not (0 <= row < sweep.rows and 0 <= column < len(sweep.at)):
        allowed = phrase("rows 1 to {rows}, columns 1 to {columns}", rows=sweep.rows, columns=len(sweep.at))
        raise refuse(
            "row",
            phrase("there is no row {row}, column {column} in this sweep", row=row + 1, column=column + 1),
            allowed=allowed,
        )


def _checked_value(visit: Visit, sweep: Sweep, row: int, column: int, value: Any) -> Any:
    one = {**sweep_row(sweep, ()), "at": [sweep.at[column]], "values": [[value]]}
    one |= {name: [one[name][row]] for name in ("blades", "angles") if name in one}
    told = checked_row("sweeps", one, surroundings(visit))["values"][0][0]
    if told == "-":
        raise refuse(
            "value", phrase("nothing was read here"), value="-", suggestion=phrase("Withdraw the value instead.")
        )
    return told


_LAST = Worded(
    Cell,
    lambda **place: Cell.objects.select_for_update().filter(**place).order_by("-version")[:1],
    "sweep",
    "row",
    "column",
)


def _expected(sweep: Sweep, row: int, column: int, expected_version: int, mine: str) -> Cell | None:
    found = _LAST.first(sweep=sweep.pk, row=row, column=column)
    if found is None:
        if expected_version:
            raise Conflict(
                phrase("{sweep}, row {row}, column {column}", sweep=sweep, row=row + 1, column=column + 1),
                "empty",
                mine,
            )
        return None
    if found.is_withdrawn and not expected_version:
        return found
    return as_expected(found, expected_version, mine)


@operation
def withdraw_cell(*, actor: Person, cell: Cell, expected_version: int, key: Key = None) -> Cell:
    """Withdraw one value of a sweep: its place is empty again, and the value stays on file.

    Raises
    ------
    Conflict
        When something else was entered there meanwhile.
    Refusal
        When the visit is closed.
    """
    ask = asking("withdraw_cell", actor, key, "withdrawn", cell=cell)
    if (done := ask.answered(Cell)) is not None:
        return done
    held = still_open(cell.sweep.visit_id, with_reel)
    done = withdrawn(expected_current(Cell, cell, expected_version, "withdrawn"), actor)
    ask.note(done, visit=held, before=done.value)
    return done


@operation
def withdraw_sweep(*, actor: Person, sweep: Sweep, key: Key = None) -> Sweep:
    """Withdraw a whole sweep; it stays on file.

    Raises
    ------
    Refusal
        When the visit is closed.
    """
    ask = asking("withdraw_sweep", actor, key, "withdrawn", sweep=sweep)
    if (done := ask.answered(Sweep)) is not None:
        return done
    held = still_open(sweep.visit_id, with_reel)
    sweep.withdrawn_at = sweep.withdrawn_at or now()
    sweep.save()
    ask.note(sweep, visit=held)
    return sweep
