"""The demonstration workshop: invented places, machines, people and two winters of visits. Same seed, same records."""

from __future__ import annotations

import datetime
import json
from typing import TYPE_CHECKING, Any, Final
from zoneinfo import ZoneInfo

from sparkout.core.reel.geometry import Reel as ReelShape
from sparkout.demonstration.listing import demonstration_files
from sparkout.demonstration.workshop import GAUGES, GRINDER, HOUSE, PRACTICE, WANTED, limits
from sparkout.records.checked import BLADE_KEYS, CARRIER_KEYS, refuse
from sparkout.records.demonstration_attachments import attach_invented, attach_worn_out
from sparkout.records.demonstration_past import Kind, Past, past_visits
from sparkout.records.demonstration_season import season_sheets
from sparkout.records.exchange import visit_from_file
from sparkout.records.models import Machine, Person, Place, Unit, Workshop
from sparkout.records.operations.doing import at_moment, operation
from sparkout.records.operations.equipment import add_gauge, add_grinder, calibrate_gauge, set_limit
from sparkout.records.operations.parts import (
    add_knife,
    add_knife_type,
    add_reel,
    add_reel_type,
    fit_knife,
    fit_reel,
    remove_knife,
    remove_reel,
)
from sparkout.records.operations.turf import record_event, record_hours
from sparkout.records.operations.units import add_machine, add_place, add_unit
from sparkout.records.operations.workshop import add_person, change_workshop, set_up_workshop
from sparkout.visit.checking import checked
from sparkout.visit.reading import read_visit

if TYPE_CHECKING:
    from sparkout.visit.schema import Visit as VisitFile

NAME: Final = "Demonstration workshop (invented)"
PLACES: Final = ("nine-hole course", "bowling green north", "bowling green south", "cricket ground")
MACHINES: Final = {
    "greens machine 1": "nine-hole course",
    "greens machine 2": "bowling green north",
    "fairway machine 1": "nine-hole course",
    "outfield machine 1": "cricket ground",
}
_START: Final = datetime.date(2024, 3, 4)
_NOW: Final = datetime.date(2026, 11, 20)
_TRIPLE: Final = ("front left", "centre", "front right")
_FIVE: Final = ("outer left", "left", "centre", "right", "outer right")


def kinds() -> dict[str, Kind]:
    """Return the three types of reel; the greens type as in the demonstration's visit files."""
    greens = json.loads(json.dumps(_file("coned").model_dump(mode="json", exclude_none=True)))
    fairway = json.loads(json.dumps(_file("bent-shaft").model_dump(mode="json", exclude_none=True)))
    knife = greens["knife"]
    outfield = {
        "blades": 6,
        "diameter": "203 mm",
        "length": "762 mm",
        "helix": "22 deg",
        "land": "1.5 mm",
        "relief_angle": "45 deg",
        "relief_datum": "tangent",
        "blade_thickness": "6 mm",
        "mass": "14 kg",
    }
    wide = {**knife, "adjuster_spacing": "690 mm"}
    return {
        "greens": Kind(
            "greens reel, 11 blades",
            _shape(11, 127, 533, 1.0),
            greens["reel"],
            knife,
            "120 mm",
            "1.5 mm",
            0.06,
            3.5,
            62.30,
        ),
        "fairway": Kind(
            "fairway reel, 8 blades",
            _shape(8, 177.8, 660.4, 1.5),
            fairway["reel"],
            wide,
            "165.1 mm",
            "2.4 mm",
            0.08,
            12.0,
            87.40,
        ),
        "outfield": Kind(
            "outfield reel, 6 blades",
            _shape(6, 203, 762, 1.5),
            outfield,
            {**wide, "adjuster_spacing": "800 mm"},
            "190 mm",
            "2.4 mm",
            0.09,
            16.0,
            100.20,
        ),
    }


def _shape(blades: int, diameter: float, length: float, land: float) -> ReelShape:
    return ReelShape(blades, diameter, length, land=land, blade_thickness=6.0)


def units() -> list[Past]:
    """Return the fourteen units; hours as their machines ran."""
    kind = kinds()
    greens_1 = [
        Past(f"G1 {side}", "greens machine 1", where, kind["greens"], 160, 55, 185)
        for side, where in zip(("left", "centre", "right"), _TRIPLE, strict=True)
    ]
    greens_2 = [
        Past(f"G3 {side}", "greens machine 2", where, kind["greens"], 190, 40, 185)
        for side, where in zip(("left", "centre", "right"), _TRIPLE, strict=True)
    ]
    fairway = [Past(f"F2 {where}", "fairway machine 1", where, kind["fairway"], 520, 70, 260) for where in _FIVE]
    outfield = [
        Past(
            f"C1 {side}",
            "outfield machine 1",
            where,
            kind["outfield"],
            330,
            20,
            160,
            new_reel=datetime.date(2026, 3, 2) if side == "right" else None,
            new_knife=datetime.date(2025, 11, 3) if side != "left" else None,
        )
        for side, where in zip(("left", "centre", "right"), _TRIPLE, strict=True)
    ]
    return [*greens_1, *greens_2, *fairway, *outfield]


