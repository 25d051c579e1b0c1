"""What the unit, its limits, gauges and grinder are: the tables of a visit file that are not readings."""

import datetime
import math
from typing import Annotated, Literal, get_args

from pydantic import BaseModel, ConfigDict

from sparkout.visit.asked import Depends, Quantity, a_length, a_number, a_share, an_angle
from sparkout.visit.entered import Entered
from sparkout.visit.quantities import GAUGE_KINDS, LIMITS, GaugeKind
from sparkout.visit.words import Day, Switch, Text, Whole, Word

Pattern = Literal["knife up", "reel down"]
Datum = Literal["tangent", "radius"]
Vocabulary = Literal["uk", "us"]
Units = Literal["mm", "inch"]
PaperSize = Literal["A4", "Letter"]
ReliefWish = Literal["yes", "no", "if due"]

USUAL_RISK = 0.05


AREA_MOWN = Quantity("area mown since the entry before", "3 ha", "area", 0, 10_000, "ha")
"""What stands beside hours in the records; the visit file itself has no area."""


class Section(BaseModel):
    """A table of the visit file: unknown keys are errors, and nothing changes after reading."""

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)


class VisitSection(Section):
    """The pass through the workshop."""

    date: Annotated[datetime.date | None, Day("day of the visit", "2026-11-25")] = None
    technician: Annotated[str | None, Text("who does the work", "initials or name", longest=100)] = None
    notes: Annotated[str | None, Text("anything worth keeping", "second winter on this reel")] = None
    vocabulary: Annotated[
        Vocabulary | None,
        Word(
            "words on the screen and on the card: cylinder and bottom blade, or reel and bedknife",
            "uk",
            get_args(Vocabulary),
        ),
    ] = None
    units: Annotated[
        Units | None,
        Word(
            "units on the screen and on the card; numbers in this file count as stated with each entry",
            "mm",
            get_args(Units),
        ),
    ] = None
    paper_size: Annotated[PaperSize | None, Word("paper for the job card", "A4", get_args(PaperSize))] = None
    demonstration: Annotated[bool | None, Switch("true when unit and readings are invented", False)] = None


class UnitSection(Section):
    """The cutting unit."""

    name: Annotated[str, Text("name or number of the cutting unit", "unit 3", 100, 1)]
    machine: Annotated[str | None, Text("the machine it belongs to", "greens triple B", longest=100)] = None
    position: Annotated[str | None, Text("where on the machine", "front left", longest=100)] = None
    hours: Annotated[
        Entered | None, Quantity("hours run since new, as on the machine's clock", "1240 h", "time", 0, 100_000, "h")
    ] = None
    complaint: Annotated[str | None, Text("what the operator says", "misses on the right")] = None
    pattern: Annotated[
        Pattern | None,
        Word(
            "which part the adjuster moves: the knife up to the reel, or the reel down to the knife",
            "knife up",
            get_args(Pattern),
        ),
    ] = None


class ReelSection(Section):
    """The reel (cylinder) as specified."""

    blades: Annotated[int, Whole("number of blades", 11, 2, 40)]
    diameter: Annotated[Entered, a_length(40, 600, "diameter over the blade edges when new", "127 mm")]
    length: Annotated[Entered, a_length(50, 3000, "length of the blades along the axis", "533 mm")]
    helix: Annotated[
        Entered | None,
        an_angle(
            -60,
            60,
            "angle of the blades to the axis; positive when a blade's right end lies farther against rotation",
            "20 deg",
        ),
    ] = None
    land: Annotated[Entered | None, a_length(0, 20, "land of a new or freshly relieved blade", "1 mm")] = None
    relief_angle: Annotated[Entered | None, an_angle(5, 85, "angle of the relief behind the land", "45 deg")] = None
    relief_datum: Annotated[
        Datum | None,
        Word(
            "what the relief angle is measured from, the circle's tangent or the radius; needed unless 45 degrees",
            "tangent",
            get_args(Datum),
        ),
    ] = None
    blade_thickness: Annotated[Entered | None, a_length(0.5, 30, "thickness of a blade", "5 mm")] = None
    mass: Annotated[Entered | None, Quantity("mass of the bare reel", "7 kg", "mass", 0.1, 500, "kg")] = None
    inertia: Annotated[
        Entered | None,
        Quantity(
            "moment of inertia about its axis, from a falling weight or from its parts",
            "12000 kg mm²",
            "inertia",
            10,
            10_000_000,
            "kg mm²",
        ),
    ] = None
    marked_blade: Annotated[
        str | None, Text("how blade 1 is marked; the others count against rotation", "paint dot, right end", 200)
    ] = None

    @property
    def relief_from_tangent(self) -> float | None:
        """Relief angle from the tip-circle tangent, rad; None when unknown or when its datum is not told.

        Examples
        --------
        >>> reel = ReelSection(blades=7, diameter=127, length=533, relief_angle="30 deg", relief_datum="radius")
        >>> round(math.degrees(reel.relief_from_tangent), 9)
        60.0
        """
        if self.relief_angle is None:
            return None
        if self.relief_datum == "tangent" or math.isclose(self.relief_angle, math.pi / 4, rel_tol=1e-9):
            return float(self.relief_angle)
        return math.pi / 2 - self.relief_angle if self.relief_datum == "radius" else None


