"""The spin-grind plan: from the reel's map to a finish, a set-up, a list of passes, and what is left."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

import numpy as np

from sparkout.core.errors import OutOfRange, all_within, within
from sparkout.core.grinding.finish import choose_finish, finish_radius, shares_of_length, trade_curve
from sparkout.core.grinding.grinder import GIVE_TO_START_WITH, Grinder
from sparkout.core.grinding.passes import Passes, WheelWear, simulate
from sparkout.core.grinding.plan import PLACES, EndStock, GrindsLeft, LandAfter, Place, SetUp, SpinPass, SpinPlan
from sparkout.core.grinding.removal import removal
from sparkout.core.grinding.schedule import Schedule, lag_after, schedule
from sparkout.core.grinding.setup import TouchOff, adjuster_turns, divisions
from sparkout.core.grinding.wheel import cone_from_wheel_loss, overlap, speed_check
from sparkout.core.measured import Measured, coverage_factor
from sparkout.core.phrase import phrase
from sparkout.core.reel.land import land_after_grind, relief_gone

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from sparkout.core.reel.geometry import Reel

    Array = NDArray[np.float64]

__all__ = [
    "GIVE_TO_START_WITH",
    "EndStock",
    "Grinder",
    "GrindsLeft",
    "LandAfter",
    "Passes",
    "SetUp",
    "SpinPass",
    "SpinPlan",
    "WheelWear",
    "choose_finish",
    "finish_radius",
    "simulate",
    "spin_plan",
    "trade_curve",
]


def spin_plan(
    reel: Reel,
    radius_map: ArrayLike,
    stations: ArrayLike,
    lowest: Measured,
    grinder: Grinder,
    service_diameter: float,
    *,
    cone: Measured,
    land: Measured | tuple[Measured, Measured, Measured],
    uncleaned_share: float = 0.0,
    nick_depth: float = 0.0,
    allowance: float = 0.02,
    wanted_run_out: float | None = None,
    wanted_cone: float | None = None,
    land_limit: float | None = None,
) -> SpinPlan:
    """Spin-grind plan: finish radius, set-up, list of passes, and the reel as it would be left.

    The wheel starts at the highest point and ends at r_f = lowest - nick depth - allowance (see `trade_curve` when some
    edge may stay uncleaned). Every pass is simulated over blades x stations with the grinder's give and the wheel
    wearing as it goes; the loss is dialled in again before every infeed. As left, no point of the edge lies below r_f.

    Parameters
    ----------
    reel : Reel
        As specified; gives blade count, length, helix, relief angle, blade thickness.
    radius_map : array (N, S)
        Mean radius of each blade at each station, from the bearing axis, mm.
    stations : array (S,)
        Rising, 0 to the blade length, mm.
    lowest : Measured
        Lowest point of the whole edge, mm.
    grinder : Grinder
    service_diameter : float
        Least diameter the reel may be used at, mm: the machine's handbook's, entered by the workshop.
    cone : Measured
        Cone on diameter, signed (right less left), mm.
    land : Measured or three of them
        Land now, over the whole reel or at left, middle, right, mm.
    uncleaned_share : float
        Share of the edge length that may stay uncleaned.
    nick_depth, allowance : float
        mm.
    wanted_run_out, wanted_cone, land_limit : float, optional
        The workshop's limits, mm. Spark-out is lengthened to meet the first two; without them nothing is judged.

    Raises
    ------
    BelowServiceLimit
        When the reel would finish below its service diameter; says what would fit.
    OutOfRange
        For any argument outside its range.

    Notes
    -----
    Volume uses the land half way through the grind, exact for a flat facet. `grinds_left` divides the diameter left by
    what this grind takes: mean stock for the expected count; heaviest stock and the lower 95 % end for the low count;
    mean stock and the upper end for the high one. One traverse carries the wheel clear of both ends (length + width).

    >>> from sparkout.core.reel.geometry import Reel
    >>> grinder = Grinder(Measured(0.7, 0.1), Measured(60, 20), 120, 20, 300, 40, 30, 0.02, 0.01, 3, 650, 1.5, 50, 5e4)
    >>> x = np.linspace(0, 500, 6)
    >>> true = np.full((8, 6), 60.0) + 0.1 * x / 500
    >>> plan = spin_plan(Reel(8, 122, 500), true, x, Measured(60.0, 0.005), grinder, 116.0,
    ...                  cone=Measured(0.2, 0.01), land=Measured(1.0, 0.05))
    >>> round(plan.finish_diameter.value, 3), round(plan.heaviest_stock, 3), plan.passes[-1].kind
    (119.96, 0.12, 'spark-out')

    References: definitions of the project; removal and wheel loss as in `removal` and `wheel_loss`; infeed stages
    common practice, no source.
    """
    radii, x, shares = _checked_map(reel, radius_map, stations)
    for name, wanted in (("wanted_run_out", wanted_run_out), ("wanted_cone", wanted_cone), ("land_limit", land_limit)):
        if wanted is not None:
            within(name, wanted, 0.0, 20.0, "mm", above=True)
    within("uncleaned_share", uncleaned_share, 0.0, 0.9)
    within("lowest", lowest.value, 10.0, 400.0, "mm")
    finish = choose_finish(
        radii,
        lowest,
        service_diameter,
        allowed_share=uncleaned_share,
        nick_depth=nick_depth,
        allowance=allowance,
        shares=shares,
    )
    end = finish.radius.value
    highest = max(float(radii.max()), end)
    give = grinder.give.value
    timetable = schedule(
        highest,
        end,
        rough_infeed=grinder.rough_infeed,
        finish_infeed=grinder.finish_infeed,
        spark_out_passes=grinder.spark_out_passes,
        give=give,
        lag_allowed=_lag_allowed(wanted_run_out, wanted_cone),
    )
    lands = land if isinstance(land, tuple) else (land, land, land)
    along = _land_midway(reel, lands, radii, x, end)
    ground = _ground(reel, grinder, radii, timetable, along, shares)
    passes = _pass_list(reel, grinder, timetable, ground, along, highest)
    run_out = float(np.ptp(ground.left, axis=0).max())
    left_cone = _cone(ground.left, x, shares, reel.length)
    after = tuple(
        _land_after(reel, p, w, radii, x, finish.radius, land_limit) for p, w in zip(PLACES, lands, strict=True)
    )
    sparks = len(timetable.kinds) - timetable.infeed_passes
    steps = -np.diff(timetable.wheel[: timetable.infeed_passes], prepend=highest)
    losses = _losses(ground)
    diameter = finish.radius.scaled(2.0)
    return SpinPlan(
        finish_radius=finish.radius,
        finish_diameter=diameter,
        uncleaned_share=finish.uncleaned_share,
        chance_fully_clean=None if uncleaned_share > 0.0 else _chance_above(lowest, end),
        trade=trade_curve(radii, lowest, nick_depth=nick_depth, allowance=allowance, shares=shares),
        heaviest_stock=highest - end,
        lightest_stock=float(radii.min()) - end,
        stock_by_end=_stock_by_end(reel, radii, x, end),
        set_up=_set_up(reel, grinder, radii, x, cone),
        speed_check=None
        if grinder.marked_speed is None
        else speed_check(grinder.wheel_diameter, grinder.spindle_speed, grinder.marked_speed),
        overlap=overlap(grinder.wheel_width, grinder.traverse_speed, grinder.work_speed),
        passes=passes,
        volume=float(ground.volume.sum()),
        time=sum(p.time for p in passes),
        wheel_loss=float(losses.sum()),
        as_left=ground.left,
        as_left_run_out=run_out,
        as_left_cone=left_cone,
        cone_from_wheel=left_cone - _cone(simulate(radii, timetable.wheel, give).left, x, shares, reel.length),
        cone_from_one_traverse=cone_from_wheel_loss(float(losses.max())),
        residue=lag_after(steps, give) * (1.0 - give) ** sparks,
        spark_out_factor=(1.0 - give) ** sparks,
        residue_if_give_low=_residue_if_low(steps, sparks, grinder.give),
        run_out_met=None if wanted_run_out is None else run_out <= wanted_run_out,
        cone_met=None if wanted_cone is None else abs(left_cone) <= wanted_cone,
        above_service=Measured(diameter.value - service_diameter, diameter.u, diameter.dof),
        grinds_left=_grinds_left(
            diameter, service_diameter, 2.0 * (float(radii.mean(axis=0) @ shares) - end), 2.0 * (highest - end)
        ),
        land=(after[0], after[1], after[2]),
        relief_due=None if land_limit is None else any(bool(a.relief_due) for a in after),
    )


def _checked_map(reel: Reel, radius_map: ArrayLike, stations: ArrayLike) -> tuple[Array, Array, Array]:
    radii = all_within("radius_map", radius_map, 10.0, 400.0, "mm")
    x = all_within("stations", stations, 0.0, reel.length, "mm")
    shares = shares_of_length(x, reel.length)
    if radii.shape != (reel.blade_count, x.size):
        raise OutOfRange(
            "radius_map",
            radii.shape,
            phrase("({blade_count}, {size}): blades x stations", blade_count=reel.blade_count, size=x.size),
        )
    return radii, x, shares


def _lag_allowed(wanted_run_out: float | None, wanted_cone: float | None) -> float:
    """Height that may be left at the highest point: half a limit; the other half is there for the wheel's loss."""
    return min(
        math.inf if wanted_run_out is None else 0.5 * wanted_run_out,
        math.inf if wanted_cone is None else 0.25 * wanted_cone,
    )


