"""Where a visit or a day stands along a life: by clock, by hours run in whichever unit, by date."""

from __future__ import annotations

import datetime
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sparkout.records.courses import ByClock, ByDate, ByHoursRun, Clock, clocks_of, seconds
from sparkout.showing import Showing
from sparkout.web.unit.axis import HOUR, along_days, along_hours

DAY = datetime.date.fromordinal


def entry(on: int | None, hours: str, unit: int = 1) -> Any:
    return SimpleNamespace(on=None if on is None else DAY(on), hours=hours, unit_id=unit)


def visit(on: int | None, hours: str | None = None, unit: int = 1) -> Any:
    told = SimpleNamespace(date=None if on is None else DAY(on), unit_id=unit)
    if hours is not None:
        told.hours_entry = SimpleNamespace(hours=hours)
    return told


def fitting(unit: int, since: int, until: int | None, came: str | None, went: str | None) -> Any:
    return SimpleNamespace(
        unit_id=unit, since=DAY(since), until=None if until is None else DAY(until), since_hours=came, until_hours=went
    )


@pytest.mark.parametrize(
    ("typed", "found"), [("2 h", 7200.0), ("90 min", 5400.0), (3, 10800.0), (None, None), ("x", None), ("5 kg", None)]
)
def test_typed_hours(typed: object, found: float | None) -> None:
    assert seconds(typed) == found


class TestClock:
    clock = Clock.of(
        [entry(100, "10 h"), entry(110, "20 h"), entry(110, "30 h"), entry(None, "9 h"), entry(120, "40 h")]
    )

    def test_between_two_readings_in_proportion(self) -> None:
        shown = {day: self.clock.on(DAY(day)) for day in (99, 100, 105, 110, 115, 120, 121)}
        assert {day: told and told / HOUR for day, told in shown.items()} == {
            99: None, 100: 10.0, 105: 20.0, 110: 30.0, 115: 35.0, 120: 40.0, 121: None,
        }  # fmt: skip

    def test_a_clock_that_shows_less_than_before(self) -> None:
        assert self.clock.fell is None
        assert Clock.of([entry(1, "100 h"), entry(2, "100 h"), entry(3, "7 h")]).fell == (3, 100 * HOUR, 7 * HOUR)

    def test_each_unit_has_its_own(self) -> None:
        found = clocks_of([entry(1, "1 h", 1), entry(1, "5 h", 2), entry(2, "2 h", 1)])
        assert {unit: len(clock.read) for unit, clock in found.items()} == {1: 2, 2: 1}

    @given(st.lists(st.tuples(st.integers(1, 1000), st.floats(0, 1e6)), max_size=20), st.integers(1, 1000))
    def test_never_outside_what_was_read(self, read: list[tuple[int, float]], day: int) -> None:
        clock = Clock.of([entry(on, f"{hours!r} h") for on, hours in read])
        shown = clock.on(DAY(day))
        if shown is not None:
            values = [value for _, value in clock.read]
            assert min(values) * (1 - 1e-9) <= shown <= max(values) * (1 + 1e-9)


def test_by_clock() -> None:
    course = ByClock(Clock.of([entry(100, "10 h"), entry(200, "110 h")]))
    assert course.of_visit(visit(150, "70 h")) == 70 * HOUR  # as read, whatever the days say
    assert course.of_visit(visit(150)) == 60 * HOUR
    assert course.of_visit(visit(None)) is None
    assert course.of_visit(visit(300)) is None
    assert course.of_day(1, DAY(110)) == 20 * HOUR


def test_by_hours_run_adds_up_over_units() -> None:
    """100 h in unit 1, then into unit 2 at 40 h on its clock."""
    clocks = clocks_of([entry(100, "100 h"), entry(200, "200 h"), entry(300, "40 h", 2), entry(400, "140 h", 2)])
    course = ByHoursRun([fitting(1, 100, 200, "100 h", "200 h"), fitting(2, 300, None, "40 h", None)], clocks)
    assert course.of_visit(visit(150, "150 h")) == 50 * HOUR
    assert course.of_visit(visit(350, "60 h", 2)) == 120 * HOUR
    assert course.of_visit(visit(350, None, 2)) == 150 * HOUR  # by the clock of that day
    assert course.of_day(2, DAY(300)) == 100 * HOUR
    assert course.of_visit(visit(250, "9 h")) is None  # it was in no unit
    assert course.of_visit(visit(None, "9 h")) is None
    assert (course.came(0), course.came(1)) == (0.0, 100 * HOUR)


def test_hours_not_said_are_read_off_the_clock_and_else_not_known() -> None:
    clocks = clocks_of([entry(100, "100 h"), entry(200, "200 h")])
    course = ByHoursRun([fitting(1, 150, 180, None, None), fitting(2, 200, None, "5 h", None)], clocks)
    assert course.of_visit(visit(160, "175 h")) == 25 * HOUR
    assert course.came(1) == pytest.approx(30 * HOUR)
    unknown = ByHoursRun([fitting(3, 150, 180, None, "90 h"), fitting(1, 190, None, "190 h", None)], clocks)
    assert unknown.of_visit(visit(160, "50 h", 3)) is None
    assert unknown.of_visit(visit(195, "195 h")) is None  # what it had run before is not known
    assert unknown.came(1) is None


def test_by_date() -> None:
    assert (ByDate().of_visit(visit(7)), ByDate().of_visit(visit(None)), ByDate().of_day(1, DAY(9))) == (7.0, None, 9.0)


@given(st.lists(st.floats(0, 1e8), min_size=1, max_size=9), st.sampled_from([340.0, 740.0]))
def test_an_axis_of_hours_holds_everything_and_marks_round_figures(places: list[float], width: float) -> None:
    axis = along_hours(places, "hours", Showing(), width)
    assert axis.low <= min(places)
    assert max(places) <= axis.high
    assert axis.low < axis.high
    assert all(axis.low <= at <= axis.high for at, _ in axis.marks)


@given(st.lists(st.integers(40, 3_650_000), min_size=1, max_size=9), st.sampled_from([340.0, 740.0]))
def test_an_axis_of_days_holds_everything(days: list[int], width: float) -> None:
    axis = along_days([float(day) for day in days], "date", Showing(), width)
    assert axis.low <= min(days)
    assert max(days) <= axis.high
    assert axis.low < axis.high
    assert all(axis.low <= at <= axis.high and text for at, text in axis.marks)


@pytest.mark.parametrize(
    ("start", "stop", "first"),
    [
        ((2010, 1, 1), (2026, 6, 1), "2010"),
        ((2024, 3, 4), (2026, 3, 4), "Apr 2024"),
        ((2026, 1, 10), (2026, 8, 1), "Feb 2026"),
        ((2026, 3, 10), (2026, 5, 1), "Apr 2026"),
    ],
)
def test_years_quarters_or_months(start: tuple, stop: tuple, first: str) -> None:
    axis = along_days([float(datetime.date(*day).toordinal()) for day in (start, stop)], "date", Showing(), 740)
    assert axis.marks[0][1] == first
    assert 1 <= len(axis.marks) <= 740 / 64 + 1
