"""Height of cut after a plan: faces ground on paper, worked figures of the trade reference, and the refusals."""

import math

import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.setting.height import NEXT, EdgeShift, edge_shift, height_effect
from sparkout.core.setting.pivot import knife_on_reel


@pytest.mark.parametrize("tilt", [0.0, -4.0, 7.0])
@pytest.mark.parametrize(("top", "front"), [(0.0, 0.0), (12.0, 5.0), (15.0, 3.0)])
@pytest.mark.parametrize(("s", "g"), [(0.2, 0.0), (0.0, 0.5), (0.3, 0.4)])
def test_edge_shift_agrees_with_meeting_lines(s: float, g: float, top: float, front: float, tilt: float) -> None:
    """Brute force: move both face lines square to themselves and solve for where they meet."""
    t, f = math.radians(top + tilt), math.radians(front - tilt)
    into_top = np.array([-math.sin(t), math.cos(t)])  # square to a face running back and down at t
    into_front = np.array([math.cos(f), -math.sin(f)])  # square to a face running down and back at f
    meeting = np.linalg.solve(np.array([into_top, into_front]), np.array([s, g]))
    shift = edge_shift(s, g, math.radians(top), math.radians(front), math.radians(tilt))
    assert (shift.behind, shift.below) == pytest.approx(tuple(meeting), abs=1e-12)


def test_edge_shift_of_a_square_knife_is_the_stock_itself() -> None:
    assert edge_shift(0.2, 0.5) == EdgeShift(0.5, 0.2)


def test_knife_up_raises_the_height_as_the_reference_says() -> None:
    """63.5 to 62.5 mm at 8 mm behind centre: 1.01 mm (trade reference, own working there)."""
    effect = height_effect("knife up", 127.0, 8.0, 1.0)
    assert effect.height_change == pytest.approx(1.01, abs=0.005)
    assert effect.behind_centre_change == 0.0
    assert effect.turn_back == pytest.approx(-effect.height_change)
    assert effect.turns is None
    assert effect.order == NEXT


def test_reel_down_keeps_the_height_but_for_the_knife() -> None:
    assert height_effect("reel down", 127.0, 8.0, 1.0).height_change == 0.0
    effect = height_effect("reel down", 127.0, 8.0, 1.0, shift=EdgeShift(0.5, 0.2), adjuster_pitch=1.25)
    assert effect.height_change == pytest.approx(-0.2)
    assert effect.behind_centre_change == pytest.approx(0.5)
    assert effect.turns == pytest.approx(0.2 / 1.25)


def test_with_a_pivot_the_ground_knife_swings_back_to_the_reel() -> None:
    """Independent: the rigid carrier keeps edge-to-pivot distance, whichever way the sum is done."""
    pivot = (70.0, 45.0)
    before = knife_on_reel(127.0, *pivot, 66.0)
    shift = edge_shift(0.2, 0.4, 0.2, 0.08)
    effect = height_effect("knife up", 127.0, before.behind_centre, 0.4, shift=shift, pivot=pivot)
    behind = before.behind_centre + effect.behind_centre_change
    below = before.below_centre - effect.height_change
    assert math.hypot(behind, below) == pytest.approx(63.1)
    ground = (before.behind_centre + shift.behind, before.below_centre + shift.below)
    assert math.dist((behind, below), pivot) == pytest.approx(math.dist(ground, pivot))


@pytest.mark.parametrize(("share", "fall"), [(0.0, 0.3), (1.0, 0.1), (0.25, 0.25)])
def test_rollers(share: float, fall: float) -> None:
    """The edge falls on the straight line between the two rollers."""
    effect = height_effect(
        "reel down",
        127.0,
        8.0,
        0.0,
        front_roller_loss=0.3,
        rear_roller_loss=0.1,
        edge_share=share,
        height_per_travel=0.5,
        adjuster_pitch=1.0,
    )
    assert effect.height_change == pytest.approx(-fall)
    assert effect.turns == pytest.approx(fall / 0.5)
    assert sum(part.height for part in effect.shares) == pytest.approx(effect.height_change)


def test_roller_change_needs_to_know_where_the_edge_sits() -> None:
    with pytest.raises(NotEnough, match="between front and rear roller"):
        height_effect("knife up", 127.0, 8.0, 0.0, rear_roller_loss=0.2)


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"pattern": "sideways"}, "pattern"),
        ({"reel_diameter": 5.0}, "reel_diameter"),
        ({"behind_centre": 63.0}, "behind_centre"),
        ({"radius_loss": -1.0}, "radius_loss"),
        ({"radius_loss": 31.0, "behind_centre": 40.0}, "behind_centre after the plan"),
        ({"front_roller_loss": 99.0}, "front_roller_loss"),
        ({"rear_roller_loss": math.nan}, "rear_roller_loss"),
        ({"rear_roller_loss": 1.0, "edge_share": 2.0}, "edge_share"),
        ({"height_per_travel": 0.0}, "height_per_travel"),
        ({"adjuster_pitch": 0.0}, "adjuster_pitch"),
    ],
)
def test_refusals(changed: dict, named: str) -> None:
    arguments = {"pattern": "knife up", "reel_diameter": 127.0, "behind_centre": 8.0, "radius_loss": 0.3, **changed}
    with pytest.raises(OutOfRange, match=named):
        height_effect(**arguments)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((-1.0, 0.0), "top_stock"),
        ((0.0, 99.0), "front_stock"),
        ((0.1, 0.1, 1.0), "top_angle"),
        ((0.1, 0.1, 0.0, 1.0), "front_angle"),
        ((0.1, 0.1, 0.75, 0.75), "top_angle and front_angle"),
        ((0.1, 0.1, 0.1, 0.1, 1.0), "seat_tilt"),
    ],
)
def test_edge_shift_refusals(arguments: tuple[float, ...], named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        edge_shift(*arguments)
