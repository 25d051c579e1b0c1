"""Learning the grinder from its own before and after: its give, its wheel's loss; and prediction against result."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.grinding.passes import left_map, simulate
from sparkout.core.grinding.wheel import wheel_loss
from sparkout.core.measured import Measured, coverage_factor
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

_GRID = 121
_LEAST_GIVE = 0.02


@dataclass(frozen=True, slots=True)
class WheelReadings:
    """Wheel diameter before the grind and after it, if it was read, and the width of its rim, mm."""

    before: Measured
    after: Measured | None
    width: float


@dataclass(frozen=True, slots=True)
class Learned:
    """What one grind told about the grinder; posterior means and standard deviations."""

    give: Measured
    g_ratio: Measured
    wheel_loss: Measured | None
    """Of wheel radius as read, mm."""
    volume: Measured
    """Steel removed, mm^3."""
    told_of_give: bool
    """Whether the readings took at least a tenth off the doubt about the give; long spark-outs hide it."""
    told_of_wheel: bool
    chi_squared: float
    """Misfit of the as-left readings at the learnt give."""
    readings: int
    fits: bool
    """Whether the misfit is no larger than chance would have it (99.9 %, normal approximation)."""


@dataclass(frozen=True, slots=True)
class Compared:
    """One prediction against its result; `deviation` is the difference over its own standard uncertainty."""

    name: str
    predicted: Measured
    measured: Measured
    difference: Measured
    deviation: float
    consistent: bool
    """Whether the difference lies within its 95 % uncertainty."""


def learn_grinder(
    infeeds: Sequence[float],
    as_found: ArrayLike,
    as_left: ArrayLike,
    *,
    as_left_u: ArrayLike,
    land_area: Measured,
    give: Measured,
    g_ratio: Measured,
    as_found_u: float = 0.0,
    shared_u: float = 0.0,
    touch_u: float = 0.0,
    wheel: WheelReadings | None = None,
) -> Learned:
    """Give and G-ratio of this grinder after one grind, each from a grid posterior in one dimension.

    Give: p(kappa | as left) ~ N(kappa; prior) x N(as left; simulated(kappa), V), where V holds each reading's own
    variance, u_left^2 + (A u_found)^2; what moves all readings alike (gauge datum); and what moves the wheel
    (touch-off, highest point, wheel loss), which a point shows by 1 - A. A(kappa) is what survives of a point's height.
    G-ratio: p(G | loss) ~ N(G; prior), G > 0, x N(loss; V / (G pi D b), u). Grids of 121, narrowed twice.

    Parameters
    ----------
    infeeds : sequence of float
        As dialled before each pass, radial, mm, from first touch of the highest point; 0 is spark-out.
    as_found, as_left : array (N, S)
        Radius maps in one datum, mm; as_left may hold NaN where nothing was read.
    as_left_u : float or array (N, S)
        Standard uncertainty of each as-left reading, mm.
    land_area : Measured
        Land times edge length of all blades, mm^2.
    give, g_ratio : Measured
        What was believed before.
    as_found_u : float
        Standard uncertainty of a point of the map as found, mm.
    shared_u : float
        Standard uncertainty common to all as-left readings against those as found (gauge datum), mm.
    touch_u : float
        Standard uncertainty of the wheel's place at first touch (dial, feel of the touch), mm.
    wheel : WheelReadings, optional
        Without its diameter after, the G-ratio stays as believed and the loss is reckoned from it; without any of it
        the wheel is taken not to have lost anything to speak of.

    Raises
    ------
    NotEnough
        Without an as-left reading or an infeed.
    OutOfRange
        For any argument outside its range.

    Notes
    -----
    The loss of the wheel is spread over the infeed passes as the volume is. kappa shows only in what is left standing:
    after a long spark-out (1 - kappa)^m is far below any gauge, and the posterior is the prior, as it should be.

    >>> found = np.full((8, 5), 60.0)
    >>> left = found - 0.7 * 0.05
    >>> told = learn_grinder([0.05], found, left, as_left_u=0.001, land_area=Measured(4000.0, 100.0),
    ...                      give=Measured(0.6, 0.2), g_ratio=Measured(60.0, 20.0))
    >>> round(told.give.value, 2), told.told_of_give, told.told_of_wheel
    (0.7, True, False)

    References: Bayes' rule on a grid; model of the give common practice, no source.
    """
    feeds = all_within("infeeds", list(infeeds), 0.0, 1.0, "mm")
    if feeds.ndim != 1 or not bool(np.any(feeds > 0.0)):
        raise NotEnough(phrase("The grinder's give"), phrase("the infeed dialled before each pass"))
    found = all_within("as_found", as_found, 10.0, 400.0, "mm")
    left, sds, heights = _read_points(found, as_left, as_left_u)
    within("as_found_u", as_found_u, 0.0, 5.0, "mm")
    within("shared_u", shared_u, 0.0, 5.0, "mm")
    within("touch_u", touch_u, 0.0, 5.0, "mm")
    within("give", give.value, _LEAST_GIVE, 1.0)
    within("g_ratio", g_ratio.value, 0.0, 1e5, above=True)

    volume = _volume(heights - left, sds, as_found_u, shared_u, land_area)
    loss, told_ratio = _wheel(wheel, volume, g_ratio)
    lost = loss if loss is not None else _believed_loss(volume, g_ratio, wheel)
    path = _wheel_path(float(found.max()), feeds, found, give.value, lost.value)
    wheel_u = math.sqrt(touch_u**2 + as_found_u**2 + lost.u**2)
    grind = _Grind(heights, left, sds, path, as_found_u, shared_u, wheel_u)
    told_give = _posterior(give, grind.log_likelihood, _LEAST_GIVE, 1.0)
    misfit = float(grind.misfit(np.array([told_give.value]))[0][0])
    return Learned(
        give=told_give,
        g_ratio=told_ratio,
        wheel_loss=loss,
        volume=volume,
        told_of_give=told_give.u < 0.9 * give.u,
        told_of_wheel=told_ratio.u < 0.9 * g_ratio.u,
        chi_squared=misfit,
        readings=left.size,
        fits=misfit <= left.size + 3.1 * math.sqrt(2.0 * left.size),
    )


@dataclass(frozen=True, slots=True)
class _Grind:
    """The as-left readings of one grind against what a give would have left."""

    heights: Array
    left: Array
    sds: Array
    path: Array
    found_u: float
    shared_u: float
    wheel_u: float

    def log_likelihood(self, kappa: Array) -> Array:
        misfit, log_det = self.misfit(kappa)
        return -0.5 * (misfit + log_det)

    def misfit(self, kappa: Array) -> tuple[Array, Array]:
        """r' V^-1 r and log det V for each of (K,) gives; V = diag + F F', F of two columns (Woodbury)."""
        end = self.path[-1]
        touches = np.searchsorted(self.path[::-1], self.heights)
        slope, lift = left_map((self.path - end).tolist(), kappa)
        survives = slope[touches].T
        residual = (self.left - end) - (survives * (self.heights - end) + lift[touches].T)
        variance = self.sds**2 + (self.found_u * survives) ** 2
        columns = np.stack([np.full_like(survives, self.shared_u), self.wheel_u * (1.0 - survives)], axis=1)
        weighed = columns / variance[:, None, :]
        core = np.eye(2) + weighed @ columns.transpose(0, 2, 1)
        along = (weighed @ residual[:, :, None])[:, :, 0]
        explained = np.einsum("ki,ki->k", along, np.linalg.solve(core, along[:, :, None])[:, :, 0])
        own = np.sum(residual**2 / variance, axis=1)
        return own - explained, np.sum(np.log(variance), axis=1) + np.log(np.linalg.det(core))


def _read_points(found: Array, as_left: ArrayLike, as_left_u: ArrayLike) -> tuple[Array, Array, Array]:
    left = np.asarray(as_left, dtype=np.float64)
    if left.shape != found.shape or found.ndim != 2:
        raise OutOfRange("as_left", left.shape, phrase("the shape of as_found, {shape}", shape=found.shape))
    read = ~np.isnan(left)
    if not read.any():
        raise NotEnough(phrase("The grinder's give"), phrase("at least one reading of the reel as left"))
    all_within("as_left", left[read], 10.0, 400.0, "mm")
    sds = all_within("as_left_u", as_left_u, 0.0, 5.0, "mm", above=True)
    if sds.shape not in ((), found.shape):
        raise OutOfRange("as_left_u", sds.shape, phrase("one number or {shape}", shape=found.shape))
    return left[read], np.broadcast_to(sds, found.shape)[read], found[read]


def _volume(removed: Array, sds: Array, as_found_u: float, shared_u: float, land_area: Measured) -> Measured:
    mean = max(0.0, float(removed.mean()))
    alone = float(np.sum(sds**2 + as_found_u**2)) / sds.size**2
    u_mean = math.sqrt(alone + shared_u**2)
    return Measured(mean * land_area.value, math.hypot(u_mean * land_area.value, mean * land_area.u))


def _wheel(wheel: WheelReadings | None, volume: Measured, g_ratio: Measured) -> tuple[Measured | None, Measured]:
    if wheel is None or wheel.after is None:
        return None, g_ratio
    loss = Measured(0.5 * (wheel.before.value - wheel.after.value), 0.5 * math.hypot(wheel.before.u, wheel.after.u))
    if volume.value == 0.0 or loss.u == 0.0:
        raise OutOfRange("wheel", loss.u, phrase("wheel diameters with an uncertainty, and some steel removed"), "mm")
    rim = math.pi * wheel.before.value * within("wheel width", wheel.width, 0.5, 300.0, "mm")

    def log_likelihood(ratio: Array) -> Array:
        model = volume.value / (ratio * rim)
        variance = loss.u**2 + (model * volume.u / volume.value) ** 2
        told: Array = -0.5 * ((loss.value - model) ** 2 / variance + np.log(variance))
        return told

    most = g_ratio.value + 8.0 * g_ratio.u
    return loss, _posterior(g_ratio, log_likelihood, min(0.01 * g_ratio.value, most), most)


def _believed_loss(volume: Measured, g_ratio: Measured, wheel: WheelReadings | None) -> Measured:
    """Loss of radius reckoned from the G-ratio believed; nothing when the wheel's size is not known."""
    if wheel is None:
        return Measured(0.0, 0.0)
    loss = wheel_loss(volume.value, g_ratio.value, wheel.before.value, wheel.width)
    return Measured(loss, loss * g_ratio.u / g_ratio.value)


