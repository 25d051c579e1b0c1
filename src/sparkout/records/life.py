"""All that happened to one unit, one reel or one knife: in a constant number of queries however long the life."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from django.db.models import Q

from sparkout.records.models import (
    Attachment,
    Event,
    Fitting,
    HoursEntry,
    KeptFigures,
    Knife,
    Reel,
    Unit,
    Visit,
)
from sparkout.records.models.visits import SET_ASIDE, SIGNED
from sparkout.records.operations.doing import one_transaction

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Mapping


@dataclass(frozen=True, slots=True)
class Life:
    """What is on file, each list from the oldest to the newest. Visits come without the files they were signed as."""

    visits: list[Visit]
    fittings: list[Fitting]
    """Of a unit its reels and knives; of a part the units it was in."""
    hours: list[HoursEntry]
    """The clocks of all units concerned."""
    events: list[Event]
    attachments: list[Attachment]
    """Those taken away included."""
    kept: dict[int, Any] = field(default_factory=dict)
    """Figures kept of signed visits, by visit."""

    @property
    def drawn_visits(self) -> list[Visit]:
        """Visits that count: neither set aside nor corrected by a later one."""
        corrected = {visit.corrects_id for visit in self.visits if visit.state != SET_ASIDE}
        return [visit for visit in self.visits if visit.state != SET_ASIDE and visit.pk not in corrected]

    @property
    def opened(self) -> Visit | None:
        """The visit that is open."""
        return next((visit for visit in self.visits if visit.is_open), None)


@dataclass(frozen=True, slots=True)
class UnitLife(Life):
    """A unit's life."""

    unit: Unit = field(kw_only=True)


@dataclass(frozen=True, slots=True)
class PartLife(Life):
    """A reel's or knife's life, in whichever units it was."""

    part: Reel | Knife = field(kw_only=True)


def _visits(query: Any, made_by: str) -> tuple[list[Visit], dict[int, Any]]:
    related = ("unit", "reel", "knife", "hours_entry")
    visits: list[Visit] = list(query.select_related(*related).defer("as_signed", "own").order_by("date", "pk"))
    kept = KeptFigures.objects.filter(visit__in=query, made_by=made_by) if made_by else KeptFigures.objects.none()
    return visits, dict(kept.values_list("visit", "figures"))


def unit_life(unit: Unit, made_by: str = "") -> UnitLife:
    """Return a unit's life: visits, swaps, hours, events at its place, to its machine or to itself, and attachments.

    Figures of its visits come with it when they were kept by the calculations of this digest. Seven queries.
    """
    whole = Unit.objects.select_related("position__machine__place").get(pk=unit.pk)
    visits, kept = _visits(whole.visits.all(), made_by)
    return UnitLife(
        visits=visits,
        fittings=list(whole.fittings.select_related("reel__type", "knife__type", "unit").order_by("since", "pk")),
        hours=list(whole.hours_entries.order_by("on", "pk")),
        events=list(Event.objects.filter(_happened_to([whole])).order_by("on", "pk")),
        attachments=_attachments(Q(unit=whole)),
        kept=kept,
        unit=whole,
    )


def part_life(part: Reel | Knife, made_by: str = "") -> PartLife:
    """Return a part's life: the units it was in, its visits there, and what happened there while it was in."""
    name = "reel" if isinstance(part, Reel) else "knife"
    visits, kept = _visits(Visit.objects.filter(**{name: part}), made_by)
    related = ("unit__position__machine__place",)
    fittings = list(Fitting.objects.filter(**{name: part}).select_related(*related).order_by("since", "pk"))
    units = list({fitting.unit_id: fitting.unit for fitting in fittings}.values())
    numbers = {visit.pk for visit in visits}
    return PartLife(
        visits=visits,
        fittings=fittings,
        hours=list(HoursEntry.objects.filter(unit__in=units).select_related("unit").order_by("on", "pk")),
        events=[
            event
            for event in Event.objects.filter(_happened_to(units)).order_by("on", "pk")
            if any(_while_in(fitting, event.on) and _concerns(event, fitting.unit) for fitting in fittings)
        ],
        attachments=[
            attached
            for attached in _attachments(Q(unit__in=units))
            if attached.visit_id in numbers or (attached.visit_id is None and _while_any(fittings, attached))
        ],
        kept=kept,
        part=part,
    )


def _happened_to(units: list[Unit]) -> Q:
    there = Q(unit__in=units)
    machines = {unit.position.machine for unit in units if unit.position is not None}
    return there | Q(machine__in=machines) | Q(place__in={m.place_id for m in machines if m.place_id is not None})


def _concerns(event: Event, unit: Unit) -> bool:
    machine = unit.position.machine if unit.position is not None else None
    return event.unit_id == unit.pk or (
        machine is not None
        and (event.machine_id == machine.pk or (event.place_id is not None and event.place_id == machine.place_id))
    )


def _while_in(fitting: Fitting, day: datetime.date) -> bool:
    return fitting.since <= day and (fitting.until is None or day <= fitting.until)


def _while_any(fittings: list[Fitting], attached: Attachment) -> bool:
    day = attached.day
    return any(fitting.unit_id == attached.unit_id and _while_in(fitting, day) for fitting in fittings)


def _attachments(wanted: Q) -> list[Attachment]:
    return list(Attachment.objects.filter(wanted).select_related("added_by", "removed_by", "visit").order_by("pk"))


def attachments_of(visit: Visit) -> list[Attachment]:
    """Return a visit's photographs and recordings, those taken away included."""
    return _attachments(Q(visit=visit))


def attachments_of_unit(unit: Unit) -> list[Attachment]:
    """Return a unit's photographs and recordings, those taken away included."""
    return _attachments(Q(unit=unit))


def signed_files(visits: Iterable[int]) -> dict[int, str]:
    """Return the files that visits were signed as."""
    numbers = list(visits)
    if not numbers:
        return {}
    found = Visit.objects.filter(pk__in=numbers, state=SIGNED).values_list("pk", "as_signed")
    return {number: file for number, file in found if file is not None}


def keep_figures(figures: Mapping[int, Any], made_by: str) -> None:
    """Keep figures of signed visits; those of other calculations give way. Nothing a person did: no history line."""
    if not figures:
        return
    with one_transaction():
        KeptFigures.objects.filter(visit__in=list(figures)).delete()
        KeptFigures.objects.bulk_create(
            [KeptFigures(visit_id=visit, made_by=made_by, figures=told) for visit, told in figures.items()],
            ignore_conflicts=True,
        )
