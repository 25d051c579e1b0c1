"""How fast the reel turns by what drives it, and what drives it as fast as wanted; the workshop's band of clip."""

from __future__ import annotations

from sparkout.catalogue.cut import BLADE_COUNT, CLIP, OWN, REEL_DIAMETER, REEL_SPEED, TRAVEL_SPEED
from sparkout.catalogue.entry import Input, Result, calculation

REEL_SPEED_RESULT = Result("reel_speed", "rotation", "1/min", "reel turns per minute")
ENGINE_SPEED = Input(
    "engine_speed", "rotation", "1/min", "turns of the shaft the driving pulley sits on", 10.0, 10000.0
)
DRIVEN_PULLEY = Input("driven_pulley", "length", "mm", "pulley on the reel's side, where the belt runs", 10.0, 1000.0)
BELT_SLIP = Input("slip", "fraction", "", "share of speed lost in the belt", 0.0, 0.5, default=0.0)
FURTHER = Input("further_ratio", "number", "", "turns of the driven pulley per reel turn", 0.05, 20.0, default=1.0)
FLOW = Input("flow", "flow", "L/min", "oil that reaches the motor", 0.1, 600.0)
DISPLACEMENT = Input("displacement", "volume", "cm³", "oil per turn of the motor", 0.1, 1000.0)
EFFICIENCY = Input(
    "volumetric_efficiency", "fraction", "", "share of the oil that turns the motor; the rest leaks past", 0.1, 1.0
)
ROLLER = Input("roller_diameter", "length", "mm", "driving roller's diameter as worn", 20.0, 1500.0)
RATIO = Input("reel_turns_per_roller_turn", "number", "", "reel turns for one turn of the roller", 0.1, 100.0)
SLIP = Input(
    "slip",
    "fraction",
    "",
    "ground covered per roller turn less π D, as a share of π D; skid positive",
    -0.5,
    0.9,
    default=0.0,
)
COUNT_CAUTION = "Measure speeds from behind guards, never with a hand near the reel."
HANDBOOK = "Never above the reel speed in the machine's handbook."
SULLIVAN = "Sullivan, Fluid Power: Theory and Applications, chapter 9"
BELTS = "Khurmi and Gupta, Theory of Machines, chapter 11"


@calculation(
    "tip-speed",
    "Speed of the reel's edge",
    inputs=(REEL_SPEED, REEL_DIAMETER),
    results=(Result("tip_speed", "speed", "m/s", "speed of the edge round the axis"),),
    equation="u = π n D",
    source="definition",
    validity="against the machine; over the ground travel is added or taken away",
    example="reel_speed=1500 reel_diameter=127",
)
def tip_speed(reel_speed: float, reel_diameter: float) -> dict[str, float]:
    """Speed of the edge."""
    from sparkout.core.cut.drive import tip_speed

    return {"tip_speed": tip_speed(reel_speed, reel_diameter)}


@calculation(
    "travel-speed-for-clip",
    "Travel speed for a wanted clip",
    inputs=(REEL_SPEED, BLADE_COUNT, CLIP),
    results=(Result("travel_speed", "speed", "km/h", "forward speed over the ground"),),
    equation="v = clip n N",
    source=OWN,
    validity="a reel that keeps its own speed; geared to its roller the clip does not depend on travel",
    example="reel_speed=1500 blade_count=11 clip=4",
)
def travel_speed_for_clip(reel_speed: float, blade_count: int, clip: float) -> dict[str, float]:
    """Travel speed that gives a clip."""
    from sparkout.core.cut.drive import travel_speed_for_clip

    return {"travel_speed": travel_speed_for_clip(reel_speed, blade_count, clip)}


@calculation(
    "reel-speed-belt",
    "Reel speed through a belt",
    inputs=(
        ENGINE_SPEED,
        Input("driving_pulley", "length", "mm", "pulley on the engine's side, where the belt runs", 10.0, 1000.0),
        DRIVEN_PULLEY,
        BELT_SLIP,
        FURTHER,
    ),
    results=(REEL_SPEED_RESULT,),
    equation="n = n_e d1 (1 - slip) / (d2 i)",
    source=BELTS,
    validity="one belt; pitch diameters, with a flat belt its thickness added",
    example='engine_speed=3000 driving_pulley=60 driven_pulley=110 slip="2 %"',
    caution=COUNT_CAUTION,
)
def reel_speed_belt(
    engine_speed: float, driving_pulley: float, driven_pulley: float, slip: float, further_ratio: float
) -> dict[str, float]:
    """Reel speed through a belt."""
    from sparkout.core.cut.drive import reel_speed_belt

    speed = reel_speed_belt(engine_speed, driving_pulley, driven_pulley, slip=slip, further_ratio=further_ratio)
    return {"reel_speed": speed}


