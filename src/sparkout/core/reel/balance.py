"""Balance quality of a rigid rotor."""

from __future__ import annotations

from dataclasses import dataclass

from sparkout.core.errors import within


@dataclass(frozen=True, slots=True)
class Balance:
    """Permissible residual unbalance: mass-centre offset in mm, and that offset times the mass in kg mm."""

    eccentricity: float
    unbalance: float


def permissible(mass: float, speed: float, grade: float) -> Balance:
    """Permissible eccentricity and unbalance of a rigid rotor at a balance quality grade.

    e = G / omega, U = m e.

    Parameters
    ----------
    mass : float
        Rotor mass m, kg.
    speed : float
        Highest service speed omega, rad/s.
    grade : float
        Balance quality grade G, mm/s (the number after the letter: G16 is 16 mm/s).

    Returns
    -------
    Balance
        eccentricity in mm (1 um = 0.001 mm), unbalance in kg mm (1 g mm = 0.001 kg mm), both planes together.

    Raises
    ------
    OutOfRange
        For any argument outside its range.

    Validity: a rigid rotor; which grade a reel should meet is the machine's handbook's or the workshop's to say.

    >>> import math
    >>> b = permissible(10.0, 3000 * 2 * math.pi / 60, 2.5)
    >>> round(1000 * b.eccentricity, 3), round(1000 * b.unbalance, 2)
    (7.958, 79.58)

    References: relation of ISO 21940-11:2016 (ISO 1940-1), from memory, the standard not opened; worked figures in
    tests/published/test_balance_quality.py.
    """
    within("mass", mass, 0.0, 1e5, "kg", above=True)
    within("speed", speed, 0.0, 2e4, "rad/s", above=True)
    within("grade", grade, 0.0, 4000.0, "mm/s", above=True)
    eccentricity = grade / speed
    return Balance(eccentricity, mass * eccentricity)
