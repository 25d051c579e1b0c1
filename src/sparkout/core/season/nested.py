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
from functools import cache, cached_property
from itertools import combinations_with_replacement, pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough
from sparkout.core.season.pieces import pieces

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]

CHUNK = 16_384
"""Units worked at once: what fits in a processor's own memory."""
BASIS = np.array([[[1.0, 0.0], [0.0, 0.0]], [[0.0, 1.0], [1.0, 0.0]], [[0.0, 0.0], [0.0, 1.0]]])
"""A covariance of intercept and slope is l11, l12 and l22 times these."""
_ONES = BASIS.reshape(3, 4)
_PAIRS = np.einsum("aij,cjk,bkl->abcil", BASIS, BASIS, BASIS)
_PAIRS = (_PAIRS + _PAIRS.swapaxes(0, 1)).reshape(9, 12)
"""E_a E_c E_b + E_b E_c E_a: with K = Σ k_c E_c, what a second derivative takes of K."""
_TRACES = np.einsum("aiy,bjz->abzyij", BASIS, BASIS).reshape(9, 16)
"""tr E_a K E_b K, of products of K's entries."""


@dataclass(frozen=True, slots=True)
class Part:
    """Some units of a fleet: `gram` (m, m, units) of the columns (1, t, covariates ..., y), `parent` (units,)."""

    gram: Floats
    parent: Indices


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
class Jet:
    """Matrices of nodes and the log determinant below them, with derivatives by the covariances below.

    Three numbers a level (l11, l12, l22), the units' first.
    """

    gram: Floats
    """(m, m, nodes)"""
    first: Floats
    """(a, m, m, nodes)"""
    second: Floats
    """(a, a, m, m, nodes)"""
    logdet: float
    slope: Floats
    """(a,) of the log determinant."""
    curve: Floats
    """(a, a)"""

    def moved(self, by: Floats) -> tuple[Floats, float]:
        """Return matrices and log determinant a little further on, to the second order."""
        a = by.size
        more = by @ self.first.reshape(a, -1) + np.outer(by, 0.5 * by).ravel() @ self.second.reshape(a * a, -1)
        return self.gram + more.reshape(self.gram.shape), self.logdet + float(self.slope @ by + 0.5 * by @ self.curve @ by)


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


