"""Whether a measured quantity keeps its limit: conforms, does not conform, or cannot be told with this gauge."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from sparkout.core.crossing import crossing
from sparkout.core.errors import within
from sparkout.core.measured import Measured, coverage_factor
from sparkout.core.phrase import phrase
from sparkout.core.verdict.limit import check_sides

if TYPE_CHECKING:
    from collections.abc import Callable

    from sparkout.core.mixture import MixedQuantity
    from sparkout.core.verdict.limit import Limit

Outcome = Literal["conforms", "does not conform", "undecided"]


def probability_conforming(
    value: float, u: float, lower: float | None = None, upper: float | None = None, dof: float = math.inf
) -> float:
    """Return the probability that the true value lies in [lower, upper], given a reading and nothing else.

    Equation: Phi((upper - value)/u) - Phi((lower - value)/u); Student's t in place of the normal for finite dof.

    Parameters
    ----------
    value, u
        Measured value and its standard uncertainty, one unit. With u = 0 the answer is 0 or 1.
    lower, upper
        Limits in the same unit; either may be None (no limit on that side), not both.
    dof
        Degrees of freedom of u.

    Raises
    ------
    OutOfRange
        When value, u or a limit is not finite, u is negative, or dof is below 1.
    NotEnough
        When no limit is given.
    Contradiction
        When lower is not below upper.

    Validity: the measurement alone speaks (no prior knowledge of the value); normal or scaled t.

    Examples
    --------
    >>> round(probability_conforming(0.03, 0.01, upper=0.05), 4)
    0.9772

    References
    ----------
    JCGM 106:2012 clause 7 (clause number from memory; the equation follows from the definition).
    """
    within("value", value)
    within("u", u, 0.0)
    within("dof", dof if math.isfinite(dof) else 1e9, 1.0)
    check_sides(lower, upper, phrase("the value"))
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    if u == 0.0:
        return 1.0 if low <= value <= high else 0.0
    return _between((low - value) / u, (high - value) / u, dof)


def _between(a: float, b: float, dof: float) -> float:
    """Probability of the standard variable in [a, b], mirrored so that a far upper tail keeps its digits."""
    if a > 0.0:
        a, b = -b, -a
    if math.isinf(dof):
        if b <= 0.0:
            return 0.5 * (math.erfc(-b / math.sqrt(2.0)) - math.erfc(-a / math.sqrt(2.0)))
        return 0.5 * (math.erf(b / math.sqrt(2.0)) - math.erf(a / math.sqrt(2.0)))
    from scipy.special import stdtr

    return float(stdtr(dof, b) - stdtr(dof, a))


@dataclass(frozen=True, slots=True)
class Verdict:
    """What can be said of a quantity against its limit, and for which best estimates it would have been otherwise.

    `acceptance` is the zone of best estimates that conform (None on an open side); None as a whole when the
    uncertainty is too wide for any estimate to prove conformity: a better gauge or more readings are then needed.
    `rejection` holds the two edges outside which an estimate does not conform.
    `guard_band` is the distance kept from the nearest limit, `margin` the best estimate's distance inside it
    (negative: outside).
    """

    outcome: Outcome
    probability: float
    guard_band: float
    acceptance: tuple[float | None, float | None] | None
    rejection: tuple[float | None, float | None]
    margin: float


def verdict(quantity: Measured | MixedQuantity, limit: Limit) -> Verdict:
    """Return the verdict on a measured quantity, or on one with several explanations, against its limit.

    Equation, with g the probability of conforming and a the limit's risk: conforms when g >= 1 - a, does not conform
    when g <= a, else undecided. For one limit and a normal quantity that is a guard band of k u either side
    of the limit with k = Phi^-1(1 - a), 1.645 at 5 %: conforms inside the limit by k u, does not beyond it by k u (the
    sense of ISO 14253-1, known to us from poor copies only). For two limits the band is found from g itself, since both
    tails count; it tends to k u when the zone is wide against u. For several explanations the zones are those of the
    overall mean while the shape about it stays.

    One exception: with two limits and an uncertainty so wide that even a centred quantity would have g <= a, a small g
    only says how little is known. Nonconformity is then stated only when the quantity lies beyond one of
    the limits with probability 1 - a; otherwise the matter is undecided.

    Raises
    ------
    OutOfRange
        As `probability_conforming`.

    Examples
    --------
    >>> from sparkout.core.verdict.limit import Limit
    >>> verdict(Measured(0.045, 0.005), Limit("cone", None, 0.05, "house")).outcome
    'undecided'

    References
    ----------
    JCGM 106:2012 for g; ILAC-G8:09/2019 section 4.2 (seen) for binary and non-binary rules with a guard band.
    The exception: own working.
    """
    law = _measured_law(quantity, limit) if isinstance(quantity, Measured) else _mixed_law(quantity, limit)
    probability = law.conforming(law.estimate)
    rejection = _rejection(law, limit)
    acceptance = _acceptance(law, limit)
    if probability >= 1.0 - limit.risk:
        outcome: Outcome = "conforms"
    elif probability <= limit.risk and (law.centred > limit.risk or law.beyond_one_side >= 1.0 - limit.risk):
        outcome = "does not conform"
    else:
        outcome = "undecided"
    below = math.inf if limit.lower is None else law.estimate - limit.lower
    above = math.inf if limit.upper is None else limit.upper - law.estimate
    band = _band(law, limit, acceptance, nearest_is_upper=above <= below)
    return Verdict(outcome, probability, band, acceptance, rejection, min(below, above))


@dataclass(frozen=True, slots=True)
class _Law:
    """What the zones need to know of a quantity: its estimate, g were the estimate elsewhere, and its tails."""

    estimate: float
    conforming: Callable[[float], float]
    low_tail: float  # distance from the estimate down to the quantile `risk`, positive for any usual shape
    high_tail: float  # distance up to the quantile 1 - risk
    centred: float  # g were every explanation centred between two limits; 1 for one limit
    beyond_one_side: float  # larger of P(below lower), P(above upper)


def _measured_law(quantity: Measured, limit: Limit) -> _Law:
    lower, upper, dof = limit.lower, limit.upper, quantity.dof
    tail = (coverage_factor(1.0 - 2.0 * limit.risk, dof) if limit.risk < 0.5 else 0.0) * quantity.u

    def conforming(estimate: float) -> float:
        return probability_conforming(estimate, quantity.u, lower, upper, dof)

    centred = 1.0 if lower is None or upper is None else conforming(0.5 * (lower + upper))
    below = 0.0 if lower is None else 1.0 - probability_conforming(quantity.value, quantity.u, lower=lower, dof=dof)
    above = 0.0 if upper is None else 1.0 - probability_conforming(quantity.value, quantity.u, upper=upper, dof=dof)
    return _Law(quantity.value, conforming, tail, tail, centred, max(below, above))


def _mixed_law(quantity: MixedQuantity, limit: Limit) -> _Law:
    lower, upper = limit.lower, limit.upper
    estimate = quantity.measured().value

    def conforming(elsewhere: float) -> float:
        shift = elsewhere - estimate
        high = 1.0 if upper is None else quantity.below(upper - shift)
        low = 0.0 if lower is None else quantity.below(lower - shift)
        return max(0.0, high - low)

    centred = 1.0
    if lower is not None and upper is not None:
        middle = 0.5 * (lower + upper)
        centred = sum(
            float(w) * probability_conforming(middle, float(s), lower, upper)
            for w, s in zip(quantity.weights, quantity.sds, strict=True)
        )
    below = 0.0 if lower is None else quantity.below(lower)
    above = 0.0 if upper is None else 1.0 - quantity.below(upper)
    low_tail = estimate - quantity.quantile(limit.risk)
    high_tail = quantity.quantile(1.0 - limit.risk) - estimate
    return _Law(estimate, conforming, low_tail, high_tail, centred, max(below, above))


def _acceptance(law: _Law, limit: Limit) -> tuple[float | None, float | None] | None:
    low = None if limit.lower is None else limit.lower + law.low_tail
    high = None if limit.upper is None else limit.upper - law.high_tail
    if low is None or high is None:
        return low, high
    wanted = 1.0 - limit.risk
    for inside in (law.estimate, 0.5 * (low + high)):
        if low <= inside <= high and law.conforming(inside) >= wanted:
            return _edge(law, inside, low, wanted), _edge(law, inside, high, wanted)
    return None


def _rejection(law: _Law, limit: Limit) -> tuple[float | None, float | None]:
    low = None if limit.lower is None else limit.lower - law.high_tail
    high = None if limit.upper is None else limit.upper + law.low_tail
    if low is None or high is None:
        return low, high
    for inside in (law.estimate, 0.5 * (low + high)):
        if low < inside < high and law.conforming(inside) > limit.risk:
            return _edge(law, inside, low, limit.risk), _edge(law, inside, high, limit.risk)
    return low, high


def _edge(law: _Law, inside: float, outside: float, level: float) -> float:
    """The estimate between the two at which g falls to `level`; `outside` itself when it has not fallen there."""
    return outside if law.conforming(outside) >= level else crossing(law.conforming, inside, outside, level)


def _band(
    law: _Law, limit: Limit, acceptance: tuple[float | None, float | None] | None, *, nearest_is_upper: bool
) -> float:
    if nearest_is_upper:
        edge = acceptance[1] if acceptance else None
        return law.high_tail if edge is None or limit.upper is None else limit.upper - edge
    edge = acceptance[0] if acceptance else None
    return law.low_tail if edge is None or limit.lower is None else edge - limit.lower
