"""The season on the wall, the load of its weeks, the fleet's age: where things stand, what is said and refused."""

import datetime
import itertools
import math
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.drawing import gallery
from tests.drawing.looking import SVG, parsed, problems, texts

from sparkout.core.errors import OutOfRange
from sparkout.drawing.age import Aged, fleet_age
from sparkout.drawing.load import Hours, load_by_week
from sparkout.drawing.wall import LEAST, days_across, wall_and_names
from sparkout.drawing.wall_given import WORKS, Block, FreshFor, Row, Stretch, Wall

MONDAY = datetime.date(2027, 3, 1)


def small(*blocks: Block, **more) -> Wall:
    return Wall(MONDAY, 28, [Row("G1 left", "machine 1"), Row("G1 right", "machine 1")], blocks, **more)


def planner(given: Wall, **manners) -> str:
    return wall_and_names(given, **manners)[0]


def targets(svg: str) -> list[dict[str, str]]:
    """Every link's own attributes with those of its target."""
    return [{**dict(a.attrib), **dict(a.find(SVG + "rect").attrib)} for a in parsed(svg).iter(SVG + "a")]


@pytest.mark.parametrize("name", ["wall", "wall-of-200", "wall-narrow", "load", "age"])
@pytest.mark.parametrize("manner", gallery.MANNERS.values())
@pytest.mark.parametrize("width", [320, 390, 1360])
def test_every_picture_is_sound(name, manner, width):
    assert problems(gallery.PICTURES[name]({**manner, "width": width})) == []


def test_a_block_stands_on_its_day_and_its_link_carries_it():
    svg = planner(small(Block(1, 9, 12, "spin", "G1 right, Wednesday", href="?job=a")), width=1000)
    left, wide = days_across(1000, 28)
    (link,) = targets(svg)
    assert link["data-day"] == "9"
    assert link["data-row"] == "1"
    assert link["href"] == "?job=a"
    assert link["aria-label"] == "G1 right, Wednesday"
    assert float(link["x"]) == pytest.approx(left + 9 * wide, abs=0.02)


def test_no_target_is_smaller_than_24_px_and_none_lies_over_another():
    for wall in (gallery.season(200, leading=True), gallery.season(5, 52, leading=True)):
        found = targets(planner(wall, width=1360))
        boxes = [tuple(float(each[key]) for key in ("x", "y", "width", "height")) for each in found]
        assert all(w >= LEAST and h >= LEAST for _, _, w, h in boxes)
        by_height: dict[float, list[float]] = {}
        for x, y, _, _ in boxes:
            by_height.setdefault(y, []).append(x)
        for xs in by_height.values():
            placed = sorted(xs)
            assert all(b - a >= LEAST - 0.1 for a, b in itertools.pairwise(placed))


def test_late_and_in_time_differ_without_their_colour():
    """A late block points left, an early one right, one on its day has four corners; the late one's line is dashed."""

    def corners(day: int, due: int) -> tuple[int, bool, bool]:
        svg = planner(small(Block(0, day, due, "spin", "x")), width=1000)
        body = next(p for p in parsed(svg).iter(SVG + "path") if p.get("stroke-width") == "1.2")
        points = [tuple(map(float, pair)) for pair in re.findall(r"([\d.]+) ([\d.]+)", body.get("d"))]
        xs = [x for x, _ in points]
        dashed = any(line.get("stroke-dasharray") == "3 2" for line in parsed(svg).iter(SVG + "line"))
        return len(points), xs.count(min(xs)) == 1, dashed

    assert corners(5, 5) == (4, False, False)
    assert corners(4, 8) == (5, False, False)
    assert corners(8, 4) == (5, True, True)
    said = " ".join(texts(parsed(planner(small(Block(0, 8, 4, "spin", "x")), width=1000))))
    assert "late: points back to its due day" in said
    assert "in time" not in said


def test_only_what_is_shown_is_in_the_key():
    bare = " ".join(texts(parsed(planner(small(), width=1000))))
    assert not any(word in bare for word in ("by hand", "away", "cannot be spared", "left undone", "today"))
    wall = small(
        Block(0, None, 60, "relief", "x", by_hand=True),
        fresh=[FreshFor("final", 20, (0,))],
        away=[Stretch("technician A", 3, 5)],
        off=[5, 6],
        today=2,
    )
    full = " ".join(texts(parsed(planner(wall, width=1000))))
    for word in ("day chosen by hand", "away", "nobody works", "left undone", "today", "to be fresh by then: final"):
        assert word in full


def test_what_lies_outside_the_stretch_shown_is_left_out():
    blocks = [Block(0, 1, 3, "spin", "before", href="?a"), Block(0, 40, 41, "spin", "in", href="?b"),
              Block(0, 90, 90, "spin", "after", href="?c")]  # fmt: skip
    wall = Wall(MONDAY, 28, [Row("G1")], blocks, away=[Stretch("A", 0, 300)], first=28)
    svg = planner(wall, width=900)
    assert [link["href"] for link in targets(svg)] == ["?b"]
    assert problems(svg) == []


def test_blocks_of_one_row_on_one_day_stand_below_each_other():
    svg = planner(small(*(Block(0, 9, 9, "spin", str(i), href=f"?{i}") for i in range(4))), width=1000)
    assert len({link["y"] for link in targets(svg)}) == 4


