"""The models, each in its own file."""

from sparkout.records.models.attachments import Attachment
from sparkout.records.models.brought import KnownShape, TableFile, TableRow
from sparkout.records.models.care import Authorisation, Exposure, FaultTable
from sparkout.records.models.equipment import Calibration, Gauge, Grinder, Learnt, Limit
from sparkout.records.models.figures import KeptFigures
from sparkout.records.models.hearing import Hearing
from sparkout.records.models.history import Event, HistoryLine, HoursEntry
from sparkout.records.models.jobs import Job
from sparkout.records.models.parts import Fitting, Knife, KnifeType, Reel, ReelType
from sparkout.records.models.season import KeptSheet, SeasonPlan
from sparkout.records.models.tokens import Token
from sparkout.records.models.visits import (
    Cell,
    Entry,
    KeptPlan,
    PaperProof,
    Reading,
    Sweep,
    Visit,
    WorkDone,
)
from sparkout.records.models.workshop import Machine, Person, Place, Position, Unit, Workshop

__all__ = [
    "Attachment",
    "Authorisation",
    "Calibration",
    "Cell",
    "Entry",
    "Event",
    "Exposure",
    "FaultTable",
    "Fitting",
    "Gauge",
    "Grinder",
    "Hearing",
    "HistoryLine",
    "HoursEntry",
    "Job",
    "KeptFigures",
    "KeptPlan",
    "KeptSheet",
    "Knife",
    "KnifeType",
    "KnownShape",
    "Learnt",
    "Limit",
    "Machine",
    "PaperProof",
    "Person",
    "Place",
    "Position",
    "Reading",
    "Reel",
    "ReelType",
    "SeasonPlan",
    "Sweep",
    "TableFile",
    "TableRow",
    "Token",
    "Unit",
    "Visit",
    "WorkDone",
    "Workshop",
]
