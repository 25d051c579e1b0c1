"""What a recording shows of a bearing: lines in the spectrum of its envelope, and how sure they are.

A damaged race or ball is struck many times a turn; each blow rings the housing at some thousands of hertz. The strength
of that ringing over time (its envelope) repeats at the defect's frequency. The recording says what it can show and no
more: a line must stand out so far that noise alone would do as much in one recording in a thousand, and must not be
where blades, shaft, belt or a surer defect have lines of their own.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import gammaincc, gammaln

from sparkout.core.bearing.geometry import Bearing, defect_multiples
from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.phrase import Phrase, phrase

Floats: TypeAlias = NDArray[np.float64]
Fault = Literal["outer race", "inner race", "ball", "cage"]
FALSE_ALARMS = 0.001
"""Chance that noise alone names a fault in one recording."""
SLIP = 0.02
"""Defect frequencies run up to this share off the kinematic ones."""
OTHERS_WANDER = 0.01
"""Share by which a belt's or a motor's frequency may be off what is said of it."""
HARMONICS = 4
HIGHEST = 2500.0
"""Hz: no defect's low harmonics lie above."""
SHORTEST = 2.0
"""Seconds of recording below which nothing is said of bearings."""
CLIPPED = 0.001
"""Share of samples at full scale above which a recording counts as overdriven."""


@dataclass(frozen=True, slots=True)
class ReelSpeed:
    """Reel speed by blade-pass, 1/min, and how far its comb of lines stands above the next best."""

    speed: float
    u: float
    standing_out: float

    @property
    def sure(self) -> bool:
        """Whether another speed explains the lines nearly as well."""
        return self.standing_out >= 1.5


@dataclass(frozen=True, slots=True)
class FaultLine:
    """One defect's lines: where they would be, where they stand out most, and the chance of that in noise."""

    fault: Fault
    expected: float
    """Hz"""
    found: float
    """Hz"""
    by_chance: float
    """Chance of lines as strong in noise, all frequencies searched counted."""
    named: bool
    hidden_by: Phrase | None
    """What else has lines there, so that nothing can be said; None: nothing."""


@dataclass(frozen=True, slots=True)
class Heard:
    """What a recording shows."""

    lines: tuple[FaultLine, ...]
    band: tuple[float, float]
    """Hz of the ringing whose envelope was taken."""
    frequencies: Floats
    envelope: Floats
    """Spectrum of the envelope over its own background: 1 is the background."""
    cannot: tuple[Phrase, ...]
    """What this recording cannot show, and why."""

    @property
    def fault(self) -> Fault | None:
        """The fault named, the surest of several; None: none shown."""
        named = [line for line in self.lines if line.named]
        return min(named, key=lambda line: line.by_chance).fault if named else None


def reel_speed(
    samples: ArrayLike, rate: float, blades: int, low: float = 200.0, high: float = 4000.0, harmonics: int = 6
) -> ReelSpeed:
    """Return the reel's speed, 1/min, from the lines that its blades make at N times its turns.

    The sum over harmonics of the spectrum's logarithm over its background, at k N n/60, peaks at the reel's speed n.

    Parameters
    ----------
    samples : (n,)
    rate : Hz
    blades : N
    low, high : 1/min, between which the speed is looked for

    Raises
    ------
    OutOfRange
        Naming the argument.
    NotEnough
        Less than a second of recording, or one in which nothing stands out.

    Examples
    --------
    >>> t = np.arange(0, 4, 1 / 8000)
    >>> sound = sum(np.sin(2 * np.pi * 11 * 25 * k * t) / k for k in (1, 2, 3))
    >>> round(reel_speed(sound + 0.1 * np.random.default_rng(0).normal(size=t.size), 8000, 11).speed)
    1500

    Validity: an even speed; unevenly spaced or missing blades put lines at the reel's own turns too.
    """
    x = _sound(samples, rate, 1.0)
    within("blades", blades, 2, 40)
    within("low", low, 1.0, 1e5, "1/min")
    within("high", high, low, 1e5, "1/min")
    frequencies, power = _averaged(x, rate, min(x.size, 2 ** int(math.log2(rate * 4))))
    level = np.log(power / _background(power))
    step = frequencies[1] / (harmonics * blades) / 2.0
    turns = np.arange(low / 60.0, high / 60.0, step)
    order = np.arange(1, harmonics + 1)
    at = blades * turns[:, None] * order
    inside = at < frequencies[-1]
    lines = np.where(inside, np.interp(at, frequencies, level), 0.0).sum(axis=1)
    comb = lines / np.sqrt(np.maximum(inside.sum(axis=1), 1))
    best = int(comb.argmax())
    away = np.abs(turns / turns[best] - 1.0) > 0.02
    rest = comb[away].max(initial=0.0)
    if comb[best] < 4.0:
        raise NotEnough(
            phrase("reel speed from the recording"), phrase("lines of the blades that stand out of the noise")
        )
    u = 60.0 * float(frequencies[1]) / (blades * math.sqrt(12.0) * harmonics)
    return ReelSpeed(60.0 * float(turns[best]), u, float(comb[best] / max(rest, 1e-9)))


