"""Edge stock against brute force: a rounded wedge in the plane, cut back by half planes, no closed form of ours.

Axes here: x rearwards, y up, the sharp corner at the origin, metal below the top face and behind the front face.
"""

import math

import numpy as np
import pytest

from sparkout.core.bedknife.edge import (
    completing_stock,
    edge_shift,
    included_angle,
    knife_edge_stock,
    wear_land_stock,
)
from sparkout.core.errors import OutOfRange

ANGLES = [(0.0, 0.0), (12.0, 5.0), (15.0, 0.0), (30.0, 10.0)]


def depths(point, top, front):
    """How far a point lies under the top face and behind the front face (straight from the face normals)."""
    under = -(point[0] * math.sin(top) + point[1] * math.cos(top))
    behind = point[0] * math.cos(front) + point[1] * math.sin(front)
    return under, behind


def new_corner(a, b, top, front):
    """Where the faces set back by a and b meet: two linear equations."""
    normals = np.array([[-math.sin(top), -math.cos(top)], [math.cos(front), math.sin(front)]])
    return np.linalg.solve(normals, [a, b])


def is_metal(point, rho, top, front):
    """Whether the rounded knife has metal there: inside the wedge, and not in the corner outside the rolling circle."""
    under, behind = depths(point, top, front)
    if under < -1e-12 or behind < -1e-12:
        return False
    centre = new_corner(rho, rho, top, front)
    along_top = np.array([math.cos(top), -math.sin(top)])
    along_front = np.array([math.sin(front), -math.cos(front)])
    before_top = float((point - centre) @ along_top) < 0.0  # nearer the corner than the circle's touch on the top face
    before_front = float((point - centre) @ along_front) < 0.0
    if before_top and before_front:
        return float(np.linalg.norm(point - centre)) <= rho + 1e-12
    return True


def least_stock(rho, top, front, way, other=0.0):
    """Bisect the least stock whose new corner is metal."""
    low, high = 0.0, 5.0 * rho
    for _ in range(80):
        middle = 0.5 * (low + high)
        a, b = {"top": (middle, other), "front": (other, middle), "both": (middle, middle)}[way]
        if is_metal(new_corner(a, b, top, front), rho, top, front):
            high = middle
        else:
            low = middle
    return high


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize("way", ["top", "front", "both"])
def test_stock_is_the_least_that_reaches_sharp_metal(degrees, way):
    top, front = map(math.radians, degrees)
    result = knife_edge_stock(0.15, top, front, way)
    assert math.degrees(result.included_angle) == pytest.approx(90.0 - sum(degrees))
    assert result.stock == pytest.approx(least_stock(0.15, top, front, way), abs=1e-6)


@pytest.mark.parametrize("degrees", ANGLES)
@pytest.mark.parametrize("share", [0.0, 0.1, 0.5, 1.0, 1.2])
def test_completing_stock_is_the_least_beside_the_other_face(degrees, share):
    top, front = map(math.radians, degrees)
    beta = included_angle(top, front)
    expected = least_stock(0.15, top, front, "top", other=0.15 * share)
    assert completing_stock(0.15, beta, 0.15 * share) == pytest.approx(expected, abs=1e-6)


def test_completing_stock_ends_where_the_other_face_does_it_alone():
    beta = math.radians(73)
    alone = 0.1 * (1 + math.cos(beta))
    alike = 0.1 * (1 - math.sin(beta / 2))
    assert completing_stock(0.1, beta, 0.0) == pytest.approx(alone)
    assert completing_stock(0.1, beta, alone) == 0.0
    assert completing_stock(0.1, beta, alike) == pytest.approx(alike)
    assert completing_stock(0.0, beta, 0.0) == 0.0


def test_trade_reference_figures():
    """Multiples of the rounding the project's own reference works out: 1.26 at 75, 1.34 at 70, 1.00 at 90 degrees."""
    for top, multiple in ((15.0, 1.26), (20.0, 1.34), (0.0, 1.0)):
        assert knife_edge_stock(1.0, math.radians(top), 0.0, "top").stock == pytest.approx(multiple, abs=0.005)


@pytest.mark.parametrize("degrees", [4.0, 12.0, 25.0])
def test_wear_land_stock_reaches_the_front_of_the_flat(degrees):
    """Brute force: a flat of width u cut level from the front face; how deep its front corner lies under the top."""
    top = math.radians(degrees)
    rear = np.array([1.0, -math.tan(top)]) * 3.0  # where the flat runs out on the top face; the front face is upright
    width = 0.8
    corner = np.array([rear[0] - width, rear[1]])
    under, _ = depths(corner, top, 0.0)
    assert wear_land_stock(width, top) == pytest.approx(under)
    assert width * math.tan(top) == pytest.approx(under / math.cos(top)), "the height lost, straight down"


@pytest.mark.parametrize("degrees", ANGLES)
def test_edge_shift_is_where_the_ground_faces_meet(degrees):
    top, front = map(math.radians, degrees)
    corner = new_corner(0.3, 0.2, top, front)
    moved = edge_shift(0.3, 0.2, top, front)
    assert (moved.back, -moved.down) == pytest.approx(tuple(corner))


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: knife_edge_stock(-0.1, 0.2, 0.1, "top"), "edge_radius"),
        (lambda: knife_edge_stock(0.1, 12.0, 0.1, "top"), "top_angle"),
        (lambda: knife_edge_stock(0.1, 0.2, -0.1, "top"), "front_angle"),
        (lambda: knife_edge_stock(0.1, 0.2, 0.1, "rear"), "faces"),
        (lambda: completing_stock(0.1, 0.0, 0.1), "included_angle"),
        (lambda: completing_stock(0.1, 1.2, -0.1), "other_stock"),
        (lambda: wear_land_stock(-1.0, 0.2), "wear_land"),
        (lambda: edge_shift(math.nan, 0.0, 0.2, 0.1), "top_stock"),
    ],
)
def test_bad_values_are_named(call, named):
    with pytest.raises(OutOfRange, match=named):
        call()
