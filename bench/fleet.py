"""Fit and forecast of a fleet of a million units and nine million readings, and of 500 units beside a general library.

Two baselines of reading: each array summed once in memory, and each read once from its file (in the page cache), which
is what any programme that starts from files pays before it has computed anything.
"""

from __future__ import annotations

import tempfile
import warnings
from pathlib import Path

import numpy as np
from bench.timing import Line, in_turn

from sparkout.core.season.unit_sums import Readings
from sparkout.core.season.wear import Ahead, Fleet, fleet_wear, reached

UNITS, READINGS, GROUPS, WORKSHOPS = 1_000_000, 9, 600, 200
SMALL, EACH = 500, 20
"""Units beside the library, and how often they are fitted for each fit of the library's: one takes a few ms only."""


def fleet_of(units: int, groups: int, workshops: int, seed: int = 5) -> tuple[Readings, Fleet]:
    """An invented fleet; its units in the order of their groups."""
    rng = np.random.default_rng(seed)
    group = np.arange(units) * groups // units
    work = np.arange(groups) * workshops // groups
    hours = np.sort(rng.uniform(0, 900, (units, READINGS)), axis=1)
    rate = 0.0015 + (rng.normal(0, 0.0002, groups) + rng.normal(0, 0.0002, workshops)[work])[group]
    rate += rng.normal(0, 0.0003, units)
    start = 127 + (rng.normal(0, 0.2, groups) + rng.normal(0, 0.1, workshops)[work])[group] + rng.normal(0, 0.3, units)
    removed = 0.3 * np.floor(hours / 250)
    value = start[:, None] - rate[:, None] * hours - removed + rng.normal(0, 0.05, hours.shape)
    unit = np.repeat(np.arange(units, dtype=np.intp), READINGS)
    readings = Readings(unit, hours.ravel(), value.ravel(), removed.ravel(), np.zeros((0, unit.size)))
    return readings, Fleet(group.astype(np.intp), work.astype(np.intp))


def ahead_of(units: int) -> Ahead:
    """900 hours on each, a grind every 250 hours to come."""
    often, size, none = np.full(units, 1 / 250), np.full(units, 0.3), np.zeros((0, units))
    return Ahead(np.full(units, 900.0), np.full(units, 0.9), often, size, np.full(units, 0.05), none, none)


def lines(rounds: int) -> list[Line]:
    """Time a large fleet beside reading its arrays, and a small one beside statsmodels' MixedLM."""
    return [*large(rounds), *small(min(rounds, 3))]


def large(rounds: int, units: int = UNITS) -> list[Line]:
    """Fit and forecast of a large fleet."""
    readings, fleet = fleet_of(units, GROUPS, WORKSHOPS)
    to_come = ahead_of(units)
    arrays = (readings.unit, readings.hours, readings.value, readings.removed)
    with tempfile.TemporaryDirectory() as folder:
        paths = [Path(folder) / f"{i}.npy" for i in range(len(arrays))]
        for path, array in zip(paths, arrays, strict=True):
            np.save(path, array)

        def read() -> None:
            for array in arrays:
                array.sum()

        def from_file() -> None:
            for path in paths:
                np.load(path)

        def fitted() -> None:
            reached(fleet_wear(readings, fleet), to_come, 121.0)

        first, second, whole = "the arrays read once, in memory", "the arrays read once, from files", "fit and forecast"
        timed = in_turn({first: read, second: from_file, whole: fitted}, rounds)
    size = f"{units:,} units, {units * READINGS:,} readings"
    return [
        Line(f"{first} ({size})", timed[first], timed[first]),
        Line(f"{second}", timed[second], timed[first]),
        Line(f"{whole}, against reading in memory", timed[whole], timed[first], at_most=25),
        Line(f"{whole}, against reading from files", timed[whole], timed[second], at_most=25),
    ]


def small(rounds: int) -> list[Line]:
    """500 units beside a general mixed-model library, at estimates equal to six digits."""
    from statsmodels.regression.mixed_linear_model import MixedLM

    readings, fleet = fleet_of(SMALL, 1, 1)
    hours = (readings.hours - readings.hours.mean()) / 100.0  # the library needs columns of like size
    level = readings.value + readings.removed
    x = np.column_stack([np.ones(hours.size), hours])

    def other() -> None:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            model = MixedLM(level - level.mean(), x, readings.unit, exog_re=x)
            found.append(model.fit(reml=True, method="bfgs", gtol=1e-8))

    def own() -> None:
        mine[:] = [fleet_wear(readings, fleet) for _ in range(EACH)]

    found, mine = [], []
    name, library = f"{SMALL} units, fit and every unit's line", "statsmodels MixedLM, the same"
    timed = in_turn({name: own, library: other}, rounds)
    timed[name] = timed[name].scaled(1 / EACH)
    ours, theirs = mine[0].fitted, found[0]
    apart = [
        abs(mine[0].fixed[1] * 100 / theirs.fe_params[1] - 1),
        abs(ours.residual_variance / theirs.scale - 1),
        float(np.abs(ours.level_covariances[0] * [[1, 100], [100, 1e4]] / np.asarray(theirs.cov_re) - 1).max()),
    ]
    return [
        Line(name, timed[name], timed[name]),
        Line(f"{library} (largest relative difference {max(apart):.1g})", timed[library], timed[name], at_least=1000),
    ]


if __name__ == "__main__":
    import sys

    from bench.timing import table

    sys.stdout.write(table(large(3)) + "\n" + table(small(1)) + "\n")
