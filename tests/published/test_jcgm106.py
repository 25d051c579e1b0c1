"""JCGM 106:2012: an acceptance limit under a gamma prior (9.5.4), and two conformance probabilities (7.3.3).

The bearing example was read, inputs and outputs, in the worked examples of a public package (data/jcgm106.json names
it), not in the guide. Its outputs carry 16 digits from a numerical search; 1e-9 is asked. The two conformance examples
are from memory: nobody here has seen their source, and the table says so.
"""

from tests.published.evidence import evidence_table
from tests.published.printed import data, printed

from sparkout.core.verdict.conformity import probability_conforming
from sparkout.core.verdict.guard_band import acceptance_limit

SEEN = "as quoted elsewhere"

GIVEN = data("jcgm106.json")
BEARING = GIVEN["bearing"]


def accept(wanted: float) -> float:
    return acceptance_limit(BEARING["shape"], BEARING["scale"], BEARING["u"], BEARING["upper"], wanted)


@evidence_table(
    "JCGM 106:2012 9.5.4, as worked in a public package",
    {
        "acceptance limit, um": (BEARING["acceptance_limit"], 1e-9),
        "guard band, um": (BEARING["guard_band"], 1e-9),
        "limit whose false accepts are 0.802 %, um": (BEARING["upper"], 1e-9),
    },
    note="outputs of a numerical search printed to 16 digits; compared at 1e-9",
)
def test_acceptance_limit_under_a_gamma_prior() -> dict[str, float]:
    """The third line turns the example's other output round: accepting up to the limit lets that share through."""
    limit = accept(BEARING["wanted"])
    return {
        "acceptance limit, um": limit,
        "guard band, um": BEARING["upper"] - limit,
        "limit whose false accepts are 0.802 %, um": accept(BEARING["accepted_at_the_limit_itself"]),
    }


@evidence_table(
    "JCGM 106:2012 7.3.3 (from memory, not seen)",
    {case["name"]: printed(case["printed"]) for case in GIVEN["conformance"]},
    note="inputs and printed figures from memory",
)
def test_conformance_probabilities_from_memory() -> dict[str, float]:
    return {
        case["name"]: probability_conforming(case["value"], case["u"], case.get("lower"), case.get("upper"))
        for case in GIVEN["conformance"]
    }
