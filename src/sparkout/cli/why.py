"""`sparkout why`: from what is seen on the turf to causes and the next check."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.plan import add_manner, reckoned, showing_asked
from sparkout.cli.world import DONE, World
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from sparkout.core.faults.tables import Tables
    from sparkout.showing import Showing


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser(
        "sparkout why",
        description="Why does it look like that? What is seen goes in, likely causes and the next check come out. "
        "Without anything it lists what can be seen.",
    )
    made.add_argument("seen", nargs="*", metavar="SEEN", help="what is so, by its name in the list")
    made.add_argument("--not", dest="no", nargs="+", default=[], metavar="SEEN", help="what is not so")
    made.add_argument("--cannot-tell", nargs="+", default=[], metavar="SEEN", help="what nobody can tell")
    made.add_argument("--done", nargs="+", default=[], metavar="SETUP", help="done already: mow, isolate, raise, bench")
    made.add_argument("--visit", type=Path, metavar="FILE", help="visit file whose readings count as answers")
    whose = made.add_mutually_exclusive_group()
    whose.add_argument("--tables", type=Path, metavar="FILE", help="the workshop's own tables, laid over ours")
    whose.add_argument("--data", type=Path, metavar="DIR", help="data folder whose own tables hold, as on the web")
    made.add_argument("--all", action="store_true", help="list what checks can answer too")
    made.add_argument("--json", action="store_true", help="print the answer for a program")
    add_manner(made)
    return made


def run(arguments: list[str], world: World) -> int:
    """Rank the causes, or list what can be seen."""
    asked = asked_of(parser, arguments, world)
    tables = _tables(asked.tables, world) if asked.data is None else _kept(asked.data, world)
    showing = showing_asked(asked)
    if not (asked.seen or asked.no or asked.cannot_tell or asked.visit):
        _list(tables, asked.all, world, showing)
        return DONE
    _rank(asked, tables, world, showing)
    return DONE


def _tables(path: Path | None, world: World) -> Tables:
    from sparkout.core.faults.reading import overlaid_tables, usual_tables

    if path is None:
        return usual_tables()
    try:
        text = (world.folder / path).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as trouble:
        why = trouble.strerror if isinstance(trouble, OSError) else phrase("it is not UTF-8 text")
        raise Refusal(phrase("{path} cannot be read: {why}", path=AsTyped(str(path)), why=why or "")) from None
    return overlaid_tables(text, path.name)


def _kept(data: Path, world: World) -> Tables:
    """Return the tables that hold in the records of a data folder."""
    from sparkout.cli.records import opened

    with opened(data, world, alone=False):
        from sparkout.records.operations.faults import workshop_tables

        return workshop_tables()


def _list(tables: Tables, whole: bool, world: World, showing: Showing) -> None:
    listed = tables.findings if whole else tables.seen
    width = max(len(finding.id) for finding in listed)
    for finding in listed:
        world.say(f"{finding.id:<{width}}  {showing.say(finding.says)}")
    world.say()
    world.say(showing.say(phrase("sparkout why NAME ... ranks the causes; --all lists what checks can answer too.")))


def _rank(asked: argparse.Namespace, tables: Tables, world: World, showing: Showing) -> None:
    from sparkout.core.faults.diagnosis import Answer, diagnose
    from sparkout.reckoning.known_faults import faults_data, known_from_visit, with_known

    told = [Answer(name, 1.0) for name in asked.seen]
    told += [Answer(name, 0.0) for name in asked.no]
    told += [Answer(name, None) for name in asked.cannot_tell]
    known = known_from_visit(reckoned(world.folder / asked.visit, world), tables) if asked.visit else ()
    found = diagnose(tables, with_known(told, known), asked.done)
    if asked.json:
        import json

        world.say(json.dumps(faults_data(found, tables), ensure_ascii=False, indent=1, allow_nan=False))
        return
    from sparkout.telling.faults import told_faults

    for section in told_faults(found, tables, showing):
        world.say(section.title)
        for line in section.lines:
            world.say(f"  {line}")
        for caution in section.cautions:
            world.say(f"  ⚠ {caution}")
        world.say()
    world.say(showing.say(tables.origin_of_numbers))
