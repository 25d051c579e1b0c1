"""The page shows what the Python package tells, figure for figure: in both vocabularies and units."""

import html
import re
from itertools import product

import pytest
from django.test import Client
from django.utils import timezone

from sparkout.reckoning.reckon import reckon
from sparkout.records.models import Visit
from sparkout.records.queries import visit_file
from sparkout.showing import Showing
from sparkout.telling.whole import tell
from sparkout.visit.questions import questions

NOT_ON_THE_PAGE = {"readings", "questions"}
"""Readings stand in their boxes; questions beside them."""


def words(page: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


@pytest.mark.parametrize(("vocabulary", "units"), list(product(("uk", "us"), ("mm", "inch"))))
def test_every_sentence_and_figure(visitor: Client, vocabulary: str, units: str) -> None:
    visitor.post("/who/manner/", {"vocabulary": vocabulary, "units": units})
    told = 0
    for visit in Visit.objects.filter(state="open").order_by("pk"):
        file = visit_file(visit)
        answer = reckon(file, questions(file, timezone.localdate()))
        page = words(visitor.get(f"/visits/{visit.pk}/").content.decode())
        for section in tell(answer, Showing(units, vocabulary)):  # type: ignore[arg-type]
            if section.key in NOT_ON_THE_PAGE:
                continue
            cells = [cell for table in section.tables for row in table.rows for cell in row]
            for text in (*section.lines, *cells):
                shown = " ".join(text.split())
                assert shown in page or shown.lower() in page, (visit.pk, section.key, text)
                told += 1
    assert told > 200
