"""Lines with random intercept and slope at nested levels: the criterion of restricted maximum likelihood (REML).

Everything goes through one small matrix for each unit: the Gram matrix of its columns (1, t, covariates ..., y). For
intercept and slope alone those are six numbers. A random effect at a level is integrated out of the matrices of that
level in closed form (two by two), what is left is summed into the level above, and so on up to the fixed effects; on
the way the criterion's first and second derivatives come along. The way down gives best linear unbiased predictions and
their covariance. The cost of one pass is linear in the units.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough
from sparkout.core.season.each_unit import BASIS, Jet, Part, Units, solvable, solving

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Nested:
    """A fleet in parts: units within groups, groups within further groups; `rows` counts all readings."""

    parts: Sequence[Part]
    parents: tuple[Indices, ...]
    """For each level above the units, the parent of each node in the level above that; at the last level all 0."""
    rows: int
    width: int
    """Columns of the Gram matrices, y included."""

    @property
    def nodes(self) -> list[int]:
        """Return how many nodes there are above each level above the units."""
        return [*(parent.size for parent in self.parents[1:]), 1] if self.parents else []


@dataclass(frozen=True, slots=True)
class Criterion:
    """REML deviance and its derivatives by the covariances, three numbers a level, the units' first."""

    deviance: float
    gradient: Floats
    curvature: Floats


@dataclass(frozen=True, slots=True)
class Passed:
    """One pass up and down: REML deviance, and the fixed effects."""

    deviance: float
    fixed: Floats
    unscaled: Floats
    """Covariance of the fixed effects over the residual variance, (p, p)."""
    variance: float
    coefs: tuple[Floats, ...]
    """By level above the units: coefficients (p, nodes) of each node's own line."""
    covariances: tuple[Floats, ...]
    """By level above the units: their covariance over the residual variance (p, p, nodes)."""


def units_of(fleet: Nested) -> Units:
    """Return the units of all parts of a fleet."""
    nodes = fleet.parents[0].size if fleet.parents else 1
    if len(fleet.parts) == 1:
        gram, parent = fleet.parts[0].gram, fleet.parts[0].parent
    else:
        gram = np.concatenate([part.gram for part in fleet.parts], axis=2)
        parent = np.concatenate([part.parent for part in fleet.parts])
    return Units(gram, parent if fleet.parents else np.zeros(parent.size, dtype=np.intp), nodes)


def _inverse(gram: Floats, relative: Floats) -> tuple[Floats, Floats]:
    """Return M = (I + S L)⁻¹ by node (2, 2, nodes), and log|I + S L| of each."""
    det, a, b, c, d = np.array(solving(relative)[:5]) @ solvable(gram)
    return np.array([[d, -c], [-b, a]]) / det, np.log(det)


def integrated(gram: Floats, relative: Floats) -> tuple[Floats, float]:
    """Return the Gram matrices with a level's effects integrated out, S − Z'L F, and the log determinant.

    Examples
    --------
    >>> gram = np.array([[2.0, 1.0, 3.0], [1.0, 1.0, 2.0], [3.0, 2.0, 5.0]])[:, :, None]
    >>> left, logdet = integrated(gram, np.zeros((2, 2)))
    >>> bool(np.all(left == gram)), logdet
    (True, 0.0)
    """
    inverse, logs = _inverse(gram, relative)
    f = np.einsum("zyn,yjn->zjn", inverse, gram[:2])
    left = gram - np.einsum("zin,zjn->ijn", gram[:2], np.einsum("zy,yjn->zjn", relative, f))
    return 0.5 * (left + left.swapaxes(0, 1)), float(logs.sum())


def _both(made: Floats) -> Floats:
    """Return matrices and their transposes added up."""
    return made + made.swapaxes(-3, -2)


