"""A fleet file in, its wear out: the general line, hours and days to each limit, what a sanding costs, doubts.

The operation below `sparkout season fit`. Works by itself in one process; given a mapper (a cluster's, a pool of
processes') the parts of a Parquet file are read there.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from sparkout.core.errors import NotEnough, within
from sparkout.core.measured import Measured
from sparkout.core.phrase import Phrase, counted, joined, phrase
from sparkout.core.season.each_unit import Part
from sparkout.core.season.nested import Nested
from sparkout.core.season.unit_sums import no_truer_than_finest
from sparkout.core.season.wear import (
    CHANCES,
    Ahead,
    Fleet,
    Wear,
    general_wear,
    of_units,
    reached,
    value_now,
)
from sparkout.season.fleet_file import HAPPENED, Layout, layout_in, parts_of
from sparkout.season.fleet_sums import Doubt, Taken, setting_of
from sparkout.season.fleet_together import part_taken, scattered_together, swapped, together
from sparkout.season.sand import EventCost, event_costs
from sparkout.season.wearing import MIRROR, WIDENS

Floats: TypeAlias = NDArray[np.float64]
Mapper: TypeAlias = Callable[..., Iterable[Any]]

AT_ONCE = 50_000
"""Units forecast at once, so that memory stays bounded."""


@dataclass(frozen=True, slots=True)
class FleetFit:
    """A fitted fleet file."""

    layout: Layout
    taken: Taken
    wear: Wear
    """Of the fleet; without its units' own lines."""
    nested: Nested
    robust: Wear | None
    """As `wear`, with the suspected grinds put back; None where none is suspected."""
    robust_nested: Nested | None
    limit: float | None
    """mm, for units without one of their own."""
    per_day: float
    """Hours (hectares) a day of the average unit; not a number where no dates are given."""
    doubts: tuple[Doubt, ...]
    unseen: tuple[str, ...] = ()
    """Columns of events that never happened, so that nothing tells what one costs."""

    @property
    def per_hour(self) -> Measured:
        """Return the fleet's wear, mm an hour (land: widening)."""
        return Measured(float(-self.wear.fixed[1]), math.sqrt(float(self.wear.fixed_covariance[1, 1])))

    @property
    def events(self) -> tuple[EventCost, ...]:
        """Return what one of each event costs."""
        return event_costs(self.wear, [HAPPENED[name] for name in self.layout.events], self.per_day)


@dataclass(frozen=True, slots=True)
class UnitsAhead:
    """Forecasts of some units, in the order of the file."""

    units: NDArray[np.str_]
    value: Floats
    """At its last reading, by its own line, mm."""
    per_hour: Floats
    hours: Floats
    """(5, units) from the last reading to the limit, by `CHANCES`; infinite for never, not a number without a limit."""
    days: Floats
    """(5, units) days since 1970; not a number where the dates do not tell."""
    robust_hours: Floats
    """(units,) the middle one with the suspected grind put back; not a number where none is suspected."""


def fit_file(
    path: Path,
    today: int,
    *,
    quantity: str = "",
    limit: float | None = None,
    parts: int = 1,
    mapper: Mapper = map,
) -> FleetFit:
    """Return the wear of the fleet in a file.

    Parameters
    ----------
    today
        Days since 1970.
    quantity
        Diameter, land, lip or roller where the file has several.
    limit
        mm, for units without one of their own.
    parts
        Into how many parts the file is cut for the mapper.

    Raises
    ------
    Refusal
        The file cannot be read, or holds too little.
    """
    layout = layout_in(path, quantity)
    if limit is not None:
        within("limit", limit, 0.0, 900.0, "mm", above=True)
    setting = setting_of(path, layout, today)
    cuts = parts_of(path, parts)
    n = len(cuts)
    found = [one for one in mapper(part_taken, [path] * n, [layout] * n, cuts, [setting] * n) if one is not None]
    if not found:
        raise NotEnough(phrase("wear of a fleet"), phrase("at least one row that can be used"))
    fleet = scattered_together(together(found))
    del found
    fleet = replace(fleet, doubts=swapped(fleet.doubts))
    layout, fleet, unseen = _without_unseen(layout, fleet)
    groups = _groups(fleet)
    no_truer_than_finest(fleet.gram)
    wear, nested = general_wear([Part(fleet.gram, fleet.group.astype(np.intp))], groups, setting.centre)
    robust = robust_nested = None
    if fleet.suspected.size:
        gram = fleet.gram.copy()
        no_truer_than_finest(fleet.corrected)
        gram[:, :, fleet.suspected] = fleet.corrected
        robust, robust_nested = general_wear([Part(gram, fleet.group.astype(np.intp))], groups, setting.centre)
    spans, times = fleet.hours[1] - fleet.hours[0], fleet.days[1] - fleet.days[0]
    known = (times > 0) & (spans > 0)
    per_day = float(np.sum(spans[known]) / np.sum(times[known])) if known.any() else math.nan
    return FleetFit(layout, fleet, wear, nested, robust, robust_nested, limit, per_day, fleet.doubts, unseen)


def _without_unseen(layout: Layout, fleet: Taken) -> tuple[Layout, Taken, tuple[str, ...]]:
    """Return the fleet without events that never happened in the file, whose cost no reading tells; and which."""
    seen = [bool(fleet.gram[2 + i, 2 + i].any()) for i in range(len(layout.events))]
    if all(seen):
        return layout, fleet, ()
    kept = [0, 1, *(2 + i for i, is_seen in enumerate(seen) if is_seen), fleet.gram.shape[0] - 1]
    unseen = tuple(event for event, is_seen in zip(layout.events, seen, strict=True) if not is_seen)
    columns = {name: column for name, column in layout.columns.items() if name not in unseen}
    without = replace(
        fleet,
        gram=fleet.gram[np.ix_(kept, kept)],
        corrected=fleet.corrected[np.ix_(kept, kept)],
        counts=fleet.counts[:, seen],
    )
    return replace(layout, columns=columns), without, unseen