def _at_places(reel: Reel, x: Array, values: Array) -> list[float]:
    return [float(v) for v in np.interp([0.0, 0.5 * reel.length, reel.length], x, values)]


def _land_midway(reel: Reel, lands: tuple[Measured, ...], radii: Array, x: Array, end: float) -> Array:
    """Land at each station half way through the grind, where the facet is flat: w + dr / (2 tan alpha)."""
    now = np.interp(x, [0.0, 0.5 * reel.length, reel.length], [w.value for w in lands])
    stock = np.maximum(radii - end, 0.0).mean(axis=0)
    midway: Array = np.minimum(now + 0.5 * stock / math.tan(reel.relief_angle), reel.blade_thickness)
    return midway


def _ground(reel: Reel, grinder: Grinder, radii: Array, timetable: Schedule, land: Array, shares: Array) -> Passes:
    edge = reel.blade_count * reel.length / math.cos(reel.helix_angle)
    area = land * shares * edge
    rim = grinder.g_ratio.value * math.pi * grinder.wheel_diameter * grinder.wheel_width
    wear = WheelWear(area / rim, grinder.one_way, made_good=timetable.infeed_passes)
    return simulate(radii, timetable.wheel, grinder.give.value, wheel_wear=wear, shares=shares, area=area)


def _losses(ground: Passes) -> Array:
    assert ground.wheel_loss is not None
    return ground.wheel_loss


