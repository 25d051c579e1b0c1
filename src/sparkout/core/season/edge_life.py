"""Hours between sharpenings: Weibull regression with lives that were still running (right-censored)."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtri

from sparkout.core.errors import Contradiction, NotEnough, all_within, within
from sparkout.core.phrase import phrase

Floats: TypeAlias = NDArray[np.float64]
_MOST_STEPS = 100


@dataclass(frozen=True, slots=True)
class EdgeLife:
    """Fitted lives: log T = x·coefs + scale·W, W the standard least extreme value; `names` of the columns of x."""

    names: tuple[str, ...]
    coefs: Floats
    scale: float
    covariance: Floats
    """Of the coefficients and of log scale, in that order."""
    log_likelihood: float
    ended: int
    """Lives that ended; the others were still running."""
    running: int
    ended_with: tuple[int, ...]
    """By column, the ended lives for which it is not 0."""

    @property
    def shape(self) -> float:
        """Weibull shape, 1/scale: above 1 an edge wears out, at 1 it only meets accidents."""
        return 1.0 / self.scale

    def life(self, x: ArrayLike, survive: float = 0.5) -> float:
        """Return the hours that a share `survive` of edges of the kind `x` still has; the median for 0.5."""
        within("survive", survive, 0.0, 1.0, above=True)
        return float(math.exp(np.asarray(x) @ self.coefs + self.scale * math.log(-math.log(survive))))

    def characteristic_life(self, x: ArrayLike) -> float:
        """Return the Weibull scale parameter in hours for edges of the kind `x`."""
        return float(math.exp(np.asarray(x) @ self.coefs))

    def gone(self, x: ArrayLike, age: float) -> float:
        """Return the share of edges of the kind `x` that have gone by `age` hours, 1 − exp(−(age/η)^k)."""
        within("age", age, 0.0, math.inf, unit="h")
        return -math.expm1(-((age / self.characteristic_life(x)) ** self.shape))

    def remaining(self, x: ArrayLike, age: float, survive: float = 0.5) -> float:
        """Return the further hours that a share `survive` of edges already `age` hours old has.

        t with exp((age/η)^k − ((age + t)/η)^k) = survive.
        """
        within("age", age, 0.0, math.inf, unit="h")
        eta = self.characteristic_life(x)
        spent = (age / eta) ** self.shape
        return float(eta * (spent - math.log(survive)) ** self.scale - age)


@dataclass(frozen=True, slots=True)
class Compared:
    """Two ways of working: how many times as long an edge lasts with the second as with the first."""

    ratio: float
    low: float
    high: float
    told_apart: bool
    more_sharpenings: int
    """Sharpenings still needed, shared between the two, to tell a difference of the size `to_tell`; 0 when told."""
    to_tell: float
    """The ratio that those sharpenings would tell from 1."""


def edge_life(hours: ArrayLike, ended: ArrayLike, x: ArrayLike, names: Sequence[str]) -> EdgeLife:
    """Return the Weibull regression of hours between sharpenings by maximum likelihood.

    l = Σ ended (z − log σ − log t) − Σ exp z, z = (log t − x·b)/σ; Newton's method with the exact second derivatives.

    Parameters
    ----------
    hours : (n,) h
        Hours on the edge when it was sharpened, or so far.
    ended : (n,) bool
        True where the edge was blunt and sharpened; False where it was still running, or sharpened for another reason.
    x : (n, p)
        Columns: a column of ones, then 0/1 for each way of working, sandings per 100 h and the like.
    names : p names
        Of the columns, for errors and for telling.

    Raises
    ------
    OutOfRange
        Hours not above 0.
    NotEnough
        No ended life, or none that tells of a column.
    Contradiction
        Columns that copy one another.

    Examples
    --------
    >>> found = edge_life([20, 30, 40, 50], [True, True, True, False], [[1]] * 4, ["all"])
    >>> round(found.life([1]), 1)
    36.7

    Validity: lives independent of one another given x; what ends an observation early has nothing to do with how blunt
    the edge was.

    Source: Kalbfleisch and Prentice, The Statistical Analysis of Failure Time Data, section 2.2 (from memory).
    """
    t = np.asarray(hours, dtype=np.float64)
    all_within("hours", t, 0.0, math.inf, above=True, unit="h")
    done = np.asarray(ended, dtype=np.bool_)
    columns = np.asarray(x, dtype=np.float64).reshape(t.size, -1)
    if not done.any():
        raise NotEnough(phrase("edge life"), phrase("at least one edge that was sharpened because it was blunt"))
    _told(columns, done, names)
    y, p = np.log(t), columns.shape[1]
    solved, *_ = np.linalg.lstsq(columns, y, rcond=None)
    theta = np.append(solved, math.log(max(float(np.std(y - columns @ solved)), 0.05)))
    value, gradient, curvature = _likelihood(theta, y, done, columns)
    for _ in range(_MOST_STEPS):
        step = _uphill(gradient, curvature)
        if float(gradient @ step) < 1e-20 * max(1.0, abs(value)):
            break
        while True:
            new = _likelihood(theta + step, y, done, columns)
            if new[0] >= value - 1e-12 * abs(value):
                break
            step = step / 2.0
        theta = theta + step
        value, gradient, curvature = new
    else:
        raise NotEnough(phrase("edge life"), phrase("lives that settle it (the search found no end)"))
    return EdgeLife(
        tuple(names),
        theta[:p],
        math.exp(theta[p]),
        np.asarray(np.linalg.inv(-curvature), dtype=np.float64),
        value - float(y[done].sum()),
        int(done.sum()),
        int((~done).sum()),
        tuple(int(n) for n in np.count_nonzero(columns[done], axis=0)),
    )


def _told(columns: Floats, done: NDArray[np.bool_], names: Sequence[str]) -> None:
    """Refuse columns that no ended life tells of, or that copy one another."""
    for column, name in zip(columns.T, names, strict=True):
        two_kinds = np.unique(column).size == 2
        if two_kinds and min(np.sum(done & (column == kind)) for kind in np.unique(column)) == 0:
            raise NotEnough(
                phrase("edge life by {name}", name=name), phrase("an ended life of each kind of {name}", name=name)
            )
    if np.linalg.matrix_rank(columns) < columns.shape[1]:
        raise Contradiction(list(names), phrase("these always change together, so their effects cannot be told apart"))


def _likelihood(theta: Floats, y: Floats, done: NDArray[np.bool_], x: Floats) -> tuple[float, Floats, Floats]:
    """Return log likelihood (of log t), its gradient and second derivatives in (coefs, log σ)."""
    p, sigma = x.shape[1], math.exp(theta[-1])
    z = np.clip((y - x @ theta[:p]) / sigma, -700.0, 30.0)
    e = np.exp(z)
    value = float(np.sum(z[done] - theta[-1]) - e.sum())
    slope = e - done  # −∂l/∂z
    gradient = np.append(x.T @ slope / sigma, float(slope @ z - done.sum()))
    second = np.empty((p + 1, p + 1))
    second[:p, :p] = -(x.T * e) @ x / sigma**2
    second[p, :p] = second[:p, p] = -x.T @ (e * z + slope) / sigma
    second[p, p] = -float(np.sum(e * z * z + slope * z))
    return value, gradient, second


def _uphill(gradient: Floats, curvature: Floats) -> Floats:
    values, vectors = np.linalg.eigh(-curvature)
    size = np.maximum(np.abs(values), 1e-8 * np.abs(values).max())
    step = vectors @ ((vectors.T @ gradient) / size)
    return np.asarray(step * min(1.0, 1.0 / float(np.abs(step).max() or 1.0)))


def compared(
    life: EdgeLife, name: str, to_tell: float = 1.25, confidence: float = 0.95, power: float = 0.8
) -> Compared:
    """Return how an edge lasts with a way of working against without it, and what would tell if nothing does yet.

    ratio = exp(coef), interval exp(coef ± z·u). Further sharpenings k, shared evenly, shrink u² in proportion to
    1/(n + k/2) + 1/(m + k/2) of the ended lives on either side; wanted is u = log(to_tell)/(z + z_power).

    Parameters
    ----------
    name : one of `life.names`
        A 0/1 column; of one that is never 0, a count, the ratio is that of one more, and further sharpenings are taken
        to spread over it as those so far.
    to_tell : ratio above 1
        The least difference worth telling; the ratio found is used instead where it is larger.

    Examples
    --------
    >>> lives = edge_life([20, 30, 40, 50, 60, 80], [True] * 6, [[1, 0]] * 3 + [[1, 1]] * 3, ["all", "relief"])
    >>> compared(lives, "relief").told_apart
    True

    Raises
    ------
    OutOfRange
        `to_tell` not above 1.
    Source: normal approximation of maximum likelihood; coverage by simulation in the tests.
    """
    within("to_tell", to_tell, 1.0, 100.0, above=True)
    at = life.names.index(name)
    effect, u = float(life.coefs[at]), math.sqrt(float(life.covariance[at, at]))
    z = _quantile(0.5 + confidence / 2.0)
    low, high = effect - z * u, effect + z * u
    told = low > 0.0 or high < 0.0
    wanted = max(abs(effect), math.log(to_tell)) / (z + _quantile(power))
    without = life.ended - life.ended_with[at]
    more = 0 if told else _more(u / wanted, life.ended_with[at], without) if without else _spread(u / wanted, life)
    return Compared(
        math.exp(effect),
        math.exp(low),
        math.exp(high),
        told,
        more,
        math.exp(max(abs(effect), math.log(to_tell))),
    )


def _quantile(share: float) -> float:
    return float(ndtri(share))


def _spread(shrink: float, life: EdgeLife) -> int:
    """Return the further ended lives, spread as those so far, that make an effect's uncertainty so much smaller."""
    return max(1, math.ceil(life.ended * (shrink**2 - 1.0)))


def _more(shrink: float, with_it: int, without: int) -> int:
    """Return the further ended lives, half on either side, that make an effect's uncertainty `shrink` times smaller.

    1/(n + k/2) + 1/(m + k/2) = (1/n + 1/m)/shrink²: a quadratic in k/2.
    """
    aim = (1.0 / with_it + 1.0 / without) / shrink**2
    both = with_it + without
    half = (2.0 - aim * both + math.sqrt((aim * both - 2.0) ** 2 - 4.0 * aim * (aim * with_it * without - both))) / (
        2.0 * aim
    )
    return max(1, math.ceil(2.0 * half))
