"""The network behind fault finding: which causes may be at work together, and what they then show.

Each explanation is a set of causes at work. With w_k the weight of cause k and m_n the chance that n are at work,

    P(set) = m_n prod(w_k in set) / (sum of that product over all sets of n causes),

and what is so follows the noisy OR: finding j is absent when neither a cause at work nor anything else shows it,

    P(j absent | set) = (1 - l_j) prod(1 - s_kj, k in set),

l_j how often it is so without any of the causes, s_kj how often cause k alone shows it.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import within

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sparkout.core.faults.tables import Tables


@dataclass(frozen=True, slots=True, eq=False)
class Network:
    """Explanations in rows: which causes are in each, logarithm of its chance beforehand, chance of each finding."""

    tables: Tables
    at_work: NDArray[np.float64]
    """1 where the cause (column) is in the explanation (row), else 0."""
    log_prior: NDArray[np.float64]
    shown: NDArray[np.float64]
    """P(finding is so | explanation), explanations x findings."""
    unsure: NDArray[np.float64]
    """Entropy of each finding given the explanation, bits."""
    column: dict[str, int]
    """Column of each finding by its id."""


def shown_by(strengths: Sequence[float], without: float = 0.0) -> float:
    """Return the chance that a finding is so when several causes are at work at once (noisy OR).

    Equation: 1 - (1 - without) prod(1 - s).

    Parameters
    ----------
    strengths
        How often each of the causes at work shows it alone, 0 to 1.
    without
        How often it is so with none of them, 0 to 1.

    Raises
    ------
    OutOfRange
        When one of them is not within 0 to 1.

    Validity: causes that show the finding independently of each other; none of them hides it.

    Examples
    --------
    >>> round(shown_by([0.4, 0.8]), 2)
    0.88

    References
    ----------
    J. Pearl, Probabilistic Reasoning in Intelligent Systems (1988), section 4.3; S. Russell and P. Norvig, Artificial
    Intelligence, "fever" table (tests/published/test_noisy_or_fever.py).
    """
    absent = 1.0 - within("without", without, 0.0, 1.0)
    for number, strength in enumerate(strengths):
        absent *= 1.0 - within(f"strengths[{number}]", strength, 0.0, 1.0)
    return 1.0 - absent


@lru_cache(8)
def network_of(tables: Tables) -> Network:
    """Return the network of some tables: every set of at most as many causes as `how_many` allows.

    Examples
    --------
    >>> from sparkout.core.faults.reading import usual_tables
    >>> net = network_of(usual_tables())
    >>> bool(abs(np.exp(net.log_prior).sum() - 1) < 1e-12)
    True

    References
    ----------
    Pearl 1988 (noisy OR); the prior on the number of causes at once is our own choice.
    """
    count = len(tables.causes)
    sets = [chosen for size in range(len(tables.how_many)) for chosen in combinations(range(count), size)]
    at_work = np.zeros((len(sets), count))
    for row, chosen in enumerate(sets):
        at_work[row, list(chosen)] = 1.0
    column = {finding.id: number for number, finding in enumerate(tables.findings)}
    log_not = np.zeros((count, len(column)))
    for number, cause in enumerate(tables.causes):
        for name, strength in cause.shows:
            log_not[number, column[name]] = np.log1p(-strength)
    without = np.array([finding.without for finding in tables.findings])
    shown = 1.0 - (1.0 - without) * np.exp(at_work @ log_not)
    return Network(tables, at_work, _log_prior(tables, at_work), shown, entropy_of_yes(shown), column)


def entropy_of_yes(chance: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return Shannon's entropy of yes or no, bits.

    Equation: -(p log2 p + (1 - p) log2(1 - p)), 0 where p is 0 or 1.

    Examples
    --------
    >>> entropy_of_yes(np.array([0.5, 1.0])).tolist()
    [1.0, 0.0]

    References
    ----------
    C. E. Shannon (1948).
    """
    with np.errstate(divide="ignore", invalid="ignore"):
        bits = -(chance * np.log2(chance) + (1.0 - chance) * np.log2(1.0 - chance))
    return np.where((chance <= 0.0) | (chance >= 1.0), 0.0, bits)


def _log_prior(tables: Tables, at_work: NDArray[np.float64]) -> NDArray[np.float64]:
    logs = at_work @ np.log([cause.weight for cause in tables.causes])
    sizes = at_work.sum(axis=1).astype(int)
    for size, share in enumerate(tables.how_many):
        of_size = sizes == size
        logs[of_size] += np.log(share) - np.logaddexp.reduce(logs[of_size])
    return logs
