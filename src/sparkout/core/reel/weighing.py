"""Readings weighed: which explanation, place of contact and odd blade, and what each makes of the reel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.reel.resting import log_quadrant, shape_rows, wedges

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.posterior import Posterior

NO_BLADE, UNEVEN = -1, -2

_NEGLIGIBLE = 25.0
"""Log weight below the best at which the place of contact is no longer asked about."""


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """M sets of values weighed: log weights and chi-squared of the readings, both (A, K, M).

    `rest` (H, K, M, m) are the readings whitened by each base, `heights` the odd blades' in standard units.
    """

    posterior: Posterior
    rest: NDArray[np.float64]
    heights: NDArray[np.float64]
    logs: NDArray[np.float64]
    chi_squared: NDArray[np.float64]

    def shares(self) -> NDArray[np.float64]:
        """Weights of all components, (A, K, M), summing to one over A and K."""
        scaled: NDArray[np.float64] = np.exp(self.logs - self.logs.max(axis=(0, 1)))
        scaled /= scaled.sum(axis=(0, 1))
        return scaled

    def log_evidence(self) -> NDArray[np.float64]:
        """Log marginal likelihood of the readings under each explanation, (M, H), natural, values in mm."""
        post = self.posterior
        out = np.empty((self.logs.shape[2], len(post.faults)))
        for h in range(len(post.faults)):
            out[:, h] = np.logaddexp.reduce(self.logs[post.owner == h], axis=(0, 1))
        return out - post.log_prior

    def weights(self) -> NDArray[np.float64]:
        """Weight of each explanation, (M, H)."""
        shares = self.shares().sum(axis=1)
        return np.stack([shares[self.posterior.owner == h].sum(axis=0) for h in range(len(self.posterior.faults))], 1)

    def mean(self, alternative: int, place: int, draw: int = 0) -> NDArray[np.float64]:
        """Posterior mean of the named parameters, (P,), under one alternative at one place of contact."""
        post, base = self.posterior, self.posterior.base[alternative]
        mean: NDArray[np.float64] = post.prior_mean + post.factor[base, place] @ self.rest[base, place, draw]
        i = alternative - len(post.faults)
        return mean if i < 0 else mean + post.odd.shift[i, place] * self.heights[i, place, draw]

    def components(self, rows: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Means (A, K, Q, M) and variances (A, K, Q) of rows . parameters, the prior mean taken off.

        Rows (Q, P), or (K, Q, P) when they depend on the place of contact.
        """
        post = self.posterior
        rows = np.broadcast_to(rows, (len(post.places), *rows.shape[-2:]))
        means = ((rows @ post.factor) @ self.rest.transpose(0, 1, 3, 2))[post.base]
        variances = ((rows @ post.covariances) * rows).sum(axis=3)[post.base]
        shift = np.einsum("kqp,akp->akq", rows, post.odd.shift)
        means[len(post.faults) :] += shift[..., None] * self.heights[:, :, None]
        variances[len(post.faults) :] += shift * shift / post.odd.squared[..., None]
        return means, np.maximum(variances, 0.0)

    def along(self, rows: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Weights (M, H), means (M, H, Q) and standard deviations of rows . parameters, rows (Q, P)."""
        post, shares = self.posterior, self.shares()
        means, variances = self.components(rows)
        weights = np.empty((len(post.faults), shares.shape[2]))
        mixed = np.empty((len(post.faults), len(rows), shares.shape[2]))
        squares = np.empty_like(mixed)
        for h in range(len(post.faults)):
            mine = post.owner == h
            part = shares[mine]
            weights[h] = part.sum(axis=(0, 1))
            part = part / np.maximum(weights[h], 1e-300)
            mixed[h] = np.einsum("akm,akqm->qm", part, means[mine])
            away = means[mine] - mixed[h]
            squares[h] = np.einsum("akm,akqm->qm", part, away * away + variances[mine][..., None])
        centre = (rows @ post.prior_mean)[:, None]
        return weights.T, (mixed + centre).transpose(2, 0, 1), np.sqrt(squares).transpose(2, 0, 1)

    def moments(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Weights (H,), means (H, P), covariances (H, P, P) of the first set of values, alternatives merged."""
        post = self.posterior
        first = len(post.faults)
        means = (post.factor @ self.rest[:, :, 0, :, None])[..., 0][post.base]
        means[first:] += post.odd.shift * self.heights[:, :, :1]
        shares = self.shares()[:, :, 0]
        weights = np.array([shares[post.owner == h].sum() for h in range(first)])
        merged = np.empty((first, means.shape[2]))
        covariances = np.empty((*merged.shape, means.shape[2]))
        for h in range(first):
            mine = np.flatnonzero(post.owner == h)
            part = _relative(self.logs[mine, :, 0])
            merged[h] = np.einsum("ak,akp->p", part, means[mine])
            away = ((means[mine] - merged[h]) * np.sqrt(part)[..., None]).reshape(-1, means.shape[2])
            covariances[h] = away.T @ away + np.einsum("k,kpq->pq", part[0], post.covariances[h])
            if mine.size > 1:
                base, odd = post.base[mine[1]], mine[1:] - first
                spread = np.sqrt(part[1:] / post.odd.squared[odd])[..., None] * post.odd.shift[odd]
                spread = spread.reshape(-1, means.shape[2])
                within = np.einsum("k,kpq->pq", part[1:].sum(axis=0), post.covariances[base])
                covariances[h] += within + spread.T @ spread
        return weights, merged + post.prior_mean, covariances

    def leading(self, explanation: int) -> tuple[int, int]:
        """The heaviest alternative and place of contact of one explanation, for the first set of values."""
        mine = np.flatnonzero(self.posterior.owner == explanation)
        alternative, place = np.unravel_index(np.argmax(self.logs[mine, :, 0]), (mine.size, self.logs.shape[1]))
        return int(mine[alternative]), int(place)

    def ask_where_it_touches(self) -> None:
        """Add, in place, the log chance that the least gap really is where each component takes it."""
        post = self.posterior
        count = post.design.parameters.count
        rows = wedges() @ shape_rows(count)
        means = self.components(rows)[0]
        spread = (rows @ post.covariances @ rows.transpose(0, 2, 1))[post.base]
        shift = np.einsum("kip,akp->aki", rows, post.odd.shift)
        widen = shift[..., :, None] * shift[..., None, :] / post.odd.squared[..., None, None]
        spread[len(post.faults) :] += widen
        a, k, m = np.nonzero(self.logs > self.logs.max(axis=(0, 1)) - _NEGLIGIBLE)
        self.logs[a, k, m] += log_quadrant(means[a, k, :, m], spread[a, k])


def _relative(logs: NDArray[np.float64]) -> NDArray[np.float64]:
    scaled: NDArray[np.float64] = np.exp(logs - logs.max())
    scaled /= scaled.sum()
    return scaled
