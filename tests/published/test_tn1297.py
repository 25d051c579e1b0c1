"""NIST Technical Note 1297 section 6.2: k = 1, 1.645, 2, 2.576, 3 for 68.27, 90, 95.45, 99, 99.73 %."""

from statistics import NormalDist

from tests.published.evidence import evidence_table
from tests.published.printed import printed

from sparkout.core.measured import coverage_factor

SEEN = "in a copy of the source"

SOURCE = "NIST TN 1297 section 6.2"
EXACT_LEVEL = {"90 %": (0.90, "1.645"), "99 %": (0.99, "2.576")}
EXACT_FACTOR = {"68.27 %": (0.6827, 1.0), "95.45 %": (0.9545, 2.0), "99.73 %": (0.9973, 3.0)}


@evidence_table(SOURCE, {level: printed(k) for level, (_, k) in EXACT_LEVEL.items()})
def test_factor_for_a_round_level() -> dict[str, float]:
    return {level: coverage_factor(coverage) for level, (coverage, _) in EXACT_LEVEL.items()}


@evidence_table(
    SOURCE,
    {level: (k, 0.00005 / (2.0 * NormalDist().pdf(k))) for level, (_, k) in EXACT_FACTOR.items()},
    note="the level is what is printed rounded: half of its last digit, carried over to k",
)
def test_level_for_a_round_factor() -> dict[str, float]:
    return {level: coverage_factor(coverage) for level, (coverage, _) in EXACT_FACTOR.items()}
