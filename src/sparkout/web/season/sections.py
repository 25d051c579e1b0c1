"""The season sheet's parts as forms: what each asks, and how what was typed becomes a table of the sheet."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sparkout.core.phrase import phrase
from sparkout.season.sheet import (
    DAYS,
    FIVE_DAYS,
    GROUND,
    PHASES,
    Absence,
    Costs,
    Fetching,
    Hours,
    Occasion,
    Rule,
    SeasonSheet,
    Shelf,
    Station,
    Worker,
)
from sparkout.telling.season import PHASE_WORDS
from sparkout.visit.asked import Quantity
from sparkout.visit.fields import declared
from sparkout.web.shell.form import Field, Group, as_shown

if TYPE_CHECKING:
    from pydantic import BaseModel

_A_DAY = Quantity("", "7.5 h", "time", 0.0, 24.0, "h")
_DAY_WORDS = {
    "Mon": phrase("Monday"),
    "Tue": phrase("Tuesday"),
    "Wed": phrase("Wednesday"),
    "Thu": phrase("Thursday"),
    "Fri": phrase("Friday"),
    "Sat": phrase("Saturday"),
    "Sun": phrase("Sunday"),
}
CHOICE_WORDS = {**_DAY_WORDS, **PHASE_WORDS}
_HOURS_OF: dict[str, str] = {name: PHASE_WORDS[name] for name in PHASES}


@dataclass(frozen=True, slots=True)
class Choices:
    """A field that takes several words of a few."""

    title: str
    each: tuple[str, ...]


CHOICES = {
    "skills": Choices(phrase("Can do"), PHASES),
    "work": Choices(phrase("Does"), GROUND),
    "spared": Choices(phrase("Can be spared on"), DAYS),
}


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the sheet: its table, a section for each entry (or the only one), its words."""

    name: str
    section: type[BaseModel]
    many: str
    """Its heading."""
    one: str
    add: str
    labels: Mapping[str, str]
    """The fields in their order, with their labels."""
    listed: bool = True
    """Whether it is a list of entries."""


PARTS = {
    part.name: part
    for part in (
        Part(
            "people",
            Worker,
            phrase("People"),
            phrase("Somebody who works here"),
            phrase("Add somebody"),
            {
                "name": phrase("Name"),
                "skills": "",
                "week": phrase("Hours each day"),
                "overtime": phrase("Overtime a day at most"),
            },
        ),
        Part(
            "grinders",
            Station,
            phrase("Grinders"),
            phrase("A grinder"),
            phrase("Add a grinder"),
            {"name": phrase("Name"), "work": "", "week": phrase("Hours each day")},
        ),
        Part(
            "away",
            Absence,
            phrase("Away"),
            phrase("Somebody away, or a grinder out of work"),
            phrase("Add an absence"),
            {
                "who": phrase("Who, or which grinder"),
                "first": phrase("First day"),
                "last": phrase("Last day"),
                "note": phrase("Why"),
            },
        ),
        Part(
            "fresh",
            Occasion,
            phrase("To be fresh for"),
            phrase("A day to be fresh for"),
            phrase("Add a day to be fresh for"),
            {"at": phrase("Place, machine or unit"), "on": phrase("The day"), "name": phrase("What for")},
        ),
        Part(
            "machines",
            Rule,
            phrase("Machines"),
            phrase("What holds for a machine"),
            phrase("Add a machine"),
            {
                "name": phrase("Machine"),
                "spared": "",
                "hours_a_week": phrase("Hours it mows in a week"),
                "interval": phrase("Hours between sharpenings"),
                "importance": phrase("A late day counts times"),
            },
        ),
        Part(
            "parts",
            Shelf,
            phrase("Parts kept"),
            phrase("A kind of reel or knife as it is kept"),
            phrase("Add a part"),
            {
                "part": phrase("Type of reel or knife"),
                "on_shelf": phrase("On the shelf"),
                "lead_weeks": phrase("Weeks to come"),
                "pack": phrase("Come together"),
                "price": phrase("Price of one"),
            },
        ),
        Part(
            "fetching",
            Fetching,
            phrase("Places away"),
            phrase("A place whose machines are fetched"),
            phrase("Add a place away"),
            {"place": phrase("Place"), "travel": phrase("Hours there and back, once a day")},
        ),
        Part(
            "season",
            SeasonSheet,
            phrase("The season"),
            phrase("The season"),
            "",
            {
                "start": phrase("First day"),
                "weeks": phrase("Weeks"),
                "interval": phrase("Hours between sharpenings, usually"),
                "life_per_land": phrase("Life an edge keeps with each mm more of land"),
                "fresh_days": phrase("Days a sharpening counts as fresh"),
            },
            listed=False,
        ),
        Part(
            "hours",
            Hours,
            phrase("Hours of work"),
            phrase("Hours of work on one unit"),
            "",
            _HOURS_OF,
            listed=False,
        ),
        Part(
            "costs",
            Costs,
            phrase("What it costs"),
            phrase("What it costs, in your own money"),
            "",
            {
                "hour": phrase("An hour of work"),
                "overtime_hour": phrase("An hour of overtime"),
                "late_day": phrase("A late day"),
                "early_day": phrase("A day too early"),
                "wheel": phrase("Wheel used by one grind"),
                "sooner": phrase("Extra when the cut was spoilt"),
                "busier": phrase("How much busier or quieter a season may be"),
                "dearer": phrase("How much dearer or cheaper things may be"),
            },
            listed=False,
        ),
    )
}


