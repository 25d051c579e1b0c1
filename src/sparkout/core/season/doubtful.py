"""What looks wrong in a unit's own readings: hours that fall, diameters that grow, metal gone without a grind.

Everything here looks at runs of readings, each run one unit's in the order of time, and works on all runs at once.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]
Flags: TypeAlias = NDArray[np.bool_]

PRIOR_ODDS = 0.05
"""Of an unrecorded grind somewhere in a unit's readings, before they are looked at; common practice, no source."""
GRIND = (0.3, 0.2)
"""mm on diameter that an unrecorded grind is expected to have taken: mean and spread; common practice, no source."""
SUSPECTED = 3.0
"""Posterior odds from which an unrecorded grind is asked about."""
FEWEST_READINGS = 5
"""In fewer, a line with a step in it passes through almost anything."""
GROWN = 6.0
"""A growth of so many standard deviations of a difference is no gauge error."""


@dataclass(frozen=True, slots=True)
class Runs:
    """Readings of several units: run i is rows `starts[i]` up to `starts[i + 1]`, one unit's in the order of time."""

    starts: Indices
    """(runs + 1,) the last is the number of rows."""
    hours: Floats
    level: Floats
    """mm: what was shown, with what recorded grinds had taken put back."""

    @property
    def of(self) -> Indices:
        """Return the run of each row."""
        return np.repeat(np.arange(self.starts.size - 1, dtype=np.intp), np.diff(self.starts))


@dataclass(frozen=True, slots=True)
class Steps:
    """Unrecorded grinds suspected, one a run at most."""

    run: Indices
    row: Indices
    """The first reading after the step; the one before it is the last without."""
    size: Floats
    """mm taken, best estimate."""
    odds: Floats
    """Posterior odds that some such grind is there, all gaps of the run considered."""


def reading_noise(runs: Runs) -> float:
    """Return the standard deviation of one reading about its unit's line, from each three that follow one another.

    Each middle reading less the straight line between its neighbours has variance σ²(1 + w² + (1 − w)²); 1.4826 times
    the median of their sizes is a robust σ (normal noise), so that steps in some units do not widen it. Returns 0 where
    no unit has three readings at different hours.

    Examples
    --------
    >>> zigzag = Runs(np.array([0, 3]), np.array([0.0, 1.0, 2.0]), np.array([5.0, 4.1, 3.0]))
    >>> round(reading_noise(zigzag), 3)
    0.121

    References
    ----------
    Common practice, no source; the factor is 1 over the 75 % point of the normal distribution.
    """
    of = runs.of
    if of.size < 3:
        return 0.0
    same = of[2:] == of[:-2]
    h, y = runs.hours, runs.level
    span = h[2:] - h[:-2]
    usable = same & (span > 0) & (h[1:-1] >= h[:-2]) & (h[1:-1] <= h[2:])
    if not usable.any():
        return 0.0
    w = (h[1:-1] - h[:-2])[usable] / span[usable]
    off = y[1:-1][usable] - (1.0 - w) * y[:-2][usable] - w * y[2:][usable]
    return float(1.482602218505602 * np.median(np.abs(off) / np.sqrt(1.0 + w**2 + (1.0 - w) ** 2)))


def hours_out_of_line(runs: Runs) -> Flags:
    """Return which readings' hours lie outside their neighbours' although the neighbours themselves are in order.

    One such reading is a slip of the pen or another unit's; hours that fall and stay low are a meter replaced
    (`meter_replaced`).

    Examples
    --------
    >>> runs = Runs(np.array([0, 4]), np.array([0.0, 100.0, 20.0, 200.0]), np.zeros(4))
    >>> hours_out_of_line(runs).tolist()
    [False, False, True, False]
    """
    of, h = runs.of, runs.hours
    found = np.zeros(h.size, dtype=np.bool_)
    if h.size < 3:
        return found
    inner = (of[2:] == of[:-2]) & (h[2:] >= h[:-2])
    found[1:-1] = inner & ((h[1:-1] < h[:-2]) | (h[1:-1] > h[2:]))
    # Of two neighbours that accuse each other the lower is out: 0, 100, 20, 200 has a 20 too low, not a 100 too high.
    high = np.zeros_like(found)
    high[1:-1] = inner & (h[1:-1] > h[2:])
    low = found & ~high
    found[:-1] &= ~(high[:-1] & low[1:])
    return found


def meter_replaced(runs: Runs) -> tuple[Indices, Floats]:
    """Return rows at which hours fall, and hours carried on from the last reading before each fall.

    Validity: what was cut between that reading and the change of the meter is not known and counts as none.

    Examples
    --------
    >>> rows, hours = meter_replaced(Runs(np.array([0, 4]), np.array([0.0, 500.0, 20.0, 120.0]), np.zeros(4)))
    >>> rows.tolist(), hours.tolist()
    ([2], [0.0, 500.0, 520.0, 620.0])
    """
    of, h = runs.of, runs.hours
    falls = np.zeros(h.size, dtype=np.bool_)
    falls[1:] = (of[1:] == of[:-1]) & (h[1:] < h[:-1])
    rows = np.flatnonzero(falls)
    if not rows.size:
        return rows, h
    carried = h.copy()
    for row in rows:  # few; one running sum over all runs would round every unit's hours
        carried[row : runs.starts[of[row] + 1]] += h[row - 1]
    return rows, carried


