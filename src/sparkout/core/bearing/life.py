"""Rating life of a rolling bearing (ISO 281), and the rating wanted for a life."""

from __future__ import annotations

import math
from typing import Literal

from sparkout.core.errors import within

Kind = Literal["ball", "roller"]
EXPONENT: dict[Kind, float] = {"ball": 3.0, "roller": 10.0 / 3.0}
WEIBULL = (0.02, 4.459, 1.483)
"""x0, theta and b of life over rating life: Shigley's common set, theta − x0 = 4.439."""


def rating_life_hours(dynamic_rating: float, load: float, speed: float, kind: Kind = "ball") -> float:
    """Return the hours nine in ten bearings reach, L10h = 10⁶/(60 n) (C/P)^p.

    Parameters
    ----------
    dynamic_rating : C, N
    load : equivalent dynamic load P, N
    speed : 1/min
    kind : ball (p = 3) or roller (p = 10/3)

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: clean, lubricated, true seats; sand and water, which end most reel bearings, are not in it.

    Examples
    --------
    >>> round(rating_life_hours(14_000, 700, 2000))
    66667

    References
    ----------
    ISO 281, basic rating life (formula from memory).
    """
    within("dynamic_rating", dynamic_rating, 0.0, 1e7, "N", above=True)
    within("load", load, 0.0, 1e7, "N", above=True)
    within("speed", speed, 0.0, 1e5, "1/min", above=True)
    return float(1e6 / (60.0 * speed) * (dynamic_rating / load) ** EXPONENT[kind])


def reliability(hours: float, dynamic_rating: float, load: float, speed: float, kind: Kind = "ball") -> float:
    """Return the share of bearings still sound after so many hours.

    R = exp(−((x − x₀)/(θ − x₀))^b), x hours over the rating life.

    Examples
    --------
    >>> round(reliability(30_000, 19_500, 2277.6, 300), 3)
    0.919

    References
    ----------
    Budynas and Nisbett, Shigley's Mechanical Engineering Design, ch. 11.
    """
    within("hours", hours, 0.0, 1e9, "h")
    x0, theta, b = WEIBULL
    x = hours / rating_life_hours(dynamic_rating, load, speed, kind)
    return math.exp(-((max(x - x0, 0.0) / (theta - x0)) ** b))


def rating_for(hours: float, load: float, speed: float, reliable: float = 0.9, kind: Kind = "ball") -> float:
    """Return the dynamic rating, N, of a bearing of which a share `reliable` lasts so many hours.

    C = P [x_D / (x₀ + (θ − x₀)(ln 1/R)^(1/b))]^(1/p), x_D = 60 n h/10⁶.

    Examples
    --------
    >>> round(rating_for(30_000, 2277.6, 300))
    18588

    Raises
    ------
    OutOfRange
        Naming the argument.

    References
    ----------
    As `reliability`.
    """
    within("hours", hours, 0.0, 1e9, "h", above=True)
    within("load", load, 0.0, 1e7, "N", above=True)
    within("speed", speed, 0.0, 1e5, "1/min", above=True)
    within("reliable", reliable, 0.0, 0.999, above=True)
    x0, theta, b = WEIBULL
    turns = 60.0 * speed * hours / 1e6
    return float(load * (turns / (x0 + (theta - x0) * math.log(1.0 / reliable) ** (1.0 / b))) ** (1.0 / EXPONENT[kind]))
