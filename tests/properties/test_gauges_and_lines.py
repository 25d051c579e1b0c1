"""What must hold for every reel, every set of readings, every budget."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.budget import propagate
from sparkout.core.circle import circle_from_points
from sparkout.core.gauges.chord import chord_reading, diameter_from_chord
from sparkout.core.gauges.feeler import gap_from_leaves, gap_interval
from sparkout.core.gauges.jaws import diameter_from_jaws, jaws_reading
from sparkout.core.gauges.tape import diameter_from_tape, tape_reading
from sparkout.core.line import straight_line
from sparkout.core.measured import Measured

GAUGES = [
    (tape_reading, diameter_from_tape),
    (jaws_reading, diameter_from_jaws),
    (chord_reading, diameter_from_chord),
]
DIAMETERS = st.floats(40.0, 600.0)
COUNTS = st.integers(2, 40)
SHARES = st.floats(0.0, 1.0)
"""Land as a share of the room there is for it."""


@given(st.sampled_from(GAUGES), DIAMETERS, COUNTS, SHARES)
def test_there_and_back(gauge, diameter: float, count: int, share: float) -> None:
    shown, back = gauge
    land = share * math.pi * diameter / count * (1 - 1e-9)
    reading = shown(diameter, count, land)
    land = min(land, math.pi * reading / count)
    assert back(shown(diameter, count, land), count, land) == pytest.approx(diameter, rel=1e-12)


@given(st.sampled_from(GAUGES), DIAMETERS, COUNTS, SHARES)
def test_no_gauge_shows_more_than_the_diameter_and_scale_does_not_matter(gauge, diameter, count, share) -> None:
    land = share * math.pi * diameter / count * (1 - 1e-9)
    reading = gauge[0](diameter, count, land)
    assert reading <= diameter * (1 + 1e-14)
    assert gauge[0](2 * diameter, count, 2 * land) == pytest.approx(2 * reading, rel=1e-13)


@given(st.sampled_from(GAUGES), DIAMETERS, COUNTS, SHARES, st.floats(0.001, 0.5))
def test_larger_reels_and_wider_lands_show_more(gauge, diameter, count, share, more) -> None:
    room = math.pi * diameter / count
    land = share * room * 0.5
    assert gauge[0](diameter * (1 + more), count, land) > gauge[0](diameter, count, land)
    assert gauge[0](diameter, count, land + more * room * 0.5) >= gauge[0](diameter, count, land) * (1 - 1e-15)


@given(DIAMETERS, st.integers(1, 19).map(lambda half: 2 * half + 1), SHARES)
def test_jaws_show_least_and_tip_to_tip_most_of_an_odd_reel(diameter: float, count: int, share: float) -> None:
    """A convex body's least width <= mean width = perimeter / pi (Cauchy) <= greatest width = farthest points."""
    land = share * math.pi * diameter / count * (1 - 1e-9)
    jaws, tape, chord = (shown(diameter, count, land) for shown, _ in GAUGES[1:2] + GAUGES[0:1] + GAUGES[2:3])
    assert jaws <= tape * (1 + 1e-14)
    assert tape <= chord * (1 + 1e-14)


@given(st.floats(0.0, 1.0), st.floats(0.001, 1.0), st.floats(0.0, 0.1), st.floats(0.0, 0.1))
def test_worse_leaves_never_narrow_the_gap(goes: float, step: float, u: float, more: float) -> None:
    near, far = gap_interval(goes, goes + step, u), gap_interval(goes, goes + step, u + more)
    assert far.low <= near.low <= goes
    assert far.high >= near.high >= goes + step
    assert gap_from_leaves(goes, goes + step, u + more).u >= gap_from_leaves(goes, goes + step, u).u


READINGS = st.lists(
    st.tuples(st.integers(0, 500), st.floats(-1.0, 1.0), st.floats(0.005, 0.5)), min_size=3, max_size=12
).filter(lambda rows: len({row[0] for row in rows}) > 1)


@given(READINGS)
def test_one_more_reading_never_widens_the_line(rows) -> None:
    """With known uncertainties, at every place along it."""
    x, y, u = map(np.array, zip(*rows, strict=True))
    fewer = rows[:-1]
    if len({row[0] for row in fewer}) < 2:
        return
    less, whole = straight_line(x[:-1], y[:-1], u[:-1]), straight_line(x, y, u)
    for place in (0.0, 250.0, 500.0):
        assert whole.at(place).u <= less.at(place).u * (1 + 1e-9)


@given(READINGS)
def test_measuring_from_the_other_end_mirrors_the_line(rows) -> None:
    x, y, u = map(np.array, zip(*rows, strict=True))
    line, mirrored = straight_line(x, y, u), straight_line(500.0 - x, y, u)
    size = 1e-9 * (1 + np.abs(y).max()) + 1e-9 * line.u_slope
    assert mirrored.slope == pytest.approx(-line.slope, abs=size)
    assert mirrored.u_slope == pytest.approx(line.u_slope, rel=1e-9)
    assert mirrored.at(500.0).u == pytest.approx(line.at(0.0).u, rel=1e-7)


@given(READINGS, st.floats(0.01, 100.0))
def test_units_change_nothing_in_a_line(rows, factor: float) -> None:
    x, y, u = map(np.array, zip(*rows, strict=True))
    line, other = straight_line(x, y, u), straight_line(x * factor, y * factor, u * factor)
    assert other.u_slope == pytest.approx(line.u_slope, rel=1e-9)
    assert other.u_intercept == pytest.approx(line.u_intercept * factor, rel=1e-9)
    assert other.chi_squared == pytest.approx(line.chi_squared, rel=1e-6, abs=1e-6)


@given(st.lists(st.tuples(st.floats(-5, 5), st.floats(0.0, 1.0), st.floats(-3, 3)), min_size=1, max_size=5))
def test_budget_of_a_weighted_sum_is_the_root_of_squares(rows) -> None:
    inputs = {f"x{i}": Measured(value, u) for i, (value, u, _) in enumerate(rows)}
    weights = {f"x{i}": weight for i, (_, _, weight) in enumerate(rows)}
    budget = propagate(lambda **at: sum(weights[name] * at[name] for name in at), inputs)
    wanted = math.sqrt(sum((u * weight) ** 2 for _, u, weight in rows))
    assert budget.u == pytest.approx(wanted, rel=1e-9, abs=1e-9)


@settings(max_examples=50)
@given(st.floats(0.0, 6.28), st.floats(-100, 100), st.floats(-100, 100), st.integers(0, 1000))
def test_turning_and_moving_a_trace_leaves_its_radius(turn: float, dx: float, dy: float, seed: int) -> None:
    generator = np.random.default_rng(seed)
    theta = np.linspace(0.0, 2.5, 12)
    trace = np.exp(1j * theta) * (1.0 + generator.normal(0, 0.01, 12))
    moved = trace * np.exp(1j * turn) + complex(dx, dy)
    here, there = circle_from_points(trace.real, trace.imag), circle_from_points(moved.real, moved.imag)
    assert there.radius == pytest.approx(here.radius, rel=1e-7)
    assert there.measured_radius.u == pytest.approx(here.measured_radius.u, rel=1e-5)
