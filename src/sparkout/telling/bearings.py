"""The reel's bearings in words: what follows from the readings, side against side, now against then."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sparkout.core.days import dated
from sparkout.core.measured import Measured
from sparkout.core.phrase import AsTyped, phrase, starting_large
from sparkout.reckoning.bearings import DRAG_TORQUE, RUN_DOWN_TORQUE, SLOWING
from sparkout.telling.section import Section
from sparkout.telling.work import cautions

if TYPE_CHECKING:
    from sparkout.reckoning.answer import Answer
    from sparkout.reckoning.bearings import Against
    from sparkout.showing import Showing

_FOLLOWED = (DRAG_TORQUE, SLOWING, RUN_DOWN_TORQUE)
BOOK = phrase("How much play, preload or drag is right stands in the machine's book; no general figure exists.")


def told_bearings(answer: Answer, showing: Showing) -> tuple[Section, ...]:
    """Return the section on the bearings; none when nothing was read of them."""
    found = answer.bearings
    if found is None:
        return ()
    lines: list[str] = [
        phrase("{what}: {figure}", what=_what(f.of, f.side, f.when), figure=_figure(f.measured, f.kind, showing))
        for f in found.figures
        if f.of in _FOLLOWED
    ]
    lines += [against_words(against, showing) for against in found.against]
    lines = [*map(starting_large, lines), *found.notes, BOOK]
    return (Section("bearings", phrase("Bearings"), tuple(lines), (), cautions(answer, "bearings")).said(showing),)


def _what(of: str, side: str, when: str) -> str:
    what = phrase(of)
    if side:
        what = phrase("{what} left", what=what) if side == "left" else phrase("{what} right", what=what)
    return phrase("{reading} (after)", reading=what) if when == "as left" else what


def _figure(measured: Measured, kind: str, showing: Showing) -> str:
    if kind == "slowing":
        per_minute = showing.measured(measured.scaled(60.0 / (2.0 * math.pi)), "number")
        return phrase("{speed} 1/min each second", speed=AsTyped(per_minute))
    return showing.measured(measured, kind)


def against_words(against: Against, showing: Showing) -> str:
    """Return what one comparison says; a text with parts, to be said."""
    now, then = (_figure(one, against.kind, showing) for one in (against.now, against.then))
    what = _what(against.of, against.side, against.when)
    if against.base == "right":
        told = phrase("larger left") if against.found.value.value > 0 else phrase("larger right")
        told = told if against.found.told else phrase("not told apart")
        return phrase("{what}: left {now}, right {then}; {told}", what=what, now=now, then=then, told=told)
    told = phrase("larger now") if against.found.value.value > 0 else phrase("smaller now")
    if not against.found.told:
        told = phrase("not told apart")
    elif against.ratio is not None:
        times = AsTyped(showing.measured(against.ratio, "number"))
        told = phrase("{told}, {times} times as much", told=told, times=times)
    day = phrase("an unknown day") if against.on is None else dated(against.on)
    return phrase(
        "{what}: {now}; with the bearings fresh, {day}, {then}; {told}"
        if against.base == "fresh"
        else "{what}: {now}; at the last visit, {day}, {then}; {told}",
        what=what, now=now, day=day, then=then, told=told,
    )  # fmt: skip
