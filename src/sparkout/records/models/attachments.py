"""Photographs and recordings of a unit: the file lies in the data folder under its own digest, here is what it is."""

from __future__ import annotations

import datetime

from django.db import models
from django.db.models import Q
from django.utils import timezone

from sparkout.records.models.visits import Visit
from sparkout.records.models.workshop import Person, Unit

PHOTOGRAPH, RECORDING = "photograph", "recording"
KINDS = [(PHOTOGRAPH, "photograph"), (RECORDING, "recording")]


class Attachment(models.Model):
    """A photograph or recording, of a visit or taken in between. One taken away stays on file, with who and why."""

    visit = models.ForeignKey(Visit, models.PROTECT, null=True, related_name="attachments")
    unit = models.ForeignKey(Unit, models.PROTECT, related_name="attachments")
    kind = models.CharField(max_length=10, choices=KINDS, default=PHOTOGRAPH)
    name = models.CharField(max_length=200)
    content_type = models.CharField(max_length=100)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    width = models.PositiveIntegerField(null=True)
    """Pixels across, upright."""
    height = models.PositiveIntegerField(null=True)
    seconds = models.FloatField(null=True)
    """How long a recording is, when its file says."""
    step = models.CharField(max_length=20, null=True)
    """The step of the work it belongs to, as in [[work]]."""
    blade = models.PositiveSmallIntegerField(null=True)
    taken_on = models.DateField(null=True)
    """As the camera wrote it, else as typed; None when nobody said."""
    note = models.CharField(max_length=500, null=True)
    added_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    removed_by: models.ForeignKey[Person | None, Person | None] = models.ForeignKey(
        Person, models.PROTECT, null=True, related_name="+"
    )
    removed_at = models.DateTimeField(null=True)
    removed_why = models.CharField(max_length=500, null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(removed_at__isnull=True, removed_by__isnull=True)
                | Q(removed_at__isnull=False, removed_by__isnull=False, removed_why__isnull=False),
                name="who_takes_away_says_why",
            )
        ]

    @property
    def day(self) -> datetime.date:
        """The day it was taken, else added."""
        return self.taken_on or timezone.localdate(self.added_at)

    def __str__(self) -> str:
        return f"{self.kind} {self.name}"
