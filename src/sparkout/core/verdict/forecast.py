"""What the verdict would be after each possible value of each possible reading, and its expectation."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.verdict.quadrature import panel_nodes

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.mixture import GaussianMixture
    from sparkout.core.verdict.limit import Limit

    Floats = NDArray[np.float64]
    Indices = NDArray[np.intp]

_CORE = np.array([-6.5, -3.5, -2.0, -1.0, 0.0, 1.0, 2.0, 3.5, 6.5])
_STEP = np.array([-4.0, -1.5, 0.0, 1.5, 4.0])
_HEARD = 1e-3  # explanations lighter than this get no panel ends of their own
_THIN = 0.7  # panel ends closer than this share of their own scale are merged
_MANY = 30  # panels per reading; fewer are integrated at the higher orders
_ORDERS = {"few": (6, 3), "many": (3, 2)}  # nodes per panel, and per piece of a refined one
_PIECES = 3
_REFINEMENTS = 3
_BLOCK = 1024  # nodes at a time, so that the work stays in the cache
_UNHEARD = 1e-8  # explanations lighter than this are left out: they cannot move an expectation by more


@dataclass(frozen=True, slots=True)
class Forecast:
    """C readings under H explanations: predictive mean and spread, and the judged quantity once one is known."""

    weights: Floats  # (H,)
    expected: Floats  # (C, H) reading expected
    spread: Floats  # (C, H) its standard deviation, u included
    quantity: Floats  # (H,) mean of the judged quantity now
    gain: Floats  # (C, H) its shift per standard deviation of the reading
    left: Floats  # (C, H) its standard deviation once the reading is known
    centred: Floats  # (C, H) chance of conforming were it then centred between two limits; 1 for one limit
    lower: float
    upper: float
    risk: float
    conforming_now: float

    @classmethod
    def of(
        cls, mixture: GaussianMixture, row: Floats, constant: float, limit: Limit, rows: Floats, u: Floats
    ) -> Forecast:
        """Return the forecast of C readings, rows (C, P) with standard uncertainties u (C,)."""
        heard = mixture.weights > min(_UNHEARD, 0.5 * mixture.weights.max())
        weights, covariances = mixture.weights[heard], mixture.covariances[heard]
        weights = weights / weights.sum()
        carried = covariances @ rows.T  # (H, P, C)
        variance = np.einsum("cp,hpc->ch", rows, carried) + (u**2)[:, None]
        spread = np.sqrt(variance)
        gain = np.einsum("p,hpc->ch", row, carried) / spread
        means, sds = (each[heard] for each in mixture.along(row))
        quantity = means + constant
        floor = 1e-12 * (1.0 + np.abs(quantity).max() + sds.max())  # a quantity known exactly is a very steep step
        left = np.maximum(np.sqrt(np.maximum(sds**2 - gain**2, 0.0)), floor)
        lower = -np.inf if limit.lower is None else limit.lower
        upper = np.inf if limit.upper is None else limit.upper
        now = float(weights @ _between(quantity, np.maximum(sds, floor), lower, upper))
        half = 0.5 * (upper - lower)
        centred = _between(np.zeros_like(left), left, -half, half)
        expected = rows @ mixture.means[heard].T
        return cls(weights, expected, spread, quantity, gain, left, centred, lower, upper, limit.risk, now)


def expectations(forecast: Forecast) -> tuple[Floats, Floats, Floats]:
    """Return per reading, each (C,): expected risk, chance that a forced decision is wrong, chance of a verdict.

    Equations: integrals over the reading y of p(y) min(1 - g, g, a), p(y) min(1 - g, g), and p(y) where a verdict
    falls.
    """
    which, left, right = _panels(forecast)
    sums = np.zeros((4, forecast.expected.shape[0]))
    order, refined_order = _ORDERS["many" if which.size > _MANY * len(forecast.expected) else "few"]
    refinements = _REFINEMENTS
    while which.size:
        nodes, weights = panel_nodes(left, right, order)
        owner = np.repeat(which, order)
        density, conforming, regime = _after(forecast, nodes.ravel(), owner)
        mixed = _undecided_yet(regime.reshape(-1, order), which) & (refinements > 0)
        _add(sums, forecast.risk, owner, weights.ravel() * density, conforming, regime, ~np.repeat(mixed, order))
        which, left, right = _split(which[mixed], left[mixed], right[mixed])
        order, refinements = refined_order, refinements - 1
    return sums[1] / sums[0], sums[2] / sums[0], sums[3] / sums[0]


def _add(
    sums: Floats,
    risk: float,
    owner: Indices,
    mass: Floats,
    conforming: Floats,
    regime: NDArray[np.int8],
    kept: NDArray[np.bool_],
) -> None:
    wrong = np.minimum(conforming, 1.0 - conforming)
    decided = (regime == 0) | (regime == 3)
    owner, mass = owner[kept], mass[kept]
    for at, values in enumerate((np.ones(len(mass)), np.minimum(wrong, risk)[kept], wrong[kept], decided[kept])):
        sums[at] += np.bincount(owner, mass * values, sums.shape[1])


def _undecided_yet(regime: NDArray[np.int8], which: Indices) -> NDArray[np.bool_]:
    """Panels where the verdict changes: inside, or between them and their neighbour of the same reading."""
    mixed: NDArray[np.bool_] = (regime != regime[:, :1]).any(axis=1)
    jumps = (regime[1:, 0] != regime[:-1, -1]) & (which[1:] == which[:-1])
    mixed[1:] |= jumps
    mixed[:-1] |= jumps
    return mixed


def _split(which: Indices, left: Floats, right: Floats) -> tuple[Indices, Floats, Floats]:
    ends = left[:, None] + (right - left)[:, None] * (np.arange(_PIECES + 1) / _PIECES)
    return np.repeat(which, _PIECES), ends[:, :-1].ravel(), ends[:, 1:].ravel()


def _after(forecast: Forecast, y: Floats, owner: Indices) -> tuple[Floats, Floats, NDArray[np.int8]]:
    """Predictive density, chance of conforming and verdict after reading y of the owning candidate, each (N,)."""
    parts = [_after_block(forecast, y[at : at + _BLOCK], owner[at : at + _BLOCK]) for at in range(0, len(y), _BLOCK)]
    density, conforming, regime = (np.concatenate(part) for part in zip(*parts, strict=True))
    return density, conforming, regime


def _after_block(forecast: Forecast, y: Floats, owner: Indices) -> tuple[Floats, Floats, NDArray[np.int8]]:
    z = y[:, None] - forecast.expected[owner]
    spread = forecast.spread[owner]
    z /= spread
    share = np.exp(-0.5 * z * z)
    share *= forecast.weights / spread
    density = share.sum(axis=1)
    share /= np.maximum(density, 1e-300)[:, None]
    shifted = forecast.gain[owner]
    shifted *= z
    shifted += forecast.quantity
    inside = _between(shifted, forecast.left[owner], forecast.lower, forecast.upper)
    conforming = np.clip(np.einsum("nh,nh->n", share, inside), 0.0, 1.0)
    risk = forecast.risk
    regime = (conforming > risk).astype(np.int8) + (conforming >= 0.5) + (conforming >= 1.0 - risk)
    centred = np.einsum("nh,nh->n", share, forecast.centred[owner])
    few = np.flatnonzero((regime == 0) & (centred <= risk))
    if few.size:
        # a rejection that only says how little is known: the exception `verdict` makes
        few = few[_beyond_one_side(forecast, share[few], z[few], owner[few]) < 1.0 - risk]
        regime[few] = 1
    return density / np.sqrt(2.0 * np.pi), conforming, regime.astype(np.int8)


def _beyond_one_side(forecast: Forecast, share: Floats, z: Floats, owner: Indices) -> Floats:
    shifted, left = forecast.quantity + forecast.gain[owner] * z, forecast.left[owner]
    above = (share * _between(shifted, left, forecast.upper, np.inf)).sum(axis=1)
    below = (share * _between(shifted, left, -np.inf, forecast.lower)).sum(axis=1)
    larger: Floats = np.maximum(above, below)
    return larger


def _between(mean: Floats, sd: Floats, lower: float, upper: float) -> Floats:
    """Probability that N(mean, sd^2) lies in [lower, upper]."""
    from scipy.special import ndtr

    if np.isinf(lower):
        return np.asarray(ndtr((upper - mean) / sd))  # 1 when upper is open as well
    if np.isinf(upper):
        return np.asarray(ndtr((mean - lower) / sd))
    return np.asarray(ndtr((upper - mean) / sd) - ndtr((lower - mean) / sd))


def _panels(forecast: Forecast) -> tuple[Indices, Floats, Floats]:
    """Panels over each reading: ends about every explanation's predictive bell and where it crosses a limit."""
    heard = forecast.weights >= min(_HEARD, forecast.weights.max())
    expected, spread = forecast.expected[:, heard], forecast.spread[:, heard]
    gain, left = forecast.gain[:, heard], forecast.left[:, heard]
    ends = [expected[:, :, None] + spread[:, :, None] * _CORE]
    scales = [np.broadcast_to(spread[:, :, None], ends[0].shape)]
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        for edge in (forecast.lower, forecast.upper):
            if np.isfinite(edge):
                crossing = expected + (edge - forecast.quantity[heard]) / gain * spread
                width = np.abs(left / gain) * spread
                ends.append(crossing[:, :, None] + width[:, :, None] * _STEP)
                scales.append(np.broadcast_to(width[:, :, None], ends[-1].shape))
    readings = len(expected)
    flat = np.concatenate([each.reshape(readings, -1) for each in ends], axis=1)
    scale = np.concatenate([each.reshape(readings, -1) for each in scales], axis=1)
    low = (expected + _CORE[0] * spread).min(axis=1)
    high = (expected + _CORE[-1] * spread).max(axis=1)
    which: list[int] = []
    cuts: list[tuple[float, float]] = []
    for c in range(readings):
        kept = _thinned(flat[c], scale[c], float(low[c]), float(high[c]))
        which += [c] * (len(kept) - 1)
        cuts += pairwise(kept)
    panels = np.array(cuts)
    return np.array(which, dtype=np.intp), panels[:, 0], panels[:, 1]


def _thinned(ends: Floats, scales: Floats, low: float, high: float) -> list[float]:
    """Panel ends from low to high in order, without those closer to the last than a share of their own scale."""
    usable = np.isfinite(ends) & np.isfinite(scales) & (ends > low) & (ends < high)
    order = np.argsort(ends[usable])
    kept = [low]
    for end, gap in zip(ends[usable][order].tolist(), (_THIN * scales[usable][order]).tolist(), strict=True):
        if end - kept[-1] >= gap and end > kept[-1]:
            kept.append(end)
    kept.append(high)
    return kept
