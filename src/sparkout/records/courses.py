"""Where along a life a visit or a day stands: by a unit's clock, by the hours a part has run, or by the calendar."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Protocol

from sparkout.core.errors import Refusal
from sparkout.units import parse

if TYPE_CHECKING:
    import datetime
    from collections.abc import Iterable, Sequence

    from sparkout.records.models import Fitting, HoursEntry, Visit


class Course(Protocol):
    """What a life is laid out along."""

    def of_visit(self, visit: Visit) -> float | None:
        """Return where a visit stands; None when that is not known."""
        ...

    def of_day(self, unit: int, day: datetime.date) -> float | None:
        """Return where a day of one unit stands; None when that is not known."""
        ...


def seconds(hours: object) -> float | None:
    """Return typed hours in seconds; None when there are none.

    Examples
    --------
    >>> seconds("2 h"), seconds(None)
    (7200.0, None)
    """
    try:
        return None if hours is None else parse(str(hours), "time", "h")
    except Refusal:
        return None


@dataclass(frozen=True, slots=True)
class Clock:
    """A unit's clock as it was read: days and seconds, the days rising."""

    read: tuple[tuple[int, float], ...]

    @staticmethod
    def of(entries: Iterable[HoursEntry]) -> Clock:
        """Return the clock that entries of one unit tell; of two readings on one day the later one holds."""
        by_day: dict[int, float] = {}
        for entry in entries:
            told = seconds(entry.hours)
            if entry.on is not None and told is not None:
                by_day[entry.on.toordinal()] = told
        return Clock(tuple(sorted(by_day.items())))

    @property
    def fell(self) -> tuple[int, float, float] | None:
        """The first day on which it showed less than before, and both readings: another clock, or a slip."""
        return next(((day, before, now) for (_, before), (day, now) in pairwise(self.read) if now < before), None)

    def on(self, day: datetime.date) -> float | None:
        """Return what it showed on a day, in proportion between two readings; outside them that is not known.

        Examples
        --------
        >>> import datetime
        >>> Clock(((1, 0.0), (11, 100.0))).on(datetime.date.fromordinal(6))
        50.0
        """
        at = day.toordinal()
        after = bisect_right(self.read, (at, float("inf")))
        if after == 0:
            return None
        (before_day, before) = self.read[after - 1]
        if before_day == at:
            return before
        if after == len(self.read):
            return None
        (after_day, later) = self.read[after]
        return before + (later - before) * (at - before_day) / (after_day - before_day)


def clocks_of(entries: Iterable[HoursEntry]) -> dict[int, Clock]:
    """Return the clock of each unit."""
    mine: dict[int, list[HoursEntry]] = {}
    for entry in entries:
        mine.setdefault(entry.unit_id, []).append(entry)
    return {unit: Clock.of(read) for unit, read in mine.items()}


@dataclass(frozen=True, slots=True)
class ByClock:
    """Along the hours on one unit's clock."""

    clock: Clock

    def of_visit(self, visit: Visit) -> float | None:
        """Return the clock at a visit, else what it must have shown that day."""
        read = read_at(visit)
        return read if read is not None else self.clock.on(visit.date) if visit.date is not None else None

    def of_day(self, unit: int, day: datetime.date) -> float | None:  # noqa: ARG002
        """Return what the clock must have shown."""
        return self.clock.on(day)


def read_at(visit: Visit) -> float | None:
    """Return the unit's clock as read at a visit, seconds."""
    entry = getattr(visit, "hours_entry", None)
    return None if entry is None else seconds(entry.hours)


@dataclass(frozen=True, slots=True)
class _Stay:
    """A part's stay in one unit: the clock when it came, and what it had run until then."""

    unit: int
    since: datetime.date
    until: datetime.date | None
    came_at: float | None
    had_run: float | None


class ByHoursRun:
    """Along the hours a part has run since it was first fitted here, in whichever unit."""

    def __init__(self, fittings: Sequence[Fitting], clocks: dict[int, Clock]) -> None:
        self._clocks = clocks
        self._stays: list[_Stay] = []
        run: float | None = 0.0
        for fitting in fittings:
            clock = clocks.get(fitting.unit_id, Clock(()))
            came, went = clock_when_fitted(fitting, clock), clock_when_taken_out(fitting, clock)
            self._stays.append(_Stay(fitting.unit_id, fitting.since, fitting.until, came, run))
            run = None if run is None or came is None or went is None else run + went - came

    def of_visit(self, visit: Visit) -> float | None:
        """Return what the part had run at a visit."""
        if visit.date is None:
            return None
        stay = self._stay(visit.unit_id, visit.date)
        read = read_at(visit)
        if stay is None or read is None or stay.came_at is None or stay.had_run is None:
            return self.of_day(visit.unit_id, visit.date)
        return stay.had_run + read - stay.came_at

    def of_day(self, unit: int, day: datetime.date) -> float | None:
        """Return what the part had run on a day."""
        stay = self._stay(unit, day)
        if stay is None or stay.came_at is None or stay.had_run is None:
            return None
        showed = self._clocks.get(unit, Clock(())).on(day)
        if day == stay.since:
            showed = stay.came_at
        return None if showed is None else stay.had_run + showed - stay.came_at

    def came(self, which: int) -> float | None:
        """Return what the part had run when it was fitted for the n-th time."""
        return self._stays[which].had_run

    def _stay(self, unit: int, day: datetime.date) -> _Stay | None:
        found = [s for s in self._stays if s.unit == unit and s.since <= day and (s.until is None or day <= s.until)]
        return found[-1] if found else None


def clock_when_fitted(fitting: Fitting, clock: Clock) -> float | None:
    """Return what the unit's clock showed when a part came in."""
    told = seconds(fitting.since_hours)
    return told if told is not None else clock.on(fitting.since)


def clock_when_taken_out(fitting: Fitting, clock: Clock) -> float | None:
    """Return what the unit's clock showed when a part went out; None while it is in."""
    if fitting.until is None:
        return None
    told = seconds(fitting.until_hours)
    return told if told is not None else clock.on(fitting.until)


class ByDate:
    """Along the calendar, in days."""

    def of_visit(self, visit: Visit) -> float | None:
        """Return the day of a visit."""
        return None if visit.date is None else float(visit.date.toordinal())

    def of_day(self, unit: int, day: datetime.date) -> float | None:  # noqa: ARG002
        """Return the day."""
        return float(day.toordinal())
