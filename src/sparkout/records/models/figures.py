"""What a signed visit came to, kept so that a long life need not be worked out again each time it is looked at."""

from __future__ import annotations

from django.db import models

from sparkout.records.models.typed import AsTyped
from sparkout.records.models.visits import Visit


class KeptFigures(models.Model):
    """Figures of one signed visit; to be thrown away at any time: its file and the calculations make them again."""

    visit = models.OneToOneField(Visit, models.CASCADE, related_name="kept_figures")
    made_by = models.CharField(max_length=64)
    """Digest of the calculations that made them; figures of other calculations do not count."""
    figures = AsTyped()

    def __str__(self) -> str:
        return f"figures of {self.visit}"
