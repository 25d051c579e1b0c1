"""The next reading worth taking: what each possible reading is expected to settle.

Equation, with g the chance that the quantity conforms and a the risk the limit accepts. A wrong decision costs 1,
leaving the matter undecided costs a, so that

    accept costs 1 - g,   reject costs g,   wait costs a,   and   risk(g) = min(1 - g, g, a).

The cheapest of the three is exactly the verdict's rule: accept when g >= 1 - a, reject when g <= a, else undecided.
risk(g) is concave, so a reading can only lower its expectation (the value of information is never negative).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sparkout.core.mixture import GaussianMixture
    from sparkout.core.verdict.limit import Limit


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading that could be taken: reading = row . parameters + N(0, u^2), and the minutes it takes."""

    label: str
    row: NDArray[np.float64]
    u: float
    minutes: float = 1.0


@dataclass(frozen=True, slots=True)
class Prospect:
    """What a candidate is expected to bring: risk in units of one wrong decision, and the chance of a verdict.

    `wrong_before` and `wrong_after` are the chance of deciding wrongly if one had to decide now, and after the reading.
    """

    candidate: Candidate
    risk_before: float
    risk_after: float
    chance_decided: float
    wrong_before: float
    wrong_after: float


@dataclass(frozen=True, slots=True)
class Separation:
    """How well a candidate tells two explanations apart: expected weight of evidence, nats, when either is true."""

    candidate: Candidate
    evidence_if_first: float
    evidence_if_second: float


def next_readings(
    mixture: GaussianMixture,
    row: NDArray[np.float64],
    limit: Limit,
    candidates: Sequence[Candidate],
    *,
    constant: float = 0.0,
) -> tuple[Prospect, ...]:
    """Return what each candidate is expected to bring to the verdict on row . parameters + constant, best first."""
    raise NotImplementedError


def separating_reading(
    mixture: GaussianMixture, pair: tuple[int, int], candidates: Sequence[Candidate]
) -> tuple[Separation, ...]:
    """Return how well each candidate tells the two explanations apart, best first."""
    raise NotImplementedError
