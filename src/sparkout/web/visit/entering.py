"""What is typed into a box becomes an entry of the records: a reading, a value of a sweep, a repeat, or nothing."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.records.models import Cell, HistoryLine, Reading
from sparkout.records.operations.doing import Conflict
from sparkout.records.operations.readings import correct_reading, record_reading, withdraw_reading
from sparkout.records.operations.sweeps import record_cell, record_sweep, withdraw_cell
from sparkout.records.tables import taken
from sparkout.visit.words import Where
from sparkout.web.visit.filed import row_of
from sparkout.web.visit.places import FIVE, THREE, place_named
from sparkout.web.visit.typed import understood

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from sparkout.records.models import Person, Sweep
    from sparkout.web.visit.bench import Places
    from sparkout.web.visit.filed import Filed
    from sparkout.web.visit.places import Box, Group
    from sparkout.web.visit.typed import Typed

_WHERE = Where("a station")
Made = Reading | Cell | None


def key_of(sent: Mapping[str, str]) -> uuid.UUID:
    """Return the key of an entry.

    Raises
    ------
    Refusal
        When it carries none.
    """
    try:
        return uuid.UUID(sent.get("key", ""))
    except ValueError:
        raise Refusal(phrase("the entry carries no key of its own; load the page again")) from None


def expected_of(sent: Mapping[str, str], box: Box | None = None) -> int:
    """Return the version the page showed at a place, 0 for an empty one.

    A line may name another place than the box it was typed into: then what the page says to have `seen` there counts.
    """
    typed = sent.get("expected", "")
    if box is not None and box.id != sent.get("box"):
        seen = dict(entry.rpartition(":")[::2] for entry in sent.get("seen", "").split())
        typed = seen.get(box.id, "")
    return int(typed) if typed.isdigit() and len(typed) < 9 else 0


@dataclass(frozen=True)
class Entering:
    """One thing sent from one box."""

    actor: Person
    places: Places
    group: Group
    box: Box
    typed: Typed
    sent: Mapping[str, str]
    key: uuid.UUID

    @property
    def expected(self) -> int:
        """The version the page showed."""
        return expected_of(self.sent, self.box)

    @property
    def on_file(self) -> Filed | None:
        """What stands at the place."""
        return self.places.filed.get(self.box.key)

    @property
    def is_as_shown(self) -> bool:
        """Whether the place still is as the page showed it; it is not when the very entry is on file already."""
        return self.expected == (0 if self.on_file is None else self.on_file.version)

    @property
    def line(self) -> str:
        """What was typed."""
        return self.sent.get("line", "")

    @property
    def gauge(self) -> str | None:
        """The gauge chosen."""
        return self.sent.get("gauge") or None


@dataclass(frozen=True, slots=True)
class Entered:
    """What came of a line: the entry made (None: one taken out), and the version the box it was typed into now has.

    No version when the line was about something else than that box's own entry.
    """

    entry: Made
    version: int | None = None


def enter(actor: Person, places: Places, sent: Mapping[str, str]) -> Entered:
    """Enter, correct, repeat or take out what a box says.

    Raises
    ------
    Refusal
        When it cannot be entered.
    Conflict
        When something else is on file there than the page showed.
    """
    group, typed_in = places.every_box[sent["box"]]
    typed = understood(sent.get("line", ""), sent.get("unit", typed_in.unit), leaves=typed_in.leaves)
    box = place_named(places.every_box, typed_in, typed.at, typed.blade)
    key = key_of(sent)
    entering = Entering(actor, places, group, box, typed, sent, key)
    made = None if entering.is_as_shown else _done_before(key, typed)
    if made is None and sent.get("entry"):
        return Entered(_one_of_several(entering, sent["entry"]))
    if made is None and typed.again and entering.on_file is not None:
        return Entered(_repeated(entering))
    made = made or _first(entering)
    own = made is not None and box is typed_in and not typed.again
    return Entered(made, made.version if own and made is not None else None)


def _done_before(key: uuid.UUID, typed: Typed) -> Made:
    """Return the very entry when it is on file already.

    Raises
    ------
    Refusal
        When the key came before with something else.
    """
    if not HistoryLine.objects.filter(key=key).exists():
        return None
    kept: Any = Reading.objects.filter(key=key).first() or Cell.objects.filter(key=key).first()
    if kept is None:
        return None
    told = {name: getattr(kept, name, None) for name in ("value", "goes", "does_not_go")}
    if {name: str(value) for name, value in told.items() if value is not None} != typed.fields:
        raise Refusal(phrase("this was sent before as '{before}'; the first is kept", before=str(kept)))
    found: Made = kept
    return found


def _one_of_several(e: Entering, number: str) -> Made:
    """Take out or correct one of several readings at a place."""
    there = () if e.on_file is None else (e.on_file, *e.on_file.repeats)
    entry = next((each.entry for each in there if str(each.pk) == number), None)
    if not isinstance(entry, Reading):
        raise Refusal(phrase("this reading is no longer on file"))
    if e.typed.struck_out:
        withdraw_reading(actor=e.actor, reading=entry, expected_version=e.expected or entry.version, key=e.key)
        return None
    return correct_reading(actor=e.actor, reading=entry, expected_version=e.expected, key=e.key, **_values(e))


def _repeated(e: Entering) -> Made:
    """Enter a further reading beside those at the place; of a dial on the zero of its sweep."""
    if e.typed.struck_out:
        raise Refusal(phrase("nothing to read again: type what the gauge shows, like again 127.4"))
    zero = "A" if e.group.zeroed else None
    assert e.on_file is not None
    entry = e.on_file.entry
    if isinstance(entry, Cell):
        zero = entry.sweep.set_up
    elif entry.set_up is not None:
        zero = entry.set_up
    return _recorded(e, zero, if_empty=False)


def _first(e: Entering) -> Made:
    on_file, expected = e.on_file, e.expected
    if on_file is not None and expected == 0:
        if on_file.shown == " ".join(e.typed.fields.values()):
            return on_file.entry
        raise Conflict(e.box.label, on_file.shown, e.line, on_file.entry)
    if e.group.grid is not None and not e.typed.struck_out and (on_file is None or on_file.kind is Cell):
        return _cell(e, expected)
    entry = None if on_file is None else on_file.entry
    if e.typed.struck_out:
        if isinstance(entry, Reading):
            withdraw_reading(actor=e.actor, reading=entry, expected_version=expected, key=e.key)
        elif entry is not None:
            withdraw_cell(actor=e.actor, cell=entry, expected_version=expected, key=e.key)
        return None
    if isinstance(entry, Reading):
        return correct_reading(actor=e.actor, reading=entry, expected_version=expected, key=e.key, **_values(e))
    return _recorded(e, "A" if e.group.zeroed else None, if_empty=True)


def _values(e: Entering) -> dict[str, Any]:
    return {"value": None, "goes": None, "does_not_go": None, **e.typed.fields, "gauge": e.gauge}


def _recorded(e: Entering, zero: str | None, *, if_empty: bool) -> Reading:
    box = e.box
    place: dict[str, Any] = {
        "at": box.at or None,
        "blade": box.blade,
        "angle": f"{box.angle} deg" if box.angle else None,
    }
    return record_reading(
        actor=e.actor,
        visit=e.places.visit,
        key=e.key,
        if_empty=if_empty,
        of=box.of,
        when=box.when,
        set_up=zero,
        by=e.actor.name,
        **place,
        **_values(e),
    )


def _cell(e: Entering, expected: int) -> Cell:
    sweep, row, column = _place_among(e.places.held.read.sweeps, e) or _new_sweep(e)
    return record_cell(
        actor=e.actor,
        sweep=sweep,
        row=row,
        column=column,
        value=e.typed.fields["value"],
        key=e.key,
        expected_version=expected,
    )


def _place_among(sweeps: Iterable[Sweep], e: Entering) -> tuple[Sweep, int, int] | None:
    """Return the sweep that holds the place, with row and column."""
    box = e.box
    for sweep in sweeps:
        if (sweep.of, sweep.when) != (box.of, box.when):
            continue
        across = [round(_WHERE.read(typed).along(e.places.length), 1) for typed in sweep.at]
        rows = [row_of(sweep.of, sweep.blades, sweep.angles, i) for i in range(sweep.rows)]
        wanted = (box.key[2], box.key[3])
        if box.key[1] in across and wanted in rows:
            return sweep, rows.index(wanted), across.index(box.key[1])
    return None


def _new_sweep(e: Entering) -> tuple[Sweep, int, int]:
    """Start the sweep a first value belongs to: the whole grid on one zero, or one station with a zero of its own."""
    places, box, grid = e.places, e.box, e.group.grid
    assert grid is not None
    covered = {
        round(_WHERE.read(typed).along(places.length), 1)
        for sweep in places.held.read.sweeps
        if (sweep.of, sweep.when) == (box.of, box.when)
        for typed in sweep.at
    }
    own_zero = e.sent.get("zero") == "place"
    row_boxes = [boxes for _, boxes in grid.rows]
    shown = FIVE if e.sent.get("five") or box.at not in THREE else THREE
    across = [b for b in row_boxes[0] if b.key[1] not in covered and b.at in shown]
    if own_zero:
        across = [b for b in across if b.at == box.at]
    letter = "A" if box.when == "as found" else "B"
    rows: dict[str, Any] = {"blades": [boxes[0].blade for boxes in row_boxes]}
    if box.angle:
        rows = {"angles": [f"{boxes[0].angle} deg" for boxes in row_boxes]}
    try:
        sweep = record_sweep(
            actor=e.actor,
            visit=places.visit,
            key=uuid.uuid5(e.key, "sweep"),
            if_new=True,
            of=box.of,
            gauge=e.gauge,
            at=[b.at for b in across],
            **rows,
            set_up=f"{letter} {box.at}" if own_zero else letter,
            unit=box.unit,
            values=[["-"] * len(across) for _ in row_boxes],
            when=box.when,
            by=e.actor.name,
        )
    except Conflict:
        found = _place_among(taken(places.visit).sweeps, e)  # begun by somebody else a moment ago: joined
        if found is None:
            raise
        return found
    names = [boxes[0].blade if not box.angle else boxes[0].angle for boxes in row_boxes]
    return sweep, names.index(box.angle or box.blade), [b.at for b in across].index(box.at)