def heard(
    samples: ArrayLike,
    rate: float,
    speed: float,
    bearing: Bearing,
    blades: int,
    others: Mapping[str, float] | None = None,
) -> Heard:
    """Return what a recording shows of a bearing at a known reel speed.

    For each defect the ordinates of the envelope's spectrum over its background, each exponential in noise alone, are
    summed over the harmonics; the greatest sum within the slip allowed is held against the gamma distribution, with the
    frequencies searched and the four defects counted. The surest defect comes first, and its lines hide those of the
    rest.

    Parameters
    ----------
    samples : (n,) any scale
    rate : Hz
    speed : 1/min of the reel
    bearing : its inside
    blades : blades on the reel; their lines, and the shaft's, are kept apart
    others : Hz of further lines known (belt, motor, gears), by name

    Raises
    ------
    OutOfRange
        Naming the argument.
    NotEnough
        Less than two seconds.

    Validity: an even speed to about a half of one per cent over the recording. A ball that spins about another axis
    than its spot shows nothing. Own working on common envelope analysis; tested on signals of known truth.
    """
    x = _sound(samples, rate, SHORTEST)
    within("speed", speed, 30.0, 2e4, "1/min")
    within("blades", blades, 2, 40)
    turn = speed / 60.0
    cannot = list(_limits(x, rate, turn))
    x = _cut_to_fast(x)
    x_spectrum, x_frequencies = np.fft.rfft(x), _frequencies(x.size, rate)
    low, high = ringing_band(x_spectrum, x_frequencies, blades * turn)
    frequencies, spectrum = _envelope_spectrum(x_spectrum, x_frequencies, low, high)
    multiples = defect_multiples(bearing)
    wanted: dict[Fault, float] = {
        "outer race": multiples.outer * turn,
        "inner race": multiples.inner * turn,
        "ball": multiples.element * turn,
        "cage": multiples.cage * turn,
    }
    known = {phrase("the reel's own turns"): (turn, 0.002), phrase("the blades"): (blades * turn, 0.002)}
    known |= {Phrase(name): (frequency, OTHERS_WANDER) for name, frequency in (others or {}).items()}
    lines = _lines(wanted, frequencies, spectrum, known, turn, multiples.cage * turn)
    cannot += [
        phrase("{fault}: its lines fall on those of {what}", fault=phrase(line.fault), what=line.hidden_by)
        for line in lines
        if line.hidden_by is not None
    ]
    return Heard(lines, (low, high), frequencies, spectrum, tuple(cannot))


def _sound(samples: ArrayLike, rate: float, seconds: float) -> Floats:
    x = all_within("samples", samples)
    within("rate", rate, 1000.0, 400_000.0, "Hz")
    if x.ndim != 1:
        raise OutOfRange("samples", x.shape, "one channel")
    if x.size < seconds * rate:
        raise NotEnough(phrase("what a recording shows"), phrase("at least {seconds:g} s of it", seconds=seconds))
    if not np.ptp(x):
        raise NotEnough(phrase("what a recording shows"), phrase("a recording with sound in it"))
    return np.asarray(x - x.mean(), dtype=np.float64)


def _limits(x: Floats, rate: float, turn: float) -> list[Phrase]:
    """Return what the recording as such cannot show."""
    found = []
    peak = float(np.abs(x).max())
    if float(np.mean(np.abs(x) > 0.999 * peak)) > CLIPPED:
        found.append(phrase("it is overdriven: blows are cut off, and weak damage may not show"))
    if rate < 8000.0:
        found.append(
            phrase("it reaches only {hertz:.0f} Hz: the ringing of small bearings lies above", hertz=rate / 2.0)
        )
    if x.size / rate < 5.0 or x.size / rate * turn < 50.0:
        found.append(phrase("it is short: cage and weak damage may not show"))
    return found


