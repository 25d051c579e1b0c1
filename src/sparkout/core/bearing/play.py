"""End play and preload by indicator, and whether two sides, or now and then, differ."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sparkout.core.errors import within
from sparkout.core.measured import Measured, coverage_factor


@dataclass(frozen=True, slots=True)
class Difference:
    """How one quantity differs from another, the chance that it is larger, and whether it is told from none."""

    value: Measured
    chance_larger: float
    told: bool


def end_play(pushed_left: Measured, pushed_right: Measured) -> Measured:
    """Return the end play, mm: how far the reel moves along its axis between pushed left and pushed right.

    Examples
    --------
    >>> round(end_play(Measured(0.02, 0.002), Measured(0.07, 0.002)).value, 3)
    0.05

    Raises
    ------
    OutOfRange
        Readings further apart than any bearing lets a reel move.

    Validity: pushed with the same light force both ways while turned; a negative result is the dial's own scatter:
    there is no play, and whether there is preload the drag tells.

    Source: common practice.
    """
    play = pushed_right.value - pushed_left.value
    within("end play", play, -1.0, 10.0, "mm")
    return Measured(play, math.hypot(pushed_left.u, pushed_right.u))


def preload_by_nut(turned: Measured, pitch: Measured) -> Measured:
    """Return the preload, mm, of a pair of bearings whose nut was turned on from where end play was just gone.

    s = φ p / 2π.

    Parameters
    ----------
    turned : φ, rad, from the place where the dial just shows no end play
    pitch : p of the nut's thread, mm

    Examples
    --------
    >>> import math
    >>> round(preload_by_nut(Measured(math.radians(15.0), 0.02), Measured(1.5, 0.0)).value, 4)
    0.0625

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: housing and seats give nothing; they do give, so the bearing itself takes less. How much is right stands
    in the machine's book alone. Source: geometry, own working.
    """
    within("turned", turned.value, 0.0, 4.0 * math.pi, "rad")
    within("pitch", pitch.value, 0.1, 10.0, "mm")
    one_turn = 2.0 * math.pi
    return Measured(
        turned.value * pitch.value / one_turn,
        math.hypot(turned.u * pitch.value, turned.value * pitch.u) / one_turn,
        min(turned.dof, pitch.dof),
    )


def difference(one: Measured, other: Measured, coverage: float = 0.95) -> Difference:
    """Return by how much one quantity is above another: left against right, or now against the last visit.

    Examples
    --------
    >>> found = difference(Measured(210.0, 6.0), Measured(150.0, 8.0))
    >>> found.value.value, found.told
    (60.0, True)
    """
    u = math.hypot(one.u, other.u)
    value = Measured(one.value - other.value, u, min(one.dof, other.dof))
    chance = 0.5 * math.erfc(-value.value / (u * math.sqrt(2.0))) if u else (1.0 if value.value > 0 else 0.5)
    return Difference(value, chance, abs(value.value) > coverage_factor(coverage, value.dof) * u)


def torque_ratio(now: Measured, fresh: Measured) -> Measured:
    """Return drag torque now over the drag of the same unit freshly rebuilt; no general figure exists.

    Examples
    --------
    >>> round(torque_ratio(Measured(300.0, 10.0), Measured(200.0, 10.0)).value, 2)
    1.5
    """
    within("now", now.value, 0.0, 1e7, "N mm")
    within("fresh", fresh.value, 0.0, 1e7, "N mm", above=True)
    ratio = now.value / fresh.value
    return Measured(ratio, math.hypot(now.u, ratio * fresh.u) / fresh.value)
