"""Bearings: drag, inertia, life, defect frequencies."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.catalogue.cut import OWN
from sparkout.catalogue.entry import Input, Result, calculation

if TYPE_CHECKING:
    from sparkout.core.bearing.life import Kind

TURNING = "Knife backed off, drive isolated, gloves on; nobody near a turning reel. The machine's handbook comes first."
SPEED = Input("reel_speed", "rotation", "1/min", "reel turns per minute", 0.0, 20000.0, above=True)
INERTIA = Input("inertia", "inertia", "kg mm²", "the reel's moment of inertia about its axis", 0.0, 1e7, above=True)
LOAD = Input("load", "force", "N", "equivalent dynamic load on the bearing", 0.0, 1e6, above=True)
KIND = Input("kind", "choice", "", "what rolls in it", choices=("ball", "roller"))


@calculation(
    "drag-torque",
    "Drag of the reel's bearings by cord and balance",
    inputs=(
        Input("pull", "force", "N", "pull that just keeps the reel turning evenly", 0.0, 10000.0),
        Input("radius", "length", "mm", "axis to the middle of the cord", 1.0, 1000.0),
    ),
    results=(Result("torque", "torque", "N m", "drag at a crawl"),),
    equation="T = F r",
    source=OWN,
    validity="cord square to the radius, pulled slowly, knife backed off; compare with the same unit freshly rebuilt",
    example='pull="3 N" radius=64',
    caution=TURNING,
)
def drag_torque(pull: float, radius: float) -> dict[str, float]:
    """Drag torque."""
    from sparkout.core.bearing.drag import torque_by_cord
    from sparkout.core.measured import Measured

    return {"torque": torque_by_cord(Measured(pull, 0.0), Measured(radius, 0.0)).value}


@calculation(
    "inertia-by-weight",
    "Inertia of the reel from a falling weight",
    inputs=(
        Input("mass", "mass", "kg", "weight on the cord", 0.0, 100.0, above=True),
        Input("radius", "length", "mm", "axis to the middle of the cord", 1.0, 300.0),
        Input("height", "length", "mm", "fallen from rest", 10.0, 20000.0),
        Input("time", "time", "s", "for the fall", 0.05, 600.0),
        Input("drag", "torque", "N m", "from the cord and balance", 0.0, 1e6, default=0.0),
    ),
    results=(Result("inertia", "inertia", "kg mm²", "about the reel's axis"),),
    equation="I = r (m (g - a) r - T) / a, a = 2 h / t²",
    source=OWN,
    validity="drag even over the fall; no slack in the cord",
    example='mass="1 kg" radius=60 height="1 m" time="1.2 s" drag="0.15 N m"',
    caution="Stand clear of the weight and of the reel; " + TURNING[0].lower() + TURNING[1:],
)
def inertia_by_weight(mass: float, radius: float, height: float, time: float, drag: float) -> dict[str, float]:
    """Moment of inertia."""
    from sparkout.core.bearing.drag import inertia_by_weight
    from sparkout.core.measured import Measured

    return {"inertia": inertia_by_weight(*(Measured(v, 0.0) for v in (mass, radius, height, time, drag))).value}


@calculation(
    "drag-from-run-down",
    "Drag of the bearings from the time a reel takes to stop",
    inputs=(INERTIA, SPEED, Input("time", "time", "s", "from that speed until it stands", 0.1, 3600.0)),
    results=(Result("torque", "torque", "N m", "drag, taken as even"),),
    equation="T = I ω / t",
    source=OWN,
    validity="drag that does not change with speed; from timed turns the two kinds are told apart",
    example="inertia=12000 reel_speed=800 time=12",
    caution=TURNING,
)
def drag_from_run_down(inertia: float, reel_speed: float, time: float) -> dict[str, float]:
    """Even drag torque."""
    return {"torque": inertia / 1000.0 * reel_speed / time}


@calculation(
    "drag-from-turns",
    "Drag of the bearings from turns counted until a reel stands",
    inputs=(
        INERTIA,
        Input("turns", "number", "", "turns from letting go until it stands", 0.5, 1e5),
        Input("time", "time", "s", "over which they were counted", 0.1, 3600.0),
    ),
    results=(
        Result("torque", "torque", "N m", "drag, taken as even"),
        Result("speed", "rotation", "1/min", "when it was let go, by that"),
    ),
    equation="T = I 4 π N / t², n = 2 N / t",
    source=OWN,
    validity="drag that does not change with speed; no tachometer is needed",
    example="inertia=12000 turns=80 time=12",
    caution=TURNING,
)
def drag_from_turns(inertia: float, turns: float, time: float) -> dict[str, float]:
    """Even drag torque."""
    import math

    from sparkout.core.bearing.drag import drag_of_slowing, slowing_by_turns
    from sparkout.core.measured import Measured

    slows = slowing_by_turns(Measured(turns, 0.0), Measured(time, 0.0))
    return {"torque": drag_of_slowing(slows, Measured(inertia, 0.0)).value, "speed": 4.0 * math.pi * turns / time}


@calculation(
    "reel-inertia",
    "Inertia of the reel from its parts",
    inputs=(
        Input("blades", "count", "", "number of blades", 2, 40),
        Input("blade_mass", "mass", "kg", "of one blade", 0.0, 20.0, above=True),
        Input("radius", "length", "mm", "axis to the middle of a blade's height", 5.0, 300.0),
        Input("shaft_mass", "mass", "kg", "of the shaft", 0.0, 100.0, default=0.0),
        Input("shaft_radius", "length", "mm", "of the shaft", 0.0, 300.0, default=0.0),
        Input("disc_mass", "mass", "kg", "of all discs or spiders together", 0.0, 100.0, default=0.0),
        Input("disc_radius", "length", "mm", "of a disc or spider, to its rim", 0.0, 300.0, default=0.0),
    ),
    results=(Result("inertia", "inertia", "kg mm²", "about the reel's axis"),),
    equation="I = N m R² + ½ m_s r_s² + ½ m_d r_d²",
    source=OWN,
    validity="thin blades, solid rounds; spiders with holes weigh more at the rim: a falling weight says better",
    example='blades=11 blade_mass="0.35 kg" radius=55 shaft_mass="2 kg" shaft_radius=12',
)
def inertia_of_parts(
    blades: int, blade_mass: float, radius: float, shaft_mass: float, shaft_radius: float, disc_mass: float,
    disc_radius: float,
) -> dict[str, float]:  # fmt: skip
    """Moment of inertia."""
    from sparkout.core.bearing.drag import reel_inertia

    body = [(shaft_mass, shaft_radius), (disc_mass, disc_radius)]
    return {"inertia": reel_inertia(blades, blade_mass, radius, body)}


@calculation(
    "preload-by-nut",
    "Preload of a pair of bearings by its nut",
    inputs=(
        Input("turned", "angle", "deg", "from where the dial just shows no end play", 0.0, 720.0),
        Input("pitch", "length", "mm", "of the nut's thread", 0.1, 10.0),
    ),
    results=(Result("preload", "length", "mm", "how far the bearings are drawn together"),),
    equation="s = φ p / 2π",
    source=OWN,
    validity="housing and seats give too, so the bearing takes less; how much is right stands in the machine's book",
    example="turned=15 pitch=1.5",
    caution=TURNING,
)
def preload_of_nut(turned: float, pitch: float) -> dict[str, float]:
    """Preload."""
    from sparkout.core.bearing.play import preload_by_nut
    from sparkout.core.measured import Measured

    return {"preload": preload_by_nut(Measured(turned, 0.0), Measured(pitch, 0.0)).value}


@calculation(
    "bearing-life",
    "Rating life of a bearing",
    inputs=(Input("rating", "force", "N", "dynamic rating C", 0.0, 1e7, above=True), LOAD, SPEED, KIND),
    results=(Result("life", "time", "h", "reached by nine in ten"),),
    equation="L10h = 10⁶ / (60 n) (C / P)^p",
    source="ISO 281 basic rating life; problem 11-1 of Shigley's Mechanical Engineering Design",
    validity="clean, lubricated, true seats: sand and water are not in it",
    example='rating="14 kN" load="700 N" reel_speed=2000 kind=ball',
)
def bearing_life(rating: float, load: float, reel_speed: float, kind: Kind) -> dict[str, float]:
    """Rating life."""
    import math

    from sparkout.core.bearing.life import rating_life_hours

    return {"life": 3600.0 * rating_life_hours(rating, load, reel_speed * 60.0 / (2.0 * math.pi), kind)}


@calculation(
    "bearing-defect-frequencies",
    "What a damaged bearing repeats",
    inputs=(
        Input("elements", "count", "", "balls or rollers in a row", 3, 100),
        Input("element_diameter", "length", "mm", "of a ball or roller", 0.5, 200.0),
        Input("pitch_diameter", "length", "mm", "of the circle through their middles", 1.0, 1000.0),
        SPEED,
        Input("contact_angle", "angle", "deg", "of a ball or taper bearing", 0.0, 75.0, default=0.0),
    ),
    results=(
        Result("outer_race", "frequency", "Hz", "a spot on the outer race"),
        Result("inner_race", "frequency", "Hz", "a spot on the inner race"),
        Result("ball", "frequency", "Hz", "a spot on a ball, striking both races: twice its spin"),
        Result("cage", "frequency", "Hz", "the cage"),
    ),
    equation="outer n(1 - q)f/2, inner n(1 + q)f/2, ball (D/d)(1 - q²)f, cage (1 - q)f/2; q = d cos φ/D",
    source="kinematics of the rolling bearing; published multiples of a public test rig",
    validity="outer ring standing, no slip; real ones run up to 2 % off",
    example="elements=9 element_diameter=7.94 pitch_diameter=39.04 reel_speed=1500",
)
def bearing_defect_frequencies(
    elements: int, element_diameter: float, pitch_diameter: float, reel_speed: float, contact_angle: float
) -> dict[str, float]:
    """Defect frequencies."""
    import math

    from sparkout.core.bearing.geometry import Bearing, defect_multiples

    found = defect_multiples(Bearing(elements, element_diameter, pitch_diameter, contact_angle))
    turn = reel_speed / (2.0 * math.pi)
    return {
        "outer_race": found.outer * turn,
        "inner_race": found.inner * turn,
        "ball": found.element * turn,
        "cage": found.cage * turn,
    }


ENTRIES = (
    drag_torque, inertia_by_weight, inertia_of_parts, drag_from_run_down, drag_from_turns, preload_of_nut,
    bearing_life, bearing_defect_frequencies,
)  # fmt: skip