def grown(runs: Runs, noise: float) -> Indices:
    """Return rows whose level stands above the one before by more than `GROWN` standard deviations of a difference.

    Examples
    --------
    >>> grown(Runs(np.array([0, 3]), np.array([0.0, 1.0, 2.0]), np.array([125.0, 124.9, 127.0])), 0.05).tolist()
    [2]
    """
    of, y = runs.of, runs.level
    found = np.zeros(y.size, dtype=np.bool_)
    found[1:] = (of[1:] == of[:-1]) & (y[1:] - y[:-1] > max(GROWN * math.sqrt(2.0) * noise, 1e-9))
    return np.flatnonzero(found)


def unrecorded_grinds(runs: Runs, noise: float, grind: tuple[float, float] = GRIND) -> Steps:
    """Return runs in which a step down explains the readings better than the unit's own straight line.

    For a step b at gap j beside a line, b̂ = s̃·y/s̃·s̃ with s̃ the step less its own line, known noise σ, and a prior
    b ~ N(m, τ²) the Bayes factor is N(b̂; m, τ² + v)/N(b̂; 0, v), v = σ²/s̃·s̃; the odds are `PRIOR_ODDS` times their
    mean over the gaps.

    Validity: one step a run; at least `FEWEST_READINGS` readings; noise from `reading_noise`.

    Examples
    --------
    >>> hours = np.arange(8.0) * 50
    >>> level = 127 - 0.001 * hours - 0.4 * (hours > 170)
    >>> found = unrecorded_grinds(Runs(np.array([0, 8]), hours, level), 0.03)
    >>> found.row.tolist(), [round(float(size), 2) for size in found.size]
    ([4], [0.4])

    References
    ----------
    Own working: the Bayes factor of one normal mean with known variance.
    """
    counts = np.diff(runs.starts)
    parts: list[tuple[Indices, Indices, Floats, Floats]] = []
    if noise > 0.0:
        for count in np.unique(counts[counts >= FEWEST_READINGS]):
            which = np.flatnonzero(counts == count)
            chunks = (which[start : start + 4096] for start in range(0, which.size, 4096))
            parts.extend(_stepped(runs, chunk, int(count), noise, grind) for chunk in chunks)
    if not parts:
        none = np.zeros(0, dtype=np.intp)
        return Steps(none, none, np.zeros(0), np.zeros(0))
    run, row, size, odds = (np.concatenate([part[i] for part in parts]) for i in range(4))
    order = np.argsort(run)
    return Steps(run[order], row[order], size[order], odds[order])


def _stepped(
    runs: Runs, which: Indices, count: int, noise: float, grind: tuple[float, float]
) -> tuple[Indices, Indices, Floats, Floats]:
    rows = runs.starts[which][:, None] + np.arange(count)
    t, y = runs.hours[rows], runs.level[rows]
    t = t - t.mean(axis=1, keepdims=True)
    y = y - y.mean(axis=1, keepdims=True)
    tt = np.maximum(np.sum(t * t, axis=1), 1e-12)
    y = y - t * (np.sum(t * y, axis=1) / tt)[:, None]
    # The step at gap j is 1 from reading j on: its product with anything is a sum over the tail.
    tail = np.cumsum(y[:, ::-1], axis=1)[:, ::-1][:, 1:]
    along = np.cumsum(t[:, ::-1], axis=1)[:, ::-1][:, 1:]
    after = np.arange(count - 1, 0, -1.0)
    square = after - after**2 / count - along**2 / tt[:, None]
    square = np.where(square > 1e-6, square, np.nan)
    size = -tail / square
    mean, spread = grind
    v = noise**2 / square
    with np.errstate(over="ignore", invalid="ignore"):
        log = 0.5 * (size**2 / v - (size - mean) ** 2 / (spread**2 + v) + np.log(v / (spread**2 + v)))
        log = np.where(np.isfinite(log) & (size > 0.0), log, -np.inf)
        best = np.argmax(log, axis=1)
        highest = np.minimum(log.max(axis=1), 600.0)
        odds = PRIOR_ODDS / (count - 1) * np.exp(np.minimum(log, 600.0)).sum(axis=1)
    at = np.arange(which.size)
    told = (odds >= SUSPECTED) & np.isfinite(highest)
    taken = (size * spread**2 + mean * v) / (spread**2 + v)
    return which[told], (rows[at, best + 1])[told], taken[at, best][told], odds[told]
