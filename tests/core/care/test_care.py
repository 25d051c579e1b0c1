"""Vibration, noise and authorisations."""

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sparkout.core.care.authority import Authorisation, may_do
from sparkout.core.care.noise import daily_noise, level_of_dose, noise_dose
from sparkout.core.care.values import exposure_values, reached_values
from sparkout.core.care.vibration import daily_vibration, hours_to_vibration, vibration_points
from sparkout.core.errors import OutOfRange


@given(a=st.floats(0.1, 30), t=st.floats(0.01, 12))
def test_points_hours_and_the_day_agree(a, t):
    day = daily_vibration([a], [t])
    assert vibration_points(a, t) == pytest.approx(100 * (day / 2.5) ** 2)
    assert daily_vibration([a], [min(hours_to_vibration(a, day), 24)]) == pytest.approx(day)


@given(levels=st.lists(st.floats(60, 120), min_size=1, max_size=4))
def test_at_three_decibels_dose_and_level_are_one(levels):
    hours = [2.0] * len(levels)
    dose = noise_dose(levels, hours, criterion=85.0, exchange=10 * math.log10(2))
    assert level_of_dose(dose, 85.0, 10 * math.log10(2)) == pytest.approx(daily_noise(levels, hours))


def test_tasks_below_the_least_level_do_not_count():
    assert noise_dose([79.0, 90.0], [4.0, 4.0], least=80.0) == pytest.approx(50.0)


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: daily_vibration([], []), "number of tasks"),
        (lambda: daily_vibration([1.0], [1.0, 2.0]), "number of hours"),
        (lambda: daily_vibration([-1.0], [1.0]), "magnitude"),
        (lambda: daily_vibration([1.0, 1.0], [13.0, 13.0]), "hours together"),
        (lambda: daily_noise([200.0], [1.0]), "level"),
        (lambda: noise_dose([90.0], [1.0], exchange=0.0), "exchange"),
        (lambda: level_of_dose(0.0), "dose"),
    ],
)
def test_bad_input_is_named(call, named):
    with pytest.raises(OutOfRange, match=named):
        call()


def test_every_value_has_its_source_and_how_it_was_seen():
    for one in exposure_values():
        assert one.source
        assert one.seen in ("as quoted by the UK authority", "from memory")
    assert [one.name for one in reached_values("noise", 85.5)][:1] == ["upper action value"]


def test_who_may_mount_a_wheel():
    held = [
        Authorisation("A", "mount wheels", "the workshop", date(2025, 1, 1), date(2025, 12, 31)),
        Authorisation("A", "mount wheels", "the workshop", date(2026, 3, 1), date(2026, 12, 31)),
        Authorisation("B", "mount wheels", "the workshop", date(2026, 1, 1)),
    ]
    assert may_do("A", "mount wheels", date(2026, 6, 1), held).until == date(2026, 12, 31)
    assert "in 21 days" in may_do("A", "mount wheels", date(2026, 12, 10), held).why
    gap = may_do("A", "mount wheels", date(2026, 2, 1), held)
    assert not gap.may
    assert "ended 31 Dec 2025" in gap.why
    assert "begins" in may_do("A", "mount wheels", date(2024, 2, 1), held).why
    assert may_do("B", "mount wheels", date(2030, 1, 1), held).why == "authorised by the workshop; no end was set"
    assert not may_do("B", "isolate", date(2026, 6, 1), held).may
