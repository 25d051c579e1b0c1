"""Random intercept and slope by REML: sleepstudy, as printed for lme4 (Bates et al. 2015, J. Stat. Softw. 67(1)).

Data: Belenky et al. 2003, J. Sleep Res. 12, 1-12. Printed figures: lme4's own documentation and tests, as quoted in our
notes. Reaction ~ Days + (Days | Subject), 180 readings of 18 people.
"""

from functools import cache

import numpy as np
from tests.published.evidence import evidence
from tests.published.printed import data

from sparkout.core.season.each_unit import Part
from sparkout.core.season.nested import Nested
from sparkout.core.season.nested_fit import Fitted, fit

SEEN = "as quoted elsewhere"
STUDY = data("sleepstudy.json")
SOURCE = "lme4, sleepstudy, REML"


@cache
def fitted() -> Fitted:
    people = list(STUDY["reaction"].values())
    days = np.array(STUDY["days"], dtype=np.float64)
    grams = []
    for reaction in people:
        columns = np.stack([np.ones_like(days), days, np.array(reaction, dtype=np.float64)])
        grams.append(columns @ columns.T)
    fleet = Part(np.stack(grams, axis=2), np.zeros(len(people), dtype=np.intp))
    return fit(Nested([fleet], (), days.size * len(people), 3))


def deviations() -> np.ndarray:
    return np.sqrt(np.diag(fitted().level_covariances[0]))


@evidence(SOURCE, "intercept", printed=251.405104848485, tolerance=5e-10)
def test_intercept() -> float:
    return float(fitted().fixed[0])


@evidence(SOURCE, "slope", printed=10.467285959595, tolerance=5e-10)
def test_slope() -> float:
    return float(fitted().fixed[1])


@evidence(SOURCE, "standard error of the intercept", printed=6.825, tolerance=0.0005)
def test_error_of_intercept() -> float:
    return float(np.sqrt(fitted().fixed_covariance[0, 0]))


@evidence(SOURCE, "standard error of the slope", printed=1.546, tolerance=0.0005)
def test_error_of_slope() -> float:
    return float(np.sqrt(fitted().fixed_covariance[1, 1]))


@evidence(SOURCE, "spread of intercepts", printed=24.741, tolerance=0.025, note="optimisers differ in the fourth digit")
def test_spread_of_intercepts() -> float:
    return float(deviations()[0])


@evidence(SOURCE, "spread of slopes", printed=5.922, tolerance=0.0005)
def test_spread_of_slopes() -> float:
    return float(deviations()[1])


@evidence(SOURCE, "correlation", printed=0.066, tolerance=0.0005)
def test_correlation() -> float:
    return float(fitted().level_covariances[0][0, 1] / np.prod(deviations()))


@evidence(SOURCE, "residual spread", printed=25.592, tolerance=0.0005)
def test_residual() -> float:
    return float(np.sqrt(fitted().residual_variance))


@evidence(SOURCE, "REML criterion", printed=1743.628, tolerance=0.0005)
def test_criterion() -> float:
    return fitted().deviance
