"""Ribs in the turf: how deep, how far apart, and from what."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sparkout.catalogue.cut import BLADE_COUNT, OWN, REEL_DIAMETER, REEL_SPEED, TRAVEL_SPEED
from sparkout.catalogue.drive import RATIO, SLIP
from sparkout.catalogue.entry import Input, Result, calculation

if TYPE_CHECKING:
    from collections.abc import Mapping

    from sparkout.core.measured import Measured
    from sparkout.core.ribs.finder import RibFinding
    from sparkout.core.ribs.machine import LandDrive, OwnSpeed, Setting

HEIGHT = Input("height_of_cut", "length", "mm", "edge above the ground line", 0.5, 150.0)
BOUNCE = Input("bounce_frequency", "frequency", "Hz", "how often the machine bobs in a second", 0.2, 50.0, default=3.0)
BOUNCE_SHARE = Input(
    "bounce_uncertainty", "fraction", "", "how far off that may be, as a share", 0.01, 0.6, default=0.33
)
PITCH = Input("pitch", "length", "mm", "from rib to rib, over many of them", 0.5, 20000.0)
PITCH_U = Input("pitch_uncertainty", "length", "mm", "standard uncertainty of that", 0.0, 5000.0, above=True)
SPEED_SHARE = Input(
    "speed_uncertainty", "fraction", "", "how far off each speed may be, as a share", 0.001, 0.5, default=0.03
)
FRONT = Input("front_roller", "length", "mm", "front roller's diameter", 20.0, 1500.0, optional=True)
REAR = Input("rear_roller", "length", "mm", "rear roller's diameter", 20.0, 1500.0, optional=True)
SLOWEST = Input(
    "slowest_travel",
    "speed",
    "km/h",
    "slowest you could mow there; left out: half the travel",
    0.1,
    60.0,
    optional=True,
)
FASTEST = Input(
    "fastest_travel",
    "speed",
    "km/h",
    "fastest you could mow there; left out: the travel and a half",
    0.1,
    90.0,
    optional=True,
)
ROLLER_SHARE = 0.01
"""Standard uncertainty of a roller's diameter as a share: half a millimetre on 50, grass on it included. Own choice."""
LOOK = "Engine off, reel blocked and gloves on before a hand goes to what the odds point at."
MODEL = "a model without a field trial"
BAYES = f"{OWN}: Bayes' theorem; all kinds of cause weigh the same beforehand, a tenth is kept for what is not listed"


def _chance(key: str, meaning: str) -> Result:
    return Result(key, "fraction", "%", meaning)


CHANCES = (
    _chance("chance_clip", "the clip itself"),
    _chance("chance_turn", "once per reel turn: one high blade, bent shaft, loose bearing"),
    _chance("chance_opposite", "two high blades opposite each other"),
    _chance("chance_front_roller", "front roller out of round or built up"),
    _chance("chance_rear_roller", "rear roller out of round or built up"),
    _chance("chance_bounce", "the unit or machine bounces"),
    _chance("chance_unlisted", "something not listed"),
    Result("next_travel", "speed", "km/h", "travel at which to measure again: best parts the best two"),
    _chance("tells_apart", "chance of then naming the right one of these two"),
)


