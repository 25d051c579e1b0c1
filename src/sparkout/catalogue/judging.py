"""Judging a reading against a limit."""

from __future__ import annotations

from sparkout.catalogue.entry import Input, Result, calculation

U = Input("standard_uncertainty", "same", "", "standard uncertainty of the value", 0.0)


@calculation(
    "conformity",
    "Probability that a measured value keeps its limits",
    inputs=(
        Input("value", "same", "", "measured value"),
        U,
        Input("lower", "same", "", "lower limit, if any", optional=True),
        Input("upper", "same", "", "upper limit, if any", optional=True),
    ),
    results=(Result("probability_conforming", "number", "", "probability that the true value lies within"),),
    equation="Φ((upper - y)/u) - Φ((lower - y)/u)",
    source="JCGM 106:2012 clause 7",
    validity="normal uncertainty, no prior knowledge",
    example='value="0.03 mm" standard_uncertainty="0.01 mm" upper="0.05 mm"',
    caution="A probability advises; a person decides and signs.",
)
def conformity(
    value: float, standard_uncertainty: float, lower: float | None = None, upper: float | None = None
) -> dict[str, float]:
    """Conformance probability."""
    from sparkout.core.verdict.conformity import probability_conforming

    return {"probability_conforming": probability_conforming(value, standard_uncertainty, lower, upper)}


@calculation(
    "guard-band",
    "Acceptance limit that keeps the risk of a false accept",
    inputs=(
        Input("prior_shape", "number", "", "shape of the gamma prior of true values", 0.05, 1e4),
        Input("prior_scale", "same", "", "scale of the gamma prior, in the unit of upper", 0.0, above=True),
        Input(
            "standard_uncertainty",
            "same",
            "",
            "standard uncertainty of a reading, in the unit of upper",
            0.0,
            above=True,
        ),
        Input("upper", "same", "", "upper limit", 0.0, above=True),
        Input(
            "wanted_false_accept",
            "fraction",
            "",
            "chance that a unit is accepted and yet over the limit",
            0.0,
            0.5,
            above=True,
        ),
    ),
    results=(Result("acceptance_limit", "same", "", "accept readings up to here"),),
    equation="P(true > upper and reading ≤ A) = wanted",
    source="JCGM 106:2012 clause 9 (global consumer's risk)",
    validity="true values gamma distributed, readings normal about them",
    example='prior_shape=2 prior_scale="0.02 mm" standard_uncertainty="0.01 mm" upper=0.1 wanted_false_accept=0.01',
    caution="The prior is the workshop's own experience; where there is none, use conformity.",
)
def guard_band(
    prior_shape: float, prior_scale: float, standard_uncertainty: float, upper: float, wanted_false_accept: float
) -> dict[str, float]:
    """Acceptance limit under a gamma prior."""
    from sparkout.core.verdict.guard_band import acceptance_limit

    limit = acceptance_limit(prior_shape, prior_scale, standard_uncertainty, upper, wanted_false_accept)
    return {"acceptance_limit": limit}


ENTRIES = (conformity, guard_band)
