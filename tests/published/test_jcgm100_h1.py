"""JCGM 100:2008 Annex H.1, end gauge: every component, the combined uncertainty, the second-order terms.

Figures seen as quoted by two public implementations (data/jcgm100_h1.json names them). Effective degrees of freedom,
coverage factor and expanded uncertainty at 99 % are printed in the annex too, but were written down from memory.
"""

import math

from tests.published.evidence import evidence, evidence_table
from tests.published.printed import data, printed

from sparkout.core.budget import Budget, propagate
from sparkout.core.distributions import Arcsine, Rectangular
from sparkout.core.measured import Measured, coverage_factor

SEEN = "as quoted elsewhere"

SOURCE = "JCGM 100:2008 H.1"
GAUGE = data("jcgm100_h1.json")
COMPONENTS = GAUGE["components"]


def length(ls, d, repeated, random, systematic, alpha_s, theta, dalpha, dtheta):
    return ls + d + repeated + random + systematic - ls * (dalpha * theta + alpha_s * dtheta)


def budget(second_order: bool = False) -> Budget:
    given = GAUGE["inputs"]
    d, theta = given["d"], given["theta"]
    rectangular = {
        name: Rectangular(given[name]["value"], given[name]["half_width"]).measured()
        for name in ("alpha_s", "dalpha", "dtheta")
    }
    swing = Arcsine(0.0, theta["arcsine_half_width"]).measured()
    inputs = {
        "ls": Measured(given["ls"]["value"], given["ls"]["u"], given["ls"]["dof"]),
        "d": Measured(d["value"], 0.0),
        **{part: Measured(0.0, d[part]["u"], d[part]["dof"]) for part in ("repeated", "random", "systematic")},
        "alpha_s": rectangular["alpha_s"],
        "theta": Measured(theta["value"], math.hypot(theta["normal_u"], swing.u)),
        "dalpha": Measured(0.0, rectangular["dalpha"].u, given["dalpha"]["dof"]),
        "dtheta": Measured(0.0, rectangular["dtheta"].u, given["dtheta"]["dof"]),
    }
    return propagate(length, inputs, second_order=second_order)


@evidence_table(SOURCE, {f"component of {name}, nm": printed(text) for name, text in COMPONENTS.items()})
def test_components() -> dict[str, float]:
    found = budget().components
    return {f"component of {name}, nm": abs(found[name]) for name in COMPONENTS}


@evidence_table(SOURCE, {"length, nm": printed(GAUGE["length"]), "combined uncertainty, nm": printed(GAUGE["u"])})
def test_length_and_uncertainty() -> dict[str, float]:
    found = budget()
    return {"length, nm": found.value, "combined uncertainty, nm": found.u}


@evidence(SOURCE, "uncertainty with second-order terms, nm", printed=34.0, tolerance=0.5)
def test_second_order() -> float:
    return budget(second_order=True).u


def test_inputs_that_cancel_contribute_nothing() -> None:
    """alpha_s and theta stand beside factors whose estimate is zero (H.1.3.3 and H.1.3.4)."""
    found = budget().components
    assert abs(found["alpha_s"]) < 1e-6
    assert abs(found["theta"]) < 1e-6


@evidence_table(
    SOURCE,
    {
        "effective degrees of freedom, cut to a whole number": (GAUGE["effective_dof_from_memory"], 0.0),
        "coverage factor for 99 %": printed(GAUGE["coverage_factor_99_from_memory"]),
        "expanded uncertainty for 99 %, nm": (GAUGE["expanded_99_from_memory"], 0.5),
    },
    note="printed values from memory, not seen",
)
def test_expanded_uncertainty() -> dict[str, float]:
    found = budget()
    dof = math.floor(found.dof)
    k = coverage_factor(0.99, dof)
    return {
        "effective degrees of freedom, cut to a whole number": dof,
        "coverage factor for 99 %": k,
        "expanded uncertainty for 99 %, nm": k * round(found.u),
    }