def _level(below: Jet, relative: Floats) -> Jet:
    """Return a level's matrices with its effects integrated out, derivatives by its own covariance too.

    With R = I less L F in its first two rows and q the first two rows of G_a R: G_a becomes R'G_a R, G_ab becomes
    R'G_ab R − q_a'W q_b − q_b'W q_a with W = L (I + S L)⁻¹; by its own covariance as for the units.
    """
    inverse, logs = _inverse(below.gram, relative)
    f = np.einsum("zyn,yjn->zjn", inverse, below.gram[:2])
    k, w = f[:, :2], np.einsum("zy,yxn->zxn", relative, inverse)
    lf = np.einsum("zy,yjn->zjn", relative, f)
    m, a = below.gram.shape[0], below.first.shape[0]
    r = np.repeat(np.eye(m)[:, :, None], below.gram.shape[2], axis=2)
    r[:2] -= lf
    ef = np.einsum("czy,yjn->czjn", BASIS, f)
    moved = np.einsum("aijn,jkn->aikn", below.first, r)
    q = moved[:, :2]
    first = np.concatenate([np.einsum("jin,ajkn->aikn", r, moved), -np.einsum("zin,czjn->cijn", f, ef)])
    second = np.empty((a + 3, a + 3, *below.gram.shape))
    bent = np.einsum("jin,abjkn->abikn", r, np.einsum("abijn,jkn->abikn", below.second, r))
    second[:a, :a] = bent - _both(np.einsum("azin,bzjn->abijn", q, np.einsum("zyn,bymn->bzmn", w, q)))
    mixed = -_both(np.einsum("azin,czjn->acijn", np.einsum("zyn,aymn->azmn", inverse, q), ef))
    second[:a, a:], second[a:, :a] = mixed, mixed.swapaxes(0, 1)
    second[a:, a:] = _both(np.einsum("azin,bzjn->abijn", ef, np.einsum("zyn,byjn->bzjn", k, ef)))
    s = below.first[:, :2, :2]
    ws, ke = np.einsum("zyn,ayxn->azxn", w, s), np.einsum("zyn,cyx->czxn", k, BASIS)
    msm = np.einsum("azxn,wxn->azwn", np.einsum("zyn,ayxn->azxn", inverse, s), inverse)
    curve = np.empty((a + 3, a + 3))
    curve[:a, :a] = np.einsum("zyn,abyzn->ab", w, below.second[:, :, :2, :2]) - np.einsum("azxn,bxzn->ab", ws, ws)
    curve[:a, a:] = np.einsum("czw,awzn->ac", BASIS, msm)
    curve[a:, :a] = curve[:a, a:].T
    curve[a:, a:] = -np.einsum("azxn,bxzn->ab", ke, ke)
    curve[:a, :a] += below.curve
    slope = np.concatenate([below.slope + np.einsum("azzn->a", ws), np.einsum("czzn->c", ke)])
    left = below.gram - np.einsum("zin,zjn->ijn", below.gram[:2], lf)
    return Jet(0.5 * _both(left), first, second, below.logdet + float(logs.sum()), slope, curve)


def summed(values: Floats, parent: Indices, nodes: int) -> Floats:
    """Return values (..., children) added up by parent (..., nodes)."""
    if nodes == 1:
        return np.asarray(values.sum(axis=-1, keepdims=True))
    flat = values.reshape(-1, values.shape[-1])
    to = np.arange(flat.shape[0])[:, None] * nodes + parent
    added = np.bincount(to.ravel(), flat.ravel(), flat.shape[0] * nodes)
    return np.asarray(added.reshape(*values.shape[:-1], nodes), dtype=np.float64)


def criterion(fleet: Nested, units: Jet, relative: Sequence[Floats]) -> Criterion:
    """Return the REML deviance with its derivatives, for what the units leave at `relative[0]`.

    deviance = Σ log|I + L S| + log|X'V⁻¹X| + (n − p)(1 + log 2πs²), s² and fixed effects profiled out
    (the criterion of Bates et al. 2015, J. Stat. Softw. 67(1), eq. 42, from memory).
    """
    jet = units
    for parent, one, nodes in zip(fleet.parents, relative[1:], fleet.nodes, strict=True):
        jet = _level(jet, one)
        jet = Jet(
            summed(jet.gram, parent, nodes), summed(jet.first, parent, nodes), summed(jet.second, parent, nodes),
            jet.logdet, jet.slope, jet.curve,
        )  # fmt: skip
    p, degrees = fleet.width - 1, fleet.rows - (fleet.width - 1)
    top, first, second = jet.gram[:, :, 0], jet.first[..., 0], jet.second[..., 0]
    fixed, unscaled, variance, logdet = _fixed(top, fleet.rows)
    a = first.shape[0]
    contrast = np.array([*(-fixed).tolist(), 1.0])
    weights = contrast[:, None] * (contrast / variance)
    weights[:p, :p] += unscaled  # a change G of the matrix on top changes log|X'V⁻¹X| + degrees log s² by Σ weights G
    by = first @ contrast  # (a, m)
    slope, across, x = by @ contrast, by[:, :p], unscaled @ first[:, :p, :p]
    gradient = jet.slope + first.reshape(a, -1) @ weights.ravel()
    curvature = jet.curve + (second.reshape(a * a, -1) @ weights.ravel()).reshape(a, a)
    curvature -= np.einsum("aij,bji->ab", x, x) + (2.0 / variance) * (across @ unscaled @ across.T)
    curvature -= slope[:, None] * (slope / (degrees * variance * variance))
    deviance = jet.logdet + logdet + degrees * (1.0 + math.log(2.0 * math.pi * variance))
    return Criterion(deviance, gradient, curvature)


