"""The next reading worth taking: what each possible reading is expected to settle.

With g the chance that the quantity conforms and a the risk the limit accepts: a wrong decision costs 1 and leaving the
matter undecided costs a, so

    accepting costs 1 - g,   rejecting costs g,   waiting costs a,   and   risk(g) = min(1 - g, g, a).

The cheapest of the three is the verdict's own rule: accept when g >= 1 - a, reject when g <= a, else undecided.
risk(g) is concave, so a reading can only lower its expectation (the value of information is never negative).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from sparkout.core.errors import OutOfRange, Refusal, all_within, within
from sparkout.core.phrase import phrase
from sparkout.core.verdict.forecast import Forecast, expectations

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from sparkout.core.mixture import GaussianMixture
    from sparkout.core.verdict.limit import Limit


@dataclass(frozen=True, slots=True)
class Touch:
    """One place where a reading's gauge is put: kind as `Observation.kind`, x from the left end, mm.

    `blade` (0-based) is None where no single blade is meant, `angle` (rad, from the marked blade) is for the shaft.
    """

    kind: str
    x: float
    blade: int | None = None
    angle: float | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A reading that could be taken: reading = row . parameters + N(0, u^2), and the minutes it takes.

    `gauge` is the kind of gauge it takes and `touches` the places it is put to; `again` says that all of them have been
    read before, so that this would be a repeat.

    Raises
    ------
    OutOfRange
        When u or minutes is not above zero, or the row has a value that is not finite.
    """

    label: str
    row: NDArray[np.float64]
    u: float
    minutes: float = 1.0
    gauge: str = ""
    touches: tuple[Touch, ...] = ()
    again: bool = False

    def __post_init__(self) -> None:
        all_within("row", self.row)
        within("u", self.u, 0.0, above=True)
        within("minutes", self.minutes, 0.0, above=True)


@dataclass(frozen=True, slots=True)
class Prospect:
    """What a candidate is expected to bring: risk in units of one wrong decision, and the chance of a verdict.

    `wrong_before` and `wrong_after` are the chance of deciding wrongly were one forced to decide: now, and after the
    reading. They still fall when no single reading can bring a verdict and the risk stays at the limit's.
    """

    candidate: Candidate
    risk_before: float
    risk_after: float
    chance_decided: float
    wrong_before: float
    wrong_after: float


@dataclass(frozen=True, slots=True)
class Separation:
    """How well a candidate tells two explanations apart: expected weight of evidence for the true one, in nats.

    `evidence` weighs the two cases by how likely the explanations are now. One nat multiplies the odds by 2.7.
    """

    candidate: Candidate
    evidence: float
    evidence_if_first: float
    evidence_if_second: float


F = TypeVar("F", Prospect, Separation)
REPEAT_COUNTS = 0.5
"""Share of what a repeat is expected to bring that counts against a fresh reading."""


def next_readings(
    mixture: GaussianMixture,
    row: NDArray[np.float64],
    limit: Limit,
    candidates: Sequence[Candidate],
    *,
    constant: float = 0.0,
) -> tuple[Prospect, ...]:
    """Return what each candidate is expected to bring to the verdict on row . parameters + constant, best first.

    Equation: risk_after = integral of p(y) risk(g(y)) dy over the possible readings y, where p is the mixture of the
    explanations' predictive densities N(row . mean, row C row + u^2) and g(y) follows from their posterior weights and
    linearly updated means. No random numbers: Gauss-Legendre panels, refined where the verdict changes.

    Parameters
    ----------
    mixture
        What is known now: H explanations over P parameters.
    row, constant
        The quantity judged, row of shape (P,).
    limit
        Its limit; `limit.risk` is a above.
    candidates
        Readings to choose from; their order does not matter. Ties (risks equal to a millionth) go to the smaller
        `wrong_after`, then to the quicker reading, then by label.

    Raises
    ------
    Refusal
        When a row does not fit the mixture.
    OutOfRange
        When the row or the constant is not finite.

    Validity: one reading ahead; each reading linear in the parameters with normal scatter. Expected risks to 1e-4 of a
    wrong decision (typically 1e-6), chances to about 0.01 (typically 0.001), against 60,000 nodes on hundreds of random
    cases. The risk is that of the rule g <= a alone: the exception that `verdict` makes for an uncertainty wider than
    the zone counts in `chance_decided` only.

    Examples
    --------
    >>> from sparkout.core.mixture import GaussianMixture
    >>> from sparkout.core.verdict.limit import Limit
    >>> known = GaussianMixture(np.array([1.0]), np.array([[0.05, 0.0]]), np.array([np.diag([0.0004, 1.0])]))
    >>> rough = Candidate("feeler", np.array([1.0, 0.0]), 0.03)
    >>> fine = Candidate("dial", np.array([1.0, 0.0]), 0.004)
    >>> best = next_readings(known, np.array([1.0, 0.0]), Limit("cone", None, 0.05, "house"), [rough, fine])[0]
    >>> best.candidate.label, round(best.chance_decided, 2)
    ('dial', 0.74)

    References
    ----------
    Own working: pre-posterior analysis of a Bayes decision with three actions.
    """
    within("constant", constant)
    _fits(mixture, "row", all_within("row", row))
    if not candidates:
        return ()
    rows = _rows(mixture, candidates)
    u = np.array([candidate.u for candidate in candidates])
    forecast = Forecast.of(mixture, row, constant, limit, rows, u)
    now = forecast.conforming_now
    wrong_now = min(now, 1.0 - now)
    risk, wrong, decided = expectations(forecast)
    prospects = [
        Prospect(candidate, min(wrong_now, limit.risk), float(r), float(d), wrong_now, float(w))
        for candidate, r, d, w in zip(candidates, risk, decided, wrong, strict=True)
    ]
    return tuple(sorted(prospects, key=_worth))


