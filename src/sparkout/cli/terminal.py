"""Sections printed for a person at a terminal."""

from __future__ import annotations

from io import StringIO
from typing import TYPE_CHECKING

from rich.console import Console
from rich.padding import Padding
from rich.table import Table as RichTable
from rich.text import Text

if TYPE_CHECKING:
    from sparkout.cli.world import World
    from sparkout.reckoning.answer import Answer
    from sparkout.showing import Showing
    from sparkout.telling.section import Section, Table


WIDTH = 120
"""Columns where nobody knows how wide the paper is: a file, a pipe."""


def print_sections(world: World, answer: Answer, sections: tuple[Section, ...], showing: Showing) -> None:
    """Print the answer; colour only where the terminal wants it, meaning never by colour alone."""
    from sparkout.telling.whole import ADVICE, DEMONSTRATION

    unit = answer.visit.unit
    heading = " · ".join(filter(None, (unit.name, unit.machine, unit.position)))
    _printed(world, heading, showing.say(DEMONSTRATION) if answer.visit.visit.demonstration else "", sections)
    world.say(showing.say(ADVICE))


def print_told(world: World, heading: str, sections: tuple[Section, ...], showing: Showing) -> None:
    """Print sections under a heading, then that a person decides."""
    from sparkout.telling.whole import ADVICE

    _printed(world, heading, "", sections)
    world.say(showing.say(ADVICE))


def _printed(world: World, heading: str, under: str, sections: tuple[Section, ...]) -> None:
    if world.out.isatty():
        _print(
            Console(file=world.out, highlight=False, no_color="NO_COLOR" in world.env or None), heading, under, sections
        )
        return
    text = StringIO()
    _print(Console(file=text, width=WIDTH, highlight=False, no_color=True), heading, under, sections)
    for line in text.getvalue().splitlines():
        world.say(line.rstrip())


def _print(console: Console, heading: str, under: str, sections: tuple[Section, ...]) -> None:
    console.print(Text(heading, style="bold"))
    if under:
        console.print(under)
    for section in sections:
        console.print()
        console.print(Text(section.title, style="bold underline"))
        for line in section.lines:
            console.print(_indented(Text(line)))
        for table in section.tables:
            if table.title:
                console.print(_indented(Text(table.title, style="italic")))
            console.print(_indented(_table(table)))
        for caution in section.cautions:
            console.print(_indented(Text(f"⚠ {caution}", style="bold")))
    console.print()


def _indented(what: Text | RichTable) -> Padding:
    return Padding(what, (0, 0, 0, 2), expand=False)


def _table(table: Table) -> RichTable:
    made = RichTable(box=None, pad_edge=False)
    for head in table.head:
        made.add_column(Text(head), overflow="fold")
    for row in table.rows:
        made.add_row(*map(Text, row))
    return made
