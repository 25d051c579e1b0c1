"""Brute force for the stance tests: parts as points, turned and let down step by step. Shares no line with the sums.

A roller is 4000 points round its axis; the unit is tilted until the lowest points of both rollers are level
(bisection); the knife's carrier is turned until the edge is as far from the reel's circle as the gap says (a scan,
then bisection).
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable

import numpy as np

TURN = np.linspace(0.0, 2.0 * math.pi, 4_001)
ROUND = np.exp(1j * TURN)
"""Places are complex: real part to the rear, imaginary part upwards (so below is negative)."""


def root(function: Callable[[float], float], low: float, high: float) -> float:
    """Bisection to the last bit."""
    sign = function(low) > 0.0
    assert (function(high) > 0.0) != sign, "no change of sign"
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in (low, high):
            break
        if (function(middle) > 0.0) == sign:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def lowest(axis: complex, diameter: float) -> float:
    """Height of a roller's lowest point, to far better than a sampled circle: a parabola through the lowest three."""
    heights = (axis + 0.5 * diameter * ROUND[:-1]).imag
    at = int(np.argmin(heights))
    a, b, c = (heights[(at + i) % len(heights)] for i in (-1, 0, 1))
    bend = a - 2.0 * b + c
    return float(b - (a - c) ** 2 / (8.0 * bend)) if bend > 0.0 else float(b)


def stood(parts: dict[str, complex], front: float, rear: float) -> tuple[float, dict[str, complex]]:
    """Tilt all parts about 0 until both rollers stand level at 0; return the tilt (nose up positive) and places."""

    def off(tilt: float) -> float:
        turn = cmath.exp(-1j * tilt)
        return lowest(parts["front"] * turn, front) - lowest(parts["rear"] * turn, rear)

    tilt = root(off, -0.7, 0.7)
    turn = cmath.exp(-1j * tilt)
    level = lowest(parts["front"] * turn, front)
    return tilt, {name: place * turn - 1j * level for name, place in parts.items()}


def swung(moving: complex, pivot: complex, fixed: complex, apart: float) -> complex:
    """Turn a part about a pivot, from where it is, the shorter way, until it is `apart` from a fixed place."""

    def off(turn: float) -> float:
        return abs(pivot + (moving - pivot) * cmath.exp(1j * turn) - fixed) - apart

    steps = np.linspace(0.0, math.pi, 20_001)
    for i in range(1, len(steps)):
        for side in (1.0, -1.0):
            before, after = side * steps[i - 1], side * steps[i]
            if (off(before) > 0.0) != (off(after) > 0.0):
                return pivot + (moving - pivot) * cmath.exp(1j * root(off, before, after))
    raise AssertionError("it never gets there")
