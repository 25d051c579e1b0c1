"""What the records know of a unit that answers findings, each with the page it is from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from django.urls import reverse

from sparkout.core.days import dated
from sparkout.core.errors import Refusal
from sparkout.core.faults.diagnosis import Answer
from sparkout.core.phrase import counted, phrase
from sparkout.reckoning.known_faults import known_from_visit
from sparkout.reckoning.reckon import reckon
from sparkout.recording.kept import hearing_from_data
from sparkout.records.operations.doing import today
from sparkout.records.operations.hearing import last_heard
from sparkout.records.queries import unit_life, visit_file
from sparkout.records.season import sheet_now
from sparkout.records.tables import visits_with_work
from sparkout.season.this_edge import this_edge
from sparkout.web.season.seen import units_seen

if TYPE_CHECKING:
    from sparkout.core.faults.tables import Tables
    from sparkout.records.life import UnitLife
    from sparkout.records.models import Unit

LATELY = {"sand": timedelta(days=14), "stone": timedelta(days=30), "ground": timedelta(days=7)}
"""How long an event counts as lately (our own choice)."""


@dataclass(frozen=True, slots=True)
class OnFile:
    """An answer from the records and where it can be looked at."""

    answer: Answer
    address: str


def on_file(unit: Unit, tables: Tables) -> tuple[OnFile, ...]:
    """Return what the unit's last visit, its edge, its recordings and the events of late answer."""
    life = unit_life(unit)
    return (
        *_of_last_visit(life, tables),
        *_of_events(life, tables),
        *_of_grinding(life, tables),
        *_of_work_since(unit, tables),
        *_of_recording(life, tables),
    )


def _of_last_visit(life: UnitLife, tables: Tables) -> list[OnFile]:
    if not life.drawn_visits:
        return []
    last = life.drawn_visits[-1]
    try:
        found = known_from_visit(reckon(visit_file(last)), tables)
    except Refusal:  # its page says why; here it only knows nothing
        return []
    return [OnFile(answer, reverse("visit", args=[last.pk])) for answer in found]


def _of_grinding(life: UnitLife, tables: Tables) -> list[OnFile]:
    """Return what the day of the last visit that ground the reel answers: ground lately, or not."""
    ground = _ground(life)
    last = next((visit for visit in reversed(life.drawn_visits) if visit.pk in ground), None)
    if last is None or last.date is None:
        return []
    lately = today() - last.date <= LATELY["ground"]
    source = phrase("ground at the visit of {day}", day=dated(last.date))
    address = reverse("visit", args=[last.pk])
    names = [finding.id for finding in tables.findings if finding.record == "ground"]
    return [OnFile(Answer(name, 1.0 if lately else 0.0, source), address) for name in names]


def _ground(life: UnitLife) -> set[int]:
    visits = [visit.pk for visit in life.drawn_visits]
    return visits_with_work(visits, ("spin grind", "relief grind", "knife grind"))


def _of_work_since(unit: Unit, tables: Tables) -> list[OnFile]:
    """Return what the hours on this edge answer, against how long an edge lasts here."""
    names = [finding.id for finding in tables.findings if finding.record == "hours"]
    seen = units_seen() if names else None
    mine = None if seen is None else next((u for u in seen.units if seen.numbers[u.name] == unit.pk), None)
    found = None if seen is None or mine is None else this_edge(mine, seen.units, sheet_now())
    if found is None:
        return []
    if found.edges:
        source = counted(
            found.edges,
            "{hours:.0f} h on this edge; half have gone by {usual:.0f} h, by {n} edge on file",
            "{hours:.0f} h on this edge; half have gone by {usual:.0f} h, by {n} edges on file",
            hours=found.hours,
            usual=found.usual,
        )
    else:
        source = phrase(
            "{hours:.0f} h on this edge; the season sheet sets {usual:.0f} h", hours=found.hours, usual=found.usual
        )
    return [OnFile(Answer(name, found.gone, source), reverse("unit", args=[unit.pk])) for name in names]


def _of_recording(life: UnitLife, tables: Tables) -> list[OnFile]:
    """Return what the last recording since any work on the bearings answers.

    A line named is a yes but for its chance in noise; none named is a no only where the recording could show them all.
    """
    names = [finding.id for finding in tables.findings if finding.record == "recording"]
    done = visits_with_work([visit.pk for visit in life.drawn_visits], ("bearings",)) if names else set()
    worked = max((visit.date for visit in life.drawn_visits if visit.pk in done and visit.date), default=None)
    heard = last_heard(life.unit.pk) if names else None
    if heard is None or (worked is not None and heard.attachment.day <= worked):
        return []
    told = hearing_from_data(heard.told).bearing
    if told is None or (told.fault is None and told.cannot):
        return []
    yes = 0.0 if told.fault is None else 1.0 - told.fault.by_chance
    day = dated(heard.attachment.day)
    if told.fault is None:
        source = phrase("recording of {day}: no line of damage", day=day)
    else:
        source = phrase("recording of {day}: {fault}", day=day, fault=phrase(told.fault.fault))
    address = reverse("attachment", args=[heard.attachment.pk])
    return [OnFile(Answer(name, yes, source), address) for name in names]


def _of_events(life: UnitLife, tables: Tables) -> list[OnFile]:
    found = []
    for finding in tables.findings:
        since = LATELY.get(finding.record) if finding.record != "ground" else None
        event = next((e for e in reversed(life.events) if since and e.kind == finding.record), None)
        if event is not None and since is not None and today() - event.on <= since:
            source = phrase("recorded on {day}", day=dated(event.on))
            found.append(OnFile(Answer(finding.id, 1.0, source), reverse("event", args=[event.pk])))
    return found
