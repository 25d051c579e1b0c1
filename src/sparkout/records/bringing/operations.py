"""What a person does with a file of tables: brings it, says what its columns are, tries it, brings it in."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from django.db.models import Q

from sparkout.core.errors import Refusal
from sparkout.core.phrase import phrase
from sparkout.interchange.mapping import FileMapping, adapted, shape_of
from sparkout.interchange.proposal import propose_sheet, proposed
from sparkout.records.bringing import run as _run  # noqa: F401 - makes its work known to the jobs
from sparkout.records.bringing.store import keep, source_of
from sparkout.records.checked import checked_value
from sparkout.records.jobs import ask_for
from sparkout.records.models import Job, KnownShape, TableFile, TableRow
from sparkout.records.operations.doing import now, one_transaction, operation
from sparkout.visit.words import Text

if TYPE_CHECKING:
    from collections.abc import Iterable

    from django.db.models import Model

    from sparkout.interchange.source import Source
    from sparkout.records.models import Person

_NAME = Text("name of the file", "", 200, 1)


def receive_table(*, actor: Person, name: str, chunks: Iterable[bytes]) -> TableFile:
    """Keep a file somebody brings, and propose what its columns are: as said the last time, when its shape is known.

    Raises
    ------
    Refusal
        When it is no table, or made to do harm; nothing is kept then.
    """
    told = checked_value("name", _NAME, "".join(c for c in name if c.isprintable())[-200:])
    digest, size = keep(chunks)
    file = TableFile(name=told, sha256=digest, size=size, brought_by=actor, brought_at=now())
    file.mapping = _proposal(source_of(file)).as_data()
    with one_transaction():
        file.save()
    return file


def _proposal(source: Source) -> FileMapping:
    fresh = proposed(source)
    known = KnownShape.objects.filter(shape=_shape(fresh)).first()
    if known is None:
        return fresh
    return adapted(FileMapping.from_data(known.mapping), fresh)


def _shape(mapping: FileMapping) -> str:
    one = len(mapping.sheets) == 1
    return shape_of(("" if one else s.name, [c.heading for c in s.columns]) for s in mapping.sheets)


def proposed_again(file: TableFile, delimiter: str, sheets: dict[str, dict[str, Any]]) -> FileMapping:
    """Return a new proposal that keeps to what a person said: delimiter; of sheets kind and where the heading stands.

    Raises
    ------
    Refusal
        When the file cannot be read so.
    """
    source = source_of(file, delimiter)
    made = []
    for sheet in source.sheets:
        said = sheets.get(sheet.name, {})
        found = propose_sheet(sheet, said.get("kind", ""), said.get("heading"), said.get("heading_rows"))
        made.append(found)
    return FileMapping(tuple(made), delimiter or source.sheets[0].delimiter)


@operation
def settle_columns(*, file: TableFile, mapping: FileMapping) -> TableFile:
    """Keep what the columns are, for this file and for the next of its shape.

    Raises
    ------
    Refusal
        When something still has to be said, or the file is being brought in.
    """
    held = _idle(file)
    mapping.check()
    held.mapping = mapping.as_data()
    held.save()
    KnownShape.objects.update_or_create(shape=_shape(mapping), defaults={"mapping": held.mapping, "used_at": now()})
    return held


def _idle(file: TableFile) -> TableFile:
    held = TableFile.objects.select_for_update().get(pk=file.pk)
    if Job.objects.filter(Q(pk=held.trial_id) | Q(pk=held.entering_id), state__in=("waiting", "running")).exists():
        raise Refusal(phrase("this file is being worked on; wait for it, or stop it"))
    return held


@operation
def try_table(*, actor: Person, file: TableFile) -> Job:
    """Ask for a trial: what every row would do. `jobs.begin` starts it.

    Raises
    ------
    Refusal
        When it is being worked on.
    """
    held = _idle(file)
    held.trial = ask_for("table trial", actor, held.pk)
    held.save()
    return held.trial


@operation
def bring_in_table(*, actor: Person, file: TableFile, with_changes: bool = False) -> Job:
    """Ask for a file to be brought in; rows that change a record only when wanted. `jobs.begin` starts it.

    A file that was stopped is taken up behind what is done. What was entered is entered once, however often asked.

    Raises
    ------
    Refusal
        When it is being worked on.
    """
    held = _idle(file)
    last = held.entering
    held.with_changes = with_changes
    held.entering = ask_for("table entering", actor, held.pk)
    if last is not None and last.state != "done" and last.done:
        held.entering.done = last.done
        held.entering.save()
    held.save()
    return held.entering


def came_from(record: Model) -> list[TableRow]:
    """Return the rows of tables that made or changed a record, the oldest first."""
    rows = TableRow.objects.filter(subject=record._meta.model_name, subject_id=record.pk)
    return list(rows.select_related("file__brought_by").order_by("pk"))


@operation
def note_columns(*, file: TableFile, mapping: FileMapping) -> TableFile:
    """Keep what has been said of the columns so far, finished or not.

    Raises
    ------
    Refusal
        When it is being worked on.
    """
    held = _idle(file)
    held.mapping = mapping.as_data()
    held.save()
    return held
