"""A unit after work and over its reel's life, against the parts moved one by one; and the trade reference's figures."""

import cmath
import math
from dataclasses import replace

import numpy as np
import pytest
from tests.core.stance.standing_by_hand import stood, swung
from tests.published.evidence import compared

from sparkout.core.errors import OutOfRange
from sparkout.core.setting.clicks import Ends
from sparkout.core.setting.height import EdgeShift, edge_shift, height_effect
from sparkout.core.stance.moves import RollerAdjuster
from sparkout.core.stance.section import Closing, Point, Roller, Section, closed
from sparkout.core.stance.unit import CuttingUnit, stance
from sparkout.core.stance.work import Work, after_work, through_life

PARTS = Roller(-80, 35, 64), Roller(90, 42, 50)
PIVOT = Point(70, 45)
FRONT, REAR = RollerAdjuster(1.5), RollerAdjuster(1.5)


def end(closing: Closing, **more) -> Section:
    return closed(Section(127.0, Point(0, 0), Point(8.0, 63.0), *PARTS, closing, **more))


def unit(closing: Closing, **more) -> CuttingUnit:
    return CuttingUnit(end(closing, **more), end(closing, **more), 533.0)


def by_hand(section: Section, loss: float, shift: EdgeShift, front: float, rear: float) -> tuple[float, float]:
    """Height and behind-centre after the same work, part by part, with sampled rollers."""
    edge = complex(section.edge.behind + shift.behind, -section.edge.below - shift.below)
    axis = complex(section.axis.behind, -section.axis.below)
    pivot = complex(PIVOT.behind, -PIVOT.below)
    apart = section.reel_diameter / 2 - loss + section.gap
    if section.closing.pattern == "knife up":
        edge = swung(edge, pivot, axis, apart)
    else:
        axis = swung(axis, pivot, edge, apart)
    rollers = {"front": complex(PARTS[0].behind, -PARTS[0].below), "rear": complex(PARTS[1].behind, -PARTS[1].below)}
    _, there = stood({"axis": axis, "edge": edge, **rollers}, 64.0 + front, 50.0 + rear)
    return there["edge"].imag, (there["edge"] - there["axis"]).real


@pytest.mark.parametrize("pattern", ["knife up", "reel down"])
@pytest.mark.parametrize(("loss", "stock", "front", "rear"), [
    (0.3, (0.0, 0.0), 0.0, 0.0), (0.0, (0.3, 0.4), 0.0, 0.0), (0.25, (0.15, 0.05), -0.6, -0.2),
    (-0.5, (0.0, 0.0), 0.0, 0.0), (0.0, (0.0, 0.0), 1.0, -1.0),
])  # fmt: skip
def test_work_part_by_part(pattern: str, loss: float, stock: tuple, front: float, rear: float) -> None:
    at = unit(Closing(pattern, PIVOT), gap=0.03, seat_tilt=0.01, top_angle=0.2, front_angle=0.09)
    shift = edge_shift(*stock, 0.2, 0.09, 0.01)
    plan = after_work(at, Work(Ends(loss, loss), shift, front, rear), front=FRONT)
    reference = by_hand(at.left, loss, shift, front, rear)
    for name, value, obtained in zip(
        ("height, mm", "behind centre, mm"),
        reference,
        (plan.after.left.height_of_cut, plan.after.left.behind_centre),
        strict=True,
    ):
        compared(
            "Work done part by part on sampled parts (brute force)", f"after work: {name}",
            reference=value, obtained=obtained, tolerance=2e-7,
        )  # fmt: skip
    assert plan.before == stance(at)
    assert plan.after == stance(plan.unit)
    assert plan.moves.after.left.height_of_cut == pytest.approx(plan.before.left.height_of_cut, abs=1e-11)


def test_a_wedge_of_stock_levels_or_tips_the_unit() -> None:
    """A cone ground away at the left alone: the left edge comes up there, and the front roller goes up there."""
    plan = after_work(unit(Closing("knife up")), Work(Ends(0.4, 0.0)), front=FRONT)
    assert plan.after.level == pytest.approx(-0.4, abs=0.01)
    assert plan.moves.front.left.travel < -0.4
    assert plan.moves.front.right.travel == pytest.approx(0.0, abs=1e-9)
    assert plan.moves.after.level == pytest.approx(0.0, abs=1e-11)


def test_trade_reference_figure() -> None:
    """63.5 to 62.5 mm radius at 8 mm behind centre raises the edge 1.01 mm (own working there)."""
    plan = after_work(unit(Closing("knife up")), Work(Ends(1.0, 1.0)))
    assert plan.after.left.height_of_cut - plan.before.left.height_of_cut == pytest.approx(1.01, abs=0.005)
    assert plan.moves is None
    still = after_work(unit(Closing("reel down")), Work(Ends(1.0, 1.0)))
    assert still.after.left.height_of_cut == still.before.left.height_of_cut


