"""Bringing the records to this version's layout, with a copy of what was there before."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from datetime import datetime
from typing import TYPE_CHECKING

from django.core.management import call_command
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase

if TYPE_CHECKING:
    from pathlib import Path


def bring_up_to_date(data: Path) -> Path | None:
    """Migrate the records when they need it; return the copy made before, if there was anything to copy.

    Raises
    ------
    Refusal
        When the records cannot be opened, or were written by a newer Sparkout.
    """
    try:
        executor = MigrationExecutor(connection)
    except DatabaseError as error:
        why = AsTyped(" ".join(str(error).split()))
        raise Refusal(phrase("the records in {data} cannot be opened: {why}", data=AsTyped(data), why=why)) from None
    known = set(executor.loader.disk_migrations)
    newer = sorted(name for app, name in executor.loader.applied_migrations if (app, name) not in known)
    if newer:
        told = phrase(
            "the records in {data} were written by a newer Sparkout (it knows {layout}). "
            "Use that one, or go back to a copy in the folder 'backups'",
            data=AsTyped(data), layout=AsTyped(newer[-1]),
        )  # fmt: skip
        raise Refusal(told)
    if not executor.migration_plan(executor.loader.graph.leaf_nodes()):
        return None
    copy = _copied(data) if executor.loader.applied_migrations and connection.vendor == "sqlite" else None
    call_command("migrate", interactive=False, verbosity=0, skip_checks=True)
    return copy


def _copied(data: Path) -> Path:
    folder = data / "backups"
    folder.mkdir(exist_ok=True)
    path = folder / f"records-{datetime.now():%Y%m%d-%H%M%S}.sqlite3"
    name = connection.settings_dict["NAME"]
    with closing(sqlite3.connect(name)) as source, closing(sqlite3.connect(path)) as target:
        source.backup(target)
    return path
