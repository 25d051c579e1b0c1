"""The units of a fleet of lines, each by one small matrix: what they leave to the level above, with derivatives.

A unit is the Gram matrix of its columns (1, t, covariates ..., y); for intercept and slope alone those are six numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, cached_property
from itertools import combinations_with_replacement, pairwise
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

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
        logdet = self.logdet + float(self.slope @ by + 0.5 * by @ self.curve @ by)
        return self.gram + more.reshape(self.gram.shape), logdet


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

        Rows: det S, s11, s12, s22, 1; the rest of Z's first row and of its second; the different numbers of F: k11,
        k12, k22, the rest of its first row, of its second; products of k11 with these, of k12 with these from itself
        on, of k22 so.
        """
        gram, m = self.gram, self.gram.shape[0]
        which: slice | Indices = at if self.order is None else self.order[at]
        z, f, k = rows[5 : 2 * m + 1].reshape(2, m - 2, -1), rows[2 * m + 1 : 4 * m], rows[4 * m :]
        rows[1], rows[2], rows[3], rows[4] = gram[0, 0, which], gram[0, 1, which], gram[1, 1, which], 1.0
        z[0], z[1] = gram[0, 2:][:, which], gram[1, 2:][:, which]
        np.multiply(rows[1], rows[3], out=rows[0])
        rows[0] -= rows[2] * rows[2]
        det, a, b, c, d, *_ = made = np.array(solving(relative)) @ rows[:5]
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
        # Rows: x, y of F_xi F_yj, and k, x, y of k F_xi F_yj; columns: i, j, node.
        pairs = products[2 * m : 2 * m + 16 * m * m].reshape(16, -1)
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


def solving(relative: Floats) -> list[list[float]]:
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


def solvable(gram: Floats) -> Floats:
    """Return det S, s11, s12, s22 and 1 by node, of which `solving` makes the rest."""
    rows = np.empty((5, gram.shape[2]))
    rows[1], rows[2], rows[3], rows[4] = gram[0, 0], gram[0, 1], gram[1, 1], 1.0
    np.multiply(rows[1], rows[3], out=rows[0])
    rows[0] -= rows[2] * rows[2]
    return rows


def _log_sum(values: Floats) -> float:
    """Return the sum of logarithms: of products of eight, each 1 or more and far from overflow, where that is safe."""
    if values.size < 1024 or values.max() > 1e30:
        return float(np.log(values).sum())
    whole = values.size - values.size % 8
    return float(np.log(np.prod(values[:whole].reshape(8, -1), axis=0)).sum() + np.log(values[whole:]).sum())
