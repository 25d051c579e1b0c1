"""The next check worth doing: what it is expected to tell, per minute it takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import OutOfRange, all_within
from sparkout.core.faults.network import entropy_of_yes

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.faults.network import Network
    from sparkout.core.faults.tables import Cause, Check, Finding, Setup

WORTH = 0.02
"""Bits below which a check is not worth naming (our own choice)."""
_NEGLIGIBLE = 1e-6
"""Explanations this much less likely than the likeliest are left out when checks are weighed."""
_CONTENDERS = 6
"""Causes among which a check is said to separate two."""
_LEAST = 0.25
"""Minutes below which nothing is answered, whatever the tables say."""


@dataclass(frozen=True, slots=True)
class IfSo:
    """What one finding of a check would mean: chance that it is so, and the leading cause after a yes and a no."""

    finding: Finding
    chance: float
    leads_if_yes: Cause
    leads_if_no: Cause


@dataclass(frozen=True, slots=True)
class NextCheck:
    """A check not done yet, with the bits it is expected to bring and the minutes it takes.

    `setups` are those still to be done for it; their minutes are in `minutes`. `asks` are its findings still open.
    `apart` are the two contending causes it separates best, the one it speaks for first, and by which finding.
    """

    check: Check
    asks: tuple[IfSo, ...]
    setups: tuple[Setup, ...]
    minutes: float
    bits: float
    apart: tuple[Cause, Cause, Finding]

    @property
    def bits_per_minute(self) -> float:
        """What it is expected to tell, by the time it takes."""
        return self.bits / self.minutes


def expected_information(chances: ArrayLike, shown: ArrayLike) -> float:
    """Return the information a check is expected to bring on which explanation holds, in bits.

    Equation: I = H(outcome) - sum_h p_h sum_j H(j | h), the outcome being which of the check's findings are so; H is
    Shannon's entropy to base 2 and findings are independent given the explanation.

    Parameters
    ----------
    chances
        Chance of each explanation, shape (h,), summing to 1.
    shown
        P(finding is so | explanation), shape (h, j); j at most 12.

    Raises
    ------
    OutOfRange
        When a chance is outside 0 to 1, the chances do not sum to 1, or the shapes do not fit.

    Validity: exact; never negative, never above the entropy of the chances.

    Examples
    --------
    A check that tells two equally likely explanations apart without fail brings one bit:

    >>> expected_information([0.5, 0.5], [[1.0], [0.0]])
    1.0

    References
    ----------
    C. E. Shannon (1948), mutual information; T. Mitchell, Machine Learning (1997), table 3.2 and section 3.4.1.2
    (tests/published/test_information_gain.py).
    """
    weights = all_within("chances", chances, 0.0, 1.0)
    given = all_within("shown", shown, 0.0, 1.0)
    if given.ndim != 2 or weights.shape != given.shape[:1] or given.shape[1] > 12:
        raise OutOfRange("shown", given.shape, "one row for each chance, at most 12 columns")
    if abs(weights.sum() - 1.0) > 1e-9:
        raise OutOfRange("chances", float(weights.sum()), "a sum of 1")
    return max(0.0, _entropy_of_outcome(weights, given) - float(weights @ entropy_of_yes(given).sum(axis=1)))


def _entropy_of_outcome(weights: NDArray[np.float64], shown: NDArray[np.float64]) -> float:
    outcomes = weights[:, None]
    for column in shown.T:
        outcomes = np.hstack([outcomes * column[:, None], outcomes * (1.0 - column[:, None])])
    chance = outcomes.sum(axis=0)
    chance = chance[chance > 0.0]
    return float(-(chance * np.log2(chance)).sum())


def next_checks(
    net: Network,
    chance: NDArray[np.float64],
    answered: Iterable[str],
    paid: frozenset[str],
    most: int | None = None,
    begun: frozenset[str] = frozenset(),
) -> tuple[NextCheck, ...]:
    """Return the checks that still tell something, the most information per minute first.

    Equation: bits / (minutes of the check + `minutes_between` + minutes of the setups not done yet). One step ahead:
    what a setup opens for checks after this one is not counted.

    Parameters
    ----------
    net, chance
        The network and the chance of each of its explanations now.
    answered
        Findings that are answered, or that nobody can tell: not asked again.
    paid
        Setups that are done.
    most
        How many to return; all of them when None.
    begun
        Checks that are being done: what they still leave open takes no more minutes of theirs.

    Examples
    --------
    >>> from sparkout.core.faults.diagnosis import Answer, diagnose
    >>> from sparkout.core.faults.reading import usual_tables
    >>> waves = diagnose(usual_tables(), [Answer("long-waves", 1), Answer("spongy", 0)])
    >>> [(each.check.id, each.minutes) for each in waves.next_checks][:3]
    [('look-fine-ribs', 2.0), ('reels-stopped', 4.0), ('look-torn-all', 2.0)]

    References
    ----------
    Expected information as above; own working for the minutes.
    """
    kept = chance > _NEGLIGIBLE * chance.max()
    weights = chance[kept] / chance[kept].sum()
    shown, at_work = net.shown[kept], net.at_work[kept]
    marginal = weights @ at_work
    yes, unsure = weights @ shown, weights @ net.unsure[kept]
    yes_with = (weights[:, None] * shown).T @ at_work
    done, setups = set(answered), {setup.id: setup for setup in net.tables.setups if setup.id not in paid}
    worth = []
    for check in net.tables.all_checks:
        still = [net.column[name] for name in check.findings if name not in done]
        bits = _bits(weights, shown, yes, unsure, still)
        if bits >= WORTH:
            before = tuple(setups[name] for name in check.setups if name in setups)
            own = 0.0 if check.id in begun else check.minutes
            minutes = own + net.tables.minutes_between + sum(setup.minutes for setup in before)
            worth.append((-bits / max(minutes, _LEAST), check.id, check, before, minutes, bits, still))
    return tuple(
        NextCheck(
            check,
            tuple(_if_so(net, j, yes, yes_with, marginal) for j in still),
            before,
            max(minutes, _LEAST),
            bits,
            _apart(net, marginal, yes_with, still),
        )
        for _, _, check, before, minutes, bits, still in sorted(worth, key=lambda each: each[:2])[:most]
    )


def _bits(
    weights: NDArray[np.float64],
    shown: NDArray[np.float64],
    yes: NDArray[np.float64],
    unsure: NDArray[np.float64],
    columns: list[int],
) -> float:
    """Return `expected_information` of some findings, from sums that all checks share."""
    if not columns:
        return 0.0
    if len(columns) == 1:
        return float(entropy_of_yes(yes[columns])[0] - unsure[columns[0]])
    return _entropy_of_outcome(weights, shown[:, columns]) - float(unsure[columns].sum())


def _if_so(
    net: Network,
    j: int,
    yes: NDArray[np.float64],
    yes_with: NDArray[np.float64],
    marginal: NDArray[np.float64],
) -> IfSo:
    causes = net.tables.causes
    no_with = marginal - yes_with[j]
    return IfSo(net.tables.findings[j], float(yes[j]), causes[int(yes_with[j].argmax())], causes[int(no_with.argmax())])


def _apart(
    net: Network, marginal: NDArray[np.float64], yes_with: NDArray[np.float64], columns: list[int]
) -> tuple[Cause, Cause, Finding]:
    """Return the contenders a check separates best: by the difference of what they show, weighed by their chances."""
    best = np.argsort(-marginal, kind="stable")[:_CONTENDERS]
    share = marginal[best]
    so = yes_with[columns][:, best] / share
    apart = (so[:, :, None] - so[:, None, :]) * np.sqrt(share[:, None] * share[None, :])
    j, a, b = np.unravel_index(int(apart.argmax()), apart.shape)
    causes = net.tables.causes
    return causes[int(best[a])], causes[int(best[b])], net.tables.findings[columns[int(j)]]
