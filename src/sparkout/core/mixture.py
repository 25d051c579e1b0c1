"""Several explanations at once: a mixture of Gaussians over one parameter vector."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.measured import Measured

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class GaussianMixture:
    """Weights (H,), means (H, P) and covariances (H, P, P) of H explanations over P shared parameters."""

    weights: NDArray[np.float64]
    means: NDArray[np.float64]
    covariances: NDArray[np.float64]

    def along(self, row: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Mean and standard deviation of the linear quantity row . parameters under each explanation, (H,), (H,)."""
        means = self.means @ row
        variances = np.einsum("i,hij,j->h", row, self.covariances, row)
        return means, np.sqrt(np.maximum(variances, 0.0))

    def measured(self, row: NDArray[np.float64]) -> Measured:
        """Overall mean and standard deviation of row . parameters (law of total variance)."""
        means, sds = self.along(row)
        mean = float(self.weights @ means)
        variance = float(self.weights @ (sds**2 + (means - mean) ** 2))
        return Measured(mean, variance**0.5)

    def draw(self, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
        """Draw parameter vectors, shape (count, P)."""
        which = generator.choice(len(self.weights), size=count, p=self.weights / self.weights.sum())
        draws = np.empty((count, self.means.shape[1]))
        for h in np.unique(which):
            chosen = which == h
            values, vectors = np.linalg.eigh(self.covariances[h])
            root = vectors * np.sqrt(np.maximum(values, 0.0))
            normal = generator.standard_normal((int(chosen.sum()), root.shape[0]))
            draws[chosen] = self.means[h] + normal @ root.T
        return draws