@calculation(
    "rib-depth",
    "Depth of the clip's rib by two models",
    inputs=(TRAVEL_SPEED, BLADE_COUNT, REEL_SPEED, REEL_DIAMETER, HEIGHT),
    results=(
        Result("clip", "length", "mm", "forward travel per blade contact"),
        Result("speed_ratio", "number", "", "blade speed round the axis over travel speed"),
        Result("cusp", "length", "mm", "trochoid model: lowest point to crossing of neighbouring paths"),
        Result("leaf_spread", "length", "mm", "swept-leaf model: longest leaf less shortest"),
    ),
    equation="cusp: crossing of trochoids; leaf spread: √(H² + clip²) - H",
    source=f"{OWN}; {MODEL}",
    validity="a true reel on even ground; ranks settings, does not foretell a depth",
    example="travel_speed=4.5 blade_count=11 reel_speed=1500 reel_diameter=127 height_of_cut=4",
)
def rib_depth(
    travel_speed: float, blade_count: int, reel_speed: float, reel_diameter: float, height_of_cut: float
) -> dict[str, float]:
    """Depth of the rib by both models."""
    from sparkout.core.ribs.depth import rib_depth

    found = rib_depth(travel_speed, blade_count, reel_speed, reel_diameter, height_of_cut)
    return {
        "clip": found.clip,
        "speed_ratio": found.speed_ratio,
        "cusp": found.cusp,
        "leaf_spread": found.leaf_spread,
    }


@calculation(
    "low-blade-rib",
    "What one low blade leaves, turn after turn",
    inputs=(
        TRAVEL_SPEED,
        BLADE_COUNT,
        REEL_SPEED,
        HEIGHT,
        Input("standing_grass", "length", "mm", "height of the grass before the cut", 0.5, 500.0),
        Input("low", "length", "mm", "how much lower than the others one blade is", 0.0, 5.0),
        Input("clean_gap", "length", "mm", "gap up to which every leaf is cut", 0.0, 5.0, default=0.05),
        Input("fold_gap", "length", "mm", "gap from which every leaf folds uncut", 0.0, 5.0, default=0.2),
    ),
    results=(
        Result("longest", "length", "mm", "longest stubble over a turn"),
        Result("longest_true", "length", "mm", "longest stubble were the reel true"),
        Result("mean", "length", "mm", "mean stubble over a turn"),
        Result("mean_true", "length", "mm", "mean stubble were the reel true"),
        Result("turn_pitch", "length", "mm", "from one long rib to the next"),
    ),
    equation="stubble map of one place across: √(Σ w (H² + (s + d clip)²))",
    source=f"{OWN}; {MODEL}. The two gaps are from memory, untried",
    validity="the others touch; shows which pattern a fault makes, not how long the grass will be",
    example="travel_speed=4.5 blade_count=11 reel_speed=1500 height_of_cut=4 standing_grass=9 low=0.12",
)
def low_blade_rib(
    travel_speed: float,
    blade_count: int,
    reel_speed: float,
    height_of_cut: float,
    standing_grass: float,
    low: float,
    clean_gap: float,
    fold_gap: float,
) -> dict[str, float]:
    """Stubble with one low blade."""
    import numpy as np

    from sparkout.core.cut.clip import clip
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.ribs.stubble_map import LeafGap, Mowing, stubble_map

    travel = clip(travel_speed, blade_count, reel_speed)
    step = max(0.01, travel / 100.0)
    how = Mowing(
        travel_speed, reel_speed, height_of_cut, height_of_cut, standing_grass, leaf_gap=LeafGap(clean_gap, fold_gap)
    )
    gaps = np.zeros((blade_count, 1))
    gaps[0] = low

    def left(gap: np.ndarray[tuple[int, ...], np.dtype[np.float64]]) -> tuple[float, float]:
        strip = stubble_map(
            Reel(blade_count, 127.0, 100.0), gap, [0.0], how,
            travelled=3.0 * blade_count * travel, step=step, width=step,
        )  # fmt: skip
        return float(strip.length.max()), float(strip.length.mean(dtype=np.float64))

    (longest, mean), (longest_true, mean_true) = left(gaps), left(0.0 * gaps)
    lengths = {"longest": longest, "longest_true": longest_true, "mean": mean, "mean_true": mean_true}
    return {**lengths, "turn_pitch": blade_count * travel}


