"""Reels and knives: parts with an identity and a life of their own, that move between units."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from sparkout.records.models.typed import AsTyped
from sparkout.records.models.workshop import Unit


class ReelType(models.Model):
    """Reels made alike: entries of the visit file's [reel]."""

    name = models.CharField(max_length=100, unique=True)
    spec = AsTyped()
    ended_on = models.DateField(null=True)
    """Since when it is not offered for new reels."""

    def __str__(self) -> str:
        return self.name


class KnifeType(models.Model):
    """Knives made alike: entries of the visit file's [knife] that belong to the knife."""

    name = models.CharField(max_length=100, unique=True)
    spec = AsTyped(default=dict)
    ended_on = models.DateField(null=True)
    """Since when it is not offered for new knives."""

    def __str__(self) -> str:
        return self.name


class Reel(models.Model):
    """One reel. `spec` holds what is its own: the marked blade, or a size in which it differs from its type."""

    type = models.ForeignKey(ReelType, models.PROTECT, related_name="reels")
    label = models.CharField(max_length=100, unique=True)
    spec = AsTyped(default=dict)
    scrapped_on = models.DateField(null=True)

    def __str__(self) -> str:
        return self.label


class Knife(models.Model):
    """One knife."""

    type = models.ForeignKey(KnifeType, models.PROTECT, related_name="knives")
    label = models.CharField(max_length=100, unique=True)
    spec = AsTyped(default=dict)
    scrapped_on = models.DateField(null=True)

    def __str__(self) -> str:
        return self.label


class Fitting(models.Model):
    """A part in a unit, from a day and its hours to a day and its hours; no `until` while it is in."""

    unit = models.ForeignKey(Unit, models.PROTECT, related_name="fittings")
    reel = models.ForeignKey(Reel, models.PROTECT, null=True, related_name="fittings")
    knife = models.ForeignKey(Knife, models.PROTECT, null=True, related_name="fittings")
    since = models.DateField()
    since_hours = AsTyped(null=True)
    until = models.DateField(null=True)
    until_hours = AsTyped(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(reel__isnull=False, knife__isnull=True) | Q(reel__isnull=True, knife__isnull=False),
                name="one_part_is_fitted",
            ),
            models.UniqueConstraint(fields=["reel"], condition=Q(until__isnull=True), name="a_reel_is_in_one_unit"),
            models.UniqueConstraint(fields=["knife"], condition=Q(until__isnull=True), name="a_knife_is_in_one_unit"),
            models.UniqueConstraint(
                fields=["unit"], condition=Q(until__isnull=True, reel__isnull=False), name="a_unit_holds_one_reel"
            ),
            models.UniqueConstraint(
                fields=["unit"], condition=Q(until__isnull=True, knife__isnull=False), name="a_unit_holds_one_knife"
            ),
        ]

    @property
    def part(self) -> Reel | Knife:
        """The reel or the knife."""
        part = self.reel or self.knife
        assert part is not None  # the database holds one_part_is_fitted
        return part

    def __str__(self) -> str:
        return f"{self.part} in {self.unit.name}"
