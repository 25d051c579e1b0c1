"""Care of the person: a day's tasks with what they come to, and leave to do work."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.reckoning.exposure import day_data, day_of
from sparkout.records.models import Person
from sparkout.records.operations import care
from sparkout.records.operations.doing import today
from sparkout.web.api import records
from sparkout.web.api.body import Body, read, record, typed
from sparkout.web.api.making import by_number, doing, listed
from sparkout.web.api.route import Route
from sparkout.web.api.told.happened import AuthorisationTold, ExposureTold

if TYPE_CHECKING:
    from sparkout.web.api.route import Ask

_WHO = record("person", Person, "whose, by id", needed=True)


def _day(ask: Ask) -> dict[str, Any]:
    return day_data(day_of(care.tasks_of(ask.record, ask.query.get("on") or today())))


ROUTES = (
    listed("authorisations", "authorisations", "care", AuthorisationTold, records.authorisations,
           "Who may do which work, by whom and till when; those withdrawn included.",
           filters=(by_number("person", "person"),)),
    doing("POST", "authorisations", care.add_authorisation, "care", AuthorisationTold, status=201, takes=(
        _WHO, typed("work", care.WORK, needed=True), typed("given_by", care.GIVEN_BY, needed=True),
        typed("since", care.SINCE, needed=True), typed("until", care.UNTIL),
    )),
    doing("POST", "authorisations/{int:number}/end", care.end_authorisation, "care", AuthorisationTold,
          about=records.AUTHORISATION),
    listed("exposures", "exposures", "care", ExposureTold, records.exposures,
           "Tasks of people's days, those withdrawn included.", filters=(by_number("person", "person"),)),
    doing("POST", "exposures", care.record_exposure, "care", ExposureTold, status=201, takes=(
        _WHO, typed("on", care.ON, needed=True), typed("task", care.TASK, needed=True),
        typed("hours", care.HOURS, needed=True), typed("origin", care.ORIGIN, needed=True),
        typed("vibration", care.VIBRATION), typed("level", care.LEVEL), typed("dust", care.DUST),
    )),
    doing("POST", "exposures/{int:number}/withdraw", care.withdraw_exposure, "care", ExposureTold,
          about=records.EXPOSURE),
    Route(
        "GET", "people/{int:number}/exposure-day", "exposure_day", "care", _day, about=records.PERSON,
        asks=Body((read("on", care.ON),)),
        words="What somebody's day (today when none is said) comes to, beside each region's values. Check local rules.",
        example={"vibration_a8": 2.1, "noise_level_8h": 84.0, "values": []},
    ),
)  # fmt: skip
