"""`sparkout demo`: the main job on a demonstration unit, with its job card and pictures."""

from __future__ import annotations

from pathlib import Path

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.plan import add_manner, reckoned, show
from sparkout.cli.world import DONE, World, shown_path
from sparkout.core.errors import Refusal, did_you_mean
from sparkout.core.phrase import AsTyped, phrase


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser("sparkout demo", description="The main job on a demonstration unit (invented).")
    made.add_argument("unit", nargs="?", help="which demonstration unit (else the coned one)")
    made.add_argument("--list", action="store_true", help="list the demonstration units")
    made.add_argument(
        "--out", type=Path, default=Path("sparkout-demo"), metavar="DIR", help="where card and pictures go"
    )
    add_manner(made)
    return made


def run(arguments: list[str], world: World) -> int:
    """Answer one demonstration unit."""
    from sparkout.demonstration.listing import demonstration_files

    asked = asked_of(parser, arguments, world)
    units = demonstration_files()
    if asked.list:
        for name, path in units.items():
            world.say(f"{name:<16} {path}")
        return DONE
    name = asked.unit or next(iter(units))
    if name not in units:
        nearest = did_you_mean(name, units)
        raise Refusal(phrase("there is no demonstration unit '{name}'; {nearest}", name=AsTyped(name), nearest=nearest))
    asked.json, asked.card, asked.pictures = False, asked.out / f"{name}.pdf", asked.out / f"{name}-pictures"
    show(reckoned(units[name], world), asked, world)
    world.complain(phrase("visit file: {path}", path=shown_path(units[name])))
    return DONE
