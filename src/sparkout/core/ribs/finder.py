"""The rib finder: from the pitch of the ribs to what makes them, with the odds; and what to mow next to tell."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import NotEnough, OutOfRange, within
from sparkout.core.phrase import phrase
from sparkout.core.ribs.machine import Cause, LandDrive, Machine, Setting, Stretch, causes, prior_weights, relative

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

STANDING = phrase(
    "The odds hold among the causes listed, as far as the speeds, diameters and frequencies entered do; they are no "
    "proof. Look at the part before anything is taken apart, with the engine off and the reel blocked."
)
"""Stands beside every finding."""


@dataclass(frozen=True, slots=True)
class Weighed:
    """A cause after the ribs are measured: its chance, and the pitch it would make on the first stretch (95 %), mm.

    `log_evidence` is the natural logarithm of how well it foretold the pitches (density of their logarithms).
    """

    cause: Cause
    chance: float
    pitch: float
    interval: tuple[float, float]
    log_evidence: float


@dataclass(frozen=True, slots=True)
class RibFinding:
    """Causes of the ribs, likeliest first."""

    weighed: tuple[Weighed, ...]
    machine: Machine
    stretches: tuple[Stretch, ...]
    standing: str = STANDING

    @property
    def best(self) -> Weighed:
        """The likeliest cause."""
        return self.weighed[0]

    @property
    def odds(self) -> float:
        """Chance of the likeliest cause over that of the next; infinite when the next has none."""
        first, second = self.weighed[0].chance, self.weighed[1].chance
        return first / second if second > 0.0 else math.inf


def find_ribs(machine: Machine, stretches: Sequence[Stretch], weights: Mapping[str, float] | None = None) -> RibFinding:
    """Return what makes the ribs, with the chance of each cause.

    Equation: with y_j the logarithm of the pitch on stretch j, each cause foretells y ~ N(m, diag(s²) + tau² 1 1');
    s_j² adds the pitch's own and the speeds' relative variances, tau is the relative uncertainty of what is the same on
    every stretch. Chance of a cause: prior times that density, scaled to sum to one.

    Parameters
    ----------
    machine
        What could mark the turf.
    stretches
        Ribs measured on one or more stretches, at whatever speeds. All made by the same cause.
    weights
        The workshop's own weights before measuring, by kind of cause (`machine.prior_weights`).

    Raises
    ------
    NotEnough
        Without a stretch, or without the reel's speed where the reel keeps its own.
    OutOfRange, Contradiction
        As `prior_weights`.

    Validity: one cause at work, at its first order; errors of different stretches independent and a share of the
    quantity (normal in logarithms). With all that so, the chances are calibrated (tests/core/ribs/test_finder.py).

    Examples
    --------
    Ribs 49 mm apart behind a greens mower:

    >>> from sparkout.core.measured import Measured
    >>> from sparkout.core.ribs.machine import OwnSpeed
    >>> greens = Machine(11, OwnSpeed(), {"front roller": Measured(63.0, 0.5)})
    >>> mown = Setting(Measured(1250.0, 30.0), Measured(50 * math.pi, 2.0))
    >>> found = find_ribs(greens, [Stretch(Measured(49.0, 0.7), mown)])
    >>> found.best.cause.kind, round(found.best.chance, 3)
    ('turn', 0.988)

    References
    ----------
    Bayes' theorem with normal densities; own working.
    """
    if not stretches:
        raise NotEnough(phrase("what makes the ribs"), phrase("the pitch of the ribs on one stretch at least"))
    first = stretches[0].setting
    found = causes(machine, first.travel_speed.value)
    prior = prior_weights(found, weights)
    evidence = np.array([_log_evidence(cause, stretches) for cause in found])
    with np.errstate(divide="ignore"):
        logs = evidence + np.log(prior)
    chance = np.exp(logs - logs.max())
    chance /= chance.sum()
    weighed = [
        Weighed(cause, float(p), at[0], (at[1], at[2]), float(e))
        for cause, p, e in zip(found, chance, evidence, strict=True)
        for at in [cause.pitch(first)]
    ]
    return RibFinding(tuple(sorted(weighed, key=lambda each: -each.chance)), machine, tuple(stretches))


def _parts(cause: Cause, stretches: Sequence[Stretch]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Measured less expected logarithms, and their independent variances, each (J,)."""
    expected = [cause.log_pitch(stretch.setting) for stretch in stretches]
    gap = np.array([math.log(s.pitch.value) - mean for s, (mean, _) in zip(stretches, expected, strict=True)])
    own = np.array([relative(s.pitch) ** 2 + v for s, (_, v) in zip(stretches, expected, strict=True)])
    return gap, np.maximum(own, 1e-12)


def _log_evidence(cause: Cause, stretches: Sequence[Stretch]) -> float:
    """ln N(gap; 0, diag(own) + tau² 1 1'), through the one common part alone (Sherman-Morrison)."""
    gap, own = _parts(cause, stretches)
    shared = cause.shared**2
    precision = float((1.0 / own).sum())
    weighted = float((gap / own).sum())
    stretch = 1.0 + shared * precision
    chi_squared = float((gap**2 / own).sum()) - shared * weighted**2 / stretch
    log_size = float(np.log(own).sum()) + math.log(stretch)
    return -0.5 * (chi_squared + log_size + len(gap) * math.log(2.0 * math.pi))


def foretold(cause: Cause, stretches: Sequence[Stretch], setting: Setting, pitch_share: float) -> tuple[float, float]:
    """Return mean and variance of ln pitch to be measured at a setting, if this cause is the true one.

    Equation: the common part's posterior from the stretches so far, d ~ N(t w / (1/tau² + sum 1/own), ...), added to
    the cause's own expectation.
    """
    gap, own = _parts(cause, stretches)
    mean, variance = cause.log_pitch(setting)
    if cause.shared > 0.0:
        precision = 1.0 / cause.shared**2 + float((1.0 / own).sum())
        mean += float((gap / own).sum()) / precision
        variance += 1.0 / precision
    return mean, variance + pitch_share**2


@dataclass(frozen=True, slots=True)
class NextStretch:
    """What mowing one more stretch at a setting is expected to tell.

    `tells_apart` is the chance that the likelier of the best two after it is the true one of the two (`before`: now);
    `information` is expected over all causes, in bits; the pitches are what each of the two would show, mm.
    """

    setting: Setting
    before: float
    tells_apart: float
    information: float
    first_pitch: float
    second_pitch: float


def next_stretch(
    finding: RibFinding, settings: Sequence[Setting], pitch_share: float | None = None
) -> tuple[NextStretch, ...]:
    """Return what one more stretch at each setting would tell of the best two causes, best first.

    Equation: with densities f1, f2 of ln pitch foretold by the two and their chances w1, w2 (scaled to sum to one), the
    chance of naming the right one is the integral of max(w1 f1, w2 f2); the information is the entropy of the chances
    now less its expectation after the stretch.

    Parameters
    ----------
    settings
        Speeds to choose from (`settings_within` makes some); each with how well it would be known.
    pitch_share
        Relative standard uncertainty of the pitch to be measured; that of the first stretch when left out.

    Raises
    ------
    NotEnough
        Without settings.
    OutOfRange
        When `pitch_share` is outside 0 to 0.6.

    Validity: as `find_ribs`. Two causes whose pitches go the same way with every speed (two rollers of one size; clip
    and turn on a land drive) stay as they were: `tells_apart` then equals `before`, and only looking at the part helps.

    Examples
    --------
    Once per reel turn, or a roller out of round? Mow slower, and see whether the ribs close up.

    >>> from sparkout.core.measured import Measured
    >>> from sparkout.core.ribs.machine import OwnSpeed
    >>> fairway = Machine(8, OwnSpeed(), {"grooved roller": Measured(33.5, 0.5)}, bounce=None)
    >>> mown = Setting(Measured(2500.0, 75.0), Measured(150.0, 3.0))
    >>> found = find_ribs(fairway, [Stretch(Measured(105.0, 2.0), mown)])
    >>> [each.cause.kind for each in found.weighed[:2]]
    ['roller', 'turn']
    >>> best = next_stretch(found, settings_within(found, (1500.0, 3000.0)))[0]
    >>> best.setting.travel_speed.value, round(best.tells_apart, 3)
    (1500.0, 1.0)

    References
    ----------
    Own working: expected information (Lindley) and the least error of a choice between two normal densities.
    """
    if not settings:
        raise NotEnough(phrase("the next stretch worth mowing"), phrase("at least one setting to choose from"))
    share = (
        relative(finding.stretches[0].pitch) if pitch_share is None else within("pitch_share", pitch_share, 0.0, 0.6)
    )
    found = [_prospect(finding, setting, max(share, 1e-6)) for setting in settings]
    return tuple(sorted(found, key=lambda each: (-round(each.tells_apart, 9), -each.information)))


def _prospect(finding: RibFinding, setting: Setting, share: float) -> NextStretch:
    foreseen = [foretold(each.cause, finding.stretches, setting, share) for each in finding.weighed]
    mean = np.array([m for m, _ in foreseen])
    spread = np.sqrt([v for _, v in foreseen])
    chance = np.array([each.chance for each in finding.weighed])
    pair = chance[:2] / chance[:2].sum()
    return NextStretch(
        setting,
        float(pair.max()),
        _right_choice(pair, mean[:2], spread[:2]),
        _information(chance, mean, spread),
        math.exp(mean[0]),
        math.exp(mean[1]),
    )


def _right_choice(pair: NDArray[np.float64], mean: NDArray[np.float64], spread: NDArray[np.float64]) -> float:
    """Integral of max(w1 f1, w2 f2) for two normal densities: exact, between the points where the two are equal."""
    from scipy.special import ndtr

    if pair[1] == 0.0:
        return 1.0
    # ln(w1 f1) - ln(w2 f2) = a y² + b y + c
    inverse = 1.0 / spread**2
    a = 0.5 * (inverse[1] - inverse[0])
    b = mean[0] * inverse[0] - mean[1] * inverse[1]
    c = 0.5 * (mean[1] ** 2 * inverse[1] - mean[0] ** 2 * inverse[0]) + math.log(
        pair[0] * spread[1] / (pair[1] * spread[0])
    )
    roots = np.roots([a, b, c]) if abs(a) > 1e-12 * abs(inverse).max() else np.array([-c / b]) if b else np.array([])
    cuts = np.sort(roots[np.isreal(roots)].real)
    edges = np.concatenate([[-np.inf], cuts, [np.inf]])
    inside = (
        np.concatenate([[cuts[0] - 1.0], 0.5 * (cuts[1:] + cuts[:-1]), [cuts[-1] + 1.0]]) if cuts.size else [mean[0]]
    )
    right = 0.0
    for low, high, at in zip(edges[:-1], edges[1:], inside, strict=True):
        i = 0 if a * at * at + b * at + c >= 0.0 else 1
        right += float(pair[i]) * float(ndtr((high - mean[i]) / spread[i]) - ndtr((low - mean[i]) / spread[i]))
    return min(1.0, max(right, float(pair.max())))


_NODES = np.linspace(-8.0, 8.0, 801)
_HEIGHTS = np.exp(-0.5 * _NODES**2)
_HEIGHTS /= _HEIGHTS.sum()


def _information(chance: NDArray[np.float64], mean: NDArray[np.float64], spread: NDArray[np.float64]) -> float:
    """Mutual information of cause and ln pitch, bits: sum of w_c E_c[log2(f_c / f)]."""
    there = chance > 0.0
    w, m, s = chance[there], mean[there], spread[there]
    y = m[:, None] + s[:, None] * _NODES
    logs = -0.5 * ((y[:, :, None] - m) / s) ** 2 - np.log(s)
    own = -0.5 * _NODES**2 - np.log(s)[:, None]
    top = logs.max(axis=2)
    mixed = top + np.log(np.exp(logs - top[:, :, None]) @ w)
    return max(0.0, float(w @ ((own - mixed) @ _HEIGHTS)) / math.log(2.0))


def settings_within(
    finding: RibFinding, travel: tuple[float, float], reel: tuple[float, float] | None = None
) -> tuple[Setting, ...]:
    """Return settings worth comparing: both ends and the middle of the travel allowed, and of the reel's speed.

    Parameters
    ----------
    travel
        Slowest and fastest travel the machine may do on this turf, mm/s.
    reel
        Slowest and fastest reel speed the machine's book allows, rad/s; None keeps the first stretch's.

    Raises
    ------
    OutOfRange
        When an end is not above 0 or the ends are out of order.

    Validity: each speed is taken to be known as well, as a share, as on the first stretch.
    """
    first = finding.stretches[0].setting
    ways = [first.travel_speed.scaled(v / first.travel_speed.value) for v in _spaced(phrase("travel"), travel, "mm/s")]
    if first.reel_speed is None or isinstance(finding.machine.drive, LandDrive):
        return tuple(Setting(way) for way in ways)
    turning = [first.reel_speed]
    if reel is not None:
        turning += [first.reel_speed.scaled(w / first.reel_speed.value) for w in _spaced(phrase("reel"), reel, "rad/s")]
    return tuple(Setting(way, turn) for way in ways for turn in turning)


def _spaced(name: str, ends: tuple[float, float], unit: str) -> tuple[float, float, float]:
    low = within(phrase("slowest {what}", what=name), ends[0], 0.0, math.inf, unit, above=True)
    high = within(phrase("fastest {what}", what=name), ends[1], 0.0, math.inf, unit, above=True)
    if low >= high:
        raise OutOfRange(phrase("fastest {what}", what=name), high, phrase("above {low:g}", low=low), unit)
    return low, math.sqrt(low * high), high