@operation
def load_demonstration(language: str = "en") -> Workshop:
    """Fill empty records with the demonstration workshop, labelled as invented, and return it.

    Raises
    ------
    Refusal
        When there is a workshop already.
    """
    if Workshop.objects.exists():
        raise refuse("name", "there is a workshop here already", suggestion="The demonstration wants an empty folder.")
    with at_moment(_morning(_START)):
        workshop = set_up_workshop(name=NAME, first_person="technician A", language=language, demonstration=True)
        actor = Person.objects.get(name="technician A")
        change_workshop(actor=actor, wanted=WANTED)
        people = {"technician A": actor, "technician B": add_person(actor=actor, name="technician B")}
        _equipment(actor)
        _units(actor)
    for number, past in enumerate(units()):
        _past(past, number, people)
    _turf(actor)
    _on_the_bench(people)
    with at_moment(_morning(_NOW)):
        attach_invented(people)
        season_sheets(actor)
    return workshop


def _morning(day: datetime.date) -> datetime.datetime:
    return datetime.datetime.combine(day, datetime.time(9), ZoneInfo("UTC"))


def _file(name: str) -> VisitFile:
    return read_visit(demonstration_files()[name])


_CERTIFICATES: Final = {
    "tape 1": (
        "2026-03-31",
        "T 26-1 (invented)",
        (("100 mm", "0.01 mm"), ("200 mm", "0.02 mm"), ("400 mm", "-0.01 mm")),
    ),
    "dial 1": (
        "2026-05-29",
        "D 26-1 (invented)",
        (("0.1 mm", "0.001 mm"), ("0.5 mm", "0.002 mm"), ("1 mm", "0.002 mm")),
    ),
}


def _equipment(actor: Person) -> None:
    for gauge in GAUGES:
        made = add_gauge(actor=actor, **gauge.table)
        if gauge.id in _CERTIFICATES:
            on, certificate, lines = _CERTIFICATES[gauge.id]
            with at_moment(_morning(datetime.date.fromisoformat(on))):
                calibrate_gauge(
                    actor=actor,
                    gauge=made,
                    due=gauge.due,
                    on=on,
                    certificate=certificate,
                    by="invented laboratory",
                    lines=[{"at": at, "error": error} for at, error in lines],
                    calibration_uncertainty=gauge.table["calibration_uncertainty"],
                )
    add_grinder(actor=actor, **GRINDER)
    for row in limits("120 mm"):
        entries = {key: value for key, value in row.items() if key != "quantity"}
        if row["quantity"] not in ("diameter", "land"):
            set_limit(actor=actor, quantity=row["quantity"], **entries)


def _units(actor: Person) -> None:
    places = {name: add_place(actor=actor, name=name) for name in PLACES}
    machines: dict[str, Machine] = {
        name: add_machine(actor=actor, name=name, place=places[place]) for name, place in MACHINES.items()
    }
    types: dict[str, tuple[Any, Any]] = {}
    for past in units():
        kind = past.kind
        if kind.name not in types:
            spec = {key: value for key, value in kind.table.items() if key != "marked_blade"}
            blade = {key: value for key, value in kind.knife.items() if key in BLADE_KEYS}
            reel_type = add_reel_type(actor=actor, name=kind.name, spec=spec)
            knife_type = add_knife_type(actor=actor, name=kind.name.replace("reel", "knife").split(",")[0], spec=blade)
            of_type: dict[str, Any] = {"set_by": "workshop manager", "on": "2026-01-12", "reel_type": reel_type}
            set_limit(actor=actor, quantity="diameter", at_least=kind.service_diameter, origin=HOUSE, **of_type)
            set_limit(actor=actor, quantity="land", at_most=kind.widest_land, origin=PRACTICE, **of_type)
            types[kind.name] = reel_type, knife_type
        _unit(actor, past, machines[past.machine], *types[kind.name])


def _unit(actor: Person, past: Past, machine: Machine, reel_type: Any, knife_type: Any) -> None:
    carrier = {key: value for key, value in past.kind.knife.items() if key in CARRIER_KEYS}
    unit = add_unit(
        actor=actor,
        name=past.name,
        machine=machine,
        position=past.position,
        pattern="knife up",
        carrier=carrier,
        height=past.height,
        mowing=past.mowing,
    )
    mark = {"marked_blade": past.kind.table.get("marked_blade")}
    reel = add_reel(actor=actor, part_type=reel_type, label=f"reel {past.name}", spec=mark)
    fit_reel(actor=actor, unit=unit, reel=reel, on=_START, hours="0 h")
    knife = add_knife(actor=actor, part_type=knife_type, label=f"knife {past.name}")
    fit_knife(actor=actor, unit=unit, knife=knife, on=_START, hours="0 h")


