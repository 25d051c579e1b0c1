"""Drawn gauges against the closed forms of core/gauges on true reels, and against hand-made cases on faulty ones."""

import math
from dataclasses import replace

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.gauges.chord import chord_reading
from sparkout.core.gauges.jaws import jaws_reading
from sparkout.core.gauges.tape import tape_reading
from sparkout.core.practice import gauge_geometry as drawn
from sparkout.core.practice.virtual_unit import Nick, VirtualUnit, WheelPass, one_blade_off
from sparkout.core.reel.geometry import Reel

REEL = Reel(11, 127.0, 533.0, helix_angle=math.radians(20.0))
THREE = [0.0, 266.5, 533.0]


@pytest.mark.parametrize("blades", [3, 4, 5, 6, 7, 8, 9, 10, 11, 14, 15])
@pytest.mark.parametrize(("diameter", "land"), [(127.0, 0.0), (127.0, 1.0), (178.0, 1.6), (254.0, 3.0)])
def test_true_reel_reads_as_the_closed_forms_say(blades: int, diameter: float, land: float) -> None:
    unit = VirtualUnit(Reel(blades, diameter, 533.0, land=land), diameter / 2.0)
    assert drawn.tape(unit, 100.0) == pytest.approx(tape_reading(diameter, blades, land), abs=1e-6)
    assert drawn.jaws(unit, 100.0) == pytest.approx(jaws_reading(diameter, blades, land), abs=1e-6)
    assert drawn.chord(unit, 100.0) == pytest.approx(chord_reading(diameter, blades, land), abs=1e-6)


def test_a_land_square_to_a_helical_edge_is_wider_along_the_arc() -> None:
    helical = VirtualUnit(REEL, 63.5)
    arc = 1.0 / math.cos(REEL.helix_angle)
    assert drawn.tape(helical, 100.0) == pytest.approx(tape_reading(127.0, 11, arc), abs=1e-6)


def test_gauges_across_do_not_see_an_offset() -> None:
    """Shifting a body changes neither its perimeter nor its widths."""
    straight, off = VirtualUnit(REEL, 63.5), VirtualUnit(REEL, 63.5, offset=(0.05, 0.02))
    for gauge in (drawn.tape, drawn.jaws, drawn.chord):
        assert gauge(off, 200.0) == pytest.approx(gauge(straight, 200.0), abs=1e-9)


def test_one_high_blade_moves_the_tape_by_its_share_and_the_chord_more() -> None:
    true = VirtualUnit(REEL, 63.5)
    high = replace(true, blade_heights=one_blade_off(11, 2, 0.11))
    assert drawn.tape(high, 50.0) == pytest.approx(drawn.tape(true, 50.0), abs=1e-3)
    assert drawn.chord(high, 50.0) - drawn.chord(true, 50.0) == pytest.approx(0.10 - 0.01, abs=2e-3)


def test_dial_starts_at_nought_unless_a_zero_is_named_and_sees_its_rail() -> None:
    unit = VirtualUnit(REEL, 63.5, cone=0.4)
    assert drawn.dial(unit, THREE)[4] == pytest.approx([0.0, 0.1, 0.2])
    assert drawn.dial(unit, THREE, zero=63.5)[4] == pytest.approx([-0.1, 0.0, 0.1])
    assert drawn.dial(unit, THREE, zero=63.5, rail_out=0.2)[4] == pytest.approx([0.0, 0.0, 0.0])


@pytest.mark.parametrize(
    ("faults", "gaps"),
    [
        ({"cone": 0.4}, [0.2, 0.1, 0.0]),
        ({"cone": -0.4}, [0.0, 0.1, 0.2]),
        ({"frame_out": 0.2}, [0.0, 0.1, 0.2]),
        ({"frame_out": -0.2}, [0.2, 0.1, 0.0]),
        ({"cone": 0.4, "frame_out": 0.2}, [0.0, 0.0, 0.0]),  # the cone that cannot be seen
        ({"barrel": 0.05}, [0.05, 0.0, 0.05]),
        ({"barrel": -0.05}, [0.0, 0.05, 0.0]),
        ({"knife_bow": 0.05}, [0.0, 0.05, 0.0]),
        ({"barrel": 0.05, "knife_bow": 0.05}, [0.0, 0.0, 0.0]),
    ],
)
def test_rest_gap_of_a_held_knife(faults: dict[str, float], gaps: list[float]) -> None:
    assert drawn.rest_gap(VirtualUnit(REEL, 63.5, **faults), THREE) == pytest.approx(gaps, abs=1e-9)