class KnifeSection(Section):
    """The knife (bottom blade, bedknife) and its adjusters, as specified."""

    top_angle: Annotated[Entered | None, an_angle(0, 45, "top face against the seat plane", "10 deg")] = None
    front_angle: Annotated[
        Entered | None, an_angle(0, 45, "front face against the square to the seat plane", "5 deg")
    ] = None
    thickness: Annotated[Entered | None, a_length(0.5, 30, "thickness at the edge when new", "3 mm")] = None
    width: Annotated[Entered | None, a_length(5, 200, "front to back when new", "45 mm")] = None
    lip_height: Annotated[Entered | None, a_length(0, 30, "height of the lip when new", "4 mm")] = None
    front_lip_depth: Annotated[
        Entered | None, a_length(0, 50, "depth of the front face that can be ground, when new", "6 mm")
    ] = None
    seat_tilt: Annotated[
        Entered | None,
        an_angle(-30, 30, "tilt of the knife's seat in the unit; positive when the rear is lower", "0 deg"),
    ] = None
    pivot_behind: Annotated[
        Entered | None, a_length(-300, 500, "knife carrier's pivot behind the reel axis", "45 mm")
    ] = None
    pivot_below: Annotated[
        Entered | None, a_length(-300, 500, "knife carrier's pivot below the reel axis", "20 mm")
    ] = None
    arm: Annotated[Entered | None, a_length(1, 600, "from the pivot to the knife's edge", "55 mm")] = None
    thread_pitch: Annotated[Entered | None, a_length(0.1, 10, "pitch of the adjuster's screw", "1.5 mm")] = None
    clicks_per_turn: Annotated[int | None, Whole("clicks in one turn of the adjuster", 12, 1, 1000)] = None
    lever_ratio: Annotated[
        Entered | None, a_number(0.01, 100, "movement at the edge for one unit of movement at the adjuster", "0.5")
    ] = None
    adjuster_spacing: Annotated[
        Entered | None, a_length(50, 3500, "between the left and the right adjuster", "560 mm")
    ] = None


class HeightSection(Section):
    """Rollers and height of cut."""

    of_cut: Annotated[Entered | None, a_length(1, 120, "height of cut wanted, on the bench", "4 mm")] = None
    front_roller_diameter: Annotated[Entered | None, a_length(10, 300, "front roller when new", "63 mm")] = None
    rear_roller_diameter: Annotated[Entered | None, a_length(10, 300, "rear roller when new", "50 mm")] = None
    front_roller_ahead: Annotated[
        Entered | None, a_length(0, 600, "front roller's axis ahead of the knife's edge", "90 mm")
    ] = None
    rear_roller_behind: Annotated[
        Entered | None, a_length(0, 600, "rear roller's axis behind the knife's edge", "85 mm")
    ] = None
    adjuster_pitch: Annotated[Entered | None, a_length(0.1, 10, "pitch of the height adjuster's screw", "1.5 mm")] = (
        None
    )


class MowingSection(Section):
    """How the unit is driven on the turf."""

    travel_speed: Annotated[Entered | None, Quantity("speed over the ground", "5 km/h", "speed", 0.1, 40, "km/h")] = (
        None
    )
    reel_speed: Annotated[
        Entered | None, Quantity("speed of the reel", "1500 1/min", "rotation", 50, 5000, "1/min")
    ] = None


class LimitEntry(Section):
    """A limit of the workshop, with its origin."""

    quantity: Annotated[str, Word("what is limited", "diameter", LIMITS)]
    at_least: Annotated[Entered | None, Depends("lowest value accepted", "120 mm", "quantity")] = None
    at_most: Annotated[Entered | None, Depends("highest value accepted", "", "quantity")] = None
    origin: Annotated[
        str | None,
        Text("where the limit comes from: the house, practice, the machine's book, a standard", "machine's book", 200),
    ] = None
    set_by: Annotated[str | None, Text("who set it", "workshop manager", longest=100)] = None
    on: Annotated[datetime.date | None, Day("when it was set", "2026-01-10")] = None
    risk: Annotated[
        Entered | None, a_share(0.0001, 0.5, "accepted chance of passing what should fail; 5 % when not given", "5 %")
    ] = None

    @property
    def accepted_risk(self) -> float:
        """The accepted chance of passing what should fail."""
        return USUAL_RISK if self.risk is None else float(self.risk)


