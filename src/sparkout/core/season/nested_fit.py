"""REML estimates of nested lines: Newton's method on the criterion of `nested`, through samples of a large fleet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sparkout.core.errors import NotEnough
from sparkout.core.season.each_unit import Floats, Indices, Jet, Units
from sparkout.core.season.nested import Nested, Passed, criterion, settled, units_of

SAMPLE = 2_000
"""Fewest units on which a large fleet's search begins."""
STEP = 8
"""Every so many-th unit of a fleet is a sample of it, on which the search for the whole begins; and so on down."""
ARRIVED = 1e-12
"""Newton decrement, in units of the criterion, at which a search has arrived."""
NEAR = 1e-3
"""Below this decrement a full step is safe, and the criterion's rounding must not judge it."""
NEAR_ENOUGH = 0.1
"""Decrement at which a sample has told what it can: well below its own scatter, which is about 1 a factor."""
MOST = 100
_WHOLE = np.array([[0, 1], [1, 2]])
"""Where in three numbers the entries of a symmetric matrix stand."""


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
    """Over all units."""
    at_top: Passed


def fit(fleet: Nested) -> Fitted:
    """Return REML estimates of a nested fleet.

    The criterion is minimised over the Cholesky factors of the covariances relative to the residual variance, by Newton
    steps on its exact first and second derivatives. A large fleet begins where a sample of its units arrived, so that
    a few passes take the whole to its optimum.

    Raises
    ------
    NotEnough
        Fewer readings than fixed effects, or columns that cannot be told apart.
    """
    units = units_of(fleet)
    steps = [1]
    while units.size // (steps[0] * STEP) >= SAMPLE:
        steps.insert(0, steps[0] * STEP)
    theta, scale = np.zeros(0), np.ones(2)
    for step in steps:
        some = units.every(step) if step > 1 else units
        search = _Search(fleet, some)
        if not theta.size:
            scale = search.scale
            theta = _first_guess(some, fleet.parents, scale)
        search.scale = scale
        theta = search.minimised(theta, NEAR_ENOUGH if step > 1 else ARRIVED)
    relative = _relative(theta, scale)
    top = settled(search.fleet, *search.jet.moved(_numbers(relative[0] - search.there)), relative)
    return Fitted(
        top.fixed,
        top.unscaled * top.variance,
        top.variance,
        tuple(one * top.variance for one in relative),
        relative,
        top.deviance,
        search.passes,
        top,
    )


def _numbers(covariance: Floats) -> Floats:
    return covariance.ravel()[[0, 1, 3]]


def _first_guess(units: Units, parents: Sequence[Indices], scale: Floats) -> Floats:
    """Return factors to begin with: the spread of the units' own least-squares lines, level by level.

    At each level the spread of lines about their parent's mean, less what is noise there: of the readings, and of means
    of so few. A factor of 1 where that says nothing.
    """
    plain = np.tile([1.0, 0.0, 1.0], 1 + len(parents))
    gram = units.gram
    det = gram[0, 0] * gram[1, 1] - gram[0, 1] * gram[0, 1]
    good = (gram[0, 0] > 2.5) & (det > 1e-6 * gram[0, 0] * gram[1, 1])
    size = int(np.count_nonzero(good))
    if size < 8:
        return plain
    parent = units.parent if units.order is None else units.parent[np.argsort(units.order)]
    if size < good.size:
        gram, det, parent = gram[:, :, good], det[good], parent[good]
    y = gram[:2, -1]
    inverse = np.array([gram[1, 1], -gram[0, 1], gram[0, 0]]) / det
    lines = inverse[:2] * y[0]
    lines += inverse[1:] * y[1]
    noise = float(gram[-1, -1].sum() - np.vdot(lines, y)) / float(gram[0, 0].sum() - 2.0 * size)
    if noise <= 0.0:
        return plain
    explained = (inverse.sum(axis=1) / size)[_WHOLE]
    over = 1.0 / (scale[:, None] * scale)
    found = []
    for above in (*parents, None):
        count = np.bincount(parent)
        mean = np.array([np.bincount(parent, one) for one in lines]) / np.maximum(count, 1)
        off, there = lines - mean.take(parent, axis=1), count > 0
        nodes = int(np.count_nonzero(there))
        spread = off @ off.T / (max(parent.size - nodes, 1) * noise)
        found.append(_positive((spread - explained) * over))
        explained = spread * float((1.0 / count[there]).sum() / nodes)
        if above is not None:
            lines, parent = mean[:, there], above[: count.size][there]
    return _factors(found)


def _positive(covariance: Floats) -> Floats:
    """Return the covariance with no direction of it near nothing."""
    values, vectors = np.linalg.eigh(covariance)
    least = max(0.02 * float(values[-1]), 1e-4)
    return np.asarray((vectors * np.maximum(values, least)) @ vectors.T)