@calculation(
    "pulley-for-reel-speed",
    "Driving pulley for a wanted reel speed",
    inputs=(ENGINE_SPEED, DRIVEN_PULLEY, REEL_SPEED, BELT_SLIP, FURTHER),
    results=(Result("driving_pulley", "length", "mm", "pulley on the engine's side, where the belt runs"),),
    equation="d1 = n d2 i / (n_e (1 - slip))",
    source=BELTS,
    validity="one belt; pitch diameters, with a flat belt its thickness added",
    example='engine_speed=3000 driven_pulley=110 reel_speed=1700 slip="2 %"',
    caution=HANDBOOK,
)
def pulley_for_reel_speed(
    engine_speed: float, driven_pulley: float, reel_speed: float, slip: float, further_ratio: float
) -> dict[str, float]:
    """Driving pulley's diameter."""
    from sparkout.core.cut.drive import driving_pulley_for_reel_speed

    pulley = driving_pulley_for_reel_speed(
        engine_speed, driven_pulley, reel_speed, slip=slip, further_ratio=further_ratio
    )
    return {"driving_pulley": pulley}


@calculation(
    "reel-speed-hydraulic",
    "Reel speed on a hydraulic motor",
    inputs=(FLOW, DISPLACEMENT, EFFICIENCY),
    results=(REEL_SPEED_RESULT,),
    equation="n = Q η / V",
    source=SULLIVAN,
    validity="motor on the reel's shaft; hot thin oil, wear and load lower the efficiency",
    example='flow=18 displacement=10 volumetric_efficiency="92 %"',
    caution=COUNT_CAUTION,
)
def reel_speed_hydraulic(flow: float, displacement: float, volumetric_efficiency: float) -> dict[str, float]:
    """Reel speed on a hydraulic motor."""
    from sparkout.core.cut.drive import reel_speed_hydraulic

    return {"reel_speed": reel_speed_hydraulic(flow, displacement, volumetric_efficiency)}


@calculation(
    "flow-for-reel-speed",
    "Oil flow for a wanted reel speed",
    inputs=(REEL_SPEED, DISPLACEMENT, EFFICIENCY),
    results=(Result("flow", "flow", "L/min", "oil that must reach the motor"),),
    equation="Q = n V / η",
    source=SULLIVAN,
    validity="motor on the reel's shaft",
    example='reel_speed=1700 displacement=10 volumetric_efficiency="92 %"',
    caution=HANDBOOK,
)
def flow_for_reel_speed(reel_speed: float, displacement: float, volumetric_efficiency: float) -> dict[str, float]:
    """Flow a hydraulic motor needs."""
    from sparkout.core.cut.drive import flow_for_reel_speed

    return {"flow": flow_for_reel_speed(reel_speed, displacement, volumetric_efficiency)}


@calculation(
    "hydraulic-efficiency",
    "Share of the oil that turns the motor",
    inputs=(FLOW, DISPLACEMENT, REEL_SPEED),
    results=(Result("volumetric_efficiency", "fraction", "%", "share of the oil that turns the motor"),),
    equation="η = n V / Q",
    source=SULLIVAN,
    validity="flow and speed read together, oil warm, reel under load; compare with the same motor when sound",
    example="flow=18 displacement=10 reel_speed=1530",
    caution="Oil under pressure goes through skin: never feel for a leak. " + COUNT_CAUTION,
)
def hydraulic_efficiency(flow: float, displacement: float, reel_speed: float) -> dict[str, float]:
    """Volumetric efficiency from a counted speed."""
    from sparkout.core.cut.drive import volumetric_efficiency

    return {"volumetric_efficiency": volumetric_efficiency(flow, displacement, reel_speed)}


