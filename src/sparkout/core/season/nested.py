"""Lines with random intercept and slope at nested levels, by restricted maximum likelihood (REML).

Everything goes through one small matrix for each unit: the Gram matrix of its columns (1, t, covariates ..., y). For
intercept and slope alone those are six numbers. A random effect at a level is integrated out of the matrices of that
level in closed form (two by two), what is left is summed into the level above, and so on up to the fixed effects; the
way down gives best linear unbiased predictions, their covariance and the exact gradient. The cost of one pass is linear
in the units.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough
from sparkout.core.season.pieces import of_each, pieces

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]
Mapper: TypeAlias = Callable[..., Iterable[Any]]
"""As `map`: a function and its arguments by part; a cluster's map fits."""

CHUNK = 8192
"""Units worked at once: what fits in a processor's own memory."""
MANY = 64
"""Units to a parent from which matrix products over them pay."""
SAMPLE = 2_000
"""Units on which a large fleet's search begins."""
LARGER = 32_000
"""Units on which a still larger fleet's search goes on, and its curvature is measured."""


@dataclass(frozen=True, slots=True)
class Part:
    """Some units of a fleet: `gram` (m, m, units) of the columns (1, t, covariates ..., y), `parent` (units,)."""

    gram: Floats
    parent: Indices
    sums: Floats | None = None
    """The matrices added up by parent (m, m, nodes), where that is known already."""


@dataclass(frozen=True, slots=True)
class Nested:
    """A fleet in parts: units within groups, groups within further groups; `rows` counts all readings."""

    parts: Sequence[Any]
    parents: tuple[Indices, ...]
    """For each level above the units, the parent of each node in the level above that; at the last level all 0."""
    rows: int
    width: int
    """Columns of the Gram matrices, y included."""

    def in_order(self, nodes: int) -> bool:
        """Return whether units of one parent stand together, many of them: then one pass does for two."""
        if not all(isinstance(part, Part) for part in self.parts):
            return False
        units = sum(part.gram.shape[2] for part in self.parts)
        pieces = sum(1 + np.count_nonzero(np.diff(part.parent)) for part in self.parts)
        return units >= MANY * pieces and (nodes == 1 or units >= MANY * nodes)


@dataclass(frozen=True, slots=True)
class Passed:
    """One pass up and down: REML deviance, its gradient by level (2, 2), and the fixed effects."""

    deviance: float
    gradient: tuple[Floats, ...]
    fixed: Floats
    unscaled: Floats
    """Covariance of the fixed effects over the residual variance, (p, p)."""
    variance: float
    coefs: tuple[Floats, ...]
    """By level above the units: coefficients (p, nodes) of each node's own line."""
    covariances: tuple[Floats, ...]
    """By level above the units: their covariance over the residual variance (p, p, nodes)."""


@dataclass(frozen=True, slots=True)
class Fitted:
    """REML estimates: fixed effects, residual variance, covariance of intercept and slope by level (units first)."""

    fixed: Floats
    fixed_covariance: Floats
    residual_variance: float
    level_covariances: tuple[Floats, ...]
    relative: tuple[Floats, ...]
    """`level_covariances` over the residual variance."""
    deviance: float
    passes: int
    at_top: Passed


def _weights(gram: Floats, relative: Floats) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return det(I + L S) and the inverse's parts a, b, c, d of I + L S for each node."""
    s11, s12, s22 = gram[0, 0], gram[0, 1], gram[1, 1]
    l11, l12, l22 = relative[0, 0], relative[0, 1], relative[1, 1]
    a = 1.0 + l11 * s11 + l12 * s12
    b = l11 * s12 + l12 * s22
    c = l12 * s11 + l22 * s12
    d = 1.0 + l12 * s12 + l22 * s22
    return a * d - b * c, a, b, c, d


