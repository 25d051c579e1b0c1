"""Units matched: all pairs of whole steps tried, the weighted median, a grid; what remains and why; the refusals."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
from tests.published.evidence import compared

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.matching import UnitHeights, match_heights


def machine(seed: int, count: int, **more) -> list[UnitHeights]:
    generator = np.random.default_rng(seed)
    return [
        UnitHeights(f"unit {i + 1}", Measured(float(a), 0.01), Measured(float(b), 0.01), 1.2, **more)
        for i, (a, b) in enumerate(4.0 + 0.15 * generator.normal(size=(count, 2)))
    ]


def best_of_all(units, end_tolerance, unit_tolerance, wanted, most):
    """Try every number of steps up to `most` at every adjuster, and every common height on a fine grid."""
    kept = []
    for unit in units:
        steps = range(-most, most + 1)
        options = []
        for left, right in itertools.product(steps, steps):
            turns = np.array([left, right]) * unit.step
            if any(
                not low - 1e-12 <= t <= high + 1e-12 for t, low, high in zip(turns, unit.least, unit.most, strict=True)
            ):
                continue
            span = unit.adjusters.right - unit.adjusters.left
            at = [(x - unit.adjusters.left) / span for x in unit.stations]
            after = [
                h.value + unit.height_per_turn * (turns[0] * (1 - s) + turns[1] * s)
                for h, s in zip((unit.left, unit.right), at, strict=True)
            ]
            out = max(0.0, abs(after[1] - after[0]) - end_tolerance)
            options.append((sum(after) / 2, out, unit.weight * abs(turns).sum()))
        kept.append(np.array(options))
    heights = [wanted] if wanted is not None else np.arange(3.0, 5.0, 0.0005)
    best = (math.inf, math.inf)
    for h in heights:
        out = turning = 0.0
        for options in kept:
            off = options[:, 1] + np.maximum(0.0, np.abs(options[:, 0] - h) - unit_tolerance / 2)
            near = off <= off.min() + 1e-9
            out, turning = out + off.min(), turning + options[near, 2].min()
        if out < best[0] - 1e-9 or (out <= best[0] + 1e-9 and turning < best[1] - 1e-9):
            best = (out, turning)
    return best


def outside(done, end_tolerance, unit_tolerance):
    return sum(
        max(0.0, abs(u.end_to_end.value) - end_tolerance) + max(0.0, abs(u.off.value) - unit_tolerance / 2)
        for u in done.units
    )


CASES = [
    (seed, count, more, tolerances, wanted)
    for seed in range(6)
    for count in (2, 3)
    for more in (
        {"step": 0.125},
        {"step": 0.05, "stations": Ends(0.0, 533.0), "adjusters": Ends(-30.0, 580.0)},
        {"step": 0.125, "least": Ends(0.0, -0.25), "most": Ends(0.0, 0.125)},
    )
    for tolerances, wanted in (((0.08, 0.1), None), ((0.2, 0.05), 4.05))
]


@pytest.mark.parametrize(("seed", "count", "more", "tolerances", "wanted"), CASES)
def test_every_number_of_steps_tried(seed, count, more, tolerances, wanted) -> None:
    units = machine(seed, count, **more)
    units[0] = replace(units[0], weight=3.0)
    done = match_heights(units, end_tolerance=tolerances[0], unit_tolerance=tolerances[1], wanted=wanted)
    out, turning = best_of_all(units, *tolerances, wanted, 12)
    # the grid's heights are 0.0005 mm apart: it may miss the best height by half of that for each unit
    slack = 0.0 if wanted is not None else 0.00025 * count
    found = outside(done, *tolerances)
    assert out - slack - 1e-6 <= found <= out + 1e-6
    weights = [u.weight for u in units]
    turned = sum(w * (abs(u.turns.left) + abs(u.turns.right)) for w, u in zip(weights, done.units, strict=True))
    if out == 0.0:
        compared(
            "Every number of steps at every adjuster tried (brute force)", "least turning that matches, turns",
            reference=turning, obtained=turned, tolerance=1e-9,
        )  # fmt: skip
        assert done.matched
    else:
        assert not done.matched
        if wanted is not None:
            assert turned == pytest.approx(turning)


@pytest.mark.parametrize("seed", range(8))
def test_without_tolerance_the_weighted_median(seed: int) -> None:
    """Ends at h each: cost sum w |H - h| / rise over all ends; its least is at a weighted median of the ends."""
    generator = np.random.default_rng(seed)
    units = [replace(u, weight=float(w)) for u, w in zip(machine(seed, 5), generator.uniform(0.5, 3.0, 5), strict=True)]
    done = match_heights(units, end_tolerance=0.0, unit_tolerance=0.0)
    ends = np.array([h.value for u in units for h in (u.left, u.right)])
    weight = np.repeat([u.weight for u in units], 2)
    order = np.argsort(ends)
    at = np.searchsorted(np.cumsum(weight[order]), weight.sum() / 2)
    median = ends[order][at]
    compared(
        "Weighted median (closed form)", "least weighted turning to one height, turns",
        reference=float((weight * np.abs(ends - median)).sum() / 1.2),
        obtained=sum(
            v.weight * (abs(u.turns.left) + abs(u.turns.right)) for v, u in zip(units, done.units, strict=True)
        ),
        tolerance=1e-7,
    )  # fmt: skip
    assert done.height == pytest.approx(median, abs=1e-7)
    assert done.unit_to_unit.value == pytest.approx(0.0, abs=1e-7)
    assert done.matched


def test_any_part_of_a_turn_is_never_worse_than_steps_and_near_fine_ones() -> None:
    """Two routes: linear programme, and steps of two thousandths of a turn."""
    for seed in range(3):
        units = machine(seed, 2)
        smooth = match_heights(units, end_tolerance=0.05, unit_tolerance=0.1)
        fine = match_heights([replace(u, step=0.002) for u in units], end_tolerance=0.05, unit_tolerance=0.1)
        assert smooth.total_turns <= fine.total_turns + 1e-7
        assert fine.total_turns == pytest.approx(smooth.total_turns, abs=4 * 0.002)


def test_already_matched_units_stay() -> None:
    units = [UnitHeights("a", 4.0, 4.02, 1.0), UnitHeights("b", 4.05, 4.05, 1.0)]
    done = match_heights(units, end_tolerance=0.05, unit_tolerance=0.1)
    assert done.total_turns == 0.0
    assert done.height == pytest.approx((4.01 + 4.05) / 2)
    assert done.unit_to_unit.value == pytest.approx(0.04)
    assert done.remains == ()


def test_the_bar_is_shared() -> None:
    """Its error moves all units alike: it is in the height on the turf, and in no difference."""
    units = [UnitHeights(n, Measured(4.0, 0.02), Measured(4.0, 0.02), 1.0) for n in "ab"]
    done = match_heights(units, end_tolerance=0.05, unit_tolerance=0.1, bar_u=0.05)
    mean_u = 0.02 / math.sqrt(2)
    assert done.units[0].end_to_end.u == pytest.approx(0.02 * math.sqrt(2))
    assert done.unit_to_unit.u == pytest.approx(mean_u * math.sqrt(2))
    assert done.on_turf.u == pytest.approx(math.hypot(0.05, mean_u / math.sqrt(2)))
    assert done.units[0].left.u == 0.02


def test_guard_takes_the_tolerance_in_and_at_last_to_nothing() -> None:
    units = [UnitHeights("a", Measured(4.0, 0.01), Measured(4.0, 0.01), 1.0),
             UnitHeights("b", Measured(4.09, 0.01), Measured(4.09, 0.01), 1.0)]  # fmt: skip
    plain = match_heights(units, end_tolerance=0.05, unit_tolerance=0.1)
    shown = match_heights(units, end_tolerance=0.05, unit_tolerance=0.1, guard=2.0)
    assert plain.total_turns == 0.0
    assert shown.unit_to_unit.value == pytest.approx(0.1 - 2 * 0.01)
    strict = match_heights(units, end_tolerance=0.05, unit_tolerance=0.1, guard=10.0)
    assert strict.unit_to_unit.value == pytest.approx(0.0, abs=1e-6)


def test_what_remains_says_why() -> None:
    locked = UnitHeights("rear", 4.0, 4.3, 1.0, least=Ends(-5.0, 0.0), most=Ends(0.1, 0.0))
    others = [UnitHeights("left", 4.0, 4.0, 1.0), UnitHeights("right", 4.0, 4.0, 1.0)]
    done = match_heights([locked, *others], end_tolerance=0.05, unit_tolerance=0.1)
    assert not done.matched
    assert done.remains == ("rear: its ends stay uneven; its left adjuster is at the end of its travel.",)
    assert done.units[0].turns.left == pytest.approx(0.1)
    stuck = replace(locked, least=Ends(0.0, 0.0), most=Ends(0.0, 0.0), right=4.0)
    fixed = match_heights([stuck], end_tolerance=0.05, unit_tolerance=0.1, wanted=5.0)
    assert fixed.remains == ("rear: it stays off the common height; its left adjuster is locked.",)
    coarse = match_heights([UnitHeights("a", 4.0, 4.2, 1.0, step=1.0)], end_tolerance=0.05, unit_tolerance=0.1)
    assert coarse.remains == ("a: its ends stay uneven; one step of its adjusters is more than the tolerance leaves.",)
    assert coarse.total_turns == 0.0


def test_a_unit_that_cannot_come_to_the_height_allowed() -> None:
    """The stuck unit stands at 4; nothing below 5 is allowed: the other goes to 5 and stays off nothing."""
    stuck = UnitHeights("stuck", 4.0, 4.0, 1.0, least=Ends(0.0, 0.0), most=Ends(0.0, 0.0))
    free = UnitHeights("free", 4.9, 4.9, 1.0)
    done = match_heights([stuck, free], end_tolerance=0.0, unit_tolerance=0.0, allowed=(5.0, 6.0))
    assert done.height == pytest.approx(5.0)
    assert tuple(done.units[1].turns) == pytest.approx((0.1, 0.1), abs=2e-6)
    assert [u.remains != () for u in done.units] == [True, False]


@pytest.mark.parametrize(
    ("make", "error", "match"),
    [
        (lambda: match_heights([], end_tolerance=0.1, unit_tolerance=0.1), NotEnough, "at least one unit"),
        (lambda: match_heights(machine(1, 21), end_tolerance=0.1, unit_tolerance=0.1), OutOfRange, "number of units"),
        (lambda: match_heights(machine(1, 1) * 2, end_tolerance=0.1, unit_tolerance=0.1), Contradiction, "same name"),
        (lambda: match_heights([*machine(1, 1), replace(machine(1, 2)[1], step=0.1)], end_tolerance=0.1,
                               unit_tolerance=0.1), Contradiction, "give all of them"),
        (lambda: match_heights(machine(1, 1), end_tolerance=-0.1, unit_tolerance=0.1), OutOfRange, "end_tolerance"),
        (lambda: match_heights(machine(1, 1), end_tolerance=0.1, unit_tolerance=math.nan), OutOfRange, "unit_tol"),
        (lambda: match_heights(machine(1, 1), end_tolerance=0.1, unit_tolerance=0.1, guard=-1), OutOfRange, "guard"),
        (lambda: match_heights(machine(1, 1), end_tolerance=0.1, unit_tolerance=0.1, bar_u=-1), OutOfRange, "bar_u"),
        (lambda: match_heights(machine(1, 1), end_tolerance=0.1, unit_tolerance=0.1, wanted=999), OutOfRange, "wanted"),
        (lambda: match_heights(machine(1, 1), end_tolerance=0.1, unit_tolerance=0.1, allowed=(5, 4)), Contradiction,
         "lies above"),
        (lambda: UnitHeights("a", 999.0, 4.0, 1.0), OutOfRange, "a left height"),
        (lambda: UnitHeights("a", 4.0, 4.0, 0.0), OutOfRange, "a height_per_turn"),
        (lambda: UnitHeights("a", 4.0, 4.0, 1.0, weight=0.0), OutOfRange, "a weight"),
        (lambda: UnitHeights("a", 4.0, 4.0, 1.0, step=0.0), OutOfRange, "a step"),
        (lambda: UnitHeights("a", 4.0, 4.0, 1.0, least=Ends(1.0, 0.0)), OutOfRange, "a left turns left"),
        (lambda: UnitHeights("a", 4.0, 4.0, 1.0, stations=Ends(1.0, 0.0)), Contradiction, "not left of"),
    ],
)  # fmt: skip
def test_refusals(make, error, match) -> None:
    with pytest.raises(error, match=match):
        make()
