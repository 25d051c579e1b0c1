"""The stamp changes with every commit and with nothing else; checked on a plain connection beside Django's."""

import sqlite3
from contextlib import closing

import pytest
from django.db import connection, transaction
from tests.records.workshops import Bench, diameter

from sparkout.records.stamp import stamp


def test_it_stays_while_nothing_is_written(on_bench: Bench) -> None:
    assert stamp() == stamp()


def test_it_changes_with_an_entry(on_bench: Bench) -> None:
    before = stamp()
    diameter(on_bench)
    assert stamp() != before


@pytest.mark.sqlite
def test_it_changes_when_somebody_else_writes(on_bench: Bench) -> None:
    before = stamp()
    with closing(sqlite3.connect(connection.settings_dict["NAME"])) as other, other:
        other.execute("UPDATE records_person SET name = 'ZZ'")
    assert stamp() != before


def test_inside_a_transaction_nothing_is_taken_for_known(on_bench: Bench) -> None:
    with transaction.atomic():
        assert stamp() != stamp()


def test_a_database_that_is_no_file_is_never_the_same(on_bench: Bench) -> None:
    from sparkout.records.stamp import _Watch

    watch = _Watch()
    assert watch.version("no such file") != watch.version("no such file")