def _frequencies(size: int, rate: float) -> Floats:
    return np.asarray(np.fft.rfftfreq(size, 1.0 / rate), dtype=np.float64)


def _cut_to_fast(x: Floats) -> Floats:
    """Return the recording cut to a length that transforms fast."""
    size = x.size
    while size > 1:
        rest = size
        for prime in (2, 3, 5, 7):
            while rest % prime == 0:
                rest //= prime
        if rest == 1:
            break
        size -= 1
    return x[:size]


def ringing_band(spectrum: NDArray[np.complex128], frequencies: Floats, blade_pass: float) -> tuple[float, float]:
    """Return the band, Hz, whose envelope is most impulsive, of a ladder of bands above the blades' lines.

    Kurtosis of the squared envelope times the root of the width: wider bands have the surer figure.
    """
    top = 0.9 * float(frequencies[-1])
    lowest = min(max(4.0 * blade_pass, 500.0), top / 2.0)
    best, found = -math.inf, (lowest, top)
    for octaves in (0.5, 1.0, 2.0):
        edge = lowest
        while edge * 2.0**octaves <= top * 1.001:
            band = (edge, edge * 2.0**octaves)
            envelope, _ = _band_envelope(spectrum, frequencies, *band)
            centred = envelope - envelope.mean()
            value = float((centred**4).mean() / (centred**2).mean() ** 2) * math.sqrt(band[1] - band[0])
            if value > best:
                best, found = value, band
            edge *= 2.0 ** (octaves / 2.0)
    return found


def _band_envelope(
    spectrum: NDArray[np.complex128], frequencies: Floats, low: float, high: float
) -> tuple[Floats, float]:
    """Return the squared envelope of a band, and its rate in Hz: twice the band's width, all that it can hold."""
    first, last = np.searchsorted(frequencies, (low, high))
    size = 2 ** math.ceil(math.log2(2 * (last - first)))
    baseband = np.zeros(size, dtype=np.complex128)
    baseband[: last - first] = spectrum[first:last]
    return np.abs(np.fft.ifft(baseband)) ** 2, size * float(frequencies[1])


def _envelope_spectrum(
    spectrum: NDArray[np.complex128], frequencies: Floats, low: float, high: float
) -> tuple[Floats, Floats]:
    """Return frequencies and the power of the band's squared envelope over its background."""
    envelope, rate = _band_envelope(spectrum, frequencies, low, high)
    # One great blow must not pass for a train of them.
    envelope = np.minimum(envelope, np.quantile(envelope, 0.9995))
    power = np.abs(np.fft.rfft((envelope - envelope.mean()) * np.hanning(envelope.size))) ** 2
    found = _frequencies(envelope.size, rate)
    keep = found <= min(HIGHEST, high - low)
    return found[keep], power[keep] / _background(power[keep])


def _background(power: Floats, width: int = 201) -> Floats:
    """Return the mean of the noise about each ordinate: the median over a window, over ln 2."""
    from scipy.ndimage import median_filter

    return np.maximum(median_filter(power, size=min(width, power.size), mode="mirror"), 1e-300) / math.log(2.0)


