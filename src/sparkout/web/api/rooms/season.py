"""The season: its sheet, what is due, plans made in the background and kept, what-ifs, calendar and print."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.http import HttpResponse

from sparkout.core.phrase import phrase
from sparkout.records import season as on_file
from sparkout.records.checked import refuse
from sparkout.records.operations import season
from sparkout.season.as_data import choice_data, forecast_data, plan_data
from sparkout.season.reel_choice import choice_or_why
from sparkout.season.sheet import as_tables
from sparkout.showing import Showing
from sparkout.visit.asked import a_number
from sparkout.visit.words import Switch, Text, Whole, Word
from sparkout.web.api import records
from sparkout.web.api.body import Body, Field, plain_table, read, text, typed
from sparkout.web.api.making import doing, listed, one
from sparkout.web.api.route import Ask, Route
from sparkout.web.api.told.happened import JobTold
from sparkout.web.api.told.season import KeptSheetTold, SeasonPlanTold, plan_told

if TYPE_CHECKING:
    from sparkout.records.models import Job
    from sparkout.season.now import SeasonPlanned

_LONGEST_NAME = Text(phrase("name of the what-if; the workshop's own sheet when not said"), "", 100)
_WHAT_IF = read("what_if", _LONGEST_NAME)
_PART = text("part", "which part of the sheet; empty: what stands outside any table", "people", needed=True)
_WHICH = Whole(phrase("which row, counted from 0"), 0, 0, 10_000)
_SECONDS = typed("seconds", a_number(0.1, season.LONGEST, phrase("time the plan is given, s"), 20))
_JOB = text("job", "the unit, with #2 for its second time and so on", "G3 left", needed=True)
_SAID = read("language", Word(phrase("language of the texts; en when not said"), "en", ("en", "de")))
_VOCABULARY = read("vocabulary", Word("trade words; uk when not said", "uk", ("uk", "us")))
_UNITS = read("units", Word("units; mm when not said", "mm", ("mm", "inch")))
_PAPER = read("paper", Word("paper; A3 when not said", "A3", ("A3", "A4", "Letter")))
_MANNER = (_WHAT_IF, _SAID, _VOCABULARY, _UNITS)


def _what_if(ask: Ask) -> str:
    given = ask.query if ask.request.method == "GET" else ask.entries
    name = given.get("what_if") or ""
    if name and on_file.kept_sheet(name) is None:
        raise refuse("what_if", phrase("there is no what-if '{name}'", name=name), value=name)
    return str(name)


def _sheet(ask: Ask) -> dict[str, Any]:
    name = _what_if(ask)
    return {"what_if": name, "tables": as_tables(on_file.sheet_now(name))}


def _forecast(ask: Ask) -> dict[str, Any]:
    units, now = on_file.season_on_file(_what_if(ask))
    doubts = [{"unit": unit, "what": str(what)} for unit, what in units.doubts]
    return {**forecast_data(now), "waiting": units.waiting, "doubts": doubts}


def _choice(ask: Ask) -> dict[str, Any]:
    units, now = on_file.season_on_file(_what_if(ask))
    one = next((each for each in now.forecast.units if units.numbers.get(each.unit.name) == ask.number), None)
    if one is None:
        raise refuse("number", phrase("this unit is not in use"), value=str(ask.number))
    return {"unit": one.unit.name, "reel_choice": choice_data(choice_or_why(now.forecast, one, now.sheet))}


def _kept(ask: Ask) -> tuple[Any, SeasonPlanned | None]:
    name = _what_if(ask)
    units, now = on_file.season_on_file(name)
    found = on_file.kept_plan(name)
    return found, on_file.plan_shown(now, units, found)


def _plan(ask: Ask) -> dict[str, Any]:
    found, shown = _kept(ask)
    kept = None if found is None else plan_told(found)
    return {"kept": kept, "today": None if shown is None else plan_data(shown)}


def _needed(ask: Ask) -> SeasonPlanned:
    _, shown = _kept(ask)
    if shown is None:
        told = phrase("no plan of the season is kept yet; make one and keep it")
        raise refuse("what_if", told)
    return shown


def _begun(operation: Any) -> Any:
    def does(ask: Ask) -> Job:
        return season.planned_soon(operation(actor=ask.actor, key=ask.key, **ask.entries), 0.0)

    return does


def _moved(ask: Ask) -> dict[str, Any]:
    made = season.move_job(actor=ask.actor, key=ask.key, **ask.entries)
    return {"plan": None if made is None else plan_told(made)}


def _move_cost(ask: Ask) -> dict[str, Any]:
    name = _what_if(ask)
    units, now = on_file.season_on_file(name, 0.0)
    found = on_file.kept_plan(name)
    before = on_file.plan_shown(now, units, found)
    if found is None or before is None:
        raise refuse("what_if", phrase("no plan of the season is kept yet; make one and keep it"))
    after = season.what_a_move_costs(now, units, found, ask.entries["job"], ask.entries["on"])
    return {"before": before.plan.cost, "after": after.plan.cost, "plan": plan_data(after)}


def _showing(ask: Ask) -> Showing:
    query = ask.query
    language = query.get("language") or "en"
    mark: Any = "," if language == "de" else "."
    return Showing(query.get("units") or "mm", query.get("vocabulary") or "uk", mark, language=language)


def _file(content: bytes, kind: str, name: str) -> HttpResponse:
    response = HttpResponse(content, kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    response["Cache-Control"] = "private, no-cache"
    return response


def _calendar(ask: Ask) -> HttpResponse:
    from sparkout.papers.season_calendar import season_calendar

    found = on_file.kept_plan(_what_if(ask))
    made = season_calendar(on_file.placements(found), _showing(ask), None if found is None else found.made_at)
    return _file(made, "text/calendar; charset=utf-8", "season.ics")


def _print(ask: Ask) -> HttpResponse:
    from sparkout.papers.season_print import season_print

    made = season_print(_needed(ask), _showing(ask), ask.query.get("paper") or "A3")
    return _file(made, "application/pdf", "season.pdf")


def _workbook(ask: Ask) -> HttpResponse:
    from sparkout.papers.season_tables import season_workbook

    kind = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
    return _file(season_workbook(_needed(ask), _showing(ask)), kind, "season.xlsx")


_A_TABLE = plain_table("", "").read
_TABLES = Field(
    "tables", "the whole sheet: tables as a file has them", {"type": "object"}, needed=True, example={}, read=_A_TABLE
)
_ENTRY = Field(
    "entry", "its entries; null takes one out", {"type": "object"}, needed=True, example={"name": "A"}, read=_A_TABLE
)
_AWAY = Field(
    "away", "who, first, last, note: a row of the sheet's [[away]]", {"type": "object"}, needed=True,
    example={"who": "technician A", "first": "2026-12-07", "last": "2026-12-08"}, read=_A_TABLE,
)  # fmt: skip

ROUTES = (
    Route(
        "GET", "season/sheet", "season_sheet", "season", _sheet, asks=Body((_WHAT_IF,)),
        words="The season sheet: who works when, which grinder does what, what to be fresh for, what things cost.",
        example={"what_if": "", "tables": {"weeks": 12}},
    ),
    doing("PUT", "season/sheet", season.set_sheet, "season", KeptSheetTold, takes=(_TABLES, _WHAT_IF)),
    doing("POST", "season/sheet/entries", season.set_in_sheet, "season", KeptSheetTold,
          takes=(_PART, _ENTRY, read("which", _WHICH), _WHAT_IF)),
    doing("POST", "season/sheet/entries/remove", season.take_from_sheet, "season", KeptSheetTold,
          takes=(_PART, read("which", _WHICH, needed=True), _WHAT_IF)),
    listed("season/sheets", "season_sheets", "season", KeptSheetTold, records.kept_sheets,
           "The season sheet as it was at each edit, and every what-if, newest first.", newest_first=True),
    doing("POST", "season/what-ifs", season.begin_what_if, "season", KeptSheetTold, status=201,
          takes=(typed("name", season.WHAT_IF, needed=True),)),
    doing("POST", "season/what-ifs/forget", season.forget_what_if, "season", KeptSheetTold,
          takes=(typed("name", season.WHAT_IF, needed=True),)),
    Route(
        "GET", "season/forecast", "season_forecast", "season", _forecast, asks=Body((_WHAT_IF,)),
        words="What is due when: each unit's next sharpening and its reel's end, and which reels to order.",
        example={"units": []},
    ),
    Route(
        "GET", "season/units/{int:number}/reel", "season_reel_choice", "season", _choice, asks=Body((_WHAT_IF,)),
        about=records.UNIT,
        words="A unit's reel ground on or replaced, by cost of an hour still to come; with and without relief.",
        example={"unit": "G3 left", "reel_choice": {"cheaper": "spin only"}},
    ),
    Route(
        "GET", "season/plan", "season_plan_kept", "season", _plan, asks=Body((_WHAT_IF,)),
        words="The plan that is kept, and as it stands today: what is late and why, load of each week, cost.",
        example={"kept": None, "today": None},
    ),
    listed("season/plans", "season_plans", "season", SeasonPlanTold, records.season_plans,
           "Every plan made, newest first.", newest_first=True),
    one("season/plans/{int:number}", "season_plan", "season", records.SEASON_PLAN, SeasonPlanTold,
        "A plan as it was made: each job's day, who does what, how far it is from the best there can be."),
    Route(
        "POST", "season/plans", "make_plan", "season", _begun(season.make_plan), JobTold, writes=True, status=202,
        operation=season.make_plan,
        takes=Body((
            _SECONDS, read("hold_on", Switch(phrase("whether to keep to the kept plan's days"), False)), _WHAT_IF,
        )),
    ),
    doing("POST", "season/plans/draft", season.draft_plan, "season", SeasonPlanTold, takes=(_WHAT_IF,), status=201),
    Route(
        "POST", "season/replan", "replan", "season", _begun(season.replan), JobTold, writes=True, status=202,
        operation=season.replan, takes=Body((_AWAY, _SECONDS, _WHAT_IF)),
    ),
    doing("POST", "season/plans/{int:number}/keep", season.keep_plan, "season", SeasonPlanTold, name="keep_season_plan",
          about=records.SEASON_PLAN),
    Route(
        "POST", "season/moves", "move_job", "season", _moved, writes=True, operation=season.move_job,
        takes=Body((_JOB, typed("on", season.ON, needed=True), _WHAT_IF)), example={"plan": None},
    ),
    doing("POST", "season/releases", season.release_job, "season", KeptSheetTold, takes=(_JOB, _WHAT_IF)),
    Route(
        "POST", "season/move-cost", "move_cost", "season", _move_cost,
        takes=Body((_JOB, typed("on", season.ON, needed=True), _WHAT_IF)), example={"before": 10.0, "after": 12.0},
        words="What moving a job to another day would cost; nothing is kept.",
    ),
    Route(
        "GET", "season/calendar", "season_calendar", "season", _calendar, asks=Body(_MANNER), form="text/calendar",
        words="The kept plan as a calendar (iCalendar): an entry for each phase of each job.",
    ),
    Route(
        "GET", "season/print", "season_print", "season", _print, asks=Body((*_MANNER, _PAPER)), form="application/pdf",
        words="The kept plan for the wall, PDF.",
    ),
    Route(
        "GET", "season/workbook", "season_workbook", "season", _workbook, asks=Body(_MANNER), form="a workbook (XLSX)",
        words="The season as a workbook: what is due, the plan, load, orders, cost.",
    ),
)  # fmt: skip
