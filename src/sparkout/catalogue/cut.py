"""Clip, cusp, stubble, blades in contact."""

from __future__ import annotations

from sparkout.catalogue.entry import Input, Result, calculation

TRAVEL_SPEED = Input("travel_speed", "speed", "km/h", "forward speed over the ground", 0.0, 60.0, above=True)
REEL_SPEED = Input("reel_speed", "rotation", "1/min", "reel turns per minute", 10.0, 10000.0)
BLADE_COUNT = Input("blade_count", "count", "", "number of blades on the reel", 2, 40)
REEL_DIAMETER = Input("reel_diameter", "length", "mm", "reel diameter over the edges", 40.0, 600.0)
CLIP = Input("clip", "length", "mm", "forward travel per blade contact", 0.1, 200.0)
CLIP_RESULT = Result("clip", "length", "mm", "forward travel per blade contact")
OWN = "geometry, own working"


@calculation(
    "clip",
    "Clip and cuts per metre",
    inputs=(TRAVEL_SPEED, BLADE_COUNT, REEL_SPEED),
    results=(CLIP_RESULT, Result("cuts_per_metre", "per length", "1/m", "blade contacts per metre of travel")),
    equation="clip = v / (n N)",
    source=f"{OWN}; agrees with the UK grounds association's cuts-per-metre figure for cricket squares",
    validity="any reel driven at its own speed; clip does not depend on diameter",
    example="travel_speed=4.5 blade_count=11 reel_speed=1500",
    caution="Measure reel speed from behind guards, never with a hand near the reel.",
)
def clip(travel_speed: float, blade_count: int, reel_speed: float) -> dict[str, float]:
    """Forward travel per blade contact."""
    from sparkout.core.cut.clip import clip, cuts_per_length

    value = clip(travel_speed, blade_count, reel_speed)
    return {"clip": value, "cuts_per_metre": cuts_per_length(value)}


@calculation(
    "clip-land-drive",
    "Clip of a reel driven from the roller",
    inputs=(
        Input("roller_diameter", "length", "mm", "driving roller's diameter as worn", 20.0, 1500.0),
        Input("reel_turns_per_roller_turn", "number", "", "reel turns for one turn of the roller", 0.1, 100.0),
        BLADE_COUNT,
        Input(
            "slip",
            "fraction",
            "",
            "ground covered per roller turn less π D, as a share of π D; skid positive",
            -0.5,
            0.9,
            default=0.0,
        ),
    ),
    results=(CLIP_RESULT,),
    equation="clip = π D (1 + slip) / (i N)",
    source=OWN,
    validity="a reel geared to its roller; travel speed drops out",
    example='roller_diameter=190 reel_turns_per_roller_turn=6.5 blade_count=10 slip="5 %"',
)
def clip_land_drive(
    roller_diameter: float, reel_turns_per_roller_turn: float, blade_count: int, slip: float
) -> dict[str, float]:
    """Clip of a land-driven reel."""
    from sparkout.core.cut.clip import clip_land_drive

    return {"clip": clip_land_drive(roller_diameter, reel_turns_per_roller_turn, blade_count, slip)}


@calculation(
    "reel-speed-for-clip",
    "Reel speed for a wanted clip",
    inputs=(TRAVEL_SPEED, BLADE_COUNT, CLIP),
    results=(Result("reel_speed", "rotation", "1/min", "reel turns per minute"),),
    equation="n = v / (clip N)",
    source=OWN,
    validity="any reel driven at its own speed",
    example="travel_speed=4.5 blade_count=11 clip=4",
    caution="Never above the reel speed in the machine's handbook.",
)
def reel_speed_for_clip(travel_speed: float, blade_count: int, clip: float) -> dict[str, float]:
    """Reel speed that gives a clip."""
    from sparkout.core.cut.clip import reel_speed_for_clip

    return {"reel_speed": reel_speed_for_clip(travel_speed, blade_count, clip)}


@calculation(
    "cusp",
    "Cusp left between neighbouring blade paths",
    inputs=(TRAVEL_SPEED, BLADE_COUNT, REEL_SPEED, REEL_DIAMETER),
    results=(Result("cusp", "length", "mm", "height of the cusp above the lowest point of the blade path"),),
    equation="height where x = v t - R sin ωt, y = R (1 - cos ωt) of neighbouring blades cross",
    source=f"{OWN}: exact crossing of trochoids",
    validity="blade tips faster than travel; free path without bedknife; a model of the marking, not of the stubble",
    example="travel_speed=5.4 blade_count=11 reel_speed=2000 reel_diameter=127",
)
def cusp(travel_speed: float, blade_count: int, reel_speed: float, reel_diameter: float) -> dict[str, float]:
    """Cusp between neighbouring blades' paths."""
    from sparkout.core.cut.trochoid import cusp

    return {"cusp": cusp(travel_speed, blade_count, reel_speed, reel_diameter)}


@calculation(
    "stubble",
    "Stubble left by leaves swept back to the bedknife",
    inputs=(Input("height_of_cut", "length", "mm", "edge above the ground line", 0.5, 150.0), CLIP),
    results=(
        Result("longest", "length", "mm", "longest leaf left"),
        Result("spread", "length", "mm", "longest less shortest"),
        Result("mean", "length", "mm", "mean leaf left"),
    ),
    equation="length = √(H² + s²), 0 ≤ s < clip",
    source=f"{OWN}; a model without a field trial",
    validity="ignores leaf stiffness and lean; use it to rank, not to predict",
    example="height_of_cut=4 clip=4",
)
def stubble(height_of_cut: float, clip: float) -> dict[str, float]:
    """Stubble lengths by the swept-leaf model."""
    from sparkout.core.cut.stubble import stubble

    found = stubble(height_of_cut, clip)
    return {"longest": found.longest, "spread": found.spread, "mean": found.mean}


@calculation(
    "blades-in-contact",
    "Blades in contact with the bedknife at once",
    inputs=(
        BLADE_COUNT,
        Input("reel_length", "length", "mm", "blade length along the axis", 50.0, 3000.0),
        Input("helix_angle", "angle", "deg", "blade's angle to the axis", 0.0, 60.0),
        REEL_DIAMETER,
    ),
    results=(Result("blades_in_contact", "number", "", "mean number of blades crossing the edge at once"),),
    equation="N L tan β / (π D)",
    source=OWN,
    validity="below 1 the cut is interrupted and the torque pulses",
    example='blade_count=11 reel_length=533 helix_angle=20 reel_diameter="5 in"',
)
def blades_in_contact(
    blade_count: int, reel_length: float, helix_angle: float, reel_diameter: float
) -> dict[str, float]:
    """Mean number of blades in contact."""
    from sparkout.core.cut.clip import blades_in_contact

    return {"blades_in_contact": blades_in_contact(blade_count, reel_length, helix_angle, reel_diameter)}


ENTRIES = (clip, clip_land_drive, reel_speed_for_clip, cusp, stubble, blades_in_contact)