@pytest.mark.parametrize("pattern", ["knife up", "reel down"])
def test_agrees_with_the_height_room_where_that_can_tell(pattern: str) -> None:
    """height_effect knows nothing of rollers: both rollers alike leave the same change of height."""
    closing = Closing(pattern, PIVOT) if pattern == "knife up" else Closing(pattern)
    at = unit(closing)
    shift = edge_shift(0.2, 0.1, 0.2, 0.09)
    plan = after_work(at, Work(Ends(0.3, 0.3), shift))
    told = height_effect(
        pattern, 127.0, at.left.edge.behind - at.left.axis.behind, 0.3, shift=shift,
        pivot=(PIVOT.behind, PIVOT.below) if pattern == "knife up" else None,
    )  # fmt: skip
    change = plan.after.left.height_of_cut - plan.before.left.height_of_cut
    assert change == pytest.approx(told.height_change, abs=1e-9)
    assert plan.after.left.behind_centre - plan.before.left.behind_centre == pytest.approx(
        told.behind_centre_change, abs=1e-9
    )


def test_attitude_kept_too_takes_both_rollers() -> None:
    plan = after_work(
        unit(Closing("knife up", PIVOT)), Work(Ends(0.5, 0.5)), keep_attitude=True, front=FRONT, rear=REAR
    )
    assert plan.moves.after.middle.attitude == pytest.approx(plan.before.middle.attitude, abs=1e-12)
    assert plan.moves.after.middle.height_of_cut == pytest.approx(plan.before.middle.height_of_cut, abs=1e-11)
    other = after_work(unit(Closing("knife up")), Work(), height=6.0, rear=REAR)
    assert other.moves.after.middle.height_of_cut == pytest.approx(6.0)
    assert other.moves.front is None


def test_life_row_by_row() -> None:
    """Every row is the stance of the unit ground down to it, and the height kept is the height now."""
    now = end(Closing("knife up", PIVOT), seat_tilt=0.02, top_angle=0.2)
    path = through_life(now, 118.0, front=FRONT, steps=7)
    assert path.diameter.tolist() == np.linspace(127.0, 118.0, 7).tolist()
    edge = complex(now.edge.behind, -now.edge.below)
    rollers = {"front": complex(-80, -35), "rear": complex(90, -42)}
    for i, diameter in enumerate(path.diameter):
        worn = swung(edge, complex(PIVOT.behind, -PIVOT.below), 0j, diameter / 2)
        _, there = stood({"axis": 0j, "edge": worn, **rollers}, 64.0, 50.0)
        assert path.height_of_cut[i] == pytest.approx(there["edge"].imag, abs=1e-7)
        assert path.behind_centre[i] == pytest.approx(there["edge"].real - there["axis"].real, abs=1e-7)
        assert path.reach[i] == pytest.approx(diameter / 2 - (there["axis"] - there["edge"]).imag, abs=1e-7)
        # with the travel told the height is as now
        moved = {**rollers, "front": rollers["front"] - 1j * path.travel[i]}
        _, kept = stood({"axis": 0j, "edge": worn, **moved}, 64.0, 50.0)
        assert kept["edge"].imag == pytest.approx(path.height_of_cut[0], abs=1e-7)
        assert path.kept_behind_centre[i] == pytest.approx(kept["edge"].real - kept["axis"].real, abs=1e-7)
        assert path.kept_reach[i] == pytest.approx(diameter / 2 - (kept["axis"] - kept["edge"]).imag, abs=1e-7)
        turn = cmath.phase((worn - complex(70, -45)) / (edge - complex(70, -45)))
        tilt, _ = stood({"edge": worn, **moved}, 64.0, 50.0)
        assert path.kept_attitude[i] == pytest.approx(now.seat_tilt - turn + tilt, abs=1e-9)
    assert (np.diff(path.top_clearance) > 0.0).all()  # the seat's rear goes down as the knife comes up on this pivot
    assert path.reel_clearance == pytest.approx(path.height_of_cut - path.reach)


def test_life_without_adjuster_and_by_the_rear_one() -> None:
    now = end(Closing("reel down", PIVOT))
    path = through_life(now, 120.0, steps=3)
    assert np.isnan(path.travel).all()
    assert np.isnan(path.kept_reach).all()
    assert path.height_of_cut == pytest.approx([path.height_of_cut[0]] * 3)
    by_rear = through_life(end(Closing("knife up")), 120.0, rear=REAR, steps=3)
    assert by_rear.travel[0] == pytest.approx(0.0, abs=1e-12)
    assert by_rear.travel[2] < -3.0
    assert by_rear.kept_behind_centre[2] < by_rear.behind_centre[2], "rear roller up: the nose comes up"


@pytest.mark.parametrize(
    ("make", "match"),
    [
        (lambda: through_life(end(Closing("knife up")), 130.0), "below the diameter now"),
        (lambda: through_life(end(Closing("knife up")), math.nan), "limit_diameter"),
        (lambda: through_life(end(Closing("knife up")), 120.0, steps=1), "steps"),
        (lambda: after_work(unit(Closing("knife up")), Work(Ends(math.inf, 0.0))), "left radius_loss"),
        (lambda: after_work(unit(Closing("knife up")), Work(Ends(0.0, 60.0))), "reel_diameter"),
        (lambda: after_work(unit(Closing("knife up")), Work(front_diameter=-60.0)), "front roller diameter"),
    ],
)
def test_refusals(make, match) -> None:
    with pytest.raises(OutOfRange, match=match):
        make()


def test_unit_is_not_changed() -> None:
    at = unit(Closing("knife up", PIVOT))
    after_work(at, Work(Ends(0.5, 0.5)), front=FRONT)
    assert at == replace(at)
