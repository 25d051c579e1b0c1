"""Reels and knives: their types, themselves, and in which unit they are."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.records import models
from sparkout.records.operations import fitted, moving, parts
from sparkout.visit.sections import KnifeSection, ReelSection
from sparkout.visit.words import Day, Switch
from sparkout.web.api import records
from sparkout.web.api.body import Field, read, record, table, text, typed
from sparkout.web.api.making import by_number, by_presence, doing, listed, one
from sparkout.web.api.rooms.workshop import out_of_use_and_back
from sparkout.web.api.told.things import FittingTold, KnifeTold, KnifeTypeTold, ReelTold, ReelTypeTold

if TYPE_CHECKING:
    from ninja import Schema

    from sparkout.visit.sections import Section
    from sparkout.web.api.route import Named, Route

HOURS_SCHEMA = {"type": ["string", "number"], "x-kind": "time", "x-unit": "h"}
_ON = read("on", Day("on which day; today when not said", "2026-11-25"))
_HOURS = Field("hours", "the unit's clock then", HOURS_SCHEMA, example="1240 h")
_LABEL = text("label", "a label of its own", "reel 7", needed=True)


def _types(kind: str, section: type[Section], about: Named, tells: type[Schema]) -> tuple[Route, ...]:
    path, tag, component = f"{kind}-types", f"{kind} types", f"{kind.capitalize()}Table"
    add = parts.add_reel_type if kind == "reel" else parts.add_knife_type
    name = text("name", "a name of its own", f"greens {kind}", needed=True)
    spec = table("spec", section, f"entries of [{kind}]: the whole table", needed=True, component=component)
    return (
        listed(path, f"{kind}_types", tag, tells, about.records, f"The types of {kind}."),
        doing("POST", path, add, tag, tells, takes=(name, spec), status=201),
        one(f"{path}/{{int:number}}", f"{kind}_type", tag, about, tells, f"One type of {kind}."),
        doing(
            "PUT", f"{path}/{{int:number}}", parts.change_type, tag, tells, about=about,
            takes=(text("name", "its name; the same when not said", f"greens {kind}"), spec),
            name=f"change_{kind}_type", changes=True,
        ),
        *out_of_use_and_back(about, path, f"{kind}_type", tells),
    )  # fmt: skip


def _parts(kind: str, section: type[Section], about: Named, tells: type[Schema]) -> tuple[Route, ...]:
    path, component = "reels" if kind == "reel" else "knives", f"{kind.capitalize()}Table"
    of_type = models.ReelType if kind == "reel" else models.KnifeType
    add = parts.add_reel if kind == "reel" else parts.add_knife
    spec = table("spec", section, "entries in which it differs from its type: all of them", component=component)
    return (
        listed(path, path, path, tells, about.records, f"The {path}.", filters=(by_number("type", f"{kind} type"),)),
        doing(
            "POST", path, add, path, tells, status=201,
            takes=(record("part_type", of_type, f"its type, by id: one of {kind}-types", needed=True), _LABEL, spec),
        ),
        one(f"{path}/{{int:number}}", kind, path, about, tells, f"One {kind}, and in which unit it is."),
        doing(
            "PUT", f"{path}/{{int:number}}", parts.change_part, path, tells,
            about=about, takes=(_LABEL, spec), name=f"change_{kind}", changes=True,
        ),
        doing(
            "POST", f"{path}/{{int:number}}/move", moving.move_part, path, tells, about=about, looked_at_anew=True,
            takes=(
                record("to", models.Unit, "the unit it goes to, by id; null: on the shelf", needed=True, nullable=True),
                _ON, _HOURS,
                Field("hours_there", "the clock of the unit it comes from", HOURS_SCHEMA, example="900 h"),
                read("swap", Switch("whether what the unit held goes where this comes from", False)),
            ),
            name=f"move_{kind}",
        ),
        *out_of_use_and_back(about, path, kind, tells),
    )  # fmt: skip


def _fitting(kind: str) -> tuple[Route, ...]:
    fit, remove = (parts.fit_reel, parts.remove_reel) if kind == "reel" else (parts.fit_knife, parts.remove_knife)
    part = models.Reel if kind == "reel" else models.Knife
    return (
        doing(
            "POST", f"units/{{int:number}}/fit-{kind}", fit, "units", FittingTold, about=records.UNIT, status=201,
            takes=(record(kind, part, f"the {kind}, by its id", needed=True), _ON, _HOURS),
        ),
        doing(
            "POST", f"units/{{int:number}}/remove-{kind}", remove, "units", FittingTold, about=records.UNIT,
            takes=(_ON, _HOURS),
        ),
    )  # fmt: skip


ROUTES = (
    *_types("reel", ReelSection, records.REEL_TYPE, ReelTypeTold),
    *_types("knife", KnifeSection, records.KNIFE_TYPE, KnifeTypeTold),
    *_parts("reel", ReelSection, records.REEL, ReelTold),
    *_parts("knife", KnifeSection, records.KNIFE, KnifeTold),
    *_fitting("reel"),
    *_fitting("knife"),
    listed(
        "fittings", "fittings", "units", FittingTold, records.fittings, "Which part was in which unit, and when.",
        filters=(by_number("unit", "unit"), by_number("reel", "reel"), by_number("knife", "knife"),
                 by_presence("out", "whether it has come out again")),
        lookups={"out": "until__isnull"},
    ),
    one("fittings/{int:number}", "fitting", "units", records.FITTING, FittingTold, "One part in one unit."),
    doing(
        "POST", "fittings/{int:number}/correct", fitted.correct_fitting, "units", FittingTold, about=records.FITTING,
        takes=(
            typed("since", Day("the day it was fitted", "2026-11-25"), needed=True),
            Field("since_hours", "the unit's clock then", HOURS_SCHEMA, example="1240 h"),
            typed("until", Day("the day it was taken out; only where it has come out", "2026-11-26")),
            Field("until_hours", "the unit's clock when it came out", HOURS_SCHEMA, example="1300 h"),
        ),
    ),
)  # fmt: skip
