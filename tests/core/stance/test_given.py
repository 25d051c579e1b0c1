"""A unit from what was measured on it; uncertainties against the general propagation and against simulation."""

import math
from dataclasses import replace

import numpy as np
import pytest
from tests.published.evidence import compared

from sparkout.core.budget import propagate
from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.setting.pivot import knife_on_reel
from sparkout.core.stance.given import AsBuilt, OnBench, best, spread, stance_known
from sparkout.core.stance.unit import stance

BENCH = OnBench(
    pattern="knife up", length=533.0, reel_diameter=125.0, behind_centre=8.0, height_left=4.0, height_right=4.1,
    front_ahead=88.0, rear_behind=82.0, front_diameter=64.0, rear_diameter=50.0, gap=0.03, seat_tilt=0.02,
    top_angle=0.2, front_angle=0.09, cone=0.2,
)  # fmt: skip
BUILT = AsBuilt(
    pattern="knife up", length=533.0, reel_diameter=Measured(125.0, 0.05), pivot_behind=Measured(70.0, 0.2),
    pivot_below=Measured(45.0, 0.2), arm=Measured(65.5, 0.2, 8.0), front_ahead=Measured(80.0, 0.5),
    front_below_left=Measured(35.0, 0.03), front_below_right=Measured(35.1, 0.03), rear_behind=90.0,
    rear_below_left=42.0, rear_below_right=Measured(42.0, 0.03), front_diameter=Measured(64.0, 0.02),
    rear_diameter=50.0, front_taper=Measured(0.0, 0.02), gap=0.03, top_angle=0.2,
)  # fmt: skip


def test_on_the_bench_it_stands_as_measured() -> None:
    """What was measured comes back: heights, behind-centre, level, no tilt, no rocking."""
    found = stance(BENCH.unit())
    assert found.left.height_of_cut == pytest.approx(4.0, abs=1e-12)
    assert found.right.height_of_cut == pytest.approx(4.1, abs=1e-12)
    assert found.left.behind_centre == found.right.behind_centre == 8.0
    assert found.left.attitude == pytest.approx(0.02)
    assert found.on_flat.twist == pytest.approx(0.0, abs=1e-3)
    at = BENCH.unit()
    assert (at.left.reel_diameter, at.right.reel_diameter) == (124.9, 125.1)
    edge, front, rear = at.left.edge, at.left.front, at.left.rear
    assert math.hypot(*edge) == pytest.approx(62.45 + 0.03)
    assert (edge.behind - front.behind, rear.behind - edge.behind) == pytest.approx((88.0, 82.0))
    assert front.below + 32.0 == pytest.approx(rear.below + 25.0)


def test_pivot_and_arm_instead_of_behind_centre() -> None:
    given = replace(BENCH, behind_centre=None, pivot_behind=70.0, pivot_below=45.0, arm=65.5, cone=0.0)
    edge = given.unit().left.edge
    assert tuple(edge) == pytest.approx(knife_on_reel(125.0, 70.0, 45.0, 65.5, 0.03)[:2])
    assert given.unit().left.closing.pivot == (70.0, 45.0)
    assert BENCH.unit().left.closing.pivot is None


def test_as_built_holds_the_places_given() -> None:
    at = BUILT.unit()
    assert at.left.front == (-80.0, 35.0, 64.0)
    assert at.right.front == (-80.0, 35.1, 64.0)
    assert at.right.rear == (90.0, 42.0, 50.0)
    tapered = replace(BUILT, rear_taper=0.4).unit()
    assert (tapered.left.rear.diameter, tapered.right.rear.diameter) == (49.8, 50.2)


