"""Pass simulation, 11 blades x 2,000 stations x 100 passes: against moving the same bytes, and against a plain loop.

"Moving the bytes" is one copy of the map per pass. The plain loop runs on a share of the stations and is scaled up (it
is linear in points).
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from bench.timing import Line, in_turn

from sparkout.core.grinding.passes import WheelWear, simulate

BLADES, STATIONS, PASSES, GIVE = 11, 2000, 100, 0.7
SHARE = 20  # the plain loop does one station in this many
COPIES, PLAIN = "one copy of the map per pass", f"plain loop (timed on 1/{SHARE} of the stations)"
CLOSER = "simulate, wheel that only comes closer"


def invented_reel(stations: int) -> np.ndarray:
    """A coned, slightly bent, worn reel: invented, seeded."""
    noise = np.random.default_rng(2).normal(0.0, 0.005, (BLADES, stations))
    t = np.linspace(-1.0, 1.0, stations)
    theta = 2.0 * math.pi * np.arange(BLADES) / BLADES
    return 63.0 + 0.1 * t - 0.03 * t**2 + 0.04 * np.cos(theta)[:, None] + noise


def plain_loop(heights: list[list[float]], wheel: list[float], give: float) -> list[list[float]]:
    """The same sums, one number at a time: shares, largest and mean bites as well as the map."""
    points = sum(len(row) for row in heights)
    for u in wheel:
        touched, largest, total = 0, 0.0, 0.0
        for row in heights:
            for i, r in enumerate(row):
                if r > u:
                    bite = give * (r - u)
                    row[i] = r - bite
                    touched += 1
                    total += bite
                    if bite > largest:  # noqa: PLR1730 - the call would only make the loop slower
                        largest = bite
        _ = touched / points, largest, total / points
    return heights


def copies(source: np.ndarray, target: np.ndarray) -> None:
    for _ in range(PASSES):
        np.copyto(target, source)


def lines(rounds: int) -> list[Line]:
    """Time the simulation by its three routes beside the copies and the plain loop."""
    reel = invented_reel(STATIONS)
    wheel = reel.max() - np.concatenate([np.linspace(0.004, 0.30, PASSES - 5), np.full(5, 0.30)])
    small, target = reel[:, ::SHARE], np.empty_like(reel)
    wear = WheelWear(np.full(STATIONS, 3e-4 / STATIONS))
    shaped = np.repeat(wheel[:, None], STATIONS, axis=1)
    actions: dict[str, Callable[[], object]] = {
        COPIES: lambda: copies(reel, target),
        PLAIN: lambda: plain_loop(small.tolist(), wheel.tolist(), GIVE),
        CLOSER: lambda: simulate(reel, wheel, GIVE),
        "simulate, wheel shaped along x": lambda: simulate(reel, shaped, GIVE),
        "simulate, wheel wearing as it goes": lambda: simulate(reel, wheel, GIVE, wheel_wear=wear),
    }
    timed = in_turn({name: _without_result(action) for name, action in actions.items()}, rounds)
    timed[PLAIN] = timed[PLAIN].scaled(SHARE)
    moving = timed[COPIES]
    found = [Line(name, t, moving, 4.0 if name == CLOSER else None) for name, t in timed.items()]
    return [*found, Line(f"plain loop, against {CLOSER}", timed[PLAIN], timed[CLOSER], at_least=100.0)]


def _without_result(action: Callable[[], object]) -> Callable[[], None]:
    def done() -> None:
        action()

    return done
