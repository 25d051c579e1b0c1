"""`sparkout export`: everything in the records as one file."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import TYPE_CHECKING

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.world import DONE, not_written, shown_path
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from sparkout.cli.world import World

_FORMS = {".xlsx": "xlsx", ".zip": "zip", ".json": "json"}


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser(
        "sparkout export",
        description="Write everything in the records to one file: .xlsx, .zip (CSV files) or .json. "
        "'sparkout import' takes it in again.",
    )
    made.add_argument("file", type=Path, help="its ending says the form: .xlsx, .zip or .json")
    made.add_argument("--data", type=Path, metavar="DIR", help="data folder (else SPARKOUT_DATA, else this user's own)")
    made.add_argument("--units", choices=("mm", "inch"), default="mm", help="units of the columns (default mm)")
    made.add_argument("--vocabulary", choices=("uk", "us"), default="uk", help="trade words of the headings")
    made.add_argument("--decimal", choices=(".", ","), default=".", help="decimal mark in CSV files")
    return made


def run(arguments: list[str], world: World) -> int:
    """Write the file; a server may go on meanwhile."""
    asked = asked_of(parser, arguments, world)
    form = _FORMS.get(asked.file.suffix.lower())
    if form is None:
        raise Refusal(
            phrase(
                "{name} has the ending '{ending}'; allowed: {allowed}",
                name=AsTyped(asked.file.name), ending=AsTyped(asked.file.suffix), allowed=AsTyped(", ".join(_FORMS)),
            )
        )  # fmt: skip
    from sparkout.cli.records import opened
    from sparkout.showing import Showing

    target = world.folder / asked.file
    with opened(asked.data, world, alone=False):
        from sparkout.records.taking_out import taken_out

        with taken_out(form, asked.units, Showing(asked.units, asked.vocabulary).say, asked.decimal) as made:
            try:
                target.parent.mkdir(parents=True, exist_ok=True)
                with target.open("wb") as handle:
                    shutil.copyfileobj(made, handle)
            except OSError as trouble:
                raise not_written(target, trouble) from None
    world.say(phrase("{path}: everything in the records", path=shown_path(target)))
    return DONE
