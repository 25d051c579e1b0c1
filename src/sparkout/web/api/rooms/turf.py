"""Hours run, sand and stones."""

from __future__ import annotations

from sparkout.records import models
from sparkout.records.models.history import EVENTS
from sparkout.records.operations import turf
from sparkout.visit.sections import AREA_MOWN
from sparkout.visit.words import Day, Switch, Text, Word
from sparkout.web.api import records
from sparkout.web.api.body import Body, Field, read, record, rows, text, typed
from sparkout.web.api.making import by_number, by_presence, doing, listed, one
from sparkout.web.api.rooms.parts import HOURS_SCHEMA
from sparkout.web.api.told.happened import EventTold, HoursTold

_ON = typed("on", Day("on which day", "2026-11-25"), needed=True)
_HOURS = Field("hours", "hours run since new, as on the machine's clock", HOURS_SCHEMA, True, "1240 h")
_AREA = typed("area", AREA_MOWN)
_WHY = text("why", "why, in a few words", "the clock of another unit")
_COUNTS = by_presence("ended", "whether it was corrected or withdrawn")
_CHANGED = read("clock_changed", Switch("whether the clock was changed, so that it shows less than before", True))
_CLOCK = Body((record("unit", models.Unit, "the unit, by its id", needed=True), _HOURS, _AREA, _CHANGED))
_EVENT = (
    typed("kind", Word("what happened", "sand", tuple(name for name, _ in EVENTS)), needed=True),
    _ON,
    record("place", models.Place, "at which place, by its id"),
    record("machine", models.Machine, "to which machine, by its id"),
    record("unit", models.Unit, "to which unit, by its id"),
    typed("note", Text("what happened, in a few words", "a stone on the right", 500)),
)

HOURS = (
    listed(
        "hours", "hours", "hours", HoursTold, records.hours, "The clocks read, those that count no longer included.",
        filters=(by_number("unit", "unit"), by_number("visit", "visit"), _COUNTS),
        lookups={"ended": "ended_at__isnull"},
    ),
    doing(
        "POST", "units/{int:number}/hours", turf.record_hours, "hours", HoursTold, about=records.UNIT,
        takes=(_ON, _HOURS, _AREA, _CHANGED), status=201,
    ),
    doing(
        "POST", "hours", turf.record_hours_of, "hours", HoursTold, status=201, many=True,
        takes=(_ON, rows("clocks", "the clock of each unit", _CLOCK, turf.Clock, needed=True)),
    ),
    one("hours/{int:number}", "hours_entry", "hours", records.HOURS, HoursTold, "One clock as read."),
    doing(
        "POST", "hours/{int:number}/correct", turf.correct_hours, "hours", HoursTold, about=records.HOURS,
        takes=(_ON, _HOURS, _AREA), status=201,
    ),
    doing(
        "POST", "hours/{int:number}/withdraw", turf.withdraw_hours, "hours", HoursTold, about=records.HOURS,
        takes=(_WHY,),
    ),
)  # fmt: skip

EVENTS_ = (
    listed(
        "events", "events", "events", EventTold, records.events,
        "Sand, stones and whatever else happened, what counts no longer included.",
        filters=(by_number("place", "place"), by_number("machine", "machine"), by_number("unit", "unit"), _COUNTS),
        lookups={"ended": "ended_at__isnull"},
    ),
    doing("POST", "events", turf.record_event, "events", EventTold, takes=_EVENT, status=201),
    one("events/{int:number}", "event", "events", records.EVENT, EventTold, "One event."),
    doing(
        "POST", "events/{int:number}/correct", turf.correct_event, "events", EventTold,
        about=records.EVENT, takes=_EVENT, status=201,
    ),
    doing(
        "POST", "events/{int:number}/withdraw", turf.withdraw_event, "events", EventTold,
        about=records.EVENT, takes=(_WHY,),
    ),
)  # fmt: skip

ROUTES = (*HOURS, *EVENTS_)
