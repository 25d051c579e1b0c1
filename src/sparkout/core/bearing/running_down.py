"""A reel left to run down, heard: its speed from moment to moment by the blades' lines, and how it slows."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sparkout.core.bearing.drag import slowing
from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.measured import Measured

Floats: TypeAlias = NDArray[np.float64]
FRAME, HOP = 0.3, 0.1
"""Seconds of one look at the spectrum, and from one to the next."""
HARMONICS = 4
_STEP = 0.005
"""Speeds are looked for this share apart."""
_MOST_FALL = 24
"""Steps a speed may fall from one look to the next; it rises by one at most."""
STANDS_OUT = 2.5
"""A look counts when its comb of lines stands so far out, in sums of logarithms over the root of their number."""
FALLEN = 0.75
"""What is heard counts as a run-down when the speed fell at least to this share."""
LONGEST = 180.0
"""Seconds looked at, from the beginning: no reel runs down longer."""
MODEL = 0.01
"""Share by which drag is never quite as the fit has it (our own choice)."""
STRAYS = 0.02
"""Beyond this share of the first speed the fit is no description of what was heard (our own choice)."""
SHORTEST = 1.5
"""Seconds of falling speed below which nothing is said."""


@dataclass(frozen=True, slots=True)
class RunningDown:
    """A run-down heard: speeds in 1/min, times in s from the moment the speed began to fall."""

    times: Floats
    speeds: Floats
    slowing: Measured
    """rad/s², of drag that does not depend on speed."""
    by_speed: float
    """1/s: what is added for each rad/s; 0 where the recording does not tell it."""
    first_speed: Measured
    """rad/s when it began to slow."""
    stop: float
    """Seconds from then until it stands, by the fit."""
    strays: float = 0.0
    """How far the speed heard strays from the fit, root mean square of three looks each, as a share of the first."""

    @property
    def freely(self) -> bool:
        """Whether it runs down as drag alone would have it: no drive that holds or brakes it for part of the way."""
        return self.strays <= STRAYS


def running_down(
    samples: ArrayLike, rate: float, blades: int, low: float = 100.0, high: float = 4000.0
) -> RunningDown | None:
    """Return how a reel heard slows down by itself; None when the recording shows no run-down.

    The speed of each look is the one whose comb of lines at k N n/60 stands out most, of all ways through the looks
    on which the speed never rises by more than a step; of these the part that stands out and falls is fitted with
    dω/dt = −(a + k ω).

    Parameters
    ----------
    samples : (n,)
    rate : Hz
    blades : N
    low, high : 1/min between which speeds are looked for

    Raises
    ------
    OutOfRange
        Naming the argument.

    Examples
    --------
    >>> t = np.arange(0, 6, 1 / 8000)
    >>> turned = 2 * np.pi * (20.0 * t - 0.5 * 2.5 * t**2)
    >>> sound = sum(np.sin(9 * k * turned) / k for k in (1, 2, 3, 4))
    >>> found = running_down(sound + 0.1 * np.random.default_rng(0).normal(size=t.size), 8000, 9)
    >>> round(found.slowing.value, 0)
    16.0

    Validity: the blades must be heard; a reel that slows with its drive on it tells the drive's drag too. A drive that
    drags evenly all the way cannot be told from the reel's own drag; one that holds or brakes for part of the way shows
    as `strays`. Own working, tested on signals of known truth.
    """
    x = all_within("samples", samples)
    if x.ndim != 1:
        raise OutOfRange("samples", x.shape, "one channel")
    within("rate", rate, 1000.0, 400_000.0, "Hz")
    within("blades", blades, 2, 40)
    within("low", low, 1.0, 1e5, "1/min")
    within("high", high, low, 1e5, "1/min")
    if x.size < (SHORTEST + FRAME) * rate or not np.ptp(x):
        return None
    x = x[: int(LONGEST * rate)]
    speeds = low * np.exp(np.arange(0.0, math.log(high / low), _STEP))
    times, combs = _combs(x - x.mean(), rate, blades, speeds)
    way = _way(combs)
    heard = _longest(combs[np.arange(way.size), way] >= STANDS_OUT)
    t, n = times[heard], _refined(combs, way, speeds)[heard]
    if t.size * HOP < SHORTEST:
        return None
    # A drive may hold the speed at first: the run-down begins where it was last near its highest.
    first = int(np.flatnonzero(n >= 0.985 * n.max())[-1])
    t, n = t[first:], n[first:]
    if t.size * HOP < SHORTEST or float(np.median(n[-3:])) > FALLEN * n[0]:
        return None
    return _fitted(t - t[0], n)


def _combs(x: Floats, rate: float, blades: int, speeds: Floats) -> tuple[Floats, Floats]:
    """Return the time of each look and how far each speed's comb of lines stands out in it, (looks, speeds)."""
    from scipy.ndimage import median_filter

    size, hop = int(FRAME * rate), int(HOP * rate)
    starts = np.arange(0, x.size - size + 1, hop)
    padded = 2 ** math.ceil(math.log2(2 * size))
    frequencies = np.fft.rfftfreq(padded, 1.0 / rate)
    top = int(np.searchsorted(frequencies, min(rate / 2.0, 1.05 * HARMONICS * blades * speeds[-1] / 60.0)))
    at = blades * speeds / 60.0 * np.arange(1, HARMONICS + 1)[:, None]
    inside = at < frequencies[top - 1]
    count = np.sqrt(np.maximum(inside.sum(axis=0), 1))
    window = np.hanning(size)
    width = max(31, round(60.0 / frequencies[1]))
    made = np.empty((starts.size, speeds.size))
    for i, start in enumerate(starts):
        power = np.abs(np.fft.rfft(x[start : start + size] * window, padded)[:top]) ** 2
        background = np.maximum(median_filter(power, size=width, mode="mirror"), 1e-300) / math.log(2.0)
        level = np.maximum(np.log(np.maximum(power / background, 1e-6)), -2.0)
        made[i] = np.where(inside, np.interp(at, frequencies[:top], level), 0.0).sum(axis=0) / count
    return np.asarray((starts + size / 2.0) / rate, dtype=np.float64), made


