"""Everything the visit page shows of one visit, gathered once: answer, boxes, what is on file in each, what is next."""

from __future__ import annotations

import threading
from collections import OrderedDict
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

from django.http import Http404
from django.utils import timezone

from sparkout.core.errors import Refusal
from sparkout.records.held import Held, held, keep
from sparkout.records.models import Visit
from sparkout.records.operations.doing import as_if
from sparkout.records.stamp import readings_written
from sparkout.records.tables import reel_table
from sparkout.visit.problems import path_text
from sparkout.visit.sections import ReelSection
from sparkout.web.visit.drawn import Drawn
from sparkout.web.visit.filed import Filed, filed
from sparkout.web.visit.next_reading import NextReading, next_reading
from sparkout.web.visit.papers import ProofAtTheBench, proofs_at_the_bench
from sparkout.web.visit.places import Box, Group, Key, every_box, groups, key_of
from sparkout.web.visit.reckoned import reckoned_of
from sparkout.web.visit.steps import Step, steps

if TYPE_CHECKING:
    from collections.abc import Callable

    from sparkout.reckoning.answer import Answer, Found
    from sparkout.reckoning.readings import Meaning
    from sparkout.records import models
    from sparkout.showing import Showing
    from sparkout.visit.schema import Visit as VisitFile
    from sparkout.web.visit.entering import Entered
    from sparkout.web.visit.reckoned import Reckoned

T = TypeVar("T")
_BENCHES = 12
_benches: OrderedDict[tuple[Any, ...], Bench] = OrderedDict()
_lock = threading.Lock()


@dataclass(frozen=True)
class Places:
    """The places of one visit, for entering: nothing is reckoned."""

    visit: models.Visit
    showing: Showing
    known: Held | None = None
    """What is known of the visit already."""

    @cached_property
    def held(self) -> Held:
        """What the records hold of it."""
        return self.known or Held(self.visit)

    @cached_property
    def reel(self) -> ReelSection:
        """The reel as specified."""
        return ReelSection.model_validate(reel_table(self.visit))

    @property
    def length(self) -> float:
        """Length of the blades, mm."""
        return float(self.reel.length)

    @cached_property
    def every_box(self) -> dict[str, tuple[Group, Box]]:
        """Every box that a page of this reel can have, by its id."""
        return every_box(self.length, self.reel.blades, self.showing)

    @cached_property
    def filed(self) -> dict[Key, Filed]:
        """What is on file at each place."""
        return filed(self.held.read, self.length)


