import math

import pytest

from sparkout.core.bedknife.section import KnifeSection
from sparkout.core.errors import OutOfRange

SECTION = KnifeSection(
    math.radians(12), math.radians(5), 4.0, 6.0, 5.0, 10.0
)  # short, so that the top plane meets the lip only


def area(corners):
    """Shoelace."""
    return 0.5 * abs(
        sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True))
    )


def test_angles_can_be_measured_on_the_polygon():
    edge, heel, *_, toe = SECTION.polygon()
    top = math.atan2(edge[1] - heel[1], heel[0] - edge[0])
    front = math.atan2(toe[0] - edge[0], edge[1] - toe[1])
    assert math.degrees(top) == pytest.approx(12.0)
    assert math.degrees(front) == pytest.approx(5.0)
    assert math.degrees(SECTION.included_angle) == pytest.approx(73.0)


def clipped(corners, inside, depth):
    """Sutherland and Hodgman: the part of a polygon that lies deeper than `depth` under a plane."""
    kept = []
    for start, end in zip(corners, corners[1:] + corners[:1], strict=True):
        a, b = inside(start) - depth, inside(end) - depth
        if a >= 0:
            kept.append(start)
        if a * b < 0:
            share = a / (a - b)
            kept.append(tuple(p + share * (q - p) for p, q in zip(start, end, strict=True)))
    return kept


def test_ground_section_is_the_old_one_cut_by_two_planes():
    ground = SECTION.ground(0.3, 0.2)
    back = SECTION.front_lip_depth - ground.front_lip_depth
    down = SECTION.lip_height - ground.lip_height
    after = ground.polygon((back, -down))
    top, front = math.radians(12), math.radians(5)
    cut = clipped(SECTION.polygon(), lambda p: -p[0] * math.sin(top) - p[1] * math.cos(top), 0.3)
    cut = clipped(cut, lambda p: p[0] * math.cos(front) + p[1] * math.sin(front), 0.2)
    assert area(after) == pytest.approx(area(cut), rel=1e-12)
    for corner in after:
        assert min(math.dist(corner, other) for other in cut) < 1e-9


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"top_angle": 12.0}, "top_angle"),
        ({"front_angle": -0.1}, "front_angle"),
        ({"front_lip_depth": 0.0}, "front_lip_depth"),
        ({"thickness": 0.0}, "thickness"),
        ({"width": 3.0}, "width"),
        ({"lip_height": 0.0}, "lip_height"),
        ({"lip_height": 1.0}, "lip_height"),
    ],
)
def test_impossible_sections_are_refused(change, named):
    good = {
        "top_angle": math.radians(12),
        "front_angle": math.radians(5),
        "lip_height": 4.0,
        "front_lip_depth": 6.0,
        "thickness": 5.0,
        "width": 40.0,
    }
    with pytest.raises(OutOfRange, match=named):
        KnifeSection(**(good | change))
