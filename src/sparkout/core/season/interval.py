"""When to sharpen: the interval that costs least an hour, and how much it matters."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from scipy.special import gammainc, gammaln

from sparkout.core.errors import within


@dataclass(frozen=True, slots=True)
class BestInterval:
    """The interval with the least cost an hour; `hours` is infinite when waiting for the edge to go is cheapest."""

    hours: float
    cost: float
    """Cost an hour at the best interval."""
    within_low: float
    within_high: float
    """Between these intervals the cost is at most `allowed` above the best: how flat the optimum is."""
    allowed: float


def cost_an_hour(
    hours: float,
    characteristic_life: float,
    shape: float,
    planned: float,
    unplanned: float,
    blunt_per_hour: float = 0.0,
) -> float:
    """Return the long-run cost an hour of sharpening every `hours`, or when the edge goes before.

    Renewal reward: (planned R(t) + unplanned F(t)) / ∫R, R(t) = exp(−(t/η)^k); with `blunt_per_hour` b the edge is not
    sharpened when it goes but cut with until the interval is over, at b for each hour cut blunt:
    (planned + b ∫F) / t.

    Parameters
    ----------
    hours, characteristic_life : h, above 0
    shape : Weibull shape, above 0
    planned, unplanned : money
        Cost of a sharpening at its time, and of one that came by itself (with the cut spoilt, the hire, the overtime).
    blunt_per_hour : money an hour
        Above 0: blunt edges are found only at the next sharpening.

    Examples
    --------
    >>> round(cost_an_hour(493.047, 1000, 2.5, 1, 5), 8)
    0.00346204

    Raises
    ------
    OutOfRange
        Naming the argument.
    Source: Barlow and Hunter 1960 (age replacement), as quoted in our notes.
    """
    within("hours", hours, 0.0, math.inf, unit="h", above=True)
    _checked(characteristic_life, shape, planned, unplanned, blunt_per_hour)
    kept = _survival_integral(hours, characteristic_life, shape)
    if blunt_per_hour > 0:
        return (planned + blunt_per_hour * (hours - kept)) / hours
    survives = math.exp(-((hours / characteristic_life) ** shape))
    return (planned * survives + unplanned * (1.0 - survives)) / kept


def best_interval(
    characteristic_life: float,
    shape: float,
    planned: float,
    unplanned: float = 0.0,
    blunt_per_hour: float = 0.0,
    allowed: float = 0.05,
) -> BestInterval:
    """Return the sharpening interval that costs least an hour, with the range that costs hardly more.

    Parameters as `cost_an_hour`; `allowed` is the share above the least cost that counts as hardly more.

    Examples
    --------
    >>> found = best_interval(1000, 2.5, 1, 5)
    >>> round(found.hours, 2), round(found.within_low), round(found.within_high)
    (493.05, 375, 649)

    Raises
    ------
    OutOfRange
        Naming the argument.
    Validity: every sharpening makes the edge as good as new; costs do not change. With a shape of 1 or less, or a
    sharpening that came by itself no dearer than a planned one, there is no best interval but to wait: infinite hours.
    """
    _checked(characteristic_life, shape, planned, unplanned, blunt_per_hour)
    within("allowed", allowed, 0.0, 1.0, above=True)

    def cost(log_hours: float) -> float:
        return cost_an_hour(math.exp(log_hours), characteristic_life, shape, planned, unplanned, blunt_per_hour)

    low, high = (math.log(characteristic_life) + math.log(factor) for factor in (1e-4, 1e3))
    grid = np.linspace(low, high, 400)
    costs = np.array([cost(g) for g in grid])
    at = int(np.argmin(costs))
    forever = costs[-1]
    if at == grid.size - 1 or costs[at] >= forever * (1.0 - 1e-9):
        enough = grid[np.argmax(costs <= forever * (1.0 + allowed))]
        return BestInterval(math.inf, float(forever), math.exp(float(enough)), math.inf, allowed)
    from scipy.optimize import brentq, minimize_scalar

    found = minimize_scalar(
        cost, bounds=(grid[max(at - 1, 0)], grid[at + 1]), method="bounded", options={"xatol": 1e-10}
    )
    best, least = float(found.x), float(found.fun)
    limit = least * (1.0 + allowed)

    def above(log_hours: float) -> float:
        return cost(log_hours) - limit

    earliest = float(brentq(above, low, best)) if above(low) > 0 else -math.inf
    latest = float(brentq(above, best, high)) if above(high) > 0 else math.inf
    return BestInterval(math.exp(best), least, math.exp(earliest), math.exp(latest), allowed)


def cost_curve(
    best: BestInterval,
    characteristic_life: float,
    shape: float,
    planned: float,
    unplanned: float = 0.0,
    blunt_per_hour: float = 0.0,
    points: int = 120,
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return hours and cost an hour along the curve about the best interval, for a picture of how flat it is.

    From half the shortest to twice the longest interval that costs hardly more; up to three characteristic lives where
    waiting is cheapest.

    Examples
    --------
    >>> hours, costs = cost_curve(best_interval(1000, 2.5, 1, 5), 1000, 2.5, 1, 5, points=50)
    >>> 480 < hours[costs.index(min(costs))] < 510
    True

    Raises
    ------
    OutOfRange
        Naming the argument.
    """
    within("points", points, 3, 2000)
    low = 0.5 * best.within_low if best.within_low > 0.0 else 0.05 * characteristic_life
    high = 2.0 * best.within_high if math.isfinite(best.within_high) else 3.0 * max(characteristic_life, low)
    hours = np.linspace(low, high, points).tolist()
    costs = [cost_an_hour(h, characteristic_life, shape, planned, unplanned, blunt_per_hour) for h in hours]
    return tuple(hours), tuple(costs)


def _survival_integral(hours: float, eta: float, shape: float) -> float:
    """Return ∫₀ᵗ exp(−(x/η)^k) dx = η/k Γ(1/k) P(1/k, (t/η)^k)."""
    a = 1.0 / shape
    return float(eta * a * math.exp(gammaln(a)) * gammainc(a, (hours / eta) ** shape))


def _checked(eta: float, shape: float, planned: float, unplanned: float, blunt: float) -> None:
    within("characteristic_life", eta, 0.0, math.inf, unit="h", above=True)
    within("shape", shape, 0.0, 50.0, above=True)
    within("planned", planned, 0.0, math.inf, above=True)
    within("unplanned", unplanned, 0.0, math.inf)
    within("blunt_per_hour", blunt, 0.0, math.inf)