class Units:
    """The units of a fleet, those of one group one after the other, ready to be passed over many times."""

    def __init__(self, gram: Floats, parent: Indices, nodes: int) -> None:
        self.nodes = nodes
        grouped = bool(np.all(parent[1:] >= parent[:-1]))
        self.order: Indices | None = None if grouped else np.argsort(parent, kind="stable")
        """In which the units are taken, where they do not stand so."""
        self.gram = gram
        self.parent = parent if self.order is None else parent[self.order]
        self.edges = np.flatnonzero(self.parent[1:] != self.parent[:-1]) + 1

    @property
    def size(self) -> int:
        """Return how many units there are."""
        return int(self.gram.shape[2])

    def every(self, step: int) -> Units:
        """Return every so many-th unit."""
        at = slice(None, None, step) if self.order is None else self.order[::step]
        return Units(np.ascontiguousarray(self.gram[:, :, at]), self.parent[::step], self.nodes)

    @cached_property
    def starts(self) -> Indices:
        """Where each node's units begin."""
        return np.append(0, self.edges)

    @cached_property
    def squares(self) -> Floats:
        """Sums of 1 and t² over all units' readings."""
        return np.array([self.gram[0, 0].sum(), self.gram[1, 1].sum()])

    @cached_property
    def rest(self) -> Floats:
        """The matrices less their first two rows and columns, added up by node, (m - 2, m - 2, nodes)."""
        m = self.gram.shape[0]
        total = np.zeros((m - 2, m - 2, self.nodes))
        for i, j in combinations_with_replacement(range(m - 2), 2):
            entry = self.gram[2 + i, 2 + j] if self.order is None else self.gram[2 + i, 2 + j, self.order]
            added = np.add.reduceat(entry, self.starts)
            total[i, j, self.parent[self.starts]] = total[j, i, self.parent[self.starts]] = added
        return total

    def passed(self, relative: Floats) -> Jet:
        """Return what the units leave to the level above when their covariance (over the residual variance) is this.

        With Z the two rows of the Gram matrix for intercept and slope, S their first two columns, F = (I + S L)⁻¹ Z
        and K its first two columns, by node: S − Z'L F, whose first two rows are F again; its derivatives −F'E_a F and
        F'(E_a K E_b + E_b K E_a) F; and log|I + L S|.
        """
        m = self.gram.shape[0]
        which = _products(m)
        logdet, made = 0.0, np.zeros((self.starts.size, 10 * m - 10, 2 * m - 1))
        room = np.empty((10 * m - 6, min(CHUNK, self.size)))
        for at in pieces(self.size, CHUNK):
            rows = room[:, : at.stop - at.start]
            logdet += self._solved(at, relative, rows)
            of, f = rows[4:], rows[2 * m + 1 : 4 * m]
            first, last = np.searchsorted(self.edges, (at.start, at.stop - 1), "right").tolist()
            bounds = [0, *(self.edges[first:last] - at.start).tolist(), at.stop - at.start]
            for i, (begin, end) in enumerate(pairwise(bounds), first):
                made[i] += of[:, begin:end] @ f[:, begin:end].T
        products = np.zeros((which.size, self.nodes))
        products[:, self.parent[self.starts]] = made.reshape(self.starts.size, -1).take(which, axis=1).T
        return self._jet(products, relative, logdet)
    def _solved(self, at: slice, relative: Floats, rows: Floats) -> float:
        """Write numbers by unit and return Σ log|I + L S|.

        Rows: det S, s11, s12, s22, 1; the rest of Z's first row and of its second; the different numbers
        of F: k11, k12, k22, the rest of its first row, of its second; products of k11 with these, of k12 with these
        from itself on, of k22 so.
        """
        gram, m = self.gram, self.gram.shape[0]
        which: slice | Indices = at if self.order is None else self.order[at]
        z, f, k = rows[5 : 2 * m + 1].reshape(2, m - 2, -1), rows[2 * m + 1 : 4 * m], rows[4 * m :]
        rows[1], rows[2], rows[3], rows[4] = gram[0, 0, which], gram[0, 1, which], gram[1, 1, which], 1.0
        z[0], z[1] = gram[0, 2:][:, which], gram[1, 2:][:, which]
        np.multiply(rows[1], rows[3], out=rows[0])
        rows[0] -= rows[2] * rows[2]
        det, a, b, c, d, *_ = made = np.array(_solving(relative)) @ rows[:5]
        over = 1.0 / det
        np.multiply(made[5:], over, out=f[:3])
        rest = f[3:].reshape(2, m - 2, -1)
        np.subtract(d * z[0], c * z[1], out=rest[0])
        np.subtract(a * z[1], b * z[0], out=rest[1])
        rest *= over
        begin = 0
        for i in range(3):
            end = begin + f.shape[0] - i
            np.multiply(f[i], f[i:], out=k[begin:end])
            begin = end
        return _log_sum(det)

    def _jet(self, products: Floats, relative: Floats, logdet: float) -> Jet:
        """Return what the units leave, of the products (`_products`) of their numbers added up by node."""
        m, nodes = self.gram.shape[0], self.nodes
        f = products[: 2 * m].reshape(2, m, nodes)
        pairs = products[2 * m : 2 * m + 16 * m * m].reshape(16, -1)  # rows: (k,) x, y of F_xi F_yj; columns: i, j, node
        zf = products[2 * m + 16 * m * m :].reshape(4, -1)
        gram = np.empty((m, m, nodes))
        gram[:2] = f
        gram[2:, :2] = gram[:2, 2:].swapaxes(0, 1)
        taken = (relative.ravel() @ zf).reshape(m - 2, m - 2, nodes)
        gram[2:, 2:] = self.rest - 0.5 * (taken + taken.swapaxes(0, 1))
        twos = pairs[:4].reshape(4, m, m, nodes)[:, :2, :2].sum(axis=-1)
        return Jet(
            gram,
            -(_ONES @ pairs[:4]).reshape(3, m, m, nodes),
            (_PAIRS @ pairs[4:]).reshape(3, 3, m, m, nodes),
            logdet,
            _ONES @ f[:, :2].sum(axis=-1).ravel(),
            -(_TRACES @ twos.ravel()).reshape(3, 3),
        )


