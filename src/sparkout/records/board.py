"""Every unit at a glance, in a constant number of queries however many there are."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from django.db.models import OuterRef, Q, Subquery

from sparkout.records.models import (
    Cell,
    HoursEntry,
    PaperProof,
    Reading,
    Unit,
    Visit,
    WorkDone,
)
from sparkout.records.models.visits import OPEN, SIGNED
from sparkout.records.tables import standing
from sparkout.units import parse

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable

    from django.db.models import QuerySet

NEXT = ("measure reel", "decide", "grind", "check", "prove", "sign")
"""What comes next of an open visit, in the order of the work."""


@dataclass(frozen=True, slots=True)
class UnitInRow:
    """A unit as the board needs it: the whole of a few thousand would take most of a second."""

    pk: int
    name: str


@dataclass(frozen=True, slots=True)
class VisitInRow:
    """A visit as the board needs it."""

    pk: int
    date: datetime.date | None
    technician: str | None
    complaint: str | None
    signed_on: datetime.date | None


_VISIT = tuple(VisitInRow.__dataclass_fields__)


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One unit: where it is, its open visit and what comes next there, and how it stands since it was last signed.

    `hours` is the unit's clock as last read, `hours_then` as read at the last signed visit, both as typed.
    """

    unit: UnitInRow
    place: str
    machine: str
    position: str
    open_visit: VisitInRow | None
    next_step: str
    last_signed: VisitInRow | None
    hours: str | float | None
    hours_then: str | float | None

    @property
    def hours_since(self) -> float | None:
        """Clock now less clock then, in seconds as all times in core units; None when unknown or the clock changed."""
        if self.hours is None or self.hours_then is None:
            return None
        run = parse(self.hours, "time", "h") - parse(self.hours_then, "time", "h")
        return run if run >= 0 else None


IN_ORDER = ("position__machine__place__name", "position__machine__name", "position__pk", "name")
"""The board's order: by place, machine and position."""


def board(units: Iterable[int] | None = None) -> list[BoardRow]:
    """Return the units in use (or those numbered), in the board's order; seven queries."""
    asked = Unit.objects.filter(active=True) if units is None else Unit.objects.filter(pk__in=list(units))
    return rows_of(asked.order_by(*IN_ORDER), whole=units is None)


def rows_of(asked: QuerySet[Unit], *, whole: bool = False) -> list[BoardRow]:
    """Return the units asked for, in the order asked for; seven queries.

    With `whole`, all units in use are asked for: then what comes next is told of every open visit at once.
    """
    numbers = list(asked.values_list("pk", flat=True))  # first, or a database works the rest out for all it sorts
    signed = Visit.objects.filter(unit=OuterRef("pk"), state=SIGNED).order_by("-signed_on", "-pk")
    clock = HoursEntry.objects.filter(unit=OuterRef("pk")).order_by("-on", "-pk")
    position = "position__machine__place__name", "position__machine__name", "position__name"
    rows = Unit.objects.filter(pk__in=numbers).annotate(
        signed_pk=Subquery(signed.values("pk")[:1]), now_hours=Subquery(clock.values("hours")[:1])
    )
    by_number = {row[0]: row for row in rows.values_list("pk", "name", *position, "signed_pk", "now_hours")}
    found = [by_number[number] for number in numbers if number in by_number]
    wanted = Q(state=OPEN) if whole else Q(state=OPEN, unit__in=[row[0] for row in found])
    wanted |= Q(pk__in=[row[5] for row in found if row[5]])
    opened: dict[int, VisitInRow] = {}
    last: dict[int, tuple[VisitInRow, Any]] = {}
    for unit, state, then, *told in Visit.objects.filter(wanted).values_list(
        "unit", "state", "hours_entry__hours", *_VISIT
    ):
        if state == OPEN:
            opened[unit] = VisitInRow(*told)
        else:
            last[told[0]] = VisitInRow(*told), then
    steps = next_steps(None if whole else [opened[row[0]].pk for row in found if row[0] in opened])
    return [_row(told, opened.get(told[0]), steps, last) for told in found]


def _row(
    told: tuple[Any, ...], visit: VisitInRow | None, steps: dict[int, str], last: dict[int, tuple[VisitInRow, Any]]
) -> BoardRow:
    pk, name, place, machine, position, signed, now = told
    last_signed, then = last.get(signed, (None, None))
    return BoardRow(
        unit=UnitInRow(pk, name),
        place=place or "",
        machine=machine or "",
        position=position or "",
        open_visit=visit,
        next_step=steps.get(visit.pk, NEXT[0]) if visit else "",
        last_signed=last_signed,
        hours=now,
        hours_then=then,
    )


def open_visits_by_step(step: str) -> list[int]:
    """Return the open visits where this is what comes next, by number; five queries."""
    opened = list(Visit.objects.filter(state=OPEN).values_list("pk", flat=True))
    steps = next_steps()
    return [pk for pk in opened if steps.get(pk, NEXT[0]) == step]


def next_steps(visits: Iterable[int] | None = None) -> dict[int, str]:
    """Return what comes next of each visit (else of every open one that has entries), told from those; four queries."""
    pks = None if visits is None else list(visits)
    seen: dict[int, set[str]] = defaultdict(set)

    def entries(kind: type[Any], visit: str = "visit") -> Any:
        these = {f"{visit}__state": OPEN} if pks is None else {f"{visit}__in": pks}
        return standing(kind).filter(**these).order_by()

    if pks == []:
        return {}
    for pk, when in entries(Reading).values_list("visit", "when").distinct():
        seen[pk].add(when)
    cells = entries(Cell, "sweep__visit").filter(sweep__withdrawn_at=None)
    for pk, when in cells.values_list("sweep__visit", "sweep__when").distinct():
        seen[pk].add(when)
    for pk, entry in entries(WorkDone).values_list("visit", "entry"):
        seen[pk].add(entry["step"])
    for pk, entry in entries(PaperProof).values_list("visit", "entry"):
        seen[pk].add(f"paper {entry.get('when', 'as left')}")
    return {pk: _next(seen[pk]) for pk in (list(seen) if pks is None else pks)}


_GROUND = {"spin grind", "relief grind", "knife grind"}


def _next(seen: set[str]) -> str:
    if "paper as left" in seen:
        return "sign"
    if "as left" in seen or seen & {"set", "prove"}:
        return "prove"
    if seen & _GROUND:
        return "check"
    if seen & {"set up grinder", "wheel mounting"}:
        return "grind"
    return "decide" if "as found" in seen else "measure reel"
