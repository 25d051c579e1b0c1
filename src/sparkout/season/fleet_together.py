"""Parts of a fleet file put together: its units one after the other, and what is doubtful between them."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from sparkout.core.phrase import AsTyped, Phrase, counted, phrase
from sparkout.season.fleet_file import Layout
from sparkout.season.fleet_rows import read_rows
from sparkout.season.fleet_sums import KEPT, Doubt, Setting, Taken, taken

KINDS = {
    "refused row": phrase("rows that cannot be used"),
    "future": phrase("dates in the future"),
    "hours out of line": phrase("one reading's hours out of line"),
    "swapped": phrase("two units swapped"),
    "meter": phrase("hours fall: a meter replaced"),
    "new part": phrase("grown: a new part"),
    "grown": phrase("grown"),
    "unrecorded grind": phrase("unrecorded grinds"),
    "apart": phrase("rows of a unit stand apart"),
}


def part_taken(path: Path, layout: Layout, part: tuple[int, int], setting: Setting) -> Taken | None:
    """Return what one part of a file comes to, None where no unit begins in it: whole work of one process."""
    batches = [taken(rows, layout, setting) for rows in read_rows(path, layout, part)]
    return together(batches) if batches else None


def together(parts: Sequence[Taken]) -> Taken:
    """Return the parts' units one after the other; a unit that stands in several places is put together and said."""
    if len(parts) == 1:
        return parts[0]
    names = sorted({str(name) for part in parts for name in part.groups})
    place = {name: i for i, name in enumerate(names)}
    group = np.concatenate(
        [np.array([place[str(n)] for n in part.groups], dtype=np.int32)[part.group] for part in parts]
    )
    offsets = np.cumsum([0, *(part.units.size for part in parts)])
    tally: Counter[str] = Counter()
    for part in parts:
        tally.update(part.tally)
    return Taken(
        np.concatenate([part.units for part in parts]), np.array(names), group,
        np.concatenate([part.gram for part in parts], axis=2),
        np.concatenate([part.hours for part in parts], axis=1),
        np.concatenate([part.days for part in parts], axis=1),
        np.concatenate([part.removed for part in parts], axis=1),
        np.concatenate([part.counts for part in parts], axis=2),
        np.concatenate([part.limit for part in parts]),
        np.sum([part.grinds for part in parts], axis=0),
        np.concatenate([part.suspected + at for part, at in zip(parts, offsets[:-1], strict=True)]),
        np.concatenate([part.corrected for part in parts], axis=2),
        np.concatenate([part.gone for part in parts]),
        _first_of_each(doubt for part in parts for doubt in part.doubts), tally, sum(part.rows for part in parts),
    )  # fmt: skip


def _first_of_each(doubts: Iterable[Doubt]) -> tuple[Doubt, ...]:
    counts: Counter[str] = Counter()
    kept = []
    for doubt in doubts:
        counts[doubt.kind] += 1
        if counts[doubt.kind] <= KEPT:
            kept.append(doubt)
    return tuple(kept)


def scattered_together(fleet: Taken) -> Taken:
    """Return the fleet with units whose rows stand in several places put together, each said as a doubt."""
    keys = _keys(fleet.units)
    _, first, of = np.unique(keys, return_index=True, return_inverse=True)
    if first.size == fleet.units.size:
        return fleet
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(order.size)
    to, lead = rank[of], first[order]
    m = fleet.gram.shape[0]
    gram = np.zeros((m, m, lead.size))
    for i, j in np.ndindex(m, m):
        gram[i, j] = np.bincount(to, weights=fleet.gram[i, j], minlength=lead.size)
    # States: the piece with the fewest hours is the first, that with the most the last.
    by_first = np.lexsort((fleet.hours[0], to))
    by_last = np.lexsort((fleet.hours[1], to))
    edge = np.flatnonzero(np.diff(to[by_first], prepend=-1))
    a, z = by_first[edge], by_last[np.append(edge[1:], to.size) - 1]
    twice = np.flatnonzero(np.bincount(to) > 1)
    doubts = [
        Doubt(
            "apart", str(fleet.units[lead[i]]), (),
            phrase("its rows stand in several places: are they one unit's?"),
            phrase("put together; doubts were looked for in each piece alone"),
        )
        for i in twice[:KEPT]
    ]  # fmt: skip
    alone = ~np.isin(to[fleet.suspected], twice)
    return replace(
        fleet,
        units=fleet.units[lead], group=fleet.group[lead], gram=gram,
        hours=np.stack([fleet.hours[0][a], fleet.hours[1][z]]), days=np.stack([fleet.days[0][a], fleet.days[1][z]]),
        removed=np.stack([fleet.removed[0][a], fleet.removed[1][z]]),
        counts=np.stack([fleet.counts[0][:, a], fleet.counts[1][:, z]]), limit=fleet.limit[lead],
        suspected=to[fleet.suspected][alone], corrected=fleet.corrected[:, :, alone],
        gone=fleet.gone[alone],
        doubts=(*fleet.doubts, *doubts), tally=fleet.tally + Counter({"apart": twice.size}),
    )  # fmt: skip


def _keys(names: NDArray[np.str_]) -> NDArray[np.uint64]:
    """Return a 64-bit number for each name (FNV-1a over its letters): equal for equal names."""
    if names.dtype.itemsize == 0 or not names.size:
        return np.zeros(names.size, dtype=np.uint64)
    letters = np.ascontiguousarray(names).view(np.uint32).reshape(names.size, -1)
    found = np.full(names.size, 0xCBF29CE484222325, dtype=np.uint64)
    for column in letters.T:
        found = np.where(column > 0, (found ^ column) * np.uint64(0x100000001B3), found)
    return found


def swapped(doubts: Sequence[Doubt]) -> tuple[Doubt, ...]:
    """Return doubts with pairs of readings out of line on one day told as two units swapped.

    Validity: both readings dated, the same day, and each unit with one such reading that day.
    """
    out = [doubt for doubt in doubts if doubt.kind == "hours out of line" and math.isfinite(doubt.day)]
    by_day: dict[float, list[Doubt]] = {}
    for doubt in out:
        by_day.setdefault(doubt.day, []).append(doubt)
    pairs = [pair for pair in by_day.values() if len(pair) == 2 and pair[0].unit != pair[1].unit]
    paired = {id(doubt) for pair in pairs for doubt in pair}
    told = [
        Doubt(
            "swapped", a.unit, (a.rows[-1], b.rows[-1]),
            phrase("its reading and that of {other} the same day: were the two swapped?", other=AsTyped(b.unit)),
            phrase("both set aside"), a.hours, a.day,
        )
        for a, b in pairs
    ]  # fmt: skip
    return (*(doubt for doubt in doubts if id(doubt) not in paired), *told)


def in_words(tally: Counter[str]) -> list[Phrase]:
    """Return how many doubts of each kind there are, one line a kind."""
    return [
        counted(count, "{kind}: {n}", "{kind}: {n}", kind=KINDS.get(kind, kind))
        for kind, count in tally.items()
        if count
    ]
