"""Pass simulation, 11 blades x 2,000 stations x 100 passes: against a plain loop, and against moving the same bytes.

    python bench/simulation.py

One run, medians, ratios. "Moving the bytes" is one copy of the map per pass. The plain loop runs on a share of the
stations and is scaled up (it is linear in points); the share is printed.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable

import numpy as np

from sparkout.core.grinding.passes import WheelWear, simulate

BLADES, STATIONS, PASSES, GIVE = 11, 2000, 100, 0.7
SHARE = 20  # the plain loop does one station in this many


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


def median_of(action: Callable[[], object], times: int) -> float:
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        action()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def main() -> None:
    reel = invented_reel(STATIONS)
    wheel = reel.max() - np.concatenate([np.linspace(0.004, 0.30, PASSES - 5), np.full(5, 0.30)])
    small = reel[:, ::SHARE]
    target = np.empty_like(reel)
    wear = WheelWear(np.full(STATIONS, 3e-4 / STATIONS))
    shaped = np.repeat(wheel[:, None], STATIONS, axis=1)

    moving = median_of(lambda: copies(reel, target), 31)
    plain = median_of(lambda: plain_loop(small.tolist(), wheel.tolist(), GIVE), 5) * SHARE
    routes = {
        "closed form (wheel only comes closer)": median_of(lambda: simulate(reel, wheel, GIVE), 31),
        "pass by pass (wheel shaped along x)": median_of(lambda: simulate(reel, shaped, GIVE), 15),
        "pass by pass, wheel wearing as it goes": median_of(lambda: simulate(reel, wheel, GIVE, wheel_wear=wear), 7),
    }
    print(f"{BLADES} blades x {STATIONS} stations x {PASSES} passes; medians")
    print(f"one copy of the map per pass        {1e3 * moving:9.3f} ms")
    print(f"plain loop (1/{SHARE} of it, scaled)      {1e3 * plain:9.1f} ms")
    for name, seconds in routes.items():
        against = f"{seconds / moving:6.2f} x the copies, plain loop / this {plain / seconds:7.0f}"
        print(f"{name:40s}{1e3 * seconds:9.3f} ms  {against}")


if __name__ == "__main__":
    main()