class GaugeEntry(Section):
    """A gauge. Its figures are in what it shows: length, angle or force."""

    id: Annotated[str, Text("short name that readings use", "tape 1", 60, 1)]
    kind: Annotated[GaugeKind, Word("what kind of gauge", "tape", GAUGE_KINDS)]
    resolution: Annotated[Entered | None, Depends("smallest step it shows", "0.1 mm", "kind")] = None
    calibration_uncertainty: Annotated[
        Entered | None, Depends("standard uncertainty from its calibration", "0.05 mm", "kind")
    ] = None
    expanded_uncertainty: Annotated[
        Entered | None, Depends("or: expanded uncertainty as on the certificate, with its k", "", "kind")
    ] = None
    k: Annotated[Entered | None, a_number(1, 4, "coverage factor of the expanded uncertainty", "")] = None
    repeatability: Annotated[
        Entered | None, Depends("standard deviation of one reading taken again and again", "0.1 mm", "kind")
    ] = None
    calibration_due: Annotated[datetime.date | None, Day("when its calibration falls due", "2027-03-31")] = None

    @property
    def calibration_u(self) -> float | None:
        """Standard uncertainty of the calibration, core units; None when not entered."""
        if self.expanded_uncertainty is not None and self.k is not None:
            return self.expanded_uncertainty / self.k
        return None if self.calibration_uncertainty is None else float(self.calibration_uncertainty)


class GrinderSection(Section):
    """The grinder and how it is set. Infeeds are on the radius, per pass."""

    name: Annotated[str | None, Text("name of the grinder", "spin grinder", longest=100)] = None
    give: Annotated[Entered | None, a_number(0.05, 1, "share of the set infeed that one pass removes", "0.7")] = None
    give_uncertainty: Annotated[Entered | None, a_number(0, 0.5, "standard uncertainty of the give", "0.1")] = None
    g_ratio: Annotated[
        Entered | None, a_number(0.1, 10_000, "volume ground off for one volume of wheel lost", "20")
    ] = None
    g_ratio_uncertainty: Annotated[Entered | None, a_number(0, 10_000, "standard uncertainty of that", "8")] = None
    wheel_diameter: Annotated[Entered | None, a_length(20, 600, "diameter of the wheel now", "150 mm")] = None
    wheel_width: Annotated[Entered | None, a_length(1, 200, "width of the wheel's face", "20 mm")] = None
    spindle_speed: Annotated[
        Entered | None, Quantity("speed of the wheel's spindle", "3000 1/min", "rotation", 100, 30_000, "1/min")
    ] = None
    marked_speed: Annotated[
        Entered | None,
        Quantity("highest speed marked on the wheel; read it from the wheel itself", "35 m/s", "speed", 5, 150, "m/s"),
    ] = None
    traverse_speed: Annotated[
        Entered | None, Quantity("speed of the wheel along the reel", "40 mm/s", "speed", 0.1, 1000, "mm/s")
    ] = None
    work_speed: Annotated[
        Entered | None, Quantity("speed of the reel while it is ground", "200 1/min", "rotation", 1, 3000, "1/min")
    ] = None
    overrun: Annotated[Entered | None, a_length(0, 300, "travel past each end of the reel", "15 mm")] = None
    rough_infeed: Annotated[Entered | None, a_length(0.001, 0.5, "infeed of a rough pass", "0.02 mm")] = None
    finish_infeed: Annotated[Entered | None, a_length(0.0005, 0.2, "infeed of a finish pass", "0.01 mm")] = None
    spark_out_passes: Annotated[int | None, Whole("passes without infeed at the end", 4, 0, 100)] = None
    mount_spacing: Annotated[
        Entered | None, a_length(50, 3500, "between the mounts that set the reel parallel", "600 mm")
    ] = None
    thread_pitch: Annotated[Entered | None, a_length(0.1, 10, "pitch of the set-up adjuster's screw", "1.5 mm")] = None
    divisions_per_turn: Annotated[int | None, Whole("divisions in one turn of it", 60, 1, 1000)] = None
    specific_energy: Annotated[
        Entered | None, Quantity("energy to grind off a volume", "40 J/mm3", "energy per volume", 1, 500, "J/mm³")
    ] = None
    relief_infeed: Annotated[
        Entered | None, a_length(0.001, 0.5, "infeed of a relief pass, square to the facet", "0.02 mm")
    ] = None
    work_rest_gap: Annotated[Entered | None, a_length(0, 50, "gap between work rest and wheel", "2 mm")] = None
    tongue_gap: Annotated[Entered | None, a_length(0, 50, "gap between tongue guard and wheel", "4 mm")] = None


class WantedSection(Section):
    """What the plan is to reach."""

    uncleaned_share: Annotated[
        Entered | None, a_share(0, 0.5, "share of the edge length that may stay unground", "0 %")
    ] = None
    allowance: Annotated[
        Entered | None, a_length(0, 1, "clean-up below the lowest point, on the radius", "0.02 mm")
    ] = None
    nick_depth: Annotated[Entered | None, a_length(0, 5, "nicks down to this depth are ground out", "0.1 mm")] = None
    relief: Annotated[ReliefWish | None, Word("whether to relief grind", "if due", get_args(ReliefWish))] = None
    gap: Annotated[Entered | None, a_length(0, 1, "gap between reel and knife when set", "0.03 mm")] = None
    run_out: Annotated[Entered | None, a_length(0, 5, "run-out accepted after grinding", "0.03 mm")] = None
    cone: Annotated[Entered | None, a_length(0, 5, "cone on diameter accepted after grinding", "0.03 mm")] = None