@calculation(
    "reel-speed-electric",
    "Reel speed on an electric motor under load",
    inputs=(
        Input("no_load_speed", "rotation", "1/min", "motor's speed at this voltage without load", 10.0, 50000.0),
        Input("stall_torque", "torque", "N m", "torque at which it stands still: not one to run at", 0.01, 1000.0),
        Input("reel_torque", "torque", "N m", "torque at the reel", 0.0, 1000.0),
        Input("motor_turns_per_reel_turn", "number", "", "gear between motor and reel", 0.05, 50.0, default=1.0),
    ),
    results=(REEL_SPEED_RESULT,),
    equation="n = (n0 / i) (1 - T / (i Ts))",
    source="straight speed-torque line of a permanent-magnet motor: common teaching, from memory",
    validity="no speed control; a controlled motor holds its set speed until voltage or current run out",
    example="no_load_speed=2100 stall_torque=9 reel_torque=1.5",
    caution="Take the battery out or pull the plug before a hand goes near the reel.",
)
def reel_speed_electric(
    no_load_speed: float, stall_torque: float, reel_torque: float, motor_turns_per_reel_turn: float
) -> dict[str, float]:
    """Reel speed on an electric motor."""
    from sparkout.core.cut.drive import reel_speed_electric

    speed = reel_speed_electric(
        no_load_speed, stall_torque, reel_torque, motor_turns_per_reel_turn=motor_turns_per_reel_turn
    )
    return {"reel_speed": speed}


@calculation(
    "reel-speed-land-drive",
    "Reel speed driven from the roller",
    inputs=(TRAVEL_SPEED, ROLLER, RATIO, SLIP),
    results=(REEL_SPEED_RESULT,),
    equation="n = v i / (π D (1 + slip))",
    source=OWN,
    validity="a reel geared to its roller",
    example='travel_speed=4.5 roller_diameter=190 reel_turns_per_roller_turn=6.5 slip="5 %"',
)
def reel_speed_land_drive(
    travel_speed: float, roller_diameter: float, reel_turns_per_roller_turn: float, slip: float
) -> dict[str, float]:
    """Reel speed of a land drive."""
    from sparkout.core.cut.drive import reel_speed_land_drive

    return {"reel_speed": reel_speed_land_drive(travel_speed, roller_diameter, reel_turns_per_roller_turn, slip)}


@calculation(
    "ratio-for-clip",
    "Gear between roller and reel for a wanted clip",
    inputs=(ROLLER, BLADE_COUNT, CLIP, SLIP),
    results=(Result("reel_turns_per_roller_turn", "number", "", "reel turns for one turn of the roller"),),
    equation="i = π D (1 + slip) / (clip N)",
    source=OWN,
    validity="a reel geared to its roller; travel speed drops out",
    example='roller_diameter=190 blade_count=10 clip=6 slip="5 %"',
)
def ratio_for_clip(roller_diameter: float, blade_count: int, clip: float, slip: float) -> dict[str, float]:
    """Reel turns per roller turn."""
    from sparkout.core.cut.drive import ratio_for_clip

    return {"reel_turns_per_roller_turn": ratio_for_clip(roller_diameter, blade_count, clip, slip)}


@calculation(
    "slip-from-turns",
    "Slip of the driving roller from counted turns",
    inputs=(
        Input("distance", "length", "m", "ground covered at work", 1.0, 10000.0),
        Input("turns", "number", "", "turns of the driving roller over it", 0.5, 100000.0),
        ROLLER,
    ),
    results=(Result("slip", "fraction", "%", "ground covered per turn less π D, as a share of π D; skid positive"),),
    equation="slip = x / (turns π D) - 1",
    source="definition",
    validity="only as good as the roller's diameter; counted under the load of a full cut",
    example="distance=20 turns=32.2 roller_diameter=190",
    caution="Count from beside the machine, a chalk mark on the roller's end; never walk in front of it.",
)
def slip_from_turns(distance: float, turns: float, roller_diameter: float) -> dict[str, float]:
    """Slip of the drive."""
    from sparkout.core.cut.drive import slip_from_turns

    return {"slip": slip_from_turns(distance, turns, roller_diameter)}


@calculation(
    "clip-after-roller-wear",
    "What a worn driving roller does to the clip",
    inputs=(
        Input("new_diameter", "length", "mm", "driving roller's diameter when new", 20.0, 1500.0),
        Input("worn_diameter", "length", "mm", "its diameter now", 20.0, 1500.0),
    ),
    results=(Result("change", "fraction", "%", "change of the clip; below 0: finer"),),
    equation="change = D_worn / D_new - 1",
    source=OWN,
    validity="a reel geared to its roller, slip unchanged",
    example="new_diameter=190 worn_diameter=186",
)
def clip_after_roller_wear(new_diameter: float, worn_diameter: float) -> dict[str, float]:
    """Change of the clip."""
    from sparkout.core.cut.drive import clip_change_from_roller_wear

    return {"change": clip_change_from_roller_wear(new_diameter, worn_diameter)}


