"""A unit on the bench, without a visit: how it stands, what to turn, how it moves with wear and work, and warm."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import TYPE_CHECKING, Any, Literal, TypeVar

from sparkout.core.errors import Refusal, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import phrase
from sparkout.core.setting.clicks import Ends
from sparkout.core.setting.heat import EXPANSION, EXPANSION_U, ColdSetting, GapHot, Warming, gap_hot, gap_to_set_cold
from sparkout.core.setting.height import Pattern, edge_shift
from sparkout.core.stance.given import Known, OnBench, figures, spread
from sparkout.core.stance.moves import Moves, RollerAdjuster, moves_to
from sparkout.core.stance.unit import CuttingUnit, Stance, stance
from sparkout.core.stance.work import AfterWork, LifePath, Work, after_work, through_life
from sparkout.reckoning.answer import Untold
from sparkout.reckoning.given import Given
from sparkout.reckoning.setting import pivot

if TYPE_CHECKING:
    from collections.abc import Callable

    from sparkout.reckoning.answer import Answer
    from sparkout.visit.schema import Visit

Metal = Literal["steel", "aluminium"]
T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchFigures:
    """What a person measured and wants, mm, rad and K; None: not said."""

    pattern: Pattern = "knife up"
    reel_diameter: float | None = None
    height_left: float | None = None
    height_right: float | None = None
    height_uncertainty: float | None = None
    """Standard uncertainty of a reading of height."""
    bar_uncertainty: float | None = None
    """The same of the setting bar itself, shared by both ends."""
    front_roller_diameter: float | None = None
    rear_roller_diameter: float | None = None
    front_roller_ahead: float | None = None
    rear_roller_behind: float | None = None
    behind_centre: float | None = None
    pivot_behind: float | None = None
    pivot_below: float | None = None
    arm: float | None = None
    gap: float | None = None
    seat_tilt: float | None = None
    top_angle: float | None = None
    front_angle: float | None = None
    of_cut: float | None = None
    """Height of cut wanted."""
    wanted_behind: float | None = None
    adjuster_pitch: float | None = None
    """Travel of the front roller for one turn."""
    rear_pitch: float | None = None
    smallest_turn: float | None = None
    """Least part of a turn that can be set."""
    least_diameter: float | None = None
    """At which the reel is worn out."""
    radius_removed: float | None = None
    top_stock: float | None = None
    front_stock: float | None = None
    reel_rise: float | None = None
    frame_rise: float | None = None
    rise_uncertainty: float | None = None
    reel_metal: Metal = "steel"
    frame_metal: Metal = "steel"

    @property
    def missing(self) -> tuple[str, ...]:
        """Names of what is still wanted before anything can be told."""
        names = ["reel_diameter", "height_left", "front_roller_diameter", "rear_roller_diameter", "front_roller_ahead",
                 "rear_roller_behind"]  # fmt: skip
        if self.behind_centre is None:
            by_pivot = ("pivot_behind", "pivot_below", "arm")
            begun = self.pattern == "knife up" and any(getattr(self, name) is not None for name in by_pivot)
            names += by_pivot if begun else ("behind_centre",)
        return tuple(name for name in names if getattr(self, name) is None)


@dataclass(frozen=True, slots=True)
class Standing:
    """How a unit stands and what follows; a part that was not asked for is None, one that cannot be is `Untold`."""

    unit: CuttingUnit
    stance: Stance
    known: dict[str, Known]
    moves: Moves | Untold | None
    worked: AfterWork | Untold | None
    life: LifePath | Untold | None
    hot: GapHot | None
    cold: ColdSetting | None


def standing(given: BenchFigures) -> Standing:
    """Return how a unit stands, what to turn for the height wanted, after work, over the reel's life, and warm.

    Raises
    ------
    Refusal
        When the figures cannot be a unit, or the adjusters' are out of range. What is asked beyond the stance and
        cannot be is `Untold`, so that the stance stays told.
    """
    bench = _bench(given)
    unit = bench.unit()
    front, rear = _adjuster(given.adjuster_pitch, given), _adjuster(given.rear_pitch, given)
    return Standing(
        unit,
        stance(unit),
        spread(bench, lambda made: figures(stance(made))),
        _tried(phrase("the turns"), lambda: _moves(given, unit, front, rear)),
        _tried(phrase("the unit after that work"), lambda: _worked(given, unit, front, rear)),
        _tried(phrase("the unit over the reel's life"), lambda: _life(given, unit, front, rear)),
        *_warm(given),
    )


def _bench(given: BenchFigures) -> OnBench:
    u = given.height_uncertainty or 0.0
    left = float(given.height_left or 0.0)
    right = left if given.height_right is None else given.height_right
    known = {
        name: value
        for name in ("behind_centre", "pivot_behind", "pivot_below", "arm")
        if (value := getattr(given, name)) is not None
    }
    return OnBench(
        pattern=given.pattern,
        length=500.0,  # nothing told here hangs on it
        reel_diameter=float(given.reel_diameter or 0.0),
        height_left=Measured(left, u),
        height_right=Measured(right, u),
        bar=Measured(0.0, given.bar_uncertainty or 0.0),
        front_ahead=float(given.front_roller_ahead or 0.0),
        rear_behind=float(given.rear_roller_behind or 0.0),
        front_diameter=float(given.front_roller_diameter or 0.0),
        rear_diameter=float(given.rear_roller_diameter or 0.0),
        gap=given.gap or 0.0,
        seat_tilt=given.seat_tilt or 0.0,
        top_angle=given.top_angle or 0.0,
        front_angle=given.front_angle or 0.0,
        **known,
    )


def _adjuster(pitch: float | None, given: BenchFigures) -> RollerAdjuster | None:
    return None if pitch is None else RollerAdjuster(pitch, step=given.smallest_turn)


def _tried(what: str, made: Callable[[], T]) -> T | Untold:
    try:
        return made()
    except Refusal as refusal:
        return Untold(what, refusal.words)


def _moves(
    given: BenchFigures, unit: CuttingUnit, front: RollerAdjuster | None, rear: RollerAdjuster | None
) -> Moves | None:
    if given.of_cut is None or (front is None and rear is None):
        return None
    return moves_to(unit, given.of_cut, behind_centre=given.wanted_behind, front=front, rear=rear)


def _worked(
    given: BenchFigures, unit: CuttingUnit, front: RollerAdjuster | None, rear: RollerAdjuster | None
) -> AfterWork | None:
    if not (given.radius_removed or given.top_stock or given.front_stock):
        return None
    angles = given.top_angle or 0.0, given.front_angle or 0.0, given.seat_tilt or 0.0
    shift = edge_shift(given.top_stock or 0.0, given.front_stock or 0.0, *angles)
    loss = given.radius_removed or 0.0
    return after_work(unit, Work(Ends(loss, loss), shift), height=given.of_cut, front=front, rear=rear)


def _life(
    given: BenchFigures, unit: CuttingUnit, front: RollerAdjuster | None, rear: RollerAdjuster | None
) -> LifePath | None:
    if given.least_diameter is None:
        return None
    return through_life(unit.left, given.least_diameter, front=front, rear=rear, steps=5)


def _warm(given: BenchFigures) -> tuple[GapHot | None, ColdSetting | None]:
    if given.reel_rise is None or given.reel_diameter is None:
        return None, None
    u = given.rise_uncertainty or 0.0
    warming = Warming(Measured(given.reel_rise, u), Measured(given.frame_rise or 0.0, u))
    reel = Measured(EXPANSION[given.reel_metal], EXPANSION_U)
    frame = reel if given.frame_metal == given.reel_metal else Measured(EXPANSION[given.frame_metal], EXPANSION_U)
    diameter, gap = Measured(given.reel_diameter, 0.0), given.gap or 0.0
    within("gap", gap, -0.5, 2.0, "mm")
    first = Warming(warming.reel, Measured(0.0, u))  # the reel warms before its frame does
    return (
        gap_hot(Measured(gap, 0.0), diameter, warming, reel, frame),
        gap_to_set_cold(gap, diameter, [first, warming], reel, frame),
    )


def figures_of_visit(visit: Visit, answer: Answer | None = None) -> BenchFigures:
    """Return what a visit's file and its answer know of how the unit stands: a form to start from."""
    file = Given(visit)
    told: dict[str, Any] = {
        f.name: value for f in fields(BenchFigures) if (value := _in_file(visit, f.name)) is not None
    }
    told["reel_diameter"] = float(visit.reel.diameter)
    at = pivot(file)
    if at is not None:
        told |= dict(zip(("pivot_behind", "pivot_below", "arm"), at, strict=True))
    if answer is not None:
        told |= _answered(answer)
    return BenchFigures(**told)