def _relative(theta: Floats, scale: Floats) -> tuple[Floats, ...]:
    """Return the covariances by level from their stacked Cholesky factors (l11, l21, l22)."""
    found = []
    s0, s1 = scale.tolist()
    for l11, l21, l22 in theta.reshape(-1, 3).tolist():
        across = s0 * s1 * l11 * l21
        found.append(np.array([[(s0 * l11) ** 2, across], [across, s1 * s1 * (l21 * l21 + l22 * l22)]]))
    return tuple(found)


def _factors(scaled: Sequence[Floats]) -> Floats:
    """Return the stacked Cholesky factors of covariances by level, of effects whose size is 1."""
    found = []
    for one in scaled:
        (c11, c12), (_, c22) = one.tolist()
        l11 = math.sqrt(max(c11, 0.0))
        l21 = c12 / l11 if l11 else 0.0
        found += [l11, l21, math.sqrt(max(c22 - l21 * l21, 0.0))]
    return np.array(found)


class _Search:
    """Newton's method on the factors; counts its passes over the units.

    The factors are free of sign (a factor and its negative give one covariance), so a variance of none is a plain
    minimum at 0; a saddle there is left along its downhill direction.
    """

    def __init__(self, fleet: Nested, units: Units) -> None:
        self.units = units
        squares = units.squares
        self.fleet = Nested(fleet.parts, fleet.parents, round(float(squares[0])), fleet.width)
        self.scale: Floats = 1.0 / np.sqrt(squares / squares[0])
        """What makes an effect's size 1: residual spread over the spread of its column, for intercept and slope."""
        self.passes = 0
        self.jet: Jet
        """Of the last pass, and at which covariance of the units that was."""
        self.there: Floats

    def at(self, theta: Floats) -> tuple[float, Floats, Floats]:
        """Return the criterion, its gradient and its second derivatives by factor."""
        self.passes += 1
        relative = _relative(theta, self.scale)
        self.jet, self.there = self.units.passed(relative[0]), relative[0]
        found = criterion(self.fleet, self.jet, relative)
        (s0, s1), levels = self.scale.tolist(), theta.size // 3
        by_factor, bend = np.zeros((theta.size, theta.size)), np.zeros((theta.size, theta.size))
        for i, (l11, l21, l22) in enumerate(theta.reshape(levels, 3).tolist()):
            at = slice(3 * i, 3 * i + 3)
            by_factor[at, at] = [
                [2 * s0 * s0 * l11, 0.0, 0.0],
                [s0 * s1 * l21, s0 * s1 * l11, 0.0],
                [0.0, 2 * s1 * s1 * l21, 2 * s1 * s1 * l22],
            ]
            g11, g12, g22 = found.gradient[at].tolist()
            across, along = s0 * s1 * g12, 2 * s1 * s1 * g22
            bend[at, at] = [[2 * s0 * s0 * g11, across, 0.0], [across, along, 0.0], [0.0, 0.0, along]]
        return found.deviance, found.gradient @ by_factor, by_factor.T @ found.curvature @ by_factor + bend

    def minimised(self, theta: Floats, arrived: float) -> Floats:
        """Return the best factors; the last step is taken without a pass where what it would leave is small enough."""
        value, gradient, curvature = self.at(theta)
        last = math.inf
        for _ in range(MOST):
            step, decrement = _newton(curvature, gradient, 0.5 * max(1.0, *map(abs, theta.tolist())))
            if last <= decrement < NEAR:
                return theta
            # Near the end each decrement is about the square of the one before times something.
            if decrement <= arrived or (decrement < NEAR and decrement**3 <= arrived * last**2 < math.inf):
                return theta + step
            full = True
            for _ in range(30):
                found = self.at(theta + step)
                if decrement < NEAR or found[0] <= value:
                    break
                step, full = step / 2.0, False
            theta, last = theta + step, decrement if full else math.inf
            value, gradient, curvature = found
        raise NotEnough("wear rate", "readings that settle how much units differ (the search found no end)")


def _newton(curvature: Floats, gradient: Floats, most: float) -> tuple[Floats, float]:
    """Return a Newton step that goes downhill along every direction, no longer than `most`, and the decrement."""
    values, vectors = np.linalg.eigh(curvature)
    size = np.abs(values)
    size = np.maximum(size, 1e-8 * max(size.tolist()) + 1e-12)
    along = vectors.T @ gradient
    over = along / size
    step = -(vectors @ over)
    decrement = float(along @ over)
    if values[0] < -1e-6 * size[-1]:  # a saddle: the gradient may say nothing of the way down
        step += 0.1 * vectors[:, 0] * (-1.0 if along[0] > 0 else 1.0)
        decrement = math.inf
    longest = max(map(abs, step.tolist()))
    return (step * min(1.0, most / longest) if longest else step), decrement
