"""How the unit stands on its rollers, now and after the plan, and what to turn then."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from sparkout.core.errors import Refusal
from sparkout.core.gauges.instrument import reading_u, shared_u
from sparkout.core.measured import Measured
from sparkout.core.phrase import joined, phrase
from sparkout.core.setting.clicks import Ends
from sparkout.core.setting.height import EdgeShift, edge_shift
from sparkout.core.stance.given import AsBuilt, Known, OnBench, figures, spread
from sparkout.core.stance.moves import CAUTION, Moves, RollerAdjuster
from sparkout.core.stance.unit import CuttingUnit, Stance, stance
from sparkout.core.stance.work import Work, after_work
from sparkout.reckoning.answer import Untold
from sparkout.reckoning.given import PRACTICE, Given
from sparkout.reckoning.setting import knife_stand, pivot, wanted_gap

if TYPE_CHECKING:
    from sparkout.core.bedknife.life import KnifePlan
    from sparkout.core.reel.geometry import Reel
    from sparkout.reckoning.answer import Diagnosis, Spin
    from sparkout.visit.schema import Visit
    from sparkout.visit.taken import Reading


@dataclass(frozen=True, slots=True)
class AfterPlan:
    """The unit after the plan: what changes by itself, what to turn, and how it stands then. Lengths mm, angles rad."""

    height_change: tuple[Measured, Measured]
    """Of the height of cut at the left and right end, rollers untouched."""
    behind_centre_change: Measured
    travel: tuple[Measured, Measured]
    """Of the front roller at the left and right end, down positive, for the height wanted."""
    turns: tuple[Measured, Measured] | None
    """The same in turns; None while the adjuster's thread is not on file."""
    wanted_height: float
    unit: CuttingUnit
    """With those turns made."""
    stance: Stance


@dataclass(frozen=True, slots=True)
class StanceFound:
    """How the unit stands now, each figure with its uncertainty, and after the plan if there is one."""

    unit: CuttingUnit
    stance: Stance
    known: Mapping[str, Known]
    """`left.height_of_cut`, `level` and the like (core/stance/given.py)."""
    plan: AfterPlan | None
    notes: tuple[str, ...]
    caution: str = CAUTION


class _Planned(NamedTuple):
    finish_radius: float
    shift: EdgeShift
    pitch: float | None
    height: float | None


def stance_of(subject: Visit | OnBench | AsBuilt) -> StanceFound | Untold:
    """Return how a unit stands: from a visit (with its plan), or from what was measured on it.

    Raises
    ------
    Refusal
        When what was measured on it cannot be a unit; a visit's part that does not fit is `Untold`.
    """
    if isinstance(subject, OnBench | AsBuilt):
        return _found(subject, None, ())
    from sparkout.reckoning.reckon import reckon

    return reckon(subject).stance


def stance_found(
    given: Given, reel: Reel, diagnosis: Diagnosis, spin: Spin | Untold, knife: KnifePlan | Untold
) -> StanceFound | Untold:
    """Return how a visit's unit stands, as far as the file allows."""
    what = phrase("how the unit stands on its rollers")
    missing = _missing(given)
    stand = knife_stand(given, reel, diagnosis)
    if missing or stand is None:
        return Untold(what, joined(", ", missing or [phrase("a pivot of the knife that fits the reel")]))
    notes: list[str] = []
    try:
        bench = _bench(given, reel, diagnosis, stand.behind_centre, notes)
        return _found(bench, _planned(given, spin, knife, notes), tuple(notes))
    except Refusal as refusal:
        return Untold(what, phrase("figures of the unit that go together ({refusal})", refusal=refusal))


def _missing(given: Given) -> list[str]:
    spec, height = given.visit.unit, given.visit.height
    wanted = {
        phrase("which part the adjuster moves"): spec.pattern,
        phrase("the knife's pivot (behind, below, arm)"): pivot(given),
        phrase("how far the front roller lies ahead of the edge"): height.front_roller_ahead,
        phrase("how far the rear roller lies behind the edge"): height.rear_roller_behind,
        phrase("the front roller's diameter"): height.front_roller_diameter or _rollers(given, "front") or None,
        phrase("the rear roller's diameter"): height.rear_roller_diameter or _rollers(given, "rear") or None,
        phrase("the height of cut"): height.of_cut or given.readings("height of cut") or None,
    }
    return [words for words, found in wanted.items() if found is None]


def _bench(given: Given, reel: Reel, diagnosis: Diagnosis, behind: float, notes: list[str]) -> OnBench:
    visit, state = given.visit, diagnosis.state
    knife, height = visit.knife, visit.height
    at = pivot(given)
    assert visit.unit.pattern is not None  # asked for in `_missing`, as all below
    assert at is not None
    swings = visit.unit.pattern == "knife up"
    read = "mean radius" in diagnosis.informed
    radius = state.mean_radius if read else Measured(reel.diameter / 2.0, 0.0)
    left, right, bar = _heights(given, reel, notes)
    return OnBench(
        pattern=visit.unit.pattern,
        length=reel.length,
        reel_diameter=radius.scaled(2.0),
        cone=state.cone if "cone" in diagnosis.informed else 0.0,
        height_left=left,
        height_right=right,
        bar=bar,
        front_ahead=float(height.front_roller_ahead or 0.0),
        rear_behind=float(height.rear_roller_behind or 0.0),
        front_diameter=_diameter(given, "front", height.front_roller_diameter),
        rear_diameter=_diameter(given, "rear", height.rear_roller_diameter),
        behind_centre=None if swings else behind,
        pivot_behind=at[0] if swings else None,
        pivot_below=at[1] if swings else None,
        arm=at[2] if swings else None,
        gap=wanted_gap(given),
        seat_tilt=float(knife.seat_tilt or 0.0),
        top_angle=float(knife.top_angle or 0.0),
        front_angle=float(knife.front_angle or 0.0),
    )


