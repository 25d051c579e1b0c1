"""What looks wrong with units as they are on file or in a file: each named, and an answer as far as one exists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import groupby
from statistics import fmean

import numpy as np

from sparkout.core.phrase import AsTyped, Phrase, phrase
from sparkout.core.season.doubtful import Runs, grown, reading_noise, unrecorded_grinds
from sparkout.season.forecast import UnitNow
from sparkout.season.wearing import QUANTITIES, Quantity, Size, Wearing, falling

NEW_PART = 0.5
"""mm by which a reel must have grown to be taken for another; common practice, no source."""
LEAST_NOISE, MOST_NOISE = 0.02, 0.1
"""mm between which a reading of a diameter scatters; common practice, no source. In a small fleet what is wrong widens
what its readings tell of it."""
ALIKE = 0.3
"""mm within which two units' diameters may be each other's; common practice, no source."""

Doubts = list[tuple[str, Phrase]]
Said = list[tuple[int, Phrase]]
"""By the place of what it is said of."""


@dataclass(frozen=True, slots=True)
class _Words:
    """How a doubt about one quantity is told: templates."""

    another: str
    """It has grown (a land: narrowed) by more than a part can."""
    slip: str
    """By less."""
    step: str
    """It lost (a land: widened by) more at once than its line takes."""


_GROUND = phrase("{size:.2f} mm more than its line took by {hours:g} h: was it ground? Kept as it stands")
_SLIP = phrase("grown by {by:.2f} mm at {hours:g} h: a slip? Kept as it stands")
_WORDS: dict[Quantity, _Words] = {
    "diameter": _Words(
        phrase("grown by {by:.2f} mm at {hours:g} h: another reel, or a slip? Readings before it set aside"),
        _SLIP,
        _GROUND,
    ),
    "land": _Words(
        phrase("narrower by {by:.2f} mm at {hours:g} h: a relief grind not on file? Readings before it set aside"),
        phrase("narrower by {by:.2f} mm at {hours:g} h: a slip? Kept as it stands"),
        phrase("{size:.2f} mm wider than by its line at {hours:g} h: was the reel ground? Kept as it stands"),
    ),
    "lip": _Words(
        phrase("grown by {by:.2f} mm at {hours:g} h: another knife, or a slip? Readings before it set aside"),
        _SLIP,
        _GROUND,
    ),
    "roller": _Words(
        phrase("grown by {by:.2f} mm at {hours:g} h: another roller, or a slip? Readings before it set aside"),
        _SLIP,
        phrase("{size:.2f} mm more than its line took by {hours:g} h: another roller, or a slip? Kept as it stands"),
    ),
}


def looked_over(units: Sequence[UnitNow]) -> tuple[tuple[UnitNow, ...], Doubts]:
    """Return units as their wear can be told, and what looks wrong with each.

    Hours that fall are a meter replaced and carried on; a reel that grew is another one, or another unit's reading, and
    what was read before is set aside; metal gone without a grind is asked about and stays as it stands. The same holds
    for lands, knives and rollers.

    Examples
    --------
    >>> sizes = (Size(0.0, 125.0, 0.0), Size(100.0, 126.0, 0.0))
    >>> (unit,), doubts = looked_over([UnitNow("A", hours=120.0, sizes=sizes)])
    >>> len(unit.sizes), str(doubts[0][1])
    (1, 'grown by 1.00 mm at 100 h: another reel, or a slip? Readings before it set aside')
    """
    doubts: Doubts = []
    carried = [_carried_on(unit, doubts) for unit in units]
    found = list(carried)
    reels, said = _counting([unit.wearing[0] for unit in carried], [unit.name for unit in carried])
    for i, reel in enumerate(reels):
        found[i] = replace(carried[i], sizes=reel.sizes)
    doubts += [(found[i].name, told) for i, told in said]
    for quantity in QUANTITIES[1:]:
        where = [(i, k) for i, unit in enumerate(found) for k, one in enumerate(unit.parts) if one.quantity == quantity]
        parts, said = _counting([found[i].parts[k] for i, k in where])
        for (i, k), part in zip(where, parts, strict=True):
            found[i] = replace(found[i], parts=(*found[i].parts[:k], part, *found[i].parts[k + 1 :]))
        for at, told in said:
            i, k = where[at]
            doubts.append((found[i].name, phrase("{part}: {told}", part=found[i].parts[k].words, told=told)))
    return tuple(found), list(dict.fromkeys(doubts))


def _counting(things: Sequence[Wearing], names: Sequence[str] = ()) -> tuple[list[Wearing], Said]:
    """Return things of one quantity with the sizes that count, and what looks wrong with which.

    With the names of their units, two of them may have been swapped.
    """
    visits = [_visits(falling(thing)) for thing in things]
    told = [visit for mine in visits for visit in mine]
    if not told:
        return list(things), []
    words = _WORDS[things[0].quantity]
    runs = Runs(
        np.cumsum([0, *map(len, visits)]).astype(np.intp),
        np.array([hours for hours, _ in told], dtype=np.float64),
        np.array([level for _, level in told], dtype=np.float64),
    )
    noise = min(max(reading_noise(runs), LEAST_NOISE), MOST_NOISE)
    since, said = _since_grown(runs, noise, words, names)
    found = unrecorded_grinds(runs, noise)
    for run, row, size in zip(found.run.tolist(), found.row.tolist(), found.size.tolist(), strict=True):
        if run not in since:  # one question at a time
            said.append((run, phrase(words.step, size=size, hours=float(runs.hours[row]))))
    from_hours = {run: float(runs.hours[row]) for run, row in since.items()}
    return [_since(thing, from_hours.get(i)) for i, thing in enumerate(things)], said


def _since(one: Wearing, hours: float | None) -> Wearing:
    """Return something with its sizes from so many hours on."""
    return one if hours is None else replace(one, sizes=tuple(size for size in one.sizes if size.hours >= hours))


def _visits(thing: Wearing) -> list[tuple[float, float]]:
    """Return hours and mean level of each visit: as found and as left, by one gauge, count as one reading."""
    of_one = groupby(thing.sizes, key=lambda size: size.hours)
    return [(hours, fmean(size.value + size.removed for size in sizes)) for hours, sizes in of_one]


def _carried_on(unit: UnitNow, doubts: Doubts) -> UnitNow:
    """Return a unit with its hours, and those of what wears in it, going on where its meter fell."""
    sizes, offset, last, fell = _on_one_meter(unit.sizes)
    hours, sharpened = unit.hours, unit.sharpened
    if hours is not None:
        last = max(last, sharpened if sharpened is not None and offset == 0.0 else 0.0)
        on_old_meter = sharpened is not None and sharpened > hours
        if hours < last:
            fell.append(_fell(last, hours))
            offset += last
            on_old_meter = True
        if sharpened is not None and not on_old_meter:
            sharpened += offset
        hours += offset
    doubts += [(unit.name, told) for told in fell]
    parts = tuple(_part_carried_on(unit.name, part, doubts) for part in unit.parts)
    return replace(unit, sizes=sizes, hours=hours, sharpened=sharpened, parts=parts)


def _part_carried_on(name: str, part: Wearing, doubts: Doubts) -> Wearing:
    sizes, offset, last, fell = _on_one_meter(part.sizes)
    hours = part.hours
    if hours is not None:
        if hours < last:
            fell.append(_fell(last, hours))
            offset += last
        hours += offset
    doubts += [(name, told) for told in fell]
    return replace(part, sizes=sizes, hours=hours)


def _on_one_meter(sizes: Sequence[Size]) -> tuple[tuple[Size, ...], float, float, list[Phrase]]:
    """Return sizes with hours that go on, what was added to the last of them, what its meter showed, and what fell."""
    found: list[Size] = []
    fell: list[Phrase] = []
    offset = before = 0.0
    for size in sizes:
        if size.hours < before:
            fell.append(_fell(before, size.hours))
            offset += before
        before = size.hours
        found.append(replace(size, hours=size.hours + offset))
    return tuple(found), offset, before, fell


def _fell(before: float, after: float) -> Phrase:
    asked = phrase("hours fall from {before:g} to {after:g}: was the meter replaced?", before=before, after=after)
    done = phrase("carried on from {before:g}; what was cut between counts as none", before=before)
    return phrase("{asked} {done}", asked=asked, done=done)


def _since_grown(runs: Runs, noise: float, words: _Words, names: Sequence[str]) -> tuple[dict[int, int], Said]:
    """Return the row from which on readings of a thing count, by its place, where it grew; and what is asked."""
    since: dict[int, int] = {}
    said: Said = []
    of, level = runs.of, runs.level
    for row in map(int, grown(runs, noise)):
        run, by = int(of[row]), float(level[row] - level[row - 1])
        hours = float(runs.hours[row])
        if by <= NEW_PART:
            said.append((run, phrase(words.slip, by=by, hours=hours)))
            continue
        since[run] = row
        other = _swapped_with(runs, row) if names else None
        if other is None:
            said.append((run, phrase(words.another, by=by, hours=hours)))
            continue
        theirs = int(of[other])
        since[theirs] = max(since.get(theirs, 0), other)
        for mine, its, at in ((run, theirs, hours), (theirs, run, float(runs.hours[other]))):
            told = phrase(
                "its diameter from {hours:g} h on is that of {other} before, and the other way round: were the two "
                "swapped? Readings before it set aside",
                hours=at, other=AsTyped(names[its]),
            )  # fmt: skip
            said.append((mine, told))
    return since, said


def _swapped_with(runs: Runs, row: int) -> int | None:
    """Return the row at which another unit fell to where this one was, from where this one is now; None: no such."""
    of, level = runs.of, runs.level
    down = np.zeros(level.size, dtype=np.bool_)
    down[1:] = (of[1:] == of[:-1]) & (level[:-1] - level[1:] > NEW_PART)
    back = np.zeros(level.size)
    back[1:] = np.maximum(np.abs(level[:-1] - level[row]), np.abs(level[1:] - level[row - 1]))
    rows = np.flatnonzero(down & (of != of[row]) & (back < ALIKE))
    return int(rows[np.argmin(back[rows])]) if rows.size else None
