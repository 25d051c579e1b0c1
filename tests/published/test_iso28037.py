"""ISO/TS 28037:2010 example 1, equal weights: all seven results, and the inverse and forward evaluation.

Figures seen as quoted by a public implementation (data/iso28037_example1.json names it).
"""

from tests.published.evidence import evidence_table
from tests.published.printed import data, printed

from sparkout.core.line import Line, straight_line

SEEN = "as quoted elsewhere"

GIVEN = data("iso28037_example1.json")
FORWARD, INVERSE = GIVEN["forward"], GIVEN["inverse"]
NAMES = ("intercept", "u_intercept", "slope", "u_slope", "covariance", "chi_squared")


def fitted() -> Line:
    return straight_line(GIVEN["x"], GIVEN["y"], GIVEN["u_y"])


@evidence_table(
    "ISO/TS 28037:2010 example 1",
    {**{name: printed(GIVEN[name]) for name in NAMES}, "degrees_of_freedom": (GIVEN["degrees_of_freedom"], 0.0)},
)
def test_all_seven_results() -> dict[str, float]:
    line = fitted()
    return {name: getattr(line, name) for name in (*NAMES, "degrees_of_freedom")}


@evidence_table("ISO/TS 28037:2010 example 1, inverse", {name: printed(INVERSE[name]) for name in ("x", "u_x")})
def test_inverse_evaluation() -> dict[str, float]:
    there = fitted().inverse(INVERSE["y"], INVERSE["u_y"])
    return {"x": there.value, "u_x": there.u}


@evidence_table(
    "ISO/TS 28037:2010 example 1, forward",
    {name: (float(FORWARD[name]), 5e-15) for name in ("y", "u_y")},
    note="printed to 15 digits by an implementation; a few units of double precision (5e-15) allowed",
)
def test_forward_evaluation() -> dict[str, float]:
    here = fitted().at(FORWARD["x"], FORWARD["u_x"])
    return {"y": here.value, "u_y": here.u}