def _shrink(gram: Floats, relative: Floats) -> tuple[Floats, Floats]:
    """Return W = (I + L S)⁻¹ L as (3, nodes) w11, w12, w22, and det(I + L S)."""
    det, a, b, c, d = _weights(gram, relative)
    l11, l12, l22 = relative[0, 0], relative[0, 1], relative[1, 1]
    return np.stack([d * l11 - b * l12, d * l12 - b * l22, a * l22 - c * l12]) / det, det


def integrated(gram: Floats, relative: Floats) -> tuple[Floats, float]:
    """Return the Gram matrices with a level's effects integrated out, S − S_z' W S_z, and the log determinant.

    Examples
    --------
    >>> gram = np.array([[2.0, 1.0, 3.0], [1.0, 1.0, 2.0], [3.0, 2.0, 5.0]])[:, :, None]
    >>> left, logdet = integrated(gram, np.zeros((2, 2)))
    >>> bool(np.all(left == gram)), logdet
    (True, 0.0)
    """
    w, det = _shrink(gram, relative)
    first, second = gram[0], gram[1]
    left = gram - first[:, None] * (w[0] * first + w[1] * second) - second[:, None] * (w[1] * first + w[2] * second)
    return left, float(np.log(det).sum())


def summed(grams: Floats, parent: Indices, nodes: int) -> Floats:
    """Return matrices (m, m, children) added up by parent (m, m, nodes)."""
    m = grams.shape[0]
    total = np.empty((m, m, nodes))
    for i in range(m):
        for j in range(i, m):
            total[i, j] = total[j, i] = np.bincount(parent, weights=grams[i, j], minlength=nodes)
    return total


def part_moments(part: Part, relative: Floats, nodes: int) -> tuple[Floats, float, Floats, Floats]:
    """Return what a part's units leave to the level above, the log determinant, and what its gradient needs: one pass.

    With Z the two rows of the Gram matrix for intercept and slope and F = (I + S L)⁻¹ Z, by node: Σ (S − Z'L F)
    (m, m, nodes), log|I + L S|, Σ F (2, m, nodes) and Σ F ⊗ F (2m, 2m, nodes). Units of one parent must stand together.
    """
    m, units = part.gram.shape[0], part.gram.shape[2]
    total, moments = np.zeros((m, m, nodes)), np.zeros((2 * m, 2 * m, nodes))
    first, logdet = np.zeros((2, m, nodes)), 0.0
    edges = np.flatnonzero(np.diff(part.parent)) + 1 if nodes > 1 else np.zeros(0, dtype=np.intp)

    def work(at: slice) -> tuple[float, list[tuple[int, Floats, Floats, Floats]]]:
        z, f, log = _solved(part.gram[:, :, at], relative)
        inside = edges[np.searchsorted(edges, at.start, "right") : np.searchsorted(edges, at.stop)]
        bounds = [0, *(inside - at.start).tolist(), at.stop - at.start]
        found = []
        for begin, end in pairwise(bounds):
            zs, fs = z[:, begin:end], f[:, begin:end]
            node = int(part.parent[at.start + begin]) if nodes > 1 else 0
            found.append((node, zs @ fs.T, fs.sum(axis=1), fs @ fs.T))
        return log, found

    for log, found in of_each(work, pieces(units, CHUNK)):
        logdet += log
        for node, mixed, sums, squares in found:
            both = np.einsum("ziyj,zy->ij", mixed.reshape(2, m, 2, m), relative)
            total[:, :, node] -= 0.5 * (both + both.T)
            first[:, :, node] += sums.reshape(2, m)
            moments[:, :, node] += squares
    return total + (_plain_sums(part, nodes) if part.sums is None else part.sums), logdet, first, moments


def _plain_sums(part: Part, nodes: int) -> Floats:
    """Return the sum of the Gram matrices by node (m, m, nodes); the same in every pass."""
    starts = np.append(0, np.flatnonzero(np.diff(part.parent)) + 1 if nodes > 1 else []).astype(np.intp)
    sums = np.add.reduceat(part.gram, starts, axis=2)
    total = np.zeros((*part.gram.shape[:2], nodes))
    for i, node in enumerate(part.parent[starts] if nodes > 1 else [0]):
        total[:, :, node] += sums[:, :, i]
    return total