def _averaged(x: Floats, rate: float, size: int) -> tuple[Floats, Floats]:
    """Return the mean spectrum of half-overlapping stretches."""
    window = np.hanning(size)
    starts = range(0, x.size - size + 1, max(size // 2, 1))
    power = np.mean([np.abs(np.fft.rfft(x[s : s + size] * window)) ** 2 for s in starts], axis=0)
    return _frequencies(size, rate), np.asarray(power, dtype=np.float64)


def _lines(
    wanted: Mapping[Fault, float],
    frequencies: Floats,
    spectrum: Floats,
    known: Mapping[Phrase, tuple[float, float]],
    turn: float,
    cage: float,
) -> tuple[FaultLine, ...]:
    """Return each defect's lines: the surest first, whose lines and sidebands then hide those of the rest."""
    taken = {name: _near(frequencies, base, (0.0,), wander) for name, (base, wander) in known.items()}
    left, found = dict(wanted), {}
    while left:
        tried = {fault: _line(fault, f, frequencies, spectrum, taken) for fault, f in left.items()}
        surest = min(tried.values(), key=lambda line: line[1])
        line = surest[0]
        found[line.fault] = line
        del left[line.fault]
        if not line.named:
            found |= {fault: one[0] for fault, one in tried.items()}
            break
        # A race that turns through the load is struck harder once a turn, a ball once a turn of the cage.
        side = {"inner race": turn, "ball": cage}.get(line.fault, 0.0)
        sides = tuple(k * side for k in range(-3, 4)) if side else (0.0,)
        name = phrase("the {fault}", fault=phrase(line.fault))
        taken[name] = _near(frequencies, line.found, sides)
        if line.fault == "cage":
            # A ball's blows come and go with the cage; the races' lines are multiples of the cage's, or nearly.
            ball = _line("ball", left["ball"], frequencies, spectrum, taken)[0] if "ball" in left else None
            if ball is not None and ball.named:
                del left["ball"]
                found["ball"] = ball
                found["cage"] = replace(line, by_chance=1.0, named=False, hidden_by=phrase("the ball"))
            found |= {fault: FaultLine(fault, f, f, 1.0, False, name) for fault, f in left.items()}
            break
        if line.fault == "ball" and "cage" in left:
            cage_at = left.pop("cage")
            found["cage"] = FaultLine("cage", cage_at, cage_at, 1.0, False, name)
    return tuple(found[fault] for fault in wanted)


def _near(frequencies: Floats, base: float, sides: tuple[float, ...], wander: float = 0.002) -> NDArray[np.bool_]:
    """Return the ordinates at multiples of a frequency, and at these distances from them.

    The window widens a line to about two ordinates either side; a real line wanders by a share `wander`.
    """
    step = float(frequencies[1])
    near = np.zeros(frequencies.size, dtype=bool)
    for side in sides:
        order = np.maximum(np.round((frequencies - side) / base), 1.0)
        near |= np.abs(frequencies - side - order * base) <= np.maximum(2.5 * step, wander * order * base)
    return near


def _line(
    fault: Fault,
    expected: float,
    frequencies: Floats,
    spectrum: Floats,
    taken: Mapping[Phrase, NDArray[np.bool_]],
) -> tuple[FaultLine, float]:
    """Return how a defect's lines stand out within the slip allowed, and the logarithm of their chance in noise."""
    step = float(frequencies[1])
    free = ~np.any(list(taken.values()), axis=0)
    tried = np.arange(expected * (1.0 - SLIP), expected * (1.0 + SLIP), step / (2.0 * HARMONICS))
    order = np.arange(1, HARMONICS + 1)
    at = np.rint(order * tried[:, None] / step).astype(int)
    inside = at < spectrum.size
    at = np.minimum(at, spectrum.size - 1)
    open_ = inside & free[at]
    heights = np.where(open_, spectrum[at], 0.0)
    counted = open_.sum(axis=1)
    if not np.any(counted >= 2):
        return FaultLine(fault, expected, expected, 1.0, False, _hiding(at[tried.size // 2], taken)), 0.0
    chance = np.where(counted >= 2, _log_tail(np.maximum(counted, 1), heights.sum(axis=1)), 0.0)
    best = int(chance.argmin())
    # Neighbouring sums share ordinates: about one independent one for each of the highest harmonic. Four defects.
    searched = max(1.0, HARMONICS * (tried[-1] - tried[0]) / step) * 4.0
    logarithm = min(0.0, float(chance[best]) + math.log(searched))
    # Blows at a frequency always show that frequency itself, or its double where something hides it.
    lowest = heights[best][open_[best]][0]
    named = logarithm < math.log(FALSE_ALARMS) and lowest > math.log(1.0 / FALSE_ALARMS)
    line = FaultLine(fault, expected, float(tried[best]), math.exp(max(logarithm, -700.0)), bool(named), None)
    return line, logarithm if named else 0.0


def _log_tail(shape: NDArray[np.int_], total: Floats) -> Floats:
    """Return log of the gamma distribution's upper tail, by its leading terms where the tail itself is too small."""
    tail = gammaincc(shape, total)
    far = -total + (shape - 1) * np.log(np.maximum(total, 1.0)) - gammaln(shape)
    return np.where(tail > 1e-250, np.log(np.maximum(tail, 1e-300)), far)


def _hiding(at: NDArray[np.int_], taken: Mapping[Phrase, NDArray[np.bool_]]) -> Phrase:
    """Return whose lines hide these ordinates most."""
    return max(taken, key=lambda name: int(taken[name][at].sum()))
