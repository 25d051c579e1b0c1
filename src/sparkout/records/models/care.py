"""Care of the person: what hands, ears and lungs had on a day, and who may do work that takes an authorisation."""

from __future__ import annotations

from django.db import models

from sparkout.records.models.typed import AsTyped
from sparkout.records.models.workshop import Person

WORKS = [
    ("mount wheels", "mount wheels"),
    ("grind", "grind"),
    ("turn a reel by power", "turn a reel by power"),
    ("lift with a hoist", "lift with a hoist"),
]


class Authorisation(models.Model):
    """A person's leave to do a kind of work: by whom, from when till when. Ended early it stays on file."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="authorisations")
    work = models.CharField(max_length=40, choices=WORKS)
    given_by = models.CharField(max_length=100)
    since = models.DateField()
    until = models.DateField(null=True)
    added_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    """When it was withdrawn."""

    def __str__(self) -> str:
        return f"{self.person.name}, {self.work}"


class Exposure(models.Model):
    """One task of somebody's day: how long, how it shook, how loud it was, what dust, and whence the figures."""

    person = models.ForeignKey(Person, models.PROTECT, related_name="exposures")
    on = models.DateField()
    task = models.CharField(max_length=100)
    hours = AsTyped()
    vibration = AsTyped(null=True)
    """At the hand, vector sum."""
    level = AsTyped(null=True)
    """At the ear."""
    dust = models.CharField(max_length=300, blank=True)
    origin = models.CharField(max_length=200)
    """Where vibration and level are from: measured here, a maker's figure, a guess."""
    added_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)
    """When it was withdrawn."""

    class Meta:
        indexes = [models.Index(fields=["person", "on"])]

    def __str__(self) -> str:
        return f"{self.person.name}, {self.task}, {self.on}"


class FaultTable(models.Model):
    """The workshop's own rows of fault finding, laid over those that come with Sparkout. One holds at a time."""

    text = models.TextField()
    name = models.CharField(max_length=200)
    added_by = models.ForeignKey(Person, models.PROTECT, related_name="+")
    added_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True)

    def __str__(self) -> str:
        return self.name
