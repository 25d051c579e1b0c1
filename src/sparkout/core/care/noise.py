"""Noise over a day."""

from __future__ import annotations

import math
from collections.abc import Sequence

from sparkout.core.care.vibration import REFERENCE_HOURS, _pairs
from sparkout.core.errors import within


def daily_noise(levels: Sequence[float], hours: Sequence[float]) -> float:
    """Return the day's noise exposure level LEX,8h in dB(A): 10 lg(Σ t 10^(L/10) / 8 h).

    Parameters
    ----------
    levels : dB(A) at the ear in each task
    hours : of each

    Examples
    --------
    >>> round(daily_noise([90.0, 75.0], [2.0, 6.0]), 1)
    84.4

    Raises
    ------
    OutOfRange
        Naming the argument.

    References
    ----------
    Equal energy, 3 dB exchange; Directive 2003/10/EC (formula from memory).
    """
    energy = math.fsum(time * 10.0 ** (level / 10.0) for level, time in _pairs(levels, hours, "level", "dB(A)", 150.0))
    return 10.0 * math.log10(max(energy, 1e-30) / REFERENCE_HOURS)


def noise_dose(
    levels: Sequence[float], hours: Sequence[float], criterion: float = 90.0, exchange: float = 5.0, least: float = 0.0
) -> float:
    """Return the noise dose in per cent, 100 Σ t / (8 · 2^((criterion − L)/exchange)).

    Parameters
    ----------
    levels, hours : as `daily_noise`
    criterion : dB(A) allowed for 8 h
    exchange : dB that halve the time allowed: 5 in US law, 3 in the NIOSH recommendation and in Europe
    least : dB(A) below which a task does not count

    Examples
    --------
    >>> noise_dose([90.0], [8.0]), noise_dose([95.0], [4.0])
    (100.0, 100.0)

    Raises
    ------
    OutOfRange
        Naming the argument.

    References
    ----------
    29 CFR 1910.95, appendix A: the form as its authority prints it, held against its table G-16A.
    """
    within("criterion", criterion, 60.0, 120.0, "dB(A)")
    within("exchange", exchange, 1.0, 10.0, "dB")
    pairs = _pairs(levels, hours, "level", "dB(A)", 150.0)
    return 100.0 * math.fsum(
        time / (REFERENCE_HOURS * 2.0 ** ((criterion - level) / exchange)) for level, time in pairs if level >= least
    )


def level_of_dose(dose: float, criterion: float = 90.0, exchange: float = 5.0) -> float:
    """Return the steady level over 8 h, dB(A), that gives a dose in per cent.

    Examples
    --------
    >>> round(level_of_dose(200.0), 1), round(level_of_dose(50.0), 1)
    (95.0, 85.0)

    Raises
    ------
    OutOfRange
        Naming the argument.
    """
    within("dose", dose, 0.0, 1e6, "%", above=True)
    return criterion + exchange * math.log2(dose / 100.0)
