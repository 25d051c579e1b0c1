"""Gauges with their calibrations, grinders with what they taught, limits with their origin."""

from __future__ import annotations

from sparkout.records import models
from sparkout.records.operations import equipment
from sparkout.visit.asked import a_number
from sparkout.visit.sections import GaugeEntry, GrinderSection, LimitEntry
from sparkout.visit.words import Day, Switch, Text
from sparkout.web.api import records
from sparkout.web.api.body import Body, Field, read, record, rows, text, typed
from sparkout.web.api.making import by_number, by_presence, by_truth, doing, listed, one
from sparkout.web.api.rooms.workshop import out_of_use_and_back
from sparkout.web.api.told.things import CalibrationTold, GaugeTold, GrinderTold, LearntTold, LimitTold

_LENGTH = {"type": ["string", "number"]}
_LINE = Body(
    (
        Field("at", "where it was checked", _LENGTH, needed=True, example="125 mm"),
        Field("error", "shown less true", _LENGTH, needed=True, example="0.02 mm"),
    )
)

GAUGES = (
    listed(
        "gauges", "gauges", "gauges", GaugeTold, models.Gauge.objects.all, "The gauges.",
        filters=(by_truth("retired", "whether it is out of use"),),
    ),
    doing("POST", "gauges", equipment.add_gauge, "gauges", GaugeTold, takes=Body(section=GaugeEntry), status=201),
    one("gauges/{int:number}", "gauge", "gauges", records.GAUGE, GaugeTold, "One gauge."),
    doing(
        "PUT", "gauges/{int:number}", equipment.change_gauge, "gauges", GaugeTold, about=records.GAUGE, changes=True,
        takes=Body(section=GaugeEntry, leave=("id", "calibration_due"), all_optional=True),
    ),
    doing(
        "POST", "gauges/{int:number}/retire", equipment.retire_gauge, "gauges", GaugeTold, about=records.GAUGE,
        takes=(read("retired", Switch("false: into use again", True)),), changes=True,
    ),
    listed(
        "gauges/{int:number}/calibrations", "calibrations", "gauges", CalibrationTold, records.calibrations,
        "The calibrations of a gauge.", about=records.GAUGE, within="gauge",
    ),
    doing(
        "POST", "gauges/{int:number}/calibrations", equipment.calibrate_gauge, "gauges", GaugeTold,
        about=records.GAUGE, status=201,
        takes=Body(
            (
                Field("due", "when the next falls due; null: nobody said", {"type": ["string", "null"]}, True,
                      "2027-11-25", nullable=True),
                typed("on", Day("when it was calibrated", "2026-11-25")),
                typed("certificate", Text("number of the certificate", "C-117", 100)),
                typed("by", Text("who calibrated", "the laboratory", 100)),
                rows("lines", "lines of the certificate", _LINE, lambda **line: line),
            ),
            section=GaugeEntry, leave=("id", "kind", "calibration_due"), all_optional=True,
        ),
    ),
    *out_of_use_and_back(records.GAUGE, "gauges", "gauge", GaugeTold),
)  # fmt: skip

_GRINDER_NAME = text("name", "name of the grinder", "spin grinder", needed=True)
_LEARNT = (
    typed("give", a_number(0.05, 1, "share of the set infeed that one pass removes", "0.7")),
    typed("give_uncertainty", a_number(0, 0.5, "standard uncertainty of the give", "0.1")),
    typed("g_ratio", a_number(0.1, 10_000, "volume ground off for one volume of wheel lost", "20")),
    typed("g_ratio_uncertainty", a_number(0, 10_000, "standard uncertainty of that", "8")),
)

GRINDERS = (
    listed(
        "grinders", "grinders", "grinders", GrinderTold, models.Grinder.objects.all, "The grinders.",
        filters=(by_truth("retired", "whether it is out of use"),),
    ),
    doing(
        "POST", "grinders", equipment.add_grinder, "grinders", GrinderTold, status=201,
        takes=Body((_GRINDER_NAME,), section=GrinderSection),
    ),
    one("grinders/{int:number}", "grinder", "grinders", records.GRINDER, GrinderTold, "One grinder."),
    doing(
        "PATCH", "grinders/{int:number}", equipment.change_grinder, "grinders", GrinderTold,
        about=records.GRINDER, takes=Body(section=GrinderSection), changes=True,
    ),
    listed(
        "grinders/{int:number}/learnt", "learnt", "grinders", LearntTold, records.learnt,
        "What a grinder taught, from the oldest.", about=records.GRINDER, within="grinder",
    ),
    doing(
        "POST", "grinders/{int:number}/learnt", equipment.record_learnt, "grinders", LearntTold,
        about=records.GRINDER, status=201,
        takes=(record("visit", models.Visit, "the visit that taught it, by its id"), *_LEARNT),
    ),
    *out_of_use_and_back(records.GRINDER, "grinders", "grinder", GrinderTold),
)  # fmt: skip

LIMITS = (
    listed(
        "limits", "limits", "limits", LimitTold, records.limits, "The workshop's limits, those that ended included.",
        filters=(by_presence("ended", "whether it has ended"), by_number("reel_type", "reel type"),
                 by_number("knife_type", "knife type")),
        lookups={"ended": "ended_at__isnull"},
    ),
    doing(
        "POST", "limits", equipment.set_limit, "limits", LimitTold, status=201,
        takes=Body(
            (
                text("quantity", "what is limited", "diameter", needed=True),
                text("origin", "where the limit comes from", "the machine's book", needed=True),
                record("reel_type", models.ReelType, "the type of reel it holds for, by id"),
                record("knife_type", models.KnifeType, "the type of knife it holds for, by id"),
            ),
            section=LimitEntry,
        ),
    ),
    one("limits/{int:number}", "limit", "limits", records.LIMIT, LimitTold, "One limit."),
    doing("POST", "limits/{int:number}/end", equipment.end_limit, "limits", LimitTold, about=records.LIMIT),
)  # fmt: skip

ROUTES = (*GAUGES, *GRINDERS, *LIMITS)
