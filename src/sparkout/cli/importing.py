"""`sparkout import`: bring a file of tables into the records, or tell what it would do."""

from __future__ import annotations

import argparse
import json
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from sparkout.cli.asking import Parser, asked_of
from sparkout.cli.world import DONE, REFUSED, shown_path
from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, joined, phrase

if TYPE_CHECKING:
    from collections.abc import Iterator

    from sparkout.cli.world import World
    from sparkout.interchange.mapping import FileMapping

_SHOWN = 20
_CHUNK = 1 << 20


def parser() -> Parser:
    """Return what the command takes."""
    made = Parser(
        "sparkout import",
        description="Bring a file of tables (CSV, XLSX, ODS, XLS, zip of CSV, JSON) into the records. "
        "Bringing it twice changes nothing the second time.",
    )
    made.add_argument("file", type=Path)
    made.add_argument("--data", type=Path, metavar="DIR", help="data folder (else SPARKOUT_DATA, else this user's own)")
    made.add_argument("--mapping", type=Path, metavar="FILE", help="what the columns are (JSON; else as proposed)")
    made.add_argument("--show-mapping", action="store_true", help="print what the columns are taken for, and stop")
    made.add_argument("--days", choices=("dmy", "mdy", "ymd"), help="order of days such as 03/04/2025")
    made.add_argument("--dry-run", action="store_true", help="say what every row would do, and change nothing")
    made.add_argument("--changes", action="store_true", help="also make changes; else what is on file stays")
    made.add_argument("--as", dest="person", metavar="NAME", help="who brings it (else the first person)")
    made.add_argument("--json", action="store_true", help="for a program")
    return made


def run(arguments: list[str], world: World) -> int:
    """Bring the file in."""
    asked = asked_of(parser, arguments, world)
    from sparkout.cli.records import opened

    with opened(asked.data, world, alone=True):
        return _bring(asked, world)


def _bring(asked: argparse.Namespace, world: World) -> int:
    from sparkout.records.bringing import operations, store
    from sparkout.records.jobs import do_now

    actor = _person(asked.person)
    path = world.folder / asked.file
    file = operations.receive_table(actor=actor, name=path.name, chunks=_chunks(path))
    mapping = _mapping(asked, world, file.mapping)
    if asked.show_mapping:
        world.say(json.dumps(mapping.as_data(), ensure_ascii=False, indent=1))
        return DONE
    file = operations.settle_columns(file=file, mapping=mapping)
    if asked.dry_run:
        stage, job = store.TRIAL, operations.try_table(actor=actor, file=file)
    else:
        stage, job = store.ENTERING, operations.bring_in_table(actor=actor, file=file, with_changes=asked.changes)
    ended = do_now(job)
    if ended.state != "done":
        raise Refusal(ended.message)
    outcomes = store.Outcomes(file, stage)
    return _tell(asked, world, outcomes)


def _tell(asked: argparse.Namespace, world: World, outcomes: Any) -> int:
    from sparkout.records.bringing.run import in_words

    counts = outcomes.counts()
    refused = outcomes.read("refused", 0, None if asked.json else _SHOWN)
    if asked.json:
        keys = ("sheet", "row", "column", "label", "why")
        rows = [{key: getattr(told, key) for key in keys} for told in refused]
        world.say(
            json.dumps({"dry_run": asked.dry_run, "counts": counts, "refused": rows}, ensure_ascii=False, indent=1)
        )
        return REFUSED if refused else DONE
    name, words = AsTyped(asked.file.name), in_words(counts)
    if asked.dry_run:
        world.say(phrase("{file}: {counts} (nothing is changed)", file=name, counts=words))
    else:
        world.say(phrase("{file}: {counts}", file=name, counts=words))
    for told in refused:
        where = [AsTyped(told.sheet), phrase("row {row}", row=told.row), AsTyped(told.column)]
        world.complain(phrase("{where}: {why}", where=joined(", ", filter(None, where)), why=told.why))
    if counts["refused"] > len(refused):
        world.complain(phrase("and {n} more; --json tells all", n=counts["refused"] - len(refused)))
    return REFUSED if refused else DONE


def _person(name: str | None) -> Any:
    from sparkout.records.models import Person

    found = Person.objects.filter(active=True).order_by("pk")
    person = found.filter(name=name).first() if name else found.first()
    if person is None:
        known = ", ".join(found.values_list("name", flat=True))
        told = phrase("nobody called '{name}' works here; known: {known}", name=AsTyped(name), known=AsTyped(known))
        raise Refusal(told)
    return person


def _mapping(asked: argparse.Namespace, world: World, proposed: Any) -> FileMapping:
    from sparkout.interchange.mapping import FileMapping

    data = proposed
    if asked.mapping is not None:
        path = world.folder / asked.mapping
        try:
            data = json.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError) as trouble:
            why = AsTyped(trouble)
            raise Refusal(phrase("{path} cannot be read as a mapping: {why}", path=shown_path(path), why=why)) from None
    mapping = FileMapping.from_data(data)
    if asked.days:
        sheets = tuple(replace(sheet, order=asked.days) if sheet.kind else sheet for sheet in mapping.sheets)
        mapping = replace(mapping, sheets=sheets)
    return mapping


def _chunks(path: Path) -> Iterator[bytes]:
    try:
        with path.open("rb") as handle:
            while chunk := handle.read(_CHUNK):
                yield chunk
    except OSError as trouble:
        why = AsTyped(trouble.strerror)
        raise Refusal(phrase("{path} cannot be read: {why}", path=shown_path(path), why=why)) from None
