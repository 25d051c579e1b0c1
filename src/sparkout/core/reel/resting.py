"""Where a resting knife touches: the gap's shape as a parabola b t + q t², and which station has its least.

Five places are considered: both ends, the quarters and the middle. For each, the gap readings are linear (gap less the
gap where the knife touches), and the place is right with the probability that b and q lie in its wedge. The wedges
share out the (b, q) plane, so the weights of the five places need no prior of their own. A touch between two
places is misjudged by at most q/16.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.reel.parameters import BARREL, CONE, FRAME_OUT, KNIFE_BOW

if TYPE_CHECKING:
    from numpy.typing import NDArray

PLACES = np.array([-1.0, -0.5, 0.0, 0.5, 1.0])
PLACE_NAMES = ("left end", "left quarter", "middle", "right quarter", "right end")

_LEAST_LOG = -46.0


def shape_rows(count: int) -> NDArray[np.float64]:
    """Rows of b and q in gap(t) = b t + q t² + constant: b = frame out/2 - cone/4, q = barrel - knife bow, (2, count).

    Source: definition (docs/decisions/0002-definitions.md), the terms of knife line less mean radius in t and t².
    """
    rows = np.zeros((2, count))
    rows[0, FRAME_OUT], rows[0, CONE] = 0.5, -0.25
    rows[1, BARREL], rows[1, KNIFE_BOW] = 1.0, -1.0
    return rows


def wedges() -> NDArray[np.float64]:
    """For each place the 2 x 2 matrix W such that it has the least gap of all places when W (b, q) >= 0, (5, 2, 2).

    gap(t) - gap(c) = (t - c)(b + q (t + c)), so the neighbours decide, and at an end the neighbour and the other end.
    """
    found = np.empty((PLACES.size, 2, 2))
    for i, c in enumerate(PLACES):
        before = PLACES[i - 1] if i > 0 else PLACES[-1]
        after = PLACES[i + 1] if i < PLACES.size - 1 else PLACES[0]
        found[i, 0] = np.sign(before - c) * np.array([1.0, before + c])
        found[i, 1] = np.sign(after - c) * np.array([1.0, after + c])
    return found


def log_quadrant(means: NDArray[np.float64], covariances: NDArray[np.float64]) -> NDArray[np.float64]:
    """Log probability that both of a pair of normal quantities are at least zero.

    Equation: Phi(h)/2 + Phi(k)/2 - T(h, (k/h - rho)/sqrt(1-rho²)) - T(k, (h/k - rho)/sqrt(1-rho²)) - [1/2 if hk < 0],
    with h, k the means over their standard deviations and T Owen's function. Floored at exp(-46).

    Parameters
    ----------
    means: shape (..., 2). covariances: shape broadcasting to (..., 2, 2).

    Examples
    --------
    >>> float(np.exp(log_quadrant(np.zeros(2), np.array([[1.0, 0.5], [0.5, 1.0]]))).round(6))
    0.333333

    References
    ----------
    Owen, D. B., Tables for computing bivariate normal probabilities, Ann. Math. Statist. 27 (1956) (from memory);
    checked in the tests against scipy's multivariate normal and against the orthant value 1/4 + asin(rho)/(2 pi).
    """
    from scipy.special import ndtr, owens_t

    tiny = 1e-9
    variances = np.maximum(np.einsum("...ii->...i", covariances), tiny**2)
    sds = np.sqrt(variances)
    rho = np.clip(covariances[..., 0, 1] / (sds[..., 0] * sds[..., 1]), -1.0 + 1e-12, 1.0 - 1e-12)
    scaled = np.clip(means / sds, -37.0, 37.0)
    scaled = np.where(np.abs(scaled) < tiny, tiny, scaled)
    h, k = scaled[..., 0], scaled[..., 1]
    root = np.sqrt((1.0 - rho) * (1.0 + rho))
    chance = 0.5 * (ndtr(h) + ndtr(k)) - owens_t(h, (k / h - rho) / root) - owens_t(k, (h / k - rho) / root)
    chance = np.where(h * k < 0.0, chance - 0.5, chance)
    logs: NDArray[np.float64] = np.log(np.maximum(chance, np.exp(_LEAST_LOG)))
    return logs
