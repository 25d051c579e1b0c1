"""`sparkout visit`: start a visit file, check one, print its schema."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.world import DONE, REFUSED, World, not_written, shown_path
from sparkout.core.phrase import AsTyped, counted, phrase

if TYPE_CHECKING:
    from sparkout.visit.problems import VisitProblems


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser("sparkout visit", description="Start or check a visit file.")
    kinds = made.add_subparsers(dest="what", required=True, metavar="new | check | schema")
    new = kinds.add_parser("new", help="write a commented starting file")
    new.add_argument("file", nargs="?", type=Path, help="where to write it (else it is printed); never overwrites")
    check = kinds.add_parser("check", help="say everything that is wrong or doubtful in a visit file")
    check.add_argument("file", type=Path)
    check.add_argument("--json", action="store_true", help="for a program")
    kinds.add_parser("schema", help="print the JSON Schema of a visit file")
    return made


def run(arguments: list[str], world: World) -> int:
    """Start, check or describe."""
    asked = asked_of(parser, arguments, world)
    if asked.what == "new":
        return _new(asked.file, world)
    if asked.what == "schema":
        import json

        from sparkout.visit.schema_docs import json_schema

        world.say(json.dumps(json_schema(), ensure_ascii=False, indent=2))
        return DONE
    return _check(world.folder / asked.file, world, as_json=asked.json)


def _new(path: Path | None, world: World) -> int:
    from sparkout.visit.writing import starting_file

    text = starting_file()
    if path is None:
        world.say(text)
        return DONE
    target = world.folder / path
    try:
        with target.open("x", encoding="utf-8") as handle:
            handle.write(text)
    except FileExistsError:
        world.complain(phrase("{path} is there already; nothing was written", path=shown_path(target)))
        return REFUSED
    except OSError as trouble:
        world.complain(not_written(target, trouble).words)
        return REFUSED
    world.say(
        phrase(
            "{path}: fill in what you know, leave out what you do not, then: sparkout visit check, sparkout plan",
            path=shown_path(target),
        )
    )
    return DONE


def _check(path: Path, world: World, *, as_json: bool) -> int:
    from sparkout.visit.problems import VisitProblems
    from sparkout.visit.reading import read_visit_file

    try:
        entered = read_visit_file(path)
    except VisitProblems as wrong:
        _tell_problems(wrong, world, as_json=as_json)
        return REFUSED
    questions = entered.questions(world.today())
    if as_json:
        _say_json(world, {"problems": [], "questions": [_row(q, "path", "line", "text") for q in questions]})
        return DONE
    count = len(entered.visit.all_readings)
    told = counted(
        count,
        "{file}: {unit}, {n} reading, nothing wrong.",
        "{file}: {unit}, {n} readings, nothing wrong.",
        file=AsTyped(path.name), unit=AsTyped(entered.visit.unit.name),
    )  # fmt: skip
    world.say(told)
    for question in questions:
        world.say(phrase("asked back: {question}", question=question.words))
    return DONE


def _tell_problems(wrong: VisitProblems, world: World, *, as_json: bool) -> None:
    if as_json:
        keys = ("path", "line", "text", "value", "allowed", "unit", "suggestion")
        _say_json(world, {"problems": [_row(p, *keys) for p in wrong.problems], "questions": []})
        return
    for problem in wrong.problems:
        world.complain(problem.words)
    count = len(wrong.problems)
    world.complain(
        counted(
            count,
            "{n} thing to put right; the file is as you left it",
            "{n} things to put right; the file is as you left it",
        )
    )


def _row(found: object, *keys: str) -> dict[str, object]:
    return {key: getattr(found, key) for key in keys}


def _say_json(world: World, data: dict[str, object]) -> None:
    import json

    world.say(json.dumps(data, ensure_ascii=False, indent=1))