def _way(combs: Floats) -> NDArray[np.int64]:
    """Return the speed of each look, by its number, on the way with the greatest sum."""
    looks, count = combs.shape
    best, back = combs[0].copy(), np.zeros((looks, count), dtype=np.int64)
    for i in range(1, looks):
        top, come = np.full(count, -np.inf), np.zeros(count, dtype=np.int64)
        for fall in range(-1, _MOST_FALL + 1):
            before = np.full(count, -np.inf)
            if fall >= 0:
                before[: count - fall] = best[fall:]
            else:
                before[1:] = best[:-1]
            better = before > top
            top[better], come[better] = before[better], fall
        best, back[i] = top + combs[i], come
    way = np.empty(looks, dtype=np.int64)
    way[-1] = int(best.argmax())
    for i in range(looks - 1, 0, -1):
        way[i - 1] = way[i] + back[i, way[i]]
    return way


def _refined(combs: Floats, way: NDArray[np.int64], speeds: Floats) -> Floats:
    """Return the speeds of a way, each at the top of a parabola through its comb and those beside it."""
    at = np.clip(way, 1, speeds.size - 2)
    rows = np.arange(way.size)
    left, middle, right = (combs[rows, at + k] for k in (-1, 0, 1))
    bend = left - 2.0 * middle + right
    shift = np.where(bend < -1e-9, 0.5 * (left - right) / np.where(bend < -1e-9, bend, -1.0), 0.0)
    return np.asarray(speeds[at] * np.exp(_STEP * np.clip(shift, -1.0, 1.0)), dtype=np.float64)


def _longest(heard: NDArray[np.bool_]) -> slice:
    """Return the longest stretch of looks that count; one or two that do not are stepped over."""
    best, start, gap = slice(0, 0), None, 0
    for i, yes in enumerate([*heard.tolist(), *[False] * 3]):
        if yes:
            start, gap = (i if start is None else start), 0
        elif start is not None:
            gap += 1
            if gap > 2:
                if i - gap + 1 - start > best.stop - best.start:
                    best = slice(start, i - gap + 1)
                start = None
    return best


def _fitted(t: Floats, n: Floats) -> RunningDown | None:
    omega = n * (2.0 * math.pi / 60.0)
    turned = np.concatenate([[0.0], np.cumsum(0.5 * (n[1:] + n[:-1]) * np.diff(t))]) / 60.0
    try:
        found = slowing(t, turned)
    except NotEnough:
        return None
    a, k, first = found.even.value, found.by_speed.value, found.first_speed.value
    told = first - a * t if k * t[-1] < 1e-6 else (first + a / k) * np.exp(-k * t) - a / k
    scatter = math.sqrt(float(np.mean((omega - told) ** 2)) * FRAME / HOP)  # looks overlap: fewer than they seem
    u = scatter / math.sqrt(float(np.sum((t - t.mean()) ** 2)))
    if k:  # the two kinds of drag are told apart less well than either by itself
        u = max(u, found.even.u)
    u = math.hypot(u, MODEL * a)
    smooth = np.convolve(omega - told, np.full(3, 1.0 / 3.0), "valid")
    strays = math.sqrt(float(np.mean(smooth**2))) / first
    speed = Measured(first, max(scatter / math.sqrt(t.size), found.first_speed.u))
    return RunningDown(t, n, Measured(a, u), k, speed, found.stop, strays)