def _pass_list(
    reel: Reel, grinder: Grinder, timetable: Schedule, ground: Passes, land: Array, highest: float
) -> tuple[SpinPass, ...]:
    assert ground.by_station is not None
    losses = _losses(ground)
    there_and_back = 2.0 if grinder.one_way else 1.0
    time = there_and_back * (reel.length + grinder.wheel_width) / grinder.traverse_speed
    heaviest = np.argmax(ground.by_station * land, axis=1)
    passes = []
    total, rim, loss = 0.0, highest, 0.0
    for p, kind in enumerate(timetable.kinds):
        spark = kind == "spark-out"
        infeed = 0.0 if spark else rim - float(timetable.wheel[p]) + loss
        loss = loss + float(losses[p]) if spark else float(losses[p])
        total += infeed
        rim = float(timetable.wheel[p])
        at = int(heaviest[p])
        rate = removal(
            float(ground.by_station[p, at]),
            float(land[at]),
            reel.blade_count,
            grinder.traverse_speed,
            grinder.wheel_width,
            grinder.specific_energy,
            reel.helix_angle,
        )
        passes.append(
            SpinPass(
                p + 1,
                kind,
                infeed,
                total,
                rim + (loss - float(losses[p]) if spark else 0.0),
                float(ground.touched[p]),
                float(ground.largest_bite[p]),
                float(ground.mean_bite[p]),
                rate,
                float(ground.volume[p]),
                time,
                float(losses[p]),
            )
        )
    return tuple(passes)