def _in_file(visit: Visit, name: str) -> float | str | None:
    for section in (visit.height, visit.knife, visit.unit, visit.wanted):
        if name in type(section).model_fields and (value := getattr(section, name)) is not None:
            return value if isinstance(value, str) else float(value)
    return None


def _answered(answer: Answer) -> dict[str, float]:
    told: dict[str, float] = {}
    now = answer.diagnosis.state.mean_radius.value if "mean radius" in answer.diagnosis.informed else None
    if not isinstance(answer.stance, Untold):
        left, right = answer.stance.unit.sections
        stands = answer.stance.stance
        told |= {
            "height_left": stands.left.height_of_cut,
            "height_right": stands.right.height_of_cut,
            "front_roller_diameter": left.front.diameter,
            "rear_roller_diameter": left.rear.diameter,
        }
        if left.closing.pattern == "reel down":
            told["behind_centre"] = stands.middle.behind_centre
        now = (left.reel_diameter + right.reel_diameter) / 4.0
    if now is not None:
        told["reel_diameter"] = 2.0 * now
    if not isinstance(answer.spin, Untold):
        told["least_diameter"] = answer.spin.service_diameter
        if now is not None:
            told["radius_removed"] = max(0.0, now - answer.spin.plan.finish_radius.value)
    if not isinstance(answer.knife, Untold):
        told |= {"top_stock": answer.knife.top_stock, "front_stock": answer.knife.front_stock}
    return told
