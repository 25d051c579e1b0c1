"""What each pass of the wheel takes off a reel: the simulation over blades x stations."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import OutOfRange, Refusal, all_within, within
from sparkout.core.phrase import phrase

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    Array = NDArray[np.float64]

_MOST_ROUNDS = 60  # of the fixed point within one traverse; about four are needed at workshop figures
_SETTLED = 1e-16  # mm
_NOTHING = 1e-12  # mm; what is left of rounding is not a touch


@dataclass(frozen=True, slots=True)
class WheelWear:
    """How the wheel recedes while it traverses.

    `recession` (S,) is the loss of wheel radius, mm, per mm of bite averaged over the blades at each station:
    land area standing at that station / (G pi D b). The wheel starts at the left; it comes back grinding unless
    `one_way`. The loss adds up from pass to pass, except that the operator dials it in again before each of the
    first `made_good` passes.
    """

    recession: Array
    one_way: bool = False
    made_good: int = 0


@dataclass(frozen=True, slots=True)
class Passes:
    """What P passes did; arrays of shape (P,) unless said otherwise, mm and mm^3."""

    touched: Array
    """Share of the edge length the wheel touched."""
    largest_bite: Array
    mean_bite: Array
    """Over the whole edge length, untouched parts counted as nothing."""
    volume: Array
    left: Array
    """Radius map as left, (N, S)."""
    by_station: Array | None
    """Bite averaged over the blades, (P, S); None from the closed form, which never visits the stations."""
    wheel_loss: Array | None
    """Loss of wheel radius in each pass; None when no wear was asked for."""


def simulate(
    heights: ArrayLike,
    wheel: ArrayLike,
    give: float,
    *,
    wheel_wear: WheelWear | None = None,
    shares: ArrayLike | None = None,
    area: ArrayLike = 1.0,
) -> Passes:
    """What each pass does to the radius map: share touched, largest and mean bite, volume; and the map as left.

    In pass p every point of the edge above the wheel moves r -> r - kappa max(0, r - u_p); the machine gives
    elastically, so only the share kappa of what is in the wheel's way goes in one pass.

    Parameters
    ----------
    heights : array (N, S)
        Radius r of each blade's edge at each station, mm.
    wheel : array (P,) or (P, S)
        Distance u_p of the wheel's rim from the bearing axis in each pass, mm, without wear within the sequence.
    give : float
        kappa, above 0 up to 1.
    wheel_wear : WheelWear, optional
        Couples the wheel's recession along each traverse to what it grinds there.
    shares : array (S,), optional
        Share of the blade length each station stands for; equal when not given.
    area : float or array (S,)
        Land area of the whole edge, mm^2, or of each station over all blades; 1 gives the volume per mm^2.

    Returns
    -------
    Passes

    Raises
    ------
    OutOfRange
        For shapes or values that cannot be; also when the wheel would wear away faster than it grinds.

    Notes
    -----
    r -> u + (1 - kappa)(r - u) is increasing in r, so the order of the points never changes: the highest stays the
    highest, and while the wheel only comes closer a point once touched is touched ever after. Then every sum over
    the touched points obeys a two-term recurrence and the map as left is A_j r + B_j, with j the pass that first
    touches the point. That closed form does not visit the map once per pass; wear, a shaped wheel, a wheel that
    backs off or areas by station take the pass-by-pass route. Both agree with a plain loop (tests).

    >>> done = simulate([[60.00, 60.02], [60.05, 60.01]], [60.04, 60.03, 60.03], 0.5)
    >>> done.touched.tolist(), done.largest_bite.round(5).tolist()
    ([0.25, 0.25, 0.25], [0.005, 0.0075, 0.00375])

    References: one-pass give kappa, common practice, no source; its spark-out (1 - kappa)^m is the first-order
    decay of the grinding literature, from memory.
    """
    radii = all_within("heights", heights, 1.0, 1000.0, "mm")
    rims = all_within("wheel", wheel, 1.0, 1000.0, "mm")
    kappa = within("give", give, 0.0, 1.0, above=True)
    if radii.ndim != 2 or radii.size == 0:
        raise OutOfRange("heights", radii.shape, phrase("a table of blades x stations, not empty"))
    stations = radii.shape[1]
    if rims.ndim not in (1, 2) or rims.shape[0] == 0 or (rims.ndim == 2 and rims.shape[1] != stations):
        raise OutOfRange(
            "wheel", rims.shape, phrase("(passes,) or (passes, {stations}), at least one pass", stations=stations)
        )
    weights = _shares(shares, stations)
    land = all_within("area", area, 0.0, unit="mm^2")
    if land.shape not in ((), (stations,)):
        raise OutOfRange("area", land.shape, phrase("one number or {stations} of them", stations=stations))
    falling = rims.ndim == 1 and bool(np.all(rims[1:] <= rims[:-1]))
    if falling and wheel_wear is None and land.ndim == 0:
        return _closed_form(radii, rims, kappa, weights, float(land))
    by_station_area = land if land.ndim else land * weights
    return _pass_by_pass(radii, rims, kappa, weights, by_station_area, wheel_wear)


def _shares(shares: ArrayLike | None, stations: int) -> Array:
    if shares is None:
        return np.full(stations, 1.0 / stations)
    weights = all_within("shares", shares, 0.0, 1.0)
    if weights.shape != (stations,) or abs(float(weights.sum()) - 1.0) > 1e-9:
        raise OutOfRange("shares", weights.shape, phrase("{stations} shares that add up to 1", stations=stations))
    return weights


def _closed_form(radii: Array, rims: Array, kappa: float, weights: Array, area: float) -> Passes:
    count, end = len(rims), rims[-1]
    touches = np.searchsorted(rims[::-1], radii.ravel())  # in how many passes each point is touched
    above = radii.ravel() - end  # from the last wheel position: keeps digits, and what is left stays >= 0 exactly
    reach = (rims - end).tolist()
    share, height = _sums_by_touches(touches, above, weights, radii.shape[0], count)
    touched, largest, mean = _recurrence(reach, share, height, float(above.max()), kappa)
    slope, lift = left_map(reach, kappa)
    np.multiply(above, slope.take(touches), out=above)
    np.add(above, lift.take(touches), out=above)
    np.add(above, end, out=above)
    np.copyto(above, radii.ravel(), where=touches == 0)
    return Passes(touched, largest, mean, area * mean, above.reshape(radii.shape), None, None)


def _sums_by_touches(
    touches: NDArray[np.intp], above: Array, weights: Array, blades: int, count: int
) -> tuple[list[float], list[float]]:
    """Share of the edge, and its height summed with it, that is touched in 0, 1, .. P passes."""
    if bool(np.all(weights == weights[0])):
        share = np.bincount(touches, minlength=count + 1) / float(above.size)
        height = np.bincount(touches, weights=above, minlength=count + 1) / float(above.size)
        return share.tolist(), height.tolist()
    point = np.tile(weights / blades, blades)
    weighed_share = np.bincount(touches, weights=point, minlength=count + 1)
    weighed_height = np.bincount(touches, weights=point * above, minlength=count + 1)
    return weighed_share.tolist(), weighed_height.tolist()


def _recurrence(
    reach: list[float], shares: list[float], heights: list[float], top: float, kappa: float
) -> tuple[Array, Array, Array]:
    """Share touched, largest and mean bite of every pass, from the sums over points by number of touches."""
    count = len(reach)
    touched, largest, mean = [0.0] * count, [0.0] * count, [0.0] * count
    share = height = 0.0
    before = reach[0]
    for p, rim in enumerate(reach):
        met_again = share if kappa < 1.0 or rim < before else 0.0  # where nothing gives, nothing is met twice
        more = shares[count - p]
        share += more
        height += heights[count - p]
        top_over = top - rim
        if top_over > 0.0:
            largest[p] = kappa * top_over
            top -= largest[p]
            mean[p] = max(0.0, kappa * (height - share * rim))
            height -= mean[p]
        if top_over > _NOTHING:
            touched[p] = min(1.0, met_again + more)
        before = rim
    return np.array(touched), np.array(largest), np.array(mean)


def left_map(reach: list[float], kappa: float | Array) -> tuple[Array, Array]:
    """A_k and B_k, k = 0 .. P: a point touched in the last k passes is left A_k h + B_k above the last wheel position.

    `reach` holds the wheel's height above its last position in each pass, never rising; `kappa` may be an array
    (K,), then both are (P + 1, K). A_k is also what survives of a point's own height, and 1 - A_k of the wheel's.

    >>> survives, lift = left_map([0.01, 0.0], 0.5)
    >>> survives.tolist(), lift.tolist()
    ([1.0, 0.5, 0.25], [0.0, 0.0, 0.0025])

    References: definition of the give, own working.
    """
    none = kappa * 0.0
    slope, lift = [none + 1.0], [none]
    for rim in reversed(reach):
        lift.append(slope[-1] * kappa * rim + lift[-1])
        slope.append(slope[-1] * (1.0 - kappa))
    return np.array(slope), np.array(lift)


def _pass_by_pass(
    radii: Array, rims: Array, kappa: float, weights: Array, area: Array, wear: WheelWear | None
) -> Passes:
    count, end = len(rims), float(rims[-1].max())
    blades, stations = radii.shape
    above, over = radii - end, np.empty_like(radii)
    touched, largest = np.empty(count), np.empty(count)
    by_station = np.empty((count, stations))
    lost = np.zeros(count)
    worn = 0.0
    equal = bool(np.all(weights == weights[0]))
    for p in range(count):
        if wear is not None and p < wear.made_good:
            worn = 0.0
        rim = rims[p] - end + worn
        if wear is None:
            _overlap(above, rim, over)
        else:
            forward = wear.one_way or p % 2 == 0
            lost[p] = _overlap_while_wearing(above, rim, over, wear.recession * (kappa / blades), forward)
            worn += lost[p]
        largest[p] = kappa * over.max()
        met = over > _NOTHING
        touched[p] = (
            np.count_nonzero(met) / over.size if equal else min(1.0, np.count_nonzero(met, axis=0) @ weights / blades)
        )
        np.sum(over, axis=0, out=by_station[p])
        over *= kappa
        above -= over
    by_station *= kappa / blades
    left = np.minimum(end + above, radii)
    left = np.where(above == radii - end, radii, left)
    volume = by_station @ area
    return Passes(touched, largest, by_station @ weights, volume, left, by_station, None if wear is None else lost)


def _overlap(above: Array, rim: Array | float, over: Array) -> None:
    np.subtract(above, rim, out=over)
    np.maximum(over, 0.0, out=over)


def _overlap_while_wearing(above: Array, rim: Array | float, over: Array, per_overlap: Array, forward: bool) -> float:
    """Fill `over` with the height above the receding wheel; return the whole loss of radius in this traverse.

    The wheel has lost, at a station, what it ground before it and half of what it grinds there. That depends on the
    bites, which depend on it; the map is a Volterra sum, so repeating it converges like q^n / n! (here until the
    loss is settled to a billionth of itself).
    """
    receded: Array = np.zeros(above.shape[1])
    for _ in range(_MOST_ROUNDS):
        _overlap(above, rim + receded, over)
        step = per_overlap * over.sum(axis=0)
        done = np.cumsum(step) if forward else np.cumsum(step[::-1])[::-1]
        following = done - 0.5 * step
        change = float(np.max(np.abs(following - receded)))
        receded = following
        if change <= _SETTLED + 1e-9 * float(step.sum()):
            return float(step.sum())
    raise Refusal(
        phrase(
            "The wheel would wear away about as fast as it grinds; its loss in one traverse is near {loss:.3g} "
            "mm. Check the G-ratio and the wheel's size.",
            loss=float(np.sum(step)),
        )
    )