@calculation(
    "bounce-frequency",
    "How often a machine bobs, from stiffness and mass",
    inputs=(
        Input("stiffness", "stiffness", "N/mm", "of all it stands on; tyres side by side add up", 0.1, 100000.0),
        Input("mass", "mass", "kg", "what bobs", 0.1, 20000.0),
        Input("damping", "fraction", "", "share of critical damping", 0.0, 0.95, default=0.0),
    ),
    results=(Result("bounce_frequency", "frequency", "Hz", "bobs in a second"),),
    equation="f = √(k / m) √(1 - ζ²) / (2π)",
    source="textbook: one mass on a spring",
    validity="one mass, one spring; wet turf is softer, a rolling tyre stiffer",
    example="stiffness=150 mass=400",
)
def bounce_frequency(stiffness: float, mass: float, damping: float) -> dict[str, float]:
    """Bobs in a second."""
    from sparkout.core.ribs.bounce import bounce_frequency

    return {"bounce_frequency": bounce_frequency(stiffness, mass, damping)}


@calculation(
    "bounce-from-sag",
    "How often a machine bobs, from how far it sags",
    inputs=(Input("sag", "length", "mm", "height with the weight off less height with it on", 0.1, 1000.0),),
    results=(Result("bounce_frequency", "frequency", "Hz", "bobs in a second"),),
    equation="f = √(g / sag) / (2π) = 15.76 / √sag[mm]",
    source="vibration isolation rule, as quoted in public notes on machine mounts",
    validity="a spring whose force grows in proportion; damping lowers it a little",
    example="sag=25",
    caution="Stands under a lifted machine, never a jack alone.",
)
def bounce_from_sag(sag: float) -> dict[str, float]:
    """Bobs in a second."""
    from sparkout.core.ribs.bounce import bounce_frequency_from_sag

    return {"bounce_frequency": bounce_frequency_from_sag(sag)}


@calculation(
    "rib-finder",
    "What makes the ribs, from their pitch",
    inputs=(
        PITCH, PITCH_U, TRAVEL_SPEED, REEL_SPEED, BLADE_COUNT, SPEED_SHARE, FRONT, REAR, BOUNCE, BOUNCE_SHARE,
        SLOWEST, FASTEST,
    ),
    results=CHANCES,
    equation="chance ∝ weight × N(ln pitch; ln of what the cause would make, relative variances added)",
    source=BAYES,
    validity="one cause at work; a reel that keeps its own speed; rollers known to 1 %. Odds, no proof",
    example="pitch=49 pitch_uncertainty=0.7 travel_speed=4.5 reel_speed=1500 blade_count=11 front_roller=63 "
    "slowest_travel=3 fastest_travel=6",
    caution=LOOK,
)  # fmt: skip
def rib_finder(
    pitch: float,
    pitch_uncertainty: float,
    travel_speed: float,
    reel_speed: float,
    blade_count: int,
    speed_uncertainty: float,
    bounce_frequency: float,
    bounce_uncertainty: float,
    front_roller: float | None = None,
    rear_roller: float | None = None,
    slowest_travel: float | None = None,
    fastest_travel: float | None = None,
) -> dict[str, float]:
    """Chances of the causes of ribs, reel at its own speed."""
    from sparkout.core.measured import Measured
    from sparkout.core.ribs.machine import OwnSpeed, Setting

    return _told(
        OwnSpeed(),
        Setting(_share(travel_speed, speed_uncertainty), _share(reel_speed, speed_uncertainty)),
        Measured(pitch, pitch_uncertainty),
        blade_count,
        {"front roller": front_roller, "rear roller": rear_roller},
        _share(bounce_frequency, bounce_uncertainty),
        (slowest_travel, fastest_travel),
    )


