"""How often 90 % forecast intervals hold, on 20,000 simulated units, and how much is lost when wear is not as modelled.

The truth is simulated on to the limit reading by reading, by code that shares nothing with the forecast. What is lost
under heavy tails, unrecorded grinds and wandering wear is measured and stands here as bounds, not as a promise.
"""

import numpy as np
import pytest

from sparkout.core.season.unit_sums import Readings
from sparkout.core.season.wear import Ahead, Fleet, fleet_wear, reached

UNITS, GROUPS, PER, NOW, LIMIT = 20_000, 40, 9, 900.0, 122.0
STEP = 20.0


def covered(kind, seed=11):
    """Share of units whose hours to the limit lie between the chances of 5 and 95 %."""
    rng = np.random.default_rng(seed)
    group = np.arange(UNITS) * GROUPS // UNITS
    step = STEP
    grid = np.arange(0.0, 9_000.0, step)
    rate = 0.002 + rng.normal(0, 0.0002, GROUPS)[group] + rng.normal(0, 0.0003, UNITS)
    start = 127 + rng.normal(0, 0.2, GROUPS)[group] + rng.normal(0, 0.3, UNITS)
    hours = np.sort(rng.uniform(0, NOW, (UNITS, PER)), axis=1)
    noise = rng.normal(0, 0.05, hours.shape)
    if kind == "heavy tails":
        noise = 0.05 * rng.standard_t(3, hours.shape) / np.sqrt(3)
    extra_now, extra = np.zeros(UNITS), np.zeros(hours.shape)
    wander = None
    if kind == "unrecorded grinds":
        ground = rng.uniform(size=UNITS) < 0.1
        at = rng.uniform(0, NOW, UNITS)
        size = np.where(ground, 0.3, 0.0)
        extra, extra_now = size[:, None] * (hours > at[:, None]), size
    if kind == "random walk":
        wander = 0.005
    reached_at = np.full(UNITS, np.inf)
    path, seen = start.copy(), np.empty(hours.shape)
    for h in grid:
        inside = (hours >= h) & (hours < h + step)
        seen = np.where(inside, path[:, None] - rate[:, None] * (hours - h), seen)
        after = path - rate * step
        if wander is not None:
            after -= rng.normal(0, wander * np.sqrt(step / 10), UNITS)
        if h >= NOW:
            level, below = path - extra_now, after - extra_now
            new = (below <= LIMIT) & np.isinf(reached_at)
            part = np.clip((level - LIMIT) / np.maximum(level - below, 1e-12), 0, 1)
            reached_at[new] = (h - NOW + step * part)[new]
        path = after
    value = seen - extra + noise
    unit = np.repeat(np.arange(UNITS), PER)
    nothing = np.zeros((0, unit.size))
    readings = Readings(unit, hours.ravel(), value.ravel(), np.zeros(unit.size), nothing)
    wear = fleet_wear(readings, Fleet(group.astype(np.intp), np.zeros(GROUPS, dtype=np.intp)))
    none = np.zeros(UNITS)
    ahead = Ahead(np.full(UNITS, NOW), none, none, none, none, np.zeros((0, UNITS)), np.zeros((0, UNITS)))
    low, high = reached(wear, ahead, LIMIT, (0.05, 0.95)).hours
    return float(np.mean((reached_at >= low) & (reached_at <= high)))


def test_ninety_per_cent_intervals_hold_in_88_to_92_per_cent():
    assert covered("as modelled") == pytest.approx(0.90, abs=0.02)


# Measured with this seed: heavy tails 91.9 %, unrecorded grinds in a tenth of the units 86.3 %, random walk 80.4 %.
@pytest.mark.parametrize(
    ("kind", "least", "most"),
    [("heavy tails", 0.90, 0.94), ("unrecorded grinds", 0.84, 0.88), ("random walk", 0.78, 0.83)],
)
def test_what_is_lost_when_wear_is_not_as_modelled(kind, least, most):
    """The bounds are our own measurement, 2 points either way: they guard the loss stated, they promise nothing."""
    assert least <= covered(kind) <= most
