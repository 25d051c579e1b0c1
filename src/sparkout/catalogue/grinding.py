"""Setting the grinder up, what comes off, the wheel, balance."""

from __future__ import annotations

from sparkout.catalogue.cut import BLADE_COUNT, OWN, REEL_DIAMETER
from sparkout.catalogue.entry import Input, Result, calculation
from sparkout.catalogue.measuring import LAND

WHEEL_CAUTION = (
    "Never above the speed marked on the wheel; guards on, eyes and dust protected; "
    "wheels are mounted by trained people only."
)


@calculation(
    "adjuster-turns",
    "How far to turn the adjuster to line the reel's axis up",
    inputs=(
        Input("cone_on_diameter", "length", "mm", "cone on diameter over the blade length", -20.0, 20.0),
        Input("reel_length", "length", "mm", "blade length along the axis", 50.0, 3000.0),
        Input("mount_spacing", "length", "mm", "distance between the grinder's mounts", 50.0, 5000.0),
        Input("thread_pitch", "length", "mm", "travel per turn of the adjuster", 0.1, 10.0),
    ),
    results=(
        Result("offset", "length", "mm", "movement at the adjuster"),
        Result("turns", "number", "", "turns of the adjuster"),
    ),
    equation="offset = (cone / 2) (mount spacing / blade length); turns = offset / pitch",
    source=OWN,
    validity="small angles; one end fixed",
    example="cone_on_diameter=0.3 reel_length=533 mount_spacing=600 thread_pitch=1.5",
    caution="Isolate the grinder before reaching in.",
)
def adjuster_turns(
    cone_on_diameter: float, reel_length: float, mount_spacing: float, thread_pitch: float
) -> dict[str, float]:
    """Adjuster movement that squares the reel's axis to the grinder."""
    from sparkout.core.grinding.setup import adjuster_turns

    move = adjuster_turns(cone_on_diameter, reel_length, mount_spacing, thread_pitch)
    return {"offset": move.offset, "turns": move.turns}


@calculation(
    "land-after-grind",
    "Land after grinding the radius down",
    inputs=(
        LAND,
        Input("relief_angle", "angle", "deg", "relief facet to the tip-circle tangent (not to the radius)", 5.0, 85.0),
        Input("radius_removed", "length", "mm", "taken off the radius", 0.0, 10.0),
        REEL_DIAMETER,
    ),
    results=(Result("land", "length", "mm", "width of the land after"),),
    equation="exact on the arc; close to w + removed / tan α",
    source=f"{OWN}; checked against brute-force geometry",
    validity="until the land reaches the blade's thickness: then the relief is gone",
    example="land=1 relief_angle=45 radius_removed=0.3 reel_diameter=127",
)
def land_after_grind(land: float, relief_angle: float, radius_removed: float, reel_diameter: float) -> dict[str, float]:
    """Land left after a spin grind."""
    from sparkout.core.reel.land import land_after_grind

    return {"land": land_after_grind(land, relief_angle, radius_removed, reel_diameter)}


@calculation(
    "wheel-speed",
    "Surface speed of the wheel",
    inputs=(
        Input("wheel_diameter", "length", "mm", "wheel diameter as worn", 10.0, 1000.0),
        Input("spindle_speed", "rotation", "1/min", "spindle turns per minute", 10.0, 30000.0),
    ),
    results=(Result("surface_speed", "speed", "m/s", "speed of the wheel's rim"),),
    equation="v = π D n",
    source="Groover, Fundamentals of Modern Manufacturing, section 24.1.2; US Army TC 9-524",
    validity="compare with the speed marked on the wheel itself",
    example="wheel_diameter=150 spindle_speed=3450",
    caution=WHEEL_CAUTION,
)
def wheel_speed(wheel_diameter: float, spindle_speed: float) -> dict[str, float]:
    """Rim speed of the wheel."""
    from sparkout.core.grinding.wheel import surface_speed

    return {"surface_speed": surface_speed(wheel_diameter, spindle_speed)}


@calculation(
    "removal",
    "Removal rate and power of a spin-grind pass",
    inputs=(
        Input("infeed", "length", "mm", "radial depth taken in the pass", 0.0, 1.0),
        LAND,
        BLADE_COUNT,
        Input("traverse_speed", "speed", "mm/s", "wheel's travel along the reel", 0.0, 1000.0, above=True),
        Input("wheel_width", "length", "mm", "width of the wheel's face", 1.0, 200.0),
        Input("specific_energy", "energy per volume", "J/mm3", "energy to grind away one mm³", 1.0, 500.0),
    ),
    results=(
        Result("removal_rate", "removal rate", "mm3/s", "volume ground away per second"),
        Result("specific_removal_rate", "specific removal rate", "mm2/s", "the same per wheel width"),
        Result("power", "power", "W", "power at the wheel"),
    ),
    equation="Q = infeed · land · N · traverse speed; Q' = Q / width; P = Q · specific energy",
    source="Groover, Fundamentals of Modern Manufacturing, section 24.1.2 (removal, specific energy), on N lands",
    validity="whole land in contact along the length; specific energy differs widely between sources: 14 to 68 J/mm³",
    example="infeed=0.02 land=1 blade_count=11 traverse_speed=40 wheel_width=20 specific_energy=40",
    caution=WHEEL_CAUTION,
)
def removal(
    infeed: float,
    land: float,
    blade_count: int,
    traverse_speed: float,
    wheel_width: float,
    specific_energy: float,
) -> dict[str, float]:
    """Removal rate and power."""
    from sparkout.core.grinding.removal import removal

    found = removal(infeed, land, blade_count, traverse_speed, wheel_width, specific_energy)
    return {
        "removal_rate": found.removal_rate,
        "specific_removal_rate": found.specific_removal_rate,
        "power": found.power,
    }


@calculation(
    "balance",
    "Permissible unbalance of a reel",
    inputs=(
        Input("mass", "mass", "kg", "mass of the reel", 0.01, 1000.0),
        Input("speed", "rotation", "1/min", "highest working speed", 10.0, 30000.0),
        Input("grade", "speed", "mm/s", "balance grade G, permissible e·ω", 0.1, 4000.0),
    ),
    results=(
        Result("permissible_eccentricity", "length", "um", "mass centre off the axis"),
        Result("permissible_unbalance", "unbalance", "g mm", "mass times eccentricity"),
    ),
    equation="e = G / ω; U = m e",
    source="ISO 21940-11 (formula as reproduced; grades: parts of agricultural machinery G 16)",
    validity="rigid rotor, both planes together",
    example="mass=10 speed=3000 grade=2.5",
)
def balance(mass: float, speed: float, grade: float) -> dict[str, float]:
    """Permissible eccentricity and unbalance."""
    from sparkout.core.reel.balance import permissible

    found = permissible(mass, speed, grade)
    return {"permissible_eccentricity": found.eccentricity, "permissible_unbalance": found.unbalance}


ENTRIES = (adjuster_turns, land_after_grind, wheel_speed, removal, balance)
