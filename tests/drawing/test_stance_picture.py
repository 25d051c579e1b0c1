"""The unit on its rollers: every number written, to scale, whatever numbers come in; refusals."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.drawing.looking import SVG, parsed, problems, texts
from tests.drawing.test_any_numbers import few, mostly, sound_or_refused

from sparkout.core.errors import OutOfRange
from sparkout.drawing.stance import DrawnStance, unit_on_its_rollers

NOW = DrawnStance(63.5, 67.0, 8.0, 4.0, -80.0, 32.0, 90.0, 25.0, 0.01, 0.2, 0.09, 0.33, 0.12)


def circles(svg: str) -> list[tuple[float, float, float]]:
    """(x, y, radius) of each closed round outline, from its own points."""
    found = []
    for element in parsed(svg).iter(SVG + "path"):
        points = [(float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.get("d", ""))]
        if len(points) < 60:
            continue
        xs, ys = [p[0] for p in points], [p[1] for p in points]
        wide, tall = max(xs) - min(xs), max(ys) - min(ys)
        if abs(wide - tall) < 0.01 * wide:
            found.append(((max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2, wide / 2))
    return found


@pytest.mark.parametrize("width", [390.0, 780.0])
def test_every_number_is_written(width: float) -> None:
    said = " ".join(texts(parsed(unit_on_its_rollers(NOW, heights=(4.0, 4.1), foot_off=0.2, width=width))))
    for wanted in (
        "height of cut 4 mm", "behind centre 8 mm", "reach 0.5 mm below the edge", "blades 3.5 mm off the ground",
        "front roller 64 mm", "rear roller 50 mm", "left end 4 mm", "right end 4.1 mm", "right end higher by 0.1 mm",
        "one foot 0.2 mm off a flat bench", "approach 6.875°", "top clearance 18.91°", "from upright, leaning back",
    ):  # fmt: skip
        assert wanted in said
    without = " ".join(texts(parsed(unit_on_its_rollers(NOW))))
    assert "from behind" not in without
    assert "flat bench" not in without
    assert "before" not in without
    assert "both ends level" in " ".join(texts(parsed(unit_on_its_rollers(NOW, heights=(4.0, 4.0)))))
    assert "left end higher by 0.1 mm" in " ".join(texts(parsed(unit_on_its_rollers(NOW, heights=(4.1, 4.0)))))


def test_one_scale_for_all_that_is_round() -> None:
    """Radii and distances of the drawn circles stand as in the unit; both rollers touch the ground line."""
    front, rear, reel = circles(unit_on_its_rollers(NOW))[:3]
    per_mm = reel[2] / 63.5
    assert front[2] / per_mm == pytest.approx(32.0, rel=0.002)
    assert rear[2] / per_mm == pytest.approx(25.0, rel=0.002)
    assert (rear[0] - front[0]) / per_mm == pytest.approx(170.0, rel=0.002)
    assert front[1] + front[2] == pytest.approx(rear[1] + rear[2], abs=0.05)
    assert (front[1] + front[2] - reel[1]) / per_mm == pytest.approx(67.0, rel=0.002)


def test_what_stood_before_is_dashed_and_told() -> None:
    svg = unit_on_its_rollers(NOW, before=NOW._replace(height_of_cut=4.5, axis_height=67.5))
    assert "before" in texts(parsed(svg))
    dashed = [e for e in parsed(svg).iter(SVG + "path") if e.get("stroke-dasharray") == "5 3"]
    assert len(dashed) == 2 * 4  # reel, two rollers and knife, in both views
    assert problems(svg) == []


@pytest.mark.parametrize("height", [0.5, 1.5, 4.0, 12.0, 40.0, 120.0])
@pytest.mark.parametrize("behind", [-12.0, -1.0, 0.0, 3.0, 8.0, 25.0])
@pytest.mark.parametrize("radius", [45.0, 63.5, 130.0])
@pytest.mark.parametrize("width", [320.0, 390.0, 1000.0])
def test_any_unit(height: float, behind: float, radius: float, width: float) -> None:
    below = math.sqrt(radius**2 - behind**2)
    stands = DrawnStance(
        radius, below + height, behind, height, -1.3 * radius, 0.5 * radius, 1.4 * radius, 0.4 * radius, 0.05, 0.25,
    )  # fmt: skip
    svg = unit_on_its_rollers(stands, heights=(height, height + 0.03), foot_off=0.1, width=width)
    assert problems(svg) == []


@few
@given(st.data())
def test_whatever_numbers_come_in(data) -> None:
    usual = [
        st.floats(20, 300), st.floats(20, 350), st.floats(-40, 60), st.floats(-5, 120), st.floats(-300, -30),
        st.floats(5, 150), st.floats(10, 300), st.floats(5, 150), *[st.floats(-1.2, 1.2)] * 5,
    ]  # fmt: skip
    stands = DrawnStance(*(data.draw(mostly(one)) for one in usual))
    heights = data.draw(st.none() | st.tuples(mostly(st.floats(-5, 120)), mostly(st.floats(-5, 120))))
    before = data.draw(st.none() | st.just(NOW))
    width = data.draw(st.sampled_from([320.0, 390.0, 820.0]))
    sound_or_refused(unit_on_its_rollers, stands, before=before, heights=heights, width=width)


@pytest.mark.parametrize(
    ("change", "match"),
    [
        ({"reel_radius": 0.0}, "now.reel_radius"),
        ({"axis_height": math.nan}, "now.axis_height"),
        ({"rear_behind": -90.0}, "now.rear_behind"),
        ({"height_of_cut": 500.0}, "now.height_of_cut"),
        ({"attitude": 2.0}, "now.attitude"),
    ],
)
def test_refusals(change: dict, match: str) -> None:
    with pytest.raises(OutOfRange, match=match):
        unit_on_its_rollers(NOW._replace(**change))
    with pytest.raises(OutOfRange, match=r"heights\[1\]"):
        unit_on_its_rollers(NOW, heights=(4.0, math.inf))
    with pytest.raises(OutOfRange, match="foot_off"):
        unit_on_its_rollers(NOW, foot_off=-1.0)
