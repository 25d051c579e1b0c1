"""Each quantity once, and the trade's words in both vocabularies. docs/glossary.md is generated from this."""

from __future__ import annotations

from typing import NamedTuple


class Term(NamedTuple):
    """A trade word: as the code and the US trade say it, as the UK trade says it, and what it is."""

    us: str
    uk: str
    meaning: str


class Named(NamedTuple):
    """A quantity: its name in words, symbol, kind (units.KINDS) and meaning."""

    name: str
    symbol: str
    kind: str
    meaning: str


TERMS: tuple[Term, ...] = (
    Term("reel", "cylinder", "the turning rotor of helical blades"),
    Term("bedknife", "bottom blade", "the fixed blade the reel's blades shear against"),
    Term("bed bar", "bottom block", "what carries the bedknife"),
    Term("clip", "clip", "forward travel per blade contact"),
    Term("run-out", "run-out", "highest less lowest blade at one place over one turn (also written runout)"),
    Term("hollow", "hollow", "smaller in the middle than the line between the ends (also hourglass, dish)"),
    Term("walk-behind", "pedestrian", "a mower led on foot"),
    Term("triplex", "triple", "a ride-on mower with three cutting units"),
    Term("backlapping", "lapping-in", "turning backwards with abrasive paste"),
    Term("lapping compound", "grinding paste", "abrasive paste"),
    Term("wrench", "spanner", "the tool that turns nuts"),
    Term("set screw", "grub screw", "a headless screw"),
    Term("behind center distance", "behind-centre distance", "edge behind the vertical through the reel's axis"),
    Term("center", "centre", "the middle"),
    Term("superintendent", "head greenkeeper", "who answers for the turf"),
    Term("equipment technician", "workshop technician", "who answers for the cutting units"),
)

QUANTITIES: dict[str, Named] = {
    "diameter": Named(
        "diameter", "D", "length", "over the edges, mean over the blade length unless a station is named"
    ),
    "mean radius": Named("mean radius", "R0", "length", "bearing axis to edge, mean over blades and length"),
    "cone": Named(
        "cone", "", "length", "difference of the end diameters over the blade length; the large end is named"
    ),
    "barrel": Named("barrel", "", "length", "middle radius less the line between the ends; negative is hollow"),
    "run-out": Named(
        "run-out", "", "length", "highest less lowest blade at one station over one turn (circular run-out)"
    ),
    "total run-out": Named("total run-out", "", "length", "highest less lowest point of the whole edge (ISO 1101)"),
    "frame out": Named(
        "frame out", "", "length", "bedknife line against the bearing axis, right less left over the length"
    ),
    "knife bow": Named("bedknife bow", "", "length", "middle of the bedknife's edge against the line through its ends"),
    "shaft bend": Named(
        "shaft bend", "", "length", "largest distance of the blade circle's centre from the bearing axis"
    ),
    "land": Named("land", "w", "length", "width of the un-relieved strip behind the edge"),
    "relief angle": Named("relief angle", "α", "angle", "relief facet to the tip-circle tangent"),
    "top angle": Named("top angle", "γt", "angle", "bedknife's top face to the seat plane"),
    "front angle": Named("front angle", "γf", "angle", "bedknife's front face to the seat plane's normal"),
    "gap": Named("gap", "c", "length", "edge circle to bedknife edge; negative is interference"),
    "lip height": Named("lip height", "", "length", "what is left of the bedknife's lip to grind from the top"),
    "front lip depth": Named("front lip depth", "", "length", "what is left of the lip to grind from the front"),
    "end play": Named("end play", "", "length", "axial movement of the reel in its bearings"),
    "radial play": Named("radial play", "", "length", "movement of the reel square to its axis in its bearings"),
    "knife straightness": Named("bedknife straightness", "", "length", "departure of the edge from a straight line"),
    "behind centre": Named("behind-centre distance", "b", "length", "edge behind the vertical through the reel's axis"),
    "height of cut": Named("height of cut", "H", "length", "edge above the line tangent to the rollers"),
    "clip": Named("clip", "F", "length", "forward travel per blade contact"),
    "give": Named("give", "κ", "fraction", "share of the set infeed a grinder removes in one pass"),
    "grinding ratio": Named("grinding ratio", "G", "number", "volume of work ground per volume of wheel lost"),
    "cuts per metre": Named("cuts per metre", "C", "per length", "blade contacts per length of travel, 1/F"),
    "tip speed": Named("tip speed", "u", "speed", "speed of the reel's edge round the axis"),
    "slip": Named(
        "slip", "s", "fraction", "ground covered per turn of a driving roller less π D, as a share; skid positive"
    ),
    "volumetric efficiency": Named(
        "volumetric efficiency", "η", "fraction", "share of the oil that turns a hydraulic motor; the rest leaks past"
    ),
    "growth": Named("growth", "g", "growth", "how fast uncut grass gets higher"),
    "rib pitch": Named("pitch of the ribs", "p", "length", "from rib to rib along travel"),
    "cusp": Named("cusp", "", "length", "height where the free paths of neighbouring blades cross"),
    "attitude": Named("attitude", "", "angle", "tilt of the bedknife's seat against the ground, rear lower positive"),
    "reach": Named("reach", "", "length", "how far the reel comes down below the level of the edge"),
    "top clearance": Named("top clearance", "", "angle", "between the blades' path and the bedknife's top face"),
    "level": Named("level", "", "length", "height of cut, right less left, as a bar over both rollers shows each end"),
    "twist": Named("twist", "", "length", "how far one foot of the rollers stands off a flat bench"),
}
