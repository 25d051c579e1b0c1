"""A visit and what grows during it. Every entry can be corrected or withdrawn; none is overwritten or removed."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

from django.db import models
from django.db.models import Q

from sparkout.records.models.equipment import Gauge, Grinder
from sparkout.records.models.parts import Knife, Reel
from sparkout.records.models.typed import AsTyped
from sparkout.records.models.workshop import Person, Unit

OPEN, SIGNED, SET_ASIDE = "open", "signed", "set aside"
STATES = [(OPEN, "open"), (SIGNED, "signed"), (SET_ASIDE, "set aside")]
WHEN = [("as found", "as found"), ("as left", "as left")]


class Visit(models.Model):
    """One unit's pass through the workshop."""

    if TYPE_CHECKING:
        corrected_by: Visit

    unit = models.ForeignKey(Unit, models.PROTECT, related_name="visits")
    reel = models.ForeignKey(Reel, models.PROTECT, related_name="visits")
    knife = models.ForeignKey(Knife, models.PROTECT, null=True, related_name="visits")
    grinder = models.ForeignKey(Grinder, models.PROTECT, null=True, related_name="visits")
    date = models.DateField(null=True)
    technician = models.CharField(max_length=100, null=True)
    complaint = models.TextField(null=True)
    notes = models.TextField(null=True)
    wanted = AsTyped(null=True)
    """Entries of [wanted]; None: as the workshop wants it."""
    own = AsTyped(default=dict)
    """Tables of the visit file this visit came in, only where they differ from the records: the visit goes by its own.

    Of a single table the differing keys, None where the file says nothing; of limits and gauges the whole list.
    """
    state = models.CharField(max_length=10, choices=STATES, default=OPEN)
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    signed_by = models.CharField(max_length=100, null=True)
    signed_on = models.DateField(null=True)
    signed_at = models.DateTimeField(null=True)
    statement = models.TextField(null=True)
    as_signed = models.TextField(null=True)
    """The visit file as it was signed, JSON: what later happens to gauges, limits or types does not change it."""
    corrects: models.OneToOneField[Visit | None, Visit | None] = models.OneToOneField(
        "self", models.PROTECT, null=True, related_name="corrected_by"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["unit"], condition=Q(state="open"), name="one_open_visit_of_a_unit"),
            models.CheckConstraint(
                condition=Q(state="signed", as_signed__isnull=False) | ~Q(state="signed"),
                name="a_signed_visit_keeps_its_file",
            ),
        ]
        indexes = [models.Index(fields=["unit", "state", "date"])]

    @property
    def is_open(self) -> bool:
        """Whether entries may still be made."""
        return self.state == OPEN

    def __str__(self) -> str:
        return f"{self.unit.name}, {self.date or 'undated'}"


class Entry(models.Model):
    """Something entered during a visit. A correction is a new entry that replaces the old, one version higher."""

    if TYPE_CHECKING:
        pk: int
        first_id: int | None
        replaced_by: Self
        objects: models.Manager[Any]

    key = models.UUIDField(unique=True)
    """Made by whoever enters, so that sending twice enters once."""
    version = models.PositiveIntegerField(default=1)
    replaces = models.OneToOneField("self", models.PROTECT, null=True, related_name="replaced_by")
    first = models.ForeignKey("self", models.PROTECT, null=True, related_name="+")
    """The entry that this one corrects in the end: a corrected entry keeps its place."""
    entered_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()
    withdrawn_by = models.ForeignKey(Person, models.PROTECT, null=True, related_name="+")
    withdrawn_at = models.DateTimeField(null=True)

    class Meta:
        abstract = True

    @property
    def is_withdrawn(self) -> bool:
        """Whether it counts no longer."""
        return self.withdrawn_at is not None


class Reading(Entry):
    """One reading, with the fields of the visit file's [[readings]] as typed."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="readings")
    of = models.CharField(max_length=40)
    gauge = models.ForeignKey(Gauge, models.PROTECT, null=True, related_name="readings")
    at = AsTyped(null=True)
    blade = models.PositiveSmallIntegerField(null=True)
    angle = AsTyped(null=True)
    which = models.CharField(max_length=10, null=True)
    value = AsTyped(null=True)
    goes = AsTyped(null=True)
    does_not_go = AsTyped(null=True)
    set_up = models.CharField(max_length=60, null=True)
    temperature = AsTyped(null=True)
    when = models.CharField(max_length=10, choices=WHEN, default="as found")
    time = models.TimeField(null=True)
    by = models.CharField(max_length=100, null=True)
    note = models.CharField(max_length=500, null=True)

    @property
    def shown(self) -> str:
        """What the gauge showed, as typed."""
        if self.value is not None:
            return str(self.value)
        leaves = [f"goes {self.goes}" if self.goes is not None else ""]
        leaves += [f"does not go {self.does_not_go}" if self.does_not_go is not None else ""]
        return ", ".join(filter(None, leaves))

    def __str__(self) -> str:
        where = "" if self.at is None else f" at {self.at}"
        blade = "" if self.blade is None else f", blade {self.blade}"
        return f"{self.of}{where}{blade}: {self.shown}"


class Sweep(models.Model):
    """The head of a grid of readings: the fields of [[sweeps]] except the values, which are its cells."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="sweeps")
    of = models.CharField(max_length=40)
    gauge = models.ForeignKey(Gauge, models.PROTECT, null=True, related_name="sweeps")
    at = AsTyped()
    rows = models.PositiveSmallIntegerField()
    blades = AsTyped(null=True)
    angles = AsTyped(null=True)
    set_up = models.CharField(max_length=60, null=True)
    unit = models.CharField(max_length=60, null=True)
    temperature = AsTyped(null=True)
    when = models.CharField(max_length=10, choices=WHEN, default="as found")
    time = models.TimeField(null=True)
    by = models.CharField(max_length=100, null=True)
    note = models.CharField(max_length=500, null=True)
    entered_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    entered_at = models.DateTimeField()
    withdrawn_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return f"{self.of} sweep{'' if self.set_up is None else ' ' + self.set_up}"


class Cell(Entry):
    """One value of a sweep; row and column counted from 0."""

    sweep = models.ForeignKey(Sweep, models.PROTECT, related_name="cells")
    row = models.PositiveSmallIntegerField()
    column = models.PositiveSmallIntegerField()
    value = AsTyped()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sweep", "row", "column", "version"], name="one_cell_of_a_version")
        ]

    def __str__(self) -> str:
        return f"{self.sweep}, row {self.row + 1}, column {self.column + 1}: {self.value}"


class WorkDone(Entry):
    """A step of work as it was done: one table of [[work]]."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="work")
    entry = AsTyped()

    def __str__(self) -> str:
        return ": ".join(filter(None, (self.entry["step"], self.entry.get("what"))))


class PaperProof(Entry):
    """A paper proof: one table of [[paper]]."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="paper")
    entry = AsTyped()

    def __str__(self) -> str:
        return f"paper proof, {self.entry.get('when', 'as left')}"


class KeptPlan(models.Model):
    """Choices kept as the plan: entries of [wanted] and [grinder] that go before those on file. The last one holds."""

    visit = models.ForeignKey(Visit, models.PROTECT, related_name="plans")
    choices = AsTyped()
    """{"wanted": {...}, "grinder": {...}}."""
    kept_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    kept_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"plan of {self.visit}"
