"""Height of cut, behind-centre, reach and angles of one section, against sampled parts tilted until they stand."""

import cmath
import math

import pytest
from tests.core.stance.standing_by_hand import stood
from tests.published.evidence import compared

from sparkout.core.errors import Contradiction
from sparkout.core.stance.section import Closing, Point, Roller, Section
from sparkout.core.stance.standing import ground_line, stance_at

CASES = [
    (127.0, Point(8.0, 62.99), Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0), 0.0),
    (127.0, Point(8.0, 62.99), Roller(-95.0, 30.0, 63.0), Roller(85.0, 45.0, 50.0), 0.02),
    (203.0, Point(-4.0, 101.4), Roller(-150.0, 80.0, 76.0), Roller(160.0, 60.0, 101.0), -0.05),
    (127.0, Point(3.0, 63.4), Roller(-60.0, 55.0, 30.0), Roller(140.0, 20.0, 88.0), 0.1),
]


@pytest.mark.parametrize(("diameter", "edge", "front", "rear", "seat"), CASES)
def test_sampled_parts_let_down_on_a_flat_bench(
    diameter: float, edge: Point, front: Roller, rear: Roller, seat: float
) -> None:
    top, lean = math.radians(12.0), math.radians(5.0)
    found = stance_at(Section(diameter, Point(0.0, 0.0), edge, front, rear, Closing("knife up"), 0.0, seat, top, lean))
    at = complex(edge.behind, -edge.below)
    along_top = at + 10.0 * cmath.exp(-1j * (seat + top))
    along_front = at - 10j * cmath.exp(-1j * (seat - lean))  # down the front face: straight down, leaning back
    parts = {
        "axis": 0j, "edge": at, "front": complex(front.behind, -front.below), "rear": complex(rear.behind, -rear.below),
        "top": along_top, "face": along_front, "seat": at + cmath.exp(-1j * seat),
    }  # fmt: skip
    _, there = stood(parts, front.diameter, rear.diameter)
    axis, tip = there["axis"], there["edge"]
    below = axis.imag - tip.imag
    radius = diameter / 2.0
    falls = -cmath.phase(there["top"] - tip)
    # the blades' path at the edge: square to the line from the axis, going to the rear
    path = cmath.phase((tip - axis) * 1j)
    references = {
        "height_of_cut": tip.imag,
        "behind_centre": tip.real - axis.real,
        "below_centre": below,
        "reach": tip.imag - (axis.imag - radius),
        "reel_clearance": axis.imag - radius,
        "approach_angle": cmath.phase(1j * (tip - axis)),
        "attitude": -cmath.phase(there["seat"] - tip),
        "top_fall": falls,
        "front_lean": cmath.phase((there["face"] - tip) / -1j),
        "top_clearance": path + falls,
    }
    for name, reference in references.items():
        compared(
            "Sampled rollers tilted until level (brute force)", f"stance: {name}",
            reference=reference, obtained=getattr(found, name), tolerance=2e-8,
            note="mm and rad",
        )  # fmt: skip


def test_tilting_the_whole_unit_leaves_the_top_clearance() -> None:
    """A front roller 3 mm lower turns edge, seat and path alike."""
    level, nose_up = (
        stance_at(
            Section(
                127.0, Point(0.0, 0.0), Point(8.0, 63.0), Roller(-80.0, y, 64.0), Roller(90.0, 42.0, 50.0),
                Closing("knife up"), 0.0, 0.0, 0.2, 0.1,
            )
        )
        for y in (35.0, 38.0)
    )  # fmt: skip
    assert nose_up.attitude > level.attitude
    assert nose_up.behind_centre < level.behind_centre
    assert nose_up.top_clearance == pytest.approx(level.top_clearance, abs=1e-14)


def test_about_one_millimetre_of_behind_centre_for_a_degree() -> None:
    """Trade reference, own working there: tilting by delta moves b by about c times delta, 1.05 mm at c = 60 mm."""
    parts = Roller(-80.0, 32.0, 64.0), Roller(90.0, 39.0, 50.0)
    straight = Section(120.0, Point(0.0, 0.0), Point(0.0, 60.0), *parts, Closing("knife up"))
    # one degree nose down: the front axis higher by the distance of both axes times its sine, both rollers alike
    alike = Roller(-80.0, 39.0, 50.0)
    tilted = Section(
        120.0, Point(0.0, 0.0), Point(0.0, 60.0),
        Roller(alike.behind, alike.below - 170.0 * math.tan(math.radians(1.0)), 50.0), parts[1], Closing("knife up"),
    )  # fmt: skip
    assert stance_at(straight).behind_centre == pytest.approx(0.0, abs=1e-12)
    assert stance_at(tilted).behind_centre == pytest.approx(1.05, abs=0.005)


@pytest.mark.parametrize(("b", "radius", "reach"), [
    (3, 63.5, 0.07), (5, 60, 0.21), (6.5, 57, 0.37), (8, 89, 0.36), (10, 63.5, 0.79), (12, 57, 1.28),
])  # fmt: skip
def test_reach_of_the_trade_references_table(b: float, radius: float, reach: float) -> None:
    """Own working there, to the last digit printed; R² = b² + c²."""
    edge = Point(b, math.sqrt(radius**2 - b**2))
    parts = Roller(-80.0, radius - 28.0, 64.0), Roller(90.0, radius - 21.0, 50.0)
    assert stance_at(Section(2 * radius, Point(0, 0), edge, *parts, Closing("knife up"))).reach == pytest.approx(
        reach, abs=0.0051
    )


def test_refusals() -> None:
    with pytest.raises(Contradiction, match="inside the other"):
        ground_line(Roller(-5.0, 0.0, 100.0), Roller(5.0, 0.0, 50.0))
    parts = Roller(-80.0, 35.0, 64.0), Roller(90.0, 42.0, 50.0)
    with pytest.raises(Contradiction, match="above the reel's axis"):
        stance_at(Section(127.0, Point(0.0, 80.0), Point(8.0, 40.0), *parts, Closing("knife up")))
