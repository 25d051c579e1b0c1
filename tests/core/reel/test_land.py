"""Land on the arc, against brute-force geometry: the facet's line stepped along until it crosses the new circle."""

import math

import numpy as np
import pytest

from sparkout.core.errors import OutOfRange
from sparkout.core.reel.land import land_after_grind, radius_for_land, relief_angle_from_radius_datum, relief_gone


def land_by_brute_force(land: float, alpha: float, removed: float, diameter: float) -> float:
    """Walk down the facet in the plane and bisect its distance from the axis; no closed form of ours in it."""
    radius = diameter / 2.0
    back = land / radius  # the edge at angle 0, the back of the land at this angle behind it
    start = radius * np.array([math.cos(back), math.sin(back)])
    tangent = np.array([-math.sin(back), math.cos(back)])
    inward = -start / radius
    way = math.cos(alpha) * tangent + math.sin(alpha) * inward
    near, far = 0.0, radius * math.sin(alpha)  # the line comes closest to the axis here
    for _ in range(200):
        middle = 0.5 * (near + far)
        if np.linalg.norm(start + middle * way) > radius - removed:
            near = middle
        else:
            far = middle
    end = start + near * way
    return (radius - removed) * math.atan2(end[1], end[0])


@pytest.mark.parametrize("land", [0.0, 0.5, 1.0, 3.0])
@pytest.mark.parametrize("degrees", [8, 20, 30, 45, 60, 80])
@pytest.mark.parametrize("removed", [0.0, 0.01, 0.3, 0.6])
def test_land_agrees_with_brute_force(land: float, degrees: float, removed: float) -> None:
    alpha = math.radians(degrees)
    exact = land_after_grind(land, alpha, removed, 127.0)
    assert exact == pytest.approx(land_by_brute_force(land, alpha, removed, 127.0), abs=2e-9)


@pytest.mark.parametrize(("degrees", "wanted"), [(45, 1.29599), (30, 1.51865)])
def test_brute_force_gives_the_trade_models_figures(degrees: float, wanted: float) -> None:
    """The project's own page states these; the geometry above, not our closed form, is what confirms them."""
    assert round(land_by_brute_force(1.0, math.radians(degrees), 0.3, 127.0), 5) == wanted
    assert round(land_after_grind(1.0, math.radians(degrees), 0.3, 127.0), 5) == wanted


def test_flat_rule_is_within_one_per_cent_at_these_sizes() -> None:
    exact = land_after_grind(1.0, math.radians(45), 0.3, 127.0)
    assert abs(exact / 1.3 - 1.0) < 0.01


def test_radius_for_land_inverts() -> None:
    for removed in (0.0, 0.05, 0.4, 2.0):
        for degrees in (20, 45, 70):
            land = land_after_grind(0.9, math.radians(degrees), removed, 120.0)
            assert radius_for_land(0.9, math.radians(degrees), land, 120.0) == pytest.approx(removed, abs=1e-10)


@pytest.mark.parametrize("land_wanted", [0.5, 90.0])
def test_land_that_cannot_be_reached_is_refused(land_wanted: float) -> None:
    with pytest.raises(OutOfRange, match="land_wanted"):
        radius_for_land(1.0, math.radians(45), land_wanted, 127.0)


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ((-0.1, 0.8, 0.1, 127.0), "land"),
        ((1.0, 0.01, 0.1, 127.0), "relief_angle"),
        ((1.0, 45.0, 0.1, 127.0), "relief_angle"),
        ((1.0, 0.8, -0.1, 127.0), "radius_removed"),
        ((1.0, 0.8, 40.0, 127.0), "radius_removed"),
        ((1.0, 0.8, 0.1, 127_000.0), "reel_diameter"),
        ((math.nan, 0.8, 0.1, 127.0), "land"),
    ],
)
def test_bad_values_are_named(arguments: tuple[float, ...], named: str) -> None:
    with pytest.raises(OutOfRange, match=named):
        land_after_grind(*arguments)


def test_relief_gone_when_land_reaches_the_back_of_the_blade() -> None:
    assert relief_gone(6.0, 6.0)
    assert not relief_gone(5.999, 6.0)


def test_only_at_45_degrees_is_the_datum_indifferent() -> None:
    assert relief_angle_from_radius_datum(math.radians(45)) == pytest.approx(math.radians(45))
    assert relief_angle_from_radius_datum(math.radians(30)) == pytest.approx(math.radians(60))
    with pytest.raises(OutOfRange):
        relief_angle_from_radius_datum(0.0)
