"""Cases drawn from the tables, and a search for the cause: by the next check worth doing, or down a list."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.faults.diagnosis import Answer, explained
from sparkout.core.faults.network import network_of
from sparkout.core.faults.next_check import next_checks

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.core.faults.tables import Check, Tables


@dataclass(frozen=True, slots=True)
class DrawnCase:
    """A unit with known faults: the causes at work, the findings that are so, and the one complained of."""

    causes: frozenset[str]
    so: frozenset[str]
    complaint: str

    def answers(self, check: Check) -> list[Answer]:
        """Return what a check shows of it."""
        return [Answer(name, float(name in self.so)) for name in check.findings]


@dataclass(frozen=True, slots=True)
class Search:
    """How a search ended: the checks done, the minutes they took, the leading cause then and its chance."""

    checks: int
    minutes: float
    leads: str
    chance: float


def drawn_case(tables: Tables, generator: np.random.Generator) -> DrawnCase:
    """Return a case drawn from the tables.

    A set of causes is drawn by its chance, then every finding by its chance given the set. The complaint is a finding
    that is seen, chosen blindly; the case is kept when it is so, else drawn anew. (Choosing among those that are so
    would make findings of rich causes rarer complaints than the ranking takes them for.)

    Examples
    --------
    >>> from sparkout.core.faults.reading import usual_tables
    >>> case = drawn_case(usual_tables(), np.random.default_rng(3))
    >>> case.complaint in case.so
    True

    References
    ----------
    Rejection sampling; own working.
    """
    net = network_of(tables)
    prior = np.exp(net.log_prior)
    seen = [finding.id for finding in tables.seen]
    while True:
        row = generator.choice(len(prior), p=prior / prior.sum())
        so = generator.random(net.shown.shape[1]) < net.shown[row]
        complaint = seen[generator.integers(len(seen))]
        if so[net.column[complaint]]:
            causes = (tables.causes[k].id for k in np.flatnonzero(net.at_work[row]))
            names = (finding.id for finding, yes in zip(tables.findings, so, strict=True) if yes)
            return DrawnCase(frozenset(causes), frozenset(names), complaint)


def search(tables: Tables, case: DrawnCase, sure: float, order: Sequence[Check] | None = None) -> Search:
    """Return how the cause of a case is searched for, until one cause is `sure` or no check is left.

    Without an `order` each check is the best of `next_checks`; with one, the list is gone down. The ranking, the
    complaint known beforehand and the rule to stop are the same for both.

    Examples
    --------
    >>> from sparkout.core.faults.reading import usual_tables
    >>> case = drawn_case(usual_tables(), np.random.default_rng(3))
    >>> search(usual_tables(), case, 0.9).checks < search(usual_tables(), case, 0.9, usual_tables().all_checks).checks
    True

    References
    ----------
    Own working.
    """
    answers = {case.complaint: Answer(case.complaint, 1.0)}
    listed = iter(order or ())
    paid: set[str] = set()
    done, minutes = 0, 0.0
    while True:
        net, chance = explained(tables, tuple(answers.values()))
        marginal = chance @ net.at_work
        leads = int(marginal.argmax())
        check = None
        if marginal[leads] < sure:
            if order is None:
                check = next((each.check for each in next_checks(net, chance, answers, frozenset(paid), 1)), None)
            else:
                check = next((each for each in listed if set(each.findings) - set(answers)), None)
        if check is None:
            return Search(done, minutes, tables.causes[leads].id, float(marginal[leads]))
        done += 1
        before = sum(tables.setup(name).minutes for name in check.setups if name not in paid)
        minutes += check.minutes + tables.minutes_between + before
        paid |= set(check.setups)
        answers.update((answer.finding, answer) for answer in case.answers(check) if answer.finding not in answers)
