import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.gauges.instrument import Instrument, reading_u
from sparkout.core.reel.candidates import RAIL_U, candidate_readings
from sparkout.core.reel.geometry import Reel
from sparkout.core.reel.observations import Observation
from sparkout.core.reel.parameters import FIRST_BLADE
from sparkout.core.reel.state import reel_state
from sparkout.core.verdict.limit import Limit
from sparkout.core.verdict.next_reading import next_readings

ODD, EVEN = Reel(11, 127.0, 533.0, helix_angle=0.35), Reel(8, 127.0, 533.0, helix_angle=0.35)
TAPE = Instrument("circumference tape", "tape", 0.05, 0.02, 0.1)
JAWS = Instrument("flat-jaw caliper", "jaws", 0.01, 0.01, 0.03)
DIAL = Instrument("dial", "dial", 0.01, 0.003, 0.005)
FEELER = Instrument("feeler", "feeler", 0.0, 0.002, 0.01)
STRAIGHT_EDGE = Instrument("straight edge", "straight edge", 0.0, 0.0, 0.01)
INSIDE = Instrument("inside gauge", "inside gauge", 0.01, 0.01, 0.02)
SCALE = Instrument("steel scale", "scale", 0.5, 0.05, 0.1)
ALL = [TAPE, JAWS, DIAL, FEELER, STRAIGHT_EDGE, INSIDE, SCALE]


def reel_vector(n: int) -> np.ndarray:
    p = np.random.default_rng(1).normal(0, 0.1, FIRST_BLADE + n)
    p[0] += 63.2
    p[FIRST_BLADE:] -= p[FIRST_BLADE:].mean()
    return p


def edge(p: np.ndarray, n: int, x: float, b: int) -> float:
    t = 2 * x / 533.0 - 1
    theta = 2 * math.pi * b / n + x * math.tan(0.35) / 63.5
    c = [p[5 + i] + p[7 + i] * t + p[9 + i] * (1 - t * t) for i in (0, 1)]
    return p[0] + p[1] / 4 * t + p[2] * (1 / 3 - t * t) + c[0] * math.cos(theta) + c[1] * math.sin(theta) + p[11 + b]


def shown(reel: Reel, label: str) -> tuple[float, float]:
    chosen = next(c for c in candidate_readings(reel, ALL) if c.label == label)
    return float(chosen.row @ reel_vector(reel.blade_count)), chosen.u


def test_each_candidate_shows_what_its_label_says() -> None:
    """Independent route: the definition of r(x, b) and of the knife line, one number at a time."""
    p = reel_vector(11)
    mean = {x: sum(edge(p, 11, x, b) for b in range(11)) / 11 for x in (0.0, 266.5, 533.0)}
    knife = {x: p[3] * (x / 533 - 0.5) + p[4] * (1 / 3 - (2 * x / 533 - 1) ** 2) for x in mean}
    gap = {x: knife[x] - mean[x] for x in mean}
    left, right = (edge(p, 11, x, 0) for x in (0.0, 533.0))
    wanted = {
        "circumference tape at the right end": mean[533.0],
        "circumference tape at both ends, right against left": mean[533.0] - mean[0.0],
        "flat-jaw caliper across blade 1 at the left end": left / 2 + (edge(p, 11, 0, 5) + edge(p, 11, 0, 6)) / 4,
        "dial on blade 4 at the left end against blade 1": edge(p, 11, 0, 3) - left,
        "dial along blade 1 on one rail, right end against left end": right - left,
        "dial along blade 1 on one rail, middle against both ends": edge(p, 11, 266.5, 0) - (left + right) / 2,
        "feeler under the resting knife, right end against left end": gap[533.0] - gap[0.0],
        "feeler under the resting knife, middle against both ends": gap[266.5] - (gap[0.0] + gap[533.0]) / 2,
        "straight edge along the knife, middle against its ends": p[4],
        "inside gauge from the bearing axis to the knife's mounts, right against left": p[3],
    }
    for label, value in wanted.items():
        assert shown(ODD, label)[0] == pytest.approx(value, abs=1e-12), label


