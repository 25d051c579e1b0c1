"""The units of one machine to one height; the gap as the unit warms."""

from __future__ import annotations

from sparkout.catalogue.cut import OWN, REEL_DIAMETER
from sparkout.catalogue.entry import Input, Result, calculation
from sparkout.catalogue.stance import CAUTION

RISE = "temperature difference"
REEL_ALPHA = Input("reel_expansion", "expansion", "1/K", "reel's coefficient of expansion", 0.0, 1e-4, default=11.5e-6)
FRAME_ALPHA = Input(
    "frame_expansion", "expansion", "1/K", "frame's coefficient of expansion", 0.0, 1e-4, default=11.5e-6
)
ALPHA_U = Input(
    "expansion_uncertainty", "expansion", "1/K", "standard uncertainty of each coefficient", 0.0, 1e-4, default=1.2e-6
)
REEL_RISE = Input("reel_rise", RISE, "K", "reel's rise of temperature", -100.0, 200.0)
FRAME_RISE = Input("frame_rise", RISE, "K", "frame's rise of temperature", -100.0, 200.0)
RISE_U = Input(
    "rise_uncertainty", RISE, "K", "standard uncertainty of each rise; 3 K: own choice", 0.0, 100.0, default=3.0
)
EXPANSION_SOURCE = (
    "Swyt, J. Res. NIST 99(1), 1994 (steel 11.5e-6 /K, aluminium 23.1e-6 /K); JCGM 100 H.1 (doubt in a coefficient)"
)
GAP_CAUTION = "Isolate; a reel that has run is hot; a blade moved at one place moves all of them. Look again warm."


@calculation(
    "match-heights",
    "Units of one machine to one height with the least turning",
    inputs=(
        Input("heights_left", "list", "", "height of cut at each unit's left end, mm, by one bar", -5.0, 200.0),
        Input("heights_right", "list", "", "the same at the right ends, in the same order", -5.0, 200.0),
        Input("height_per_turn", "length", "mm", "rise of the edge for one turn at its end", 0.01, 20.0),
        Input("end_tolerance", "length", "mm", "largest difference of a unit's ends", 0.0, 20.0),
        Input("unit_tolerance", "length", "mm", "largest difference between units, mean of their ends", 0.0, 20.0),
        Input("wanted", "length", "mm", "height wanted; left out: whichever takes the least turning", -5.0, 200.0,
              optional=True),
        Input("step", "number", "", "least part of a turn that can be set; left out: any", 0.0005, 10.0, optional=True),
        Input("reading_uncertainty", "length", "mm", "standard uncertainty of a reading, the bar's own error left out",
              0.0, 1.0),
        Input("bar_uncertainty", "length", "mm", "standard uncertainty of the bar, shared by all readings", 0.0, 5.0),
    ),
    results=(
        Result("height", "length", "mm", "the common height"),
        Result("left_turns", "list", "", "turns at each unit's left end, up positive"),
        Result("right_turns", "list", "", "turns at each unit's right end"),
        Result("total_turns", "number", "", "all turns together"),
        Result("unit_to_unit", "length", "mm", "highest less lowest unit afterwards"),
        Result("unit_to_unit_uncertainty", "length", "mm", "standard uncertainty of that: the bar's error drops out"),
        Result("height_uncertainty", "length", "mm", "standard uncertainty of the common height, the bar's included"),
        Result("ends_apart", "list", "", "right less left of each unit afterwards, mm"),
    ),
    equation="least Σ|turns| with |right - left| and the units' means within their tolerances",
    source=f"{OWN}; checked against every number of steps tried, and the weighted median",
    validity="rise in proportion to turns; turns stop at the edge of the tolerance: ask for 0 to meet in one height",
    example="heights_left=3.92,4.05,4.10 heights_right=3.95,4.02,4.16 height_per_turn=0.8 end_tolerance=0.05 "
    "unit_tolerance=0.05 reading_uncertainty=0.01 bar_uncertainty=0.03",
    caution=CAUTION,
)  # fmt: skip
def match_heights(
    heights_left: list[float],
    heights_right: list[float],
    height_per_turn: float,
    end_tolerance: float,
    unit_tolerance: float,
    reading_uncertainty: float,
    bar_uncertainty: float,
    wanted: float | None = None,
    step: float | None = None,
) -> dict[str, object]:
    """Turns that match the units of one machine."""
    from sparkout.core.errors import Contradiction
    from sparkout.core.measured import Measured
    from sparkout.core.phrase import phrase
    from sparkout.core.stance.matching import UnitHeights, match_heights

    if len(heights_left) != len(heights_right):
        raise Contradiction(("heights_left", "heights_right"), phrase("one has more units than the other"))
    units = [
        UnitHeights(
            f"{i + 1}", Measured(left, reading_uncertainty), Measured(right, reading_uncertainty), height_per_turn, step
        )
        for i, (left, right) in enumerate(zip(heights_left, heights_right, strict=True))
    ]
    found = match_heights(
        units, end_tolerance=end_tolerance, unit_tolerance=unit_tolerance, wanted=wanted, bar_u=bar_uncertainty
    )
    return {
        "height": found.height,
        "left_turns": [unit.turns.left for unit in found.units],
        "right_turns": [unit.turns.right for unit in found.units],
        "total_turns": found.total_turns,
        "unit_to_unit": found.unit_to_unit.value,
        "unit_to_unit_uncertainty": found.unit_to_unit.u,
        "height_uncertainty": found.on_turf.u,
        "ends_apart": [unit.end_to_end.value for unit in found.units],
    }


