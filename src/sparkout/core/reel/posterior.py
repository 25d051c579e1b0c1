"""What any set of readings makes of the reel: a Gaussian posterior under every explanation, all at once.

With whitened readings y and rows A, and parameters T S z with z ~ N(0, 1), the posterior of z and the marginal
likelihood of y follow from one orthogonal factorisation of [A T S; 1]; nothing is ever squared, so priors a million
times wider than a gauge's uncertainty do no harm. The readings are first rotated into at most P numbers, so the cost
per explanation does not grow with their count. Everything but the values is worked out once per design.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import Refusal
from sparkout.core.reel.explanations import UNEVEN_SHARE, contact_sd, explanations, log_prior, scales
from sparkout.core.reel.parameters import FIRST_BLADE, MEAN_RADIUS, sum_zero_basis
from sparkout.core.reel.resting import PLACES, log_quadrant, shape_rows, wedges

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.explanations import Priors
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.reel.observations import Design

NO_BLADE, UNEVEN = -1, -2

_NEGLIGIBLE = 25.0
"""Log weight below the best at which the place of contact is no longer asked about."""


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Everything about a design that does not depend on the values read.

    A alternatives (an explanation, or an explanation with one named odd blade) x K places where a resting knife
    touches. `gains` (A, K, P, m) and `covariances` (A, K, P, P) are over the named parameters; `owner` (A,) is each
    alternative's explanation, `blade` (A,) its odd blade (NO_BLADE, UNEVEN or 0 .. N-1).
    """

    design: Design
    faults: tuple[tuple[str, ...], ...]
    owner: NDArray[np.int_]
    blade: NDArray[np.int_]
    places: NDArray[np.float64]
    prior_mean: NDArray[np.float64]
    coordinates: NDArray[np.float64]
    """T S for each alternative, (A, P, P' + 1); the last column is the single odd blade's."""
    gains: NDArray[np.float64]
    covariances: NDArray[np.float64]
    rotation: NDArray[np.float64]
    remainder: NDArray[np.float64]
    odd_direction: NDArray[np.float64]
    base: NDArray[np.int_]
    log_prior: NDArray[np.float64]
    log_constant: NDArray[np.float64]

    def whitened(self, place: int) -> NDArray[np.float64]:
        """Rows over the named parameters divided by each reading's u, (n, P), for one place of contact."""
        return self.design.rows_touching(float(self.places[place])) / self.design.u[:, None]

    def surprises(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Values (M, n) less what the prior mean predicts, over u."""
        predicted = self.design.rows_touching(0.0) @ self.prior_mean + self.design.constants
        whitened: NDArray[np.float64] = (values - predicted) / self.design.u
        return whitened

    def weigh(self, values: NDArray[np.float64]) -> Weighed:
        """Weights and means for each of M sets of values, shape (M, n), read by this design.

        Raises
        ------
        Refusal
            When the values do not match the design's readings or are not finite.
        """
        count = len(self.design.values)
        if values.ndim != 2 or values.shape[1] != count or not np.isfinite(values).all():
            raise Refusal(f"values of shape {values.shape} do not fit; wanted: finite numbers, (draws, {count})")
        y = self.surprises(values)
        if not count:
            y = np.zeros((len(values), 1))
        turned = y @ self.rotation
        left = y - turned @ self.rotation.transpose(0, 2, 1)
        beyond = np.einsum("kmn,kmn->km", left, left)
        bases, places = self.remainder.shape[:2]
        chi = np.empty((bases, places, len(y)))
        for b in range(bases):  # one base at a time keeps 10,000 draws in cache
            rest = turned @ self.remainder[b]
            chi[b] = np.einsum("kmi,kmi->km", rest, rest)
        chi += beyond
        odd = np.einsum("kmi,aki->akm", turned, self.odd_direction, optimize=True)
        chi_squared = chi[self.base]
        chi_squared[len(self.base) - len(odd) :] -= odd**2
        logs = self.log_constant[:, :, None] - 0.5 * chi_squared
        if places > 1:
            self._ask_where_it_touches(logs, turned)
        return Weighed(self, turned, logs, chi_squared)

    def _ask_where_it_touches(self, logs: NDArray[np.float64], turned: NDArray[np.float64]) -> None:
        """Add, in place, the log chance that the least gap really is where each component takes it."""
        rows = wedges() @ shape_rows(self.design.parameters.count)
        gains = rows @ self.gains
        spread = rows @ self.covariances @ rows.transpose(0, 2, 1)
        means = gains @ turned.transpose(0, 2, 1)  # (A, K, 2, M)
        a, k, m = np.nonzero(logs > logs.max(axis=(0, 1)) - _NEGLIGIBLE)
        logs[a, k, m] += log_quadrant(means[a, k, :, m], spread[a, k])


@dataclass(frozen=True, slots=True, eq=False)
class Weighed:
    """M sets of values weighed: log weights and chi-squared of the readings (A, K, M), rotated values (K, M, m)."""

    posterior: Posterior
    turned: NDArray[np.float64]
    logs: NDArray[np.float64]
    chi_squared: NDArray[np.float64]

    def shares(self) -> NDArray[np.float64]:
        """Weights of all components, (A, K, M), summing to one over A and K."""
        scaled: NDArray[np.float64] = np.exp(self.logs - self.logs.max(axis=(0, 1)))
        scaled /= scaled.sum(axis=(0, 1))
        return scaled

    def log_evidence(self) -> NDArray[np.float64]:
        """Log marginal likelihood of the readings under each explanation, (M, H), natural, values in mm."""
        post = self.posterior
        out = np.empty((self.logs.shape[2], len(post.faults)))
        for h in range(len(post.faults)):
            out[:, h] = np.logaddexp.reduce(self.logs[post.owner == h], axis=(0, 1))
        return out - post.log_prior

    def weights(self) -> NDArray[np.float64]:
        """Weight of each explanation, (M, H)."""
        total: NDArray[np.float64] = np.einsum("ha,akm->mh", self._membership(), self.shares())
        return total

    def along(self, rows: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Weights (M, H), means (M, H, Q) and standard deviations of rows . parameters, rows (Q, P)."""
        post = self.posterior
        shares = self.shares()
        weights = np.einsum("ha,akm->mh", self._membership(), shares)
        gains = np.einsum("qp,akpi->akqi", rows, post.gains, optimize=True)
        means = np.einsum("akqi,kmi->akqm", gains, self.turned, optimize=True)
        variances = np.einsum("qp,akpr,qr->akq", rows, post.covariances, rows, optimize=True)
        sizes = np.maximum(weights, 1e-300).T[:, None]
        mixed = np.zeros((len(post.faults), len(rows), self.logs.shape[2]))
        squares = np.zeros_like(mixed)
        for a, h in enumerate(post.owner):
            mixed[h] += np.einsum("km,kqm->qm", shares[a], means[a])
        mixed /= sizes
        for a, h in enumerate(post.owner):
            squares[h] += np.einsum("km,kqm->qm", shares[a], (means[a] - mixed[h]) ** 2 + variances[a][:, :, None])
        centre = (rows @ post.prior_mean)[:, None]
        return weights, (mixed + centre).transpose(2, 0, 1), np.sqrt(squares / sizes).transpose(2, 0, 1)

    def moments(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Weights (H,), means (H, P), covariances (H, P, P) of the first set of values, alternatives merged."""
        post = self.posterior
        shares = self.shares()[:, :, 0]
        means = np.einsum("akpi,ki->akp", post.gains, self.turned[:, 0], optimize=True)
        weights = np.empty(len(post.faults))
        merged = np.empty((len(post.faults), means.shape[2]))
        covariances = np.empty((*merged.shape, means.shape[2]))
        for h in range(len(weights)):
            mine = post.owner == h
            part, of = shares[mine], means[mine]
            weights[h] = part.sum()
            part = _relative(self.logs[mine, :, 0])
            merged[h] = np.einsum("ak,akp->p", part, of)
            away = (of - merged[h]) * np.sqrt(part)[:, :, None]
            between = np.einsum("akp,akq->pq", away, away, optimize=True)
            covariances[h] = np.einsum("ak,akpq->pq", part, post.covariances[mine], optimize=True) + between
        return weights, merged + post.prior_mean, covariances

    def leading(self, explanation: int) -> tuple[int, int]:
        """The heaviest alternative and place of contact of one explanation, for the first set of values."""
        mine = np.flatnonzero(self.posterior.owner == explanation)
        alternative, place = np.unravel_index(np.argmax(self.logs[mine, :, 0]), (mine.size, self.logs.shape[1]))
        return int(mine[alternative]), int(place)

    def _membership(self) -> NDArray[np.float64]:
        owners: NDArray[np.bool_] = np.arange(len(self.posterior.faults))[:, None] == self.posterior.owner
        return owners.astype(np.float64)


def _relative(logs: NDArray[np.float64]) -> NDArray[np.float64]:
    scaled: NDArray[np.float64] = np.exp(logs - logs.max())
    scaled /= scaled.sum()
    return scaled


def posterior(design: Design, reel: Reel, priors: Priors) -> Posterior:
    """Posterior of the unit's parameters under every explanation, ready for any values of these readings.

    Equations: y = A T S z + noise, z ~ N(0, 1); [A T S; 1] = Q R gives the posterior of z as R^-1 Q1' y with covariance
    R^-1 R^-T, and log p(y) = -(n log 2 pi + 2 log|R| + |Q2' y|²)/2 - sum log u. One odd blade b of height a more is the
    rank-one case: its column v adds log(1 + |Q2' v|²) and takes (v . Q2 Q2' y)²/(1 + |Q2' v|²) from chi-squared.

    Validity: linear model, normal noise; that a resting knife touches the highest blade, not the mean one, enters as an
    uncertainty only (explanations.contact_sd); where it touches is taken at one of five places.

    Examples
    --------
    >>> from sparkout.core.reel.explanations import Priors
    >>> from sparkout.core.reel.geometry import Reel
    >>> from sparkout.core.reel.observations import Observation, design
    >>> reel = Reel(11, 127.0, 533.0)
    >>> tape = [Observation(f"tape {x}", "radius", x, r, 0.02) for x, r in ((0.0, 63.5), (266.5, 63.3), (533.0, 63.1))]
    >>> made = posterior(design(tape, reel), reel, Priors.from_limits())
    >>> weights = made.weigh(made.design.values[None]).weights()[0]
    >>> made.faults[int(weights.argmax())]
    ('cone',)

    References
    ----------
    Normal linear model, own working; checked in the tests against the dense marginal covariance formula.
    """
    faults = explanations(priors.most_faults)
    with_odd = [i for i, chosen in enumerate(faults) if "odd blade" in chosen]
    blades, count = reel.blade_count, design.parameters.count
    sds = _scales(design, priors, faults, with_odd, blades)
    places = PLACES if design.resting.any() else np.zeros(1)
    white = np.stack([design.rows_touching(float(t)) for t in places]) / design.u[:, None]
    if not len(design.values):
        white = np.zeros((1, 1, count))
    basis = _basis(design, blades)
    made = _factorised(white, basis, sds)
    column = np.zeros((blades, count))
    column[:, design.parameters.blades] = (np.eye(blades) - 1.0 / blades) * priors.odd_blade.worn
    odd = _with_one_odd_blade(made, column, basis, len(faults))

    log_faults = log_prior(priors, faults)
    owner = np.concatenate([np.arange(len(faults)), np.repeat(with_odd, blades)]).astype(np.int_)
    base = np.concatenate([np.arange(len(faults)), np.repeat(len(faults) + np.arange(len(with_odd)), blades)])
    blade = np.concatenate([np.full(len(faults), NO_BLADE), np.tile(np.arange(blades), len(with_odd))])
    blade[with_odd] = UNEVEN
    share = np.full(len(owner), np.log((1.0 - UNEVEN_SHARE) / blades))
    share[: len(faults)] = np.where(blade[: len(faults)] == UNEVEN, np.log(UNEVEN_SHARE), 0.0)
    constant = (log_faults[owner] + share)[:, None] - 0.5 * made.log_det[base]
    constant[len(faults) :] -= 0.5 * odd.log_det
    constant -= 0.5 * len(design.values) * np.log(2.0 * np.pi) + np.log(design.u).sum()

    mean = np.zeros(count)
    mean[MEAN_RADIUS] = reel.radius if priors.mean_radius is None else priors.mean_radius
    coordinates = np.zeros((len(owner), count, count))
    coordinates[:, :, :-1] = basis * sds[base][:, None, :]
    coordinates[len(faults) :, :, -1] = np.tile(column, (len(with_odd), 1))
    return Posterior(
        design=design,
        faults=faults,
        log_prior=log_faults,
        owner=owner,
        blade=blade,
        base=base.astype(np.int_),
        places=places,
        prior_mean=mean,
        coordinates=coordinates,
        gains=np.concatenate([made.gains[: len(faults)], odd.gains]),
        covariances=np.concatenate([made.covariances[: len(faults)], odd.covariances]),
        rotation=made.rotation,
        remainder=made.remainder,
        odd_direction=odd.direction,
        log_constant=constant,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Factors:
    rotation: NDArray[np.float64]
    compressed: NDArray[np.float64]
    gains: NDArray[np.float64]
    covariances: NDArray[np.float64]
    remainder: NDArray[np.float64]
    log_det: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class _OddBlades:
    gains: NDArray[np.float64]
    covariances: NDArray[np.float64]
    direction: NDArray[np.float64]
    log_det: NDArray[np.float64]


def _basis(design: Design, blades: int) -> NDArray[np.float64]:
    """From coordinates to named parameters, (P, P - 1): blade heights have one coordinate fewer than blades."""
    count = design.parameters.count
    basis = np.zeros((count, count - 1))
    basis[:FIRST_BLADE, :FIRST_BLADE] = np.eye(FIRST_BLADE)
    basis[design.parameters.blades, FIRST_BLADE : FIRST_BLADE + blades - 1] = sum_zero_basis(blades)
    basis[design.parameters.of_the_reel :, FIRST_BLADE + blades - 1 :] = np.eye(len(design.nuisance_sd))
    return basis


def _factorised(white: NDArray[np.float64], basis: NDArray[np.float64], sds: NDArray[np.float64]) -> _Factors:
    """Rotate the readings into few numbers per place, then factorise every row of sds at every place."""
    rotation, compressed = np.linalg.qr(white @ basis)
    size, wide = compressed.shape[1:]
    stacked = np.zeros((len(sds), len(white), size + wide, wide))
    stacked[:, :, :size] = compressed * sds[:, None, None, :]
    stacked[:, :, size:] = np.eye(wide)
    q, r = np.linalg.qr(stacked, mode="complete")
    r = r[:, :, :wide]
    factor = (basis * sds[:, None, :])[:, None] @ np.linalg.inv(r)
    return _Factors(
        rotation=rotation,
        compressed=compressed,
        gains=factor @ q[:, :, :size, :wide].transpose(0, 1, 3, 2),
        covariances=factor @ factor.transpose(0, 1, 3, 2),
        remainder=q[:, :, :size, wide:],
        log_det=2.0 * np.log(np.abs(np.einsum("bkii->bki", r))).sum(axis=2),
    )


def _with_one_odd_blade(
    made: _Factors, column: NDArray[np.float64], basis: NDArray[np.float64], first: int
) -> _OddBlades:
    """Add one blade's extra height (column (N, P), one standard deviation of it) to every base from `first` on."""
    seen = (made.compressed @ (basis.T @ column.T)).transpose(0, 2, 1)
    rest = made.remainder[first:]
    shadow = seen @ rest
    squared = 1.0 + np.einsum("bknj,bknj->bkn", shadow, shadow)
    pull = shadow @ rest.transpose(0, 1, 3, 2) / squared[..., None]
    shift = column - seen @ made.gains[first:].transpose(0, 1, 3, 2)
    gains = made.gains[first:, :, None] + shift[..., :, None] * pull[..., None, :]
    spread = shift[..., :, None] * (shift / squared[..., None])[..., None, :]
    return _OddBlades(
        gains=_blades_first(gains),
        covariances=_blades_first(made.covariances[first:, :, None] + spread),
        direction=_blades_first(pull * np.sqrt(squared)[..., None]),
        log_det=np.log(_blades_first(squared)),
    )


def _blades_first(array: NDArray[np.float64]) -> NDArray[np.float64]:
    """(bases, K, N, ...) to (bases x N, K, ...)."""
    moved = np.moveaxis(array, 2, 1)
    return np.ascontiguousarray(moved).reshape(-1, *moved.shape[2:])


def _scales(
    design: Design, priors: Priors, faults: tuple[tuple[str, ...], ...], with_odd: list[int], blades: int
) -> NDArray[np.float64]:
    """Standard deviation of every coordinate: a row per explanation, then one per explanation with one odd blade."""
    rows = []
    for chosen, even in [*((f, False) for f in faults), *((faults[i], True) for i in with_odd)]:
        of_unit = scales(priors, tuple(f for f in chosen if not (even and f == "odd blade")), blades)
        nuisance = np.where(design.touching, contact_sd(priors, chosen), design.nuisance_sd)
        rows.append(np.concatenate([of_unit, nuisance]))
    return np.array(rows)