def test_shaft_candidates_show_twice_the_swing_at_the_middle() -> None:
    p = reel_vector(11)
    twist = 266.5 * math.tan(0.35) / 63.5
    c = p[5:7] + p[9:11]
    here = 2 * (c[0] * math.cos(twist) + c[1] * math.sin(twist))
    quarter = 2 * (-c[0] * math.sin(twist) + c[1] * math.cos(twist))
    start = "dial on the bare shaft at the middle, "
    assert shown(ODD, start + "under the marked blade against half a turn on")[0] == pytest.approx(here)
    assert shown(ODD, start + "a quarter turn on against three quarters on")[0] == pytest.approx(quarter)


def test_jaws_on_an_even_reel_see_two_opposite_blades() -> None:
    p = reel_vector(8)
    both = (edge(p, 8, 0, 0) + edge(p, 8, 0, 4)) / 2
    assert shown(EVEN, "flat-jaw caliper across blade 1 at the left end")[0] == pytest.approx(both)


def test_uncertainties_of_differences_and_fresh_calibrations() -> None:
    assert shown(ODD, "circumference tape at the middle")[1] == pytest.approx(math.hypot(reading_u(TAPE), 0.02) / 2)
    ends = shown(ODD, "circumference tape at both ends, right against left")[1]
    assert ends == pytest.approx(math.sqrt(2) * reading_u(TAPE) / 2)
    rail = shown(ODD, "dial along blade 1 on one rail, right end against left end")[1]
    assert rail == pytest.approx(math.sqrt(2 * reading_u(DIAL) ** 2 + RAIL_U**2))


def test_only_gauges_at_hand_and_no_knife_readings_without_a_knife() -> None:
    assert candidate_readings(ODD, []) == []
    assert candidate_readings(ODD, [SCALE, FEELER, STRAIGHT_EDGE, INSIDE], knife_at_hand=False) == []
    assert {c.label.split()[0] for c in candidate_readings(ODD, [DIAL], knife_at_hand=False)} == {"dial"}


def test_stations_of_the_callers_own_naming() -> None:
    labels = [c.label for c in candidate_readings(ODD, [TAPE], stations={"second spider": 180.0})]
    assert labels[0] == "circumference tape at the second spider"
    with pytest.raises(OutOfRange, match="second spider"):
        candidate_readings(ODD, [TAPE], stations={"second spider": 1800.0})


def test_rows_fit_the_state_and_the_next_reading_is_a_sensible_one() -> None:
    readings = [Observation("tape", "radius", 266.5, 63.3, 0.05, group="tape", u_group=0.01)]
    state = reel_state(ODD, readings)
    candidates = candidate_readings(ODD, ALL, state.parameters)
    assert {c.row.shape for c in candidates} == {(state.parameters.count,)}
    best = next_readings(state.mixture, state.parameters.row("cone"), Limit("cone", -0.25, 0.25, "house"), candidates)
    assert "right" in best[0].candidate.label
    assert best[0].risk_after <= best[0].risk_before


def test_a_candidate_is_put_where_its_row_looks() -> None:
    """Independent route: the definition of r(x, b) at the two places named; a difference of two is the row."""
    p = reel_vector(11)
    pairs = [c for c in candidate_readings(ODD, [DIAL]) if len(c.touches) == 2 and c.touches[0].kind == "run-out"]
    assert len(pairs) == 3 * 10 + 1
    for c in pairs:
        one, other = (edge(p, 11, touch.x, touch.blade or 0) for touch in c.touches)
        assert abs(float(c.row @ p)) == pytest.approx(abs(one - other), abs=1e-12)
    for c in candidate_readings(ODD, ALL):
        assert c.touches
        assert c.gauge in {gauge.kind for gauge in ALL}
        assert not c.again
    jaws = [c.touches[0] for c in candidate_readings(ODD, [JAWS])]
    assert {touch.blade for touch in jaws} == {0}