@calculation(
    "gap-hot",
    "The gap as it will be warm",
    inputs=(
        REEL_DIAMETER,
        Input("gap_cold", "length", "mm", "gap as set cold", -1.0, 20.0),
        Input("gap_uncertainty", "length", "mm", "standard uncertainty of that", 0.0, 5.0, default=0.0),
        REEL_RISE,
        FRAME_RISE,
        RISE_U,
        REEL_ALPHA,
        FRAME_ALPHA,
        ALPHA_U,
    ),
    results=(
        Result("gap", "length", "mm", "gap warm; negative: the blades press on the bedknife"),
        Result("gap_change", "length", "mm", "what heat adds; negative: the gap closes"),
        Result("uncertainty", "length", "mm", "standard uncertainty of the gap warm"),
    ),
    equation="gap + R (α_frame ΔT_frame - α_reel ΔT_reel)",
    source=EXPANSION_SOURCE,
    validity="each part at one temperature throughout; bearings and adjusters left out",
    example="reel_diameter=127 gap_cold=0.05 reel_rise=30 frame_rise=10",
    caution=GAP_CAUTION,
)
def gap_hot(**given: float) -> dict[str, float]:
    """Gap warm."""
    from sparkout.core.measured import Measured
    from sparkout.core.setting.heat import Warming, gap_hot

    warming = Warming(*(Measured(given[key], given["rise_uncertainty"]) for key in ("reel_rise", "frame_rise")))
    reel, frame = (
        Measured(given[key], given["expansion_uncertainty"]) for key in ("reel_expansion", "frame_expansion")
    )
    found = gap_hot(
        Measured(given["gap_cold"], given["gap_uncertainty"]),
        Measured(given["reel_diameter"], 0.0),
        warming,
        reel,
        reel if given["reel_expansion"] == given["frame_expansion"] else frame,  # one metal: one doubt
    )
    return {"gap": found.gap.value, "gap_change": found.change.value, "uncertainty": found.gap.u}


@calculation(
    "gap-to-set-cold",
    "What gap to set cold for a gap wanted warm",
    inputs=(
        REEL_DIAMETER,
        Input("wanted", "length", "mm", "least gap at any time", -0.5, 2.0),
        REEL_RISE,
        FRAME_RISE,
        Input("early_reel_rise", RISE, "K", "reel's rise while the frame is still cold; left out: no such time", -100.0,
              200.0, optional=True),
        RISE_U,
        REEL_ALPHA,
        FRAME_ALPHA,
        ALPHA_U,
    ),
    results=(
        Result("gap_cold", "length", "mm", "gap to set cold; negative: cannot be set cold, the knife would press"),
        Result("gap_warm", "length", "mm", "gap once all is warm"),
        Result("uncertainty", "length", "mm", "standard uncertainty of the tightest gap, set exactly"),
    ),
    equation="wanted - least of R (α_frame ΔT_frame - α_reel ΔT_reel) over the states",
    source=EXPANSION_SOURCE,
    validity="each part at one temperature throughout; bearings and adjusters left out",
    example="reel_diameter=127 wanted=0.03 reel_rise=30 frame_rise=20 early_reel_rise=25",
    caution=GAP_CAUTION,
)  # fmt: skip
def gap_to_set_cold(**given: float) -> dict[str, float]:
    """Gap to set cold."""
    from sparkout.core.measured import Measured
    from sparkout.core.setting.heat import Warming, gap_to_set_cold

    doubt = given["rise_uncertainty"]
    states = [Warming(Measured(given["reel_rise"], doubt), Measured(given["frame_rise"], doubt))]
    if given.get("early_reel_rise") is not None:
        states.append(Warming(Measured(given["early_reel_rise"], doubt), Measured(0.0, doubt)))
    reel, frame = (
        Measured(given[key], given["expansion_uncertainty"]) for key in ("reel_expansion", "frame_expansion")
    )
    found = gap_to_set_cold(
        given["wanted"],
        Measured(given["reel_diameter"], 0.0),
        states,
        reel,
        reel if given["reel_expansion"] == given["frame_expansion"] else frame,
    )
    return {"gap_cold": found.gap.value, "gap_warm": found.warm[0].value, "uncertainty": found.gap.u}


ENTRIES = (match_heights, gap_hot, gap_to_set_cold)
