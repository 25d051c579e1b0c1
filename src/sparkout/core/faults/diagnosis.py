"""From what is seen and known to ranked causes, what each answer did, and the next checks worth doing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import Contradiction, within
from sparkout.core.faults.network import network_of
from sparkout.core.faults.next_check import NextCheck, next_checks
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from numpy.typing import NDArray

    from sparkout.core.faults.network import Network
    from sparkout.core.faults.tables import Cause, Finding, Tables

SURE = 0.9
"""From this chance of the leading cause on, the remedy is nearer than another check (our own choice)."""
STANDING = phrase(
    "The chances hold among the causes listed, as far as the tables do: common practice, no source. They are no proof. "
    "Look at the part before anything is taken apart."
)
"""Stands beside every ranking."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One finding answered. `yes`: chance that it is so, 1 and 0 for a plain yes and no, None when it cannot be told.

    `source` says where the answer is from when no person gave it now.
    """

    finding: str
    yes: float | None
    source: str = ""

    def __post_init__(self) -> None:
        if self.yes is not None:
            within("yes", self.yes, 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class Weight:
    """What one answer did to one cause: natural logarithm of the factor on its odds, given all the other answers."""

    answer: Answer
    log_odds: float


@dataclass(frozen=True, slots=True)
class Ranked:
    """A cause with the chance that it is at work, alone or with another, and what each answer did to that."""

    cause: Cause
    chance: float
    told: tuple[Weight, ...]


@dataclass(frozen=True, slots=True)
class Together:
    """Two or more causes at work at once, and the chance of just these."""

    causes: tuple[Cause, ...]
    chance: float


@dataclass(frozen=True, slots=True)
class FaultDiagnosis:
    """The causes, likeliest first; the chance that it is none of them; causes together; checks, best first."""

    ranked: tuple[Ranked, ...]
    none_listed: float
    together: tuple[Together, ...]
    next_checks: tuple[NextCheck, ...]
    answers: tuple[Answer, ...]
    standing: str = STANDING

    @property
    def best(self) -> Ranked:
        """The likeliest cause."""
        return self.ranked[0]

    @property
    def sure(self) -> bool:
        """Whether the leading cause is likely enough to look at the part and act."""
        return self.best.chance >= SURE


def diagnose(tables: Tables, answers: Sequence[Answer], paid: Iterable[str] = ()) -> FaultDiagnosis:
    """Return the causes of what was found, ranked, with what each answer did and the next checks worth doing.

    Equation: P(set | answers) ~ P(set) prod_j [y_j P(j | set) + (1 - y_j)(1 - P(j | set))], y_j the chance that
    finding j is so; the chance of a cause is the sum over the sets it is in. What an answer did is the difference of
    the cause's log odds with and without it, all others kept.

    Parameters
    ----------
    tables
        `usual_tables()`, or the workshop's own laid over them.
    answers
        What is known, each finding once. From readings, y is the chance that the limit is not kept; taken as
        evidence with even odds beforehand, so y = 0.5 says nothing.
    paid
        Setups that are done already (a unit that is on the bench).

    Raises
    ------
    Contradiction
        When a finding is answered twice.
    Refusal
        When a finding or a setup is not in the tables.

    Validity: findings independent of each other given the causes at work; at most as many causes at once as the tables
    allow. On cases drawn from the tables themselves the chances are calibrated (tests/core/faults).

    Examples
    --------
    >>> from sparkout.core.faults.reading import usual_tables
    >>> found = diagnose(usual_tables(), [Answer("torn-one-end", 1), Answer("cone-over", 1)])
    >>> found.best.cause.id, round(found.best.chance, 2)
    ('cone', 0.99)

    References
    ----------
    Bayes' theorem; Pearl 1988 (noisy OR); next checks by expected information (Shannon 1948) per minute.
    """
    _each_once(tables, answers)
    net = network_of(tables)
    known = [answer for answer in answers if answer.yes is not None]
    logs = _log_likelihoods(net, known)
    whole = net.log_prior + logs.sum(axis=0)
    chance = _scaled(whole)
    odds = _log_odds(chance, net)
    moved = [odds - _log_odds(_scaled(whole - log), net) for log in logs]
    marginal = chance @ net.at_work
    ranked = tuple(
        Ranked(
            tables.causes[k],
            float(marginal[k]),
            tuple(Weight(answer, float(by[k])) for answer, by in zip(known, moved, strict=True)),
        )
        for k in np.argsort(-marginal, kind="stable")
    )
    asked = {answer.finding for answer in answers}
    checks = next_checks(net, chance, asked, _paid(tables, answers, paid), begun=_begun(tables, answers))
    none = float(chance[net.at_work.sum(axis=1) == 0].sum())
    return FaultDiagnosis(ranked, none, _together(net, chance), checks, tuple(answers))


def chance_of_causes(tables: Tables, answers: Sequence[Answer]) -> dict[str, float]:
    """Return the chance of every cause by its id, and nothing else: `diagnose` without what it adds.

    Raises
    ------
    Contradiction, Refusal
        As `diagnose`.

    Examples
    --------
    >>> from sparkout.core.faults.reading import usual_tables
    >>> round(chance_of_causes(usual_tables(), [Answer("torn-one-end", 1), Answer("cone-over", 1)])["cone"], 2)
    0.99

    References
    ----------
    As `diagnose`.
    """
    net, chance = explained(tables, answers)
    return {cause.id: float(p) for cause, p in zip(tables.causes, chance @ net.at_work, strict=True)}


def explained(tables: Tables, answers: Sequence[Answer]) -> tuple[Network, NDArray[np.float64]]:
    """Return the network and the chance of each of its explanations.

    Raises
    ------
    Contradiction, Refusal
        As `diagnose`.

    Examples
    --------
    >>> from sparkout.core.faults.reading import usual_tables
    >>> bool(abs(explained(usual_tables(), [Answer("clack", 1)])[1].sum() - 1) < 1e-12)
    True

    References
    ----------
    As `diagnose`.
    """
    _each_once(tables, answers)
    net = network_of(tables)
    known = [answer for answer in answers if answer.yes is not None]
    return net, _scaled(net.log_prior + _log_likelihoods(net, known).sum(axis=0))


def _each_once(tables: Tables, answers: Sequence[Answer]) -> None:
    names: set[str] = set()
    for answer in answers:
        found: Finding = tables.finding(answer.finding)
        if found.id in names:
            raise Contradiction([found.says], phrase("it is answered twice; give one answer"))
        names.add(found.id)


def _log_likelihoods(net: Network, answers: Sequence[Answer]) -> NDArray[np.float64]:
    """Return the logarithm of each answer's likelihood, answers x explanations."""
    if not answers:
        return np.zeros((0, len(net.log_prior)))
    shown = net.shown[:, [net.column[answer.finding] for answer in answers]].T
    yes = np.array([[answer.yes] for answer in answers], dtype=float)
    logs: NDArray[np.float64] = np.log(yes * shown + (1.0 - yes) * (1.0 - shown))
    return logs