@cache
def _products(m: int) -> Indices:
    """Return where, among the products `Units.passed` adds up, these stand (rows of `_solved` from its 1 on, by F's).

    F (2, m); F_xi F_yj (x, y, i, j) for the two rows of F; k_c F_xi F_yj for the three numbers of K; Z_xi F_yj of the
    columns beyond the first two.
    """
    each, rest = 2 * m - 1, np.arange(m - 2)
    f = np.array([[0, 1, *(3 + rest)], [1, 2, *(m + 1 + rest)]])  # which of F's different numbers each entry is
    x, y = f[:, None, :, None], f[None, :, None, :]
    c = np.arange(3).reshape(3, 1, 1, 1, 1)
    low, high = np.minimum(c, x), np.maximum(c, x)
    k = 4 * m - 4 + low * each - low * (low - 1) // 2 + high - low
    z = 1 + (m - 2) * np.arange(2)[:, None, None, None] + rest[:, None]
    found = [f, (2 * m - 3 + x) * each + y, k * each + y, z * each + y[..., 2:]]
    return np.concatenate([one.ravel() for one in found])


def _solving(relative: Floats) -> list[list[float]]:
    """Return what makes det(I + S L) and, times that, its inverse and K = (I + S L)⁻¹ S of (det S, s11, s12, s22, 1).

    Rows: det; a, b, c, d with I + S L = ((a, c), (b, d)); k11, k12, k22.
    """
    l11, l12, _, l22 = relative.ravel().tolist()
    return [
        [l11 * l22 - l12 * l12, l11, 2.0 * l12, l22, 1.0],
        [0.0, l11, l12, 0.0, 1.0],
        [0.0, 0.0, l11, l12, 0.0],
        [0.0, l12, l22, 0.0, 0.0],
        [0.0, 0.0, l12, l22, 1.0],
        [l22, 1.0, 0.0, 0.0, 0.0],
        [-l12, 0.0, 1.0, 0.0, 0.0],
        [l11, 0.0, 0.0, 1.0, 0.0],
    ]


def _log_sum(values: Floats) -> float:
    """Return the sum of logarithms: of products of eight, each 1 or more and far from overflow, where that is safe."""
    if values.size < 1024 or values.max() > 1e30:
        return float(np.log(values).sum())
    whole = values.size - values.size % 8
    return float(np.log(np.prod(values[:whole].reshape(8, -1), axis=0)).sum() + np.log(values[whole:]).sum())


def units_of(fleet: Nested) -> Units:
    """Return the units of all parts of a fleet."""
    nodes = fleet.parents[0].size if fleet.parents else 1
    if len(fleet.parts) == 1:
        gram, parent = fleet.parts[0].gram, fleet.parts[0].parent
    else:
        gram = np.concatenate([part.gram for part in fleet.parts], axis=2)
        parent = np.concatenate([part.parent for part in fleet.parts])
    return Units(gram, parent if fleet.parents else np.zeros(parent.size, dtype=np.intp), nodes)


def _solvable(gram: Floats) -> Floats:
    """Return det S, s11, s12, s22 and 1 by node, of which `_solving` makes the rest."""
    rows = np.empty((5, gram.shape[2]))
    rows[1], rows[2], rows[3], rows[4] = gram[0, 0], gram[0, 1], gram[1, 1], 1.0
    np.multiply(rows[1], rows[3], out=rows[0])
    rows[0] -= rows[2] * rows[2]
    return rows


def _inverse(gram: Floats, relative: Floats) -> tuple[Floats, Floats]:
    """Return M = (I + S L)⁻¹ by node (2, 2, nodes), and log|I + S L| of each."""
    det, a, b, c, d = np.array(_solving(relative)[:5]) @ _solvable(gram)
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
    contrast = np.array([*(-fixed).tolist(), 1.0])
    rest = variance * degrees
    by = first @ contrast  # (a, m)
    slope = by @ contrast / rest
    bend = second @ contrast @ contrast - 2.0 * by[:, :p] @ unscaled @ by[:, :p].T
    x = unscaled @ first[:, :p, :p]
    gradient = jet.slope + np.einsum("aii->a", x) + degrees * slope
    curvature = jet.curve + np.einsum("ij,abji->ab", unscaled, second[:, :, :p, :p]) - np.einsum("aij,bji->ab", x, x)
    curvature += degrees * (bend / rest - slope[:, None] * slope)
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
    det, a, b, c, d, *_ = _solving(relative)
    l11, l12, _, l22 = relative.ravel().tolist()
    spared = det[0]
    w11, w12, w22 = [0.0, 0.0, 0.0, spared, l11], [0.0, 0.0, -spared, 0.0, l12], [0.0, spared, 0.0, 0.0, l22]
    turned = [d, [-one for one in b], [-one for one in c], a]
    made = np.array([w11, w12, w12, w22, *turned, det]) @ _solvable(gram)
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
