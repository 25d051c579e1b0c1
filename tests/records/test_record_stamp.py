"""The stamp changes with every commit and with nothing else; checked on a plain connection beside Django's."""

import sqlite3
from contextlib import closing

import pytest
from django.db import connection, transaction
from tests.records.workshops import Bench, diameter

from sparkout.records.stamp import readings_written, stamp, stamp_but_readings
from sparkout.records.this_workshop import active_person


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


@pytest.mark.sqlite
def test_a_span_ends_with_a_name_when_nobody_else_wrote(on_bench: Bench) -> None:
    with readings_written() as span:
        diameter(on_bench)
    assert span.before not in ("", span.after)
    assert span.after == stamp()


@pytest.mark.sqlite
@pytest.mark.parametrize("first", [True, False])
def test_a_span_in_which_somebody_else_wrote_has_no_end(on_bench: Bench, first: bool) -> None:
    def others() -> None:
        with closing(sqlite3.connect(connection.settings_dict["NAME"])) as other, other:
            other.execute("UPDATE records_person SET name = 'ZZ'")

    with readings_written() as span:
        for write in (others, lambda: diameter(on_bench)) if first else (lambda: diameter(on_bench), others):
            write()
    assert span.after == ""


def test_a_span_inside_a_transaction_has_no_end(on_bench: Bench) -> None:
    with transaction.atomic(), readings_written() as span:
        diameter(on_bench)
    assert span.after == ""


@pytest.mark.sqlite
def test_the_name_but_for_readings_stays_over_readings_alone(on_bench: Bench) -> None:
    before = stamp_but_readings()
    for at in ("left", "right"):
        with readings_written():
            diameter(on_bench, at=at)
        assert stamp_but_readings() == before != stamp()
    diameter(on_bench, at="centre")  # not said to be a reading
    assert stamp_but_readings() != before


def test_a_person_is_asked_for_again_when_anything_but_a_reading_was_written(on_bench: Bench) -> None:
    with readings_written():
        diameter(on_bench)
    first = active_person(on_bench.me.pk)
    assert first == on_bench.me
    first.name = "changed, and not saved"
    assert active_person(on_bench.me.pk).name == on_bench.me.name
    on_bench.me.active = False
    on_bench.me.save()
    assert active_person(on_bench.me.pk) is None
