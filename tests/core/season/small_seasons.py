"""Seasons small enough for every plan there is to be tried."""

from itertools import product

import numpy as np

from sparkout.core.season.assign import Assigning
from sparkout.core.season.jobs import Grinder, Job, Phase, Season, Technician


def drawn(seed, count=5, days=3):
    rng = np.random.default_rng(seed)
    jobs = tuple(
        Job(
            f"U{i}",
            (Phase("strip", float(rng.choice([0.5, 0.75, 1.0]))), Phase("spin", float(rng.choice([1.0, 1.5])), "reel")),
            int(rng.integers(0, days)),
            float(rng.integers(1, 5)),
            0.2,
            int(rng.integers(0, 2)),
        )
        for i in range(count)
    )
    who = Technician("A", frozenset({"strip", "spin"}), (3.0, 0.0, 3.5)[:days], 0.5, 2.0)
    return Season(days, (who,), (Grinder("G", frozenset({"reel"}), (2.0,) * days),), jobs, undone_days=3)


def least(one):
    """The cheapest of every assignment of days, hours taken as the plan takes them."""
    best = np.inf
    for days in product(range(-1, one.days), repeat=len(one.jobs)):
        made = Assigning(one)
        for job, day in zip(one.jobs, days, strict=True):
            if day >= 0:
                if not np.isfinite(made.workshop.prices(job)[day]):
                    break
                made.put(job, day)
        else:
            best = min(best, made.cost)
    return best
