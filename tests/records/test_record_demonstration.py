"""The demonstration workshop: what the scenario promises, the same each time, and answered like any other."""

from __future__ import annotations

import json

import pytest

from sparkout.core.errors import Refusal
from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.reckon import reckon
from sparkout.records.demonstration import load_demonstration
from sparkout.records.models import Grinder, HistoryLine, Machine, Person, Place, ReelType, Unit, Visit, Workshop
from sparkout.records.queries import visit_file
from sparkout.visit.reading import read_visit


def everything() -> str:
    told = [visit.as_signed or json.dumps(visit.own) for visit in Visit.objects.order_by("pk")]
    lines = HistoryLine.objects.order_by("pk").values_list("at", "action", "label", "who__name")
    return repr((told, list(lines)))


def test_the_scenario(demonstration) -> None:
    counts = {model: model.objects.count() for model in (Machine, Unit, ReelType, Grinder, Person, Place)}
    assert counts == {Machine: 4, Unit: 14, ReelType: 3, Grinder: 1, Person: 2, Place: 4}
    assert Workshop.objects.get().demonstration
    winters = Visit.objects.filter(state="signed", date__month=12).values_list("date__year", flat=True)
    assert set(winters) == {2024, 2025}
    assert Visit.objects.filter(state="open").count() == 4


def test_the_same_each_time(demonstration, records) -> None:
    # `records` came last, so these are empty again
    load_demonstration()
    first = everything()
    with pytest.raises(Refusal, match="already"):
        load_demonstration()
    assert everything() == first
    assert "2026-11-25" not in first  # nothing of today in it


def test_what_is_on_the_bench_is_answered_as_its_file(demonstration) -> None:
    for name, unit in (("coned", "G3 left"), ("frame-out", "G3 right"), ("bent-shaft", "F2 centre")):
        visit = Visit.objects.get(unit__name=unit, state="open")
        ours, theirs = (as_data(reckon(file)) for file in (visit_file(visit), read_visit(demonstration_files()[name])))
        for answer in (ours, theirs):  # the records list limits in an order of their own
            answer["verdicts"].sort(key=lambda verdict: verdict["quantity"])
        assert ours == theirs


def test_the_past_conforms_and_wears(demonstration) -> None:
    diameters = []
    for visit in Visit.objects.filter(unit__name="G3 centre").order_by("date"):
        answer = reckon(visit_file(visit))
        assert not answer.questions
        diameters.append(2 * answer.diagnosis.heights.mean())
    assert len(diameters) == 4
    assert diameters == sorted(diameters, reverse=True)
    assert diameters[0] < 127.0
