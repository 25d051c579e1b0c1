"""What the records know of a unit that answers findings, each with the page it is from."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from typing import TYPE_CHECKING

from django.urls import reverse

from sparkout.core.days import dated
from sparkout.core.errors import Refusal
from sparkout.core.faults.diagnosis import Answer
from sparkout.core.phrase import phrase
from sparkout.reckoning.known_faults import known_from_visit
from sparkout.reckoning.reckon import reckon
from sparkout.records.operations.doing import today
from sparkout.records.queries import unit_life, visit_file
from sparkout.records.tables import visits_with_work

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
    """Return what the unit's last visit and the events of late answer."""
    life = unit_life(unit)
    return (*_of_last_visit(life, tables), *_of_events(life, tables), *_of_grinding(life, tables))


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
    source = phrase("ground at the visit of {day}", day=last.date.isoformat())
    address = reverse("visit", args=[last.pk])
    names = [finding.id for finding in tables.findings if finding.record == "ground"]
    return [OnFile(Answer(name, 1.0 if lately else 0.0, source), address) for name in names]


def _ground(life: UnitLife) -> set[int]:
    visits = [visit.pk for visit in life.drawn_visits]
    return visits_with_work(visits, ("spin grind", "relief grind", "knife grind"))


def _of_events(life: UnitLife, tables: Tables) -> list[OnFile]:
    found = []
    for finding in tables.findings:
        since = LATELY.get(finding.record) if finding.record != "ground" else None
        event = next((e for e in reversed(life.events) if since and e.kind == finding.record), None)
        if event is not None and since is not None and today() - event.on <= since:
            source = phrase("recorded on {day}", day=dated(event.on))
            found.append(OnFile(Answer(finding.id, 1.0, source), reverse("event", args=[event.pk])))
    return found