@pytest.mark.parametrize("name", ["left.height_of_cut", "right.reach", "level", "middle.attitude", "twist"])
def test_agrees_with_the_general_propagation(name: str) -> None:
    """Other route: core/budget over one figure at a time."""
    unsure = {
        "reel_diameter", "pivot_behind", "pivot_below", "arm", "front_ahead", "front_below_left", "front_below_right",
        "rear_below_right", "front_diameter", "front_taper",
    }  # fmt: skip

    def figure(**values: float) -> float:
        found = stance(replace(BUILT, **values).unit())
        if name == "level":
            return found.level
        if name == "twist":
            return found.on_flat.twist
        side, field = name.split(".")
        return getattr(getattr(found, side), field)

    by_budget = propagate(figure, {key: getattr(BUILT, key) for key in unsure})
    known = stance_known(BUILT)[name]
    assert known.measured.value == pytest.approx(by_budget.value)
    assert known.measured.u == pytest.approx(by_budget.u, rel=1e-6)
    assert known.measured.dof == pytest.approx(by_budget.dof, rel=1e-4)
    for key, part in known.components.items():
        assert part == pytest.approx(by_budget.components[key], rel=1e-5, abs=1e-9)


def test_agrees_with_simulation() -> None:
    """4000 units drawn, each stood: spread of the height within what that many draws can tell (3 sigma, 3.4 %)."""
    generator = np.random.default_rng(4)
    unsure = {k: a for k in BUILT.__slots__ if isinstance(a := getattr(BUILT, k), Measured)}
    drawn = {k: a.value + a.u * generator.standard_normal(4000) for k, a in unsure.items()}
    heights = [
        stance(replace(BUILT, **{k: float(v[i]) for k, v in drawn.items()}).unit()).left.height_of_cut
        for i in range(4000)
    ]
    known = stance_known(BUILT)["left.height_of_cut"].measured
    compared(
        "4000 units drawn and stood (simulation)", "standard uncertainty of the height of cut, mm",
        reference=float(np.std(heights, ddof=1)), obtained=known.u, tolerance=0.034 * known.u,
    )  # fmt: skip


def test_what_both_ends_share_is_not_in_the_level() -> None:
    given = replace(BENCH, bar=Measured(0.0, 0.05), height_left=Measured(4.0, 0.01), height_right=Measured(4.1, 0.01))
    known = stance_known(given)
    assert known["left.height_of_cut"].measured.u == pytest.approx(math.hypot(0.05, 0.01))
    assert known["level"].measured.u == pytest.approx(math.hypot(0.01, 0.01))
    assert known["level"].components["bar"] == pytest.approx(0.0, abs=1e-9)


def test_exact_amounts_leave_no_uncertainty() -> None:
    known = stance_known(BENCH)
    assert all(found.measured.u == 0.0 for found in known.values())
    assert best(Measured(2.0, 0.1)) == 2.0
    assert spread(BENCH, lambda made: {"x": made.length})["x"].measured == Measured(533.0, 0.0)


@pytest.mark.parametrize(
    ("given", "error", "match"),
    [
        (replace(BENCH, behind_centre=None), NotEnough, "behind_centre, or"),
        (replace(BENCH, behind_centre=None, pattern="reel down", pivot_behind=70.0, pivot_below=45.0, arm=66.0),
         NotEnough, "behind_centre, or"),
        (replace(BENCH, behind_centre=60.0), OutOfRange, "behind_centre"),
        (replace(BENCH, reel_diameter=5.0), OutOfRange, "reel_diameter"),
        (replace(BENCH, height_right=500.0), OutOfRange, "height of cut"),
        (replace(BENCH, front_ahead=-1.0), OutOfRange, "front_ahead"),
        (replace(BENCH, rear_behind=math.nan), OutOfRange, "rear_behind"),
        (replace(BENCH, gap=99.0), OutOfRange, "gap"),
        (replace(BENCH, length=1.0), OutOfRange, "length"),
        (replace(BENCH, pattern="up"), OutOfRange, "pattern"),
    ],
)  # fmt: skip
def test_refusals(given, error, match) -> None:
    with pytest.raises(error, match=match):
        given.unit()
