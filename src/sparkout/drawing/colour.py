"""Colours: one light-middled scale from blue (low) over near-white to orange (high), and a few inks.

The two arms share the same lightness at the same distance from the middle, so a grey print keeps the size
of a deviation; its sign is then carried by hatch and figure. Built in OKLab, whose equal steps look about
equal; blue against orange stays apart for red-green colour-blind eyes (tests/drawing/test_colour.py).
"""

from __future__ import annotations

import math
from functools import cache

from sparkout.core.errors import within

INK = "#1d2125"
SOFT_INK = "#4b5157"
RULE = "#8d949b"
PALE = "#dfe3e6"
STEEL = "#e9ecee"
BLUE = "#1f5f9e"
ORANGE = "#b4560a"
WHITE = "#ffffff"
LOW_LINE = "#3a74b0"
"""Hatch over low tones."""

_MIDDLE_LIGHTNESS, _END_LIGHTNESS = 0.975, 0.70
_LOW_HUE, _LOW_CHROMA = math.radians(250.0), 0.125
_HIGH_HUE, _HIGH_CHROMA = math.radians(58.0), 0.150
_STEPS = 16


def diverging(share: float) -> str:
    """Return the colour for a deviation as a share of the scale's end, -1 (lowest) to 1 (highest).

    Equation: OKLab lightness 0.975 - 0.275 |share|, chroma in proportion to |share|, hue blue below and
    orange above; 16 steps each way. Errors: OutOfRange outside -1 to 1. Source: own choice; the OKLab
    matrices as quoted in public shader code, the other direction tested against this one.

    Examples
    --------
    >>> diverging(0.0), diverging(-1.0), diverging(1.0)
    ('#f7f7f7', '#5da3e9', '#e2832d')
    """
    return _tone(round(within("share", share, -1.0, 1.0) * _STEPS) / _STEPS)


@cache
def _tone(step: float) -> str:
    size = abs(step)
    hue, chroma = (_LOW_HUE, _LOW_CHROMA) if step < 0 else (_HIGH_HUE, _HIGH_CHROMA)
    lightness = _MIDDLE_LIGHTNESS - (_MIDDLE_LIGHTNESS - _END_LIGHTNESS) * size
    return _from_oklab(lightness, size * chroma * math.cos(hue), size * chroma * math.sin(hue))


def _from_oklab(lightness: float, a: float, b: float) -> str:
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    red = 4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short
    green = -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short
    blue = -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short
    return "#" + "".join(f"{round(255 * _encoded(part)):02x}" for part in (red, green, blue))


def _encoded(linear: float) -> float:
    clipped = min(1.0, max(0.0, linear))
    return 12.92 * clipped if clipped <= 0.0031308 else 1.055 * clipped ** (1 / 2.4) - 0.055
