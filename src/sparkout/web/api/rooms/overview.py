"""The whole at a glance: board, search, the life of a unit or a part, history."""

from __future__ import annotations

import datetime
from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from sparkout.records.board import NEXT, board
from sparkout.records.life import Life, part_life, unit_life
from sparkout.records.queries import search
from sparkout.visit.words import Text, Whole
from sparkout.web.api import records
from sparkout.web.api.body import Body, read
from sparkout.web.api.making import PAGING, by_number, listed, page_of
from sparkout.web.api.route import Named, Route
from sparkout.web.api.told.happened import AttachmentTold, EventTold, HistoryTold, HoursTold, VisitTold
from sparkout.web.api.told.things import FittingTold
from sparkout.web.api.units import number_of

if TYPE_CHECKING:
    from ninja import Schema

    from sparkout.records.board import BoardRow
    from sparkout.web.api.route import Ask

_KEPT = ("visits", "fittings", "hours", "events", "attachments")


def _board(ask: Ask) -> dict[str, Any]:
    found = page_of(records.units().filter(active=True).prefetch_related(None), ask.query)
    rows = {row.unit.pk: row for row in board([unit.pk for unit in found["items"]])}
    return {**found, "items": [_row(rows[unit.pk]) for unit in found["items"]]}


def _row(row: BoardRow) -> dict[str, Any]:
    since = row.hours_since
    return {
        "unit": {"id": row.unit.pk, "name": row.unit.name},
        "place": row.place or None,
        "machine": row.machine or None,
        "position": row.position or None,
        "open_visit": row.open_visit and _visit(asdict(row.open_visit)),
        "next_step": row.next_step or None,
        "last_signed": row.last_signed and _visit(asdict(row.last_signed)),
        "hours": row.hours,
        "hours_h": number_of(row.hours, "time", "h"),
        "hours_since_signed_h": None if since is None else since / 3600,
    }


def _visit(told: dict[str, Any]) -> dict[str, Any]:
    plain = {key: value.isoformat() if isinstance(value, datetime.date) else value for key, value in told.items()}
    return {"id": plain.pop("pk"), **plain}


def _search(ask: Ask) -> dict[str, Any]:
    found = search(ask.query["text"])
    return {
        "items": [{"kind": f.kind, "id": f.pk, "label": f.label, "detail": f.detail} for f in found],
        "next": None,
    }


def _told(schema: type[Schema], things: list[Any]) -> list[dict[str, Any]]:
    return [schema.model_validate(thing).model_dump(mode="json") for thing in things]


def _life(life: Life) -> dict[str, Any]:
    numbers = [visit.pk for visit in life.visits]
    visits = {visit.pk: visit for visit in records.visits().filter(pk__in=numbers)}
    events = {event.pk: event for event in records.events().filter(pk__in=[event.pk for event in life.events])}
    hours = {entry.pk: entry for entry in records.hours().filter(pk__in=[entry.pk for entry in life.hours])}
    fittings = {f.pk: f for f in records.fittings().filter(pk__in=[f.pk for f in life.fittings])}
    attached = {a.pk: a for a in records.attachments().filter(pk__in=[a.pk for a in life.attachments])}
    return {
        "visits": _told(VisitTold, [visits[number] for number in numbers]),
        "fittings": _told(FittingTold, [fittings[f.pk] for f in life.fittings]),
        "hours": _told(HoursTold, [hours[entry.pk] for entry in life.hours]),
        "events": _told(EventTold, [events[event.pk] for event in life.events]),
        "attachments": _told(AttachmentTold, [attached[a.pk] for a in life.attachments]),
    }


def _life_of(path: str, kind: str, about: Named) -> Route:
    return Route(
        "GET", f"{path}/{{int:number}}/life", f"{kind}_life", path,
        lambda ask: _life(unit_life(ask.record) if kind == "unit" else part_life(ask.record)), about=about,
        words=f"The life of a {kind}, each list from the oldest: visits, fittings, hours, events, attachments. "
        "What a visit came to stands at its plan.",
        example={name: [] for name in _KEPT},
    )  # fmt: skip


_TEXT = read("text", Text("words, all of which are to be found", "unit 3", 200, 1), needed=True)

ROUTES = (
    Route(
        "GET", "board", "board", "overview", _board, asks=Body(PAGING),
        words=f"The units in use: where each is, its open visit and what comes next there ({', '.join(NEXT)}), "
        "and its hours since it was last signed.",
        example={"items": [], "next": None},
    ),
    Route(
        "GET", "search", "search", "overview", _search, asks=Body((_TEXT,)),
        words="What holds all the words: units, visits, machines, places, parts, gauges, people; a few of each kind.",
        example={"items": [{"kind": "unit", "id": 1, "label": "unit 3", "detail": "nine holes"}], "next": None},
    ),
    _life_of("units", "unit", records.UNIT),
    _life_of("reels", "reel", records.REEL),
    _life_of("knives", "knife", records.KNIFE),
    listed(
        "history", "history", "overview", HistoryTold, records.history,
        "Who did what and when, what was and what became; the newest first.", newest_first=True,
        filters=(
            by_number("visit", "visit"), by_number("who", "person"),
            read("action", Text("only this action", "record_reading", 40)),
            read("subject", Text("only of this kind of thing, with its id as subject_id", "gauge", 20)),
            read("subject_id", Whole("the id of the thing", 1, 1, 2**62)),
        ),
    ),
)  # fmt: skip