def _solved(gram: Floats, relative: Floats) -> tuple[Floats, Floats, float]:
    """Return Z and F = (I + S L)⁻¹ Z as (2m, units), and the log determinant."""
    m = gram.shape[0]
    det, a, b, c, d = _weights(gram, relative)
    z = np.ascontiguousarray(gram[:2])
    over = 1.0 / det
    a, b, c, d = a * over, b * over, c * over, d * over
    f = np.empty(z.shape)
    np.multiply(z[0], d, out=f[0])
    f[0] -= c * z[1]
    np.multiply(z[1], a, out=f[1])
    f[1] -= b * z[0]
    return z.reshape(2 * m, -1), f.reshape(2 * m, -1), _log_sum(det)


def _log_sum(values: Floats) -> float:
    """Return the sum of logarithms: of products of eight, each 1 or more and far from overflow, where that is safe."""
    if values.size < 64 or values.max() > 1e30:
        return float(np.log(values).sum())
    whole = values.size - values.size % 8
    return float(np.log(np.prod(values[:whole].reshape(8, -1), axis=0)).sum() + np.log(values[whole:]).sum())


def _moments_down(first: Floats, moments: Floats, coefs: Floats, covariance: Floats, variance: float) -> Floats:
    """Return a part's share of the gradient, Σ K − r r'/s² (2, 2), from the moments of its units."""
    m, nodes = first.shape[1], first.shape[2]
    p = m - 1
    pairs = moments.reshape(2, m, 2, m, nodes)
    contrast = np.concatenate([-coefs, np.ones((1, nodes))])
    scores = np.einsum("zyjn,jn->zy", np.einsum("ziyjn,in->zyjn", pairs, contrast), contrast)
    spread = np.einsum("zpyqn,pqn->zy", pairs[:, :p, :, :p], covariance)
    return np.asarray(first[:, :2].sum(axis=2) - spread - scores / variance)


def part_up(part: Part, relative: Floats, nodes: int) -> tuple[Floats, float]:
    """Return what a part's units leave to the level above: (m, m, nodes), and the log determinant."""
    m, units = part.gram.shape[0], part.gram.shape[2]
    total, logdet = np.zeros((m, m, nodes)), 0.0
    for start in range(0, units, CHUNK):
        chunk = slice(start, start + CHUNK)
        left, one = integrated(part.gram[:, :, chunk], relative)
        logdet += one
        total += left.sum(axis=2)[:, :, None] if nodes == 1 else summed(left, part.parent[chunk], nodes)
    return total, logdet


