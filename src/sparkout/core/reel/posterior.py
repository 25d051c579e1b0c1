"""What any set of readings makes of the reel: a Gaussian posterior under every explanation, all at once.

With whitened readings y and rows A, and parameters T S z with z ~ N(0, 1), the posterior of z and the marginal
likelihood of y follow from one orthogonal factorisation of [S T' A'; 1], so priors a million times wider than a gauge's
uncertainty do no harm. The readings are first rotated into at most P numbers, so the cost per explanation does not
grow with their count. Only gaps under a resting knife hang on where it touches: what all others make of the reel is
factorised once for all places, and the gaps come as further columns of each. Everything but the values is worked out
once per design.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.core.reel.explanations import UNEVEN_SHARE, contact_sd, explanations, log_prior, scales
from sparkout.core.reel.parameters import FIRST_BLADE, MEAN_RADIUS, sum_zero_basis
from sparkout.core.reel.resting import PLACES
from sparkout.core.reel.weighing import NO_BLADE, UNEVEN, Weighed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.reel.explanations import Priors
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.reel.observations import Design


@dataclass(frozen=True, slots=True, eq=False)
class OddBlades:
    """One blade's extra height, as one standard column more on a base; alternatives (base, blade) counted together.

    `columns` (N, P): one standard deviation of each blade's height. `shadow` (bases, K, N, m): the column as the
    rotated readings see it, whitened by all else known. `squared` = 1 + |shadow|². `shift` (bases x N, K, P): how the
    named parameters move per unit of the column.
    """

    base: NDArray[np.int_]
    columns: NDArray[np.float64]
    shadow: NDArray[np.float64]
    squared_by_base: NDArray[np.float64]
    squared: NDArray[np.float64]
    shift: NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """Everything about a design that does not depend on the values read.

    H explanations x K places where a resting knife touches are the bases, over the P named parameters. Alternatives
    (A): first the explanations themselves (blades all even, or all uneven where one has an odd blade), then each
    explanation with one named odd blade, which is a base and one column more.
    """

    design: Design
    faults: tuple[tuple[str, ...], ...]
    log_prior: NDArray[np.float64]
    places: NDArray[np.float64]
    prior_mean: NDArray[np.float64]
    scaled: NDArray[np.float64]
    """T S: from standard coordinates to named parameters, (H, P, P - 1)."""
    rotation: NDArray[np.float64]
    """From whitened readings to rotated numbers, (n, m): rest gaps stand last, as they are."""
    remainder: NDArray[np.float64]
    """W (H, K, m, m) with W W' the inverse covariance of the rotated numbers."""
    factor: NDArray[np.float64]
    """F (H, K, P, m): posterior mean F W' y, covariance prior - F F'."""
    covariances: NDArray[np.float64]
    """Posterior covariance of each base, (H, K, P, P)."""
    odd: OddBlades
    owner: NDArray[np.int_]
    """Each alternative's explanation, (A,)."""
    base: NDArray[np.int_]
    """Each alternative's base, (A,)."""
    blade: NDArray[np.int_]
    """Each alternative's odd blade, (A,): NO_BLADE, UNEVEN or 0 .. N-1."""
    log_constant: NDArray[np.float64]

    def whitened(self, place: int) -> NDArray[np.float64]:
        """Rows over the named parameters divided by each reading's u, (n, P), for one place of contact."""
        return self.design.rows_touching(float(self.places[place])) / self.design.u[:, None]

    def surprises(self, values: NDArray[np.float64]) -> NDArray[np.float64]:
        """Values (M, n) less what the prior mean predicts, over u."""
        predicted = self.design.rows_touching(0.0) @ self.prior_mean + self.design.constants
        whitened: NDArray[np.float64] = (values - predicted) / self.design.u
        return whitened

    def coordinates(self, alternative: int) -> NDArray[np.float64]:
        """From standard normal coordinates to named parameters, (P, P); the last column is the single odd blade's."""
        column = np.zeros((self.scaled.shape[1], 1))
        if self.blade[alternative] >= 0:
            column[:, 0] = self.odd.columns[self.blade[alternative]]
        return np.hstack([self.scaled[self.base[alternative]], column])

    def covariance(self, alternative: int, place: int) -> NDArray[np.float64]:
        """Posterior covariance of the named parameters, (P, P), under one alternative at one place of contact."""
        known: NDArray[np.float64] = self.covariances[self.base[alternative], place]
        i = alternative - len(self.faults)
        if i < 0:
            return known
        shift = self.odd.shift[i, place]
        widened: NDArray[np.float64] = known + np.outer(shift, shift) / self.odd.squared[i, place]
        return widened

    def weigh(self, values: NDArray[np.float64]) -> Weighed:
        """Weights and means for each of M sets of values, shape (M, n), read by this design.

        Raises
        ------
        Refusal
            When the values do not match the design's readings or are not finite.
        """
        count = len(self.design.values)
        if values.ndim != 2 or values.shape[1] != count or not np.isfinite(values).all():
            raise Refusal(
                phrase(
                    "values of shape {shape} do not fit; wanted: finite numbers, (draws, {count})",
                    shape=values.shape,
                    count=count,
                )
            )
        y = self.surprises(values) if count else np.zeros((len(values), 1))
        turned = y @ self.rotation
        left = y - turned @ self.rotation.T
        rest = turned @ self.remainder
        pull = self.odd.shadow @ rest[self.odd.base].transpose(0, 1, 3, 2)
        heights = _blades_first(pull / self.odd.squared_by_base[..., None])
        chi = np.einsum("hkmi,hkmi->hkm", rest, rest) + np.einsum("mn,mn->m", left, left)
        chi_squared = chi[self.base]
        chi_squared[len(self.faults) :] -= heights * heights * self.odd.squared[..., None]
        weighed = Weighed(self, rest, heights, self.log_constant[:, :, None] - 0.5 * chi_squared, chi_squared)
        if len(self.places) > 1:
            weighed.ask_where_it_touches()
        return weighed

    def diagnose(
        self, values: NDArray[np.float64], rows: NDArray[np.float64], chunk: int = 200
    ) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Weights (M, H), means and standard deviations (M, H, Q) of rows . parameters for any number of value sets.

        `weigh` and `along` in chunks that stay in cache, so that ten thousand draws need no more memory than one chunk.

        Raises
        ------
        Refusal
            As `weigh`.
        """
        parts = [self.weigh(values[i : i + chunk]).along(rows) for i in range(0, max(len(values), 1), chunk)]
        weights, means, sds = (np.concatenate(part) for part in zip(*parts, strict=True))
        return weights, means, sds


def posterior(design: Design, reel: Reel, priors: Priors) -> Posterior:
    """Posterior of the unit's parameters under every explanation, ready for any values of these readings.

    Equations: y = A T S z + noise, z ~ N(0, 1). With [(A T S)'; 1] = [F; W] R, columns of [F; W] orthonormal, the
    covariance of y is R' R and W = R^-1, so z has mean F W' y and covariance 1 - F F', and
    log p(y) = -(n log 2 pi + 2 log|R| + |W' y|²)/2 - sum log u. One odd blade is the rank-one case: with s = W' v,
    v its column, it adds log(1 + |s|²) to the log determinant and takes (s . W' y)²/(1 + |s|²) from chi-squared.

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
    blades, count = reel.blade_count, design.parameters.count
    resting = design.resting
    places = PLACES if resting.any() else np.zeros(1)
    basis, sds = _basis(design, blades), _scales(design, priors, faults, blades)
    scaled = basis * sds[:, None, :]
    white = np.stack([design.rows_touching(float(t)) for t in places]) / design.u[:, None]
    if not len(design.values):
        white, resting = np.zeros((1, 1, count)), np.zeros(1, dtype=np.bool_)
    turned, compressed = np.linalg.qr(white[0, ~resting] @ basis)
    rotation = _beside(turned, resting)
    factor, remainder, covariances, log_det = _factorised(scaled, sds, compressed, white[:, resting] @ basis)

    single = [(h, faults.index(_without_odd(chosen))) for h, chosen in enumerate(faults) if "odd blade" in chosen]
    seen = np.concatenate([turned.T @ white[:, ~resting], white[:, resting]], axis=1)
    odd = _odd_blades(design, priors, np.array([base for _, base in single], dtype=np.int_), seen, remainder, factor)
    log_faults = log_prior(priors, faults)
    every = np.arange(len(faults))
    owner = np.concatenate([every, np.repeat([h for h, _ in single], blades)]).astype(np.int_)
    base = np.concatenate([every, np.repeat(odd.base, blades)]).astype(np.int_)
    uneven = np.isin(every, owner[len(faults) :])
    blade = np.concatenate([np.where(uneven, UNEVEN, NO_BLADE), np.tile(np.arange(blades), len(single))]).astype(
        np.int_
    )
    share = np.full(len(owner), np.log((1.0 - UNEVEN_SHARE) / blades))
    share[: len(faults)] = np.where(uneven, np.log(UNEVEN_SHARE), 0.0)
    constant = (log_faults[owner] + share)[:, None] - 0.5 * log_det[base]
    constant[len(faults) :] -= 0.5 * np.log(odd.squared)
    constant -= 0.5 * len(design.values) * np.log(2.0 * np.pi) + np.log(design.u).sum()

    mean = np.zeros(count)
    mean[MEAN_RADIUS] = reel.radius if priors.mean_radius is None else priors.mean_radius
    return Posterior(
        design=design,
        faults=faults,
        log_prior=log_faults,
        places=places,
        prior_mean=mean,
        scaled=scaled,
        rotation=rotation,
        remainder=remainder,
        factor=factor,
        covariances=covariances,
        odd=odd,
        owner=owner,
        base=base,
        blade=blade,
        log_constant=constant,
    )


def _beside(turned: NDArray[np.float64], resting: NDArray[np.bool_]) -> NDArray[np.float64]:
    """Rotation of all readings: `turned` for those that do not rest, the others as they are, behind."""
    size = turned.shape[1]
    rotation = np.zeros((len(resting), size + int(resting.sum())))
    rotation[~resting, :size] = turned
    rotation[resting, size:] = np.eye(int(resting.sum()))
    return rotation


def _factorised(
    scaled: NDArray[np.float64], sds: NDArray[np.float64], first: NDArray[np.float64], more: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """F, W, the posterior covariance and log|R|² of every base.

    `first` (m, P - 1) are the rotated rows alike for all places, `more` (K, k, P - 1) those of each place, over
    coordinates. Their columns of [(A S)'; 1] are made orthogonal to the first ones by projection; done twice, that
    is as good as a reflection, for the 1 in each keeps what remains from vanishing.
    """
    (explanations, wide), size, (places, added) = sds.shape, len(first), more.shape[:2]
    stacked = np.empty((explanations, wide + size, size))
    stacked[:, :wide], stacked[:, wide:] = first.T * sds[:, :, None], np.eye(size)
    q, r = np.linalg.qr(stacked)
    factor = np.empty((explanations, places, scaled.shape[1], size + added))
    remainder = np.zeros((explanations, places, size + added, size + added))
    factor[..., :size] = (scaled @ q[:, :wide])[:, None]
    remainder[:, :, :size, :size] = q[:, None, wide:]
    log_det = np.broadcast_to(_log_square(r)[:, None], (explanations, places))
    known = factor[:, 0, :, :size]
    covariances = (scaled @ scaled.transpose(0, 2, 1) - known @ known.transpose(0, 2, 1))[:, None]
    if not added:
        return factor, remainder, covariances, log_det
    columns = np.zeros((explanations, places, wide + size + added, added))
    columns[:, :, :wide] = more.transpose(0, 2, 1) * sds[:, None, :, None]
    columns[:, :, wide + size :] = np.eye(added)
    for _ in range(2):
        along = q.transpose(0, 2, 1)[:, None] @ columns[:, :, : wide + size]
        columns[:, :, : wide + size] -= q[:, None] @ along
    q, r = np.linalg.qr(columns)
    own = scaled[:, None] @ q[:, :, :wide]
    factor[..., size:], remainder[..., size:] = own, q[:, :, wide:]
    taken = own @ own.transpose(0, 1, 3, 2)
    return factor, remainder, np.subtract(covariances, taken, out=taken), log_det + _log_square(r)


def _log_square(triangular: NDArray[np.float64]) -> NDArray[np.float64]:
    """Natural log of the squared determinant of triangular matrices."""
    return 2.0 * np.log(np.abs(np.einsum("...ii->...i", triangular))).sum(axis=-1)  # type: ignore[no-any-return]


def _without_odd(faults: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(fault for fault in faults if fault != "odd blade")


def _basis(design: Design, blades: int) -> NDArray[np.float64]:
    """From coordinates to named parameters, (P, P - 1): blade heights have one coordinate fewer than blades."""
    count = design.parameters.count
    basis = np.zeros((count, count - 1))
    basis[:FIRST_BLADE, :FIRST_BLADE] = np.eye(FIRST_BLADE)
    basis[design.parameters.blades, FIRST_BLADE : FIRST_BLADE + blades - 1] = sum_zero_basis(blades)
    basis[design.parameters.of_the_reel :, FIRST_BLADE + blades - 1 :] = np.eye(len(design.nuisance_sd))
    return basis


def _scales(design: Design, priors: Priors, faults: tuple[tuple[str, ...], ...], blades: int) -> NDArray[np.float64]:
    """Standard deviation of every coordinate under every explanation, (H, P - 1)."""
    units, contacts = _expected(priors, faults, blades)
    nuisances = np.where(design.touching, contacts[:, None], design.nuisance_sd)
    return np.concatenate([units, nuisances], axis=1)


@lru_cache(64)
def _expected(
    priors: Priors, faults: tuple[tuple[str, ...], ...], blades: int
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """What every explanation lets the unit's coordinates be, (H, 10 + N), and a contact, (H,).

    Remembered: the same before any reading.
    """
    units = np.array([scales(priors, chosen, blades) for chosen in faults])
    contacts = np.array([contact_sd(priors, chosen) for chosen in faults])
    units.flags.writeable = contacts.flags.writeable = False
    return units, contacts


def _odd_blades(
    design: Design,
    priors: Priors,
    base: NDArray[np.int_],
    rows: NDArray[np.float64],
    remainder: NDArray[np.float64],
    factor: NDArray[np.float64],
) -> OddBlades:
    """One blade's extra height on each of the bases; rows (K, m, P) are the rotated readings' over named parameters."""
    blades = design.parameters.blade_count
    columns = np.zeros((blades, design.parameters.count))
    columns[:, design.parameters.blades] = (np.eye(blades) - 1.0 / blades) * priors.odd_blade.worn
    shadow = (columns @ rows.transpose(0, 2, 1)) @ remainder[base]
    squared = 1.0 + np.einsum("bknm,bknm->bkn", shadow, shadow)
    shift = columns - shadow @ factor[base].transpose(0, 1, 3, 2)
    return OddBlades(base, columns, shadow, squared, _blades_first(squared), _blades_first(shift))


def _blades_first(array: NDArray[np.float64]) -> NDArray[np.float64]:
    """(bases, K, N, ...) to (bases x N, K, ...)."""
    moved = np.moveaxis(array, 2, 1)
    return np.ascontiguousarray(moved).reshape(-1, *moved.shape[2:])
