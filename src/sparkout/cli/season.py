"""`sparkout season`: the wear of a whole fleet from a file of readings; the plan of a season."""

from __future__ import annotations

import argparse
import contextlib
import csv
import json
import math
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.season_plan import add_plan, run_plan
from sparkout.cli.world import DONE, not_written
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase

if TYPE_CHECKING:
    from sparkout.cli.world import World
    from sparkout.season.fleet_fit import FleetFit, UnitsAhead

_SHOWN = 20
_HOURS = ("hours_5", "hours_25", "hours_50", "hours_75", "hours_95")
_DAYS = ("day_5", "day_25", "day_50", "day_75", "day_95")


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser(
        "sparkout season",
        description="Wear of a fleet from a file of readings (CSV or Parquet; docs/fleet-file.md); plan of a season.",
    )
    does = made.add_subparsers(dest="what", required=True)
    fit = does.add_parser("fit", help="fit and forecast a fleet file")
    fit.add_argument("file", type=Path)
    fit.add_argument("--quantity", choices=("diameter", "land", "lip", "roller"), help="where the file has several")
    fit.add_argument("--limit", metavar="MM", help="service limit of units that have none in the file")
    fit.add_argument("--cluster", metavar="ADDRESS", help="a Dask scheduler whose workers read a Parquet file")
    fit.add_argument("--workers", type=int, default=1, metavar="N", help="local processes that read it (default 1)")
    fit.add_argument("--table", type=Path, metavar="OUT.csv", help="write every unit's forecast")
    fit.add_argument("--json", action="store_true", help="for a program")
    add_plan(does)
    return made


def run(arguments: list[str], world: World) -> int:
    """Fit the file, or plan the season."""
    asked = asked_of(parser, arguments, world)
    if asked.what == "plan":
        run_plan(asked, world)
        return DONE
    from sparkout.season.fleet_fit import fit_file
    from sparkout.season.fleet_rows import day_number

    if not 1 <= asked.workers <= 1000:
        raise Refusal(phrase("--workers is {n}; allowed: 1 to 1000", n=asked.workers))
    limit = None
    if asked.limit is not None:
        from sparkout.units import parse

        limit = parse(asked.limit, "length", "mm")
    with _mapper(asked) as (mapper, parts):
        fit = fit_file(
            world.folder / asked.file,
            day_number(world.today()),
            quantity=asked.quantity or "",
            limit=limit,
            parts=parts,
            mapper=mapper,
        )
    counts = _write_table(fit, asked.table, world) if asked.table is not None else _counts(fit)
    if asked.json:
        world.say(json.dumps(_as_data(fit, counts), ensure_ascii=False, indent=1))
    else:
        _tell(fit, counts, world)
    return DONE


@contextlib.contextmanager
def _mapper(asked: argparse.Namespace) -> Iterator[tuple[Callable[..., Iterable[Any]], int]]:
    """Give a map over the parts of a file, and into how many to cut it."""
    if asked.cluster is not None:
        from sparkout.season.cluster import cluster_map

        with cluster_map(asked.cluster) as (mapper, workers):
            yield mapper, 4 * workers
    elif asked.workers > 1:
        from concurrent.futures import ProcessPoolExecutor
        from multiprocessing import get_context

        with ProcessPoolExecutor(asked.workers, mp_context=get_context("spawn")) as pool:
            yield pool.map, 4 * asked.workers
    else:
        yield map, 1


def _counts(fit: FleetFit) -> dict[str, int]:
    from sparkout.season.fleet_fit import forecasts

    return _added(forecasts(fit), lambda _ahead: None)


def _added(blocks: Iterable[UnitsAhead], each: Callable[[UnitsAhead], None]) -> dict[str, int]:
    counts = {"forecast": 0, "at or past the limit": 0, "no limit in sight": 0, "no forecast": 0}
    for ahead in blocks:
        middle = ahead.hours[2]
        unknown = sum(map(math.isnan, middle))
        counts["no forecast"] += unknown
        counts["forecast"] += middle.size - unknown
        counts["at or past the limit"] += int((middle == 0.0).sum())
        counts["no limit in sight"] += int((middle == math.inf).sum())
        each(ahead)
    return counts


def _write_table(fit: FleetFit, path: Path, world: World) -> dict[str, int]:
    """Write every unit's forecast beside the target and move it there when whole."""
    from sparkout.season.fleet_fit import forecasts

    target = world.folder / path
    beside = target.with_name(target.name + ".part")
    unit = "ha" if fit.layout.use == "hectares" else "h"
    try:
        with beside.open("w", encoding="utf-8", newline="") as handle:
            writer = csv.writer(handle)
            head = ["unit", f"{fit.layout.quantity} (mm)", f"wear (mm/{unit})"]
            head += [f"{name} ({unit})" for name in _HOURS] if unit == "h" else [f"{n[6:]} % (ha)" for n in _HOURS]
            writer.writerow([*head, *_DAYS, f"middle with suspected grind ({unit})"])
            counts = _added(forecasts(fit), lambda ahead: writer.writerows(_lines(ahead)))
        os.replace(beside, target)
    except OSError as trouble:
        raise not_written(target, trouble) from None
    return counts


