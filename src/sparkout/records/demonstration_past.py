"""Two winters of invented visits, as visit files: gauges that err read units whose truth is drawn from a seed."""

from __future__ import annotations

import datetime
import json
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from sparkout.core.gauges.tape import tape_reading
from sparkout.core.practice.gauge_geometry import rest_gap
from sparkout.core.practice.virtual_unit import VirtualUnit
from sparkout.core.reel.geometry import Reel
from sparkout.demonstration.scenario import SEED
from sparkout.demonstration.technician import ENDS, THREE, Technician, where
from sparkout.demonstration.workshop import GAUGES, GRINDER, HEIGHT, WANTED, limits
from sparkout.visit.reading import read_visit

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.demonstration.workshop import Table
    from sparkout.visit.schema import Visit

_USED: Final = ("tape 1", "leaves 1", "loupe 1", "setting bar 1")
_OF_PARTS: Final = ("jaws 1", "depth 1")
_DAYS: Final = (
    (datetime.date(2024, 12, 9), 3),
    (datetime.date(2025, 6, 30), 2),
    (datetime.date(2025, 12, 8), 3),
    (datetime.date(2026, 6, 29), 2),
)
"""First day of each round through the workshop, and how many units are done a day."""
_OLD_REEL: Final = 5.2
"""By how much the worn-out reel was smaller than the one that took its place, on the radius, mm."""
_NEW_LIP, _LIP_WEAR, _LIP_GROUND = 5.0, 0.00094, 0.2
"""A knife's lip when new, mm; what it loses in an hour on the turf and at each round on the grinder, mm (invented)."""
_ROLLERS: Final = ((60.0, 0.0006), (50.0, 0.0003))
"""Front and rear roller: diameter when new, mm, and loss in an hour, mm (invented)."""
_COMPLAINTS: Final = ("", "", "", "misses on one side", "cuts higher on the right", "leaves stragglers", "noisy")


@dataclass(frozen=True, slots=True)
class Kind:
    """One type of reel with the units that carry it: its truth, its entries in a file, its wear and its height."""

    name: str
    reel: Reel
    table: Table
    knife: Table
    service_diameter: str
    widest_land: str
    wear: float
    """Radius lost on the turf, mm in 100 h (invented)."""
    height: float
    """Height of cut, mm."""
    now: float
    """Mean radius in the autumn of 2026, mm."""


@dataclass(frozen=True, slots=True)
class Past:
    """One unit's past: where it is, its kind, and its hours at the first round and each half year."""

    name: str
    machine: str
    position: str
    kind: Kind
    hours: float
    winter: float
    summer: float
    new_reel: datetime.date | None = None
    """The day another reel was fitted, which is now as worn as the kind's `now` says; the old one was worn out."""
    new_knife: datetime.date | None = None
    """The day another knife was fitted."""

    @property
    def height(self) -> Table:
        """Rollers and height of cut."""
        return {**HEIGHT, "of_cut": f"{self.kind.height:g} mm"}

    @property
    def mowing(self) -> Table:
        """How the unit is driven."""
        return {"travel_speed": "5 km/h", "reel_speed": "2000 1/min"} if self.machine.startswith("greens") else {}

    @property
    def clocks(self) -> tuple[float, ...]:
        """Hours at the four rounds and in the autumn of 2026: a half year holds a summer's work or a winter's."""
        a, w, s = self.hours, self.winter, self.summer
        return a, a + w, a + w + s, a + 2 * w + s, a + 2 * w + 2 * s


