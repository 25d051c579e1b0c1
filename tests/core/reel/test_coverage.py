"""Do 95 % intervals hold the truth 95 % of the time? 2,000 reels drawn from the priors, read by gauges that err.

Independent route: edges, knife line and the resting knife are computed here point by point. The knife comes to rest on
the highest blade of a fine grid and the feeler reads the highest blade over a turn, neither of which the linear model
knows exactly. An interval from the mixture's quantiles holds the truth exactly when the mixture's distribution
function at the truth lies between 0.025 and 0.975, so that is what is counted.
"""

import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.special import ndtr
from tests.published.evidence import compared

from sparkout.core.reel.explanations import UNEVEN_SHARE, Priors, explanations, log_prior
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation, design
from sparkout.core.reel.posterior import posterior

COUNT, N, L, R, HELIX = 2000, 11, 533.0, 63.5, 0.35
REEL = Reel(N, 2 * R, L, helix_angle=HELIX)
PRIORS = Priors.from_limits()


class ManyReels:
    """COUNT reels: whichever faults the prior gives each, and the state those faults give."""

    def __init__(self, g: np.random.Generator) -> None:
        sets = explanations(PRIORS.most_faults)
        which = g.choice(len(sets), COUNT, p=np.exp(log_prior(PRIORS, sets)))
        self.g = g
        self.has = {name: np.array([name in sets[i] for i in which]) for name in PRIORS.by_fault()}
        self.mean_radius = R + g.normal(0, PRIORS.mean_radius_sd, COUNT)
        self.cone, self.barrel = self._drawn("cone"), self._drawn("barrel")
        self.frame, self.bow = self._drawn("frame out"), self._drawn("knife bowed")
        self.e, self.s, self.k = (np.stack([self._drawn("shaft bent") for _ in range(2)]) for _ in range(3))
        self.h = self._heights()

    def _drawn(self, name: str) -> NDArray[np.float64]:
        p = PRIORS.of(name)
        return self.g.normal(0, 1, COUNT) * np.where(self.has[name], p.worn, p.sound)

    def _heights(self) -> NDArray[np.float64]:
        p, odd = PRIORS.odd_blade, self.has["odd blade"]
        uneven = odd & (self.g.random(COUNT) < UNEVEN_SHARE)
        h = self.g.normal(0, 1, (COUNT, N)) * np.where(uneven, math.sqrt(p.sound * p.worn), p.sound)[:, None]
        single = np.flatnonzero(odd & ~uneven)
        h[single, self.g.integers(0, N, single.size)] += self.g.normal(0, p.worn, single.size)
        return h - h.mean(axis=1, keepdims=True)

    def edges(self, x: float) -> NDArray[np.float64]:
        """r(x, b), (COUNT, N)."""
        t = 2 * x / L - 1
        theta = 2 * np.pi * np.arange(N) / N + x * math.tan(HELIX) / R
        c = self.e + self.s * t + self.k * (1 - t * t)
        mean = self.mean_radius + self.cone / 4 * t + self.barrel * (1 / 3 - t * t)
        return mean[:, None] + np.outer(c[0], np.cos(theta)) + np.outer(c[1], np.sin(theta)) + self.h

    def knife(self, x: float) -> NDArray[np.float64]:
        t = 2 * x / L - 1
        return self.frame * t / 2 + self.bow * (1 / 3 - t * t)

    def resting_gap(self, x: float) -> NDArray[np.float64]:
        level = np.max([self.edges(at).max(axis=1) - self.knife(at) for at in np.linspace(0, L, 201)], axis=0)
        return level + self.knife(x) - self.edges(x).max(axis=1)


def shares_inside(full: bool) -> dict[str, float]:
    reels = ManyReels(np.random.default_rng(20))
    g = np.random.default_rng(21)
    readings: list[Observation] = []
    values: list[NDArray[np.float64]] = []

    def read(kind: str, x: float, truth: NDArray[np.float64], u: float, **more: object) -> None:
        readings.append(Observation(f"{kind} {x}", kind, x, 0.0, u, **more))
        values.append(truth + g.normal(0, u, COUNT))

    calibration = g.normal(0, 0.03, COUNT)
    for x in (0.0, L / 2, L):
        read("radius", x, reels.edges(x).mean(axis=1) + calibration, 0.05, group="tape", u_group=0.03)
        read("rest gap", x, reels.resting_gap(x), 0.01)
        zero = g.normal(0, 1, COUNT)
        for b in range(N if full or x == 0.0 else 0):
            read("run-out", x, reels.edges(x)[:, b] + zero, 0.006, blades=(b,))
        if full:
            read("frame", x, reels.frame * (x / L - 0.5), 0.03)
            read("knife", x, reels.knife(x), 0.02)
    post = posterior(design(readings, REEL), REEL, PRIORS)
    rows = np.zeros((7, post.design.parameters.count))
    rows[:5, :5] = np.eye(5)
    rows[5, 11 + 3] = 1.0
    rows[6, 11], rows[6, 11 + 5] = 1.0, -1.0
    truth = np.stack(
        [
            reels.mean_radius,
            reels.cone,
            reels.barrel,
            reels.frame,
            reels.bow,
            reels.h[:, 3],
            reels.h[:, 0] - reels.h[:, 5],
        ],
        axis=1,
    )
    weights, means, sds = post.diagnose(np.stack(values, axis=1), rows)
    share = (weights[:, :, None] * ndtr((truth[:, None] - means) / np.maximum(sds, 1e-12))).sum(axis=1)
    inside = ((share > 0.025) & (share < 0.975)).mean(axis=0)
    names = ("mean radius", "cone", "barrel", "frame out", "knife bow", "one blade", "blade against blade")
    return dict(zip(names, inside.tolist(), strict=True))


@pytest.mark.parametrize("full", [False, True])
def test_ninety_five_per_cent_intervals_hold_the_truth_93_to_97_times_in_a_hundred(full: bool) -> None:
    readings = "many readings" if full else "few readings"
    for name, share in shares_inside(full).items():
        compared(
            "Coverage of 95 % intervals over 2,000 simulated reels",
            f"{name}, {readings}: share of intervals that hold the truth",
            reference=0.95,
            obtained=share,
            tolerance=0.02,
        )