def test_contact_off_the_middle_is_found() -> None:
    """Cone and barrel together touch at t = cone / (8 barrel), by setting the slope of the mean radius to nought."""
    unit = VirtualUnit(REEL, 63.5, cone=0.2, barrel=0.1)
    touching = 0.2 / (8.0 * 0.1)
    assert drawn.rest_gap(unit, (touching + 1.0) * 266.5) == pytest.approx(0.0, abs=1e-12)
    assert drawn.rest_gap(unit, 266.5) == pytest.approx(0.1 * touching**2, abs=1e-7)


@pytest.mark.parametrize(
    ("faults", "gaps"),
    [
        ({"cone": 0.4}, [0.0, 0.0, 0.0]),
        ({"frame_out": 0.2}, [0.0, 0.0, 0.0]),
        ({"cone": 0.4, "barrel": -0.05}, [0.0, 0.05, 0.0]),
        ({"barrel": 0.05}, [0.05, 0.0, 0.05]),
        ({"cone": 0.1, "barrel": 0.05}, [0.05, 0.0, 0.05]),
    ],
)
def test_a_knife_that_may_rock_is_blind_to_cone(faults: dict[str, float], gaps: list[float]) -> None:
    """A cone is a slope, and the slope is the knife's to choose: the gaps are those of the reel without its cone."""
    assert drawn.rest_gap(VirtualUnit(REEL, 63.5, **faults), THREE, held=False) == pytest.approx(gaps, abs=2e-3)


def test_a_knife_that_may_rock_never_cuts_into_the_reel() -> None:
    unit = VirtualUnit(
        REEL, 63.5, cone=0.3, barrel=0.08, shaft_bow=(0.05, 0.0), blade_heights=one_blade_off(11, 1, 0.05)
    )
    gap = drawn.rest_gap(unit, np.linspace(0.0, 533.0, 301), held=False)
    assert gap.min() == pytest.approx(0.0, abs=1e-4)


def test_a_knife_that_may_rock_lies_flat_on_a_corner() -> None:
    """Ground askew from both sides to a ridge at the middle: every slope up to the ridge's own would touch."""
    ridge = VirtualUnit(REEL, 63.5).spun([WheelPass(63.2, 63.6, 1.0), WheelPass(63.6, 63.2, 1.0)])
    assert drawn.rest_gap(ridge, THREE, held=False) == pytest.approx([0.2, 0.0, 0.2])


def test_an_edge_stands_at_its_radius() -> None:
    unit = VirtualUnit(REEL, 63.5, cone=0.2, offset=(0.05, 0.02), blade_heights=one_blade_off(11, 2, 0.1))
    first_of_each = drawn.outline(unit, 30.0).reshape(11, -1, 2)[:, 0]
    square_of_offset = (0.05**2 + 0.02**2) / (2 * 63.0)
    assert np.hypot(*first_of_each.T) == pytest.approx(unit.radius(30.0)[:, 0], abs=square_of_offset)


def test_shaft_sees_where_it_runs_and_no_blade() -> None:
    unit = VirtualUnit(REEL, 63.5, cone=0.4, shaft_bow=(0.1, 0.0), blade_heights=one_blade_off(11, 1, 0.05))
    turns = np.linspace(0.0, 2.0 * np.pi, 721)
    assert np.ptp(drawn.shaft(unit, 266.5, turns)) == pytest.approx(0.2, abs=1e-4)
    assert drawn.shaft(unit, 0.0, turns) == pytest.approx(0.0)
    at_blade = drawn.shaft(unit, 266.5, 0.0)[0] + 63.5 + unit.blade_heights[0]
    assert unit.radius(266.5)[0, 0] == pytest.approx(at_blade)  # angle 0 is the marked blade's edge there


def test_frame_check_and_straight_edge() -> None:
    unit = VirtualUnit(REEL, 63.5, frame_out=0.2, knife_bow=0.03)
    assert drawn.frame_check(unit, THREE) == pytest.approx([-0.1, 0.0, 0.1])
    assert drawn.straight_edge(unit, THREE) == pytest.approx([0.0, 0.03, 0.0])


def test_set_gap_at_the_ends_is_as_set_and_a_cone_does_not_show() -> None:
    coned = VirtualUnit(REEL, 63.5, cone=0.4)
    assert drawn.set_gap(coned, THREE, 0.02, 0.04)[0] == pytest.approx([0.02, 0.03, 0.04])
    high = replace(coned, blade_heights=one_blade_off(11, 7, 0.05))
    gap = drawn.set_gap(high, THREE, 0.02, 0.02)
    assert int(gap[:, 0].argmin()) == 7
    assert gap[0] == pytest.approx(0.07)


def test_deepest_nick() -> None:
    unit = VirtualUnit(REEL, 63.5, nicks=(Nick(2, 100.0, 0.2), Nick(2, 300.0, 0.35)))
    assert drawn.nick_depth(unit, 2) == 0.35
    assert drawn.nick_depth(unit, 3) == 0.0
    with pytest.raises(OutOfRange, match="0 to 10"):
        drawn.nick_depth(unit, 11)
