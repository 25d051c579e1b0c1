"""What happened: hours run, sand and stones, and who did what in these records."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db import models
from django.db.models import Q

from sparkout.records.models.tokens import Token
from sparkout.records.models.typed import AsTyped
from sparkout.records.models.visits import Visit
from sparkout.records.models.workshop import Machine, Person, Place, Unit

EVENTS = [("sand", "sand topdressing"), ("stone", "stone or other hard hit"), ("other", "other")]


if TYPE_CHECKING:
    _Entries = models.Manager[Any]
else:
    _Entries = models.Manager


class Counting(_Entries):
    """The entries that count: neither corrected nor withdrawn."""

    def get_queryset(self) -> models.QuerySet[Any]:
        """Return them."""
        return super().get_queryset().filter(ended_at__isnull=True)


class HoursEntry(models.Model):
    """Hours since new on a unit's clock, and the area mown since the entry before; of a visit or read in between.

    A correction is a new entry that names the old one. `objects` are those that count.
    """

    objects = Counting()
    everything = models.Manager["HoursEntry"]()
    unit = models.ForeignKey(Unit, models.PROTECT, related_name="hours_entries")
    visit = models.OneToOneField(Visit, models.PROTECT, null=True, related_name="hours_entry")
    on = models.DateField(null=True)
    hours = AsTyped()
    area = AsTyped(null=True)
    corrects: models.OneToOneField[HoursEntry | None, HoursEntry | None] = models.OneToOneField(
        "self", models.PROTECT, null=True, related_name="corrected_by"
    )
    ended_at = models.DateTimeField(null=True)
    """When it was corrected or withdrawn."""

    class Meta:
        indexes = [models.Index(fields=["unit", "on"])]

    def __str__(self) -> str:
        return f"{self.unit.name}: {self.hours}"


class Event(models.Model):
    """Something on the turf that wears or harms: at a place, to a machine, or to one unit.

    A correction is a new event that names the old one. `objects` are those that count.
    """

    objects = Counting()
    everything = models.Manager["Event"]()
    kind = models.CharField(max_length=10, choices=EVENTS)
    on = models.DateField()
    place = models.ForeignKey(Place, models.PROTECT, null=True, related_name="events")
    machine = models.ForeignKey(Machine, models.PROTECT, null=True, related_name="events")
    unit = models.ForeignKey(Unit, models.PROTECT, null=True, related_name="events")
    note = models.CharField(max_length=500, blank=True)
    corrects: models.OneToOneField[Event | None, Event | None] = models.OneToOneField(
        "self", models.PROTECT, null=True, related_name="corrected_by"
    )
    ended_at = models.DateTimeField(null=True)
    """When it was corrected or withdrawn."""

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(place__isnull=False) | Q(machine__isnull=False) | Q(unit__isnull=False),
                name="an_event_happened_somewhere",
            )
        ]

    def __str__(self) -> str:
        return f"{self.kind}, {self.on}"


class HistoryLine(models.Model):
    """One action: who, when, what was and what became. With a key it is also the receipt by which a repeat is known."""

    at = models.DateTimeField()
    who = models.ForeignKey(Person, models.PROTECT, related_name="+")
    through = models.ForeignKey(Token, models.PROTECT, null=True, related_name="+")
    """The token of the program that did it on the person's behalf; None: they did it themselves."""
    action = models.CharField(max_length=40)
    subject = models.CharField(max_length=20)
    subject_id = models.BigIntegerField()
    label = models.CharField(max_length=300)
    visit = models.ForeignKey(Visit, models.PROTECT, null=True, related_name="history")
    before = AsTyped(null=True)
    after = AsTyped(null=True)
    key = models.UUIDField(null=True, unique=True)
    asked = models.CharField(max_length=64, blank=True)
    """SHA-256 of what was asked, when there is a key."""

    class Meta:
        indexes = [models.Index(fields=["subject", "subject_id"])]

    def __str__(self) -> str:
        return f"{self.who} {self.action} {self.label}"
