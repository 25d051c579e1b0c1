"""Texts that can be told in another language."""

import pickle
from gettext import NullTranslations

import pytest

from sparkout.core.phrase import AsTyped, counted, joined, phrase
from sparkout.translation import translated


class Invented(NullTranslations):
    """Every template in capitals, names of parts as they are: enough to see what was looked up."""

    def gettext(self, message: str) -> str:
        return {"{n} end": "{n} ENDE", "left": "links", "cone {c:.1f} {end}": "{end}: Konus {c:.2f}"}.get(
            message, message
        )

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return {"{n} pass": "{n} Gang", "{n} passes": "{n} Gänge"}[msgid1 if n == 1 else msgid2]


@pytest.fixture
def invented(monkeypatch):
    monkeypatch.setattr("sparkout.translation.catalogue", lambda _: Invented())


def test_a_phrase_is_its_english_text():
    text = phrase("cone {c:.1f} {end}", c=0.31, end=phrase("left"))
    assert text == "cone 0.3 left"
    assert counted(1, "{n} pass", "{n} passes") == "1 pass"
    assert phrase("a brace { alone") == "a brace { alone"
    assert joined(", ", []) == ""


def test_template_and_parts_are_translated(invented):
    assert translated(phrase("cone {c:.1f} {end}", c=0.31, end=phrase("left")), "xx") == "links: Konus 0.31"
    assert translated(joined(" {x} ", [phrase("left"), "as it is"]), "xx") == "links {x} as it is"
    assert translated(counted(1, "{n} pass", "{n} passes"), "xx") == "1 Gang"
    assert translated(counted(2, "{n} pass", "{n} passes"), "xx") == "2 Gänge"


def test_what_the_user_typed_stays(invented):
    assert translated(AsTyped("left"), "xx") == "left"
    assert translated(phrase("{name}", name=AsTyped("left")), "xx") == "left"


def test_a_phrase_survives_being_stored(invented):
    kept = pickle.loads(pickle.dumps(phrase("cone {c:.1f} {end}", c=0.31, end=phrase("left"))))
    assert translated(kept, "xx") == "links: Konus 0.31"
