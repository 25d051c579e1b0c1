"""What one answer tells of one cause, and what asking is worth."""

from __future__ import annotations

from sparkout.catalogue.entry import Input, Result, calculation

_CHANCE = Input("chance_before", "fraction", "%", "chance of the cause before the answer", 0.0, 100.0)
_SHOWS = Input("cause_shows_it", "fraction", "%", "how often the cause alone shows it", 0.0, 99.0)
_WITHOUT = Input("without_cause", "fraction", "%", "how often it is so without the cause", 0.0, 90.0)


@calculation(
    "answer-of-a-check",
    "What the answer to one check does to one cause",
    inputs=(_CHANCE, _SHOWS, _WITHOUT),
    results=(
        Result("chance_if_yes", "fraction", "%", "chance of the cause when it is so"),
        Result("chance_if_no", "fraction", "%", "chance of the cause when it is not so"),
        Result("information", "number", "", "what asking is expected to tell, bits"),
    ),
    equation="s = 1 - (1 - without)(1 - shows); yes: p s/(p s + (1 - p) without); no: with 1 - s and 1 - without",
    source="Bayes' theorem; noisy OR after Pearl (1988); information after Shannon (1948)",
    validity="one cause against all else; fault finding weighs all causes at once",
    example='chance_before="20 %" cause_shows_it="90 %" without_cause="5 %"',
    caution="A chance advises; look at the part before anything is taken apart.",
)
def answer_of_a_check(chance_before: float, cause_shows_it: float, without_cause: float) -> dict[str, float]:
    """Chance after yes and no, expected information."""
    from sparkout.core.faults.network import shown_by
    from sparkout.core.faults.next_check import expected_information

    p, other = chance_before, without_cause
    shown = shown_by([cause_shows_it], without_cause)
    yes, no = p * shown + (1.0 - p) * other, p * (1.0 - shown) + (1.0 - p) * (1.0 - other)
    return {
        "chance_if_yes": p * shown / yes if yes > 0.0 else 0.0,
        "chance_if_no": p * (1.0 - shown) / no,
        "information": expected_information([p, 1.0 - p], [[shown], [other]]),
    }


ENTRIES = (answer_of_a_check,)
