"""The workshop, its people, and where its cutting units belong."""

from __future__ import annotations

from django.db import models
from django.db.models import Q

from sparkout.records.models.typed import AsTyped

VOCABULARIES = [("uk", "cylinder and bottom blade"), ("us", "reel and bedknife")]
UNITS = [("mm", "mm"), ("inch", "inches and thou")]
DECIMALS = [(".", "point"), (",", "comma")]
PAPERS = [("A4", "A4"), ("Letter", "Letter")]


class Workshop(models.Model):
    """The one workshop of these records, and how it wants to be told things."""

    only = models.BooleanField(default=True, unique=True, editable=False)
    name = models.CharField(max_length=100)
    units = models.CharField(max_length=4, choices=UNITS, default="mm")
    vocabulary = models.CharField(max_length=2, choices=VOCABULARIES, default="uk")
    decimal = models.CharField(max_length=1, choices=DECIMALS, default=".")
    language = models.CharField(max_length=10, default="en")
    paper_size = models.CharField(max_length=6, choices=PAPERS, default="A4")
    demonstration = models.BooleanField(default=False)
    wanted = AsTyped(default=dict)
    """What a plan is to reach unless a visit says otherwise: entries of the visit file's [wanted]."""

    def __str__(self) -> str:
        return self.name


class Person(models.Model):
    """Somebody who works here. Empty preferences are the workshop's."""

    name = models.CharField(max_length=100, unique=True)
    units = models.CharField(max_length=4, choices=UNITS, null=True)
    vocabulary = models.CharField(max_length=2, choices=VOCABULARIES, null=True)
    decimal = models.CharField(max_length=1, choices=DECIMALS, null=True)
    language = models.CharField(max_length=10, null=True)
    active = models.BooleanField(default=True)
    ended_on = models.DateField(null=True)
    """Since when they work here no longer, when the day was told."""

    def __str__(self) -> str:
        return self.name


class Place(models.Model):
    """Where machines work: a course, a green, a ground."""

    name = models.CharField(max_length=100, unique=True)
    ended_on = models.DateField(null=True)
    """Since when nothing is mown there any more."""

    def __str__(self) -> str:
        return self.name


class Machine(models.Model):
    """A machine that carries cutting units."""

    name = models.CharField(max_length=100, unique=True)
    place = models.ForeignKey(Place, models.PROTECT, null=True, related_name="machines")
    ended_on = models.DateField(null=True)
    """Since when it is out of use."""

    def __str__(self) -> str:
        return self.name


class Position(models.Model):
    """Where on a machine one cutting unit sits; the name is empty when nobody said where."""

    machine = models.ForeignKey(Machine, models.PROTECT, related_name="positions")
    name = models.CharField(max_length=100, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["machine", "name"], condition=~Q(name=""), name="one_position_of_a_name")
        ]

    def __str__(self) -> str:
        return " · ".join(filter(None, (self.machine.name, self.name)))


class Unit(models.Model):
    """A cutting unit: the frame into which a reel and a knife are fitted."""

    position = models.OneToOneField(Position, models.SET_NULL, null=True, related_name="unit")
    name = models.CharField(max_length=100)
    pattern = models.CharField(max_length=20, null=True)
    carrier = AsTyped(default=dict)
    """Entries of the visit file's [knife] that belong to the unit: pivot, arm, adjusters."""
    height = AsTyped(default=dict)
    """Entries of [height]."""
    mowing = AsTyped(default=dict)
    """Entries of [mowing]."""
    active = models.BooleanField(default=True)
    ended_on = models.DateField(null=True)
    """Since when it is out of use, when the day was told."""

    class Meta:
        indexes = [models.Index(fields=["name"])]

    def __str__(self) -> str:
        where = "" if self.position is None else str(self.position)
        return " · ".join(filter(None, (self.name, where)))