@calculation(
    "clip-band",
    "Clip band of your own, and the reel speeds that keep to it",
    inputs=(
        Input("height_of_cut", "length", "mm", "edge above the ground line", 0.5, 150.0),
        Input("least_share", "fraction", "", "finest clip you want, as a share of the height", 0.05, 10.0),
        Input("most_share", "fraction", "", "coarsest clip you want, as a share of the height", 0.05, 10.0),
        TRAVEL_SPEED,
        BLADE_COUNT,
    ),
    results=(
        Result("finest_clip", "length", "mm", "finest clip of the band"),
        Result("coarsest_clip", "length", "mm", "coarsest clip of the band"),
        Result("slowest_reel", "rotation", "1/min", "slowest reel that keeps to it at this travel"),
        Result("fastest_reel", "rotation", "1/min", "fastest reel that keeps to it at this travel"),
    ),
    equation="clip = share H, n = v / (clip N)",
    source="common practice, no source: clip about the height of cut; the band is the workshop's own",
    validity="greens mowers at today's heights do not keep to it; no trial stands behind it",
    example='height_of_cut=4 least_share="80 %" most_share="120 %" travel_speed=4.5 blade_count=11',
    caution=HANDBOOK,
)
def clip_band(
    height_of_cut: float, least_share: float, most_share: float, travel_speed: float, blade_count: int
) -> dict[str, float]:
    """Band of clip and of reel speed."""
    from sparkout.core.cut.band import clip_band

    band = clip_band(height_of_cut, least_share, most_share, "as entered")
    slowest, fastest = band.reel_speeds(travel_speed, blade_count)
    return {
        "finest_clip": band.finest,
        "coarsest_clip": band.coarsest,
        "slowest_reel": slowest,
        "fastest_reel": fastest,
    }


@calculation(
    "clip-as-timed",
    "Clip of a machine as timed and counted, and the chance that it lies in your band",
    inputs=(
        Input("distance", "length", "m", "length walked or driven at work", 1.0, 10000.0),
        Input("distance_uncertainty", "length", "m", "standard uncertainty of that", 0.0, 100.0, default=0.05),
        Input("time", "time", "s", "time it took", 1.0, 36000.0),
        Input("time_uncertainty", "time", "s", "standard uncertainty of that", 0.0, 600.0, default=0.2),
        REEL_SPEED,
        Input(
            "reel_uncertainty",
            "fraction",
            "",
            "how far off the reel's speed may be, as a share",
            0.0,
            0.5,
            default=0.01,
        ),
        BLADE_COUNT,
        Input("finest_clip", "length", "mm", "finest clip of your own band", 0.05, 200.0),
        Input("coarsest_clip", "length", "mm", "coarsest clip of your own band", 0.05, 200.0),
    ),
    results=(
        Result("travel_speed", "speed", "km/h", "forward speed over the ground"),
        Result("clip", "length", "mm", "forward travel per blade contact"),
        Result("clip_uncertainty", "length", "mm", "standard uncertainty of the clip"),
        Result("chance_within", "fraction", "%", "chance that the clip lies in the band"),
    ),
    equation="clip = x / (t n N); relative variances added",
    source="law of propagation (JCGM 100); the band is the workshop's own",
    validity="distance, time and reel speed read independently; a stop-watch by hand is good to some 0.2 s",
    example="distance=20 time=16 reel_speed=1500 blade_count=11 finest_clip=3.2 coarsest_clip=4.8",
    caution=COUNT_CAUTION,
)
def clip_as_timed(
    distance: float,
    distance_uncertainty: float,
    time: float,
    time_uncertainty: float,
    reel_speed: float,
    reel_uncertainty: float,
    blade_count: int,
    finest_clip: float,
    coarsest_clip: float,
) -> dict[str, float]:
    """Clip with its uncertainty."""
    from sparkout.core.cut.band import own_band
    from sparkout.core.cut.running import running, travel_speed_timed
    from sparkout.core.measured import Measured

    travel = travel_speed_timed(Measured(distance, distance_uncertainty), Measured(time, time_uncertainty))
    turning = Measured(reel_speed, reel_uncertainty * reel_speed)
    found = running(travel, blade_count, turning, band=own_band(finest_clip, coarsest_clip, "as entered"))
    return {
        "travel_speed": travel.value,
        "clip": found.clip.value,
        "clip_uncertainty": found.clip.u,
        "chance_within": found.chance_within or 0.0,
    }


ENTRIES = (
    clip_as_timed,
    tip_speed,
    travel_speed_for_clip,
    reel_speed_belt,
    pulley_for_reel_speed,
    reel_speed_hydraulic,
    flow_for_reel_speed,
    hydraulic_efficiency,
    reel_speed_electric,
    reel_speed_land_drive,
    ratio_for_clip,
    slip_from_turns,
    clip_after_roller_wear,
    clip_band,
)
