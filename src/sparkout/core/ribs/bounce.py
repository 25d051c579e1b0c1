"""How fast a unit or machine bobs on its tyres, springs or turf. Imports `math` only."""

from __future__ import annotations

import math

from sparkout.core.errors import within

STANDARD_GRAVITY = 9_806.65
"""mm/s², exact by definition."""


def bounce_frequency(stiffness: float, mass: float, damping: float = 0.0) -> float:
    """Return the frequency at which a mass bobs on a spring, Hz.

    Equation: f = sqrt(k / m) sqrt(1 - zeta²) / (2 pi).

    Parameters
    ----------
    stiffness
        k of everything the mass stands on (tyres side by side add up), N/mm, above 0.
    mass
        m that bobs, kg, above 0.
    damping
        zeta, share of critical damping, 0 to below 1.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: one mass, one spring. A tyre is stiffer moving than standing (so this is on the low side), turf is
    softer when wet.

    Examples
    --------
    >>> round(bounce_frequency(150.0, 400.0), 2)
    3.08

    References
    ----------
    Textbook result for one mass on a spring.
    """
    k = within("stiffness", stiffness, 0.0, 1e6, "N/mm", above=True)
    m = within("mass", mass, 0.0, 1e5, "kg", above=True)
    zeta = within("damping", damping, 0.0, 0.99)
    return math.sqrt(1_000.0 * k / m * (1.0 - zeta * zeta)) / (2.0 * math.pi)


def bounce_frequency_from_sag(sag: float) -> float:
    """Return the frequency at which a machine bobs, Hz, from how far its own weight presses its springs or tyres down.

    Equation: f = sqrt(g / d) / (2 pi), which is 15.76 / sqrt(d) with d in mm.

    Parameters
    ----------
    sag
        d, mm, above 0: height with the weight off less height with it on.

    Raises
    ------
    OutOfRange
        When it is outside its range.

    Validity: a spring whose force grows in proportion; damping lowers it a little.

    Examples
    --------
    >>> round(bounce_frequency_from_sag(25.0), 2)
    3.15

    References
    ----------
    f = 15.76 / sqrt(d): vibration isolation rule, as quoted in public notes on machine mounts.
    """
    d = within("sag", sag, 0.0, 5_000.0, "mm", above=True)
    return math.sqrt(STANDARD_GRAVITY / d) / (2.0 * math.pi)