def down(gram: Floats, relative: Floats, coefs: Floats, covariance: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Return a level's own coefficients, their covariance, its scores r (2, nodes) and their spread K (2, 2, nodes).

    With parents' coefficients θ (p, nodes) and covariance C (p, p, nodes), both over the residual variance:
    θ + W (S_zy − S_zx θ), T C T' + W with T = I − W S_zx, r = (I + S L)⁻¹ (S_zy − S_zx θ) and
    K = (I + S L)⁻¹ S_zz − F C F', F = (I + S L)⁻¹ S_zx.
    """
    p = gram.shape[0] - 1
    w, det = _shrink(gram, relative)
    _, a, b, c, d = _weights(gram, relative)
    short = gram[:2, p] - np.einsum("zpn,pn->zn", gram[:2, :p], coefs)
    # (I + S L) is the transpose of (I + L S) = [[a, b], [c, d]].
    r = np.stack([d * short[0] - c * short[1], a * short[1] - b * short[0]]) / det
    zx = gram[:2, :p]
    f = np.stack([d * zx[0] - c * zx[1], a * zx[1] - b * zx[0]]) / det
    own = coefs.copy()
    own[0] += relative[0, 0] * r[0] + relative[0, 1] * r[1]
    own[1] += relative[0, 1] * r[0] + relative[1, 1] * r[1]
    spread = f[:, :2] - np.einsum("zpn,pqn,yqn->zyn", f, covariance, f)
    t = np.zeros((p, p, gram.shape[2]))
    t[range(p), range(p)] = 1.0
    t[0] -= w[0] * zx[0] + w[1] * zx[1]
    t[1] -= w[1] * zx[0] + w[2] * zx[1]
    own_covariance = np.einsum("ipn,pqn,jqn->ijn", t, covariance, t)
    own_covariance[0, 0] += w[0]
    own_covariance[0, 1] += w[1]
    own_covariance[1, 0] += w[1]
    own_covariance[1, 1] += w[2]
    return own, own_covariance, r, spread


def part_down(part: Part, relative: Floats, coefs: Floats, covariance: Floats, variance: float) -> Floats:
    """Return a part's share of the deviance's gradient, sum of K − r r'/s² (2, 2)."""
    p = part.gram.shape[0] - 1
    total = np.zeros((2, 2))
    lone = coefs.shape[1] == 1
    for start in range(0, part.gram.shape[2], CHUNK):
        chunk = slice(start, start + CHUNK)
        gram = part.gram[:, :, chunk]
        of = np.zeros(gram.shape[2], dtype=np.intp) if lone else part.parent[chunk]
        det, a, b, c, d = _weights(gram, relative)
        zx = gram[:2, :p]
        f = np.stack([d * zx[0] - c * zx[1], a * zx[1] - b * zx[0]]) / det
        if lone:
            short = gram[:2, p] - np.tensordot(coefs[:, 0], zx, (0, 1))
            spread = np.einsum("zpn,pq,yqn->zy", f, covariance[:, :, 0], f, optimize=True)
        else:
            short = gram[:2, p] - np.einsum("zpn,pn->zn", zx, coefs[:, of])
            spread = np.einsum("zpn,pqn,yqn->zy", f, covariance[:, :, of], f, optimize=True)
        r = np.stack([d * short[0] - c * short[1], a * short[1] - b * short[0]]) / det
        total += f[:, :2].sum(axis=2) - spread - (r @ r.T) / variance
    return total


def passed(fleet: Nested, relative: Sequence[Floats], mapper: Mapper = map) -> Passed:
    """Return REML deviance, gradient and fixed effects of a fleet for given covariances over the residual variance.

    deviance = Σ log|I + L S| + log|X'V⁻¹X| + (n − p)(1 + log 2πs²), s² and fixed effects profiled out
    (the criterion of Bates et al. 2015, J. Stat. Softw. 67(1), eq. 42, from memory).
    """
    m, p, above = fleet.width, fleet.width - 1, len(fleet.parents)
    nodes = fleet.parents[0].size if above else 1
    total, logdet, parts = np.zeros((m, m, nodes)), 0.0, len(fleet.parts)
    at_once = fleet.in_order(nodes)
    first, moments = np.zeros((2, m, nodes)), np.zeros((2 * m, 2 * m, nodes))
    for gram, one, *more in mapper(
        part_moments if at_once else part_up, fleet.parts, [relative[0]] * parts, [nodes] * parts
    ):
        total += gram
        logdet += one
        if at_once:
            first += more[0]
            moments += more[1]
    grams = [total] if above else []
    for level in range(above):
        left, one = integrated(grams[level], relative[level + 1])
        logdet += one
        if level + 1 < above:
            grams.append(summed(left, fleet.parents[level], fleet.parents[level + 1].size))
        else:
            total = left.sum(axis=2)[:, :, None]
    top = total[:, :, 0]
    fixed, unscaled, variance = _fixed(top, fleet.rows)
    degrees = fleet.rows - p
    deviance = logdet - np.linalg.slogdet(unscaled)[1] + degrees * (1.0 + math.log(2.0 * math.pi * variance))
    coefs, covariance = fixed[:, None], unscaled[:, :, None]
    levels: list[tuple[Floats, Floats, Floats]] = []
    for level in reversed(range(above)):
        of = fleet.parents[level]
        coefs, covariance, r, spread = down(grams[level], relative[level + 1], coefs[:, of], covariance[:, :, of])
        levels.append((coefs, covariance, spread.sum(axis=2) - (r @ r.T) / variance))
    levels.reverse()
    if at_once:
        below = _moments_down(first, moments, coefs, covariance, variance)
    else:
        shares = mapper(
            part_down, fleet.parts, [relative[0]] * parts, [coefs] * parts, [covariance] * parts, [variance] * parts
        )
        below = sum(shares, np.zeros((2, 2)))
    return Passed(
        float(deviance),
        (below, *(gradient for _, _, gradient in levels)),
        fixed,
        unscaled,
        variance,
        tuple(coefs for coefs, _, _ in levels),
        tuple(covariance for _, covariance, _ in levels),
    )


def _fixed(top: Floats, rows: int) -> tuple[Floats, Floats, float]:
    """Return fixed effects, their unscaled covariance and the residual variance from the matrix at the top."""
    p = top.shape[0] - 1
    scale = 1.0 / np.sqrt(np.where(np.diag(top)[:p] > 0, np.diag(top)[:p], 1.0))
    scaled = top[:p, :p] * np.outer(scale, scale)
    if rows <= p or np.linalg.cond(scaled) > 1e13:
        raise NotEnough("wear rate", "readings at different hours, and covariates that do not copy one another")
    unscaled = np.linalg.inv(scaled) * np.outer(scale, scale)
    fixed = unscaled @ top[:p, p]
    rest = float(top[p, p] - fixed @ top[:p, p])
    return fixed, unscaled, max(rest, 1e-300) / (rows - p)


def fit(fleet: Nested, mapper: Mapper = map, start: Sequence[Floats] | None = None) -> Fitted:
    """Return REML estimates of a nested fleet.

    The criterion is minimised over the Cholesky factors of the covariances relative to the residual variance, by Newton
    steps on the exact gradient. A large fleet is fitted first on a sample of its units; the curvature found there,
    scaled to the whole, takes the whole fleet to its optimum in a few passes.

    Raises
    ------
    NotEnough
        Fewer readings than fixed effects, or columns that cannot be told apart.
    """
    stages = [*(one for one in (sampled(fleet, SAMPLE), sampled(fleet, LARGER)) if one is not None), fleet]
    scale = _scales(stages[0])
    levels = 1 + len(fleet.parents)
    theta = _first_guess(stages[0], scale, levels) if start is None else _factors(start, scale)
    curvature, rows = None, 0
    for i, stage in enumerate(stages):
        whole = i == len(stages) - 1
        search = _Search(_summed_once(stage), scale, mapper if whole else map)
        if curvature is not None:
            # More units tell more of how units differ; of the levels above, both tell about the same.
            more = np.repeat([math.sqrt(stage.rows / rows)] + [1.0] * (levels - 1), 3)
            curvature = curvature * np.outer(more, more)
        theta, curvature = search.minimised(theta, curvature)
        if i > 0 and not whole:
            curvature = search.curved(theta)
        rows = stage.rows
    relative = _relative(theta, scale)
    passes = search.passes - 1
    top = search.best if search.best is not None else passed(fleet, relative, mapper)
    return Fitted(
        top.fixed,
        top.unscaled * top.variance,
        top.variance,
        tuple(one * top.variance for one in relative),
        relative,
        top.deviance,
        passes + 1,
        top,
    )


def _summed_once(fleet: Nested) -> Nested:
    """Return a fleet whose parts know their sums by parent, where one pass does for two."""
    nodes = fleet.parents[0].size if fleet.parents else 1
    if not fleet.in_order(nodes):
        return fleet
    return replace(fleet, parts=[replace(part, sums=_plain_sums(part, nodes)) for part in fleet.parts])


def sampled(fleet: Nested, size: int) -> Nested | None:
    """Return every k-th unit of a fleet of local parts, about `size` of them; None when there are not many more."""
    if not all(isinstance(part, Part) for part in fleet.parts):
        return None
    units = sum(part.gram.shape[2] for part in fleet.parts)
    step = units // size
    if step < 2:
        return None
    parts = [Part(np.ascontiguousarray(part.gram[:, :, ::step]), part.parent[::step]) for part in fleet.parts]
    return Nested(parts, fleet.parents, round(sum(float(part.gram[0, 0].sum()) for part in parts)), fleet.width)


def _first_guess(fleet: Nested, scale: Floats, levels: int) -> Floats:
    """Return factors to begin with: the spread of the units' own least-squares lines less what their noise explains.

    Shared out evenly between the levels; a factor of 1 where that says nothing.
    """
    plain = np.tile([1.0, 0.0, 1.0], levels)
    if not all(isinstance(part, Part) for part in fleet.parts):
        return plain
    gram = np.concatenate([part.gram for part in fleet.parts], axis=2)
    n, t, tt, y = gram[0, 0], gram[0, 1], gram[1, 1], gram[:2, -1]
    det = n * tt - t * t
    good = (n > 2.5) & (det > 1e-6 * n * tt)
    if good.sum() < 8:
        return plain
    n, t, tt, y, det = n[good], t[good], tt[good], y[:, good], det[good]
    lines = np.stack([tt * y[0] - t * y[1], n * y[1] - t * y[0]]) / det
    rest = gram[-1, -1][good] - np.sum(lines * y, axis=0)
    noise = float(rest.sum() / (n - 2.0).sum())
    if noise <= 0.0:
        return plain
    explained = np.array([[np.mean(tt / det), -np.mean(t / det)], [-np.mean(t / det), np.mean(n / det)]])
    relative = (np.cov(lines) / noise - explained) / levels
    scaled = relative / np.outer(scale, scale)
    if np.linalg.eigvalsh(scaled)[0] <= 1e-4 * np.trace(scaled):
        return plain
    return _factors([relative] * levels, scale)


def _scales(fleet: Nested) -> Floats:
    """Return what makes an effect's size 1: residual spread over the spread of its column, for intercept and slope."""
    squares = sum((np.array([part.gram[0, 0].sum(), part.gram[1, 1].sum()]) for part in fleet.parts), np.zeros(2))
    return np.asarray(1.0 / np.sqrt(squares / fleet.rows), dtype=np.float64)


def _relative(theta: Floats, scale: Floats) -> tuple[Floats, ...]:
    """Return the covariances by level from their stacked Cholesky factors (l11, l21, l22)."""
    found = []
    for l11, l21, l22 in theta.reshape(-1, 3):
        factor = scale[:, None] * np.array([[l11, 0.0], [l21, l22]])
        found.append(factor @ factor.T)
    return tuple(found)


def _factors(relative: Sequence[Floats], scale: Floats) -> Floats:
    """Return the stacked Cholesky factors of covariances by level."""
    found = []
    for one in relative:
        scaled = one / np.outer(scale, scale)
        l11 = math.sqrt(max(scaled[0, 0], 0.0))
        l21 = scaled[0, 1] / l11 if l11 else 0.0
        found += [l11, l21, math.sqrt(max(scaled[1, 1] - l21 * l21, 0.0))]
    return np.array(found)


class _Search:
    """Newton's method on the factors; counts its passes over the fleet.

    The factors are free of sign (a factor and its negative give one covariance), so a variance of none is a plain
    minimum at 0; a saddle there is left along its downhill direction.
    """

    ARRIVED = 1e-12
    """Newton decrement, in units of the criterion, at which a search has arrived."""
    NEAR = 1e-3
    """Below this decrement a full step is safe, and the criterion's rounding must not judge it."""
    MOST = 100

    def __init__(self, fleet: Nested, scale: Floats, mapper: Mapper) -> None:
        self.fleet, self.scale, self.mapper = fleet, scale, mapper
        self.passes = 0
        self.last_passed: Passed | None = None
        self.best: Passed | None = None
        """At the factors arrived at so far."""

    def at(self, theta: Floats) -> tuple[float, Floats]:
        """Return the criterion and its gradient by factor."""
        self.passes += 1
        found = passed(self.fleet, _relative(theta, self.scale), self.mapper)
        self.last_passed = found
        gradient = []
        for (l11, l21, l22), by_level in zip(theta.reshape(-1, 3), found.gradient, strict=True):
            factor = self.scale[:, None] * np.array([[l11, 0.0], [l21, l22]])
            slope = 2.0 * self.scale[:, None] * (by_level @ factor)
            gradient += [slope[0, 0], slope[1, 0], slope[1, 1]]
        return found.deviance, np.array(gradient)

    def curved(self, theta: Floats) -> Floats:
        """Return the criterion's second derivatives, by central differences of the gradient."""
        second = np.empty((theta.size, theta.size))
        for i in range(theta.size):
            step = 1e-4 * max(abs(theta[i]), 1e-2)
            ahead, behind = theta.copy(), theta.copy()
            ahead[i] += step
            behind[i] -= step
            second[:, i] = (self.at(ahead)[1] - self.at(behind)[1]) / (2.0 * step)
        return 0.5 * (second + second.T)

    def minimised(self, theta: Floats, curvature: Floats | None) -> tuple[Floats, Floats]:
        """Return the best factors and the curvature there; a borrowed curvature is brought up to date on the way."""
        value, gradient = self.at(theta)
        self.best = self.last_passed
        borrowed, last = curvature is not None, math.inf
        for _ in range(self.MOST):
            if not borrowed or curvature is None:
                curvature = self.curved(theta)
            step, decrement = _newton(curvature, gradient, 0.5 * max(1.0, float(np.abs(theta).max())))
            if decrement <= self.ARRIVED or (decrement < self.NEAR and decrement >= last):
                return theta, curvature
            before, last = gradient, decrement
            for _ in range(30):
                new_value, new_gradient = self.at(theta + step)
                if decrement < self.NEAR or new_value <= value:
                    break
                step = step / 2.0
            theta, value, gradient, self.best = theta + step, new_value, new_gradient, self.last_passed
            if borrowed:
                curvature = _updated(curvature, step, gradient - before)
        raise NotEnough("wear rate", "readings that settle how much units differ (the search found no end)")


def _updated(curvature: Floats, step: Floats, change: Floats) -> Floats:
    """Return the curvature that also explains how the gradient changed along a step (the BFGS update)."""
    along, explained = float(step @ change), curvature @ step
    if along <= 1e-8 * float(np.linalg.norm(step) * np.linalg.norm(change)):
        return curvature
    return np.asarray(
        curvature + np.outer(change, change) / along - np.outer(explained, explained) / float(step @ explained)
    )


def _newton(curvature: Floats, gradient: Floats, most: float) -> tuple[Floats, float]:
    """Return a Newton step that goes downhill along every direction, no longer than `most`, and the decrement."""
    values, vectors = np.linalg.eigh(curvature)
    size = np.maximum(np.abs(values), 1e-8 * np.abs(values).max() + 1e-12)
    along = vectors.T @ gradient
    step = -(vectors @ (along / size))
    decrement = float(np.sum(along**2 / size))
    if values[0] < -1e-6 * size[-1]:  # a saddle: the gradient may say nothing of the way down
        step += 0.1 * vectors[:, 0] * (-1.0 if along[0] > 0 else 1.0)
        decrement = math.inf
    longest = float(np.abs(step).max())
    return (step * min(1.0, most / longest) if longest else step), decrement
