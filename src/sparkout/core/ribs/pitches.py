"""The pitches that stand out in a stubble map: what a ruler on that turf would find."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import NotEnough, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.ribs.stubble_map import StubbleMap

_ROWS = 64


@dataclass(frozen=True, slots=True)
class Rib:
    """A regular wave in the stubble: its pitch and its depth (valley to crest of that wave alone), mm."""

    pitch: float
    depth: float


def rib_pitches(stubble: StubbleMap, most: int = 6) -> tuple[Rib, ...]:
    """Return the regular waves along travel, deepest first.

    Equation: periodogram with a Hann window, its power averaged over rows; at each local maximum the larger neighbour
    tells where between the two the crest lies and how high; depth = 2 sqrt(2) times the wave's root mean square.

    Parameters
    ----------
    stubble
        A map at least eight clips long.
    most
        How many to return at most, 1 to 50.

    Raises
    ------
    NotEnough
        When the strip is too short.
    OutOfRange
        When `most` is outside its range.

    Validity: waves that repeat at least four times in the strip and are longer than four steps of its grid. The clip's
    rib is not a sine, so its halves and thirds show too.

    Examples
    --------
    >>> from sparkout.core.reel.geometry import Reel
    >>> from sparkout.core.ribs.stubble_map import Mowing, stubble_map
    >>> reel = Reel(11, 127.0, 500.0)
    >>> mowing = Mowing(1250.0, 50 * math.pi, 4.0, 4.0, 12.0)
    >>> strip = stubble_map(reel, np.zeros((11, 2)), [0.0, 500.0], mowing, travelled=1000.0, width=10.0)
    >>> round(rib_pitches(strip)[0].pitch, 2), round(strip.clip, 2)
    (4.55, 4.55)

    References
    ----------
    Textbook periodogram; the interpolation is the Hann window's own spectrum, own working.
    """
    count = int(within("most", most, 1, 50))
    samples = len(stubble.along)
    step = float(stubble.along[1] - stubble.along[0]) if samples > 1 else 0.0
    if samples < 32 or samples * step < 8.0 * stubble.clip:
        raise NotEnough(phrase("pitch of the ribs"), phrase("a strip at least eight clips long"))
    power = _power(stubble.length, samples)
    found = []
    for i in range(4, min(len(power) - 1, samples // 4 + 1)):
        if power[i] > power[i - 1] and power[i] >= power[i + 1] and power[i] > 0.0:
            shift, height = _crest(power[i - 1 : i + 2])
            found.append(Rib(samples * step / (i + shift), 2.0 * math.sqrt(2.0 * height)))
    return tuple(sorted(found, key=lambda rib: -rib.depth)[:count])


def _power(length: NDArray[np.float32], samples: int) -> NDArray[np.float64]:
    """Mean square of each wave: averaged over rows, scaled so that a sine of amplitude a has a²/2 at its crest."""
    rows = length[:: max(1, len(length) // _ROWS)].astype(np.float64)
    window = np.hanning(samples + 1)[:-1]
    waves = np.fft.rfft((rows - rows.mean(axis=1, keepdims=True)) * window, axis=1)
    power: NDArray[np.float64] = 2.0 * (np.abs(waves) ** 2).mean(axis=0) / window.sum() ** 2
    return power


def _crest(three: NDArray[np.float64]) -> tuple[float, float]:
    """Place (in bins from the middle one) and power of the sine that makes these three, exact for a sine alone.

    A Hann window shows a sine d bins away with sinc(d) / (1 - d²) of its amplitude, so that the larger neighbour over
    the middle, alpha, gives d = (2 alpha - 1) / (alpha + 1).
    """
    low, middle, high = np.sqrt(three)
    alpha = max(low, high) / middle
    away = min(max((2.0 * alpha - 1.0) / (alpha + 1.0), 0.0), 0.5)
    shown = float(np.sinc(away)) / (1.0 - away * away)
    return float(away if high >= low else -away), float((middle / shown) ** 2)
