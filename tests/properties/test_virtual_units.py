"""What must hold for every virtual unit: mirrors, units of turn, gaps that are gaps."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sparkout.core.practice import gauge_geometry as drawn
from sparkout.core.practice.virtual_unit import VirtualUnit, WheelPass, one_blade_off
from sparkout.core.reel.geometry import Reel

small = st.floats(-0.3, 0.3)
pair = st.tuples(small, small)


@st.composite
def units(draw: st.DrawFn) -> VirtualUnit:
    blades = draw(st.integers(3, 15))
    reel = Reel(blades, 127.0, 533.0, math.radians(draw(st.floats(-30.0, 30.0))))
    passes = draw(
        st.lists(st.builds(WheelPass, st.floats(62.8, 63.4), st.floats(62.8, 63.4), st.floats(0.0, 1.0)), max_size=2)
    )
    return VirtualUnit(
        reel,
        mean_radius=63.2,
        cone=draw(small),
        barrel=draw(small),
        offset=draw(pair),
        skew=draw(pair),
        shaft_bow=draw(pair),
        blade_heights=one_blade_off(blades, draw(st.integers(0, blades - 1)), draw(small)),
        land_ends=draw(st.tuples(st.floats(0.2, 2.0), st.floats(0.2, 2.0))),
        passes=tuple(passes),
        frame_out=draw(small),
        knife_bow=draw(small),
    )


stations = st.lists(st.floats(0.0, 533.0), min_size=1, max_size=4).map(np.array)


@settings(max_examples=30, deadline=None)
@given(units(), stations)
def test_mirrored_unit_gives_mirrored_readings(unit: VirtualUnit, x: np.ndarray) -> None:
    other, there = unit.mirrored(), 533.0 - x
    near = {"abs": 1e-9}
    assert other.radius(there) == pytest.approx(unit.radius(x), **near)
    assert other.land(there) == pytest.approx(unit.land(x), **near)
    assert drawn.rest_gap(other, there) == pytest.approx(drawn.rest_gap(unit, x), **near)
    assert drawn.set_gap(other, there, 0.04, 0.02) == pytest.approx(drawn.set_gap(unit, x, 0.02, 0.04), **near)
    assert drawn.frame_check(other, there) == pytest.approx(drawn.frame_check(unit, x), **near)
    assert drawn.straight_edge(other, there) == pytest.approx(drawn.straight_edge(unit, x), **near)
    turns = np.linspace(0.0, 6.0, 5)
    assert drawn.shaft(other, there[0], turns) == pytest.approx(drawn.shaft(unit, x[0], turns), **near)
    for gauge in (drawn.tape, drawn.jaws, drawn.chord):
        assert gauge(other, there[0]) == pytest.approx(gauge(unit, x[0]), **near)


@settings(max_examples=25, deadline=None)
@given(units(), stations)
def test_a_knife_that_rocks_lies_on_the_mirrored_unit_alike(unit: VirtualUnit, x: np.ndarray) -> None:
    here, there = drawn.rest_gap(unit, x, held=False), drawn.rest_gap(unit.mirrored(), 533.0 - x, held=False)
    assert there == pytest.approx(here, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(units())
def test_a_resting_knife_touches_somewhere_and_cuts_nowhere(unit: VirtualUnit) -> None:
    gap = drawn.rest_gap(unit, np.linspace(0.0, 533.0, 2001))
    assert gap.min() == pytest.approx(0.0, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(units(), stations, st.floats(62.5, 63.5), st.floats(0.0, 1.0))
def test_grinding_only_takes_away_never_below_the_wheel_and_land_only_grows(
    unit: VirtualUnit, x: np.ndarray, wheel: float, give: float
) -> None:
    before, ground = unit.radius(x), unit.spun([WheelPass(wheel, wheel, give)])
    after = ground.radius(x)
    assert (after <= before).all()
    assert (after >= np.minimum(before, wheel) - 1e-12).all()
    assert (ground.land(x) >= unit.land(x) - 1e-12).all()


@settings(max_examples=40, deadline=None)
@given(units(), st.floats(0.0, 533.0))
def test_tape_lies_between_least_width_and_longest_chord(unit: VirtualUnit, x: float) -> None:
    """A convex body's mean width is its perimeter over pi (Cauchy): it lies between the least and the largest."""
    widest = drawn.chord(unit, x)
    assert drawn.tape(unit, x) <= widest + 1e-9
    if unit.reel.blade_count % 2:
        assert drawn.jaws(unit, x) <= drawn.tape(unit, x) + 1e-6
