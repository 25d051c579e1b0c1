"""What the workshop's records answer. Everything about a unit's state comes from `visit_file` and `reckon` alone."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import Q

from sparkout.records.board import BoardRow, board, next_steps
from sparkout.records.life import PartLife, UnitLife, part_life, unit_life
from sparkout.records.models import (
    Gauge,
    HistoryLine,
    Knife,
    Machine,
    Person,
    Place,
    Reel,
    Unit,
    Visit,
)
from sparkout.records.tables import visit_tables, whole_visit
from sparkout.visit.checking import checked

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.records.checked import Table
    from sparkout.visit.schema import Visit as VisitFile


__all__ = [
    "BoardRow",
    "Found",
    "PartLife",
    "UnitLife",
    "board",
    "history_of",
    "next_steps",
    "part_life",
    "search",
    "unit_life",
    "visit_file",
]


def visit_file(visit: Visit, choices: Mapping[str, Table] | None = None) -> VisitFile:
    """Return the visit as a visit file: the one bridge from the records to `reckon`.

    A signed visit is the file that was signed. `choices` ({"wanted": {...}, "grinder": {...}}) stand in for the plan
    kept last: what if.

    Raises
    ------
    VisitProblems
        When the records contradict each other, as after a reel with fewer blades was entered.
    """
    if visit.as_signed is not None:
        return checked(json.loads(visit.as_signed), lambda _: None)
    return checked(visit_tables(whole_visit(visit.pk), choices), lambda _: None)


def history_of(visit: Visit) -> list[HistoryLine]:
    """Return what was done during a visit, last first."""
    return list(visit.history.select_related("who").order_by("-pk"))


@dataclass(frozen=True, slots=True)
class Found:
    """One thing found by a search."""

    kind: str
    pk: int
    label: str
    detail: str


_MOST_FOUND = 20


def search(text: str) -> list[Found]:
    """Return what holds all the words, best known things first; at most a few of each kind.

    One query for each kind of thing.
    """
    words = text.split()[:8]
    if not words:
        return []
    found = [
        Found("unit", unit.pk, str(unit), unit.position.machine.place.name if _placed(unit) else "")
        for unit in _holding(
            Unit.objects.select_related("position__machine__place"),
            words,
            ("name", "position__name", "position__machine__name", "position__machine__place__name"),
        )
    ]
    found += [
        Found("visit", visit.pk, str(visit), visit.complaint or visit.notes or "")
        for visit in _holding(
            Visit.objects.select_related("unit").order_by("-date"),
            words,
            ("unit__name", "complaint", "notes", "technician"),
        )
    ]
    kinds: list[tuple[str, Any, tuple[str, ...], str]] = [
        ("machine", Machine.objects.select_related("place"), ("name", "place__name"), "place"),
        ("place", Place.objects, ("name",), ""),
        ("reel", Reel.objects.select_related("type"), ("label", "type__name"), "type"),
        ("knife", Knife.objects.select_related("type"), ("label", "type__name"), "type"),
        ("gauge", Gauge.objects, ("name", "kind"), "kind"),
        ("person", Person.objects.filter(active=True), ("name",), ""),
    ]
    for kind, query, columns, detail in kinds:
        for thing in _holding(query, words, columns):
            found.append(Found(kind, thing.pk, str(thing), str((detail and getattr(thing, detail)) or "")))
    return found


def _placed(unit: Unit) -> bool:
    return unit.position is not None and unit.position.machine.place is not None


def _holding(query: Any, words: list[str], columns: tuple[str, ...]) -> Any:
    for word in words:
        either = Q()
        for column in columns:
            either |= Q(**{f"{column}__icontains": word})
        query = query.filter(either)
    return query[:_MOST_FOUND]