def settled(fleet: Nested, gram: Floats, logdet: float, relative: Sequence[Floats]) -> Passed:
    """Return the way up and down the levels above the units, for the matrices (m, m, nodes) the units leave."""
    grams = []
    for parent, one, nodes in zip(fleet.parents, relative[1:], fleet.nodes, strict=True):
        grams.append(gram)
        left, log = integrated(gram, one)
        logdet += log
        gram = summed(left, parent, nodes)
    degrees = fleet.rows - (fleet.width - 1)
    fixed, unscaled, variance, determinant = _fixed(gram[:, :, 0], fleet.rows)
    deviance = logdet + determinant + degrees * (1.0 + math.log(2.0 * math.pi * variance))
    coefs, covariance = fixed[:, None], unscaled[:, :, None]
    levels: list[tuple[Floats, Floats]] = []
    for at, parent, one in zip(reversed(grams), reversed(fleet.parents), reversed(relative[1:]), strict=True):
        coefs, covariance = coefs.take(parent, axis=1), covariance.take(parent, axis=2)
        down(at, one, coefs, covariance)
        levels.insert(0, (coefs, covariance))
    return Passed(
        deviance, fixed, unscaled, variance, tuple(coefs for coefs, _ in levels), tuple(spread for _, spread in levels)
    )


def passed(fleet: Nested, relative: Sequence[Floats]) -> Passed:
    """Return REML deviance and fixed effects of a fleet for given covariances over the residual variance."""
    jet = units_of(fleet).passed(relative[0])
    return settled(fleet, jet.gram, jet.logdet, relative)


def down(gram: Floats, relative: Floats, coefs: Floats, covariance: Floats, variance: float = 1.0) -> None:
    """Put a level's own coefficients and their covariance in place of the parents', repeated for each child.

    With parents' coefficients θ (p, nodes) and covariance C (p, p, nodes), those over the residual variance:
    T θ + W S_zy and T C T' + W with W = L (I + S L)⁻¹, T = I − W S_zx, (I + L S)⁻¹ at its front; C, W times `variance`.
    """
    p, nodes = gram.shape[0] - 1, gram.shape[2]
    det, a, b, c, d, *_ = solving(relative)
    l11, l12, _, l22 = relative.ravel().tolist()
    spared = det[0]
    w11, w12, w22 = [0.0, 0.0, 0.0, spared, l11], [0.0, 0.0, -spared, 0.0, l12], [0.0, spared, 0.0, 0.0, l22]
    turned = [d, [-one for one in b], [-one for one in c], a]
    made = np.array([w11, w12, w12, w22, *turned, det]) @ solvable(gram)
    made[:8] *= 1.0 / made[8]
    w, t = made[:4].reshape(2, 2, nodes), made[4:8].reshape(2, 2, nodes)
    if p > 2:
        t = np.concatenate([t, -_times(w, gram[:2, 2:p])], axis=1)
    own = _times(t, coefs[:, None]) + _times(w, gram[:2, p, None])
    across = _times(t, covariance)
    coefs[:2] = own[:, 0]
    covariance[:2, 2:], covariance[2:, :2] = across[:, 2:], across[:, 2:].swapaxes(0, 1)
    covariance[:2, :2] = _times(across, t.swapaxes(0, 1))
    covariance[:2, :2] += variance * w


def _times(left: Floats, right: Floats) -> Floats:
    """Return the products of small matrices by node, (i, q, nodes) times (q, j, nodes): a long row at a time."""
    made = left[:, 0, None] * right[None, 0]
    for q in range(1, right.shape[0]):
        made += left[:, q, None] * right[None, q]
    return np.asarray(made)


def _fixed(top: Floats, rows: int) -> tuple[Floats, Floats, float, float]:
    """Return fixed effects, their unscaled covariance, the residual variance and log|X'V⁻¹X|, of the matrix on top."""
    p = top.shape[0] - 1
    size = [math.sqrt(one) if one > 0.0 else 1.0 for one in top.diagonal()[:p].tolist()]
    scale = 1.0 / np.array(size)
    values, vectors = np.linalg.eigh(top[:p, :p] * (scale[:, None] * scale))
    if rows <= p or not values[0] > 1e-13 * values[-1]:
        raise NotEnough("wear rate", "readings at different hours, and covariates that do not copy one another")
    vectors = vectors * scale[:, None]
    unscaled = (vectors / values) @ vectors.T
    fixed = unscaled @ top[:p, p]
    rest = float(top[p, p] - fixed @ top[:p, p])
    logdet = float(np.log(values).sum()) + 2.0 * math.fsum(map(math.log, size))
    return fixed, unscaled, max(rest, 1e-300) / (rows - p), logdet
