"""What is entered during a visit: readings, sweeps, work, paper proofs; corrected by new entries, never overwritten."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.records.operations import job, readings, sweeps
from sparkout.visit.taken import PaperProof, Reading, Sweep, WorkEntry
from sparkout.visit.words import Switch, Whole
from sparkout.web.api import records
from sparkout.web.api.body import Body, Field, read, typed
from sparkout.web.api.making import by_presence, doing, listed, one
from sparkout.web.api.told.happened import CellTold, PaperTold, ReadingTold, SweepTold, WorkTold

if TYPE_CHECKING:
    from collections.abc import Callable

    from ninja import Schema

    from sparkout.visit.sections import Section
    from sparkout.web.api.route import Named, Route

_SEEN = read("expected_version", Whole("the version you saw", 1, 0, 1_000_000), needed=True)
_WITHDRAWN = by_presence("withdrawn", "whether it was withdrawn")
_REPLACED = by_presence("replaced", "whether a correction stands in its place")
_LOOKUPS = {"withdrawn": "withdrawn_at__isnull", "replaced": "replaced_by__isnull"}
_EVERY = "those corrected and withdrawn included; ask with withdrawn=false and replaced=false for those that count"


def _entries(
    path: str,
    tag: str,
    section: type[Section],
    about: Named,
    tells: type[Schema],
    record: Callable[..., Any],
    correct: Callable[..., Any],
    withdraw: Callable[..., Any],
    more: tuple[Field, ...] = (),
) -> tuple[Route, ...]:
    return (
        listed(
            f"visits/{{int:number}}/{path}", path, tag, tells, about.records, f"The {tag} of a visit, {_EVERY}.",
            about=records.VISIT, within="visit", filters=(_WITHDRAWN, _REPLACED), lookups=_LOOKUPS,
        ),
        doing(
            "POST", f"visits/{{int:number}}/{path}", record, tag, tells,
            about=records.VISIT, takes=Body(more, section), status=201,
        ),
        one(f"{path}/{{int:number}}", f"one_of_{path}", tag, about, tells, f"One of the {tag}, as it was entered."),
        doing(
            "POST", f"{path}/{{int:number}}/correct", correct, tag, tells,
            about=about, takes=Body((_SEEN,), section, all_optional=True), status=201,
        ),
        doing("POST", f"{path}/{{int:number}}/withdraw", withdraw, tag, tells, about=about, takes=(_SEEN,)),
    )  # fmt: skip


_IF_EMPTY = read(
    "if_empty", Switch("true: you saw nothing at that place, and want to be asked when something stands there", False)
)
_IF_NEW = read("if_new", Switch("true: you saw no sweep at these stations, and want to be asked", False))

READINGS = _entries(
    "readings", "readings", Reading, records.READING, ReadingTold,
    readings.record_reading, readings.correct_reading, readings.withdraw_reading, (_IF_EMPTY,),
)  # fmt: skip

SWEEPS = (
    listed(
        "visits/{int:number}/sweeps", "sweeps", "sweeps", SweepTold, records.sweeps,
        "The sweeps of a visit, with the values that count.", about=records.VISIT, within="visit",
        filters=(_WITHDRAWN,), lookups=_LOOKUPS,
    ),
    doing(
        "POST", "visits/{int:number}/sweeps", sweeps.record_sweep, "sweeps", SweepTold, about=records.VISIT,
        status=201,
        takes=Body(
            (
                Field("values", "the rows, '-' where nothing was read; else `rows` empty ones", {"type": "array"},
                      example=[["0 mm", "0.01 mm", "0.02 mm"]]),
                typed("rows", Whole("number of empty rows, when no values are sent", None, 1, 400)),
                _IF_NEW,
            ),
            Sweep,
        ),
    ),
    one("sweeps/{int:number}", "sweep", "sweeps", records.SWEEP, SweepTold, "One sweep, with the values that count."),
    doing("POST", "sweeps/{int:number}/withdraw", sweeps.withdraw_sweep, "sweeps", SweepTold, about=records.SWEEP),
    doing(
        "POST", "sweeps/{int:number}/cells", sweeps.record_cell, "sweeps", CellTold, about=records.SWEEP, status=201,
        takes=(
            read("row", Whole("which row, counted from 0", 0, 0, 1000), needed=True),
            read("column", Whole("which column, counted from 0", 0, 0, 1000), needed=True),
            Field("value", "what the gauge showed", {"type": ["string", "number"]}, needed=True, example="0.02 mm"),
            read("expected_version", Whole("the version you saw there; 0 for an empty place", 0, 0, 1_000_000)),
        ),
    ),
    one("cells/{int:number}", "cell", "sweeps", records.CELL, CellTold, "One value of a sweep, as it was entered."),
    doing(
        "POST", "cells/{int:number}/withdraw", sweeps.withdraw_cell, "sweeps", CellTold,
        about=records.CELL, takes=(_SEEN,),
    ),
)  # fmt: skip

WORK = _entries("work", "work", WorkEntry, records.WORK, WorkTold, job.record_work, job.correct_work, job.withdraw_work)
PAPER = _entries(
    "paper", "paper proofs", PaperProof, records.PAPER, PaperTold,
    job.record_paper, job.correct_paper, job.withdraw_paper,
)  # fmt: skip

ROUTES = (*READINGS, *SWEEPS, *WORK, *PAPER)
