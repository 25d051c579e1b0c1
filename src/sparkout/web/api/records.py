"""How each kind of record is found, with all that its schema tells in a constant number of queries."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sparkout.records import models
from sparkout.records.tables import standing
from sparkout.web.api.route import Named

if TYPE_CHECKING:
    from django.db.models import QuerySet


def units() -> QuerySet[Any]:
    """Return the units."""
    return models.Unit.objects.select_related("position__machine").prefetch_related("fittings__reel", "fittings__knife")


def machines() -> QuerySet[Any]:
    """Return the machines."""
    return models.Machine.objects.select_related("place")


def reels() -> QuerySet[Any]:
    """Return the reels."""
    return models.Reel.objects.select_related("type").prefetch_related("fittings__unit__position__machine")


def knives() -> QuerySet[Any]:
    """Return the knives."""
    return models.Knife.objects.select_related("type").prefetch_related("fittings__unit__position__machine")


def fittings() -> QuerySet[Any]:
    """Return which part was where and when."""
    return models.Fitting.objects.select_related("unit__position__machine", "reel", "knife")


def calibrations() -> QuerySet[Any]:
    """Return the calibrations."""
    return models.Calibration.objects.select_related("gauge")


def learnt() -> QuerySet[Any]:
    """Return what grinders taught."""
    return models.Learnt.objects.select_related("grinder", "visit__unit")


def limits() -> QuerySet[Any]:
    """Return the limits."""
    return models.Limit.objects.select_related("reel_type", "knife_type")


def hours() -> QuerySet[Any]:
    """Return the clocks read, those that count no longer included."""
    return models.HoursEntry.everything.select_related("unit__position__machine", "visit__unit")


def events() -> QuerySet[Any]:
    """Return what happened on the turf, what counts no longer included."""
    return models.Event.everything.select_related("place", "machine", "unit__position__machine")


def visits() -> QuerySet[Any]:
    """Return the visits, without the files they were signed as."""
    related = ("unit__position__machine", "reel", "knife", "grinder", "opened_by", "hours_entry", "corrected_by")
    return models.Visit.objects.select_related(*related).defer("as_signed", "corrected_by__as_signed")


def readings() -> QuerySet[Any]:
    """Return every reading ever entered."""
    return models.Reading.objects.select_related("gauge", "entered_by")


def readings_that_count() -> QuerySet[Any]:
    """Return the readings neither replaced nor withdrawn."""
    return standing(models.Reading).select_related("gauge", "entered_by")


def sweeps() -> QuerySet[Any]:
    """Return the sweeps."""
    return models.Sweep.objects.select_related("gauge", "entered_by")


def cells() -> QuerySet[Any]:
    """Return the values of sweeps."""
    return models.Cell.objects.select_related("sweep", "entered_by")


def work() -> QuerySet[Any]:
    """Return the steps of work."""
    return models.WorkDone.objects.select_related("entered_by")


def paper() -> QuerySet[Any]:
    """Return the paper proofs."""
    return models.PaperProof.objects.select_related("entered_by")


def kept_plans() -> QuerySet[Any]:
    """Return the plans kept."""
    return models.KeptPlan.objects.select_related("kept_by")


def attachments() -> QuerySet[Any]:
    """Return the photographs and recordings."""
    return models.Attachment.objects.select_related("unit__position__machine", "added_by", "removed_by")


def history() -> QuerySet[Any]:
    """Return the history."""
    return models.HistoryLine.objects.select_related("who", "through")


def tokens() -> QuerySet[Any]:
    """Return the tokens."""
    return models.Token.objects.select_related("person")


def table_files() -> QuerySet[Any]:
    """Return the files of tables brought in."""
    return models.TableFile.objects.select_related("brought_by", "trial__asked_by", "entering__asked_by")


def hearings() -> QuerySet[Any]:
    """Return the recordings listened to."""
    return models.Hearing.objects.select_related("job", "asked_by", "attachment")


def authorisations() -> QuerySet[Any]:
    """Return who may do which work."""
    return models.Authorisation.objects.select_related("person")


def exposures() -> QuerySet[Any]:
    """Return the tasks of people's days."""
    return models.Exposure.objects.select_related("person")


def fault_tables() -> QuerySet[Any]:
    """Return the workshop's own tables of fault finding."""
    return models.FaultTable.objects.select_related("added_by")


def jobs() -> QuerySet[Any]:
    """Return the work in the background."""
    return models.Job.objects.select_related("asked_by")


def kept_sheets() -> QuerySet[Any]:
    """Return the season sheets, as they were at each edit."""
    return models.KeptSheet.objects.select_related("made_by")


def season_plans() -> QuerySet[Any]:
    """Return the plans of seasons."""
    return models.SeasonPlan.objects.select_related("sheet", "made_by")


PERSON = Named("person", models.Person.objects.all)
PLACE = Named("place", models.Place.objects.all)
MACHINE = Named("machine", machines)
UNIT = Named("unit", units)
REEL_TYPE = Named("part_type", models.ReelType.objects.all)
KNIFE_TYPE = Named("part_type", models.KnifeType.objects.all)
REEL = Named("part", reels)
KNIFE = Named("part", knives)
GAUGE = Named("gauge", models.Gauge.objects.all)
GRINDER = Named("grinder", models.Grinder.objects.all)
LIMIT = Named("limit", limits)
HOURS = Named("entry", hours)
FITTING = Named("fitting", fittings)
EVENT = Named("event", events)
VISIT = Named("visit", visits)
READING = Named("reading", readings)
SWEEP = Named("sweep", sweeps)
CELL = Named("cell", cells)
WORK = Named("work", work)
PAPER = Named("proof", paper)
ATTACHMENT = Named("attachment", attachments)
TOKEN = Named("token", tokens)
TABLE = Named("file", table_files)
AUTHORISATION = Named("authorisation", authorisations)
EXPOSURE = Named("exposure", exposures)
FAULT_TABLE = Named("table", fault_tables)
HEARING = Named("hearing", hearings)
JOB = Named("job", jobs)
SEASON_PLAN = Named("plan", season_plans)