def groups_of(part: Part, offered: Mapping[str, tuple[str, ...]]) -> list[Group]:
    """Return the form of one entry of a part; `offered` are names on file, by field."""
    plain: list[Field] = []
    groups: list[Group] = []
    for name, label in part.labels.items():
        if name in CHOICES:
            ticks = tuple(Field(f"{name}-{each}", label=CHOICE_WORDS[each], tick=True) for each in CHOICES[name].each)
            groups.append(Group(CHOICES[name].title, ticks))
        elif name == "week":
            days = tuple(Field(f"week-{day}", label=_DAY_WORDS[day], takes=_A_DAY) for day in DAYS)
            groups.append(Group(label, days))
        else:
            takes = declared(part.section, name)
            needed = part.section.model_fields[name].is_required()
            plain.append(Field(name, label=label, takes=takes, needed=needed, offered=offered.get(name, ())))
    return [Group("", tuple(plain)), *groups]


def boxes_of(part: Part, table: Mapping[str, Any]) -> dict[str, str]:
    """Return an entry of the sheet as it stands in the form's boxes."""
    shown: dict[str, str] = {}
    for name in part.labels:
        if name in CHOICES:
            have = table.get(name, CHOICES[name].each)
            shown |= {f"{name}-{each}": "on" if each in have else "" for each in CHOICES[name].each}
        elif name == "week":
            week = table.get("week") or [str(day.typed) for day in FIVE_DAYS]
            shown |= {f"week-{day}": as_shown(hours, _A_DAY) for day, hours in zip(DAYS, week, strict=False)}
        else:
            shown[name] = as_shown(table.get(name), declared(part.section, name))
    return shown


def table_of(part: Part, typed: Mapping[str, str | None]) -> dict[str, Any]:
    """Return what was typed as a table of the sheet: what was left empty is left out, a day without hours is 0."""
    table: dict[str, Any] = {}
    for name in part.labels:
        if name in CHOICES:
            table[name] = [each for each in CHOICES[name].each if typed.get(f"{name}-{each}")]
        elif name == "week":
            table[name] = [typed.get(f"week-{day}") or "0 h" for day in DAYS]
        elif (text := typed.get(name)) is not None:
            table[name] = text
    return table
