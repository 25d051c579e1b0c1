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


def medians_of(actions: dict[str, Callable[[], object]], rounds: int) -> dict[str, float]:
    """Median seconds of each; every round does all of them in turn, so that a busy moment falls on all alike."""
    taken: dict[str, list[float]] = {name: [] for name in actions}
    for _ in range(rounds):
        for name, action in actions.items():
            start = time.perf_counter()
            action()
            taken[name].append(time.perf_counter() - start)
    return {name: statistics.median(seconds) for name, seconds in taken.items()}


def main() -> None:
    reel = invented_reel(STATIONS)
    wheel = reel.max() - np.concatenate([np.linspace(0.004, 0.30, PASSES - 5), np.full(5, 0.30)])
    small = reel[:, ::SHARE]
    target = np.empty_like(reel)
    wear = WheelWear(np.full(STATIONS, 3e-4 / STATIONS))
    shaped = np.repeat(wheel[:, None], STATIONS, axis=1)
    moving, plain = "one copy of the map per pass", f"plain loop (1/{SHARE} of it, scaled)"
    seconds = medians_of(
        {
            moving: lambda: copies(reel, target),
            plain: lambda: plain_loop(small.tolist(), wheel.tolist(), GIVE),
            "simulate (wheel only comes closer)": lambda: simulate(reel, wheel, GIVE),
            "simulate, wheel shaped along x": lambda: simulate(reel, shaped, GIVE),
            "simulate, wheel wearing as it goes": lambda: simulate(reel, wheel, GIVE, wheel_wear=wear),
        },
        rounds=21,
    )
    seconds[plain] *= SHARE
    print(f"{BLADES} blades x {STATIONS} stations x {PASSES} passes; medians of 21 rounds")
    for name, taken in seconds.items():
        against = f"{taken / seconds[moving]:8.2f} x the copies, plain loop / this {seconds[plain] / taken:6.0f}"
        print(f"{name:36s}{1e3 * taken:9.2f} ms {against}")


if __name__ == "__main__":
    main()
