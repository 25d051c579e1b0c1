"""Both models of the rib side by side, and how fast a machine bobs (a mass let go on its spring)."""

import math

import pytest

from sparkout.core.cut.clip import clip
from sparkout.core.cut.stubble import stubble
from sparkout.core.cut.trochoid import cusp
from sparkout.core.errors import OutOfRange
from sparkout.core.ribs.bounce import STANDARD_GRAVITY, bounce_frequency, bounce_frequency_from_sag
from sparkout.core.ribs.depth import STANDING, rib_depth


def test_depth_is_that_of_the_two_models() -> None:
    depth = rib_depth(1250.0, 11, 160.0, 127.0, 4.0)
    assert depth.clip == clip(1250.0, 11, 160.0)
    assert depth.cusp == cusp(1250.0, 11, 160.0, 127.0)
    assert depth.leaf_spread == stubble(4.0, depth.clip).spread
    assert depth.speed_ratio == pytest.approx(160.0 * 63.5 / 1250.0)
    assert depth.standing == STANDING


def test_on_a_green_the_leaf_spread_is_deeper_and_on_a_slow_gang_the_cusp_counts() -> None:
    """Trade reference 2.3 and 2.4: hundredths of a millimetre against millimetres on a green; 5 mm cusps on a gang."""
    assert rib_depth(1250.0, 11, 50 * math.pi, 127.0, 4.0).deeper == "leaf spread"
    ratio, radius = 3.0, 100.0
    gang = rib_depth(2500.0, 5, ratio * 2500.0 / radius, 2 * radius, 170.0)
    assert gang.cusp == pytest.approx(5.16, abs=0.005)
    assert gang.deeper == "cusp"


@pytest.mark.parametrize("damping", [0.0, 0.1, 0.4])
def test_frequency_by_letting_a_mass_go(damping: float) -> None:
    """Brute force: step the motion of a mass on a damped spring, and time its crossings."""
    stiffness, mass = 80.0, 250.0  # N/mm, kg
    natural = math.sqrt(1000.0 * stiffness / mass)
    place, speed, time, step = 1.0, 0.0, 0.0, 1e-5
    crossings = []
    while len(crossings) < 4:
        before = place
        speed -= step * (natural**2 * place + 2 * damping * natural * speed)
        place += step * speed
        time += step
        if before > 0 >= place or before < 0 <= place:
            crossings.append(time)
    timed = 1.0 / (crossings[3] - crossings[1])
    assert bounce_frequency(stiffness, mass, damping) == pytest.approx(timed, rel=1e-3)


def test_sag_and_stiffness_agree() -> None:
    """The weight of the mass presses its own spring down by m g / k."""
    stiffness, mass = 150.0, 400.0
    sag = mass * STANDARD_GRAVITY / 1000.0 / stiffness
    assert bounce_frequency_from_sag(sag) == pytest.approx(bounce_frequency(stiffness, mass), rel=1e-14)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: bounce_frequency(0.0, 100.0), "stiffness"),
        (lambda: bounce_frequency(10.0, 0.0), "mass"),
        (lambda: bounce_frequency(10.0, 100.0, 1.0), "damping"),
        (lambda: bounce_frequency_from_sag(0.0), "sag"),
        (lambda: rib_depth(1250.0, 11, 160.0, 127.0, 0.0), "height_of_cut"),
        (lambda: rib_depth(20_000.0, 11, 160.0, 127.0, 4.0), "travel_speed"),
    ],
)
def test_refusals(call, named: str) -> None:
    with pytest.raises(OutOfRange, match=rf"^{named}"):
        call()
