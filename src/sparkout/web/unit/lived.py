"""A unit's or a part's life, gathered once: what its picture and its table are made of."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Literal

from django.urls import reverse

from sparkout.core.days import dated
from sparkout.core.measured import coverage_factor
from sparkout.core.phrase import AsTyped, joined, phrase
from sparkout.drawing.life import Along, Happening, Segment, Sight, Stretch, life_drawn_out
from sparkout.papers.pictures import manners
from sparkout.reckoning.in_figures import InFigures
from sparkout.records.courses import (
    ByClock,
    ByDate,
    ByHoursRun,
    Clock,
    clock_when_fitted,
    clock_when_taken_out,
    clocks_of,
)
from sparkout.records.life import PartLife, UnitLife
from sparkout.records.models import Reel
from sparkout.web.unit.axis import along_days, along_hours

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.core.measured import Measured
    from sparkout.drawing.life_given import Pair
    from sparkout.records.courses import Course
    from sparkout.records.models import Attachment, Event, Fitting, Visit
    from sparkout.showing import Showing
    from sparkout.web.unit.figures import Worked

By = Literal["hours", "date"]
NARROW, WIDE = 340.0, 740.0
"""A telephone 390 px wide leaves 340 px between the edges of the sheet."""
CROWDED = 40
"""More visits than this are drawn once, wide, and scrolled along on a telephone."""


@dataclass(frozen=True)
class Lived:
    """A life as one reader sees it."""

    life: UnitLife | PartLife
    worked: Worked
    showing: Showing
    asked: str = ""
    """"hours", "date", or whichever tells more."""

    # along what ------------------------------------------------------------------------------------------------

    @cached_property
    def clocks(self) -> dict[int, Clock]:
        """The clock of each unit concerned."""
        return clocks_of(self.life.hours)

    @property
    def of_unit(self) -> bool:
        """Whether this is a unit's life; else a part's."""
        return isinstance(self.life, UnitLife)

    @cached_property
    def _by_hours(self) -> Course:
        if isinstance(self.life, UnitLife):
            return ByClock(self.clocks.get(self.life.unit.pk, Clock(())))
        return ByHoursRun(self.life.fittings, self.clocks)

    @cached_property
    def fell(self) -> tuple[int, float, float] | None:
        """When a clock showed less than before, which makes hours no measure."""
        return next((clock.fell for clock in self.clocks.values() if clock.fell is not None), None)

    @cached_property
    def by(self) -> By:
        """What the life is laid out along."""
        if self.asked in ("hours", "date"):
            return "hours" if self.asked == "hours" and self.fell is None else "date"
        timed = [visit for visit in self.life.drawn_visits if self._by_hours.of_visit(visit) is not None]
        return "hours" if timed and self.fell is None else "date"

    @cached_property
    def course(self) -> Course:
        """Where things stand along it."""
        return self._by_hours if self.by == "hours" else ByDate()

    @cached_property
    def placed(self) -> list[tuple[float, Visit]]:
        """Visits that count, where they stand; those whose place is not known are left out."""
        found = [(self.course.of_visit(visit), visit) for visit in self.life.drawn_visits]
        return sorted(((at, visit) for at, visit in found if at is not None), key=lambda entry: (entry[0], entry[1].pk))

    @property
    def unplaced(self) -> int:
        """How many visits that count cannot be drawn."""
        return len(self.life.drawn_visits) - len(self.placed)

    # what is drawn ---------------------------------------------------------------------------------------------

    @cached_property
    def pictures(self) -> list[tuple[str, str]]:
        """The life drawn out, by the class of page that shows it: narrow and wide, or one for all when crowded."""
        if not self.placed:
            return []
        if len(self.placed) > CROWDED:
            return [("long", self._drawn(WIDE, "life"))]
        return [("narrow", self._drawn(NARROW, "life-n")), ("broad", self._drawn(WIDE, "life-w"))]

    def _drawn(self, width: float, prefix: str) -> str:
        manner = manners(self.showing, prefix, width)
        manner["titled"] = False  # the page names it
        return life_drawn_out(
            self.stretches, self._along(width), bands=self.bands, happenings=self.happenings, **manner
        )

    def _along(self, width: float) -> Along:
        places = [at for at, _ in self.placed] + [happening.at for happening in self.happenings]
        places += [at for _, row in self.bands for s in row for at in (s.start, s.stop) if at is not None]
        if self.by == "date":
            return along_days(places, self.showing.say(phrase("date")), self.showing, width)
        places += [at for at in self._clock_now if at is not None]
        title = phrase("hours on the clock") if self.of_unit else phrase("hours run since first fitted here")
        return along_hours(places, self.showing.say(title), self.showing, width)

    @property
    def _clock_now(self) -> list[float | None]:
        last = self.life.hours[-1] if self.life.hours else None
        return [] if last is None or last.on is None else [self.course.of_day(last.unit_id, last.on)]

    @cached_property
    def stretches(self) -> list[Stretch]:
        """The visits, parted where the reel (of a unit) or the unit (of a part) is another."""
        parted: list[tuple[int, list[tuple[float, Visit]]]] = []
        for at, visit in self.placed:
            owner = visit.reel_id if self.of_unit else visit.unit_id
            if not parted or parted[-1][0] != owner:
                parted.append((owner, []))
            parted[-1][1].append((at, visit))
        return [self._stretch(entries) for _, entries in parted]

    def _stretch(self, entries: list[tuple[float, Visit]]) -> Stretch:
        limits = [told.service_diameter for _, visit in entries if (told := self.figures(visit)) is not None]
        known = [limit for limit in limits if limit is not None]
        of_reel = self.tells_of_reel
        return Stretch([self._sight(at, visit) for at, visit in entries], known[-1] if known and of_reel else None)

    @property
    def tells_of_reel(self) -> bool:
        """Whether diameter and land belong to this life: to a knife's they do not."""
        return isinstance(self.life, UnitLife) or isinstance(self.life.part, Reel)

    @property
    def tells_of_knife(self) -> bool:
        """Whether the lip belongs to this life: to a reel's it does not."""
        return isinstance(self.life, UnitLife) or not isinstance(self.life.part, Reel)

    def figures(self, visit: Visit) -> InFigures | None:
        """Return a visit's figures, when they are known by now."""
        return self.worked.figures.get(visit.pk)

    def _sight(self, at: float, visit: Visit) -> Sight:
        told = self.figures(visit) or InFigures()
        none: tuple[Pair | None, Pair | None] = (None, None)
        return Sight(
            at,
            self.showing.say(self._label(visit, told)),
            (_pair(told.found.diameter), _pair(told.left.diameter)) if self.tells_of_reel else none,
            (_pair(told.found.land), _pair(told.left.land)) if self.tells_of_reel else none,
            (_pair(told.found.height), _pair(told.left.height)),
            (_pair(told.found.lip), _pair(told.left.lip)) if self.tells_of_knife else none,
            (told.found.worst, told.left.worst),
            told.ground,
            reverse("visit", args=[visit.pk]),
            f"?by={self.by}&all=1#v{visit.pk}",
        )

    def _label(self, visit: Visit, told: InFigures) -> str:
        parts: list[str] = [phrase("visit of {day}", day=dated(visit.date) if visit.date else "–")]
        entry = getattr(visit, "hours_entry", None)
        if entry is not None:
            parts.append(AsTyped(str(entry.hours)))
        last = told.left.diameter or told.found.diameter
        if last is not None and self.tells_of_reel:
            parts.append(phrase("mean diameter {value}", value=AsTyped(self.showing.measured(last))))
        worst = told.left.worst or told.found.worst
        if worst:
            parts.append(phrase(worst))
        return joined(", ", parts)

    @cached_property
    def bands(self) -> list[tuple[str, list[Segment]]]:
        """Who was in when: of a unit its reels, and its knives when there were several; of a part its units."""
        say, fittings = self.showing.say, self.life.fittings
        if not self.of_unit:
            return [(say(phrase("unit")), self._segments(fittings))] if fittings else []
        reels = self._segments([fitting for fitting in fittings if fitting.reel_id])
        knives = self._segments([fitting for fitting in fittings if fitting.knife_id])
        named = [(say(phrase("reel")), reels), (say(phrase("bedknife")), knives if len(knives) > 1 else [])]
        return [(name, row) for name, row in named if row]

    def _segments(self, fittings: list[Fitting]) -> list[Segment]:
        made: list[Segment] = []
        for fitting in fittings:
            start, stop = self._ends(fitting)
            if start is None and made:
                start = made[-1].stop
                if start is None:
                    continue
            label = str(fitting.part) if self.of_unit else str(fitting.unit.name)
            made.append(Segment(start, stop, label))
        return made

    def _ends(self, fitting: Fitting) -> tuple[float | None, float | None]:
        if self.by == "date":
            return float(fitting.since.toordinal()), None if fitting.until is None else float(fitting.until.toordinal())
        clock = self.clocks.get(fitting.unit_id, Clock(()))
        if self.of_unit:
            return clock_when_fitted(fitting, clock), clock_when_taken_out(fitting, clock)
        assert isinstance(self._by_hours, ByHoursRun)
        came = self._by_hours.came(self.life.fittings.index(fitting))
        start, stop = clock_when_fitted(fitting, clock), clock_when_taken_out(fitting, clock)
        return came, None if came is None or start is None or stop is None else came + stop - start

    @cached_property
    def happenings(self) -> list[Happening]:
        """Events and what was photographed or recorded, where they stand."""
        return [Happening(at, kind, told, href) for at, kind, told, href in self._happened() if at is not None]

    def _happened(self) -> Iterator[tuple[float | None, str, str, str]]:
        say = self.showing.say
        for event in self.life.events:
            where = event.unit_id or self._unit_on(event)
            told = joined(", ", [phrase(str(event.get_kind_display())), dated(event.on)])
            yield self.course.of_day(where, event.on), event.kind, say(told), ""
        for attached in self.life.attachments:
            if attached.removed_at is None:
                told = joined(", ", [phrase(attached.kind), AsTyped(attached.note or attached.name)])
                yield self._place_of(attached), attached.kind, say(told), reverse("attachment", args=[attached.pk])

    def _unit_on(self, event: Event) -> int:
        """Return a unit that an event at a place or to a machine concerned."""
        if isinstance(self.life, UnitLife):
            return self.life.unit.pk
        day, fittings = event.on, self.life.fittings
        found = [f.unit_id for f in fittings if f.since <= day and (f.until is None or day <= f.until)]
        return found[-1] if found else fittings[0].unit_id

    def _place_of(self, attached: Attachment) -> float | None:
        places = {visit.pk: at for at, visit in self.placed}
        if attached.visit_id in places:
            return places[attached.visit_id]
        day = attached.day
        return self.course.of_day(attached.unit_id, day)


def _pair(value: Measured | None) -> Pair | None:
    return None if value is None else (value.value, coverage_factor(0.95, value.dof) * value.u)
