"""Work that takes longer than a page may wait: what it is about, how far it is, what came of it."""

from __future__ import annotations

from django.db import models

from sparkout.records.models.typed import AsTyped
from sparkout.records.models.workshop import Person

WAITING, RUNNING, DONE, STOPPED, FAILED = "waiting", "running", "done", "stopped", "failed"
JOB_STATES = [
    (WAITING, "waits its turn"),
    (RUNNING, "is being done"),
    (DONE, "done"),
    (STOPPED, "stopped"),
    (FAILED, "not done"),
]


class Job(models.Model):
    """One piece of work in the background. What it has done so far is whole, whatever state it ends in."""

    kind = models.CharField(max_length=40)
    about = models.BigIntegerField(null=True)
    """The record it works on, by number."""
    asked = AsTyped(null=True)
    """What else was asked of it."""
    state = models.CharField(max_length=10, choices=JOB_STATES, default=WAITING)
    done = models.PositiveBigIntegerField(default=0)
    of = models.PositiveBigIntegerField(default=0)
    """0: not known yet."""
    message = models.CharField(max_length=2000, blank=True)
    told = AsTyped(null=True)
    """What came of it."""
    stop_asked = models.BooleanField(default=False)
    asked_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()
    started_at = models.DateTimeField(null=True)
    ended_at = models.DateTimeField(null=True)

    class Meta:
        indexes = [models.Index(fields=["state"]), models.Index(fields=["kind", "about"])]

    @property
    def is_going_on(self) -> bool:
        """Whether it waits or is being done."""
        return self.state in (WAITING, RUNNING)

    def __str__(self) -> str:
        return f"{self.kind}, {self.get_state_display()}"
