"""A small invented workshop to test on, and short ways to enter things."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import Any

from sparkout.records.models import Fitting, Person, Reading, Reel, Unit, Visit
from sparkout.records.operations.doing import today
from sparkout.records.operations.equipment import add_gauge, add_grinder
from sparkout.records.operations.parts import add_reel, add_reel_type, fit_reel
from sparkout.records.operations.readings import record_reading
from sparkout.records.operations.season import set_sheet
from sparkout.records.operations.turf import record_hours
from sparkout.records.operations.units import add_machine, add_place, add_unit
from sparkout.records.operations.visits import open_visit
from sparkout.records.operations.workshop import set_up_workshop

REEL = {"blades": 11, "diameter": "127 mm", "length": "533 mm", "land": "1 mm"}


@dataclass
class Bench:
    """One unit on the bench, with who works there."""

    me: Person
    unit: Unit
    reel: Reel
    visit: Visit


def bench() -> Bench:
    set_up_workshop(name="test workshop", first_person="AB")
    me = Person.objects.get()
    machine = add_machine(actor=me, name="greens machine 1", place=add_place(actor=me, name="nine holes"))
    unit = add_unit(actor=me, name="unit 3", machine=machine, position="front left", pattern="knife up")
    kind = add_reel_type(actor=me, name="greens", spec=REEL)
    reel = add_reel(actor=me, part_type=kind, label="reel 7", spec={"marked_blade": "paint dot"})
    fit_reel(actor=me, unit=unit, reel=reel, on=None, hours="100 h")
    add_gauge(actor=me, id="tape 1", kind="tape", resolution="0.05 mm", calibration_due="2030-01-31")
    add_gauge(actor=me, id="dial 1", kind="dial")
    add_gauge(actor=me, id="leaves 1", kind="feeler")
    add_grinder(actor=me, name="grinder 1", give="0.7")
    return Bench(me, unit, reel, open_visit(actor=me, unit=unit, hours="640 h"))


SEASON = {
    "weeks": 4,
    "people": [{"name": "A"}],
    "grinders": [{"name": "bench grinder"}],
    "machines": [{"name": "greens machine 1", "hours_a_week": "20 h"}],
}
"""A season sheet by which the unit on the bench is due."""


def season_set(on: Bench, what_if: str = "") -> Any:
    """Put the unit's clock and the season sheet on file; its reel came in long ago."""
    Fitting.objects.filter(unit=on.unit).update(since=today() - datetime.timedelta(days=200))
    record_hours(actor=on.me, unit=on.unit, on=today(), hours="640 h")
    return set_sheet(actor=on.me, tables=SEASON, what_if=what_if)


def key() -> uuid.UUID:
    return uuid.uuid4()


def diameter(on: Bench, value: Any = "125.4 mm", **more: Any) -> Reading:
    entries = {"of": "diameter", "gauge": "tape 1", "at": "left", "value": value, "key": key(), **more}
    return record_reading(actor=on.me, visit=on.visit, **entries)