@dataclass(frozen=True)
class Bench(Places):
    """One visit as one reader sees it."""

    five: bool = False
    made: dict[str, Any] = field(default_factory=dict)
    """Parts of the page once made, by their ids: they stand as long as the bench does."""

    @cached_property
    def _reckoned(self) -> Reckoned:
        return reckoned_of(self.held, timezone.localdate())

    @property
    def file(self) -> VisitFile:
        """The visit file the records make."""
        return self._reckoned.file

    @property
    def found(self) -> Found | None:
        """The first part of the answer, unless something stands against it."""
        found = self._reckoned.found
        return None if isinstance(found, str) else found

    @property
    def answer(self) -> Answer | None:
        """The whole answer, unless something stands against one."""
        answer = self._reckoned.answer
        return None if isinstance(answer, str) else answer

    @property
    def trouble(self) -> str:
        """What stands against the first part of an answer; empty when nothing does."""
        found = self._reckoned.found
        return self.showing.say(found) if isinstance(found, str) else ""

    @property
    def trouble_after(self) -> str:
        """What stands against the rest of it."""
        answer = self._reckoned.answer
        return self.showing.say(answer) if isinstance(answer, str) else ""

    @cached_property
    def groups(self) -> tuple[Group, ...]:
        """The boxes."""
        return groups(self.file, self.showing, five=self.five)

    @cached_property
    def boxes(self) -> dict[str, tuple[Group, Box]]:
        """Every box by its id."""
        return {box.id: (group, box) for group in self.groups for box in group.all_boxes}

    def made_once(self, name: str, make: Callable[[], T]) -> T:
        """Return a part of the page that tells of the answer alone: made once for all benches of the same answer."""
        return self._reckoned.once((name, self.showing, self.next_boxes), make)

    def unit_of(self, group: Group) -> str:
        """Return the unit a bare number counts in: of a sweep on file its own, else the reader's usual one."""
        boxes = group.all_boxes
        on_file = next((self.filed[box.key].unit for box in boxes if box.key in self.filed), "")
        return (on_file if group.grid is not None else "") or (boxes[0].unit if boxes else "")

    @cached_property
    def reel(self) -> ReelSection:
        """The reel: a signed visit goes by its own file."""
        return self.file.reel

    @cached_property
    def _placed(self) -> list[tuple[Key, str]]:
        return [(key_of(reading, self.length), path_text(path)) for path, reading in self.file.placed_readings]

    @cached_property
    def meanings(self) -> dict[Key, list[Meaning]]:
        """What the readings at each place mean, in the order of the file: single readings, then those of sweeps."""
        found: dict[Key, list[Meaning]] = {}
        if self.found is not None:
            for (key, _), meaning in zip(self._placed, self.found.readings, strict=True):
                found.setdefault(key, []).append(meaning)
        return found

    @cached_property
    def asked(self) -> dict[Key | None, list[str]]:
        """Questions by the reading they are about; those about none under None."""
        found: dict[Key | None, list[str]] = {}
        if self.found is None:
            return found
        by_path = {path: key for key, path in self._placed}
        for question in self.found.questions:
            stem = question.path
            while stem and stem not in by_path:
                stem = stem.rpartition("." if stem.rfind(".") > stem.rfind("[") else "[")[0]
            found.setdefault(by_path.get(stem), []).append(self.showing.say(question.text))
        return found

    @property
    def general_questions(self) -> list[str]:
        """Questions about the visit as a whole."""
        return self.asked.get(None, [])

    @cached_property
    def pictures(self) -> Drawn:
        """Every picture of the page, drawn when asked for."""
        return Drawn(self)

    @cached_property
    def proofs(self) -> tuple[ProofAtTheBench, ...]:
        """The paper proofs."""
        return proofs_at_the_bench(self)

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """The steps of the work, with what is missing."""
        return steps(self)

    @property
    def open_points(self) -> str:
        """What the rail says is missing, in one line."""
        return "; ".join(
            f"{self.showing.say(s.title)}: {', '.join(map(self.showing.say, s.missing))}"
            for s in self.steps
            if s.missing
        )

    @cached_property
    def outliers(self) -> set[str]:
        """Labels of readings that do not fit the others."""
        return set() if self.found is None else {o.label for o in self.found.diagnosis.state.outliers}

    @cached_property
    def next(self) -> NextReading | None:
        """The reading most worth taking."""
        return None if self.found is None else next_reading(self.found)

    @cached_property
    def next_boxes(self) -> tuple[Box, ...]:
        """The boxes that the next reading asks for: those still empty, or all of them when it is to be read again."""
        if self.next is None:
            return ()
        boxes = {box.key: box for _, box in self.boxes.values()}
        found = tuple(boxes[key] for key in self.next.keys if key in boxes)
        return tuple(box for box in found if box.key not in self.filed) or found


def _looked_up(number: int) -> Held:
    try:
        return held(number)
    except Visit.DoesNotExist:
        raise Http404 from None


def places_of(number: int, showing: Showing) -> Places:
    """Return the places of one visit: those of the bench kept while nothing was written to the records."""
    known, today = _looked_up(number), timezone.localdate()
    with _lock:
        for five in (False, True):
            if (number, showing, five, known.name, today) in _benches:
                return _benches[number, showing, five, known.name, today]
    return Places(known.visit, showing, known)


def bench_for(number: int, showing: Showing, *, five: bool) -> Bench:
    """Return the bench of one visit for a reader: the one kept while nothing was written to the records."""
    known = _looked_up(number)
    key = (number, showing, five, known.name, timezone.localdate())
    with _lock:
        if key not in _benches:
            _benches[key] = Bench(known.visit, showing, known, five)
        _benches.move_to_end(key)
        while len(_benches) > _BENCHES:
            _benches.popitem(last=False)
        return _benches[key]


def entered(places: Places, enter: Callable[[], Entered]) -> Entered:
    """Enter something at one of the places: that alone is asked for anew, unless others wrote meanwhile."""
    after = places.held.followed()
    with readings_written() as span:
        made = enter()
    if span.after and span.before == places.held.name != span.after:
        keep(span.after, after(made.entry))
    return made


def bench_as_if(places: Places, enter: Callable[[], Entered], *, five: bool) -> Bench | None:
    """Return the bench there would be after something is entered, of which nothing is kept; None when it is refused."""
    after = places.held.followed()
    try:
        with as_if():
            known = after(enter().entry)
            _ = known.read  # asked for while it is there
    except Refusal:
        return None
    return Bench(known.visit, places.showing, known, five)
