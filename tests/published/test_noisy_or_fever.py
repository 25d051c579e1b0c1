"""S. Russell and P. Norvig, Artificial Intelligence: A Modern Approach, the noisy-OR table "fever" (chapter on Bayesian
networks; first given with J. Pearl, Probabilistic Reasoning in Intelligent Systems, 1988). Seen as quoted in a
lecture's slides, not in the book: inhibitions cold 0.6, flu 0.2, malaria 0.1.
"""

from tests.published.evidence import evidence_table

from sparkout.core.faults.network import shown_by

SEEN = "as quoted elsewhere"
ALONE = {"cold": 0.4, "flu": 0.8, "malaria": 0.9}


@evidence_table(
    "Russell and Norvig, noisy-OR table of fever",
    {
        "cold, flu": (0.88, 0.005),
        "cold, malaria": (0.94, 0.005),
        "flu, malaria": (0.98, 0.005),
        "cold, flu, malaria": (0.988, 0.0005),
    },
)
def test_fever() -> dict[str, float]:
    together = ["cold, flu", "cold, malaria", "flu, malaria", "cold, flu, malaria"]
    return {names: shown_by([ALONE[name] for name in names.split(", ")]) for names in together}
