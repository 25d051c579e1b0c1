"""Do the readings fit together: outlying readings, their agreement, and least squares without priors."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.phrase import phrase
from sparkout.core.reel.explanations import FAULTS
from sparkout.core.reel.parameters import BARREL, CONE, FIRST_BLADE, FRAME_OUT, KNIFE_BOW, MEAN_RADIUS
from sparkout.core.reel.weighing import UNEVEN

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.posterior import Posterior

_RANK = 1e-9
_UNTESTABLE = 1e-12
_FREES = dict(zip(FAULTS[:4], (CONE, BARREL, FRAME_OUT, KNIFE_BOW), strict=True))


@dataclass(frozen=True, slots=True)
class Consistency:
    """How the readings agree under one explanation: chi-squared, degrees of freedom, chance of a larger chi-squared.

    `birge_ratio` sqrt(chi²/dof) well above 1 says that some reading is worse than its stated uncertainty, or that the
    reel has a shape the model lacks; None without spare readings. A note, never used to widen anything.
    """

    chi_squared: float
    degrees: int
    probability: float | None
    birge_ratio: float | None


@dataclass(frozen=True, slots=True, eq=False)
class LeastSquares:
    """Generalised least squares with no prior on what the explanation frees (JCGM 100): estimate and covariance.

    `names` are the unit's parameters it frees. When the readings do not determine them all, `undetermined` names those
    that are not, and estimate and covariance are None.
    """

    names: tuple[str, ...]
    estimate: NDArray[np.float64] | None
    covariance: NDArray[np.float64] | None
    undetermined: tuple[str, ...]
    chi_squared: float
    degrees: int


def left_out(posterior: Posterior, values: NDArray[np.float64], alternative: int, place: int) -> NDArray[np.float64]:
    """Standardised residual of each reading against what all the others say of it, shape (n,).

    Equation: with C = 1 + B B' the covariance of the whitened readings y, [C^-1 y]_i / sqrt([C^-1]_ii), which is the
    reading less its prediction from the rest over the standard deviation of that difference. A reading that nothing
    else says anything about gets 0.

    Source: normal linear model, own working; checked in the tests by leaving each reading out.
    """
    columns = posterior.whitened(place) @ posterior.coordinates(alternative)
    y = posterior.surprises(values[None])[0]
    q = np.linalg.qr(np.vstack([columns, np.eye(columns.shape[1])]))[0][: len(y)]
    spare = 1.0 - np.einsum("ip,ip->i", q, q)
    residual = y - q @ (q.T @ y)
    tested = spare > _UNTESTABLE
    standardised = np.zeros(len(y))
    standardised[tested] = residual[tested] / np.sqrt(spare[tested])
    return standardised


def limit_of_surprise(count: int, level: float) -> float:
    """How many standard deviations any of `count` readings may be off before the chance of it falls below `level`.

    Equation: Phi^-1(1 - level/(2 count)), the Bonferroni bound, two-sided. Source: common statistical practice.

    Examples
    --------
    >>> round(limit_of_surprise(1, 0.05), 2), round(limit_of_surprise(50, 0.05), 2)
    (1.96, 3.29)
    """
    from scipy.special import ndtri

    return -float(ndtri(level / (2.0 * max(count, 1))))


def least_squares(
    posterior: Posterior, values: NDArray[np.float64], explanation: int, alternative: int, place: int
) -> LeastSquares:
    """Generalised least-squares estimate under one explanation, where the readings determine it.

    Equation: y = X beta + noise with covariance V: beta = (X' V^-1 X)^-1 X' V^-1 y, covariance (X' V^-1 X)^-1; free are
    the mean radius, the faults of the explanation and every arbitrary zero; V holds each reading's u, shared
    calibrations and the small departures that a sound part has. Solved by orthogonal projection.

    References
    ----------
    JCGM 100:2008 (least squares with correlated input, as in H.3 for the straight line); Aitken's generalised least
    squares, from memory.
    """
    white, scaled = posterior.whitened(place), posterior.coordinates(alternative)
    flat = _flat_columns(posterior, explanation, alternative)
    width = np.linalg.norm(scaled, axis=0)
    directions = scaled / np.where(width > 0.0, width, 1.0)
    known = (~flat) & (width > 0.0)
    y = posterior.surprises(values[None])[0]
    through = white @ directions[:, flat]
    spread = white @ scaled[:, known]
    size = spread.shape[1]
    q = np.linalg.qr(np.vstack([spread, np.eye(size)]), mode="complete")[0][: len(y), size:]
    seen, shown = q.T @ through, q.T @ y
    norms = np.linalg.norm(through, axis=0)
    norms[norms == 0.0] = 1.0
    u, s, vt = np.linalg.svd(seen / norms, full_matrices=True)
    rank = int((s > _RANK * max(1.0, s.max(initial=0.0))).sum())
    part = u[:, :rank].T @ shown
    residual = shown - u[:, :rank] @ part
    names, unit = _free_names(posterior, flat)
    lost = (np.abs(vt[rank:]) > 1e-6).any(axis=0)
    undetermined = tuple(dict.fromkeys(name for name, gone in zip(names, lost, strict=True) if gone))
    estimate = covariance = None
    lines = np.flatnonzero((np.abs(directions[:, flat]) > 0.0).any(axis=1) & unit)
    if not undetermined:
        root = (vt[:rank].T / s[:rank]) / norms[:, None]
        back = directions[lines][:, flat] @ root
        estimate, covariance = posterior.prior_mean[lines] + back @ part, back @ back.T
    every = posterior.design.parameters.names
    return LeastSquares(
        tuple(every[i] for i in lines), estimate, covariance, undetermined, float(residual @ residual), len(y) - rank
    )


def consistency(fit: LeastSquares) -> Consistency:
    """Chi-squared test of the readings against each other under one explanation.

    Equation: chi² of the least-squares residuals on n - rank degrees; probability of a larger one by chance.
    Source: JCGM 100 (least squares); the ratio sqrt(chi²/dof) is Birge's, from memory.
    """
    from scipy.special import chdtrc

    if fit.degrees <= 0:
        return Consistency(fit.chi_squared, 0, None, None)
    chance = float(chdtrc(fit.degrees, fit.chi_squared))
    return Consistency(fit.chi_squared, fit.degrees, chance, (fit.chi_squared / fit.degrees) ** 0.5)


def _flat_columns(posterior: Posterior, explanation: int, alternative: int) -> NDArray[np.bool_]:
    """Which coordinates the explanation frees, (P,) booleans over the columns of `coordinates`."""
    chosen = posterior.faults[explanation]
    flat = np.zeros(posterior.design.parameters.count, dtype=np.bool_)
    flat[MEAN_RADIUS] = True
    for fault, column in _FREES.items():
        flat[column] = fault in chosen
    flat[KNIFE_BOW + 1 : FIRST_BLADE] = "shaft bent" in chosen
    blades = posterior.design.parameters.blade_count
    nuisances = FIRST_BLADE + blades - 1
    flat[FIRST_BLADE:nuisances] = posterior.blade[alternative] == UNEVEN
    flat[nuisances:-1] = posterior.design.free
    flat[-1] = posterior.blade[alternative] >= 0
    return flat


def _free_names(posterior: Posterior, flat: NDArray[np.bool_]) -> tuple[list[str], NDArray[np.bool_]]:
    """A name for every free coordinate, and which named parameters belong to the unit."""
    parameters = posterior.design.parameters
    named = list(parameters.names[:FIRST_BLADE])
    named += ["blade heights"] * (parameters.blade_count - 1)
    named += [*parameters.nuisances, phrase("height of the odd blade")]
    unit = np.arange(parameters.count) < parameters.of_the_reel
    return [named[i] for i in np.flatnonzero(flat)], unit
