"""Visits and what grows during them; hours, events, attachments; the history."""

from __future__ import annotations

import datetime
from typing import Any

from ninja import Schema

from sparkout.records.models import Cell
from sparkout.records.tables import reading_row, standing, sweep_row
from sparkout.visit.entered import Typed
from sparkout.web.api.told.parts import (
    Hours,
    Named,
    PaperTable,
    ReadingTable,
    SweepTable,
    WantedTable,
    WorkTable,
    numbered,
)

Day = datetime.date | None
Moment = datetime.datetime


class HoursTold(Schema):
    """A unit's clock as read on a day, and what was mown since the entry before."""

    id: int
    unit: Named
    visit: Named | None
    on: Day
    hours: Typed
    hours_h: Hours
    area: str | None
    corrects: int | None
    ended_at: Moment | None

    @staticmethod
    def resolve_hours_h(obj: Any) -> Any:
        """Return the hours as a number."""
        return obj.hours

    @staticmethod
    def resolve_corrects(obj: Any) -> int | None:
        """Return the entry it corrects."""
        found: int | None = obj.corrects_id
        return found


class EventTold(Schema):
    """Sand, a stone or something else that wears or harms."""

    id: int
    kind: str
    on: datetime.date
    place: Named | None
    machine: Named | None
    unit: Named | None
    note: str
    corrects: int | None
    ended_at: Moment | None

    @staticmethod
    def resolve_corrects(obj: Any) -> int | None:
        """Return the event it corrects."""
        found: int | None = obj.corrects_id
        return found


class VisitTold(Schema):
    """One unit's pass through the workshop."""

    id: int
    unit: Named
    reel: Named
    knife: Named | None
    grinder: Named | None
    state: str
    date: Day
    technician: str | None
    complaint: str | None
    notes: str | None
    hours: Typed | None
    hours_h: Hours
    wanted: WantedTable | None
    opened_at: Moment
    opened_by: Named
    signed_by: str | None
    signed_on: Day
    statement: str | None
    corrects: int | None
    corrected_by: int | None

    @staticmethod
    def resolve_hours(obj: Any) -> Any:
        """Return the clock as read."""
        return _clock(obj)

    @staticmethod
    def resolve_hours_h(obj: Any) -> Any:
        """Return the hours as a number."""
        return _clock(obj)

    @staticmethod
    def resolve_corrects(obj: Any) -> int | None:
        """Return the visit it corrects."""
        found: int | None = obj.corrects_id
        return found

    @staticmethod
    def resolve_corrected_by(obj: Any) -> int | None:
        """Return the visit that corrects it."""
        later = getattr(obj, "corrected_by", None)
        return later and later.pk


def _clock(visit: Any) -> Any:
    entry = getattr(visit, "hours_entry", None)
    return None if entry is None or entry.ended_at is not None else entry.hours


class _EntryTold(Schema):
    id: int
    visit_id: int
    version: int
    replaces: int | None
    entered_by: Named
    entered_at: Moment
    withdrawn: bool

    @staticmethod
    def resolve_replaces(obj: Any) -> int | None:
        """Return the entry it replaces."""
        found: int | None = obj.replaces_id
        return found

    @staticmethod
    def resolve_withdrawn(obj: Any) -> bool:
        """Return whether it counts no longer."""
        return bool(obj.is_withdrawn)


class ReadingTold(_EntryTold):
    """One reading, as the visit file's [[readings]] has it."""

    reading: ReadingTable

    @staticmethod
    def resolve_reading(obj: Any) -> dict[str, Any]:
        """Return it as typed, with its numbers."""
        return _plain(reading_row(obj))


class CellTold(_EntryTold):
    """One value of a sweep; row and column count from 0."""

    sweep_id: int
    row: int
    column: int
    value: Typed

    @staticmethod
    def resolve_visit_id(obj: Any) -> int:
        """Return the visit of its sweep."""
        return int(obj.sweep.visit_id)


class SweepTold(Schema):
    """A grid of readings on one set-up; `sweep` as the visit file has it, `cells` each value with its version."""

    id: int
    visit_id: int
    entered_by: Named
    entered_at: Moment
    withdrawn: bool
    sweep: SweepTable
    cells: list[CellTold]

    @staticmethod
    def resolve_withdrawn(obj: Any) -> bool:
        """Return whether it counts no longer."""
        return obj.withdrawn_at is not None

    @staticmethod
    def resolve_cells(obj: Any) -> list[Any]:
        """Return the values that count."""
        return list(standing(Cell).filter(sweep=obj).select_related("entered_by", "sweep"))

    @staticmethod
    def resolve_sweep(obj: Any) -> dict[str, Any]:
        """Return it as the visit file has it."""
        return _plain(sweep_row(obj, SweepTold.resolve_cells(obj)))