def worth_taking(prospects: Sequence[Prospect]) -> Prospect | None:
    """Return the prospect to name: the best, but a repeat only when it brings clearly more than any fresh reading.

    A repeat meets the same calibration and the same set-up again, which its row does not know of; so its gain counts by
    `REPEAT_COUNTS` only (common practice, no source). None of none.

    Examples
    --------
    >>> fresh = Prospect(Candidate("dial", np.ones(1), 0.1), 0.05, 0.02, 0.5, 0.1, 0.04)
    >>> repeat = Prospect(Candidate("tape, again", np.ones(1), 0.1, again=True), 0.05, 0.01, 0.5, 0.1, 0.03)
    >>> worth_taking([repeat, fresh]).candidate.label
    'dial'
    """
    return _fresh_first(prospects, _gain)


def telling_reading(separations: Sequence[Separation]) -> Separation | None:
    """Return the separation to name: as `worth_taking`, by the evidence expected."""
    return _fresh_first(separations, lambda separation: separation.evidence)


def _gain(prospect: Prospect) -> float:
    fallen = prospect.risk_before - prospect.risk_after
    return fallen if fallen > 1e-6 else prospect.wrong_before - prospect.wrong_after


def _fresh_first(found: Sequence[F], gain: Callable[[F], float]) -> F | None:
    """Return the first of a list in order of worth, or the first fresh one when it is worth nearly as much."""
    best = next(iter(found), None)
    if best is None or not best.candidate.again:
        return best
    fresh = next((each for each in found if not each.candidate.again), None)
    return fresh if fresh is not None and gain(fresh) >= REPEAT_COUNTS * gain(best) else best


def _worth(prospect: Prospect) -> tuple[float, float, float, str]:
    candidate = prospect.candidate
    return round(prospect.risk_after, 6), round(prospect.wrong_after, 6), candidate.minutes, candidate.label


def separating_reading(
    mixture: GaussianMixture, pair: tuple[int, int], candidates: Sequence[Candidate]
) -> tuple[Separation, ...]:
    """Return how well each candidate tells two explanations apart, best first.

    Equation: if the first is true the expected log likelihood ratio is the Kullback-Leibler divergence of its
    predictive density N(m1, v1) from the other's, (v1/v2 + (m1 - m2)^2/v2 - 1 + ln(v2/v1)) / 2; likewise the other.

    Parameters
    ----------
    pair
        Positions of the two explanations in the mixture.

    Raises
    ------
    OutOfRange
        When a position is outside the mixture or both are the same.
    Refusal
        When a row does not fit the mixture.

    Validity: as `next_readings`.

    Examples
    --------
    >>> from sparkout.core.mixture import GaussianMixture
    >>> two = GaussianMixture(np.array([0.5, 0.5]), np.array([[0.0], [2.0]]), np.array([[[0.5]], [[0.5]]]))
    >>> separating_reading(two, (0, 1), [Candidate("gap", np.array([1.0]), 0.5**0.5)])[0].evidence
    2.0

    References
    ----------
    Own working (normal densities); the expected log likelihood ratio is the Kullback-Leibler divergence.
    """
    first, second = pair
    for position in pair:
        if not 0 <= position < len(mixture.weights):
            raise OutOfRange("pair", position, phrase("0 to {last}", last=len(mixture.weights) - 1))
    if first == second:
        raise OutOfRange("pair", pair, "two different explanations")
    if not candidates:
        return ()
    rows = _rows(mixture, candidates)
    noise = np.array([candidate.u for candidate in candidates]) ** 2
    gap = rows @ (mixture.means[first] - mixture.means[second])
    spread = [np.einsum("cp,pq,cq->c", rows, mixture.covariances[h], rows) + noise for h in pair]
    if_first = _divergence(gap, spread[0], spread[1])
    if_second = _divergence(gap, spread[1], spread[0])
    weights = mixture.weights[[first, second]]
    share = weights / weights.sum() if weights.sum() > 0.0 else np.array([0.5, 0.5])
    found = [
        Separation(candidate, float(share[0] * a + share[1] * b), float(a), float(b))
        for candidate, a, b in zip(candidates, if_first, if_second, strict=True)
    ]
    return tuple(
        sorted(found, key=lambda each: (-round(each.evidence, 9), each.candidate.minutes, each.candidate.label))
    )


def _divergence(gap: NDArray[np.float64], true: NDArray[np.float64], other: NDArray[np.float64]) -> NDArray[np.float64]:
    ratio = true / other
    return 0.5 * (ratio + gap**2 / other - 1.0 - np.log(ratio))


def _rows(mixture: GaussianMixture, candidates: Sequence[Candidate]) -> NDArray[np.float64]:
    for candidate in candidates:
        if np.shape(candidate.row) != (mixture.means.shape[1],):  # the words cost more than the looking
            _fits(mixture, phrase("row of {reading}", reading=candidate.label), candidate.row)
    return np.array([candidate.row for candidate in candidates], dtype=np.float64)


def _fits(mixture: GaussianMixture, name: str, row: NDArray[np.float64]) -> None:
    wanted = (mixture.means.shape[1],)
    if np.shape(row) != wanted:
        raise Refusal(
            phrase(
                "{name} has shape {shape}; the explanations have parameters of shape {wanted}",
                name=name,
                shape=np.shape(row),
                wanted=wanted,
            )
        )