def _wheel_path(highest: float, feeds: Array, found: Array, give: float, lost: float) -> Array:
    """Position of the wheel's rim in each pass: the dial, less what the wheel had lost by then."""
    dial = highest - np.cumsum(feeds)
    bites = simulate(found, dial, give).mean_bite * (feeds > 0.0)
    before = np.concatenate([[0.0], np.cumsum(bites)[:-1]])
    share = before / bites.sum() if bites.sum() > 0.0 else before
    path: Array = np.minimum.accumulate(dial + lost * share)
    return path


def _posterior(prior: Measured, log_likelihood: Callable[[Array], Array], low: float, high: float) -> Measured:
    """Mean and standard deviation of normal prior x likelihood between the bounds, on a grid narrowed twice."""
    if prior.u == 0.0:
        return prior
    mean, sd = prior.value, prior.u
    for reach in (6.0, 8.0, 8.0):
        grid = np.linspace(max(low, mean - reach * sd), min(high, mean + reach * sd), _GRID)
        log_density = log_likelihood(grid) - 0.5 * ((grid - prior.value) / prior.u) ** 2
        weight = np.exp(log_density - log_density.max())
        weight[[0, -1]] *= 0.5
        weight /= weight.sum()
        mean = float(weight @ grid)
        sd = max(math.sqrt(float(weight @ (grid - mean) ** 2)), 0.25 * float(grid[1] - grid[0]))
    return Measured(mean, sd)


