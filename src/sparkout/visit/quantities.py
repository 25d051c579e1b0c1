"""What can be read and limited on a cutting unit: each quantity's kind, range, gauges and meaning, once.

Ranges are plausibility bounds of this file format (own choice), not limits of the trade: they stop slips of
unit and of the decimal point.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias, get_args

from sparkout.core.gauges.instrument import Kind
from sparkout.units import to_core

GaugeKind: TypeAlias = Kind
GAUGE_KINDS: tuple[GaugeKind, ...] = get_args(GaugeKind)

GAUGE_MEANING: dict[GaugeKind, str] = {
    "tape": "circumference tape that shows a diameter",
    "jaws": "calliper or micrometer with flat jaws",
    "chord": "calliper set over two blade tips",
    "dial": "dial indicator, plunger or lever",
    "feeler": "feeler leaves",
    "scale": "steel rule, graticule or photograph with a scale",
    "depth gauge": "depth gauge",
    "protractor": "protractor or angle gauge",
    "straight edge": "straight edge, with leaves or light",
    "inside gauge": "inside micrometer or bore gauge",
    "spring balance": "spring balance on a string",
    "setting bar": "height setting bar",
}

GAUGE_UNITS: dict[str, tuple[str, str, float]] = {
    "protractor": ("angle", "deg", 10.0),
    "spring balance": ("force", "N", 50.0),
}
"""Kind of quantity, usual unit, and largest plausible resolution, for the gauges that show no length."""


def gauge_shows(kind: str) -> tuple[str, str, float]:
    """Return what a kind of gauge shows: kind of quantity, usual unit, largest plausible resolution in it."""
    return GAUGE_UNITS.get(kind, ("length", "mm", 5.0))


@dataclass(frozen=True, slots=True)
class Readable:
    """One quantity that readings or limits may name. `low` and `high` are in `unit`."""

    kind: str
    unit: str
    low: float
    high: float
    meaning: str
    gauges: tuple[GaugeKind, ...] = ()
    only_these: bool = False
    """True when the reading cannot be understood without the model of one of these gauges."""
    needs: tuple[str, ...] = ()
    """Which of at, blade, angle and which a reading of it must name."""
    rows: Literal["blade", "angle", ""] = ""
    """What the rows of a sweep stand for."""
    read: bool = True
    limited: bool = True
    limits: tuple[str, str] | None = None
    """What a limit on it holds for where that is not its own reading: the quantity, and which."""

    @property
    def core_range(self) -> tuple[float, float]:
        """Lowest and highest reading, core units."""
        return to_core(self.low, self.kind, self.unit), to_core(self.high, self.kind, self.unit)

    @property
    def allowed(self) -> str:
        """The range in words, without the unit."""
        return f"{self.low:g} to {self.high:g}"


QUANTITIES: dict[str, Readable] = {
    "diameter": Readable(
        "length",
        "mm",
        40,
        600,
        "what the gauge shows over the reel; corrected for the kind of gauge and the number of blades",
        ("tape", "jaws", "chord"),
        only_these=True,
        needs=("at",),
    ),
    "run-out": Readable(
        "length",
        "mm",
        -20,
        20,
        "dial reading on one blade's edge; larger means farther from the axis; the zero is free",
        ("dial",),
        only_these=True,
        needs=("at", "blade"),
        rows="blade",
    ),
    "total run-out": Readable(
        "length", "mm", 0, 20, "highest less lowest point of all edges over the whole length", read=False
    ),
    "cone": Readable(
        "length", "mm", 0, 20, "difference of the two end diameters, whichever end is the larger", read=False
    ),
    "barrel": Readable(
        "length", "mm", 0, 20, "middle radius against the straight line between the end radii, either way", read=False
    ),
    "rest gap": Readable(
        "length",
        "mm",
        0,
        20,
        "gap under the knife laid on the reel with its adjusters off",
        ("feeler",),
        needs=("at",),
        limited=False,
    ),
    "shaft": Readable(
        "length",
        "mm",
        -20,
        20,
        "dial reading on the bare shaft; larger means farther from the axis; as a limit, its run-out",
        ("dial",),
        only_these=True,
        needs=("at", "angle"),
        rows="angle",
    ),
    "frame": Readable(
        "length",
        "mm",
        -20,
        20,
        "height of the knife mounts' line from the reel axis, larger when farther; as a limit, right against left",
        ("dial", "depth gauge", "inside gauge", "straight edge", "feeler"),
        needs=("at",),
    ),
    "knife straightness": Readable(
        "length",
        "mm",
        -10,
        10,
        "knife edge against a straight edge; larger when it stands farther from the reel",
        ("straight edge", "feeler", "dial", "depth gauge"),
        needs=("at",),
    ),
    "land": Readable(
        "length", "mm", 0, 20, "width of the strip behind the edge that is not relieved", ("scale",), rows="blade"
    ),
    "lip height": Readable("length", "mm", 0, 30, "height of the knife's lip", ("depth gauge", "scale", "jaws")),
    "front lip depth": Readable(
        "length",
        "mm",
        0,
        50,
        "depth of the knife's front face, front to back, that can still be ground",
        ("depth gauge", "scale", "jaws"),
    ),
    "top angle": Readable("angle", "deg", 0, 45, "knife's top face against its seat", ("protractor",)),
    "front angle": Readable(
        "angle", "deg", 0, 45, "knife's front face against the square to its seat", ("protractor",)
    ),
    "edge rounding": Readable("length", "mm", 0, 3, "radius of the worn knife edge", ("scale",)),
    "wear land": Readable("length", "mm", 0, 15, "width of the flat worn on the knife's top face", ("scale",)),
    "gap": Readable("length", "mm", 0, 10, "gap between reel and knife as set", ("feeler",), needs=("at",)),
    "height of cut": Readable(
        "length",
        "mm",
        1,
        120,
        "knife edge above the line under the rollers",
        ("setting bar", "dial", "depth gauge"),
        needs=("at",),
    ),
    "end play": Readable("length", "mm", 0, 10, "movement of the reel along its axis", ("dial",)),
    "radial play": Readable(
        "length", "mm", 0, 10, "movement of the reel in one bearing, square to its axis", ("dial",), needs=("at",)
    ),
    "preload": Readable(
        "length",
        "mm",
        0,
        1,
        "how far a bearing is drawn up past the point where end play is gone, by a dial on the shaft's end or the nut",
        ("dial",),
    ),
    "drag": Readable(
        "force",
        "N",
        0,
        500,
        "pull that just keeps the reel turning, on a string round it; at a side: the other bearing slack",
        ("spring balance",),
    ),
    "run-down time": Readable("time", "s", 0.1, 600, "from letting the reel go, knife backed off, until it stands"),
    "run-down turns": Readable("number", "", 0.5, 10_000, "turns counted over the run-down time", limited=False),
    "run-down speed": Readable(
        "rotation",
        "1/min",
        20,
        6000,
        "speed of the reel when it was let go, by tachometer or from a recording",
        limited=False,
    ),
    "roller diameter": Readable(
        "length", "mm", 10, 300, "diameter of a roller", ("jaws", "tape"), needs=("at", "which")
    ),
    "front roller diameter": Readable(
        "length", "mm", 10, 300, "diameter of the front roller", read=False, limits=("roller diameter", "front")
    ),
    "rear roller diameter": Readable(
        "length", "mm", 10, 300, "diameter of the rear roller", read=False, limits=("roller diameter", "rear")
    ),
    "adjuster count": Readable(
        "number",
        "",
        -1000,
        1000,
        "clicks of the knife adjuster, counted from touching; more is tighter",
        needs=("at",),
        limited=False,
    ),
    "nick depth": Readable(
        "length",
        "mm",
        0,
        15,
        "depth of a nick in a blade's edge, square to the reel",
        ("depth gauge", "scale", "dial"),
        needs=("at", "blade"),
        rows="blade",
    ),
}

READINGS = tuple(name for name, entry in QUANTITIES.items() if entry.read)
BEARING: tuple[str, ...] = (
    "end play", "radial play", "preload", "drag", "run-down time", "run-down turns", "run-down speed",
)  # fmt: skip
"""Readings of the reel's bearings: those of earlier visits stand beside those of now."""
LIMITS = tuple(name for name, entry in QUANTITIES.items() if entry.limited)
