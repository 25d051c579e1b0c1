"""The workshop, its people, places, machines and units; what is put out of use and taken up again."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records import models
from sparkout.records.operations import ending, units, workshop
from sparkout.visit.sections import HeightSection, KnifeSection, MowingSection, WantedSection
from sparkout.visit.words import Day, Switch
from sparkout.web.api import records
from sparkout.web.api.body import read, record, table, text
from sparkout.web.api.making import by_number, by_truth, doing, listed, one
from sparkout.web.api.route import Named, Route
from sparkout.web.api.told.things import MachineTold, PersonTold, PlaceTold, UnitTold, WorkshopTold

if TYPE_CHECKING:
    from ninja import Schema

    from sparkout.web.api.route import Ask

_ON = read("on", Day("since when; today when not said", "2026-11-25"))
_WHY = text("why", "why, in a few words", "worn out")
_NAME = text("name", "a name of its own", "nine holes", needed=True)
_PREFERENCES = (
    text("units", "mm or inch; null: as the workshop", "mm"),
    text("vocabulary", "uk or us; null: as the workshop", "uk"),
    text("decimal", "decimal mark, a point or a comma; null: as the workshop", "."),
    text("language", "language code; null: as the workshop", "de"),
    read("active", Switch("whether the person still works here", True)),
)


def out_of_use_and_back(about: Named, path: str, kind: str, tells: type[Schema]) -> tuple[Route, ...]:
    """Return the addresses at which a thing goes out of use and comes into use again."""
    as_thing, tag = replace(about, argument="thing"), path.replace("-", " ")
    return (
        doing(
            "POST", f"{path}/{{int:number}}/end", ending.end, tag, tells,
            about=as_thing, takes=(_ON, _WHY), name=f"end_{kind}", changes=True,
        ),
        doing(
            "POST", f"{path}/{{int:number}}/take-up-again", ending.take_up_again, tag, tells,
            about=as_thing, name=f"take_up_{kind}_again", changes=True,
        ),
    )  # fmt: skip


def _workshop(_: Ask) -> models.Workshop:
    found = models.Workshop.objects.first()
    if found is None:  # a token cannot be without one
        raise Refusal(phrase("there is no workshop yet"))
    return found


WORKSHOP = (
    Route("GET", "workshop", "workshop", "workshop", _workshop, WorkshopTold, words="The workshop."),
    doing(
        "PATCH", "workshop", workshop.change_workshop, "workshop", WorkshopTold,
        takes=(
            text("name", "name of the workshop", "our workshop"),
            text("units", "mm or inch", "mm"),
            text("vocabulary", "uk or us", "uk"),
            text("decimal", "decimal mark, a point or a comma", "."),
            text("language", "language code", "de"),
            text("paper_size", "A4 or Letter", "A4"),
            table("wanted", WantedSection, "what plans are to reach: the whole table", component="WantedTable"),
        ),
    ),
)  # fmt: skip

PEOPLE = (
    listed(
        "people", "people", "people", PersonTold, models.Person.objects.all, "The people who work or worked here.",
        filters=(by_truth("active", "whether they still work here"),),
    ),
    doing(
        "POST", "people", workshop.add_person, "people", PersonTold,
        takes=(text("name", "name of the person", "AB", needed=True),), status=201,
    ),
    one("people/{int:number}", "person", "people", records.PERSON, PersonTold, "One person."),
    doing(
        "PATCH", "people/{int:number}", workshop.change_person, "people", PersonTold, about=records.PERSON,
        takes=(text("name", "name of the person", "AB", needed=True), *_PREFERENCES), changes=True,
    ),
    doing(
        "PATCH", "people/{int:number}/preferences", workshop.set_preferences, "people", PersonTold,
        about=records.PERSON, takes=_PREFERENCES, changes=True,
    ),
    *out_of_use_and_back(records.PERSON, "people", "person", PersonTold),
)  # fmt: skip

PLACES = (
    listed("places", "places", "places", PlaceTold, models.Place.objects.all, "The places where machines work."),
    doing("POST", "places", units.add_place, "places", PlaceTold, takes=(_NAME,), status=201),
    one("places/{int:number}", "place", "places", records.PLACE, PlaceTold, "One place."),
    doing(
        "PUT", "places/{int:number}", units.change_place, "places", PlaceTold,
        about=records.PLACE, takes=(_NAME,), changes=True,
    ),
    *out_of_use_and_back(records.PLACE, "places", "place", PlaceTold),
)  # fmt: skip

_PLACE = record("place", models.Place, "where it works, by its id; null: nowhere in particular")

MACHINES = (
    listed(
        "machines", "machines", "machines", MachineTold, records.machines, "The machines.",
        filters=(by_number("place", "place"),),
    ),
    doing("POST", "machines", units.add_machine, "machines", MachineTold, takes=(_NAME, _PLACE), status=201),
    one("machines/{int:number}", "machine", "machines", records.MACHINE, MachineTold, "One machine."),
    doing(
        "PUT", "machines/{int:number}", units.change_machine, "machines", MachineTold,
        about=records.MACHINE, takes=(_NAME, _PLACE), changes=True,
    ),
    *out_of_use_and_back(records.MACHINE, "machines", "machine", MachineTold),
)  # fmt: skip

_MACHINE = record("machine", models.Machine, "the machine it sits on, by its id; null: on the shelf")
_POSITION = text("position", "where on the machine", "front left")
_SPECS = (
    table("carrier", KnifeSection, "what carries the knife: entries of [knife] that belong to the unit",
          component="KnifeTable"),
    table("height", HeightSection, "rollers and height of cut", component="HeightTable"),
    table("mowing", MowingSection, "how it is driven", component="MowingTable"),
)  # fmt: skip
_PATTERN = text("pattern", "which part the adjuster moves: 'knife up' or 'reel down'", "knife up")

UNITS = (
    listed(
        "units", "units", "units", UnitTold, records.units, "The cutting units.",
        filters=(by_number("machine", "machine"), by_truth("active", "whether it is in use")),
        lookups={"machine": "position__machine"},
    ),
    doing(
        "POST", "units", units.add_unit, "units", UnitTold,
        takes=(text("name", "name or number of the unit", "unit 3", needed=True), _MACHINE, _POSITION, _PATTERN,
               *_SPECS),
        status=201,
    ),
    one("units/{int:number}", "unit", "units", records.UNIT, UnitTold, "One cutting unit, and what is fitted."),
    doing(
        "PATCH", "units/{int:number}", units.change_unit, "units", UnitTold, about=records.UNIT, changes=True,
        takes=(text("name", "name or number of the unit", "unit 3"), _PATTERN, *_SPECS,
               read("active", Switch("whether it is in use", True))),
    ),
    doing(
        "PUT", "units/{int:number}/position", units.place_unit, "units", UnitTold, about=records.UNIT, changes=True,
        takes=(replace(_MACHINE, needed=True, nullable=True), _POSITION),
    ),
    *out_of_use_and_back(records.UNIT, "units", "unit", UnitTold),
)  # fmt: skip

ROUTES = (*WORKSHOP, *PEOPLE, *PLACES, *MACHINES, *UNITS)