def prediction_against_result(
    predicted: Mapping[str, Measured], measured: Mapping[str, Measured]
) -> tuple[Compared, ...]:
    """Each quantity that was both predicted and measured: difference, and that over its uncertainty.

    d = measured - predicted, u = sqrt(u_p^2 + u_m^2); consistent when |d| is within the 95 % coverage of u.

    Raises
    ------
    NotEnough
        When nothing was both predicted and measured.

    >>> row, = prediction_against_result({"diameter": Measured(124.18, 0.02)}, {"diameter": Measured(124.21, 0.03)})
    >>> round(row.deviation, 3), row.consistent
    (0.832, True)

    References: normalised difference as in comparisons of measurements; JCGM 100:2008 5.1.2 for its uncertainty,
    the two taken as independent.
    """
    both = [name for name in predicted if name in measured]
    if not both:
        raise NotEnough(
            phrase("How the grind agrees with its plan"), phrase("an as-left reading of something the plan predicted")
        )
    return tuple(_compared(name, predicted[name], measured[name]) for name in both)


def _compared(name: str, predicted: Measured, measured: Measured) -> Compared:
    difference = Measured(measured.value - predicted.value, math.hypot(measured.u, predicted.u))
    if difference.u > 0.0:
        deviation = difference.value / difference.u
    else:
        deviation = 0.0 if difference.value == 0.0 else math.copysign(math.inf, difference.value)
    return Compared(name, predicted, measured, difference, deviation, abs(deviation) <= coverage_factor(0.95))
