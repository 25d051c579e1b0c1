"""`sparkout plan FILE`: the whole answer for a visit file."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.world import DONE, World, shown_path
from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.translation import DECIMAL_MARKS, LANGUAGES

if TYPE_CHECKING:
    from sparkout.reckoning.answer import Answer
    from sparkout.showing import Showing
    from sparkout.visit.sections import VisitSection


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser(
        "sparkout plan", description="The whole answer for a visit file: state, verdicts, grind, setting, proof."
    )
    made.add_argument("file", type=Path, help="visit file (TOML or JSON)")
    made.add_argument("--json", action="store_true", help="print the answer for a program")
    made.add_argument("--card", type=Path, metavar="OUT.pdf", help="write the job card")
    made.add_argument("--pictures", type=Path, metavar="DIR", help="write the pictures as SVG")
    add_manner(made)
    return made


def add_manner(made: argparse.ArgumentParser, papers: tuple[str, ...] = ("A4", "Letter")) -> None:
    """Add the options that say how to be told; what is not given comes from the visit file."""
    made.add_argument("--units", choices=("mm", "inch"), help="unit system (else the file's, else mm)")
    made.add_argument("--words", choices=("uk", "us"), help="trade vocabulary (else the file's, else uk)")
    made.add_argument("--decimal", choices=(".", ","), help="decimal mark (else the language's)")
    made.add_argument("--language", choices=tuple(LANGUAGES), help="language of the texts (else the system's, else en)")
    made.add_argument("--paper", choices=papers, help="paper of what is printed (else the file's, else A4)")


def run(arguments: list[str], world: World) -> int:
    """Answer one visit file."""
    asked = asked_of(parser, arguments, world)
    file = world.folder / asked.file
    answer = reckoned(file, world)
    if asked.card is not None and (world.folder / asked.card).resolve() == file.resolve():
        raise Refusal(
            phrase(
                "the job card would be written over the visit file {file}; nothing was written", file=shown_path(file)
            )
        )
    show(answer, asked, world)
    return DONE


def reckoned(path: Path, world: World) -> Answer:
    """Return the answer for a visit file."""
    from sparkout.reckoning.reckon import reckon
    from sparkout.visit.reading import read_visit_file

    entered = read_visit_file(path)
    return reckon(entered.visit, entered.questions(world.today()))


def showing_asked(asked: argparse.Namespace, visit: VisitSection | None = None) -> Showing:
    """Return how to tell it: as asked with `add_manner`, else as the visit file says."""
    from sparkout.showing import Showing

    units = asked.units or (visit and visit.units) or "mm"
    words = asked.words or (visit and visit.vocabulary) or "uk"
    return Showing(units, words, asked.decimal or DECIMAL_MARKS[asked.language], language=asked.language)


def show(answer: Answer, asked: argparse.Namespace, world: World) -> None:
    """Print the answer, and write card and pictures when asked."""
    showing = showing_asked(asked, answer.visit.visit)
    if asked.json:
        import json

        from sparkout.reckoning.as_data import as_data

        world.say(json.dumps(as_data(answer), ensure_ascii=False, indent=1, allow_nan=False))
    else:
        from sparkout.cli.terminal import print_sections
        from sparkout.telling.whole import tell

        print_sections(world, answer, tell(answer, showing), showing)
    if asked.pictures is not None:
        from sparkout.papers.pictures import pictures

        made = pictures(answer, showing)
        for name, svg in made.items():
            world.write(asked.pictures / f"{name}.svg", svg.encode("utf-8"))
        where = shown_path(world.folder / asked.pictures)
        world.complain(phrase("pictures: {path}", path=where) if made else phrase("pictures: nothing to draw yet"))
    if asked.card is not None:
        from sparkout.papers.card import write_card

        card = write_card(answer, showing, asked.paper or answer.visit.visit.paper_size or "A4")
        world.complain(phrase("job card: {path}", path=shown_path(world.write(asked.card, card))))
