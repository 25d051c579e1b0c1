"""Wear of a fleet: each unit's own line of diameter (or land, lip, roller) over hours, and when it reaches its limit.

    reading + what recorded grinds took = a + b·hours + c·covariates + noise

with a and b of each unit about those of its duty, and those about its workshop's; covariates are counts so far
(sandings, stones). Estimated by restricted maximum likelihood (`nested`), forecast from each unit's own line and its
uncertainty.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.special import ndtr, ndtri

from sparkout.core.errors import Contradiction, NotEnough, all_within, within
from sparkout.core.phrase import phrase
from sparkout.core.season.each_unit import CHUNK, Part
from sparkout.core.season.nested import Nested, down, passed
from sparkout.core.season.nested_fit import Fitted, fit
from sparkout.core.season.pieces import pieces
from sparkout.core.season.unit_sums import Readings, no_truer_than_finest, unit_sums

Floats: TypeAlias = NDArray[np.float64]
Indices: TypeAlias = NDArray[np.intp]
FEWEST_NODES = 3
"""A level with fewer groups than this has no spread of its own that could be told."""
CHANCES = (0.05, 0.25, 0.5, 0.75, 0.95)
"""The ends of the bands of 90 % and 50 %, and the middle."""


@dataclass(frozen=True, slots=True)
class Fleet:
    """Which duty each unit has and in which workshop each duty is; `groups` numbers a duty in its workshop."""

    groups: Indices
    """(units,) the group of each unit."""
    workshops: Indices
    """(groups,) the workshop of each group."""


@dataclass(frozen=True, slots=True)
class Wear:
    """A fitted fleet: the general line, spread between units and groups, and each unit's own line."""

    fitted: Fitted | None
    """None where there are too few readings for spread between slopes: one line serves all."""
    centre: tuple[float, float]
    """Hours and value that were taken as 0 in the estimation."""
    fixed: Floats
    """Intercept at the centre, slope per hour, covariates: of the fleet."""
    fixed_covariance: Floats
    residual: float
    """Standard deviation of one reading about its unit's line, mm."""
    lines: Floats
    """(p, units) intercept at the centre, slope, covariates: of each unit."""
    covariances: Floats
    """(p, p, units) of `lines`."""
    left_out: tuple[str, ...]
    """Levels too few to have a spread of their own."""

    @property
    def per_hour(self) -> Floats:
        """Wear of each unit in mm an hour, as a positive figure."""
        return np.asarray(-self.lines[1])


@dataclass(frozen=True, slots=True)
class Ahead:
    """What is to come for each unit: hours now, what grinds have taken and will take, covariates."""

    now: Floats
    """(units,) hours"""
    removed: Floats
    """(units,) mm taken by recorded grinds so far."""
    grinds_per_hour: Floats
    grind_removes: Floats
    """mm a grind, mean."""
    grind_spread: Floats
    """mm, standard deviation of what one grind removes."""
    counts: Floats
    """(k, units) covariates so far."""
    counts_per_hour: Floats
    """(k, units) how they go on."""


@dataclass(frozen=True, slots=True)
class Reached:
    """Hours from now by which each unit has reached its limit, for each chance asked."""

    chances: tuple[float, ...]
    hours: Floats
    """(chances, units); 0 where it is there already, infinite where no time gives that chance."""


