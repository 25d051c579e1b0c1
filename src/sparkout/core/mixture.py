"""Several explanations at once: a mixture of Gaussians over one parameter vector."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.crossing import crossing
from sparkout.core.errors import OutOfRange, Refusal, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class MixedQuantity:
    """One quantity under H explanations: weights, means and standard deviations, each (H,)."""

    weights: NDArray[np.float64]
    means: NDArray[np.float64]
    sds: NDArray[np.float64]

    def measured(self) -> Measured:
        """Return the overall mean and standard deviation (law of total variance)."""
        mean = float(self.weights @ self.means)
        variance = float(self.weights @ (self.sds**2 + (self.means - mean) ** 2))
        return Measured(mean, variance**0.5)

    def below(self, level: float) -> float:
        """Return the probability that the quantity is at most `level`."""
        from scipy.special import ndtr

        gap = level - self.means
        if self.sds.min() > 0.0:
            return float(self.weights @ ndtr(gap / self.sds))
        spread = self.sds > 0.0
        shares = np.where(gap >= 0.0, 1.0, 0.0)
        shares[spread] = ndtr(gap[spread] / self.sds[spread])
        return float(self.weights @ shares)

    def quantile(self, probability: float) -> float:
        """Return the level that the quantity stays below with this probability (`below` turned round).

        It lies between the least and the largest of what each explanation would answer alone.

        Raises
        ------
        OutOfRange
            When the probability is outside 1e-9 to 1 - 1e-9.

        Examples
        --------
        >>> one = MixedQuantity(np.array([1.0]), np.array([2.0]), np.array([0.5]))
        >>> round(one.quantile(0.975), 4)
        2.98
        """
        within("probability", probability, 1e-9, 1.0 - 1e-9)
        weights, means, sds = (np.asarray(a, np.float64).tobytes() for a in (self.weights, self.means, self.sds))
        return _quantile(weights, means, sds, probability)

    def _below(self) -> Callable[[float], float]:
        """Return `below` with what does not change from call to call done once."""
        from scipy.special import ndtr

        weights, means, sds = self.weights, self.means, self.sds
        return self.below if sds.min() <= 0.0 else lambda level: float(weights @ ndtr((level - means) / sds))

    def interval(self, coverage: float = 0.95) -> tuple[float, float]:
        """Return the interval with equal probability outside on either side."""
        within("coverage", coverage, 0.0, 0.999999, above=True)
        tail = (1.0 - coverage) / 2.0
        return self.quantile(tail), self.quantile(1.0 - tail)


@lru_cache(256)
def _quantile(weights: bytes, means: bytes, sds: bytes, probability: float) -> float:
    """Remembered by everything that goes in: one quantity is asked for by verdict, drawing and text."""
    from scipy.special import ndtri

    mixed = MixedQuantity(*(np.frombuffer(each) for each in (weights, means, sds)))
    alone = mixed.means + ndtri(probability) * mixed.sds
    low, high = float(alone.min()), float(alone.max())
    if low == high:
        return low
    room = 1e-6 * (high - low + float(mixed.sds.max()))  # for what rounding takes at either end
    return crossing(mixed._below(), low - room, high + room, probability)


@dataclass(frozen=True, slots=True)
class GaussianMixture:
    """Weights (H,), means (H, P) and covariances (H, P, P) of H explanations over P shared parameters."""

    weights: NDArray[np.float64]
    means: NDArray[np.float64]
    covariances: NDArray[np.float64]

    def __post_init__(self) -> None:
        explanations, parameters = self.means.shape
        if self.weights.shape != (explanations,) or self.covariances.shape != (explanations, parameters, parameters):
            raise Refusal(
                f"weights {self.weights.shape}, means {self.means.shape} and covariances {self.covariances.shape} "
                "do not describe the same explanations; wanted: (H,), (H, P) and (H, P, P)"
            )
        total = float(self.weights.sum())
        if not abs(total - 1.0) <= 1e-6 or bool((self.weights < 0.0).any()):
            raise OutOfRange("weights", total, phrase("none negative, sum 1"))

    def along(self, row: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Mean and standard deviation of the linear quantity row . parameters under each explanation, (H,), (H,)."""
        means = self.means @ row
        variances = np.einsum("i,hij,j->h", row, self.covariances, row)
        return means, np.sqrt(np.maximum(variances, 0.0))

    def quantity(self, row: NDArray[np.float64], constant: float = 0.0) -> MixedQuantity:
        """Return row . parameters + constant as one quantity under all explanations."""
        means, sds = self.along(row)
        return MixedQuantity(self.weights, means + constant, sds)

    def measured(self, row: NDArray[np.float64]) -> Measured:
        """Overall mean and standard deviation of row . parameters (law of total variance)."""
        return self.quantity(row).measured()

    def updated(self, row: NDArray[np.float64], reading: float, u: float) -> GaussianMixture:
        """Return what is known after one reading = row . parameters + N(0, u^2), explanations reweighed.

        Equation: per explanation with s^2 = row C row + u^2 and gain K = C row / s^2:
        mean + K (reading - row . mean), C - K row C; weight proportional to weight x N(reading; row . mean, s^2).

        Raises
        ------
        OutOfRange
            When u is not above zero or the reading is not finite.

        Examples
        --------
        >>> before = GaussianMixture(np.array([1.0]), np.array([[0.0]]), np.array([[[1.0]]]))
        >>> after = before.updated(np.array([1.0]), 2.0, 1.0)
        >>> float(after.means[0, 0]), float(after.covariances[0, 0, 0])
        (1.0, 0.5)

        References
        ----------
        Own working: the normal conditional distribution, one reading at a time.
        """
        within("reading", reading)
        within("u", u, 0.0, above=True)
        carried = self.covariances @ row
        variances = carried @ row + u * u
        surprise = reading - self.means @ row
        with np.errstate(divide="ignore"):
            logs = np.log(self.weights) - 0.5 * (surprise**2 / variances + np.log(variances))
        weights = np.exp(logs - logs.max())
        gains = carried / variances[:, None]
        means = self.means + gains * surprise[:, None]
        covariances = self.covariances - gains[:, :, None] * carried[:, None, :]
        return GaussianMixture(weights / weights.sum(), means, covariances)

    def draw(self, count: int, generator: np.random.Generator) -> NDArray[np.float64]:
        """Draw parameter vectors, shape (count, P)."""
        which = generator.choice(len(self.weights), size=count, p=self.weights / self.weights.sum())
        draws = np.empty((count, self.means.shape[1]))
        for h in np.unique(which):
            chosen = which == h
            values, vectors = np.linalg.eigh(self.covariances[h])
            # the symmetric root: equal eigenvalues leave the vectors free, and rounding would choose among them
            root = (vectors * np.sqrt(np.maximum(values, 0.0))) @ vectors.T
            normal = generator.standard_normal((int(chosen.sum()), root.shape[0]))
            draws[chosen] = self.means[h] + normal @ root
        return draws
