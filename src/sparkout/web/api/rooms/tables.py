"""Tables of any shape in: brought, their columns said, tried, entered; everything out again."""

from __future__ import annotations

import tempfile
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from django.http import FileResponse

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.interchange.mapping import FileMapping
from sparkout.records.bringing.operations import (
    bring_in_table,
    proposed_again,
    receive_table,
    settle_columns,
    try_table,
)
from sparkout.records.bringing.outcome import WHATS
from sparkout.records.bringing.refused import refused_rows, write_refused
from sparkout.records.bringing.store import ENTERING, TRIAL, Outcomes, folder
from sparkout.records.jobs import ask_to_stop, begin
from sparkout.records.models import TableFile
from sparkout.records.taking_out import FORMS, taken_out
from sparkout.showing import Showing
from sparkout.visit.words import Text, Whole, Word
from sparkout.web.api import records
from sparkout.web.api.body import Body, Field, plain_table, read, text, typed
from sparkout.web.api.making import LIMIT, listed, one
from sparkout.web.api.route import Ask, Route
from sparkout.web.api.told.happened import JobTold, TableFileTold

if TYPE_CHECKING:
    from sparkout.records.models import Job
    from sparkout.units import System

_PIECE = 1 << 16
_A_PAGE = 100
_STAGE = read("stage", Word("of the trial, or of the entering", TRIAL, (TRIAL, ENTERING)))
_UNITS = read("units", Word("units of the columns; mm when not said", "mm", ("mm", "inch")))
_VOCABULARY = read("vocabulary", Word("trade words of the headings; uk when not said", "uk", ("uk", "us")))
_DECIMAL = read("decimal", Word("decimal mark in text files; a point when not said", ".", (".", ",")))


def _received(ask: Ask) -> TableFile:
    pieces = iter(lambda: ask.request.read(_PIECE), b"")
    return receive_table(actor=ask.actor, name=ask.query["name"], chunks=pieces)


def _settled(ask: Ask) -> TableFile:
    return settle_columns(file=ask.record, mapping=FileMapping.from_data(ask.entries["mapping"]))


def _proposed(ask: Ask) -> dict[str, Any]:
    sheets = ask.entries.get("sheets") or {}
    for name, said in sheets.items():
        if not isinstance(said, dict):
            raise Refusal(phrase("what is said of a sheet is a table: {name}", name=name))
    return proposed_again(ask.record, ask.entries.get("delimiter") or "", sheets).as_data()


def _tried(ask: Ask) -> Job:
    job = try_table(actor=ask.actor, file=ask.record)
    begin(job)
    return job


def _entered(ask: Ask) -> Job:
    if ask.record.trial is None or ask.record.trial.state != "done":
        raise Refusal(phrase("try the table first, to see what would happen"))
    job = bring_in_table(actor=ask.actor, file=ask.record, with_changes=bool(ask.entries.get("with_changes")))
    begin(job)
    return job


def _stopped(ask: Ask) -> Job:
    ask_to_stop(ask.record)
    found: Job = records.JOB.found(ask.record.pk)
    return found


def _rows(ask: Ask) -> dict[str, Any]:
    outcomes = Outcomes(ask.record, ask.query.get("stage") or TRIAL)
    start, most = ask.query.get("from_row") or 0, ask.query.get("limit") or _A_PAGE
    lines = outcomes.read(ask.query.get("what") or "", start, most)
    return {"counts": outcomes.counts(), "items": [asdict(line) for line in lines]}


def _refused(ask: Ask) -> FileResponse:
    form = ask.query.get("form") or "csv"
    made = tempfile.TemporaryFile(dir=folder())  # noqa: SIM115 - the answer closes it
    rows = refused_rows(ask.record, ask.query.get("stage") or TRIAL, str)
    write_refused(made, form, rows, ask.query.get("decimal") or ".")
    made.seek(0)
    return FileResponse(made, as_attachment=True, filename=f"refused rows.{form}")


def _out(ask: Ask) -> FileResponse:
    form: str = ask.query.get("form") or "json"
    system: System = ask.query.get("units") or "mm"
    words = Showing(system, ask.query.get("vocabulary") or "uk")
    made = taken_out(form, system, words.say, ask.query.get("decimal") or ".")
    return FileResponse(made, as_attachment=True, filename=f"sparkout records.{form}")


ROUTES = (
    listed("tables", "tables", "tables", TableFileTold, records.table_files, "Files of tables brought, newest first.",
           newest_first=True),
    Route(
        "POST", "tables", "receive_table", "tables", _received, TableFileTold, writes=True, status=201,
        operation=receive_table, takes_form="a table: CSV, XLSX, ODS or XLS",
        asks=Body((typed("name", Text("name of the file", "units.csv", 200, 1), needed=True),)),
    ),
    one("tables/{int:number}", "table", "tables", records.TABLE, TableFileTold,
        "A file of tables, and what its columns are taken for."),
    Route(
        "POST", "tables/{int:number}/proposal", "proposed_again", "tables", _proposed, about=records.TABLE,
        takes=Body((
            text("delimiter", "what stands between columns", ";"),
            plain_table("sheets", "of sheets by name: kind, heading (which row), heading_rows"),
        )),
        words="Another proposal of what the columns are, that keeps to what you say; nothing is kept.",
        example={"sheets": []},
    ),
    Route(
        "PUT", "tables/{int:number}/columns", "settle_columns", "tables", _settled, TableFileTold,
        about=records.TABLE, writes=True, changes=True, operation=settle_columns,
        takes=Body((Field("mapping", "what the columns are, as `mapping` of the file tells it", {"type": "object"},
                          needed=True, example={}),)),
    ),
    Route(
        "POST", "tables/{int:number}/trial", "try_table", "tables", _tried, JobTold, about=records.TABLE,
        writes=True, status=202, operation=try_table,
    ),
    Route(
        "POST", "tables/{int:number}/entering", "bring_in_table", "tables", _entered, JobTold, about=records.TABLE,
        writes=True, status=202, operation=bring_in_table,
        takes=Body((Field("with_changes", "whether rows that change a record are entered too", {"type": "boolean"},
                          example=False),)),
    ),
    Route(
        "GET", "tables/{int:number}/rows", "table_rows", "tables", _rows, about=records.TABLE,
        asks=Body((
            _STAGE, read("what", Word("only rows that do this", "refused", WHATS)),
            read("from_row", Whole("after so many of them", 0, 0, 10_000_000)), LIMIT,
        )),
        words="What each row would do, or did, and why those that do nothing do not.",
        example={"counts": {"adds": 1}, "items": []},
    ),
    Route(
        "GET", "tables/{int:number}/refused", "table_refused", "tables", _refused, about=records.TABLE,
        asks=Body((_STAGE, read("form", Word("in which form; csv when not said", "csv", ("csv", "xlsx"))), _DECIMAL)),
        words="The refused rows as they stood, each with the reason.", form="a table",
    ),
    Route(
        "GET", "export", "export", "tables", _out, form="a table",
        asks=Body((read("form", Word("in which form; json when not said", "json", FORMS)), _UNITS, _VOCABULARY,
                   _DECIMAL)),
        words="Everything in the records as one file.",
    ),
    one("jobs/{int:number}", "job", "tables", records.JOB, JobTold, "Work in the background: how far it is."),
    Route(
        "POST", "jobs/{int:number}/stop", "stop_job", "tables", _stopped, JobTold, about=records.JOB, writes=True,
        words="Ask work in the background to stop; what is done stays.",
    ),
)  # fmt: skip