def _lines(ahead: UnitsAhead) -> Iterator[list[str]]:
    for i, unit in enumerate(ahead.units):
        hours = [_figure(h, ".1f") for h in ahead.hours[:, i]]
        days = [_day(d) for d in ahead.days[:, i]]
        yield [
            str(unit), _figure(ahead.value[i], ".3f"), _figure(ahead.per_hour[i], ".6f"), *hours, *days,
            _figure(ahead.robust_hours[i], ".1f"),
        ]  # fmt: skip


def _figure(value: float, how: str) -> str:
    if math.isnan(value):
        return ""
    return "never" if math.isinf(value) else format(value, how)


def _day(days: float) -> str:
    import datetime

    if not math.isfinite(days) or abs(days) > 100 * 366:
        return ""
    return (datetime.date(1970, 1, 1) + datetime.timedelta(days=math.floor(days))).isoformat()


def _as_data(fit: FleetFit, counts: dict[str, int]) -> dict[str, Any]:
    from sparkout.season.fleet_fit import fleet_phrases

    fitted = fit.wear.fitted
    return {
        "quantity": fit.layout.quantity,
        "use": fit.layout.use,
        "rows": fit.taken.rows,
        "units": int(fit.taken.units.size),
        "centre": {fit.layout.use: fit.wear.centre[0], "level_mm": fit.wear.centre[1]},
        "fixed": fit.wear.fixed.tolist(),
        "fixed_covariance": fit.wear.fixed_covariance.tolist(),
        "wear_mm": {"value": fit.per_hour.value, "u": fit.per_hour.u},
        "residual_mm": fit.wear.residual,
        "level_covariances": [] if fitted is None else [one.tolist() for one in fitted.level_covariances],
        "events": [
            {
                "event": e.event,
                "metal_mm": e.metal.value,
                "u_mm": e.metal.u,
                "days": None if e.days is None else e.days.value,
                "u_days": None if e.days is None else e.days.u,
            }
            for e in fit.events
        ],
        "robust": None if fit.robust is None else fit.robust.fixed.tolist(),
        "forecasts": counts,
        "said": [str(text) for text in fleet_phrases(fit)],
        "doubts": {
            "counts": dict(fit.taken.tally),
            "told": [
                {"kind": d.kind, "unit": d.unit, "rows": list(d.rows), "asked": str(d.asked), "done": str(d.done)}
                for d in fit.doubts
            ],
        },
    }


def _tell(fit: FleetFit, counts: dict[str, int], world: World) -> None:
    from sparkout.season.fleet_fit import fleet_phrases
    from sparkout.season.fleet_together import in_words

    for text in (*_in_words(fit), _counts_told(counts), *fleet_phrases(fit)):
        if text:
            world.say(text)
    for text in in_words(fit.taken.tally):
        world.complain(text)
    for doubt in fit.doubts[:_SHOWN]:
        told = phrase("{unit}: {asked} ({done})", unit=AsTyped(doubt.unit), asked=doubt.asked, done=doubt.done)
        if doubt.rows:
            rows = AsTyped(", ".join(map(str, doubt.rows)))
            told = phrase(
                "{unit} row {rows}: {asked} ({done})",
                unit=AsTyped(doubt.unit), rows=rows, asked=doubt.asked, done=doubt.done,
            )  # fmt: skip
        world.complain(told)
    if len(fit.doubts) > _SHOWN:
        world.complain(phrase("and {n} more; --json tells them", n=len(fit.doubts) - _SHOWN))


def _in_words(fit: FleetFit) -> Iterator[str]:
    """Yield what the fleet's wear comes to; every uncertainty is of 95 %."""
    yield phrase(
        "{units:,} units, {rows:,} readings of {quantity}",
        units=fit.taken.units.size, rows=fit.taken.rows, quantity=phrase(fit.layout.quantity),
    )  # fmt: skip
    wear = {"wear": 1000 * fit.per_hour.value, "u": 2000 * fit.per_hour.u}
    widens, hectares = fit.layout.quantity == "land", fit.layout.use == "hectares"
    if widens and hectares:
        yield phrase("the fleet widens {wear:.4g} ± {u:.2g} µm a hectare (95 %)", **wear)
    elif widens:
        yield phrase("the fleet widens {wear:.4g} ± {u:.2g} µm an hour (95 %)", **wear)
    elif hectares:
        yield phrase("the fleet wears {wear:.4g} ± {u:.2g} µm a hectare (95 %)", **wear)
    else:
        yield phrase("the fleet wears {wear:.4g} ± {u:.2g} µm an hour (95 %)", **wear)
    residual = 1000 * fit.wear.residual
    yield phrase("one reading lies about its unit's line by {residual:.3g} µm (standard deviation)", residual=residual)
    from sparkout.season.sand import EVENT_WORDS

    for cost in fit.events:
        event = EVENT_WORDS[cost.event]
        metal, u = 1000 * cost.metal.value, 2000 * cost.metal.u
        told = phrase("{event} costs {metal:.3g} ± {u:.2g} µm (95 %)", event=event, metal=metal, u=u)
        if cost.days is not None:
            told = phrase(
                "{cost}, {days:.2g} ± {u:.2g} days of the average unit's wear",
                cost=told, days=cost.days.value, u=2.0 * cost.days.u,
            )  # fmt: skip
        yield told


def _counts_told(counts: dict[str, int]) -> str:
    parts = [phrase("{name}: {n:,}", name=phrase(name), n=count) for name, count in counts.items() if count]
    return joined(", ", parts)
