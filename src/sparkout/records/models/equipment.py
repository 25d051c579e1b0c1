"""Gauges, grinders and the workshop's limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Q

from sparkout.records.models.parts import KnifeType, ReelType
from sparkout.records.models.typed import AsTyped

if TYPE_CHECKING:
    from sparkout.records.models.visits import Visit


class Gauge(models.Model):
    """A gauge; its name is the id that readings in a visit file use, so it never changes."""

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=30)
    spec = AsTyped(default=dict)
    """Entries of the visit file's [[gauges]] except id, kind and calibration_due."""
    calibration_due = models.DateField(null=True)
    retired = models.BooleanField(default=False)
    ended_on = models.DateField(null=True)
    """Since when it is out of use, when the day was told."""

    def __str__(self) -> str:
        return self.name


class Calibration(models.Model):
    """One calibration of a gauge, as its certificate tells it. The gauge goes by the last one entered."""

    gauge = models.ForeignKey(Gauge, models.PROTECT, related_name="calibrations")
    on = models.DateField(null=True)
    certificate = models.CharField(max_length=100, blank=True)
    """Its number."""
    by = models.CharField(max_length=100, blank=True)
    """Who calibrated."""
    due = models.DateField(null=True)
    figures = AsTyped(default=dict)
    """Entries of [[gauges]] that it found."""
    lines = AsTyped(default=list)
    """[{"at": "125 mm", "error": "0.02 mm"}, ...]: shown less true. For the record; no reading is corrected by it."""

    def __str__(self) -> str:
        return " ".join(filter(None, (self.gauge.name, self.certificate, str(self.on or ""))))


class Grinder(models.Model):
    """A grinder: entries of the visit file's [grinder] except the name."""

    name = models.CharField(max_length=100, unique=True)
    spec = AsTyped(default=dict)
    retired = models.BooleanField(default=False)
    ended_on = models.DateField(null=True)
    """Since when it is out of use, when the day was told."""

    def __str__(self) -> str:
        return self.name


class Learnt(models.Model):
    """What a grinder taught: its give and wheel loss; they hold for visits opened afterwards."""

    grinder = models.ForeignKey(Grinder, models.PROTECT, related_name="learnt")
    visit: models.ForeignKey[Visit | None, Visit | None] = models.ForeignKey(
        "records.Visit", models.PROTECT, null=True, related_name="learnt"
    )
    at = models.DateTimeField()
    spec = AsTyped()
    """give, give_uncertainty, g_ratio, g_ratio_uncertainty, as in [grinder]."""

    def __str__(self) -> str:
        return f"{self.grinder}: {self.spec}"


class Limit(models.Model):
    """A limit of the workshop, with its origin: for everything, or for one type of reel or knife.

    Setting it anew ends the old one (`ended_at`), which stays.
    """

    quantity = models.CharField(max_length=40)
    at_least = AsTyped(null=True)
    at_most = AsTyped(null=True)
    origin = models.CharField(max_length=200)
    set_by = models.CharField(max_length=100, null=True)
    on = models.DateField(null=True)
    risk = AsTyped(null=True)
    reel_type = models.ForeignKey(ReelType, models.PROTECT, null=True, related_name="limits")
    knife_type = models.ForeignKey(KnifeType, models.PROTECT, null=True, related_name="limits")
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=~Q(origin=""), name="a_limit_has_an_origin"),
            models.UniqueConstraint(
                fields=["quantity"],
                condition=Q(ended_at__isnull=True, reel_type__isnull=True, knife_type__isnull=True),
                name="one_limit_for_everything",
            ),
            models.UniqueConstraint(
                fields=["quantity", "reel_type"], condition=Q(ended_at__isnull=True), name="one_limit_for_a_reel_type"
            ),
            models.UniqueConstraint(
                fields=["quantity", "knife_type"], condition=Q(ended_at__isnull=True), name="one_limit_for_a_knife_type"
            ),
        ]

    def __str__(self) -> str:
        sides = [f"at least {self.at_least}" if self.at_least is not None else ""]
        sides += [f"at most {self.at_most}" if self.at_most is not None else ""]
        return f"{self.quantity} {', '.join(filter(None, sides))}"
