"""Stubble map, 2 m x 0.5 m at 0.5 mm: against one square root per place, and against mowing leaf by leaf.

"One square root per place" is the least the map can be: it holds four million of them. The plain loop mows a few places
blade by blade and is scaled up (it is linear in places).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from bench.timing import Line, in_turn

from sparkout.core.reel.geometry import Reel
from sparkout.core.ribs.stubble_map import Mowing, Wave, knife_over, stubble_map

REEL = Reel(11, 127.0, 500.0, math.radians(20.0))
STATIONS = np.linspace(0.0, 500.0, 11)
MOWING = Mowing(1250.0, 50.0 * math.pi, 4.0, 4.1, 9.0, (Wave(0.3, 417.0), Wave(0.1, 198.0)))
ACROSS, ALONG = 1000, 4000
PLACES = 8  # the plain loop mows so many
ROOTS, MAP = "one square root per place", "stubble map, 1000 x 4000 places"
PLAIN = f"blade by blade in a plain loop (timed on {PLACES} places)"


def invented_gaps() -> np.ndarray:
    """A coned, off-centre reel with one low blade: invented, seeded."""
    noise = np.random.default_rng(5).normal(0.0, 0.01, (11, 11))
    theta = 2.0 * math.pi * np.arange(11) / 11
    radius = 63.5 + 0.03 * np.cos(theta)[:, None] + 0.1 * (STATIONS / 500.0) + noise
    radius[3] -= 0.1
    return knife_over(radius, STATIONS) - radius


def plain_loop(gaps: np.ndarray, places: int) -> list[float]:
    """The same sums for a few places, one blade after another."""
    found, turn = [], 2.0 * math.pi / MOWING.reel_speed
    gap = MOWING.leaf_gap
    for i in range(places):
        x, at = 500.0 * (i + 0.5) / places, 2000.0 * (i + 0.5) / places
        square, standing = MOWING.standing_grass**2, MOWING.standing_grass
        level = MOWING.height_left + (MOWING.height_right - MOWING.height_left) * x / REEL.length
        for k in range(-2 * 11, int(at / (MOWING.travel_speed * turn) * 11) + 1):
            angle = 2.0 * math.pi * k / 11 + x * math.tan(REEL.helix_angle) / REEL.radius
            edge = MOWING.travel_speed * angle / MOWING.reel_speed
            if edge > at or math.hypot(level, at - edge) >= standing:
                continue
            height = level + sum(w.amplitude * math.sin(2.0 * math.pi * edge / w.pitch + w.phase) for w in MOWING.waves)
            share = (gap.folds - float(np.interp(x, STATIONS, gaps[k % 11]))) / (gap.folds - gap.clean)
            share = min(1.0, max(0.0, share))
            square = share * (height * height + (at - edge) ** 2) + (1.0 - share) * square
        found.append(min(math.sqrt(square), standing))
    return found


def lines(rounds: int) -> list[Line]:
    """Time the map beside the roots and the plain loop."""
    gaps = invented_gaps()
    squares = np.random.default_rng(6).uniform(16.0, 81.0, (ACROSS, ALONG))
    target = np.empty((ACROSS, ALONG), dtype=np.float32)

    def roots() -> None:
        np.sqrt(squares, out=target, casting="same_kind")

    def whole() -> None:
        made = stubble_map(REEL, gaps, STATIONS, MOWING)
        assert made.length.shape == (ACROSS, ALONG)

    def plain() -> None:
        plain_loop(gaps, PLACES)

    actions: dict[str, Callable[[], None]] = {ROOTS: roots, PLAIN: plain, MAP: whole}
    timed = in_turn(actions, rounds)
    timed[PLAIN] = timed[PLAIN].scaled(ACROSS * ALONG / PLACES)
    found = [Line(ROOTS, timed[ROOTS], timed[ROOTS]), Line(MAP, timed[MAP], timed[ROOTS], at_most=40.0)]
    return [*found, Line(f"plain loop, against {MAP}", timed[PLAIN], timed[MAP], at_least=100.0)]