class WorkTold(_EntryTold):
    """A step of work as it was done."""

    work: WorkTable

    @staticmethod
    def resolve_work(obj: Any) -> Any:
        """Return it as [[work]] has it."""
        return obj.entry


class PaperTold(_EntryTold):
    """A paper proof."""

    paper: PaperTable

    @staticmethod
    def resolve_paper(obj: Any) -> Any:
        """Return it as [[paper]] has it."""
        return obj.entry


class KeptPlanTold(Schema):
    """Choices kept as the plan; of a visit the last one holds."""

    id: int
    visit_id: int
    choices: dict[str, dict[str, Any]]
    kept_by: Named
    kept_at: Moment

    @staticmethod
    def resolve_choices(obj: Any) -> dict[str, Any]:
        """Return the entries of [wanted] and [grinder]."""
        component = {"wanted": "WantedTable", "grinder": "GrinderTable"}
        return {name: numbered(component[name], table) for name, table in obj.choices.items()}


class AttachmentTold(Schema):
    """A photograph or recording; one taken away says by whom and why."""

    id: int
    unit: Named
    visit_id: int | None
    kind: str
    name: str
    content_type: str
    sha256: str
    size_bytes: int
    width_px: int | None
    height_px: int | None
    seconds: float | None
    step: str | None
    blade: int | None
    taken_on: Day
    note: str | None
    added_by: Named
    added_at: Moment
    removed_by: Named | None
    removed_at: Moment | None
    removed_why: str | None

    @staticmethod
    def resolve_size_bytes(obj: Any) -> int:
        """Return how large the file is."""
        return int(obj.size)

    @staticmethod
    def resolve_width_px(obj: Any) -> int | None:
        """Return how many pixels across."""
        found: int | None = obj.width
        return found

    @staticmethod
    def resolve_height_px(obj: Any) -> int | None:
        """Return how many pixels high."""
        found: int | None = obj.height
        return found


class HistoryTold(Schema):
    """One action: who, when, by which token, what was and what became."""

    id: int
    at: Moment
    who: Named
    by_api: Named | None
    action: str
    subject: str
    subject_id: int
    label: str
    visit_id: int | None
    before: Any
    after: Any

    @staticmethod
    def resolve_by_api(obj: Any) -> Any:
        """Return the token it was done through; nothing when the person did it themselves."""
        return obj.through


class TokenTold(Schema):
    """A token; never the token itself."""

    id: int
    name: str
    person: Named
    scope: str
    mark: str
    made_at: Moment
    used_at: Moment | None
    ended_at: Moment | None


def _plain(row: dict[str, Any]) -> dict[str, Any]:
    """Return a row with times of day as text."""
    return {key: value.isoformat() if isinstance(value, datetime.time) else value for key, value in row.items()}


class JobTold(Schema):
    """Work in the background: how far it is, and what came of it."""

    id: int
    kind: str
    about: int | None
    state: str
    done: int
    of: int
    message: str
    told: Any
    stop_asked: bool
    asked_by: Named
    asked_at: Moment
    started_at: Moment | None
    ended_at: Moment | None


class TableFileTold(Schema):
    """A file of tables somebody brought; `mapping` is what its columns are taken for."""

    id: int
    name: str
    sha256: str
    size_bytes: int
    mapping: Any
    with_changes: bool
    trial: JobTold | None
    entering: JobTold | None
    brought_by: Named
    brought_at: Moment

    @staticmethod
    def resolve_size_bytes(obj: Any) -> int:
        """Return how large the file is."""
        return int(obj.size)


class HearingTold(Schema):
    """A recording listened to: what was said beside it, and what it told (as `sparkout listen --json` has it)."""

    id: int
    attachment: int
    asked: Any
    told: Any
    state: str
    why_not: str
    asked_by: Named
    asked_at: Moment

    @staticmethod
    def resolve_attachment(obj: Any) -> int:
        """Return the recording."""
        return int(obj.attachment_id)

    @staticmethod
    def resolve_state(obj: Any) -> str:
        """Return how far it is: waiting, running, done, stopped, failed."""
        return str(obj.job.state)


class AuthorisationTold(Schema):
    """A person's leave to do a kind of work."""

    id: int
    person: Named
    work: str
    given_by: str
    since: datetime.date
    until: Day
    ended_at: Moment | None


class ExposureTold(Schema):
    """One task of somebody's day."""

    id: int
    person: Named
    on: datetime.date
    task: str
    hours: Typed
    vibration: Typed | None
    level: Typed | None
    dust: str
    origin: str
    ended_at: Moment | None


class FaultTableTold(Schema):
    """The workshop's own rows of fault finding; `text` is TOML."""

    id: int
    name: str
    text: str
    added_by: Named
    added_at: Moment
    ended_at: Moment | None