def _groups(fleet: Taken) -> Fleet:
    workshops = sorted({str(name).partition("\t")[0] for name in fleet.groups})
    of = np.array([workshops.index(str(name).partition("\t")[0]) for name in fleet.groups], dtype=np.intp)
    return Fleet(fleet.group.astype(np.intp), of)


def forecasts(fit: FleetFit, at_once: int = AT_ONCE) -> Iterator[UnitsAhead]:
    """Yield the forecast of every unit, some at a time.

    Grinds go on as recorded so far (a land is told to its next relief grind: it goes on without); events too. Days
    follow from each unit's own hours a day between its first and last date, the fleet's where it has only one date.
    """
    units = fit.taken.units.size
    for start in range(0, units, at_once):
        yield _ahead(fit, slice(start, min(start + at_once, units)))


def _ahead(fit: FleetFit, at: slice) -> UnitsAhead:
    fleet = fit.taken
    hours, days, limit = fleet.hours[:, at], fleet.days[:, at], fleet.limit[at]
    if fit.limit is not None:
        limit = np.where(np.isnan(limit), fit.limit, limit)
    mirrored = fit.layout.quantity == WIDENS
    edge = MIRROR - limit if mirrored else limit
    to_come = _to_come(fit, at)
    known = np.isfinite(edge) & np.isfinite(hours[1])
    safe = np.where(known, np.clip(edge, 0.0, 1e4), 1.0)
    own = _of(fit.wear, fit.nested, at)
    found = np.where(known, reached(own, to_come, safe, CHANCES).hours, np.nan)
    value = value_now(own, to_come)
    value = np.where(np.isfinite(hours[1]), MIRROR - value if mirrored else value, np.nan)
    span, time = hours[1] - hours[0], days[1] - days[0]
    with np.errstate(divide="ignore", invalid="ignore"):
        a_day = np.where((time > 0) & (span > 0), span / time, fit.per_day)
        on = np.where(a_day > 0, days[1] + found / a_day, np.nan)
    return UnitsAhead(fleet.units[at], value, own.per_hour, found, on, _robust(fit, at, to_come, safe, known))


def _of(wear: Wear, nested: Nested, at: slice) -> Wear:
    part = nested.parts[0]
    return of_units(wear, nested, Part(part.gram[:, :, at], part.parent[at]))


def _to_come(fit: FleetFit, at: slice) -> Ahead:
    fleet = fit.taken
    hours, removed, counts = fleet.hours[:, at], fleet.removed[:, at], fleet.counts[:, :, at]
    span = hours[1] - hours[0]
    n, total, squares = fleet.grinds
    mean = total / n if n else 0.0
    spread = math.sqrt(max(squares / n - mean * mean, 0.0)) if n else 0.0
    with np.errstate(divide="ignore", invalid="ignore"):
        often = np.where(span > 0, (removed[1] - removed[0]) / span / mean if mean else 0.0, 0.0)
        events = np.where(span > 0, (counts[1] - counts[0]) / span, 0.0)
    if fit.layout.quantity == WIDENS or not mean:
        often = np.zeros(span.size)
    often, events = np.nan_to_num(np.maximum(often, 0.0)), np.nan_to_num(np.maximum(events, 0.0))
    now = np.nan_to_num(hours[1])
    size = np.full(span.size, mean)
    return Ahead(
        now, np.nan_to_num(removed[1]), often, size, np.full(span.size, spread), np.nan_to_num(counts[1]), events
    )


def _robust(fit: FleetFit, at: slice, to_come: Ahead, edge: Floats, known: NDArray[np.bool_]) -> Floats:
    """Return the middle hours with the suspected grinds put back: taken off the unit's level, as it is now."""
    units = to_come.now.size
    found = np.full(units, np.nan)
    mine = fit.taken.suspected
    mine = mine[(mine >= at.start) & (mine < at.stop)]
    if fit.robust is None or fit.robust_nested is None or not mine.size:
        return found
    part = fit.robust_nested.parts[0]
    own = of_units(fit.robust, fit.robust_nested, Part(part.gram[:, :, mine], part.parent[mine]))
    # What was put back is what the corrected sums hold more than the readings: it is gone all the same.
    which = np.searchsorted(fit.taken.suspected, mine)
    local = mine - at.start
    gone = fit.taken.gone[which]
    ahead = Ahead(
        to_come.now[local], to_come.removed[local] + gone, to_come.grinds_per_hour[local],
        to_come.grind_removes[local], to_come.grind_spread[local], to_come.counts[:, local],
        to_come.counts_per_hour[:, local],
    )  # fmt: skip
    found[local] = np.where(known[local], reached(own, ahead, edge[local], (0.5,)).hours[0], np.nan)
    return found


def fleet_phrases(fit: FleetFit) -> list[Phrase]:
    """Return what could not be told apart, in words."""
    said = []
    if fit.wear.fitted is None:
        said.append(phrase("too few units read twice: one line serves all, and each unit's own wear is not told"))
    levels = [name for name in fit.wear.left_out if name != "units"]
    if levels:
        said.append(
            phrase("left out as levels of their own, being fewer than three: {levels}", levels=joined(", ", levels))
        )
    said += [phrase("{event}: none in this file, so nothing tells what one costs", event=name) for name in fit.unseen]
    without = int(np.isnan(fit.taken.limit).sum()) if fit.limit is None else 0
    if without:
        said.append(counted(without, "{n} unit has no limit (--limit)", "{n} units have no limit (--limit)"))
    return said