def _cone(radii: Array, x: Array, shares: Array, length: float) -> float:
    """Cone on diameter of the best straight line through the mean radius, right less left, mm."""
    t = x - float(x @ shares)
    spread = float(t**2 @ shares)
    if spread == 0.0:
        return 0.0
    return 2.0 * length * float((t * radii.mean(axis=0)) @ shares) / spread


def _stock_by_end(reel: Reel, radii: Array, x: Array, end: float) -> tuple[EndStock, EndStock, EndStock]:
    least = _at_places(reel, x, radii.min(axis=0) - end)
    most = _at_places(reel, x, radii.max(axis=0) - end)
    stocks = [EndStock(*of) for of in zip(PLACES, least, most, strict=True)]
    return stocks[0], stocks[1], stocks[2]


def _set_up(reel: Reel, grinder: Grinder, radii: Array, x: Array, cone: Measured) -> SetUp:
    move = adjuster_turns(cone.value, reel.length, grinder.mount_spacing, grinder.thread_pitch)
    left, _, right = _at_places(reel, x, radii.max(axis=0))
    large: Literal["left", "right", "neither"] = "right" if right > left else "left" if left > right else "neither"
    shown = TouchOff(large, Measured(abs(right - left), 0.5 * cone.u, cone.dof))
    return SetUp(move, divisions(move.turns, grinder.divisions_per_turn), shown)


def _residue_if_low(steps: Array, sparks: int, give: Measured) -> float:
    low = max(0.02, give.value - 2.0 * give.u)
    return lag_after(steps, low) * (1.0 - low) ** sparks


def _chance_above(lowest: Measured, end: float) -> float:
    if lowest.u == 0.0:
        return 1.0 if lowest.value >= end else 0.0
    return 0.5 * math.erfc((end - lowest.value) / (lowest.u * math.sqrt(2.0)))


def _land_after(
    reel: Reel, place: Place, before: Measured, radii: Array, x: Array, finish: Measured, limit: float | None
) -> LandAfter:
    mean = _at_places(reel, x, radii.mean(axis=0))[PLACES.index(place)]
    removed = max(0.0, mean - finish.value)
    after = land_after_grind(before.value, reel.relief_angle, removed, 2.0 * mean)
    after = min(after, max(reel.blade_thickness, before.value))
    u = math.hypot(before.u, finish.u / math.tan(reel.relief_angle))
    return LandAfter(
        place,
        before,
        Measured(after, u),
        None if limit is None else after > limit,
        relief_gone(after, reel.blade_thickness),
    )


def _grinds_left(diameter: Measured, service: float, mean_taken: float, most_taken: float) -> GrindsLeft:
    half = coverage_factor(0.95) * diameter.u
    room = diameter.value - service

    def count(left: float, taken: float) -> int:
        return max(0, math.floor(left / taken)) if taken > 0.0 else 0

    return GrindsLeft(count(room, mean_taken), count(room - half, most_taken), count(room + half, mean_taken))