def _heights(given: Given, reel: Reel, notes: list[str]) -> tuple[Measured, Measured, Measured]:
    """Height at the left and the right end, and what the bar's own error adds to both."""
    readings = [r for r in given.readings("height of cut") if r.at is not None and r.value is not None]
    if not readings:
        wanted = float(given.visit.height.of_cut or 0.0)
        given.assume(phrase("the unit stands at the height of cut wanted, because none was read"))
        return Measured(wanted, 0.0), Measured(wanted, 0.0), Measured(0.0, 0.0)
    placed = sorted((r.at.along(reel.length), i) for i, r in enumerate(readings) if r.at is not None)
    left, right = (_mean([readings[i] for x, i in placed if x == end], given) for end in (placed[0][0], placed[-1][0]))
    if placed[0][0] == placed[-1][0]:
        notes.append(phrase("Height of cut was read at one place: both ends are taken to stand alike."))
    gauges = [given.instrument(r) for r in readings]
    return left, right, Measured(0.0, max((shared_u(g) for g in gauges if g is not None), default=0.0))


def _mean(readings: list[Reading], given: Given) -> Measured:
    """Mean of readings of one thing, without what they share through their gauge."""
    values = [float(r.value) for r in readings if r.value is not None]
    mean = math.fsum(values) / len(values)
    own = [reading_u(g) if (g := given.instrument(r)) is not None else given.reading_u(r) for r in readings]
    scatter = math.sqrt(math.fsum((v - mean) ** 2 for v in values) / max(1, len(values) - 1))
    return Measured(mean, max(*own, scatter) / math.sqrt(len(values)) if len(values) > 1 else own[0])


def _rollers(given: Given, which: str) -> list[Reading]:
    return [r for r in given.readings("roller diameter") if r.which == which and r.value is not None]


def _diameter(given: Given, which: str, specified: float | None) -> Measured:
    readings = _rollers(given, which)
    if not readings:
        given.assume(
            phrase("front roller's diameter as new, because none was read")
            if which == "front"
            else phrase("rear roller's diameter as new, because none was read")
        )
        return Measured(float(specified or 0.0), 0.0)
    mean = _mean(readings, given)
    shared = max((shared_u(g) for r in readings if (g := given.instrument(r)) is not None), default=0.0)
    return Measured(mean.value, math.hypot(mean.u, shared))


def _planned(given: Given, spin: Spin | Untold, knife: KnifePlan | Untold, notes: list[str]) -> _Planned | None:
    if isinstance(spin, Untold):
        notes.append(phrase("There is no grind plan yet: how the unit stands after it is not told."))
        return None
    spec, height = given.visit.knife, given.visit.height
    shift = EdgeShift(0.0, 0.0)
    if not isinstance(knife, Untold):
        angles = (float(angle or 0.0) for angle in (spec.top_angle, spec.front_angle, spec.seat_tilt))
        shift = edge_shift(knife.top_stock, knife.front_stock, *angles)
    given.assume(
        phrase("the height adjusters move the front roller, square to the ground ({practice})", practice=PRACTICE)
    )
    pitch = None if height.adjuster_pitch is None else float(height.adjuster_pitch)
    return _Planned(
        spin.plan.finish_radius.value, shift, pitch, None if height.of_cut is None else float(height.of_cut)
    )


@lru_cache(32)
def _found(bench: OnBench | AsBuilt, planned: _Planned | None, notes: tuple[str, ...]) -> StanceFound:
    """Remembered by everything that goes in."""
    unit = bench.unit()
    if planned is None:
        return StanceFound(unit, stance(unit), spread(bench, lambda made: figures(stance(made))), None, notes)

    def told(made: CuttingUnit) -> dict[str, float]:
        before, after, moves = _worked(made, planned)
        assert moves.front is not None
        return {
            **figures(before),
            "plan.left": after.left.height_of_cut - before.left.height_of_cut,
            "plan.right": after.right.height_of_cut - before.right.height_of_cut,
            "plan.behind": after.middle.behind_centre - before.middle.behind_centre,
            "plan.travel_left": moves.front.left.travel,
            "plan.travel_right": moves.front.right.travel,
        }

    known = spread(bench, told)
    now = {name: one for name, one in known.items() if not name.startswith("plan.")}
    before, _, moves = _worked(unit, planned)
    travel = known["plan.travel_left"].measured, known["plan.travel_right"].measured
    plan = AfterPlan(
        (known["plan.left"].measured, known["plan.right"].measured),
        known["plan.behind"].measured,
        travel,
        None if planned.pitch is None else (travel[0].scaled(1 / planned.pitch), travel[1].scaled(1 / planned.pitch)),
        before.middle.height_of_cut if planned.height is None else planned.height,
        moves.unit,
        moves.after,
    )
    return StanceFound(unit, before, now, plan, notes)


def _worked(unit: CuttingUnit, planned: _Planned) -> tuple[Stance, Stance, Moves]:
    """How it stands before, after with the rollers untouched, and what to turn."""
    loss = Ends(*(section.reel_diameter / 2.0 - planned.finish_radius for section in unit.sections))
    front = RollerAdjuster(planned.pitch or 1.0)
    done = after_work(unit, Work(loss, planned.shift), height=planned.height, front=front)
    assert done.moves is not None  # there is an adjuster
    return done.before, done.after, done.moves
