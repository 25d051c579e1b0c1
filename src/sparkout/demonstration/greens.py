"""Greens units of the demonstration: one coned, before and after its grind; one with its frame out; one hardly read."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from sparkout.core.practice.gauge_geometry import jaws, nick_depth, rest_gap, set_gap, tape
from sparkout.core.practice.virtual_grind import TrueGrinder, spun_on
from sparkout.core.practice.virtual_unit import Nick, VirtualUnit, one_blade_off
from sparkout.core.reel.geometry import Reel
from sparkout.demonstration.scenario import SEED, Scenario
from sparkout.demonstration.technician import ENDS, FIVE, THREE, Technician, where
from sparkout.demonstration.workshop import GAUGES, GRINDER, HEIGHT, WANTED, Table, limits

if TYPE_CHECKING:
    from collections.abc import Callable

REEL: Final = Reel(11, 127.0, 533.0, math.radians(20.0), 1.0, math.radians(45.0), 5.0)
PAPER: Final = 0.10
CONED: Final = VirtualUnit(
    REEL,
    mean_radius=62.30,
    cone=-0.35,
    barrel=0.025,
    offset=(0.006, -0.004),
    skew=(-0.003, 0.005),
    blade_heights=one_blade_off(11, 6, 0.035),
    land_ends=(1.30, 1.50),
    nicks=(Nick(3, 320.0, 0.05),),
    frame_out=0.015,
    knife_bow=0.010,
    edge_rounding=0.035,
    lip_height=3.60,
    front_lip_depth=4.80,
    top_angle=math.radians(12.0),
    front_angle=math.radians(5.0),
    end_play=0.03,
    radial_play=(0.004, 0.006),
)
GRINDER_TRUTH: Final = TrueGrinder(give=0.62, g_ratio=14.0, wheel_diameter=150.0, wheel_width=20.0, carriage_out=0.004)
INFEEDS: Final = (0.02,) * 14 + (0.01,) * 4 + (0.0,) * 4

_MILLIMETRE_GAUGES = tuple(gauge for gauge in GAUGES if gauge.unit in ("mm", "deg", "N"))
_REEL_TABLE: Final[Table] = {
    "blades": 11,
    "diameter": "127 mm",
    "length": "533 mm",
    "helix": "20 deg",
    "land": "1 mm",
    "relief_angle": "45 deg",
    "relief_datum": "tangent",
    "blade_thickness": "5 mm",
    "mass": "7 kg",
    "marked_blade": "paint dot on the blade's left end",
}
_KNIFE_TABLE: Final[Table] = {
    "top_angle": "12 deg",
    "front_angle": "5 deg",
    "thickness": "5 mm",
    "width": "45 mm",
    "lip_height": "5 mm",
    "front_lip_depth": "6 mm",
    "seat_tilt": "0 deg",
    "pivot_behind": "60 mm",
    "pivot_below": "35 mm",
    "arm": "60.4 mm",
    "thread_pitch": "1 mm",
    "clicks_per_turn": 16,
    "lever_ratio": "0.25",
    "adjuster_spacing": "560 mm",
}


def _visit(stage: str) -> Table:
    return {
        "date": "2026-11-09",
        "technician": "technician A",
        "notes": f"{stage} Open competition in eight weeks.",
        "vocabulary": "uk",
        "units": "mm",
        "paper_size": "A4",
        "demonstration": True,
    }


def _sheet(unit: VirtualUnit) -> tuple[Callable[[float], float], Callable[[float], float]]:
    """The tape's and the resting feeler's view of a unit."""
    return lambda x: tape(unit, x), lambda x: float(rest_gap(unit, x)[0])


def _tightest(unit: VirtualUnit, left: float, right: float) -> Callable[[float], float]:
    return lambda x: float(set_gap(unit, x, left, right).min())


def _height(unit: VirtualUnit, left: float) -> Callable[[float], float]:
    """Height of cut along the knife: the knife follows the reel, so the smaller end cuts higher."""
    first = unit.upper_envelope(0.0)[0]
    return lambda x: left + float(first - unit.upper_envelope(x)[0])


def _reel_readings(unit: VirtualUnit, hand: Technician) -> list[Table]:
    over, under = _sheet(unit)
    loupe = [hand.read("land", "loupe 1", float(unit.land(where(unit, at))[0, 0]), at=at, blade=1) for at in THREE]
    return [
        *hand.along("diameter", "tape 1", unit, THREE, over, temperature="20 °C"),
        *hand.along("diameter", "jaws 1", unit, ENDS, lambda x: jaws(unit, x), temperature="20 °C"),
        *hand.gaps("rest gap", "leaves 1", unit, THREE, under, set_up="rest"),
        *loupe,
    ]


def _knife_readings(unit: VirtualUnit, hand: Technician) -> list[Table]:
    return [
        *hand.along("lip height", "depth 1", unit, THREE, lambda _: unit.lip_height),
        hand.read("front lip depth", "depth 1", unit.front_lip_depth, at="centre"),
        hand.read("top angle", "protractor 1", unit.top_angle, at="centre"),
        hand.read("front angle", "protractor 1", unit.front_angle, at="centre"),
        *hand.along("edge rounding", "loupe 2", unit, THREE, lambda _: unit.edge_rounding, least=0.0),
    ]


def _bearing_readings(unit: VirtualUnit, hand: Technician) -> list[Table]:
    left, right = unit.radial_play
    return [
        hand.read("end play", "dial 1", unit.end_play, least=0.0),
        hand.read("radial play", "dial 1", left, at="left", least=0.0),
        hand.read("radial play", "dial 1", right, at="right", least=0.0),
        hand.read("drag", "spring balance 1", 6.0),
    ]


def _coned_as_found() -> tuple[Table, Technician]:
    unit = CONED
    hand = Technician("technician A", _MILLIMETRE_GAUGES, np.random.default_rng([SEED, 1]))
    sweep = hand.swept_blades("dial 1", unit, FIVE, "rail A", rail_out=0.010)
    readings = [
        *_reel_readings(unit, hand),
        *hand.zeroed("frame", "depth 1", unit, ENDS, "mounts"),
        *hand.zeroed("knife straightness", "straight edge 1", unit, THREE, "edge"),
        *_knife_readings(unit, hand),
        hand.read("nick depth", "depth 1", nick_depth(unit, 3), at="320 mm", blade=4),
        *_bearing_readings(unit, hand),
        *(hand.read("roller diameter", "jaws 1", 59.6, at=at, which="front") for at in ENDS),
        *(hand.read("roller diameter", "jaws 1", 49.8, at=at, which="rear") for at in ENDS),
        *hand.along("height of cut", "setting bar 1", unit, THREE, _height(unit, 3.50)),
        *hand.gaps("gap", "leaves 1", unit, THREE, _tightest(unit, 0.02, 0.03)),
        {"of": "adjuster count", "at": "left", "value": 4},
        {"of": "adjuster count", "at": "right", "value": 15},
    ]
    stations = [where(unit, at) for at in FIVE]
    proof = hand.paper(unit, FIVE, set_gap(unit, stations, 0.02, 0.03), PAPER, "0.10 mm")
    tables: Table = {
        "visit": _visit("As found, before any work."),
        "unit": {
            "name": "G3 left",
            "machine": "greens machine 2",
            "position": "front left",
            "hours": "640 h",
            "complaint": "cuts higher on the right; paper fails although the knife was set yesterday",
            "pattern": "knife up",
        },
        "reel": _REEL_TABLE,
        "knife": _KNIFE_TABLE,
        "height": HEIGHT,
        "mowing": {"travel_speed": "5 km/h", "reel_speed": "2000 1/min"},
        "limits": limits("120 mm"),
        "gauges": hand.gauge_tables,
        "grinder": GRINDER,
        "wanted": WANTED,
        "readings": readings,
        "sweeps": [sweep],
        "paper": [proof],
    }
    return tables, hand


def coned() -> Scenario:
    """Return the main unit: coned, one blade high, knife edge worn."""
    about = "A coned greens unit as found: the left end is the larger, one blade stands high, the knife edge is worn."
    return Scenario("coned", about, _coned_as_found()[0], CONED)


def coned_as_left() -> Scenario:
    """Return the same visit after the grind, by a grinder whose give and wheel are not what the file believes."""
    tables, hand = _coned_as_found()
    ground = spun_on(CONED, GRINDER_TRUTH, INFEEDS)
    unit = replace(ground.unit, relieved_to=1.0, edge_rounding=0.008, lip_height=3.50, nicks=())
    wheel_before = hand.wheel(GRINDER_TRUTH.wheel_diameter)
    wheel_after = hand.wheel(ground.wheel_diameter)
    hand.when = "as left"
    readings = [
        *_reel_readings(unit, hand),
        *_knife_readings(unit, hand),
        *_bearing_readings(unit, hand),
        *hand.along("height of cut", "setting bar 1", unit, THREE, _height(unit, 3.50)),
        *hand.gaps("gap", "leaves 1", unit, THREE, _tightest(unit, 0.03, 0.03)),
    ]
    proof = hand.paper(unit, FIVE, set_gap(unit, [where(unit, at) for at in FIVE], 0.03, 0.03), PAPER, "0.10 mm")
    spin: Table = {
        "step": "spin grind",
        "what": "ground true on the bearing axis; infeeds counted from where the wheel first touched",
        "infeeds": [f"{infeed:.2f} mm" for infeed in INFEEDS],
        "wheel_diameter_before": wheel_before,
        "wheel_diameter_after": wheel_after,
    }
    steps: list[Table] = [
        {"step": "set up grinder", "what": "set parallel on the journals"},
        spin,
        {"step": "relief grind", "what": "land brought back to 1 mm"},
        {"step": "knife grind", "what": "top face"},
        {"step": "deburr", "what": "burr taken off by hand along the lip"},
        {"step": "set", "what": "knife set to 0.03 mm at both ends"},
        {"step": "prove", "what": "paper over five stations"},
    ]
    tables |= {
        "visit": _visit("As left, after the grind."),
        "readings": [*tables["readings"], *readings],
        "sweeps": [*tables["sweeps"], hand.swept_blades("dial 1", unit, FIVE, "rail B", rail_out=0.006)],
        "work": [{**step, "by": hand.name} for step in steps],
        "paper": [*tables["paper"], proof],
        "sign_off": {
            "name": "technician A",
            "date": "2026-11-10",
            "statement": "ground, set, proved on paper and checked for height",
        },
    }
    about = "The coned greens unit as found and as left: what the plan promised can be held against what came."
    return Scenario("coned-as-left", about, tables, CONED, unit, GRINDER_TRUTH)


def frame_out() -> Scenario:
    """Return a unit that only looks coned: the resting knife says so, the tape does not."""
    unit = replace(
        CONED,
        mean_radius=62.75,
        cone=0.02,
        barrel=0.008,
        offset=(0.004, 0.003),
        blade_heights=one_blade_off(11, 2, 0.006),
        land_ends=(1.10, 1.10),
        nicks=(),
        frame_out=0.22,
        edge_rounding=0.02,
        lip_height=4.2,
    )
    used = ("tape 1", "jaws 1", "dial 1", "leaves 1", "loupe 1", "straight edge 1", "depth 1")
    gauges = [gauge for gauge in GAUGES if gauge.id in used]
    hand = Technician("technician B", gauges, np.random.default_rng([SEED, 2]))
    readings = [
        *_reel_readings(unit, hand),
        *hand.zeroed("knife straightness", "straight edge 1", unit, THREE, "edge"),
        *hand.along("lip height", "depth 1", unit, ("centre",), lambda _: unit.lip_height),
    ]
    tables: Table = {
        "visit": {**_visit("Sent in as coned."), "technician": "technician B"},
        "unit": {
            "name": "G3 right",
            "machine": "greens machine 2",
            "position": "front right",
            "hours": "640 h",
            "complaint": "gap wide open on the right",
            "pattern": "knife up",
        },
        "reel": _REEL_TABLE,
        "knife": _KNIFE_TABLE,
        "height": HEIGHT,
        "limits": limits("120 mm"),
        "gauges": hand.gauge_tables,
        "grinder": GRINDER,
        "wanted": WANTED,
        "readings": readings,
        "sweeps": [hand.swept_blades("dial 1", unit, THREE, "rail A", rail_out=0.012)],
    }
    about = "A greens unit that looks coned under the resting knife; the tape says that it is not: the frame is out."
    return Scenario("frame-out", about, tables, unit)


def three_readings() -> Scenario:
    """Return a unit of which three readings are known: cone or frame, nobody can tell yet."""
    unit = replace(CONED, mean_radius=62.9, cone=0.56, barrel=0.0, frame_out=0.01, knife_bow=0.004, nicks=())
    gauges = [gauge for gauge in GAUGES if gauge.id in ("tape 1", "leaves 1")]
    hand = Technician("technician B", gauges, np.random.default_rng([SEED, 3]))
    over, under = _sheet(unit)
    readings = [
        *hand.gaps("rest gap", "leaves 1", unit, ENDS, under, set_up="rest"),
        *hand.along("diameter", "tape 1", unit, ("centre",), over),
    ]
    tables: Table = {
        "visit": {**_visit("Looked at between two other jobs."), "technician": "technician B"},
        "unit": {"name": "G1 centre", "machine": "greens machine 1", "position": "centre"},
        "reel": _REEL_TABLE,
        "limits": limits("120 mm")[:1],
        "gauges": hand.gauge_tables,
        "readings": readings,
    }
    about = "A greens unit with three readings: enough to see that something is out, not enough to say what."
    return Scenario("three-readings", about, tables, unit)
