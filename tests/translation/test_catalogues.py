"""The catalogues hold every text, each with the same parts; an answer in German has no English left in it."""

import io
import re
import string
from pathlib import Path

import pypdf
import pytest
from docs.making import translations
from docs.making.texts import texts
from tests.reckoning.answers import NAMES, answer_of

from sparkout.papers.card import write_card
from sparkout.papers.pictures import pictures
from sparkout.reckoning.answer import Answer
from sparkout.showing import Showing
from sparkout.telling.whole import ADVICE, tell

ENGLISH = re.compile(
    r"\b(the|of|and|with|from|is|are|this|that|there|to|at|on|by|not|no|for|than|left|right|reading|reel|blade|"
    r"bedknife|cylinder|knife|edge|end|land|pass|passes|grind|found|higher|lower|between)\b"
)
KEPT = re.compile(
    r"29 CFR 1910\.215(\(\w\), letter not seen)?|‘[^’]*’|sparkout \w+|\[\[work\]\]|readings?\[\d+\]|set_up|cone of reel"
)


def test_what_stands_is_what_the_code_says() -> None:
    for path, text in translations.pages().items():
        assert path.read_text(encoding="utf-8") == text, f"run docs/make.py: {path.name} is not what the code makes"


@pytest.mark.parametrize("language", translations.languages())
def test_everything_is_translated(language: str) -> None:
    assert translations.untranslated(language) == []


@pytest.mark.parametrize("language", translations.languages())
def test_a_translation_has_the_parts_of_its_text(language: str) -> None:
    says = translations.known(language)
    for text in texts():
        told = says[text.singular]
        forms = [told] if isinstance(told, str) else list(told)
        assert translations.parts(forms[-1]) == translations.parts(text.plural or text.singular), text
        for form in forms:
            assert set(translations.parts(form)) <= set(translations.parts(text.plural or text.singular)), text
            if translations.parts(form):
                list(string.Formatter().parse(form))
        assert (text.singular[:1] == " ") == (forms[0][:1] == " "), text


def test_untranslated_texts_are_listed_and_taken_in(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(translations, "LOCALE", tmp_path)
    assert len(translations.untranslated("de")) == len(texts())
    given = tmp_path / "given.json"
    given.write_text('{"{n} pass": ["{n} Durchgang", "{n} Durchgänge"], "Machines": "Maschinen"}', encoding="utf-8")
    assert translations.take("de", given) == 2
    assert translations.known("de")["Machines"] == "Maschinen"
    given.write_text('{"{text}.": "Punkt"}', encoding="utf-8")
    with pytest.raises(ValueError, match="parts"):
        translations.take("de", given)


@pytest.fixture(params=NAMES)
def answer(request: pytest.FixtureRequest) -> Answer:
    return answer_of(request.param)


def whole(answer: Answer, showing: Showing) -> list[str]:
    told = []
    for section in tell(answer, showing):
        told += [section.title, *section.lines, *section.cautions]
        for table in section.tables:
            told += [*table.head, *(cell for row in table.rows for cell in row)]
    return [showing.say(ADVICE), *map(str, told)]


def test_no_english_is_left_in_a_german_answer(answer: Answer) -> None:
    typed = [answer.visit.visit.technician or "", *(g.id for g in answer.visit.gauges), answer.visit.unit.name]
    typed += [limit.origin for limit in answer.visit.limits if limit.origin]
    for line in whole(answer, Showing(language="de", decimal=",")):
        rest = KEPT.sub("", line)
        for name in sorted(typed, key=len, reverse=True):
            rest = rest.replace(name, "") if name else rest
        assert not ENGLISH.search(rest), line


NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def test_the_numbers_are_the_same(answer: Answer) -> None:
    english = [n for line in whole(answer, Showing(decimal=",")) for n in NUMBER.findall(line)]
    german = [n for line in whole(answer, Showing(language="de", decimal=",")) for n in NUMBER.findall(line)]
    assert sorted(english) == sorted(german)


def test_pictures_and_card_in_german(answer: Answer) -> None:
    showing = Showing(language="de", decimal=",")
    made = pictures(answer, showing)
    assert set(made) == set(pictures(answer, Showing()))
    for name, svg in made.items():
        texts_in = re.findall(r"<text[^>]*>([^<]*)</text>", svg)
        assert not [t for t in texts_in if ENGLISH.search(KEPT.sub("", t))], name
    for paper in ("A4", "Letter"):
        pages = pypdf.PdfReader(io.BytesIO(write_card(answer, showing, paper))).pages
        assert len(pages) in (2, 3), "the pictures overleaf where they need it"
        assert "der Länge nach gezeichnet" in pages[-1].extract_text()
