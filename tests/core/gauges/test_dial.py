"""Dial readings round one station: run-out, askew plunger, first harmonic."""

import math

import numpy as np
import pytest

from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.gauges.dial import first_harmonic, run_out, travel_along_normal

THETA = np.arange(11) * 2 * np.pi / 11


def test_run_out_of_a_round_eccentric_station_is_twice_its_eccentricity() -> None:
    """Brute force: a circle whose centre is off by 0.05, its distance from the axis all round."""
    angles = np.linspace(0, 2 * np.pi, 3601)
    points = 63.5 * np.exp(1j * angles) + 0.05
    assert run_out(np.abs(points) - 63.5) == pytest.approx(0.10, rel=1e-9)


def test_run_out_does_not_see_the_dials_zero() -> None:
    assert run_out([0.52, 0.49, 0.50]) == pytest.approx(run_out([0.02, -0.01, 0.0]))


def test_plunger_askew_against_a_drawn_plane() -> None:
    """Brute force: where a line askew by the tilt meets a plane before and after the plane moves up by 0.1."""
    tilt = math.radians(15.0)
    direction = np.array((math.sin(tilt), math.cos(tilt)))
    lengths = [np.linalg.norm(direction * height / direction[1]) for height in (10.0, 10.1)]
    assert travel_along_normal(lengths[1] - lengths[0], tilt) == pytest.approx(0.1, rel=1e-10)


@pytest.mark.parametrize(("reading", "tilt"), [(0.1, math.radians(61)), (101.0, 0.0), (math.nan, 0.0)])
def test_plunger_refusals(reading: float, tilt: float) -> None:
    with pytest.raises(OutOfRange, match="allowed"):
        travel_along_normal(reading, tilt)


def test_harmonic_against_the_handbooks_sums_for_even_angles() -> None:
    """NIST/SEMATECH e-Handbook 3.4.4: m = sum r / N, a = 2 sum r cos / N, b = 2 sum r sin / N, on noisy readings."""
    readings = 0.03 * np.cos(THETA - 2.0) + np.random.default_rng(4).normal(0, 0.01, 11) + 0.2
    found = first_harmonic(THETA, readings)
    a, b = 2 * np.mean(readings * np.cos(THETA)), 2 * np.mean(readings * np.sin(THETA))
    assert found.mean == pytest.approx(readings.mean(), rel=1e-12)
    assert found.eccentricity == pytest.approx(math.hypot(a, b), rel=1e-12)
    assert found.phase == pytest.approx(math.atan2(b, a) % (2 * math.pi), rel=1e-12)
    deviation = readings - readings.mean() - a * np.cos(THETA) - b * np.sin(THETA)
    assert found.residual == pytest.approx(deviation, abs=1e-15)
    assert found.covariance == pytest.approx(np.diag((1 / 11, 2 / 11, 2 / 11)), abs=1e-15)


def test_harmonic_of_a_displaced_circle() -> None:
    """Brute force: a circle of 63.5 off centre by (0.03, -0.04) seen along uneven angles; exact to e²/2R."""
    uneven = np.array((0.1, 0.9, 1.7, 3.0, 4.1, 5.5))
    cosines = 0.03 * np.cos(uneven) - 0.04 * np.sin(uneven)
    distance = cosines + np.sqrt(63.5**2 - 0.05**2 + cosines**2)
    found = first_harmonic(uneven, distance)
    assert found.eccentricity == pytest.approx(0.05, abs=0.05**2 / 63.5)
    assert found.phase == pytest.approx(math.atan2(-0.04, 0.03) % (2 * math.pi), abs=1e-3)
    assert found.mean == pytest.approx(63.5, abs=0.05**2 / 63.5)


def test_harmonic_covariance_against_repeating_it() -> None:
    """Brute force: the scatter of the estimates over 4,000 noisy repetitions with uneven angles."""
    angles = np.array((0.0, 0.5, 1.5, 2.5, 4.0))
    generator = np.random.default_rng(9)
    found = []
    for _ in range(4000):
        h = first_harmonic(angles, generator.normal(0.0, 1.0, 5))
        found.append((h.mean, h.eccentricity * math.cos(h.phase), h.eccentricity * math.sin(h.phase)))
    assert np.cov(np.array(found).T) == pytest.approx(h.covariance, abs=0.08)


@pytest.mark.parametrize(
    ("angles", "readings", "error", "says"),
    [
        ([0, 1], [0, 0], NotEnough, "at least 3 blades"),
        ([0, 1, 1], [0, 0, 0], NotEnough, "different angles"),
        ([0, 1], [0, 0, 0], OutOfRange, "angles is '2 values'; allowed: as many as readings"),
        ([0, 1, 2], [0, 0, math.nan], OutOfRange, r"readings\[2\]"),
        ([0, 1, math.inf], [0, 0, 0], OutOfRange, r"angles\[2\]"),
        ([0, 1, 2], [0, 0, 1000.0], OutOfRange, "-100 to 100 mm"),
    ],
)
def test_harmonic_refusals(angles, readings, error, says: str) -> None:
    with pytest.raises(error, match=says):
        first_harmonic(angles, readings)


@pytest.mark.parametrize("readings", [[], [0.1], [[0.1, 0.2]], 0.1])
def test_run_out_needs_two_readings_in_a_row(readings) -> None:
    with pytest.raises(NotEnough, match="run-out cannot be told yet"):
        run_out(readings)
