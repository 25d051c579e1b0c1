"""A cutting unit from what people can measure on it, with the uncertainty of what follows.

Two ways in: as it stands on the bench (heights by a bar, distances along the bench), or as built (roller axes, pivot
and reel in the frame). Every amount may be a bare number (exact) or a measured one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields, replace
from typing import Any

from sparkout.core.errors import NotEnough, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.core.setting.height import Pattern
from sparkout.core.setting.pivot import knife_on_reel
from sparkout.core.stance.section import Closing, Point, Roller, Section
from sparkout.core.stance.standing import StanceAt
from sparkout.core.stance.unit import CuttingUnit, Stance, stance

Amount = float | Measured
NAMES = tuple(f.name for f in fields(StanceAt))


def best(amount: Amount) -> float:
    """Return the best estimate of an amount.

    Examples
    --------
    >>> best(4.0), best(Measured(4.02, 0.01))
    (4.0, 4.02)
    """
    return amount.value if isinstance(amount, Measured) else float(amount)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnBench:
    """A unit as measured standing level on its rollers on a bench, mm and rad."""

    pattern: Pattern
    length: float
    reel_diameter: Amount
    height_left: Amount
    height_right: Amount
    """Height of cut by a bar over both rollers at each end of the blades."""
    front_ahead: Amount
    rear_behind: Amount
    """Roller axes ahead of and behind the knife's edge, along the bench."""
    front_diameter: Amount
    rear_diameter: Amount
    """As they touch (of a grooved roller, over its ridges)."""
    behind_centre: Amount | None = None
    """Edge behind the reel's axis, along the bench; or the pivot and arm."""
    pivot_behind: Amount | None = None
    pivot_below: Amount | None = None
    """Of the part that moves: of the knife's carrier, from the reel's axis, along and square to the bench. For a reel
    that moves, of its carrier, from the reel's axis."""
    arm: Amount | None = None
    """Knife's pivot to edge."""
    gap: Amount = 0.0
    seat_tilt: Amount = 0.0
    top_angle: Amount = 0.0
    front_angle: Amount = 0.0
    cone: Amount = 0.0
    """Reel's diameter, right less left, as in the definitions; the diameter above is the mean."""
    bar: Amount = 0.0
    """Error of the bar, added to both heights: give its uncertainty as Measured(0, u)."""

    def unit(self) -> CuttingUnit:
        """Return the unit by the best estimates.

        Raises
        ------
        NotEnough
            Neither behind-centre distance nor the knife's pivot and arm are given.
        OutOfRange, Contradiction
            As `knife_on_reel` and `Section`.
        """
        left, right = (
            self._section(diameter, best(height) + best(self.bar))
            for diameter, height in zip(
                _coned(self.reel_diameter, self.cone), (self.height_left, self.height_right), strict=True
            )
        )
        return CuttingUnit(left, right, self.length)

    def _section(self, diameter: float, height: float) -> Section:
        within("height of cut", height, -5.0, 200.0, "mm")
        edge = _edge(diameter, best(self.gap), self)
        ground = edge.below + height
        front, rear = best(self.front_diameter), best(self.rear_diameter)
        ahead = within("front_ahead", best(self.front_ahead), 0.0, 1000.0, "mm")
        behind = within("rear_behind", best(self.rear_behind), 0.0, 1000.0, "mm")
        return Section(
            diameter,
            Point(0.0, 0.0),
            edge,
            Roller(edge.behind - ahead, ground - front / 2.0, front),
            Roller(edge.behind + behind, ground - rear / 2.0, rear),
            _closing(self),
            best(self.gap),
            best(self.seat_tilt),
            best(self.top_angle),
            best(self.front_angle),
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class AsBuilt:
    """A unit by the places of its parts in its own frame, from the reel's axis, mm and rad."""

    pattern: Pattern
    length: float
    reel_diameter: Amount
    front_ahead: Amount
    front_below_left: Amount
    front_below_right: Amount
    rear_behind: Amount
    rear_below_left: Amount
    rear_below_right: Amount
    """Roller axes from the reel's axis, in the frame's own directions."""
    front_diameter: Amount
    rear_diameter: Amount
    behind_centre: Amount | None = None
    pivot_behind: Amount | None = None
    pivot_below: Amount | None = None
    arm: Amount | None = None
    gap: Amount = 0.0
    seat_tilt: Amount = 0.0
    top_angle: Amount = 0.0
    front_angle: Amount = 0.0
    cone: Amount = 0.0
    front_taper: Amount = 0.0
    rear_taper: Amount = 0.0
    """Roller diameter, right less left, over the blade length; the diameters above are the means."""

    def unit(self) -> CuttingUnit:
        """Return the unit by the best estimates; raises as `OnBench.unit`."""
        reels = _coned(self.reel_diameter, self.cone)
        fronts, rears = _coned(self.front_diameter, self.front_taper), _coned(self.rear_diameter, self.rear_taper)
        fronts_below = best(self.front_below_left), best(self.front_below_right)
        rears_below = best(self.rear_below_left), best(self.rear_below_right)
        left, right = (
            Section(
                reels[i],
                Point(0.0, 0.0),
                _edge(reels[i], best(self.gap), self),
                Roller(-best(self.front_ahead), fronts_below[i], fronts[i]),
                Roller(best(self.rear_behind), rears_below[i], rears[i]),
                _closing(self),
                best(self.gap),
                best(self.seat_tilt),
                best(self.top_angle),
                best(self.front_angle),
            )
            for i in (0, 1)
        )
        return CuttingUnit(left, right, self.length)


def _coned(diameter: Amount, cone: Amount) -> tuple[float, float]:
    return best(diameter) - best(cone) / 2.0, best(diameter) + best(cone) / 2.0


def _edge(diameter: float, gap: float, given: OnBench | AsBuilt) -> Point:
    circle = within("reel_diameter", diameter, 40.0, 600.0, "mm") / 2.0 + within("gap", gap, -2.0, 20.0, "mm")
    if given.behind_centre is not None:
        behind = within("behind_centre", best(given.behind_centre), -0.9 * circle, 0.9 * circle, "mm")
        return Point(behind, math.sqrt(circle**2 - behind**2))
    if given.pattern != "knife up" or None in (given.pivot_behind, given.pivot_below, given.arm):
        wanted = phrase("behind_centre, or for a knife that moves up its pivot_behind, pivot_below and arm")
        raise NotEnough("where the edge stands on the reel", wanted)
    assert given.pivot_behind is not None
    assert given.pivot_below is not None
    assert given.arm is not None
    at = knife_on_reel(diameter, best(given.pivot_behind), best(given.pivot_below), best(given.arm), gap)
    return Point(at.behind_centre, at.below_centre)


def _closing(given: OnBench | AsBuilt) -> Closing:
    if given.pivot_behind is None or given.pivot_below is None:
        return Closing(given.pattern)
    return Closing(given.pattern, Point(best(given.pivot_behind), best(given.pivot_below)))


@dataclass(frozen=True, slots=True)
class Known:
    """One figure with its uncertainty, and what each amount contributes to it (c_i u_i, signed)."""

    measured: Measured
    components: Mapping[str, float]


def stance_known(given: OnBench | AsBuilt) -> dict[str, Known]:
    """Return how the unit stands with uncertainties: `left.height_of_cut`, `level` and the like, mm and rad.

    Equation: `stance` of the best estimates; u² = sum (df/dx_i u_i)² over the amounts given as measured ones.

    Raises
    ------
    NotEnough, OutOfRange, Contradiction
        As `OnBench.unit` and `stance`.

    Validity: amounts independent of each other; what both ends share (bar, diameters) is one amount and drops out
    of the level. Changes over a few u nearly straight: true of every unit that stands on its rollers.

    Examples
    --------
    Both heights by one bar good to 0.02 mm, each read to 0.01 mm: the level knows nothing of the bar.

    >>> here = OnBench(
    ...     pattern="knife up", length=533.0, reel_diameter=Measured(125.0, 0.05), behind_centre=Measured(8.0, 0.3),
    ...     height_left=Measured(4.0, 0.01), height_right=Measured(4.1, 0.01), front_ahead=88.0, rear_behind=82.0,
    ...     front_diameter=64.0, rear_diameter=50.0, bar=Measured(0.0, 0.02),
    ... )
    >>> known = stance_known(here)
    >>> [(name, round(known[name].measured.u, 4)) for name in ("left.height_of_cut", "level", "left.reach")]
    [('left.height_of_cut', 0.0224), ('level', 0.0141), ('left.reach', 0.0387)]

    References
    ----------
    JCGM 100:2008, 5.1.2 (from memory); geometry as `stance`.
    """
    return spread(given, lambda unit: figures(stance(unit)))


def spread(given: OnBench | AsBuilt, told: Callable[[CuttingUnit], Mapping[str, float]]) -> dict[str, Known]:
    """Return any figures of the unit with their uncertainties, as `stance_known` does for its stance.

    Examples
    --------
    >>> unit = OnBench(
    ...     pattern="knife up", length=533.0, reel_diameter=Measured(125.0, 0.05), behind_centre=8.0, height_left=4.0,
    ...     height_right=4.0, front_ahead=88.0, rear_behind=82.0, front_diameter=64.0, rear_diameter=50.0,
    ... )
    >>> round(spread(unit, lambda made: {"radius": made.left.reel_diameter / 2})["radius"].measured.u, 6)
    0.025
    """
    unsure = {f.name: a for f in fields(given) if isinstance(a := getattr(given, f.name), Measured) and a.u > 0.0}
    values = dict(told(given.unit()))
    parts = {name: _components(given, told, name, a) for name, a in unsure.items()}
    result = {}
    for key, value in values.items():
        components = {name: part[key] for name, part in parts.items()}
        u = math.sqrt(sum(c * c for c in components.values()))
        spare = sum(c**4 / unsure[n].dof for n, c in components.items() if math.isfinite(unsure[n].dof))
        dof = max(1.0, u**4 / spare) if spare else math.inf
        result[key] = Known(Measured(value, u, dof), components)
    return result


def _components(
    given: OnBench | AsBuilt, told: Callable[[CuttingUnit], Mapping[str, float]], name: str, amount: Measured
) -> dict[str, float]:
    """c u of one amount for every figure: central differences over u and u / 2, extrapolated to 0.

    `core.derivative.slope` is more careful and takes five times as long; a live drawing waits for this.
    """

    def at(x: float) -> Mapping[str, float]:
        changed: Any = {name: x}
        return told(replace(given, **changed).unit())

    wide = max(amount.u, 1e-4)
    (far, farther), (near, nearer) = ((at(amount.value + h), at(amount.value - h)) for h in (wide, wide / 2.0))
    scale = amount.u / wide
    return {key: scale * (8.0 * (near[key] - nearer[key]) - (far[key] - farther[key])) / 6.0 for key in far}


def figures(stands: Stance) -> dict[str, float]:
    """Return a stance as figures by name: `left.height_of_cut`, `middle.reach`, `level`, `twist` and so on, mm and rad.

    Examples
    --------
    >>> parts = {"front_ahead": 88.0, "rear_behind": 82.0, "front_diameter": 64.0, "rear_diameter": 50.0}
    >>> bench = OnBench(
    ...     pattern="knife up", length=533.0, reel_diameter=125.0, behind_centre=8.0, height_left=4.0, height_right=4.5,
    ...     **parts,
    ... )
    >>> round(figures(stance(bench.unit()))["level"], 6)
    0.5
    """
    ends = {
        f"{side}.{name}": getattr(getattr(stands, side), name) for side in ("left", "middle", "right") for name in NAMES
    }
    flat = stands.on_flat
    return {
        **ends,
        "level": stands.level,
        "attitude_level": stands.right.attitude - stands.left.attitude,
        "twist": flat.twist,
        "flat.left": flat.left,
        "flat.right": flat.right,
    }