@calculation(
    "rib-finder-land-drive",
    "What makes the ribs behind a reel geared to its roller",
    inputs=(
        PITCH, PITCH_U, TRAVEL_SPEED,
        Input("driving_roller", "length", "mm", "driving roller's diameter as worn", 20.0, 1500.0),
        RATIO, BLADE_COUNT, SLIP,
        Input("slip_uncertainty", "fraction", "", "standard uncertainty of the slip", 0.0, 0.3, default=0.02),
        SPEED_SHARE, FRONT, REAR, BOUNCE, BOUNCE_SHARE, SLOWEST, FASTEST,
    ),
    results=CHANCES,
    equation="as rib-finder; clip = π D (1 + slip) / (i N), whatever the travel",
    source=BAYES,
    validity="one cause at work; rollers known to 1 %. Odds, no proof",
    example="pitch=92 pitch_uncertainty=1.5 travel_speed=4.5 driving_roller=190 reel_turns_per_roller_turn=6.5 "
    "blade_count=10 front_roller=63",
    caution=LOOK,
)  # fmt: skip
def rib_finder_land_drive(
    pitch: float,
    pitch_uncertainty: float,
    travel_speed: float,
    driving_roller: float,
    reel_turns_per_roller_turn: float,
    blade_count: int,
    slip: float,
    slip_uncertainty: float,
    speed_uncertainty: float,
    bounce_frequency: float,
    bounce_uncertainty: float,
    front_roller: float | None = None,
    rear_roller: float | None = None,
    slowest_travel: float | None = None,
    fastest_travel: float | None = None,
) -> dict[str, float]:
    """Chances of the causes of ribs, reel geared to the roller."""
    from sparkout.core.measured import Measured
    from sparkout.core.ribs.machine import LandDrive, Setting

    return _told(
        LandDrive(_share(driving_roller, ROLLER_SHARE), reel_turns_per_roller_turn, Measured(slip, slip_uncertainty)),
        Setting(_share(travel_speed, speed_uncertainty)),
        Measured(pitch, pitch_uncertainty),
        blade_count,
        {"front roller": front_roller, "rear roller": rear_roller},
        _share(bounce_frequency, bounce_uncertainty),
        (slowest_travel, fastest_travel),
    )


def _share(value: float, share: float) -> Measured:
    from sparkout.core.measured import Measured

    return Measured(value, share * value)


def _told(
    drive: OwnSpeed | LandDrive,
    setting: Setting,
    pitch: Measured,
    blade_count: int,
    rollers: Mapping[str, float | None],
    bounce: Measured,
    travels: tuple[float | None, float | None],
) -> dict[str, float]:
    from sparkout.core.ribs.finder import find_ribs
    from sparkout.core.ribs.machine import Machine, Stretch

    there = {name: _share(diameter, ROLLER_SHARE) for name, diameter in rollers.items() if diameter is not None}
    finding = find_ribs(Machine(blade_count, drive, there, bounce=bounce), [Stretch(pitch, setting)])
    chances = {
        f"chance_{kind}": math.fsum(each.chance for each in finding.weighed if each.cause.kind == kind)
        for kind in ("clip", "turn", "opposite", "bounce")
    }
    for name in rollers:
        found = [each.chance for each in finding.weighed if each.cause.kind == "roller" and name in each.cause.name]
        chances[f"chance_{name.replace(' ', '_')}"] = math.fsum(found)
    unlisted = math.fsum(each.chance for each in finding.weighed if each.cause.kind.startswith("unlisted"))
    return {**chances, "chance_unlisted": unlisted, **_advice(finding, travels)}


def _advice(finding: RibFinding, travels: tuple[float | None, float | None]) -> dict[str, float]:
    from sparkout.core.ribs.finder import next_stretch, settings_within

    travel = finding.stretches[0].setting.travel_speed.value
    slowest, fastest = travels
    ends = (0.5 * travel if slowest is None else slowest, 1.5 * travel if fastest is None else fastest)
    best = next_stretch(finding, settings_within(finding, ends))[0]
    return {"next_travel": best.setting.travel_speed.value, "tells_apart": best.tells_apart}


ENTRIES = (
    rib_depth,
    low_blade_rib,
    bounce_frequency,
    bounce_from_sag,
    rib_finder,
    rib_finder_land_drive,
)