def past_visits(past: Past, number: int) -> Iterator[Visit]:
    """Yield the unit's four signed visits, the oldest first; `number` is its place in the rounds."""
    generator = np.random.default_rng([SEED, 100 + number])
    others = np.random.default_rng([SEED, 500 + number])
    taken_off = generator.uniform(0.07, 0.16, 4)
    hard = float(others.uniform(0.85, 1.15))
    days = [first + datetime.timedelta(days=_workdays(number // a_day)) for first, a_day in _DAYS]
    for which, day in enumerate(days):
        later = sum(taken_off[which + 1 :]) + past.kind.wear / 100 * (past.clocks[4] - past.clocks[which])
        on_old_reel = past.new_reel is not None and day < past.new_reel
        left_radius = past.kind.now + float(later) - (_OLD_REEL if on_old_reel else 0.0)
        clock = past.clocks[which]
        front, rear = (new - hard * loss * clock for new, loss in _ROLLERS)
        worn = _Worn(_lip(past, days, which, hard), front, rear, others)
        yield _visit(past, day, clock, left_radius, float(taken_off[which]), worn, generator)


@dataclass(frozen=True, slots=True)
class _Worn:
    """What else a visit finds worn, mm, and the chances of reading it."""

    lip: float
    front: float
    rear: float
    generator: np.random.Generator


def _lip(past: Past, days: list[datetime.date], which: int, hard: float) -> float:
    """Return the lip height of the knife that a round finds in the unit, mm: worn on the turf, ground at each round."""
    came, ground = 0.0, which
    if past.new_knife is not None and days[which] > past.new_knife:
        came = float(np.interp(past.new_knife.toordinal(), [day.toordinal() for day in days], past.clocks[: len(days)]))
        ground = sum(past.new_knife < day for day in days[:which])
    return _NEW_LIP - hard * _LIP_WEAR * (past.clocks[which] - came) - _LIP_GROUND * ground


def _workdays(count: int) -> int:
    return count + 2 * (count // 5)


def _visit(
    past: Past,
    day: datetime.date,
    hours: float,
    radius: float,
    taken_off: float,
    worn: _Worn,
    generator: np.random.Generator,
) -> Visit:
    kind = past.kind
    technician = f"technician {'AB'[int(generator.integers(2))]}"
    cone = float(generator.normal(0.0, 0.10))
    land = float(generator.uniform(1.15, 1.45)) * kind.reel.land
    found = VirtualUnit(
        kind.reel,
        mean_radius=radius + taken_off,
        cone=cone,
        offset=(float(generator.normal(0, 0.006)), float(generator.normal(0, 0.006))),
        land_ends=(land, land),
        frame_out=float(generator.normal(0, 0.01)),
    )
    left = replace(found, mean_radius=radius, cone=cone * 0.05, land_ends=(kind.reel.land, kind.reel.land))
    hand = Technician(technician, [gauge for gauge in GAUGES if gauge.id in _USED], generator)
    readings = _readings(found, hand, kind.height)
    hand.when = "as left"
    readings += _readings(left, hand, kind.height)
    other_hand = Technician(technician, [gauge for gauge in GAUGES if gauge.id in _OF_PARTS], worn.generator)
    readings += _parts(worn, other_hand)
    stations = [where(left, at) for at in THREE]
    gap = np.full((kind.reel.blade_count, len(stations)), 0.03)
    complaint = _COMPLAINTS[int(generator.integers(len(_COMPLAINTS)))]
    passes = math.ceil(taken_off / 0.02 / 0.7)
    steps: list[Table] = [
        {"step": "spin grind", "infeeds": ["0.02 mm"] * passes + ["0 mm"] * 4},
        {"step": "relief grind", "what": f"land brought back to {kind.reel.land:g} mm"},
        {"step": "knife grind", "what": "top face, until it was clean"},
        {"step": "set", "what": "knife set to 0.03 mm at both ends"},
    ]
    tables: Table = {
        "visit": {
            "date": str(day),
            "technician": technician,
            "vocabulary": "uk",
            "units": "mm",
            "paper_size": "A4",
            "demonstration": True,
        },
        "unit": {
            "name": past.name,
            "machine": past.machine,
            "position": past.position,
            "hours": f"{hours:.0f} h",
            "complaint": complaint,
            "pattern": "knife up",
        },
        "reel": kind.table,
        "knife": kind.knife,
        "height": past.height,
        "mowing": past.mowing,
        "limits": limits(kind.service_diameter, widest_land=kind.widest_land),
        "gauges": [*hand.gauge_tables, *other_hand.gauge_tables],
        "grinder": GRINDER,
        "wanted": WANTED,
        "readings": readings,
        "work": [{**step, "by": technician} for step in steps],
        "paper": [hand.paper(left, THREE, gap, 0.10, "0.10 mm")],
        "sign_off": {
            "name": technician,
            "date": str(day),
            "statement": "ground, set, proved on paper and checked for height",
        },
    }
    if not complaint:
        del tables["unit"]["complaint"]
    return read_visit(json.dumps(tables))


def _parts(worn: _Worn, hand: Technician) -> list[Table]:
    """What wears beside the reel: rollers and the knife's lip as found, the lip again as left."""
    rollers = (("front", worn.front), ("rear", worn.rear))
    found = [hand.read("lip height", "depth 1", worn.lip, at=at) for at in THREE]
    found += [
        hand.read("roller diameter", "jaws 1", size, at=at, which=which) for which, size in rollers for at in ENDS
    ]
    hand.when = "as left"
    return [*found, *(hand.read("lip height", "depth 1", worn.lip - _LIP_GROUND, at=at) for at in THREE)]


def _over(unit: VirtualUnit, x: float) -> float:
    """What the tape shows, by the closed form: drawing every blade, as the five files do, takes too long here."""
    along_arc = float(unit.land(x)[0, 0]) / math.cos(unit.reel.helix_angle)
    return tape_reading(2.0 * float(unit.radius(x).mean()), unit.reel.blade_count, along_arc)


def _readings(unit: VirtualUnit, hand: Technician, height: float) -> list[Table]:
    return [
        *hand.along("diameter", "tape 1", unit, THREE, lambda x: _over(unit, x), temperature="18 °C"),
        *hand.gaps("rest gap", "leaves 1", unit, ENDS, lambda x: float(rest_gap(unit, x)[0]), set_up="rest"),
        *(hand.read("land", "loupe 1", float(unit.land(where(unit, at))[0, 0]), at=at, blade=1) for at in THREE),
        *hand.along("height of cut", "setting bar 1", unit, ENDS, lambda _: height),
    ]
