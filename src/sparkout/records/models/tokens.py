"""Tokens: how a program shows on whose behalf it asks. The token itself is never kept, only what tells it again."""

from __future__ import annotations

from django.db import models

from sparkout.core.phrase import phrase
from sparkout.records.models.workshop import Person

READ, WRITE, CALENDAR = "read", "write", "calendar"
SCOPES = [
    (READ, phrase("may read")),
    (WRITE, phrase("may read and enter")),
    (CALENDAR, phrase("may fetch the calendar of the season, and nothing else")),
]


class Token(models.Model):
    """One token. It acts as a person, until it is ended; it stays on file, for the history names it."""

    name = models.CharField(max_length=100)
    person = models.ForeignKey(Person, models.PROTECT, related_name="tokens")
    scope = models.CharField(max_length=8, choices=SCOPES, default=READ)
    mark = models.CharField(max_length=12, unique=True)
    """The token's first part, which is no secret: by it the token is found and told apart."""
    digest = models.CharField(max_length=64)
    """SHA-256 of the whole token, which is random: nothing to guess, so nothing to slow a guess down."""
    made_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True)
    """When it was last used, to a minute."""
    ended_at = models.DateTimeField(null=True)

    @property
    def may_read(self) -> bool:
        """Whether programs may ask with it: one for the calendar fetches that and nothing else."""
        return self.scope != CALENDAR

    @property
    def may_write(self) -> bool:
        """Whether it may enter things as well as read."""
        return self.scope == WRITE

    def __str__(self) -> str:
        return f"{self.name} ({self.mark}…)"
