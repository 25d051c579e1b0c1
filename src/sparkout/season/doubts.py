"""What looks wrong with units as they are on file or in a file: each named, and an answer as far as one exists."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby
from statistics import fmean

import numpy as np

from sparkout.core.phrase import AsTyped, Phrase, phrase
from sparkout.core.season.doubtful import Runs, grown, reading_noise, unrecorded_grinds
from sparkout.season.forecast import Size, UnitNow

NEW_PART = 0.5
"""mm by which a reel must have grown to be taken for another; common practice, no source."""
LEAST_NOISE, MOST_NOISE = 0.02, 0.1
"""mm between which a reading of a diameter scatters; common practice, no source. In a small fleet what is wrong widens
what its readings tell of it."""
ALIKE = 0.3
"""mm within which two units' diameters may be each other's; common practice, no source."""

Doubts = list[tuple[str, Phrase]]


def looked_over(units: Sequence[UnitNow]) -> tuple[tuple[UnitNow, ...], Doubts]:
    """Return units as their wear can be told, and what looks wrong with each.

    Hours that fall are a meter replaced and carried on; a reel that grew is another one, or another unit's reading, and
    what was read before is set aside; metal gone without a grind is asked about and stays as it stands.

    Examples
    --------
    >>> sizes = (Size(0.0, 125.0, 0.0), Size(100.0, 126.0, 0.0))
    >>> (unit,), doubts = looked_over([UnitNow("A", hours=120.0, sizes=sizes)])
    >>> len(unit.sizes), str(doubts[0][1])
    (1, 'grown by 1.00 mm at 100 h: another reel, or a slip? Readings before it set aside')
    """
    doubts: Doubts = []
    carried = [_carried_on(unit, doubts) for unit in units]
    visits = [_visits(unit) for unit in carried]
    told = [visit for mine in visits for visit in mine]
    runs = Runs(
        np.cumsum([0, *map(len, visits)]).astype(np.intp),
        np.array([hours for hours, _ in told], dtype=np.float64),
        np.array([level for _, level in told], dtype=np.float64),
    )
    noise = min(max(reading_noise(runs), LEAST_NOISE), MOST_NOISE)
    since = _since_grown(carried, runs, noise, doubts)
    for run, row, size in _steps(runs, noise):
        if run not in since:  # one question at a time
            asked = phrase(
                "{size:.2f} mm more than its line took by {hours:g} h: was it ground? Kept as it stands",
                size=size, hours=float(runs.hours[row]),
            )  # fmt: skip
            doubts.append((carried[run].name, asked))
    from_hours = {run: float(runs.hours[row]) for run, row in since.items()}
    return tuple(_since(unit, from_hours.get(i)) for i, unit in enumerate(carried)), doubts


def _since(unit: UnitNow, hours: float | None) -> UnitNow:
    """Return a unit with its sizes from so many hours on."""
    return unit if hours is None else replace(unit, sizes=tuple(size for size in unit.sizes if size.hours >= hours))


def _visits(unit: UnitNow) -> list[tuple[float, float]]:
    """Return hours and mean level of each visit: as found and as left, by one gauge, count as one reading."""
    of_one = groupby(unit.sizes, key=lambda size: size.hours)
    return [(hours, fmean(size.diameter + size.removed for size in sizes)) for hours, sizes in of_one]


def _steps(runs: Runs, noise: float) -> list[tuple[int, int, float]]:
    found = unrecorded_grinds(runs, noise)
    return list(zip(found.run.tolist(), found.row.tolist(), found.size.tolist(), strict=True))


def _carried_on(unit: UnitNow, doubts: Doubts) -> UnitNow:
    """Return a unit with its hours going on where its meter fell."""
    sizes: list[Size] = []
    offset = before = 0.0
    for size in unit.sizes:
        if size.hours < before:
            doubts.append((unit.name, _fell(before, size.hours)))
            offset += before
        before = size.hours
        sizes.append(replace(size, hours=size.hours + offset))
    hours, sharpened = unit.hours, unit.sharpened
    if hours is None:
        return replace(unit, sizes=tuple(sizes))
    last = max(before, sharpened if sharpened is not None and offset == 0.0 else 0.0)
    on_old_meter = sharpened is not None and sharpened > hours
    if hours < last:
        doubts.append((unit.name, _fell(last, hours)))
        offset += last
        on_old_meter = True
    if sharpened is not None and not on_old_meter:
        sharpened += offset
    return replace(unit, sizes=tuple(sizes), hours=hours + offset, sharpened=sharpened)


def _fell(before: float, after: float) -> Phrase:
    asked = phrase("hours fall from {before:g} to {after:g}: was the meter replaced?", before=before, after=after)
    done = phrase("carried on from {before:g}; what was cut between counts as none", before=before)
    return phrase("{asked} {done}", asked=asked, done=done)


def _since_grown(units: Sequence[UnitNow], runs: Runs, noise: float, doubts: Doubts) -> dict[int, int]:
    """Return the row from which on readings of a unit count, by its place, where its reel grew."""
    since: dict[int, int] = {}
    of, level = runs.of, runs.level
    for row in map(int, grown(runs, noise)):
        run, by = int(of[row]), float(level[row] - level[row - 1])
        hours = float(runs.hours[row])
        if by <= NEW_PART:
            told = phrase("grown by {by:.2f} mm at {hours:g} h: a slip? Kept as it stands", by=by, hours=hours)
            doubts.append((units[run].name, told))
            continue
        since[run] = row
        other = _swapped_with(runs, row)
        if other is None:
            told = phrase(
                "grown by {by:.2f} mm at {hours:g} h: another reel, or a slip? Readings before it set aside",
                by=by, hours=hours,
            )  # fmt: skip
            doubts.append((units[run].name, told))
            continue
        theirs = int(of[other])
        since[theirs] = max(since.get(theirs, 0), other)
        for mine, its, at in ((run, theirs, hours), (theirs, run, float(runs.hours[other]))):
            told = phrase(
                "its diameter from {hours:g} h on is that of {other} before, and the other way round: were the two "
                "swapped? Readings before it set aside",
                hours=at, other=AsTyped(units[its].name),
            )  # fmt: skip
            doubts.append((units[mine].name, told))
    return since


def _swapped_with(runs: Runs, row: int) -> int | None:
    """Return the row at which another unit fell to where this one was, from where this one is now; None: no such."""
    of, level = runs.of, runs.level
    down = np.zeros(level.size, dtype=np.bool_)
    down[1:] = (of[1:] == of[:-1]) & (level[:-1] - level[1:] > NEW_PART)
    back = np.zeros(level.size)
    back[1:] = np.maximum(np.abs(level[:-1] - level[row]), np.abs(level[1:] - level[row - 1]))
    rows = np.flatnonzero(down & (of != of[row]) & (back < ALIKE))
    return int(rows[np.argmin(back[rows])]) if rows.size else None
