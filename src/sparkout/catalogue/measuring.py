"""What a gauge reading means, and lines through readings."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sparkout.catalogue.cut import BLADE_COUNT, OWN
from sparkout.catalogue.entry import Entry, Input, Result, calculation

if TYPE_CHECKING:
    from collections.abc import Mapping

READING = Input("reading", "length", "mm", "what the gauge shows", 40.0, 600.0)
LAND = Input("land", "length", "mm", "width of the un-relieved strip behind the edge", 0.0, 20.0)
DIAMETER = Result("diameter", "length", "mm", "diameter over the edges")


def _gauge(name: str, title: str, equation: str, module: str, reading: float) -> Entry:
    def calculate(reading: float, blade_count: int, land: float) -> Mapping[str, float]:
        from importlib import import_module

        room = import_module(f"sparkout.core.gauges.{module}")
        return {"diameter": getattr(room, f"diameter_from_{module}")(reading, blade_count, land)}

    return calculation(
        name,
        title,
        inputs=(READING, BLADE_COUNT, LAND),
        results=(DIAMETER,),
        equation=equation,
        source=f"{OWN}; checked against brute-force polygons",
        validity="a regular reel; a worn or bent one is told by the state of the reel, not by one reading",
        example=f"reading={reading} blade_count=11 land=1",
        caution="Engine off, key out, drive isolated; gloves; the edges cut.",
    )(calculate)


from_tape = _gauge(
    "diameter-from-tape",
    "Diameter from a circumference tape",
    "π reading = N [w + D sin(π/N - w/D)]",
    "tape",
    125.4,
)
from_jaws = _gauge(
    "diameter-from-jaws",
    "Diameter from flat jaws (odd reel: smallest reading; even reel: largest)",
    "odd: reading = D/2 (1 + cos(π/N - w/D)); even: reading = D",
    "jaws",
    124.55,
)
from_chord = _gauge(
    "diameter-from-chord",
    "Diameter from a tip-to-tip reading at its largest",
    "odd: reading = D cos(π/2N - w/D); even: reading = D",
    "chord",
    125.83,
)


@calculation(
    "cone-from-rest-gap",
    "Cone from the gap under a bedknife resting on the reel",
    inputs=(Input("gap", "length", "mm", "gap at the open end", 0.0, 20.0),),
    results=(Result("cone_on_diameter", "length", "mm", "difference of diameters over the blade length"),),
    equation="cone = 2 gap",
    source=OWN,
    validity="mounts hold the bedknife parallel to the axis; a bent frame or bowed bedknife shows the same gap",
    example='gap="2 thou"',
    caution="Engine off, key out, drive isolated; the reel can turn by its own weight.",
)
def cone_from_rest_gap(gap: float) -> dict[str, float]:
    """Cone on diameter from a rest gap."""
    from sparkout.core.gauges.feeler import cone_from_rest_gap

    return {"cone_on_diameter": cone_from_rest_gap(gap)}


@calculation(
    "straight-line",
    "Straight line through points of known uncertainty",
    inputs=(
        Input("x", "list", "", "places"),
        Input("y", "list", "", "readings"),
        Input("u_y", "list", "", "standard uncertainty of each reading, or one for all", 0.0, above=True),
    ),
    results=tuple(
        Result(key, "number", "", meaning)
        for key, meaning in (
            ("intercept", "y at x = 0"),
            ("slope", "change of y per x"),
            ("u_intercept", "standard uncertainty of the intercept"),
            ("u_slope", "standard uncertainty of the slope"),
            ("covariance", "covariance of intercept and slope"),
            ("chi_squared", "sum of squared weighted residuals"),
            ("degrees_of_freedom", "points less two"),
        )
    ),
    equation="weighted least squares, weights 1/u²",
    source="ISO/TS 28037:2010 clause 6; JCGM 100:2008 H.3",
    validity="independent readings, places exact",
    example="x=1,2,3,4 y=2.1,3.9,6.2,7.8 u_y=0.1",
)
def straight_line(x: list[float], y: list[float], u_y: list[float]) -> dict[str, float]:
    """Straight line with uncertainties."""
    from sparkout.core.line import straight_line

    line = straight_line(x, y, u_y if len(u_y) > 1 else u_y * len(y))
    keys = ("intercept", "slope", "u_intercept", "u_slope", "covariance", "chi_squared", "degrees_of_freedom")
    return {key: float(getattr(line, key)) for key in keys}


ENTRIES = (from_tape, from_jaws, from_chord, cone_from_rest_gap, straight_line)
