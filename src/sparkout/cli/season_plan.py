"""`sparkout season plan`: what is due, and the plan of the season, from files or from the records."""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sparkout.cli.plan import add_manner, showing_asked
from sparkout.core.errors import Refusal, within
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sparkout.cli.world import World
    from sparkout.season.forecast import UnitNow
    from sparkout.season.now import SeasonPlanned
    from sparkout.season.sheet import SeasonSheet
    from sparkout.showing import Showing

FORMS = (".json", ".xlsx", ".ics", ".pdf")


def add_plan(does: Any) -> None:
    """Add the command's options."""
    made = does.add_parser("plan", help="what is due when, and the plan of a season")
    made.add_argument("sheet", type=Path, nargs="?", help="season sheet (TOML or JSON); else the records' own")
    made.add_argument("--fleet", type=Path, metavar="FILE", help="units (TOML or JSON); else the records' own")
    made.add_argument("--data", type=Path, metavar="DIR", help="data folder (else SPARKOUT_DATA, else this user's own)")
    made.add_argument("--seconds", default="10", metavar="S", help="time for the plan (default 10)")
    made.add_argument(
        "--what-if", type=Path, action="append", default=[], metavar="FILE", help="another sheet, planned beside it"
    )
    made.add_argument(
        "--out", type=Path, action="append", default=[], metavar="FILE", help="write it: .json, .xlsx, .ics or .pdf"
    )
    made.add_argument("--json", action="store_true", help="for a program")
    add_manner(made, ("A3", "A4", "Letter"))


def run_plan(asked: argparse.Namespace, world: World) -> None:
    """Plan, tell and write."""
    from sparkout.season.as_data import forecast_data, plan_data
    from sparkout.season.now import planned, season_now

    for path in asked.out:
        if path.suffix.lower() not in FORMS:
            told = phrase(
                "{name} has the ending '{ending}'; allowed: {allowed}",
                name=AsTyped(path.name), ending=AsTyped(path.suffix), allowed=AsTyped(", ".join(FORMS)),
            )  # fmt: skip
            raise Refusal(told)
    seconds = _seconds(asked.seconds)
    showing = showing_asked(asked)
    sheet, units, doubts = _given(asked, world)
    now = season_now(sheet, units, world.today())
    others = [(path, season_now(_sheet(world.folder / path), units, world.today())) for path in asked.what_if]
    plan = None if now.work is None else planned(now, seconds)
    beside = [(path.stem, planned(one, seconds)) for path, one in others]
    data: dict[str, Any] = {"forecast": forecast_data(now), "plan": None if plan is None else plan_data(plan)}
    data["doubts"] = [{"unit": unit, "what": str(doubt)} for unit, doubt in doubts]
    if beside:
        data["what_if"] = {name: plan_data(one) for name, one in beside}
    if asked.json:
        world.say(json.dumps(data, ensure_ascii=False, indent=1, allow_nan=False))
    else:
        _tell(now, plan, beside, showing, world)
    for unit, doubt in doubts:
        world.complain(showing.say(phrase("{unit}: {doubt}", unit=AsTyped(unit), doubt=doubt)))
    if plan is None:
        raise now.refusal
    for path in asked.out:
        content = written(path.suffix.lower(), plan, showing, asked.paper or "A4", json.dumps(data, ensure_ascii=False))
        world.complain(str(world.write(path, content)))


def written(form: str, plan: SeasonPlanned, showing: Showing, paper: str, data: str) -> bytes:
    """Return a plan in a form."""
    if form == ".xlsx":
        from sparkout.papers.season_tables import season_workbook

        return season_workbook(plan, showing)
    if form == ".ics":
        from sparkout.papers.season_calendar import season_calendar

        return season_calendar(plan.placed, showing)
    if form == ".pdf":
        from sparkout.papers.season_print import season_print

        return season_print(plan, showing, paper)
    return data.encode()


def _tell(now: Any, plan: SeasonPlanned | None, beside: Any, showing: Showing, world: World) -> None:
    from sparkout.cli.terminal import print_told
    from sparkout.telling.season import tell_due, tell_plan, tell_what_ifs

    sections = tell_due(now, showing)
    if plan is not None:
        sections += tell_plan(plan, showing)
        if beside:
            as_given = showing.say(phrase("as it is"))
            sections += (tell_what_ifs([(as_given, plan), *beside], showing),)
    print_told(world, showing.say(phrase("The season")), sections, showing)


def _seconds(given: str) -> float:
    try:
        seconds = float(given)
    except ValueError:
        raise Refusal(phrase("{given} is no time in seconds", given=AsTyped(given[:40]))) from None
    return within("--seconds", seconds, 0.1, 36_000.0, "s")


def _sheet(path: Path) -> SeasonSheet:
    from sparkout.season.sheet import sheet_of
    from sparkout.visit.reading import tables_in

    return sheet_of(*tables_in(path))


def _given(asked: argparse.Namespace, world: World) -> tuple[SeasonSheet, tuple[UnitNow, ...], list[tuple[str, str]]]:
    """Return the sheet and the units, from files or from the records, and what looks wrong with them."""
    if asked.sheet is not None and asked.fleet is not None:
        from sparkout.season.unit_file import units_of
        from sparkout.visit.reading import tables_in

        return _sheet(world.folder / asked.sheet), *_looked_over(units_of(*tables_in(world.folder / asked.fleet)))
    from sparkout.cli.records import opened

    with opened(asked.data, world, alone=False):
        from sparkout.records.season import sheet_now
        from sparkout.records.units_now import units_now

        sheet = sheet_now() if asked.sheet is None else _sheet(world.folder / asked.sheet)
        if asked.fleet is not None:
            from sparkout.season.unit_file import units_of
            from sparkout.visit.reading import tables_in

            return sheet, *_looked_over(units_of(*tables_in(world.folder / asked.fleet)))
        found = units_now(world.today(), 3600.0)
    return sheet, found.units, list(found.doubts)


def _looked_over(units: Sequence[UnitNow]) -> tuple[tuple[UnitNow, ...], list[tuple[str, str]]]:
    from sparkout.season.doubts import looked_over

    found, doubts = looked_over(units)
    return found, list(doubts)
