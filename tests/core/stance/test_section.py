"""Parts of a section and the gap closed, against parts turned step by step; and the refusals."""

import cmath
import math
from dataclasses import replace

import pytest
from tests.core.stance.standing_by_hand import root, swung
from tests.published.evidence import compared

from sparkout.core.errors import Contradiction, OutOfRange
from sparkout.core.setting.height import EdgeShift
from sparkout.core.setting.pivot import knife_on_reel
from sparkout.core.stance.section import Closing, Point, Roller, Section, closed, turned, with_knife_shifted

FRONT, REAR = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0)
HERE = Point(0.0, 0.0)
EDGE = Point(6.5, 63.0)


def section(closing: Closing, edge: Point = EDGE, **more) -> Section:
    return Section(127.0, HERE, edge, FRONT, REAR, closing, **more)


def complex_of(place: Point) -> complex:
    return complex(place.behind, -place.below)


@pytest.mark.parametrize("diameter", [127.0, 124.0, 118.5, 128.0])
@pytest.mark.parametrize("gap", [0.0, 0.05, -0.02])
@pytest.mark.parametrize("pivot", [Point(70.0, 45.0), Point(-60.0, 50.0), Point(30.0, 90.0), Point(95.0, -20.0)])
def test_a_knife_on_a_pivot_is_turned_until_the_gap_is_right(diameter: float, gap: float, pivot: Point) -> None:
    start = section(Closing("knife up", pivot), seat_tilt=0.03)
    done = closed(replace(start, reel_diameter=diameter, gap=gap))
    by_hand = swung(complex_of(start.edge), complex_of(pivot), 0j, diameter / 2 + gap)
    for name, reference, obtained in (
        ("behind", by_hand.real, done.edge.behind),
        ("below", -by_hand.imag, done.edge.below),
    ):
        compared(
            "Parts turned step by step (brute force)", f"edge {name}, knife up, mm",
            reference=reference, obtained=obtained, tolerance=1e-9,
        )  # fmt: skip
    # the seat turns as the arm does
    turn = cmath.phase((complex_of(done.edge) - complex_of(pivot)) / (complex_of(start.edge) - complex_of(pivot)))
    assert done.seat_tilt - start.seat_tilt == pytest.approx(-turn, abs=1e-12)
    assert done.axis == start.axis


@pytest.mark.parametrize("diameter", [127.0, 121.0])
@pytest.mark.parametrize("pivot", [Point(70.0, -30.0), Point(-90.0, 10.0)])
def test_a_reel_on_a_pivot_comes_down_to_the_knife(diameter: float, pivot: Point) -> None:
    start = section(Closing("reel down", pivot), seat_tilt=0.03, gap=0.02)
    done = closed(replace(start, reel_diameter=diameter))
    by_hand = swung(0j, complex_of(pivot), complex_of(start.edge), diameter / 2 + 0.02)
    for name, reference, obtained in (
        ("behind", by_hand.real, done.axis.behind),
        ("below", -by_hand.imag, done.axis.below),
    ):
        compared(
            "Parts turned step by step (brute force)", f"axis {name}, reel down, mm",
            reference=reference, obtained=obtained, tolerance=1e-9,
        )  # fmt: skip
    assert (done.edge, done.seat_tilt) == (start.edge, start.seat_tilt)


@pytest.mark.parametrize("slide", [0.0, 0.3, -0.4])
@pytest.mark.parametrize("pattern", ["knife up", "reel down"])
def test_a_sliding_part_keeps_its_line(slide: float, pattern: str) -> None:
    start = section(Closing(pattern, slide=slide))
    done = closed(replace(start, reel_diameter=122.0))
    moved, was = (done.edge, start.edge) if pattern == "knife up" else (done.axis, start.axis)
    fixed = start.axis if pattern == "knife up" else start.edge
    sense = -1.0 if pattern == "knife up" else 1.0
    way = root(
        lambda t: (
            math.dist((was.behind + sense * t * math.sin(slide), was.below + sense * t * math.cos(slide)), fixed) - 61.0
        ),
        0.0,
        30.0,
    )
    expected = was.behind + sense * way * math.sin(slide), was.below + sense * way * math.cos(slide)
    assert tuple(moved) == pytest.approx(expected, abs=1e-9)


def test_agrees_with_the_pivot_room_over_a_reels_life() -> None:
    """Two routes: circles met in the reel's axes (pivot room), and the carrier turned here."""
    edge = knife_on_reel(127.0, 70.0, 45.0, 66.0)
    start = section(Closing("knife up", Point(70.0, 45.0)), Point(edge.behind_centre, edge.below_centre))
    for diameter in (127.0, 125.0, 120.0, 115.0):
        at = knife_on_reel(diameter, 70.0, 45.0, 66.0)
        assert tuple(closed(replace(start, reel_diameter=diameter)).edge) == pytest.approx(at[:2], abs=1e-9)


def test_a_pivot_in_line_with_both_leaves_either_way() -> None:
    """Dead point: the arm points at the axis; going out of it both ways are equally near."""
    start = section(Closing("knife up", Point(0.0, 120.0)), Point(0.0, 63.5))
    assert closed(start).edge == pytest.approx(Point(0.0, 63.5))
    wider = closed(replace(start, reel_diameter=129.0))
    assert math.hypot(*wider.edge) == pytest.approx(64.5)


def test_turned_and_shifted() -> None:
    assert turned(Point(2.0, 1.0), Point(1.0, 1.0), math.pi / 2) == pytest.approx(Point(1.0, 2.0))
    assert with_knife_shifted(section(Closing("knife up")), EdgeShift(0.4, -0.2)).edge == Point(6.9, 62.8)


@pytest.mark.parametrize(
    ("make", "error", "match"),
    [
        (lambda: Closing("sideways"), OutOfRange, "pattern"),
        (lambda: Closing("knife up", slide=2.0), OutOfRange, "slide"),
        (lambda: Closing("knife up", Point(math.nan, 0.0)), OutOfRange, "pivot behind"),
        (lambda: Closing("knife up", Point(0.0, 9e9)), OutOfRange, "pivot below"),
        (lambda: replace(section(Closing("knife up")), reel_diameter=10.0), OutOfRange, "reel_diameter"),
        (lambda: replace(section(Closing("knife up")), gap=50.0), OutOfRange, "gap"),
        (lambda: replace(section(Closing("knife up")), edge=Point(math.inf, 0.0)), OutOfRange, "edge behind"),
        (lambda: replace(section(Closing("knife up")), front=Roller(-80.0, 35.0, 1.0)), OutOfRange, "front roller dia"),
        (lambda: replace(section(Closing("knife up")), top_angle=2.0), OutOfRange, "top_angle"),
        (lambda: replace(section(Closing("knife up")), rear=Roller(-90.0, 35.0, 50.0)), Contradiction, "not ahead"),
        (lambda: closed(section(Closing("knife up", Point(6.5, 63.0)))), Contradiction, "closes nothing"),
        (lambda: closed(section(Closing("knife up", Point(0.0, 0.0)))), Contradiction, "closes nothing"),
        (lambda: closed(section(Closing("knife up", Point(0.0, 62.0)), Point(0.0, 63.0))), OutOfRange, "with this pi"),
        (lambda: closed(section(Closing("knife up"), Point(90.0, 63.0))), OutOfRange, "distance of edge and axis"),
    ],
)
def test_refusals(make, error, match) -> None:
    with pytest.raises(error, match=match):
        make()
