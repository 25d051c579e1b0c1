"""10,000 Monte Carlo draws of the whole diagnosis of the coned demonstration unit.

Each draw is a fresh set of readings, as the gauges might have shown them, weighed from the beginning: every
explanation, every place where the knife may rest, every odd blade; out come the weights of the explanations and, under
each, cone, barrel, frame, bow and mean radius with their uncertainties.
"""

from __future__ import annotations

import numpy as np
from bench.processes import UNIT
from bench.timing import Line, in_turn

from sparkout.core.reel.observations import design
from sparkout.core.reel.posterior import posterior
from sparkout.reckoning.diagnosis import priors
from sparkout.reckoning.given import Given
from sparkout.reckoning.readings import observations
from sparkout.visit.reading import read_visit

DRAWS, AT_ONCE = 10_000, 250
"""Draws; and how many are weighed at once (more would only fill the memory)."""


def lines(rounds: int) -> list[Line]:
    """Time all draws beside one diagnosis done alone and beside drawing the same random numbers."""
    given = Given(read_visit(UNIT))
    reel, expected, observed = given.reel(), priors(given), observations(given)
    made = posterior(design(observed, reel), reel, expected)
    rows = np.eye(made.design.parameters.count)[:5]
    shape = (DRAWS, len(made.design.values))

    def readings() -> np.ndarray:
        return made.design.values + made.design.u * np.random.default_rng(3).normal(size=shape)

    values = readings()

    def drawn() -> None:
        readings()

    def weighed() -> None:
        for i in range(0, DRAWS, AT_ONCE):
            made.weigh(values[i : i + AT_ONCE]).along(rows)

    def alone() -> None:
        fresh = posterior(design(observed, reel), reel, expected)
        fresh.weigh(fresh.design.values[None]).along(rows)

    numbers, one, many = "drawing the same random numbers", "one diagnosis alone", f"{DRAWS:,} diagnoses"
    timed = in_turn({numbers: drawn, one: alone, many: weighed}, rounds)
    return [
        Line(f"{numbers} ({shape[0]:,} x {shape[1]})", timed[numbers], timed[numbers]),
        Line(f"{many}, against drawing the numbers", timed[many], timed[numbers]),
        Line(one, timed[one], timed[one]),
        Line("one of the draws, against one alone", timed[many].scaled(1 / DRAWS), timed[one]),
    ]
