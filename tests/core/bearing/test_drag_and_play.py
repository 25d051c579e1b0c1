"""Drag, inertia and play against simulated run-downs and falls."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sparkout.core.bearing.drag import inertia_by_weight, pull_of_mass, reel_inertia, run_down, torque_by_cord
from sparkout.core.bearing.geometry import Bearing, defect_multiples
from sparkout.core.bearing.life import rating_for, rating_life_hours, reliability
from sparkout.core.bearing.play import difference, end_play, torque_ratio
from sparkout.core.errors import NotEnough, OutOfRange
from sparkout.core.measured import Measured


def turns_of(steady, by_speed, inertia, first, times):
    """Turns of a run-down integrated step by step."""
    found = solve_ivp(
        lambda _, y: [y[1], -(steady + by_speed * y[1]) / (inertia / 1000)],
        (0, times[-1]),
        [0.0, first],
        t_eval=times,
        rtol=1e-10,
        atol=1e-10,
    )
    return found.y[0] / (2 * math.pi)


def test_a_run_down_tells_both_kinds_of_drag():
    times = np.arange(0.0, 9.0, 0.25)
    turns = turns_of(60.0, 1.2, 12_000.0, 80.0, times)
    found = run_down(times, turns, Measured(12_000.0, 0.0))
    assert found.steady.value == pytest.approx(60.0, rel=1e-4)
    assert found.by_speed.value == pytest.approx(1.2, rel=1e-4)
    assert found.first_speed.value == pytest.approx(80.0, rel=1e-6)
    still = 12.0 / 1.2 * math.log1p(1.2 * 80.0 / 60.0)
    assert found.stop == pytest.approx(still, rel=1e-3)


def test_intervals_of_a_run_down_cover():
    times = np.arange(0.0, 9.0, 0.3)
    turns = turns_of(60.0, 1.2, 12_000.0, 80.0, times)
    rng, inside = np.random.default_rng(0), 0
    for _ in range(150):
        found = run_down(times, turns + rng.normal(0, 0.02, times.size), Measured(12_000.0, 0.0))
        low, high = found.steady.interval()
        inside += low <= 60.0 <= high
    assert 0.88 <= inside / 150 <= 0.99


def test_even_drag_alone():
    times = np.arange(0.0, 6.0, 0.5)
    rng = np.random.default_rng(1)
    turns = (60.0 * times - 0.5 * 5.0 * times**2) / (2 * math.pi) + rng.normal(0, 1e-3, times.size)
    found = run_down(times, turns, Measured(12_000.0, 600.0))
    assert found.by_speed.value == 0.0
    assert found.steady.value == pytest.approx(60.0, rel=0.01)
    assert found.steady.u >= 0.05 * 60 * 0.99  # the inertia's own doubt comes along
    assert found.stop == pytest.approx(12.0, rel=0.01)


@pytest.mark.parametrize(
    ("times", "turns", "error", "named"),
    [
        ([0, 1, 2, 3], [0, 1, 2, 3], NotEnough, "five"),
        ([0, 1, 2, 3, 3], [0, 1, 2, 3, 4], OutOfRange, "times"),
        ([0, 1, 2, 3, 4], [0, 1, 2, 2, 4], OutOfRange, "turns"),
        ([0, 1, 2, 3, 4], [0, 1, 2, 3], OutOfRange, "one for each time"),
        ([0, 1, 2, 3, 4], [0, 1, 3, 6, 10], NotEnough, "slows down"),
    ],
)
def test_bad_run_downs_are_named(times, turns, error, named):
    with pytest.raises(error, match=named):
        run_down(times, turns, Measured(12_000.0, 0.0))


def test_a_falling_weight_gives_the_inertia_it_turned():
    inertia, mass, radius, drag = 12_000.0, 1.0, 60.0, 150.0
    a = (mass * 9.80665 * radius - drag) / (inertia / radius / 1000 + mass * radius / 1000)  # mm/s²
    time = math.sqrt(2 * 1000 / a)
    given = [Measured(v, u) for v, u in ((mass, 0), (radius, 0.5), (1000, 5), (time, 0.02), (drag, 10))]
    found = inertia_by_weight(*given)
    assert found.value == pytest.approx(inertia, rel=1e-9)
    rng = np.random.default_rng(0)
    drawn = [inertia_by_weight(*[Measured(rng.normal(g.value, g.u), 0) for g in given]).value for _ in range(3000)]
    assert np.std(drawn) == pytest.approx(found.u, rel=0.08)
    with pytest.raises(OutOfRange, match="time"):
        inertia_by_weight(Measured(0.1, 0), Measured(60, 0), Measured(1000, 0), Measured(1, 0), Measured(150, 0))


def test_cord_balance_and_geometry():
    assert torque_by_cord(pull_of_mass(Measured(0.5, 0.005)), Measured(64.0, 0.5)).value == pytest.approx(
        313.8, abs=0.05
    )
    assert reel_inertia(10, 0.3, 50.0) == pytest.approx(7500.0)
    with pytest.raises(OutOfRange, match="blade_mass"):
        reel_inertia(10, 0.0, 50.0)


def test_play_and_differences():
    play = end_play(Measured(0.02, 0.003), Measured(0.07, 0.004))
    assert (play.value, play.u) == (pytest.approx(0.05), pytest.approx(0.005))
    told = difference(Measured(300, 10), Measured(200, 10))
    assert told.told
    assert told.chance_larger > 0.999
    assert not difference(Measured(205, 10), Measured(200, 10)).told
    assert difference(Measured(1, 0), Measured(1, 0)).chance_larger == 0.5
    assert difference(Measured(2, 0), Measured(1, 0)).chance_larger == 1.0
    assert torque_ratio(Measured(300, 0), Measured(200, 20)).u == pytest.approx(0.15)
    with pytest.raises(OutOfRange, match="end play"):
        end_play(Measured(0, 0), Measured(40, 0))


def test_life_and_its_inverse():
    rating = rating_for(5000, 800, 2000, reliable=0.95)
    assert reliability(5000, rating, 800, 2000) == pytest.approx(0.95)
    assert rating_life_hours(1000, 100, 1000) == pytest.approx(1e6 / 60_000 * 1000)
    assert rating_life_hours(1000, 100, 1000, "roller") > rating_life_hours(1000, 100, 1000)
    with pytest.raises(OutOfRange, match="load"):
        rating_life_hours(1000, 0, 1000)


def test_multiples():
    found = defect_multiples(Bearing(12, 6.0, 40.0, math.radians(15)))
    assert found.outer + found.inner == pytest.approx(12)
    assert found.outer == pytest.approx(12 * found.cage)
    assert found.element == 2 * found.element_spin
    with pytest.raises(OutOfRange, match="element_diameter"):
        defect_multiples(Bearing(9, 50.0, 40.0))
    with pytest.raises(OutOfRange, match="elements"):
        defect_multiples(Bearing(2, 5.0, 40.0))
