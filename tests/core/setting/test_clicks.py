"""Clicks: turned for real on a straight knife, against a bowed one drawn out, and the refusals."""

import itertools
import math

import numpy as np
import pytest

from sparkout.core.errors import Contradiction, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.setting.clicks import attitude_change, clicks_to_close, gap_per_click
from sparkout.core.setting.pivot import effective_top_clearance, knife_on_reel

L = 533.0


def gap_along(x: np.ndarray, plan, step: float, gaps, stations, adjusters, bow: float) -> np.ndarray:
    """Brute force: the knife as a bowed line, moved as a straight line by whole clicks at its adjusters."""
    bowed = bow * (1 - (2 * x / L - 1) ** 2)
    at = np.asarray(stations)
    bowed_at = bow * (1 - (2 * at / L - 1) ** 2)
    line = np.polyfit(at, np.asarray(gaps) - bowed_at, 1)
    moved = np.polyfit(adjusters, np.array([plan.left_whole, plan.right_whole]) * step, 1)
    return np.polyval(line, x) + bowed - np.polyval(moved, x)


@pytest.mark.parametrize("bow", [0.0, -0.06, 0.04])
@pytest.mark.parametrize("adjusters", [(0.0, L), (-40.0, 573.0), (100.0, 400.0)])
@pytest.mark.parametrize("stations", [(0.0, L), (20.0, 500.0)])
@pytest.mark.parametrize("gaps", [(0.12, 0.07), (0.01, 0.35), (0.03, 0.03)])
def test_turning_the_clicks_leaves_what_is_said(gaps, stations, adjusters, bow: float) -> None:
    step = 0.011
    plan = clicks_to_close(gaps, 0.03, step, length=L, stations=stations, adjusters=adjusters, bow=bow)
    x = np.linspace(0.0, L, 100_001)
    drawn = gap_along(x, plan, step, gaps, stations, adjusters, bow)
    assert plan.least_gap == pytest.approx(drawn.min(), abs=1e-8)
    assert plan.greatest_gap == pytest.approx(drawn.max(), abs=1e-8)
    assert np.interp(plan.least_at, x, drawn) == pytest.approx(drawn.min(), abs=1e-8)
    assert plan.gap_after == pytest.approx(np.interp(stations, x, drawn), abs=1e-8)


def test_whole_clicks_are_the_best_of_all_whole_pairs() -> None:
    """Brute force over every pair nearby: none leaves a smaller error than the pair chosen."""
    gaps, step, at, screws = (0.137, 0.052), 0.017, (10.0, 520.0), (-60.0, 580.0)
    plan = clicks_to_close(gaps, 0.03, step, length=L, stations=at, adjusters=screws)

    def worst(pair: tuple[int, int]) -> float:
        moved = np.interp(at, screws, np.array(pair) * step)
        return float(np.abs(np.asarray(gaps) - moved - 0.03).max())

    chosen = (plan.left_whole, plan.right_whole)
    assert worst(chosen) == pytest.approx(min(map(worst, itertools.product(range(-3, 14), repeat=2))))


def test_exact_clicks_would_leave_the_wanted_gap() -> None:
    gaps, step, at, screws = (0.137, 0.052), 0.017, (10.0, 520.0), (-60.0, 580.0)
    plan = clicks_to_close(gaps, 0.03, step, length=L, stations=at, adjusters=screws)
    moved = np.interp(at, screws, [plan.left.value * step, plan.right.value * step])
    assert np.asarray(gaps) - moved == pytest.approx([0.03, 0.03])


def test_uncertainty_of_clicks_agrees_with_simulation() -> None:
    """Brute force: 20,000 drawn pairs of gaps."""
    generator = np.random.default_rng(11)
    gaps = Measured(0.10, 0.01), Measured(0.06, 0.02)
    plan = clicks_to_close(gaps, 0.03, 0.01, length=L, adjusters=(-200.0, 600.0))
    drawn = np.array([g.value for g in gaps]) + np.array([g.u for g in gaps]) * generator.standard_normal((20_000, 2))
    share = -200.0 / L
    clicks = ((1 - share) * (drawn[:, 0] - 0.03) + share * (drawn[:, 1] - 0.03)) / 0.01
    assert plan.left.value == pytest.approx(clicks.mean(), abs=0.05)
    assert plan.left.u == pytest.approx(clicks.std(), rel=0.03)


