"""A small invented workshop to test on, and short ways to enter things."""

from __future__ import annotations

import datetime
import uuid
from dataclasses import dataclass
from typing import Any

from sparkout.records.models import Fitting, Person, Reading, Reel, Unit, Visit
from sparkout.records.operations.doing import today
from sparkout.records.operations.equipment import add_gauge, add_grinder, set_limit
from sparkout.records.operations.job import record_work
from sparkout.records.operations.parts import add_knife, add_knife_type, add_reel, add_reel_type, fit_knife, fit_reel
from sparkout.records.operations.readings import record_reading
from sparkout.records.operations.season import set_sheet
from sparkout.records.operations.turf import record_hours
from sparkout.records.operations.units import add_machine, add_place, add_unit
from sparkout.records.operations.visits import open_visit, sign_visit
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
    record_hours(actor=on.me, unit=on.unit, on=today(), hours="640 h", clock_changed=True)
    return set_sheet(actor=on.me, tables=SEASON, what_if=what_if)


def parts_read(on: Bench, lands: list[tuple[str, str]], steps: tuple[str, ...]) -> None:
    """Signed visits at 640 h, 700 h ... with these lands, the lip of a knife that came at 600 h, and rollers."""
    me, unit = on.me, on.unit
    kind = add_knife_type(actor=me, name="greens knife", spec={})
    knife = add_knife(actor=me, part_type=kind, label="knife 1")
    fit_knife(actor=me, unit=unit, knife=knife, on=None, hours="600 h")
    for quantity, limit in (("lip height", "2 mm"), ("roller diameter", "45 mm"), ("front roller diameter", "58 mm")):
        set_limit(actor=me, quantity=quantity, at_least=limit, origin="house")
    set_limit(actor=me, quantity="lip height", at_least="2.5 mm", origin="house", knife_type=kind)
    set_limit(actor=me, quantity="land", at_most="1.5 mm", origin="house")
    Visit.objects.filter(pk=on.visit.pk).update(knife=knife)
    for k, (found, left) in enumerate(lands):
        if k:
            on.visit = open_visit(actor=me, unit=unit, hours=f"{640 + 60 * k} h")
        lips = f"{3.6 - 0.3 * k:.2f} mm", f"{3.4 - 0.3 * k:.2f} mm"
        for when, land, lip in (("as found", found, lips[0]), ("as left", left, lips[1])):
            for of, value, more in (("land", land, {"blade": 1}), ("lip height", lip, {})):
                entry = {"of": of, "when": when, "at": "left", "value": value, **more}
                record_reading(actor=me, visit=on.visit, key=None, **entry)
        for which, at, value in (("front", "left", 59.5), ("front", "right", 59.7), ("rear", "left", 49.8)):
            entry = {"of": "roller diameter", "at": at, "which": which, "value": f"{value - 0.1 * k:.2f} mm"}
            record_reading(actor=me, visit=on.visit, key=None, **entry)
        for step in steps:
            record_work(actor=me, visit=on.visit, key=None, step=step)
        sign_visit(actor=me, visit=on.visit)


def key() -> uuid.UUID:
    return uuid.uuid4()


def diameter(on: Bench, value: Any = "125.4 mm", **more: Any) -> Reading:
    entries = {"of": "diameter", "gauge": "tape 1", "at": "left", "value": value, "key": key(), **more}
    return record_reading(actor=on.me, visit=on.visit, **entries)