def _scaled(logs: NDArray[np.float64]) -> NDArray[np.float64]:
    chance: NDArray[np.float64] = np.exp(logs - np.logaddexp.reduce(logs))
    return chance


def _log_odds(chance: NDArray[np.float64], net: Network) -> NDArray[np.float64]:
    """Return the log odds of every cause; both chances summed, since 1 less a chance near 1 has no digits left."""
    odds: NDArray[np.float64] = np.log(chance @ net.at_work) - np.log(chance @ (1.0 - net.at_work))
    return odds


def _together(net: Network, chance: NDArray[np.float64]) -> tuple[Together, ...]:
    several = np.flatnonzero(net.at_work.sum(axis=1) > 1)
    best = several[np.argsort(-chance[several], kind="stable")][:3]
    return tuple(
        Together(tuple(net.tables.causes[k] for k in np.flatnonzero(net.at_work[row])), float(chance[row]))
        for row in best
    )


def _paid(tables: Tables, answers: Sequence[Answer], paid: Iterable[str]) -> frozenset[str]:
    """Return the setups that are done: those told, and those of every check a person has answered."""
    done = {tables.setup(name).id for name in paid}
    for name in _begun(tables, answers):
        done |= set(tables.check(name).setups)
    return frozenset(done)


def _begun(tables: Tables, answers: Sequence[Answer]) -> frozenset[str]:
    """Return the checks of which a person has answered something."""
    by_hand = {answer.finding for answer in answers if not answer.source and answer.yes is not None}
    return frozenset(check.id for check in tables.checks if by_hand & set(check.findings))
