"""A question worded once is answered as Django answers it, whatever is asked next."""

import uuid

from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from tests.records.workshops import Bench, diameter

from sparkout.records.models import HistoryLine, Reading
from sparkout.records.worded import Worded


def test_answers_are_those_of_django(on_bench: Bench) -> None:
    made = [diameter(on_bench, at=at) for at in ("left", "centre", "right")]
    lines = Worded(HistoryLine, HistoryLine.objects.filter, "key")
    for reading in made:
        assert lines.first(key=reading.key) == HistoryLine.objects.get(key=reading.key)
    assert lines.first(key=uuid.uuid4()) is None


def test_values_go_where_their_names_stand(on_bench: Bench) -> None:
    """Django sorts conditions by itself; the answer's columns come back as an instance's, read as typed."""
    made = diameter(on_bench, at="left")
    with transaction.atomic():
        asked = Worded(
            Reading,
            lambda **where: Reading.objects.select_for_update().filter(**where).order_by("-version")[:1],
            "visit",
            "version",
            "key",
        )
        found = asked.first(visit=on_bench.visit.pk, version=1, key=made.key)
        assert asked.first(visit=1, version=on_bench.visit.pk + 1, key=made.key) is None
    assert found == made
    assert (found.at, found.value, found.gauge.name) == ("left", made.value, made.gauge.name)


def test_it_is_worded_as_django_would(on_bench: Bench) -> None:
    key = diameter(on_bench).key
    asked = Worded(HistoryLine, HistoryLine.objects.filter, "key")
    with CaptureQueriesContext(connection) as by_it:
        asked.first(key=key)
    with CaptureQueriesContext(connection) as by_django:
        list(HistoryLine.objects.filter(key=key))
    assert by_it[0]["sql"] == by_django[0]["sql"]
