"""Tables brought in: the file, what its columns were taken for, and which record came from which row."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models

from sparkout.records.models.jobs import Job
from sparkout.records.models.typed import AsTyped
from sparkout.records.models.workshop import Person

if TYPE_CHECKING:
    from django.db.models.fields.related_descriptors import RelatedManager


class TableFile(models.Model):
    """A file of tables somebody brought; its content lies in the data folder."""

    if TYPE_CHECKING:
        rows: RelatedManager[TableRow]

    name = models.CharField(max_length=200)
    sha256 = models.CharField(max_length=64)
    size = models.PositiveBigIntegerField()
    mapping = AsTyped(null=True)
    """interchange.mapping.FileMapping as data."""
    with_changes = models.BooleanField(default=False)
    """Whether rows that change a record are entered as well, or only those that add one."""
    trial = models.ForeignKey(Job, models.PROTECT, null=True, related_name="+")
    entering = models.ForeignKey(Job, models.PROTECT, null=True, related_name="+")
    brought_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    brought_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.name


class TableRow(models.Model):
    """Which row made or changed which record: a record's own history, in place of a history line for each row."""

    ADDED, CHANGED = "added", "changed"

    file = models.ForeignKey(TableFile, models.PROTECT, related_name="rows")
    sheet = models.CharField(max_length=100)
    row = models.PositiveIntegerField()
    what = models.CharField(max_length=10)
    subject = models.CharField(max_length=20)
    subject_id = models.BigIntegerField()
    before = AsTyped(null=True)
    after = AsTyped(null=True)

    class Meta:
        indexes = [models.Index(fields=["subject", "subject_id"])]

    def __str__(self) -> str:
        return f"{self.what} by row {self.row} of {self.file.name}"


class KnownShape(models.Model):
    """What a person said about files with these headings, for the next one."""

    shape = models.CharField(max_length=64, unique=True)
    mapping = AsTyped()
    used_at = models.DateTimeField()

    def __str__(self) -> str:
        return self.shape[:12]