def _past(past: Past, number: int, people: dict[str, Person]) -> None:
    unit, waiting, worn_knife = Unit.objects.get(name=past.name), past.new_reel, past.new_knife
    for visit in past_visits(past, number):
        day, technician = visit.visit.date, visit.visit.technician
        assert day is not None
        assert technician is not None
        if waiting is not None and day > waiting:
            _swap(people["technician A"], unit, waiting)
            waiting = None
        if worn_knife is not None and day > worn_knife:
            _swap_knife(people["technician B"], unit, worn_knife)
            worn_knife = None
        with at_moment(_morning(day)):
            visit_from_file(visit, people[technician], unit)


def _swap(actor: Person, unit: Unit, day: datetime.date) -> None:
    """Its reel was worn out and another fitted."""
    with at_moment(_morning(day)):
        old = remove_reel(actor=actor, unit=unit, on=day, hours="520 h").reel
        assert old is not None
        new = add_reel(actor=actor, part_type=old.type, label=f"reel {unit.name}, second")
        fit_reel(actor=actor, unit=unit, reel=new, on=day, hours="520 h")
        attach_worn_out(actor, unit, day)


def _swap_knife(actor: Person, unit: Unit, day: datetime.date) -> None:
    """Its knife had no lip left and another was fitted."""
    with at_moment(_morning(day)):
        old = remove_knife(actor=actor, unit=unit, on=day).knife
        assert old is not None
        new = add_knife(actor=actor, part_type=old.type, label=f"knife {unit.name}, second")
        fit_knife(actor=actor, unit=unit, knife=new, on=day)


_EVENTS: Final = (
    ("sand", "2025-04-14", "nine-hole course", "spring topdressing"),
    ("sand", "2025-09-15", "nine-hole course", "autumn topdressing"),
    ("sand", "2025-09-22", "bowling green north", "end of season renovation"),
    ("sand", "2025-09-24", "bowling green south", "end of season renovation"),
    ("sand", "2026-04-13", "nine-hole course", "spring topdressing"),
    ("sand", "2026-09-14", "nine-hole course", "autumn topdressing"),
    ("sand", "2026-09-21", "bowling green north", "end of season renovation"),
    ("sand", "2026-09-23", "bowling green south", "end of season renovation"),
)


_STONES: Final = (
    ("C1 right", "2025-05-20", "stone thrown up by the roller"),
    ("F2 centre", "2026-10-19", "struck a sprinkler head"),
)


_HECTARES_AN_HOUR: Final = {"greens machine 1": 0.5, "greens machine 2": 0.5, "fairway machine 1": 1.6}
"""Invented; of the outfield machine nothing was written down."""


def _turf(actor: Person) -> None:
    for kind, on, place, note in _EVENTS:
        day = datetime.date.fromisoformat(on)
        with at_moment(_morning(day)):
            record_event(actor=actor, kind=kind, on=day, place=Place.objects.get(name=place), note=note)
    for name, on, note in _STONES:
        day = datetime.date.fromisoformat(on)
        with at_moment(_morning(day)):
            record_event(actor=actor, kind="stone", on=day, unit=Unit.objects.get(name=name), note=note)
    on_file = {"G3 left", "G3 right", "G1 left", "F2 centre"}
    with at_moment(_morning(_NOW)):
        for past in units():
            if past.name not in on_file:
                unit = Unit.objects.get(name=past.name)
                mown = _HECTARES_AN_HOUR.get(past.machine)
                area = None if mown is None else f"{mown * past.summer:.0f} ha"
                record_hours(actor=actor, unit=unit, on=_NOW, hours=f"{past.clocks[4]:.0f} h", area=area)


def _on_the_bench(people: dict[str, Person]) -> None:
    """The five visit files: four units on the bench, and one done: the coned one's twin, on the other machine."""
    for name in demonstration_files():
        visit = _file(name)
        if name == "coned-as-left":
            tables = visit.model_dump(mode="json", exclude_none=True)
            tables["unit"] |= {"name": "G1 left", "machine": "greens machine 1", "position": "front left"}
            visit = checked(tables, lambda _: None)
        day, technician = visit.visit.date, visit.visit.technician
        assert day is not None
        assert technician is not None
        with at_moment(_morning(day)):
            visit_from_file(visit, people[technician], Unit.objects.get(name=visit.unit.name))