def fleet_wear(readings: Readings, fleet: Fleet) -> Wear:
    """Return the wear of a fleet from its readings.

    Raises
    ------
    OutOfRange
        Hours or values that are not finite, a unit number outside the fleet.
    NotEnough
        Readings all at the same hours.

    Validity: wear is even in hours within the span of the readings and on to the limit; see the coverage tests for what
    heavy tails, unrecorded grinds and wandering wear do to it.
    """
    units = fleet.groups.size
    if readings.unit.size == 0:
        raise NotEnough(phrase("wear"), phrase("at least one reading"))
    some = slice(None, None, 1 + readings.unit.size // 100_000)  # any centre near the middle does
    centre = (float(readings.hours[some].mean()), float((readings.value[some] + readings.removed[some]).mean()))
    gram = unit_sums(readings, units, centre, lambda rows: _checked(readings, rows))
    no_truer_than_finest(gram)
    return wear_of_sums([Part(gram, fleet.groups)], fleet, centre)


def _checked(readings: Readings, rows: slice) -> None:
    for name, values, low, high, unit in (
        ("hours", readings.hours, 0.0, 1e6, "h"),
        ("value", readings.value, 0.0, 1e4, "mm"),
        ("removed", readings.removed, -1e4, 1e4, "mm"),
    ):
        some = values[rows]
        if not (some.min(initial=0.0) >= low and some.max(initial=0.0) <= high):
            all_within(name, values, low, high, unit)


def wear_of_sums(parts: Sequence[Part], fleet: Fleet, centre: tuple[float, float]) -> Wear:
    """Return the wear of a fleet from its units' sums; the parts' units follow one another in the fleet's order."""
    general, nested = general_wear(parts, fleet, centre)
    each = [of_units(general, nested, part) for part in nested.parts]
    if len(each) == 1:
        return each[0]
    lines = np.concatenate([one.lines for one in each], axis=1)
    return replace(general, lines=lines, covariances=np.concatenate([one.covariances for one in each], axis=2))


def general_wear(parts: Sequence[Part], fleet: Fleet, centre: tuple[float, float]) -> tuple[Wear, Nested]:
    """Return the wear of a fleet without its units' own lines, and the fleet as nested: for fleets too large for them.

    `of_units` gives the lines of some units at a time.
    """
    rows = round(math.fsum(float(part.gram[0, 0].sum()) for part in parts))
    width = parts[0].gram.shape[0]
    repeated = sum(np.count_nonzero(part.gram[0, 0] > 1.5) for part in parts)
    parents, left_out, group_of = _levels(fleet)
    nested = Nested([Part(part.gram, group_of[part.parent]) for part in parts], parents, rows, width)
    no_lines, no_covariances = np.zeros((width - 1, 0)), np.zeros((width - 1, width - 1, 0))
    if repeated < FEWEST_NODES or rows - repeated < width + 2:
        one = passed(nested, [np.zeros((2, 2))] * (1 + len(parents)))
        spread, residual = one.unscaled * one.variance, math.sqrt(one.variance)
        wear = Wear(None, centre, one.fixed, spread, residual, no_lines, no_covariances, (*left_out, phrase("units")))
        return wear, nested
    found = fit(nested)
    residual = math.sqrt(found.residual_variance)
    return (
        Wear(found, centre, found.fixed, found.fixed_covariance, residual, no_lines, no_covariances, left_out),
        nested,
    )


def of_units(wear: Wear, nested: Nested, part: Part) -> Wear:
    """Return the wear of a fleet with the lines of a part's units (parents numbered as in `nested`)."""
    if wear.fitted is None:  # one line for all: what a fleet read once each can tell
        units = part.gram.shape[2]
        # A unit's own height is where its reading stands; the spread about the line is units and gauge together.
        at_unit = wear.fixed_covariance.copy()
        at_unit[0, 0] += wear.residual**2
        lines = np.repeat(wear.fixed[:, None], units, axis=1)
        return replace(wear, lines=lines, covariances=np.repeat(at_unit[:, :, None], units, axis=2))
    lines, covariances = unit_lines(replace(nested, parts=[part]), wear.fitted)
    return replace(wear, lines=lines, covariances=covariances)


def _levels(fleet: Fleet) -> tuple[tuple[Indices, ...], tuple[str, ...], Indices]:
    """Return the parents above the units, the levels left out, and the lowest level's node of each group."""
    workshops = int(fleet.workshops.max(initial=-1)) + 1
    groups = fleet.workshops.size
    top = np.zeros(workshops, dtype=np.intp)
    if workshops >= FEWEST_NODES and groups > workshops:
        return (fleet.workshops, top), (), np.arange(groups, dtype=np.intp)
    if workshops >= FEWEST_NODES:
        return (top,), (phrase("duties"),), fleet.workshops
    if groups >= FEWEST_NODES:
        return (np.zeros(groups, dtype=np.intp),), (phrase("workshops"),), np.arange(groups, dtype=np.intp)
    return (), (phrase("workshops"), phrase("duties")), np.zeros(max(groups, 1), dtype=np.intp)


def unit_lines(nested: Nested, found: Fitted) -> tuple[Floats, Floats]:
    """Return each unit's coefficients (p, units) and their covariance (p, p, units), in the order of the parts."""
    top, variance = found.at_top, found.residual_variance
    coefs = top.coefs[0] if top.coefs else top.fixed[:, None]
    spread = variance * (top.covariances[0] if top.covariances else top.unscaled[:, :, None])
    lines, covariances = [], []
    for part in nested.parts:
        p, units = part.gram.shape[0] - 1, part.gram.shape[2]
        mine, my_spread = np.empty((p, units)), np.empty((p, p, units))
        for at in pieces(units, CHUNK):
            of, gram = part.parent[at], part.gram[:, :, at]
            np.take(coefs, of, axis=1, out=mine[:, at], mode="clip")
            np.take(spread, of, axis=2, out=my_spread[:, :, at], mode="clip")
            down(gram, found.relative[0], mine[:, at], my_spread[:, :, at], variance)
        lines.append(mine)
        covariances.append(my_spread)
    if len(lines) == 1:
        return lines[0], covariances[0]
    return np.concatenate(lines, axis=1), np.concatenate(covariances, axis=2)


def reached(wear: Wear, ahead: Ahead, limit: ArrayLike, chances: Sequence[float] = CHANCES) -> Reached:
    """Return the hours from now by which each unit has reached its limit with each chance.

    The value u hours on is m + k·u with variance s(u) = s₀ + s₁u + s₂u²; the chance that it is at or below the limit
    is p where (limit − m − k·u)² = z_p² s(u), the root on z's side. The band of 90 % is between chances 0.05 and 0.95,
    that of 50 % between 0.25 and 0.75.

    Raises
    ------
    OutOfRange
        Chances outside (0, 1), limits not finite, or grinds that put metal on.
    """
    edge = np.broadcast_to(all_within("limit", limit, 0.0, 1e4, "mm"), ahead.now.shape)
    all_within("grind_removes", ahead.grind_removes, 0.0, 1e3, "mm")
    all_within("grinds_per_hour", ahead.grinds_per_hour, 0.0, 1e3, "1/h")
    for chance in chances:
        within("chance", chance, 1e-9, 1.0 - 1e-9)
    _same_columns(wear, ahead)
    z = [float(one) for one in ndtri(chances)]
    found = np.empty((len(z), ahead.now.size))
    for at in pieces(ahead.now.size, CHUNK):
        value, slope, s0, s1, s2 = _motion(_some(wear, at), _to_come(ahead, at))
        _cross(found[:, at], edge[at] - value, slope, s0, s1, s2, z)
    return Reached(tuple(chances), found)


def _some(wear: Wear, at: slice) -> Wear:
    return replace(wear, lines=wear.lines[:, at], covariances=wear.covariances[:, :, at])


def _to_come(ahead: Ahead, at: slice) -> Ahead:
    return Ahead(
        ahead.now[at],
        ahead.removed[at],
        ahead.grinds_per_hour[at],
        ahead.grind_removes[at],
        ahead.grind_spread[at],
        ahead.counts[:, at],
        ahead.counts_per_hour[:, at],
    )


def _same_columns(wear: Wear, ahead: Ahead) -> None:
    given, wanted = ahead.counts.shape[0], wear.lines.shape[0] - 2
    if given != wanted:
        why = phrase("{given} covariates for a fleet fitted with {wanted}", given=given, wanted=wanted)
        raise Contradiction(["counts"], why)


def chance_reached(wear: Wear, ahead: Ahead, limit: ArrayLike, hours: ArrayLike) -> Floats:
    """Return the chance that each unit has reached its limit by so many hours from now, (times, units).

    Φ((limit − m − k·u)/√s(u)), the inverse of `reached`; a chance once reached is not lost again when the spread grows.

    Parameters
    ----------
    limit : mm, one or (units,)
    hours : (times,) rising, or (times, units); h from now

    Raises
    ------
    OutOfRange
        Limits or hours not finite or below 0.
    """
    edge = np.broadcast_to(all_within("limit", limit, 0.0, 1e4, "mm"), ahead.now.shape)
    u = all_within("hours", hours, 0.0, 1e6, "h")
    u = u[:, None] if u.ndim == 1 else u
    value, slope, s0, s1, s2 = _motion(wear, ahead)
    spread = np.sqrt(np.maximum(s0 + s1 * u + s2 * u * u, 1e-18))
    return np.asarray(np.maximum.accumulate(ndtr((edge - value - slope * u) / spread), axis=0))


def value_now(wear: Wear, ahead: Ahead) -> Floats:
    """Return each unit's value now by its own line, mm, what grinds have taken off."""
    here = [ahead.now - wear.centre[0], *ahead.counts]  # after a 1
    return _added_up(wear.lines[0], here, wear.lines[1:]) + wear.centre[1] - ahead.removed


def value_ahead(wear: Wear, ahead: Ahead, hours: ArrayLike, chances: Sequence[float] = CHANCES) -> Floats:
    """Return what each unit's value may be in so many hours: (chances, units, hours), mm, with those chances below.

    Normal about the unit's own line, as `reached` has it: value + slope u + z √(s₀ + s₁u + s₂u²).

    Parameters
    ----------
    hours : from now, 0 or more
    chances : of lying lower, between 0 and 1

    Raises
    ------
    OutOfRange
        Naming the argument.

    Validity: a true value, without the scatter of one reading; grinds go on as they did.

    Source: own working.
    """
    u = all_within("hours", np.atleast_1d(np.asarray(hours, dtype=np.float64)), 0.0, 1e6, "h")
    for chance in chances:
        within("chance", chance, 1e-9, 1.0 - 1e-9)
    z = ndtri(np.asarray(chances, dtype=np.float64))
    _same_columns(wear, ahead)
    value, slope, s0, s1, s2 = (each[:, None] for each in _motion(wear, ahead))
    spread = np.sqrt(np.maximum(s0 + s1 * u + s2 * u**2, 0.0))
    return np.asarray((value + slope * u)[None] + z[:, None, None] * spread[None])


def _motion(wear: Wear, ahead: Ahead) -> tuple[Floats, Floats, Floats, Floats, Floats]:
    """Return value now, its change an hour, and the variance's coefficients s₀, s₁, s₂ in hours from now."""
    here = [ahead.now - wear.centre[0], *ahead.counts]  # after a 1
    lines, counts = wear.lines, ahead.counts_per_hour  # onward: 0, 1 and the counts
    slope = _added_up(lines[1], counts, lines[2:]) - ahead.grinds_per_hour * ahead.grind_removes
    at_here = [_added_up(row[0], here, row[1:]) for row in wear.covariances]
    turned = [_added_up(row[1], counts, row[2:]) for row in wear.covariances[1:]]
    s0 = _added_up(at_here[0], here, at_here[1:])
    s1 = 2.0 * _added_up(at_here[1], counts, at_here[2:]) + ahead.grinds_per_hour * ahead.grind_spread**2
    return value_now(wear, ahead), slope, s0, s1, _added_up(turned[0], counts, turned[1:])


def _added_up(first: Floats, left: Iterable[Floats], right: Iterable[Floats]) -> Floats:
    """Return first + Σ left·right, by unit: a long row at a time."""
    total = first
    for one, other in zip(left, right, strict=True):
        total = total + one * other
    return total


def _cross(
    hours: Floats, gap: Floats, slope: Floats, s0: Floats, s1: Floats, s2: Floats, chances: Sequence[float]
) -> None:
    """Write, for each z, the least u ≥ 0 with gap − slope·u = z √(s₀ + s₁u + s₂u²); 0 if passed already, inf if never.

    Squared, for a unit that wears towards its limit with even the largest z to spare, it has one root on each side,
    c/q and q/a, with a = slope² − z²s₂, c = gap² − z²s₀ and q = b + |z| √(m + z²n), b = gap·slope + z²s₁/2,
    m = gap²s₂ + gap·slope·s₁ + slope²s₀, n = s₁²/4 − s₀s₂. For the others roots are tried (`_crossing`).
    """
    sides: dict[float, list[tuple[int, float]]] = {}
    for i, z in enumerate(chances):
        sides.setdefault(round(abs(z), 12), []).append((i, z))
    most = max(sides, default=0.0) ** 2
    both, gaps, slopes = gap * slope, gap * gap, slope * slope
    odd = np.flatnonzero(~((gap < 0.0) & (slope < 0.0) & (gaps > most * s0) & (slopes > most * s2)))
    m, n = gaps * s2 + both * s1 + slopes * s0, 0.25 * s1 * s1 - s0 * s2
    with np.errstate(divide="ignore", invalid="ignore"):
        for size, of in sides.items():
            zz = size * size
            q = both + 0.5 * zz * s1 + size * np.sqrt(np.maximum(m + zz * n, 0.0)) if size else both
            for i, z in of:
                np.divide(gaps - zz * s0, q, out=hours[i]) if z < 0.0 else np.divide(q, slopes - zz * s2, out=hours[i])
            if odd.size:
                found = _crossing(gap[odd], slope[odd], s0[odd], s1[odd], s2[odd], [z for _, z in of])
                for (i, _), by in zip(of, found, strict=True):
                    hours[i, odd] = by


def _crossing(gap: Floats, slope: Floats, s0: Floats, s1: Floats, s2: Floats, sides: Sequence[float]) -> list[Floats]:
    """Return the least u ≥ 0 with gap − slope·u = z √(s₀ + s₁u + s₂u²); 0 when passed already, infinite when never.

    For each z of `sides`, which are of one size: both come from one quadratic.
    """
    z = sides[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        if z == 0.0:
            found = gap / slope
            return [np.where(gap >= 0.0, 0.0, np.where(found > 0.0, found, np.inf))] * len(sides)
        a = slope * slope - z * z * s2
        b = -2.0 * gap * slope - z * z * s1
        c = gap * gap - z * z * s0
        q = -0.5 * (b + np.copysign(np.sqrt(b * b - 4.0 * a * c), b))  # not a number where no u is
        roots = [(u, gap - slope * u) for u in (q / a, c / q)]
        edge = abs(z) * np.sqrt(s0)
        answers = []
        for z in sides:
            best = np.full(gap.shape, np.inf)
            for u, left in roots:
                right = (u > 0.0) & (u < best) & (left > 0.0 if z > 0.0 else left < 0.0)
                np.copyto(best, u, where=right)
            best[gap >= math.copysign(1.0, z) * edge] = 0.0
            answers.append(best)
    return answers
