"""One vocabulary and one unit system at a time: in every line told, on the card, in the pictures."""

from __future__ import annotations

import json
import re
from functools import cache

import pytest
from tests.reckoning.answers import NAMES, answer_of
from tests.reckoning.partial import partial_answer

from sparkout.core.phrase import AsTyped
from sparkout.papers.card import card_data
from sparkout.papers.pictures import pictures
from sparkout.reckoning.answer import Answer
from sparkout.showing import Showing
from sparkout.telling.whole import ADVICE, tell

UNITS = {"coned": "inch", "frame-out": "inch", "bent-shaft": "mm", "coned-as-left": "inch", "three-readings": "inch"}
"""The unit system that the file was not typed in: what is told in it must have been told anew."""
ANSWERS = (*NAMES, "without gauge figures", "without grinder", "without limits", "first 18 left out")


@cache
def answer(name: str) -> Answer:
    return answer_of(name) if name in NAMES else partial_answer(name)


def cells(answer: Answer, showing: Showing) -> list[str]:
    """Every text told; what the gauges showed is left out, for that stands as it was typed."""
    found = [showing.say(ADVICE)]
    for section in tell(answer, showing):
        found += [section.title, *section.lines, *section.cautions]
        for table in section.tables:
            found += [table.title, *table.head]
            found += [cell for row in table.rows for cell in row if not isinstance(cell, AsTyped)]
    return found


def card_texts(answer: Answer, showing: Showing) -> list[str]:
    card = card_data(answer, showing, "A4")
    bands = card["file"]["bands"]
    if answer.readings:
        shown = bands[0][0]
        shown["rows"] = [[*row[:2], row[3]] for row in shown["rows"]]
    card["pictures"] = [picture["alt"] for picture in card["pictures"]]
    return re.findall(r'"((?:[^"\\]|\\.)*)"', json.dumps(card, ensure_ascii=False))


def picture_texts(answer: Answer, showing: Showing) -> list[str]:
    """What the pictures say, hidden titles and descriptions included."""
    return [
        text
        for svg in pictures(answer, showing).values()
        for text in re.findall(r">([^<>]+)</(?:text|tspan|title|desc)>", svg)
    ]


def own_words(answer: Answer) -> list[str]:
    unit = answer.visit.unit
    return [text for text in (unit.name, unit.machine, unit.position) if text]


def everything(name: str, showing: Showing) -> list[str]:
    found = answer(name)
    texts = [*cells(found, showing), *card_texts(found, showing), *picture_texts(found, showing)]
    for own in own_words(found):
        texts = [text.replace(own, "") for text in texts]
    return texts


def standing(texts: list[str], pattern: str) -> list[str]:
    return [text for text in texts if re.search(pattern, text)]


@pytest.mark.parametrize("name", ANSWERS)
def test_uk_words_are_uk_words(name: str) -> None:
    texts = everything(name, Showing("mm", "uk"))
    assert texts
    assert standing(texts, r"(?i)\b(reels?|bedkni(fe|ves)|kni(fe|ves)|bed bars?|centers?|wrench)\b") == []


@pytest.mark.parametrize("name", ANSWERS)
def test_us_words_are_us_words(name: str) -> None:
    texts = everything(name, Showing("inch", "us"))
    assert standing(texts, r"(?i)\b(cylinders?|bottom blades?|bottom blocks?|centres?|spanners?|colours?)\b") == []
    assert standing(texts, r"(?i)(?<!bed)\bknife\b") == []


@pytest.mark.parametrize("name", ANSWERS)
def test_inch_output_has_no_millimetres(name: str) -> None:
    texts = everything(name, Showing("inch", "us"))
    allowed = standing(texts, r"J/mm³")
    assert [text for text in standing(texts, r"\bmm\b") if text not in allowed] == []
    assert standing(texts, r"\b(mm/s|m/s|km/h|W)$") == []


@pytest.mark.parametrize("name", ANSWERS)
def test_mm_output_has_no_inches(name: str) -> None:
    texts = everything(name, Showing("mm", "uk"))
    assert standing(texts, r"\bthou\b|\d in\b(?! \d+ passes)|in[²³]/|ft/min|\bhp\b") == []


@pytest.mark.parametrize("name", ["coned-as-left", "bent-shaft", "without grinder"])
def test_with_a_decimal_comma_no_point_stands_in_a_number(name: str) -> None:
    for system in ("mm", "inch"):
        texts = everything(name, Showing(system, "uk", ","))
        # paragraphs of a regulation and the names of gauges keep their own writing
        bad = [text for text in standing(texts, r"(?<![\d.])\d+\.\d+(?![\d.])") if "CFR" not in text]
        assert bad == []


@pytest.mark.parametrize("name", NAMES)
def test_the_numbers_are_the_same_in_both_systems(name: str) -> None:
    """As many figures told in either system, section by section: nothing is told in one and dropped in the other."""
    metric, inch = (tell(answer(name), Showing(system, "us")) for system in ("mm", "inch"))
    assert [s.key for s in metric] == [s.key for s in inch]
    for one, other in zip(metric, inch, strict=True):
        assert len(one.lines) == len(other.lines)
        assert [len(t.rows) for t in one.tables] == [len(t.rows) for t in other.tables]


@pytest.mark.parametrize("name", NAMES)
def test_readings_stand_as_typed(name: str) -> None:
    found = answer(name)
    for system in ("mm", "inch"):
        section = next(s for s in tell(found, Showing(system, "uk", ",")) if s.key == "readings")
        shown = [cell for table in section.tables for row in table.rows for cell in row if isinstance(cell, AsTyped)]
        assert shown == [m.shown for m in found.readings if not m.path.startswith("sweeps")]
        card = card_data(found, Showing(system, "us"), "A4")["file"]["bands"][0][0]["rows"]
        assert found.readings[0].shown in card[0][2]
