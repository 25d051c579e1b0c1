"""What a recording told: kept beside it, so that nothing has to be reckoned twice."""

from __future__ import annotations

from django.db import models

from sparkout.records.models.attachments import Attachment
from sparkout.records.models.jobs import FAILED, STOPPED, Job
from sparkout.records.models.typed import AsTyped
from sparkout.records.models.workshop import Person


class Hearing(models.Model):
    """One recording listened to, with what was said beside it; the last one of a recording is shown."""

    attachment = models.ForeignKey(Attachment, models.PROTECT, related_name="hearings")
    asked = AsTyped()
    """What was said beside it, as typed: blades, reel speed, the bearing's inside, what else turns."""
    told = AsTyped(null=True)
    """What it told, as data; None: not yet, or refused."""
    job = models.ForeignKey(Job, models.PROTECT, related_name="+")
    asked_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    asked_at = models.DateTimeField()

    @property
    def is_going_on(self) -> bool:
        """Whether it is still being listened to."""
        return self.told is None and self.job.is_going_on

    @property
    def why_not(self) -> str:
        """Why it told nothing; empty while it may yet."""
        return self.job.message if self.told is None and self.job.state in (FAILED, STOPPED) else ""

    def __str__(self) -> str:
        return f"{self.attachment.name}, listened to"
