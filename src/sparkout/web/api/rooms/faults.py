"""Why does it look like that: what is seen goes in, likely causes and the next checks come out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.core.faults.diagnosis import Answer, diagnose
from sparkout.core.phrase import AsTyped, phrase
from sparkout.reckoning.known_faults import faults_data, with_known
from sparkout.records.checked import refuse
from sparkout.records.operations.faults import (
    TABLE_NAME,
    end_fault_table,
    keep_fault_table,
    keep_ranking,
    workshop_tables,
)
from sparkout.visit.problems import shown
from sparkout.web.api import records
from sparkout.web.api.body import Body, Field, text, typed
from sparkout.web.api.making import by_truth, doing, listed
from sparkout.web.api.route import Ask, Route
from sparkout.web.api.told.happened import FaultTableTold, HistoryTold
from sparkout.web.faults.answers import MEANT
from sparkout.web.faults.known import on_file

if TYPE_CHECKING:
    from sparkout.core.faults.diagnosis import FaultDiagnosis

_LEADING = 3
"""So many causes are kept, as on the page."""


def _answers(path: str, given: Any) -> dict[str, str]:
    if not isinstance(given, dict):
        raise refuse(path, phrase("{given} stands where a table is wanted", given=shown(given)), value=shown(given))
    for name, mark in given.items():
        workshop_tables().finding(name)
        if not isinstance(mark, str) or mark not in MEANT:
            told = phrase("{name} is answered by y, n or u", name=AsTyped(name))
            raise refuse(f"{path}.{name}", told, value=shown(mark), allowed="y, n, u")
    return dict(given)


def _done(path: str, given: Any) -> list[str]:
    if not isinstance(given, list) or not all(isinstance(name, str) for name in given):
        raise refuse(path, phrase("{given} stands where a list is wanted", given=shown(given)), value=shown(given))
    return given


_BODY = Body(
    (
        Field(
            "answers",
            "what was answered: finding to y (it is so), n (it is not) or u (nobody can tell)",
            {"type": "object", "additionalProperties": {"enum": ["y", "n", "u"]}},
            needed=True,
            example={"clack": "y"},
            read=_answers,
        ),
        Field(
            "done",
            "what has been set up already, so that it costs nothing more",
            {"type": "array", "items": {"type": "string"}},
            example=["mow"],
            null_is_unsaid=True,
            read=_done,
        ),
    )
)


def _listed(ask: Ask) -> dict[str, Any]:
    tables = workshop_tables()
    findings = tables.findings if ask.query.get("all") else tables.seen
    items = [{"finding": f.id, "says": f.says, "seen": f.seen, "origin": f.origin} for f in findings]
    return {"items": items, "next": None}


def _ranked(ask: Ask) -> FaultDiagnosis:
    answers = [Answer(name, MEANT[mark]) for name, mark in ask.entries["answers"].items()]
    known = () if ask.record is None else [each.answer for each in on_file(ask.record, workshop_tables())]
    return diagnose(workshop_tables(), with_known(answers, known), ask.entries.get("done") or ())


def _told(ask: Ask) -> Any:
    return faults_data(_ranked(ask), workshop_tables())


def _keep(ask: Ask) -> Any:
    causes = {ranked.cause.id: ranked.chance for ranked in _ranked(ask).ranked[:_LEADING]}
    kept = keep_ranking(
        actor=ask.actor, unit=ask.record, answers=ask.entries["answers"], causes=causes, key=ask.key
    )  # fmt: skip
    return kept or records.history().get(key=ask.key)


_EXAMPLE: dict[str, Any] = {"answers": [], "causes": [], "none_listed": 0.1, "together": [], "next_checks": []}
_ALL = by_truth("all", "true: also what only checks can answer")

ROUTES = (
    Route(
        "GET", "faults", "faults", "faults", _listed, asks=Body((_ALL,)),
        words="What can be seen on the turf and answered here.",
        example={"items": [{"finding": "clack", "says": "", "seen": True, "origin": ""}], "next": None},
    ),
    Route(
        "POST", "faults", "causes", "faults", _told, takes=_BODY, example=_EXAMPLE,
        words="Likely causes and the next checks, from what was answered; as `sparkout why --json` has it.",
    ),
    Route(
        "POST", "units/{int:number}/faults", "causes_of_unit", "faults", _told, about=records.UNIT, takes=_BODY,
        words="The same for a unit: what its last visit and the events of late answer counts too.", example=_EXAMPLE,
    ),
    Route(
        "POST", "units/{int:number}/kept-faults", "keep_ranking", "faults", _keep, HistoryTold, about=records.UNIT,
        takes=_BODY, writes=True, status=201, operation=keep_ranking,
    ),
    listed(
        "fault-tables", "fault_tables", "faults", FaultTableTold, records.fault_tables,
        "The workshop's own rows of fault finding; the one without an end holds.",
    ),
    doing(
        "POST", "fault-tables", keep_fault_table, "faults", FaultTableTold, status=201,
        takes=(text("text", "TOML, as the page for the workshop's own table shows it", needed=True),
               typed("name", TABLE_NAME, needed=True)),
    ),
    doing("POST", "fault-tables/{int:number}/end", end_fault_table, "faults", FaultTableTold,
          about=records.FAULT_TABLE),
)  # fmt: skip