row = st.tuples(st.text(max_size=40), st.text(max_size=20))
a_block = st.tuples(st.none() | st.integers(0, 400), st.integers(-100, 500), st.sampled_from(WORKS), st.booleans())


@given(st.lists(row, min_size=1, max_size=6), st.lists(a_block, max_size=20), st.integers(1, 200), st.integers(0, 90))
@settings(max_examples=30, deadline=None)
def test_any_season(rows, blocks, days, first):
    made = [
        Block(i % len(rows), *block[:3], "told", block[3], f"?{i}" if i % 2 else "") for i, block in enumerate(blocks)
    ]
    wall = Wall(MONDAY, days, [Row(*each) for each in rows], made, first=first)
    assert problems(planner(wall, width=700)) == []


@pytest.mark.parametrize(
    "wall",
    [
        Wall(MONDAY, 0, [Row("a")], []),
        Wall(MONDAY, 401, [Row("a")], []),
        Wall(MONDAY, 7, [], []),
        Wall(MONDAY, 7, [Row("a")], [Block(1, 0, 0, "spin", "")]),
        Wall(MONDAY, 7, [Row("a")], [Block(0, -1, 0, "spin", "")]),
        Wall(MONDAY, 7, [Row("a")], [Block(0, 1, 9000, "spin", "")]),
        Wall(MONDAY, 7, [Row("a")], [Block(0, 1, 1, "polish", "")]),
        Wall(MONDAY, 7, [Row("a")], [], away=[Stretch("A", 5, 4)]),
        Wall(MONDAY, 7, [Row("a")], [], fresh=[FreshFor("x", 5, (3,))]),
    ],
)
def test_bad_walls_are_refused(wall):
    with pytest.raises(OutOfRange):
        planner(wall)


def test_hours_are_as_tall_as_they_are_many_and_what_is_beyond_is_hatched():
    svg = load_by_week(["1 Mar", "8 Mar"], [Hours("grinder", [40.0, 20.0], [10.0, 30.0])], time=lambda v: f"{v:g} h")
    heights = [float(r.get("height")) for r in parsed(svg).iter(SVG + "rect")]
    assert heights[0] == pytest.approx(4 * heights[1], abs=0.05)
    assert heights[2] == pytest.approx(2 * heights[4], abs=0.05)
    assert "grinder beyond the hours there are in the week of 8 Mar" in " ".join(texts(parsed(svg)))
    assert "grinder: week of 8 Mar: 30 h of 20 h." in parsed(svg).findtext(SVG + "desc")


@pytest.mark.parametrize(
    ("weeks", "rows"),
    [
        ([], [Hours("a", [], [])]),
        (["1"], []),
        (["1"], [Hours("a", [1.0, 2.0], [1.0])]),
        (["1"], [Hours("a", [1.0], [-1.0])]),
        (["1"], [Hours("a", [1.0], [math.nan])]),
    ],
)
def test_bad_hours_are_refused(weeks, rows):
    with pytest.raises(OutOfRange):
        load_by_week(weeks, rows)


def test_age_is_said_and_drawn_to_scale():
    units = [
        Aged("a", 4.0, (100.0, 150.0, 200.0, 300.0, 400.0)),
        Aged("b", 1.0, (10.0, 20.0, 50.0, math.inf, math.inf)),
    ]
    svg = fleet_age(units, along=lambda v: f"{v:g} h")
    bars = [float(r.get("width")) for r in parsed(svg).iter(SVG + "rect")]
    assert bars[1] == pytest.approx(4 * bars[5], abs=0.05)
    described = parsed(svg).findtext(SVG + "desc")
    assert "a: 4 mm left; limit in 200 h; 90 % between 100 h and 400 h." in described
    assert "b: 1 mm left; limit in 50 h; 90 % between 10 h and no time in sight." in described
    rings = [float(c.get("cx")) for c in parsed(svg).iter(SVG + "circle")]
    labels = {t.text: float(t.get("x")) for t in parsed(svg).iter(SVG + "text")}
    assert rings[0] == pytest.approx(labels["200 h"], abs=2)


@pytest.mark.parametrize(
    "units",
    [
        [],
        [Aged("a", math.nan, (1, 2, 3, 4, 5))],
        [Aged("a", 1.0, (1, 2, 3, 4, math.nan))],
        [Aged("a", 1.0, (5, 4, 3, 2, 1))],
        [Aged("a", 1.0, (-1, 2, 3, 4, 5))],
    ],
)
def test_bad_ages_are_refused(units):
    with pytest.raises(OutOfRange):
        fleet_age(units)


def test_the_names_alone_are_those_of_the_wall_at_the_same_heights() -> None:
    given_ = small(Block(0, 8, 4, "spin", "x"), away=[Stretch("technician A", 2, 5)])
    whole, alone = wall_and_names(given_, width=1360)
    assert whole == planner(given_, width=1360)
    rows = {(element.text, element.get("y")) for element in parsed(alone).iter(SVG + "text")}
    assert {text for text, _ in rows} == {"technician A", "machine 1", "G1 left", "G1 right"}
    assert rows <= {(element.text, element.get("y")) for element in parsed(whole).iter(SVG + "text")}
    wide, narrow = (parsed(svg).get("viewBox", "").split() for svg in (whole, alone))
    assert wide[3] == narrow[3]
    assert float(narrow[2]) == days_across(1360.0, 28)[0]
    assert parsed(alone).get("aria-hidden") == "true"
