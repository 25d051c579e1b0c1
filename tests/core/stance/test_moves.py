"""Turns for a wanted stance, against adjusters turned by hand until a brute-force unit stands right."""

import math
from dataclasses import replace

import pytest
from tests.core.stance.standing_by_hand import root, stood
from tests.published.evidence import compared

from sparkout.core.errors import Contradiction, NotEnough, OutOfRange
from sparkout.core.setting.clicks import Ends
from sparkout.core.stance.moves import RollerAdjuster, moves_to, roller_moved
from sparkout.core.stance.section import Closing, Point, Roller, Section
from sparkout.core.stance.unit import CuttingUnit, stance

EDGE = Point(8.0, 63.0)
END = Section(127.0, Point(0, 0), EDGE, Roller(-80, 35, 64), Roller(90, 42, 50), Closing("knife up"), seat_tilt=0.02)
UNIT = CuttingUnit(END, END, 533.0)
FRONT, REAR = RollerAdjuster(1.5, slide=-0.1), RollerAdjuster(1.25, slide=0.2)


def by_hand(section: Section, front: float, rear: float) -> tuple[float, float, float]:
    """Height, behind-centre and attitude of a section with its rollers turned out by so much, by sampled parts."""
    moved = [
        complex(r.behind + way * math.sin(slide), -(r.below + way * math.cos(slide)))
        for r, way, slide in ((section.front, front, FRONT.slide), (section.rear, rear, REAR.slide))
    ]
    edge = complex(section.edge.behind, -section.edge.below)
    parts = {"axis": 0j, "edge": edge, "front": moved[0], "rear": moved[1]}
    tilt, there = stood(parts, section.front.diameter, section.rear.diameter)
    return there["edge"].imag, (there["edge"] - there["axis"]).real, section.seat_tilt + tilt


@pytest.mark.parametrize("wanted", [2.5, 4.0, 7.0])
@pytest.mark.parametrize("which", ["front", "rear"])
def test_one_roller(wanted: float, which: str) -> None:
    place = (0, 1)[which == "rear"]

    def off(way: float) -> float:
        ways = [0.0, 0.0]
        ways[place] = way
        return by_hand(END, *ways)[0] - wanted

    reference = root(off, -15.0, 15.0)
    plan = moves_to(UNIT, wanted, **{which: FRONT if which == "front" else REAR})
    pair = plan.front if which == "front" else plan.rear
    assert (plan.rear if which == "front" else plan.front) is None
    for move in pair:
        compared(
            "Adjuster turned until sampled parts stand right (brute force)", f"travel of the {which} roller, mm",
            reference=reference, obtained=move.travel, tolerance=2e-6,
        )  # fmt: skip
        assert move.turns == pytest.approx(move.travel / (1.5 if which == "front" else 1.25))
        assert move.set_turns == move.turns
    assert plan.after.left.height_of_cut == pytest.approx(wanted, abs=1e-12)
    assert plan.after.level == pytest.approx(0.0, abs=1e-12)
    assert plan.notes == ()


@pytest.mark.parametrize("wanted", [{"attitude": 0.05}, {"attitude": -0.02}, {"behind_centre": 5.0}])
def test_both_rollers_for_height_and_attitude(wanted: dict) -> None:
    """The turns told are put on the brute-force unit: it must stand as wanted."""
    plan = moves_to(UNIT, 5.0, **wanted, front=FRONT, rear=REAR)
    height, behind, attitude = by_hand(END, plan.front.left.travel, plan.rear.left.travel)
    for name, reference, obtained in (
        ("height, mm", 5.0, height),
        *[("attitude, rad", wanted["attitude"], attitude) for _ in wanted if "attitude" in wanted],
        *[("behind centre, mm", wanted["behind_centre"], behind) for _ in wanted if "behind_centre" in wanted],
    ):
        compared(
            "Turns told, put on sampled parts (brute force)", f"reached {name}",
            reference=reference, obtained=obtained, tolerance=2e-6,
        )  # fmt: skip
    assert plan.after.middle.height_of_cut == pytest.approx(5.0, abs=1e-12)


def test_an_uneven_unit_is_levelled_end_by_end() -> None:
    uneven = replace(UNIT, right=replace(END, front=Roller(-80, 35.3, 64)))
    plan = moves_to(uneven, 4.0, front=FRONT)
    assert plan.after.level == pytest.approx(0.0, abs=1e-12)
    assert plan.front.left.travel > plan.front.right.travel


