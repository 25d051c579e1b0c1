"""The gap warm and what to set cold, against the general propagation, simulation and parts grown one by one."""

import math

import numpy as np
import pytest
from tests.published.evidence import compared

from sparkout.core.budget import propagate, simulate
from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.measured import Measured
from sparkout.core.setting.heat import EXPANSION, EXPANSION_U, Warming, gap_hot, gap_to_set_cold

REEL = Measured(125.0, 0.1)
WARM = Warming(Measured(30.0, 3.0), Measured(10.0, 2.0))
STEEL, ALUMINIUM = Measured(EXPANSION["steel"], EXPANSION_U), Measured(EXPANSION["aluminium"], EXPANSION_U)


def grown(gap_cold, reel_diameter, reel_rise, frame_rise, reel_alpha, frame_alpha):
    """Each part grown by itself: where the edge comes to lie, less how far the blade reaches."""
    edge = (reel_diameter / 2) * (1 + frame_alpha * frame_rise) + gap_cold
    blade = (reel_diameter / 2) * (1 + reel_alpha * reel_rise)
    return edge - blade


INPUTS = {
    "gap_cold": Measured(0.05, 0.005), "reel_diameter": REEL, "reel_rise": WARM.reel, "frame_rise": WARM.frame,
    "reel_alpha": STEEL, "frame_alpha": ALUMINIUM,
}  # fmt: skip


def test_two_metals_by_the_general_propagation_and_by_simulation() -> None:
    found = gap_hot(Measured(0.05, 0.005), REEL, WARM, STEEL, ALUMINIUM)
    budget = propagate(grown, INPUTS)
    assert found.gap.value == pytest.approx(budget.value, abs=1e-12)
    assert found.gap.u == pytest.approx(budget.u, rel=1e-7)
    names = {"reel_alpha": "reel_expansion", "frame_alpha": "frame_expansion"}
    for key, part in budget.components.items():
        assert found.components[names.get(key, key)] == pytest.approx(part, rel=1e-6)
    drawn = simulate(grown, INPUTS, 200_000, np.random.default_rng(7))
    compared(
        "200 000 draws of every input (simulation)", "standard uncertainty of the gap warm, mm",
        reference=drawn.u, obtained=found.gap.u, tolerance=0.01 * found.gap.u,
        note="the second-order part of the products is under 1 %",
    )  # fmt: skip


def test_one_metal_counts_its_coefficient_once() -> None:
    """Reel and frame of one steel: only the difference of their temperatures meets the doubt in its coefficient."""
    same = gap_hot(Measured(0.05, 0.005), REEL, WARM)
    budget = propagate(
        lambda gap_cold, reel_diameter, reel_rise, frame_rise, alpha: grown(
            gap_cold, reel_diameter, reel_rise, frame_rise, alpha, alpha
        ),
        {**{k: INPUTS[k] for k in ("gap_cold", "reel_diameter", "reel_rise", "frame_rise")}, "alpha": STEEL},
    )
    assert same.gap.u == pytest.approx(budget.u, rel=1e-7)
    assert same.components["expansion"] == pytest.approx(budget.components["alpha"], rel=1e-6)
    alike = gap_hot(Measured(0.05, 0.0), REEL, Warming(Measured(20.0, 0.0), Measured(20.0, 0.0)))
    assert alike.gap == Measured(0.05, 0.0)
    assert gap_hot(Measured(0.05, 0.0), REEL, WARM, STEEL, STEEL).components.keys() == same.components.keys()


def test_the_tightest_state_gets_the_gap_wanted() -> None:
    states = [
        Warming(Measured(25.0, 3.0), Measured(0.0, 1.0)),
        Warming(Measured(30.0, 3.0), Measured(20.0, 3.0)),
        Warming(Measured(-5.0, 1.0), Measured(-5.0, 1.0)),
    ]
    cold = gap_to_set_cold(0.03, REEL, states)
    assert cold.tightest == 0
    assert min(gap.value for gap in cold.warm) == pytest.approx(0.03)
    for state, gap in zip(states, cold.warm, strict=True):
        again = gap_hot(Measured(cold.gap.value, 0.0), REEL, state)
        assert (again.gap.value, again.gap.u) == pytest.approx((gap.value, gap.u))
    assert not cold.touches_cold
    assert cold.notes == ()


def test_notes() -> None:
    """An aluminium frame that warms opens the gap so far that nothing can be set cold."""
    opening = [Warming(Measured(20.0, 1.0), Measured(40.0, 1.0))]
    cold = gap_to_set_cold(0.03, REEL, opening, STEEL, ALUMINIUM)
    assert cold.touches_cold
    assert cold.gap.value == pytest.approx(0.03 - 62.5 * (23.1e-6 * 40 - 11.5e-6 * 20))
    assert [note.split(":")[0] for note in cold.notes] == ["Cold, the knife would press on the reel"]
    unsure = gap_to_set_cold(0.02, REEL, [Warming(Measured(30.0, 15.0), Measured(0.0, 0.0))])
    assert [note.split(":")[0] for note in unsure.notes] == [
        "The temperatures are not known well enough to tell a gap this small"
    ]


@pytest.mark.parametrize(
    ("make", "error", "match"),
    [
        (lambda: gap_to_set_cold(0.03, REEL, []), NotEnough, "how warm"),
        (lambda: gap_to_set_cold(9.0, REEL, [WARM]), OutOfRange, "wanted"),
        (lambda: gap_hot(Measured(99.0, 0.0), REEL, WARM), OutOfRange, "gap_cold"),
        (lambda: gap_hot(Measured(0.1, 0.0), Measured(1.0, 0.0), WARM), OutOfRange, "reel_diameter"),
        (lambda: gap_hot(Measured(0.1, 0.0), REEL, Warming(Measured(999.0, 1.0), WARM.frame)), OutOfRange, "reel_rise"),
        (lambda: gap_hot(Measured(0.1, 0.0), REEL, WARM, Measured(1.0, 0.0)), OutOfRange, "reel_expansion"),
    ],
)
def test_refusals(make, error, match) -> None:
    with pytest.raises(error, match=match):
        make()


def test_usual_uncertainty_of_a_coefficient() -> None:
    """JCGM 100:2008 H.1.3.4: 11.5e-6 within 2e-6, rectangular, gives 1.2e-6 (as quoted elsewhere)."""
    assert pytest.approx(1.2e-6, abs=0.05e-6) == EXPANSION_U
    assert pytest.approx(2e-6 / math.sqrt(3)) == EXPANSION_U
