"""How freely a reel turns: torque by cord and balance, by a falling weight, by the run-down, and its inertia."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sparkout.core.errors import NotEnough, OutOfRange, all_within, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase

Floats: TypeAlias = NDArray[np.float64]
GRAVITY = 9.80665
"""m/s², standard."""


@dataclass(frozen=True, slots=True)
class Slowing:
    """How a reel left to run down slows: evenly, and by its speed; a RunDown without the inertia."""

    even: Measured
    """rad/s² at no speed."""
    by_speed: Measured
    """1/s: rad/s² for each rad/s."""
    first_speed: Measured
    """rad/s at the first time given."""
    stop: float
    """Seconds from the first time until it stands, by the fit."""
    residual: float
    """Turns: how far a reading lies off the fit."""


@dataclass(frozen=True, slots=True)
class RunDown:
    """A reel left to run down: drag that does not depend on speed, drag that grows with it, speed at the start."""

    steady: Measured
    """Torque at no speed, N mm."""
    by_speed: Measured
    """Torque for each rad/s, N mm s."""
    first_speed: Measured
    """rad/s at the first time given."""
    stop: float
    """Seconds from the first time until it stands, by the fit."""
    residual: float
    """Turns: how far a reading lies off the fitted run-down."""


def torque_by_cord(pull: Measured, radius: Measured) -> Measured:
    """Return the torque, N mm, of a cord wound on the reel that just keeps it turning.

    T = F r, r to the middle of the cord.

    Parameters
    ----------
    pull : N, from the balance while the reel turns evenly
    radius : mm, over the blades or the drum, and half the cord

    Examples
    --------
    >>> round(torque_by_cord(Measured(3.0, 0.1), Measured(64.0, 0.5)).value)
    192

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: pulled square to the radius, slowly; knife backed off. Source: geometry, own working.
    """
    within("pull", pull.value, 0.0, 1e4, "N")
    within("radius", radius.value, 1.0, 1000.0, "mm")
    value = pull.value * radius.value
    return Measured(value, math.hypot(radius.value * pull.u, pull.value * radius.u), min(pull.dof, radius.dof))


def pull_of_mass(mass: Measured) -> Measured:
    """Return the pull, N, that a balance marked in kilograms shows.

    Examples
    --------
    >>> round(pull_of_mass(Measured(0.5, 0.01)).value, 3)
    4.903
    """
    within("mass", mass.value, 0.0, 1000.0, "kg")
    return mass.scaled(GRAVITY)


def reel_inertia(blades: int, blade_mass: float, radius: float, body: Sequence[tuple[float, float]] = ()) -> float:
    """Return a reel's moment of inertia about its axis, kg mm².

    I = N m R_b² + Σ ½ m_k r_k²: blades at their middle radius, shaft and discs as solid rounds.

    Parameters
    ----------
    blades, blade_mass : number, kg each
    radius : mm, axis to the middle of a blade's height
    body : (mass kg, outer radius mm) of shaft, discs and spiders

    Examples
    --------
    >>> round(reel_inertia(11, 0.35, 55.0, [(2.0, 12.0)]), 2)
    11790.25

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: thin blades; spiders with holes weigh more at the rim than a disc: a falling weight says better.
    """
    within("blades", blades, 2, 40)
    within("blade_mass", blade_mass, 0.0, 20.0, "kg", above=True)
    within("radius", radius, 5.0, 300.0, "mm")
    total = blades * blade_mass * radius**2
    for mass, outer in body:
        within("mass", mass, 0.0, 100.0, "kg")
        within("outer radius", outer, 0.0, 300.0, "mm")
        total += 0.5 * mass * outer**2
    return total


def inertia_by_weight(mass: Measured, radius: Measured, height: Measured, time: Measured, drag: Measured) -> Measured:
    """Return a reel's moment of inertia, kg mm², from a weight on a cord that turns it while falling.

    h = ½ a t², (m (g − a) r − T) = I a/r, so I = r (m (g − a) r − T)/a.

    Parameters
    ----------
    mass : kg on the cord
    radius : mm at which the cord is wound
    height : mm fallen from rest
    time : s for it
    drag : N mm, from `torque_by_cord`

    Raises
    ------
    OutOfRange
        Naming the argument; a fall too slow for the weight to have turned anything.

    Examples
    --------
    >>> weight = inertia_by_weight(Measured(1.0, 0.0), Measured(60.0, 0.0), Measured(1000.0, 0.0), Measured(1.2, 0.0),
    ...                            Measured(150.0, 0.0))
    >>> round(weight.value)
    15339

    Validity: drag taken as even over the fall; the cord leaves no slack. Own working; uncertainty to first order.
    """
    within("mass", mass.value, 0.0, 100.0, "kg", above=True)
    within("radius", radius.value, 1.0, 300.0, "mm")
    within("height", height.value, 10.0, 20_000.0, "mm")
    within("time", time.value, 0.05, 600.0, "s")
    within("drag", drag.value, 0.0, 1e6, "N mm")

    def inertia(m: float, r: float, h: float, t: float, torque: float) -> float:
        a = 2.0 * h / t**2  # mm/s²
        return r * (m * (GRAVITY - a / 1000.0) * r - torque) / a * 1000.0

    given = (mass, radius, height, time, drag)
    at = [one.value for one in given]
    value = inertia(*at)
    if value <= 0.0:
        raise OutOfRange("time", time.value, "what a fall with this weight and drag can take", "s")
    variance = 0.0
    for i, one in enumerate(given):
        step = max(abs(one.value), 1e-6) * 1e-6
        up, down = list(at), list(at)
        up[i] += step
        down[i] -= step
        variance += ((inertia(*up) - inertia(*down)) / (2.0 * step) * one.u) ** 2
    return Measured(value, math.sqrt(variance))


def slowing(times: ArrayLike, turns: ArrayLike) -> Slowing:
    """Return how a reel left to run down slows, from the times at which turns were counted.

    dω/dt = −(a + k ω), so the turns are θ(t) = ((ω₀ + a/k)(1 − e^(−kt))/k − (a/k) t)/2π; fitted by least squares.
    Where k cannot be told, dω/dt is even and θ a parabola.

    Parameters
    ----------
    times : (n,) s, rising, n at least 5
    turns : (n,) turns counted so far, rising

    Raises
    ------
    OutOfRange
        Times or turns that do not rise.
    NotEnough
        Fewer than five, or a reel that does not slow down.

    Examples
    --------
    >>> t = np.arange(0.0, 8.0, 0.5)
    >>> found = slowing(t, (60.0 * t - 0.5 * 5.0 * t**2) / (2 * np.pi))
    >>> round(found.even.value, 6), round(found.stop, 1)
    (5.0, 12.0)

    Validity: knife backed off, drive off; nobody near the turning reel. Own working.
    """
    t, n = all_within("times", times, unit="s"), all_within("turns", turns)
    if t.shape != n.shape or t.ndim != 1:
        raise OutOfRange("turns", f"{n.size} values", f"one for each time ({t.size})")
    if t.size < 5:
        raise NotEnough(phrase("drag from the run-down"), phrase("at least five times"))
    for name, one in (("times", t), ("turns", n)):
        if np.any(np.diff(one) <= 0):
            raise OutOfRange(name, "values that fall or stand", "rising")
    t, angle = t - t[0], 2.0 * math.pi * (n - n[0])
    (a, k, speed), covariance, residual = _slowing(t, angle)
    if a <= 0.0:
        raise NotEnough(phrase("drag from the run-down"), phrase("a reel that slows down"))
    even, by_speed, first = (
        Measured(value, math.sqrt(covariance[i, i])) for i, value in enumerate((float(a), float(k), float(speed)))
    )
    stop = float(speed / a if abs(k * speed) < 1e-6 * abs(a) else math.log1p(k * speed / a) / k)
    return Slowing(even, by_speed, first, stop, residual / (2.0 * math.pi))


def run_down(times: ArrayLike, turns: ArrayLike, inertia: Measured) -> RunDown:
    """Return the drag of a reel left to run down, from the times at which turns were counted.

    I dω/dt = −(a + b ω): the slowing times the inertia.

    Parameters
    ----------
    times, turns : as `slowing`
    inertia : kg mm²

    Raises
    ------
    OutOfRange, NotEnough
        As `slowing`.

    Examples
    --------
    >>> t = np.arange(0.0, 8.0, 0.5)
    >>> found = run_down(t, (60.0 * t - 0.5 * 5.0 * t**2) / (2 * np.pi), Measured(12_000.0, 0.0))
    >>> round(found.steady.value), round(found.stop, 1)
    (60, 12.0)

    Validity: as `slowing`. Own working.
    """
    found = slowing(times, turns)
    return RunDown(
        drag_of_slowing(found.even, inertia), drag_of_slowing(found.by_speed, inertia), found.first_speed, found.stop,
        found.residual,
    )  # fmt: skip


def drag_of_slowing(slowing: Measured, inertia: Measured) -> Measured:
    """Return the torque, N mm, that slows a reel of known inertia: T = I dω/dt; of a share of speed, N mm s.

    Examples
    --------
    >>> drag_of_slowing(Measured(5.0, 0.0), Measured(12_000.0, 0.0)).value
    60.0

    Raises
    ------
    OutOfRange
        An inertia out of range.

    Source: mechanics, own working.
    """
    within("inertia", inertia.value, 0.0, 1e9, "kg mm²", above=True)
    i = inertia.value / 1000.0  # kg mm² rad/s² to N mm
    return Measured(i * slowing.value, math.hypot(i * slowing.u, slowing.value * inertia.u / 1000.0), slowing.dof)


def slowing_by_speed(speed: Measured, time: Measured) -> Measured:
    """Return the even slowing, rad/s², of a reel that stands a time after it had a speed: ω/t.

    Examples
    --------
    >>> slowing_by_speed(Measured(60.0, 0.0), Measured(12.0, 0.3)).value
    5.0

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: drag that does not change with speed; else the mean over the time. Source: mechanics, own working.
    """
    within("speed", speed.value, 0.0, 1e4, "rad/s", above=True)
    within("time", time.value, 0.0, 3600.0, "s", above=True)
    value = speed.value / time.value
    return Measured(value, value * math.hypot(speed.u / speed.value, time.u / time.value))


def slowing_by_turns(turns: Measured, time: Measured) -> Measured:
    """Return the even slowing, rad/s², of a reel that makes so many turns in the time until it stands: 4π N/t².

    It needs no tachometer: an evenly slowing reel starts at twice its mean speed.

    Examples
    --------
    >>> round(slowing_by_turns(Measured(60.0 * 12.0 / 2.0 / (2.0 * math.pi), 0.0), Measured(12.0, 0.0)).value, 9)
    5.0

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: as `slowing_by_speed`. Source: mechanics, own working.
    """
    within("turns", turns.value, 0.0, 1e6, above=True)
    within("time", time.value, 0.0, 3600.0, "s", above=True)
    value = 4.0 * math.pi * turns.value / time.value**2
    return Measured(value, value * math.hypot(turns.u / turns.value, 2.0 * time.u / time.value))


def _angle(t: Floats, constants: Floats) -> Floats:
    """Return the angle turned for constants (a/I, b/I, ω₀, θ₀)."""
    a, k, speed, start = constants
    x = k * t
    small = np.abs(x) < 1e-4
    safe = np.where(small, 1.0, x)
    # (1 − e^−x)/x and (x − 1 + e^−x)/x², with their series near 0.
    first = np.where(small, 1.0 - x / 2.0 + x * x / 6.0, -np.expm1(-safe) / safe)
    second = np.where(small, 0.5 - x / 6.0 + x * x / 24.0, (safe + np.expm1(-safe)) / safe**2)
    return np.asarray(start + speed * t * first - a * t * t * second)


def _slowing(t: Floats, angle: Floats) -> tuple[Floats, Floats, float]:
    """Return (a/I, b/I, ω₀), their covariance and the residual; b is left at 0 where the readings do not tell it."""
    from scipy.optimize import least_squares

    parabola = np.column_stack([-0.5 * t * t, t, np.ones_like(t)])
    even, *_ = np.linalg.lstsq(parabola, angle, rcond=None)
    spread = math.sqrt(float(np.sum((angle - parabola @ even) ** 2)) / max(t.size - 3, 1))
    start = np.array([even[0], 1e-3 / t[-1], even[1], even[2]])
    scale = np.array([max(abs(even[0]), 1e-9), 1.0 / t[-1], max(abs(even[1]), 1e-9), 1.0])

    def off(constants: Floats) -> Floats:
        return _angle(t, constants) - angle

    found = least_squares(off, start, x_scale=scale, xtol=1e-14, ftol=1e-14, gtol=1e-14)
    residual = math.sqrt(2.0 * float(found.cost) / max(t.size - 4, 1))
    jacobian = np.asarray(found.jac, dtype=np.float64)
    covariance = np.asarray(np.linalg.pinv(jacobian.T @ jacobian) * residual**2, dtype=np.float64)
    told = abs(found.x[1]) > 2.0 * math.sqrt(covariance[1, 1]) and found.x[1] > 0.0 and found.x[0] > 0.0
    if told:
        return found.x[:3], covariance[:3, :3], residual
    plain = np.linalg.inv(parabola.T @ parabola) * spread**2
    spread_of = np.zeros((3, 3))
    spread_of[np.ix_([0, 2], [0, 2])] = plain[:2, :2]
    return np.array([even[0], 0.0, even[1]]), spread_of, spread
