"""A dial indicator round one station: differences of radius, never a radius."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

_TRAVEL = 100.0
"""mm, more than any dial's travel."""


def _readings(readings: ArrayLike, least: int, what: str) -> NDArray[np.float64]:
    values = all_within("readings", readings, -_TRAVEL, _TRAVEL, "mm")
    if values.ndim != 1 or len(values) < least:
        raise NotEnough(what, phrase("readings of at least {least} blades at one station", least=least))
    return values


def run_out(readings: ArrayLike) -> float:
    """Return the run-out at one station over one turn, mm: highest less lowest blade.

    Equation: max(readings) - min(readings).

    Parameters
    ----------
    readings : (n,), mm, one per blade, the dial's zero anywhere.

    Raises
    ------
    OutOfRange
        A reading beyond +-100 mm or not a number.
    NotEnough
        Fewer than two readings.

    Validity: the spread of the readings taken; with noise of u per reading a true reel of many blades shows a few u.
    Play in a bearing reads as run-out: cure it first. Turn the reel by hand only, drive isolated.

    Examples
    --------
    >>> round(run_out([0.02, -0.01, 0.00, 0.03]), 3)
    0.04

    References
    ----------
    ISO 1101, circular run-out (from memory): full indicator movement over one turn.
    """
    return float(np.ptp(_readings(readings, 2, "run-out")))


def travel_along_normal(reading: float, tilt: float) -> float:
    """Return the true movement square to the surface from the reading of a plunger standing askew by `tilt`, mm.

    Equation: travel = reading cos(tilt): the plunger runs along its own line to meet the surface, a longer way.

    Parameters
    ----------
    reading : difference the dial shows, mm.
    tilt : angle between plunger and the surface's normal, rad.

    Raises
    ------
    OutOfRange
        A reading beyond +-100 mm, a tilt beyond 60 degrees.

    Validity: a plunger dial on a land, small against the radius; not a lever dial.

    Examples
    --------
    >>> round(travel_along_normal(0.100, math.radians(10.0)), 4)
    0.0985

    References
    ----------
    Geometry, own working.
    """
    most = math.radians(60.0)
    return within("reading", reading, -_TRAVEL, _TRAVEL, "mm") * math.cos(within("tilt", tilt, -most, most, "rad"))


@dataclass(frozen=True, slots=True, eq=False)
class Harmonic:
    """Readings round one turn as mean + eccentricity cos(angle - phase) + residual; mm and rad."""

    mean: float
    eccentricity: float
    phase: float
    """Angle of the highest side, 0 to 2 pi."""
    residual: NDArray[np.float64]
    """What no shift of the centre explains: single blades and noise."""
    covariance: NDArray[np.float64]
    """Of (mean, centre along angle 0, centre along a quarter turn) for readings of unit uncertainty."""


def first_harmonic(angles: ArrayLike, readings: ArrayLike) -> Harmonic:
    """Return mean, eccentricity, its direction, and what is left, from dial readings at known blade angles.

    Equation: least squares of reading_i = m + a cos(theta_i) + b sin(theta_i) + residual_i;
    eccentricity = hypot(a, b), phase = atan2(b, a). With blades evenly spaced this is m = mean, a = (2/n) sum(r cos),
    b = (2/n) sum(r sin).

    Parameters
    ----------
    angles : (n,), rad, of the blades' edges at this station.
    readings : (n,), mm, larger where the blade stands higher.

    Raises
    ------
    OutOfRange
        A reading beyond +-100 mm, an angle beyond 1000 turns, or not a number.
    NotEnough
        Fewer than three readings, or all at fewer than three different angles.

    Validity: eccentricity small against the radius. A round eccentric station has a run-out of twice its eccentricity.

    Examples
    --------
    >>> theta = np.arange(11) * 2 * np.pi / 11
    >>> found = first_harmonic(theta, 0.03 * np.cos(theta - 1.0))
    >>> round(found.eccentricity, 6), round(found.phase, 6)
    (0.03, 1.0)

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, 3.4.4 (least-squares circle from readings at equal angles).
    """
    values = _readings(readings, 3, "eccentricity")
    theta = all_within("angles", angles, -2000.0 * math.pi, 2000.0 * math.pi, "rad")
    if theta.shape != values.shape:
        raise OutOfRange(
            "angles", phrase("{size} values", size=theta.size), phrase("as many as readings ({size})", size=values.size)
        )
    design = np.column_stack((np.ones_like(theta), np.cos(theta), np.sin(theta)))
    u, s, vt = np.linalg.svd(design, full_matrices=False)
    if s[-1] < 1e-9 * s[0]:
        raise NotEnough("eccentricity", phrase("readings of at least 3 blades at different angles"))
    root = vt.T / s
    mean, a, b = root @ (u.T @ values)
    fitted = design @ np.array((mean, a, b))
    return Harmonic(float(mean), math.hypot(a, b), math.atan2(b, a) % (2.0 * math.pi), values - fitted, root @ root.T)
