"""A fairway unit of the demonstration: its shaft is bent. Read and shown in inches, in US words."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from sparkout.core.practice.gauge_geometry import set_gap, tape
from sparkout.core.practice.virtual_unit import VirtualUnit, one_blade_off
from sparkout.core.reel.geometry import Reel
from sparkout.demonstration.scenario import SEED, Scenario
from sparkout.demonstration.technician import ENDS, FIVE, THREE, Technician, where
from sparkout.demonstration.workshop import GAUGES, GRINDER, HOUSE, PRACTICE, Table

REEL: Final = Reel(8, 177.8, 660.4, math.radians(25.0), 1.5, math.radians(45.0), 6.0)
BENT: Final = VirtualUnit(
    REEL,
    mean_radius=87.4,
    cone=0.04,
    barrel=0.010,
    offset=(0.006, 0.002),
    skew=(0.002, -0.003),
    shaft_bow=(0.082, 0.057),
    blade_heights=one_blade_off(8, 4, 0.008),
    land_ends=(1.7, 1.7),
    knife_bow=0.005,
    edge_rounding=0.008,
    lip_height=5.0,
    front_lip_depth=6.0,
    end_play=0.02,
    radial_play=(0.004, 0.004),
)
SET_AT_ENDS: Final = 0.055
"""Set until the reel just turned: the high side of the bend touches, the low side stands open."""
EIGHTHS: Final = (0.0, 45.0, 90.0, 135.0, 180.0, 225.0, 270.0, 315.0)


def _limits() -> list[Table]:
    set_by = {"set_by": "workshop manager", "on": "2026-01-12"}
    at_most = {
        "cone": ("10 thou", PRACTICE),
        "run-out": ("2 thou", PRACTICE),
        "shaft": ("3 thou", HOUSE),
        "land": ("0.08 in", PRACTICE),
        "end play": ("2 thou", PRACTICE),
        "radial play": ("1 thou", HOUSE),
    }
    lowest: Table = {"quantity": "diameter", "at_least": "6.5 in", "origin": HOUSE, **set_by}
    return [
        lowest,
        *({"quantity": name, "at_most": most, "origin": origin, **set_by} for name, (most, origin) in at_most.items()),
    ]


def bent_shaft() -> Scenario:
    """Return the fairway unit: run-out once per turn that grows to the middle, paper that fails on half the blades."""
    unit = BENT
    gauges = [gauge for gauge in GAUGES if gauge.id in ("tape 2", "dial 2", "leaves 2")]
    hand = Technician("technician B", gauges, np.random.default_rng([SEED, 4]))
    tightest = [set_gap(unit, where(unit, at), SET_AT_ENDS, SET_AT_ENDS).min() for at in ENDS]
    readings = [
        *hand.along("diameter", "tape 2", unit, THREE, lambda x: tape(unit, x)),
        hand.read("end play", "dial 2", unit.end_play, least=0.0),
        *(
            hand.read("radial play", "dial 2", play, at=at, least=0.0)
            for at, play in zip(ENDS, unit.radial_play, strict=True)
        ),
        *(hand.leaves("gap", "leaves 2", float(gap), at=at) for at, gap in zip(ENDS, tightest, strict=True)),
    ]
    sweeps = [
        hand.swept_blades("dial 2", unit, FIVE, "rail A", rail_out=-0.010),
        hand.swept_shaft("dial 2", unit, THREE, EIGHTHS, "shaft"),
    ]
    proof = hand.paper(
        unit, FIVE, set_gap(unit, [where(unit, at) for at in FIVE], SET_AT_ENDS, SET_AT_ENDS), 0.1016, "4 thou"
    )
    tables: Table = {
        "visit": {
            "date": "2026-11-12",
            "technician": "technician B",
            "notes": "Struck a sprinkler head in the autumn. Open competition in eight weeks.",
            "vocabulary": "us",
            "units": "inch",
            "paper_size": "Letter",
            "demonstration": True,
        },
        "unit": {
            "name": "F2 centre",
            "machine": "fairway machine 1",
            "position": "centre",
            "hours": "1180 h",
            "complaint": "ribs on the turf, once per turn of the reel",
            "pattern": "knife up",
        },
        "reel": {
            "blades": 8,
            "diameter": "7 in",
            "length": "26 in",
            "helix": "25 deg",
            "land": "0.06 in",
            "relief_angle": "45 deg",
            "relief_datum": "tangent",
            "blade_thickness": "0.236 in",
            "mass": "24 lb",
            "marked_blade": "centre punch on the blade's left end",
        },
        "mowing": {"travel_speed": "5 mph", "reel_speed": "1500 1/min"},
        "limits": _limits(),
        "gauges": hand.gauge_tables,
        "grinder": {**GRINDER, "mount_spacing": "30 in"},
        "wanted": {"gap": "1 thou", "run_out": "1 thou", "cone": "2 thou", "allowance": "1 thou", "relief": "if due"},
        "readings": readings,
        "sweeps": sweeps,
        "paper": [proof],
    }
    about = "A fairway unit with a bent shaft, in inches: run-out once per turn, growing from the ends to the middle."
    return Scenario("bent-shaft", about, tables, unit)
