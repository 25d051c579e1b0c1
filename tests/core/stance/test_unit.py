"""Both ends and the flat bench, against a plane laid under sampled rollers by linear programming."""

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.published.evidence import compared

from sparkout.core.errors import Contradiction, OutOfRange
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.section import Closing, Point, Roller, Section
from sparkout.core.stance.standing import stance_at
from sparkout.core.stance.unit import CuttingUnit, stance

LENGTH = 533.0
END = Section(127.0, Point(0, 0), Point(8.0, 63.0), Roller(-80, 35, 64), Roller(90, 42, 50), Closing("knife up"))


def unit(front_left=0.0, front_right=0.0, rear_left=0.0, rear_right=0.0, bigger=0.0, **more) -> CuttingUnit:
    """Rollers lower by so much, and the right end of the front one larger by `bigger` on diameter."""
    left = replace(END, front=Roller(-80, 35 + front_left, 64), rear=Roller(90, 42 + rear_left, 50))
    right = replace(END, front=Roller(-80, 35 + front_right, 64 + bigger), rear=Roller(90, 42 + rear_right, 50))
    return CuttingUnit(left, right, LENGTH, **more)


def bench_under(unit: CuttingUnit, load_x: float, load_y: float) -> tuple[float, float, float]:
    """Lay the bench under the unit as its weight does: of all planes below every point of both rollers, the one that is
    highest under the load. The rollers are cut into 40 slices of 4000 points near the bottom; below counts down."""
    from scipy.optimize import linprog

    points = []
    for which, feet in (("front", unit.front_feet), ("rear", unit.rear_feet)):
        a, b = getattr(unit.left, which), getattr(unit.right, which)
        ends = feet or Ends(0.0, LENGTH)
        for x in np.linspace(ends.left, ends.right, 5):
            y, z, d = (p + (q - p) * x / LENGTH for p, q in zip(a, b, strict=True))
            turn = np.linspace(-0.12, 0.12, 4001)
            points.append(np.stack([np.full(4001, x), y + d / 2 * np.sin(turn), z + d / 2 * np.cos(turn)], axis=1))
    cloud = np.concatenate(points)
    rows = np.column_stack([np.ones(len(cloud)), cloud[:, 1], cloud[:, 0]])
    found = linprog([1.0, load_y, load_x], A_ub=-rows, b_ub=-cloud[:, 2], bounds=[(None, None)] * 3, method="highs")
    assert found.status == 0
    return tuple(found.x)


def height(plane, x: float, edge: Point) -> float:
    level, fall, roll = plane
    return (level + fall * edge.behind + roll * x - edge.below) / math.sqrt(1 + fall**2 + roll**2)


@pytest.mark.parametrize("changed", [
    {}, {"front_right": 0.2}, {"front_left": 0.3, "rear_right": 0.1}, {"front_right": -0.4, "rear_right": -0.4},
    {"bigger": 0.5}, {"front_right": 0.2, "front_feet": Ends(20.0, 513.0), "rear_feet": Ends(-10.0, 543.0)},
])  # fmt: skip
def test_flat_bench(changed: dict) -> None:
    """The weight a little to either side gives both ways the unit rests; half way is their mean."""
    at = unit(**changed)
    flat = stance(at).on_flat
    middle = 5.0
    rests = [bench_under(at, LENGTH / 2 + aside, middle) for aside in (-40.0, 40.0)]
    for side, x, section, obtained in (
        ("left", 0.0, at.left, flat.left),
        ("right", LENGTH, at.right, flat.right),
    ):
        reference = float(np.mean([height(plane, x, section.edge) for plane in rests]))
        compared(
            "Bench laid under sampled rollers (linear programming)", f"height on a flat bench, {side}, mm",
            reference=reference, obtained=obtained, tolerance=2e-5,
        )  # fmt: skip


@pytest.mark.parametrize(("changed", "twist", "about"), [
    ({}, 0.0, ""),
    ({"front_right": 0.2}, -0.2, "right front and left rear"),
    ({"front_left": 0.2}, 0.2, "left front and right rear"),
    ({"rear_right": 0.15}, 0.15, "left front and right rear"),
    ({"front_right": 0.2, "rear_right": 0.2}, 0.0, ""),
])  # fmt: skip
def test_the_fourth_foot(changed: dict, twist: float, about: str) -> None:
    """With feet at the corners of a rectangle the alternating sum of their depths is what the fourth stands off."""
    flat = stance(unit(**changed)).on_flat
    assert flat.twist == pytest.approx(twist, abs=1e-4)  # small tilts: 1e-4 of the twist's own size
    assert flat.rocks_about == about


def test_ends_are_told_each_by_itself() -> None:
    at = unit(front_right=0.2)
    found = stance(at)
    assert (found.left, found.right) == (stance_at(at.left), stance_at(at.right))
    assert found.level == found.right.height_of_cut - found.left.height_of_cut
    assert found.middle.height_of_cut == pytest.approx((found.left.height_of_cut + found.right.height_of_cut) / 2)
    assert at.sections == (at.left, at.right)


def test_a_bar_and_the_bench_agree_without_twist() -> None:
    """Rollers in one plane: lower on the right alike."""
    found = stance(unit(front_right=0.2, rear_right=0.2))
    assert found.on_flat.left == pytest.approx(found.left.height_of_cut, abs=1e-6)
    assert found.on_flat.right == pytest.approx(found.right.height_of_cut, abs=1e-6)


def crossing() -> CuttingUnit:
    """Rollers that run together beyond the right end, where the rear one has its foot."""
    left = replace(END, front=Roller(-80, 35, 64))
    right = replace(END, front=Roller(-80, 35, 64), rear=Roller(-70, 42, 50))
    return CuttingUnit(left, right, 500.0, rear_feet=Ends(0.0, 531.25))


@pytest.mark.parametrize(
    ("make", "error", "match"),
    [
        (lambda: unit(front_feet=Ends(300.0, 200.0)), OutOfRange, "front_feet"),
        (lambda: unit(rear_feet=Ends(-5000.0, 200.0)), OutOfRange, "rear_feet"),
        (lambda: CuttingUnit(END, END, 5.0), OutOfRange, "length"),
        (
            lambda: stance(unit(bigger=186.0, front_feet=Ends(0.0, 2 * LENGTH))),
            Contradiction,
            "inside the other",
        ),
        (lambda: stance(crossing()), Contradiction, "on one line"),
    ],
)
def test_refusals(make, error, match) -> None:
    with pytest.raises(error, match=match):
        make()