def test_adjusters_outside_the_blades_carry_the_line_on() -> None:
    outside = replace(FRONT, places=Ends(-40.0, 573.0))
    uneven = replace(UNIT, right=replace(END, front=Roller(-80, 35.3, 64)))
    near, far = moves_to(uneven, 4.0, front=FRONT), moves_to(uneven, 4.0, front=outside)
    assert far.after.level == pytest.approx(0.0, abs=1e-12)
    slope = (near.front.right.travel - near.front.left.travel) / 533.0
    assert far.front.left.travel == pytest.approx(near.front.left.travel - 40.0 * slope)
    assert far.front.right.travel == pytest.approx(near.front.right.travel + 40.0 * slope)


def test_whole_steps_and_ends_of_travel() -> None:
    stepped = replace(FRONT, step=0.25)
    plan = moves_to(UNIT, 5.0, front=stepped)
    for move in plan.front:
        assert move.set_turns / 0.25 == round(move.set_turns / 0.25)
        assert abs(move.set_turns - move.turns) <= 0.125
    assert plan.after.left.height_of_cut != 5.0
    stuck = replace(FRONT, least=Ends(0.0, -9.0), most=Ends(0.0, 1.0), step=0.25)
    short = moves_to(UNIT, 5.0, front=stuck)
    assert short.front.left.set_turns == 0.0
    assert short.front.left.short == short.front.left.travel
    assert short.front.right.set_turns == 0.5  # 1 mm is 0.67 turns: the whole step within it
    assert short.front.right.short == pytest.approx(short.front.right.travel - 1.0)
    assert short.notes == (
        "The front roller's left adjuster has too little travel for this.",
        "The front roller's right adjuster has too little travel for this.",
    )
    down = moves_to(UNIT, 3.0, front=replace(FRONT, least=Ends(-1.0, -9.0), step=0.25))
    assert down.front.left.set_turns == -0.5
    assert short.after.level == pytest.approx(stance(short.unit).level)


def test_front_is_moved_when_both_could_be_and_nothing_is_said_of_the_attitude() -> None:
    plan = moves_to(UNIT, 5.0, front=FRONT, rear=REAR)
    assert plan.front is not None
    assert plan.rear is None


def test_roller_moved() -> None:
    moved = roller_moved(UNIT, "front", Ends(1.0, 0.0), RollerAdjuster(1.5))
    assert moved.left.front == Roller(-80, 36, 64)
    assert moved.right.front == END.front
    assert roller_moved(UNIT, "rear", Ends(0.0, -0.5), RollerAdjuster(1.5)).right.rear.below == 41.5


@pytest.mark.parametrize(
    ("wanted", "error", "match"),
    [
        ({"height": 5.0}, NotEnough, "thread pitch"),
        ({"height": 5.0, "attitude": 0.1, "front": FRONT}, NotEnough, "both rollers"),
        ({"height": 5.0, "behind_centre": 4.0, "rear": REAR}, NotEnough, "both rollers"),
        ({"height": 5.0, "attitude": 0.1, "behind_centre": 4.0, "front": FRONT}, Contradiction, "give one"),
        ({"height": math.nan, "front": FRONT}, OutOfRange, "height"),
        ({"height": 150.0, "front": FRONT}, OutOfRange, "height"),
        ({"height": 5.0, "attitude": 2.0, "front": FRONT, "rear": REAR}, OutOfRange, "attitude"),
        ({"height": 5.0, "behind_centre": 64.0, "front": FRONT, "rear": REAR}, OutOfRange, "behind_centre"),
    ],
)
def test_refusals(wanted, error, match) -> None:
    with pytest.raises(error, match=match):
        moves_to(UNIT, **wanted)


@pytest.mark.parametrize(
    ("given", "match"),
    [
        ({"pitch": 0.0}, "pitch"),
        ({"slide": 2.0}, "slide"),
        ({"step": -1.0}, "step"),
        ({"least": Ends(0.5, -1.0)}, "left travel left"),
        ({"most": Ends(1.0, -0.5)}, "right travel left"),
    ],
)
def test_adjusters_refused(given, match) -> None:
    with pytest.raises(OutOfRange, match=match):
        RollerAdjuster(**{"pitch": 1.5, **given})
