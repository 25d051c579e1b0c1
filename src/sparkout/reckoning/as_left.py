"""After the grind: prediction beside result, verdicts as left, and what the grinder has taught."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np

from sparkout.core.errors import Refusal
from sparkout.core.grinding.learn import WheelReadings, learn_grinder, prediction_against_result
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.core.reel.simulated import edge_draws
from sparkout.reckoning.answer import AsLeft, Untold
from sparkout.reckoning.diagnosis import SEED, diagnose
from sparkout.reckoning.grind import grinder, lands
from sparkout.reckoning.readings import observations
from sparkout.reckoning.setting import sd_about_mean
from sparkout.reckoning.verdicts import judge

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from sparkout.core.grinding.learn import Compared, Learned
    from sparkout.core.grinding.plan import SpinPlan
    from sparkout.core.reel.geometry import Reel
    from sparkout.reckoning.answer import Diagnosis, Spin
    from sparkout.reckoning.given import Given
    from sparkout.visit.taken import WorkEntry

_LANDS = (phrase("land left"), phrase("land middle"), phrase("land right"))
WHEEL_U = 0.02
"""Standard uncertainty of a wheel diameter read by caliper, mm (common practice, no source)."""


def as_left(given: Given, reel: Reel, found: Diagnosis, spin: Spin | Untold) -> AsLeft | None:
    """Return prediction beside result and the lesson for the grinder, or None when nothing was read as left."""
    observed = observations(given, "as left")
    if not observed and not given.readings("land", "as left"):
        return None
    left = diagnose(given, reel, observed, "as left")
    notes: list[str] = []
    learned = None
    try:
        learned = _learn(given, reel, found, left, spin, notes)
    except Refusal as refusal:
        notes.append(phrase("The grinder's give cannot be learnt from this grind: {refusal}", refusal=refusal))
    return AsLeft(
        left,
        () if isinstance(spin, Untold) else _compared(given, reel, spin, left, notes),
        learned,
        judge(given, left, "as left"),
        tuple(notes),
    )


def _compared(given: Given, reel: Reel, spin: Spin, left: Diagnosis, notes: list[str]) -> tuple[Compared, ...]:
    """The plan's predictions beside what was measured."""
    plan = spin.plan
    predicted = {
        "mean diameter": Measured(2.0 * float(plan.as_left.mean()), plan.finish_diameter.u),
        "cone": Measured(plan.as_left_cone, 0.0),
    }
    measured = {}
    if "mean radius" in left.informed:
        measured["mean diameter"] = left.state.mean_radius.scaled(2.0)
    if "cone" in left.informed:
        measured["cone"] = left.state.cone
    if "blades" in left.informed:
        predicted["run-out"], measured["run-out"] = _run_out(plan, left)
    if given.readings("land", "as left"):
        for place, after, read in zip(_LANDS, plan.land, lands(given, reel, "as left"), strict=True):
            predicted[place], measured[place] = after.after, read
        if any(work.step == "relief grind" for work in given.visit.work):
            notes.append(
                phrase("Relief was ground too, so the land as left is the relief grind's, not the spin grind's.")
            )
            for place in _LANDS:
                del measured[place]
    return prediction_against_result(predicted, measured) if measured else ()


def _run_out(plan: SpinPlan, left: Diagnosis) -> tuple[Measured, Measured]:
    """Largest run-out over three places: as these gauges would show it were the plan right, and as they showed it.

    A range of noisy heights is never nothing, so a true reel must be compared with what noise alone would show.
    """
    at = [0, len(left.stations) // 2, len(left.stations) - 1]
    reel = left.state.reel
    edges = edge_draws(reel, left.state.draw(np.random.default_rng(SEED)), left.stations[at])
    noise = edges - edges.mean(axis=0)
    shown = np.ptp(plan.as_left[:, at] + noise, axis=1).max(axis=1)
    lag = max(plan.residue_if_give_low - plan.residue, 0.0) / 2.0
    as_shown = float(np.ptp(left.heights[:, at], axis=0).max())
    return Measured(float(shown.mean()), math.hypot(float(shown.std()), lag)), Measured(as_shown, 0.0)


def _spin_work(given: Given) -> WorkEntry | None:
    return next((w for w in given.visit.work if w.step == "spin grind" and w.infeeds), None)


def _learn(
    given: Given, reel: Reel, found: Diagnosis, left: Diagnosis, spin: Spin | Untold, notes: list[str]
) -> Learned | None:
    work = _spin_work(given)
    if work is None or work.infeeds is None:
        notes.append(
            phrase(
                "Enter the infeed of each pass as ground ([[work]], spin grind) and the grinder's give can be learnt."
            )
        )
        return None
    if "blades" not in left.informed or "mean radius" not in left.informed:
        notes.append(phrase("A diameter and a dial on every blade as left would teach the grinder's give."))
        return None
    places = np.array(sorted({o.x for o in left.state.observations if o.kind == "run-out"}))
    before, before_sd = found.state.radius_map(places)
    after, after_sd = left.state.radius_map(places)
    machine = grinder(given, reel)
    midway = land_midway(given, reel, spin)
    edge = reel.blade_count * reel.length / math.cos(reel.helix_angle)
    return learn_grinder(
        [float(infeed) for infeed in work.infeeds],
        before,
        after,
        as_left_u=_own_u(left, after_sd),
        land_area=Measured(midway * edge, given.land().u * edge),
        give=machine.give,
        g_ratio=machine.g_ratio,
        as_found_u=float(sd_about_mean(before_sd, found).mean()),
        shared_u=math.hypot(left.state.mean_radius.u, found.state.mean_radius.u),
        wheel=_wheel(work, machine.wheel_width),
    )


def land_midway(given: Given, reel: Reel, spin: Spin | Untold) -> float:
    """Return the land half way through the spin grind, mm, mean over the reel: what the wheel met on average.

    The land grows while the reel is spun; what is read as left may be the relief grind's, so the plan's figure stands.
    """
    if isinstance(spin, Untold):
        return sum(land.value for land in lands(given, reel)) / 3
    return sum((place.before.value + place.after.value) / 2 for place in spin.plan.land) / 3


def _own_u(left: Diagnosis, sd: NDArray[np.float64]) -> NDArray[np.float64]:
    """Uncertainty each point has for itself: never less than its dial's, for the smooth map is not more readings."""
    dial = min(o.u for o in left.state.observations if o.kind == "run-out")
    return np.maximum(sd_about_mean(sd, left), dial)


def _wheel(work: WorkEntry, width: float) -> WheelReadings | None:
    if work.wheel_diameter_before is None or work.wheel_diameter_after is None:
        return None
    before, after = float(work.wheel_diameter_before), float(work.wheel_diameter_after)
    return WheelReadings(Measured(before, WHEEL_U), Measured(after, WHEEL_U), width)
