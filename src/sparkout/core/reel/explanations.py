"""Which faults could explain the readings, how likely each is beforehand, and how wide it lets each parameter be.

An explanation is a set of faults. A parameter whose fault is in the set has its `worn` standard deviation, any other
its `sound` one. The weights are prior odds times how well each explanation predicted the readings.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import OutOfRange, within
from sparkout.core.phrase import phrase
from sparkout.core.reel.parameters import (
    BARREL,
    CONE,
    FIRST_BLADE,
    FRAME_OUT,
    KNIFE_BOW,
    MEAN_RADIUS,
    OFFSET,
    SHAFT_BOW,
    SKEW,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

FAULTS = ("cone", "barrel", "frame out", "knife bowed", "shaft bent", "odd blade")

WORK = {
    "cone": phrase("grind the reel"),
    "barrel": phrase("grind the reel"),
    "odd blade": phrase("grind the reel"),
    "shaft bent": phrase("straighten the shaft or replace the reel"),
    "frame out": phrase("put the frame or the knife's mounts right"),
    "knife bowed": phrase("grind or replace the knife"),
}
"""What each fault leads to; explanations that lead to the same work need not be told apart."""

UNEVEN_SHARE = 0.2
"""Of the prior for an odd blade, the share for several uneven blades at once; the rest is split over single blades."""

_WITHIN_LIMIT = 3.0
_WORN_FACTOR = 6.0


@dataclass(frozen=True, slots=True)
class FaultPrior:
    """Standard deviation (mm) of a parameter when sound and when worn, and the chance beforehand that it is worn."""

    sound: float
    worn: float
    probability: float

    def __post_init__(self) -> None:
        within("sound", self.sound, 0.0, 1000.0, "mm")
        within("worn", self.worn, self.sound, 1000.0, "mm")
        within("probability", self.probability, 1e-6, 1.0 - 1e-6)


@dataclass(frozen=True, slots=True)
class Priors:
    """What is expected before any reading.

    `shaft_bent` is the standard deviation of each component of e, g and k; `odd_blade` that of one blade's height.
    `mean_radius` None means the reel's nominal radius. `contact_u`: how well the mean blade stands for the one a
    resting knife touches, on a sound reel.
    """

    cone: FaultPrior
    barrel: FaultPrior
    frame_out: FaultPrior
    knife_bowed: FaultPrior
    shaft_bent: FaultPrior
    odd_blade: FaultPrior
    mean_radius: float | None = None
    mean_radius_sd: float = 3.0
    contact_u: float = 0.02
    most_faults: int = 2

    def __post_init__(self) -> None:
        if self.mean_radius is not None:
            within("mean_radius", self.mean_radius, 15.0, 400.0, "mm")
        within("mean_radius_sd", self.mean_radius_sd, 0.0, 1000.0, "mm")
        within("contact_u", self.contact_u, 0.0, 10.0, "mm", above=True)
        if not 0 <= self.most_faults <= len(FAULTS):
            raise OutOfRange("most_faults", self.most_faults, phrase("0 to {faults}", faults=len(FAULTS)))

    @classmethod
    def from_limits(
        cls,
        cone: float = 0.25,
        barrel: float = 0.05,
        frame: float = 0.1,
        knife_straightness: float = 0.05,
        shaft_run_out: float = 0.1,
        run_out: float = 0.05,
        *,
        probabilities: Mapping[str, float] | None = None,
        mean_radius: float | None = None,
        mean_radius_sd: float = 3.0,
        most_faults: int = 2,
    ) -> Priors:
        """Priors from a workshop's own limits (mm; cone on diameter, run-outs as full indicator movement).

        Equation: sound sd = limit / 3 (a sound part keeps its limit by three standard deviations), worn sd = 6 limit.
        For each shaft component the limit is half the indicator movement; for a blade's height it is the run-out.

        Parameters
        ----------
        probabilities:
            Chance of each fault beforehand, by name; faults left out keep their default.

        Raises
        ------
        OutOfRange
            For a limit not above 0 up to 10 mm, a probability outside 0 to 1, or a fault with an unknown name.

        Examples
        --------
        >>> Priors.from_limits(cone=0.3).cone
        FaultPrior(sound=0.09999999999999999, worn=1.7999999999999998, probability=0.3)

        References
        ----------
        Common practice, no source: the default limits, the factors 1/3 and 6, and the default probabilities.
        """
        chances = dict(zip(FAULTS, (0.3, 0.15, 0.1, 0.15, 0.1, 0.1), strict=True))
        for name, chance in (probabilities or {}).items():
            if name not in chances:
                raise OutOfRange("probabilities", name, ", ".join(FAULTS))
            chances[name] = chance
        limits = (cone, barrel, frame, knife_straightness, shaft_run_out / 2.0, run_out)
        names = ("cone", "barrel", "frame", "knife_straightness", "shaft_run_out", "run_out")
        made = []
        for name, limit, chance in zip(names, limits, chances.values(), strict=True):
            within(name, limit, 0.0, 10.0, "mm", above=True)
            made.append(FaultPrior(limit / _WITHIN_LIMIT, limit * _WORN_FACTOR, chance))
        c, b, f, k, s, o = made
        return cls(c, b, f, k, s, o, mean_radius, mean_radius_sd, most_faults=most_faults)

    def of(self, fault: str) -> FaultPrior:
        """Prior of one fault by its name in FAULTS."""
        return self.by_fault()[fault]

    def by_fault(self) -> dict[str, FaultPrior]:
        """All fault priors by name."""
        return {name: getattr(self, field.name) for name, field in zip(FAULTS, fields(self), strict=False)}


def explanations(most_faults: int = 2) -> tuple[tuple[str, ...], ...]:
    """Every set of up to `most_faults` faults, the sound unit () first.

    Examples
    --------
    >>> len(explanations(2)), explanations(1)[:2]
    (22, ((), ('cone',)))
    """
    return tuple(chosen for size in range(most_faults + 1) for chosen in combinations(FAULTS, size))


def log_prior(priors: Priors, faults: tuple[tuple[str, ...], ...]) -> NDArray[np.float64]:
    """Log prior weight of each explanation, renormalised over those given.

    Equation: product over its faults of p and over the others of 1 - p, as independent odds.
    """
    table = priors.by_fault()
    odds = {name: np.log(p.probability) - np.log1p(-p.probability) for name, p in table.items()}
    logs = np.array([sum(odds[name] for name in chosen) for chosen in faults], dtype=np.float64)
    normalised: NDArray[np.float64] = logs - np.logaddexp.reduce(logs)
    return normalised


def scales(priors: Priors, faults: tuple[str, ...], blade_count: int) -> NDArray[np.float64]:
    """Standard deviations of the unit's coordinates under one explanation, shape (11 + N - 1,).

    Blade heights are the N - 1 coordinates of `sum_zero_basis`. An odd blade here means all blades uneven, with the
    geometric mean of sound and worn; a single odd blade is added by the posterior as one more column.
    """
    table = priors.by_fault()
    sd = {name: (p.worn if name in faults else p.sound) for name, p in table.items()}
    whole = np.empty(FIRST_BLADE + blade_count - 1)
    whole[MEAN_RADIUS] = priors.mean_radius_sd
    for place, name in ((CONE, "cone"), (BARREL, "barrel"), (FRAME_OUT, "frame out"), (KNIFE_BOW, "knife bowed")):
        whole[place] = sd[name]
    for part in (OFFSET, SKEW, SHAFT_BOW):
        whole[part] = sd["shaft bent"]
    blade = priors.odd_blade
    whole[FIRST_BLADE:] = (blade.sound * blade.worn) ** 0.5 if "odd blade" in faults else blade.sound
    return whole


def contact_sd(priors: Priors, faults: tuple[str, ...]) -> float:
    """How far the highest blade at a place may stand above the mean blade there, less what all places share, mm.

    Equation: contact_u combined with the worn sd of the shaft where it is bent: the height of the high side over one
    turn is then |e + g t + k (1 - t²)|, a Rayleigh quantity of sd 0.655 sqrt(2) worn at the ends and the middle. An odd
    blade is as high at every place and drops out of the difference between two.

    Source: own working; that intervals keep their coverage is tested on simulated reels with the knife resting on the
    true highest point and the feeler's smallest reading over a turn.
    """
    bent = priors.shaft_bent.worn if "shaft bent" in faults else 0.0
    return float(np.hypot(priors.contact_u, 0.93 * bent))
