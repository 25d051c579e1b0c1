"""The state of the reel: what the readings, however few, say of it, its frame, its knife and its shaft."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import lru_cache
from operator import attrgetter
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import OutOfRange, all_within, within
from sparkout.core.measured import Measured
from sparkout.core.mixture import GaussianMixture
from sparkout.core.reel.checks import consistency, least_squares, left_out, limit_of_surprise
from sparkout.core.reel.explanations import FAULTS, WORK, Priors
from sparkout.core.reel.observations import Observation, design
from sparkout.core.reel.parameters import edge_rows, mean_radius_rows, station
from sparkout.core.reel.posterior import posterior
from sparkout.core.reel.resting import PLACE_NAMES
from sparkout.core.reel.simulated import Simulated, eccentricity_draws, edge_draws, lowest_point
from sparkout.core.verdict.next_reading import separating_reading, telling_reading

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from sparkout.core.mixture import MixedQuantity
    from sparkout.core.reel.checks import Consistency, LeastSquares
    from sparkout.core.reel.geometry import Reel
    from sparkout.core.reel.parameters import Parameters
    from sparkout.core.reel.posterior import Posterior
    from sparkout.core.reel.simulated import LowestPoint
    from sparkout.core.reel.weighing import Weighed
    from sparkout.core.verdict.next_reading import Candidate, Separation

DRAWS = 2000


@dataclass(frozen=True, slots=True)
class Explanation:
    """A set of faults with its weight; how well it predicted the readings (natural log, mm) and their chi-squared.

    `chi_squared` is that of the `degrees` readings against what the explanation expected before them, priors included.
    `odd_blade` is the likeliest single odd blade when the explanation has one.
    """

    faults: tuple[str, ...]
    weight: float
    log_evidence: float
    chi_squared: float
    degrees: int
    odd_blade: int | None = None

    @property
    def work(self) -> frozenset[str]:
        """What would have to be done."""
        return frozenset(WORK[fault] for fault in self.faults)


@dataclass(frozen=True, slots=True)
class Outlier:
    """A reading that the others do not bear out: its place, label and standardised distance from what they predict."""

    index: int
    label: str
    standardised: float
    limit: float


@dataclass(frozen=True, slots=True)
class Confusion:
    """Two explanations the readings do not tell apart though they lead to different work; how to tell."""

    first: Explanation
    second: Explanation
    odds: float
    separation: Separation | None


@dataclass(frozen=True, slots=True, eq=False)
class ReelState:
    """What is known of the unit after the readings. Component i of `mixture` belongs to explanations[i].

    `outliers` are flagged, not dropped; `without_outliers` is the state had they not been taken (None without any).
    """

    reel: Reel
    observations: tuple[Observation, ...]
    priors: Priors
    mixture: GaussianMixture
    explanations: tuple[Explanation, ...]
    outliers: tuple[Outlier, ...]
    without_outliers: ReelState | None
    consistency: Consistency
    posterior: Posterior
    weighed: Weighed
    order: tuple[int, ...]

    @property
    def parameters(self) -> Parameters:
        """The parameter vector's names."""
        return self.posterior.design.parameters

    def quantity(self, what: str | NDArray[np.float64], constant: float = 0.0) -> MixedQuantity:
        """A parameter by name, or row . parameters + constant, under all explanations.

        A row may stop after the unit's own parameters.
        """
        row = self.parameters.row(what) if isinstance(what, str) else self.parameters.embed(np.asarray(what))
        return self.mixture.quantity(row, constant)

    def interval(self, what: str | NDArray[np.float64], coverage: float = 0.95) -> tuple[float, float]:
        """Interval of a linear quantity from the mixture's own quantiles, equal shares outside either end."""
        return self.quantity(what).interval(coverage)

    @property
    def mean_radius(self) -> Measured:
        """Mean radius of the whole edge, mm."""
        return self.quantity("mean radius").measured()

    @property
    def cone(self) -> Measured:
        """Cone on diameter over the blade length, right less left, mm."""
        return self.quantity("cone").measured()

    @property
    def barrel(self) -> Measured:
        """Middle radius less the line between the end radii, mm; negative is hollow."""
        return self.quantity("barrel").measured()

    @property
    def frame_out(self) -> Measured:
        """Knife mounts' line against the bearing axis, right less left over the blade length, mm."""
        return self.quantity("frame out").measured()

    @property
    def knife_bow(self) -> Measured:
        """Middle of the knife edge against the line through its ends, mm; positive is hollow."""
        return self.quantity("knife bow").measured()

    @property
    def blade_heights(self) -> tuple[Measured, ...]:
        """Height of each blade above the mean of all, mm."""
        return tuple(self.quantity(f"blade {b + 1}").measured() for b in range(self.reel.blade_count))

    def chance_of(self, fault: str) -> float:
        """Weight of all explanations that contain this fault."""
        if fault not in FAULTS:
            raise OutOfRange("fault", fault, ", ".join(FAULTS))
        return sum(e.weight for e in self.explanations if fault in e.faults)

    @property
    def resting_places(self) -> dict[str, float]:
        """How likely a resting knife touches at each of five places along the reel; empty without rest-gap readings."""
        if len(self.posterior.places) == 1:
            return {}
        chances = self.weighed.shares()[:, :, 0].sum(axis=0)
        return dict(zip(PLACE_NAMES, chances.tolist(), strict=True))

    def diameter_row(self, x: float) -> NDArray[np.float64]:
        """Row of the mean diameter at x."""
        within("x", x, 0.0, self.reel.length, "mm")
        t = station(np.array([x]), self.reel.length)
        return self.parameters.embed(2.0 * mean_radius_rows(self.reel.blade_count, t)[0])

    def diameter_at(self, x: float) -> Measured:
        """Mean diameter over all blades at x, mm."""
        return self.quantity(self.diameter_row(x)).measured()

    def radius_map(self, x: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Mean and standard deviation of r(x, b), each shape (N, S), over all explanations."""
        x = all_within("x", x, 0.0, self.reel.length, "mm")
        rows = edge_rows(self.reel, x)
        size = rows.shape[2]
        mean = self.mixture.weights @ self.mixture.means[:, :size]
        away = (self.mixture.means[:, :size] - mean) * np.sqrt(self.mixture.weights)[:, None]
        spread = np.einsum("h,hpq->pq", self.mixture.weights, self.mixture.covariances[:, :size, :size]) + away.T @ away
        variance = np.einsum("bsp,bsp->bs", rows @ spread, rows)
        return rows @ mean, np.sqrt(np.maximum(variance, 0.0))

    def draw(self, generator: np.random.Generator, draws: int = DRAWS) -> NDArray[np.float64]:
        """Reels drawn from the posterior: the unit's own parameters, shape (draws, 11 + N)."""
        within("draws", draws, 2, 10_000_000)
        size = self.parameters.of_the_reel
        m = self.mixture
        return GaussianMixture(m.weights, m.means[:, :size], m.covariances[:, :size, :size]).draw(draws, generator)

    def eccentricity(
        self, generator: np.random.Generator, draws: int = DRAWS, coverage: float = 0.95
    ) -> dict[str, Simulated]:
        """Distance of the blades' centre from the bearing axis at "left end", "middle" and "right end", mm."""
        drawn = self.draw(generator, draws)
        places = {"left end": -1.0, "middle": 0.0, "right end": 1.0}
        return {name: Simulated.of(eccentricity_draws(drawn, t), coverage) for name, t in places.items()}

    def run_out(
        self, x: float, generator: np.random.Generator, draws: int = DRAWS, coverage: float = 0.95
    ) -> Simulated:
        """Highest less lowest blade at x over one turn (circular run-out of the edges, ISO 1101 terms), mm."""
        within("x", x, 0.0, self.reel.length, "mm")
        heights = edge_draws(self.reel, self.draw(generator, draws), np.array([x]))
        return Simulated.of(np.ptp(heights, axis=(1, 2)), coverage)

    def total_run_out(
        self, generator: np.random.Generator, draws: int = DRAWS, coverage: float = 0.95, stations: int = 41
    ) -> Simulated:
        """Highest less lowest point of the whole edge about the bearing axis (total run-out, ISO 1101 terms), mm."""
        x = np.linspace(0.0, self.reel.length, int(within("stations", stations, 2, 10_000)))
        heights = edge_draws(self.reel, self.draw(generator, draws), x)
        return Simulated.of(np.ptp(heights.reshape(len(heights), -1), axis=1), coverage)

    def lowest_point(
        self, generator: np.random.Generator, draws: int = DRAWS, coverage: float = 0.95, stations: int = 41
    ) -> LowestPoint:
        """Lowest point of the whole edge, with where it lies and how sure that is."""
        x = np.linspace(0.0, self.reel.length, int(within("stations", stations, 2, 10_000)))
        return lowest_point(edge_draws(self.reel, self.draw(generator, draws), x), x, coverage)

    def generalised_least_squares(self, explanation: int = 0) -> LeastSquares:
        """Least squares without priors on what explanations[explanation] frees; names what is not determined."""
        which = self.order[int(within("explanation", explanation, 0, len(self.order) - 1))]
        return least_squares(self.posterior, self.posterior.design.values, which, *self.weighed.leading(which))

    def cannot_tell_apart(self, candidates: Sequence[Candidate] = (), odds: float = 10.0) -> tuple[Confusion, ...]:
        """Pairs of explanations within `odds` of the leading one that lead to different work, likeliest pair first.

        Each comes with the candidate reading that separates the two best (None without candidates).
        """
        within("odds", odds, 1.0, 1e6)
        near = [i for i, e in enumerate(self.explanations) if e.weight * odds > self.explanations[0].weight]
        found = []
        for place, i in enumerate(near):
            for j in near[place + 1 :]:
                first, second = self.explanations[i], self.explanations[j]
                if first.work == second.work:
                    continue
                best = telling_reading(separating_reading(self.mixture, (i, j), candidates))
                found.append(Confusion(first, second, first.weight / second.weight, best))
        return tuple(sorted(found, key=lambda c: -c.first.weight * c.second.weight))


def reel_state(
    reel: Reel,
    observations: Sequence[Observation],
    priors: Priors | None = None,
    *,
    outlier_level: float = 0.01,
) -> ReelState:
    """State of the reel from any set of readings, none included.

    Equation: see `posterior`; each explanation's weight is its prior times the marginal likelihood of the readings. A
    reading is flagged when its standardised distance from what all others predict under the leading explanation has
    less than `outlier_level` chance, over all readings together, of being so large; the farthest is set aside
    first and the rest judged anew.

    Raises
    ------
    OutOfRange, Contradiction
        As `design`.

    Validity: as `posterior`; priors from the workshop's own limits.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> from sparkout.core.reel.observations import Observation
    >>> tape = [Observation(f"tape at {x}", "radius", x, r, 0.02) for x, r in ((0, 63.5), (266.5, 63.4), (533, 63.3))]
    >>> state = reel_state(Reel(11, 127.0, 533.0), tape)
    >>> state.explanations[0].faults, round(state.cone.value, 2)
    (('cone',), -0.4)

    References
    ----------
    Normal linear model, own working; JCGM 101 for what is simulated.
    """
    within("outlier_level", outlier_level, 1e-9, 0.5)
    chosen = Priors.from_limits() if priors is None else priors
    kept = list(range(len(observations)))
    outliers: list[Outlier] = []
    parts = _weighed(reel, observations, chosen)
    trimmed = parts
    while len(kept) > max(3, len(observations) // 2):
        worst = _worst(trimmed, outlier_level)
        if worst is None:
            break
        index = kept.pop(worst[0])
        outliers.append(Outlier(index, observations[index].label, worst[1], worst[2]))
        trimmed = _weighed(reel, [observations[i] for i in kept], chosen)
    left = tuple(observations[i] for i in kept)
    without = _state(reel, left, chosen, trimmed, (), None) if outliers else None
    return _state(reel, tuple(observations), chosen, parts, tuple(outliers), without)


def _weighed(reel: Reel, observations: Sequence[Observation], priors: Priors) -> Weighed:
    made = _posterior(reel, _Places(observations), priors)
    values = np.array([o.value for o in observations], dtype=np.float64)
    made = replace(made, design=replace(made.design, values=values))
    return made.weigh(values[None])


class _Places:
    """Observations as part of a key: the same when nothing but the values read differs."""

    __slots__ = ("key", "observations")

    def __init__(self, observations: Sequence[Observation]) -> None:
        self.observations = observations
        self.key = tuple(map(_all_but_the_value, observations))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Places) and self.key == other.key

    def __hash__(self) -> int:
        return hash(self.key)


_all_but_the_value = attrgetter(*(field.name for field in fields(Observation) if field.name != "value"))


@lru_cache(6)
def _posterior(reel: Reel, places: _Places, priors: Priors) -> Posterior:
    """Remembered: a reading corrected changes none of it."""
    return posterior(design(places.observations, reel), reel, priors)


def _worst(weighed: Weighed, level: float) -> tuple[int, float, float] | None:
    """Index, standardised distance and limit of the reading that fits least, if it is beyond the limit."""
    leader = int(weighed.weights()[0].argmax())
    values = weighed.posterior.design.values
    standardised = left_out(weighed.posterior, values, *weighed.leading(leader))
    limit = limit_of_surprise(len(values), level)
    worst = int(np.abs(standardised).argmax())
    return (worst, float(standardised[worst]), limit) if abs(standardised[worst]) > limit else None


def _state(
    reel: Reel,
    observations: tuple[Observation, ...],
    priors: Priors,
    weighed: Weighed,
    outliers: tuple[Outlier, ...],
    without: ReelState | None,
) -> ReelState:
    made = weighed.posterior
    weights, means, covariances = weighed.moments()
    order = np.argsort(-np.round(weights, 12), kind="stable")  # equal weights keep one order on every machine
    evidence = weighed.log_evidence()[0]
    explained = []
    for h in order:
        alternative, place = weighed.leading(int(h))
        blade = int(made.blade[alternative])
        chi = float(weighed.chi_squared[alternative, place, 0])
        explained.append(
            Explanation(
                made.faults[h],
                float(weights[h]),
                float(evidence[h]),
                chi,
                len(observations),
                blade if blade >= 0 else None,
            )
        )
    first = int(order[0])
    fit = least_squares(made, made.design.values, first, *weighed.leading(first))
    mixture = GaussianMixture(weights[order], means[order], covariances[order])
    return ReelState(
        reel,
        observations,
        priors,
        mixture,
        tuple(explained),
        outliers,
        without,
        consistency(fit),
        made,
        weighed,
        tuple(int(h) for h in order),
    )
