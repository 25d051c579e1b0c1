"""The season: its sheet as it was at each edit, what-ifs beside it, and the plans that were made of them."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from sparkout.records.models.jobs import Job
from sparkout.records.models.typed import AsTyped
from sparkout.records.models.workshop import Person


class KeptSheet(models.Model):
    """The season sheet as it was kept at an edit. The next edit ends it; it stays on file."""

    what_if = models.CharField(max_length=100, blank=True)
    """Name of the what-if it is; empty: the workshop's own sheet."""
    tables = AsTyped(default=dict)
    """What was entered, as `season.sheet.as_tables` tells it."""
    made_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["what_if"], condition=Q(ended_at__isnull=True), name="one_sheet_of_a_name_holds"
            )
        ]

    def __str__(self) -> str:
        return self.what_if or "season sheet"


class SeasonPlan(models.Model):
    """A plan that was made: which job on which day, by whom on which grinder, how good it is, and from which sheet."""

    sheet = models.ForeignKey(KeptSheet, models.PROTECT, related_name="plans")
    job = models.ForeignKey(Job, models.PROTECT, null=True, related_name="+")
    """The work in the background that made it; None: a move by hand did."""
    on = models.DateField()
    """The day it was made for: nothing before it is planned."""
    placements = AsTyped(default=list)
    """`season.placing.as_data` of each job."""
    cost = models.FloatField()
    bound = models.FloatField()
    """No plan of that sheet on that day can cost less; 0 where nothing was proven."""
    seconds = models.FloatField(default=0.0)
    made_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    kept_at = models.DateTimeField(null=True)
    """When somebody kept it; None: it was only looked at."""
    ended_at = models.DateTimeField(null=True)
    """When another was kept in its place."""

    class Meta:
        indexes = [models.Index(fields=["sheet", "kept_at"])]

    @property
    def gap(self) -> float:
        """Share of the cost by which a better plan could at most be cheaper."""
        return 0.0 if self.cost <= 0.0 else max(0.0, (self.cost - self.bound) / self.cost)

    def __str__(self) -> str:
        return f"{self.sheet}, {self.on}"
