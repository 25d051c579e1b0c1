"""Visits: opened, described, planned, signed, corrected; in and out as visit files."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any

from django.http import HttpResponse
from django.utils import timezone

from sparkout.core.phrase import phrase
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.reckon import reckon
from sparkout.records import models
from sparkout.records.checked import refuse
from sparkout.records.exchange import visit_from_file
from sparkout.records.models.visits import STATES
from sparkout.records.operations import visits
from sparkout.records.operations.job import checked_choices, keep_plan
from sparkout.records.queries import visit_file
from sparkout.visit.asked import Quantity
from sparkout.visit.questions import questions
from sparkout.visit.reading import read_visit, read_visit_file
from sparkout.visit.sections import GrinderSection, WantedSection
from sparkout.visit.words import Day, Text, Word
from sparkout.visit.writing import to_json, to_toml
from sparkout.web.api import records
from sparkout.web.api.body import Body, plain_table, read, record, table, tables, text, typed
from sparkout.web.api.errors import JSON
from sparkout.web.api.making import by_number, by_record, doing, listed, one
from sparkout.web.api.route import Ask, Route
from sparkout.web.api.told.happened import KeptPlanTold, VisitTold

if TYPE_CHECKING:
    from sparkout.visit.schema import Visit as VisitFile

TOML = "application/toml"
_HOURS = typed("hours", Quantity("the unit's clock at this visit", "1240 h", "time", 0, 100_000, "h"))
_GRINDER = record("grinder", models.Grinder, "the grinder it is planned for, by its id")
_TECHNICIAN = typed("technician", Text("who does the work", "AB", 100))
_COMPLAINT = typed("complaint", Text("what the operator says", "misses on the right"))
_NOTES = typed("notes", Text("anything worth keeping", "second winter on this reel"))
_DATE = typed("date", Day("day of the visit", "2026-11-25"))
_REASON = text("reason", "why, in a few words", "opened by mistake", needed=True)
_TODAY = read("today", Day("the day on which it is asked, for calibrations that have run out", "2026-11-25"))
_CHOICES = tables(
    "choices",
    "other choices for the plan",
    {"wanted": WantedSection, "grinder": GrinderSection},
    {"wanted": "WantedTable", "grinder": "GrinderTable"},
)
_AS_PLANNED: dict[str, Any] = {"sparkout_answer": 1, "unit": {"name": "unit 3"}, "spin": {"answered": True}}


def _day(ask: Ask) -> datetime.date:
    day: datetime.date | None = ask.query.get("today")
    return day or timezone.localdate()


def _answer(file: VisitFile, today: datetime.date) -> dict[str, Any]:
    return as_data(reckon(file, questions(file, today)))


def _plan(ask: Ask) -> dict[str, Any]:
    return _answer(visit_file(ask.record), _day(ask))


def _what_if(ask: Ask) -> dict[str, Any]:
    if not ask.record.is_open:
        raise refuse("visit", phrase("this visit is closed: its plan is the one it was closed with"))
    today = _day(ask)
    choices = checked_choices(ask.entries["choices"])
    return {
        "planned": _answer(visit_file(ask.record), today),
        "would": _answer(visit_file(ask.record, choices), today),
    }


def _plan_of_file(ask: Ask) -> dict[str, Any]:
    entered = read_visit_file(ask.request.body)
    return as_data(reckon(entered.visit, entered.questions(_day(ask))))


def _file(ask: Ask) -> HttpResponse:
    file = visit_file(ask.record)
    if ask.query.get("form") == "toml":
        return HttpResponse(to_toml(file), TOML)
    return HttpResponse(to_json(file), JSON)


def _bring(ask: Ask) -> models.Visit:
    return visit_from_file(read_visit(ask.request.body), ask.actor, ask.query.get("unit"))


VISITS = (
    listed(
        "visits", "visits", "visits", VisitTold, records.visits, "The visits, the newest first.",
        filters=(by_number("unit", "unit"), by_number("reel", "reel"), by_number("knife", "knife"),
                 read("state", Word("only those in this state", "open", tuple(name for name, _ in STATES)))),
        newest_first=True,
    ),
    doing(
        "POST", "units/{int:number}/visits", visits.open_visit, "visits", VisitTold, about=records.UNIT, status=201,
        takes=(_DATE, _TECHNICIAN, _COMPLAINT, _NOTES, _HOURS, _GRINDER),
    ),
    one("visits/{int:number}", "visit", "visits", records.VISIT, VisitTold, "One visit."),
    doing(
        "PATCH", "visits/{int:number}", visits.revise_visit, "visits", VisitTold, about=records.VISIT, changes=True,
        takes=(_DATE, _TECHNICIAN, _COMPLAINT, _NOTES, _HOURS, _GRINDER,
               table("wanted", WantedSection, "what the plan is to reach, the whole table; null: as the workshop",
                     component="WantedTable"),
               plain_table("expected", "what you saw before of entries that change: asked back if it is otherwise")),
    ),
    doing(
        "POST", "visits/{int:number}/sign", visits.sign_visit, "visits", VisitTold, about=records.VISIT, changes=True,
        takes=(text("statement", "what is signed for", "set and proved"), text("name", "who signs; you when not said"),
               read("on", Day("when; today when not said", "2026-11-25"))),
    ),
    doing(
        "POST", "visits/{int:number}/set-aside", visits.set_aside_visit, "visits", VisitTold,
        about=records.VISIT, takes=(_REASON,), changes=True,
    ),
    doing(
        "POST", "visits/{int:number}/correct", visits.correct_signed_visit, "visits", VisitTold,
        about=records.VISIT, takes=(_REASON,), status=201,
    ),
)  # fmt: skip

FILES = (
    Route(
        "GET", "visits/{int:number}/file", "visit_file", "visits", _file, about=records.VISIT,
        asks=Body((read("form", Word("in which form; json when not said", "json", ("json", "toml"))),)),
        words="The visit as a visit file: all that was entered, as typed.", form=f"{JSON} or {TOML}",
        example={"unit": {"name": "unit 3"}, "reel": {"blades": 11, "diameter": "127 mm", "length": "533 mm"}},
    ),
    Route(
        "POST", "visits/from-file", "visit_from_file", "visits", _bring, VisitTold, writes=True, status=201,
        operation=visit_from_file, takes_form=f"{JSON} or {TOML}",
        asks=Body((by_record("unit", models.Unit, "the unit it is of; else found by its name, or made"),)),
    ),
)  # fmt: skip

PLANS = (
    Route(
        "GET", "visits/{int:number}/plan", "plan", "plans", _plan, about=records.VISIT, asks=Body((_TODAY,)),
        words="The whole answer for a visit: state, verdicts, grind, setting, proof; as `sparkout plan --json` has it.",
        example=_AS_PLANNED,
    ),
    Route(
        "POST", "visits/{int:number}/what-if", "what_if", "plans", _what_if, about=records.VISIT,
        takes=Body((_CHOICES,)), asks=Body((_TODAY,)),
        words="The plan as it stands and as it would be with other choices; nothing is kept.",
        example={"planned": _AS_PLANNED, "would": _AS_PLANNED},
    ),
    Route(
        "POST", "plan", "plan_of_file", "plans", _plan_of_file, takes_form=f"{JSON} or {TOML}", asks=Body((_TODAY,)),
        words="The whole answer for a visit file that is sent; nothing is kept.", example=_AS_PLANNED,
    ),
    listed(
        "visits/{int:number}/kept-plans", "kept_plans", "plans", KeptPlanTold, records.kept_plans,
        "The plans kept for a visit; the last one holds.", about=records.VISIT, within="visit",
    ),
    doing(
        "POST", "visits/{int:number}/kept-plans", keep_plan, "plans", KeptPlanTold,
        about=records.VISIT, takes=(_CHOICES,), status=201,
    ),
)  # fmt: skip

ROUTES = (*VISITS, *FILES, *PLANS)