def test_of_equal_errors_the_more_open_is_chosen() -> None:
    plan = clicks_to_close((0.045, 0.045), 0.03, 0.01, length=L)
    assert (plan.left_whole, plan.right_whole) == (1, 1)
    assert plan.gap_after == pytest.approx((0.035, 0.035))


def test_mirrored_readings_give_mirrored_clicks() -> None:
    one = clicks_to_close((0.12, 0.07), 0.03, 0.01, length=L, adjusters=(-40.0, 560.0), bow=-0.02)
    other = clicks_to_close((0.07, 0.12), 0.03, 0.01, length=L, adjusters=(L - 560.0, L + 40.0), bow=-0.02)
    assert (one.left_whole, one.right_whole) == (other.right_whole, other.left_whole)
    assert one.least_gap == pytest.approx(other.least_gap)
    assert one.least_at == pytest.approx(L - other.least_at)


def test_barrel_that_cannot_be_set_out_is_said() -> None:
    plan = clicks_to_close((0.2, 0.2), 0.03, 0.01, length=L, bow=-0.08)
    assert plan.least_gap < 0.0
    assert plan.least_at == pytest.approx(L / 2)
    assert len(plan.notes) == 2
    assert "touch hard" in plan.notes[1]
    assert clicks_to_close((0.2, 0.2), 0.03, 0.01, length=L).notes == ()
    assert clicks_to_close((0.2, 0.2), 0.03, 0.01, length=L, bow=0.002).notes == ()


def test_gap_per_click() -> None:
    assert gap_per_click(1.0, 20) == pytest.approx(0.05)
    assert gap_per_click(25.4 / 20, 16, 0.25) == pytest.approx(25.4 / 20 / 16 / 4)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [((0.0, 20), "thread_pitch"), ((1.0, 0.5), "clicks_per_turn"), ((1.0, 20, 0.0), "lever_ratio")],
)
def test_gap_per_click_refusals(arguments, named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        gap_per_click(*arguments)


@pytest.mark.parametrize(
    ("changed", "named"),
    [
        ({"gaps": (math.nan, 0.1)}, "left gap"),
        ({"gaps": (0.1, 127.0)}, "right gap"),
        ({"gaps": (0.1, Measured(60.0, 0.1))}, "right gap"),
        ({"wanted": 25.0}, "wanted"),
        ({"gap_per_click": 0.0}, "gap_per_click"),
        ({"length": 5.0}, "length"),
        ({"stations": (0.0, 5000.0)}, "stations"),
        ({"adjusters": (-5000.0, 500.0)}, "adjusters"),
        ({"bow": 127.0}, "bow"),
    ],
)
def test_refusals(changed: dict, named: str) -> None:
    arguments = {"gaps": (0.1, 0.1), "wanted": 0.03, "gap_per_click": 0.01, "length": L, **changed}
    with pytest.raises(OutOfRange, match=named):
        clicks_to_close(**arguments)


def test_swapped_ends_are_refused() -> None:
    with pytest.raises(Contradiction, match="not left of"):
        clicks_to_close((0.1, 0.1), 0.03, 0.01, length=L, stations=(500.0, 20.0))


def test_attitude_change_is_after_less_before() -> None:
    carrier = (127.0, 70.0, 45.0, 66.0)
    change = attitude_change(*carrier, 0.8, 0.03)
    before, after = knife_on_reel(*carrier, 0.8), knife_on_reel(*carrier, 0.03)
    assert change.behind_centre == pytest.approx(after.behind_centre - before.behind_centre)
    assert change.below_centre == pytest.approx(after.below_centre - before.below_centre)
    arm = [math.atan2(at.below_centre - 45.0, at.behind_centre - 70.0) for at in (before, after)]
    assert change.seat_tilt == pytest.approx(arm[1] - arm[0])
    clear = [effective_top_clearance(0.2, 0.0, before.approach_angle)]
    clear.append(effective_top_clearance(0.2, change.seat_tilt, after.approach_angle))
    assert change.top_clearance == pytest.approx(clear[1] - clear[0])
