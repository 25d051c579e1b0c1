"""The migrations make what the models say."""

from __future__ import annotations

from django.apps import apps
from django.core.management import call_command
from django.db import connection
from django.db.migrations.autodetector import MigrationAutodetector
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.state import ProjectState


def test_no_migration_is_missing() -> None:
    loader = MigrationLoader(None)
    changes = MigrationAutodetector(loader.project_state(), ProjectState.from_apps(apps)).changes(graph=loader.graph)
    assert changes == {}


def test_django_finds_nothing_to_complain_of(records) -> None:
    call_command("check", fail_level="WARNING", verbosity=0)
    assert "records_reading" in connection.introspection.table_names()
