"""Pictures speak one vocabulary in whole sentences: no placeholder is left standing in one."""

import pytest

from sparkout.demonstration.listing import demonstration_files
from sparkout.papers.pictures import pictures
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.visit.reading import read_visit


@pytest.mark.parametrize(("vocabulary", "title"), [("uk", "The cylinder unrolled"), ("us", "The reel unrolled")])
def test_titles_are_whole(vocabulary, title):
    answer = reckon(read_visit(demonstration_files()["coned-as-left"]))
    drawn = pictures(answer, Showing("mm", vocabulary))
    assert title in drawn["unrolled"]
    assert {name for name, svg in drawn.items() if "{" in svg or "}" in svg} == set()
