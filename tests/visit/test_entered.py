from __future__ import annotations

import copy
import pickle

import pytest

from sparkout.visit.entered import Entered, Place, perhaps_meant


def test_an_entered_quantity_is_a_float_that_keeps_its_text() -> None:
    gap = Entered(0.0508, "2 thou")
    assert (gap + 1, gap.text, gap.unit, gap.number) == (1.0508, "2 thou", "thou", 2.0)
    assert repr(gap) == "Entered(0.0508, '2 thou')"


def test_a_bare_number_has_no_unit() -> None:
    assert (Entered(127.0, 127).text, Entered(127.0, 127).unit, Entered(127.0, "127").unit) == ("127", "", "")
    assert Entered(127.0).typed == 127.0


@pytest.mark.parametrize("again", [copy.copy, copy.deepcopy, lambda value: pickle.loads(pickle.dumps(value))])
def test_copies_keep_the_text(again) -> None:
    assert again(Entered(0.0508, "2 thou")).typed == "2 thou"


def test_places_are_words_or_lengths_from_the_left_end() -> None:
    assert [Place(word).along(500) for word in ("left", "Left End", "left quarter", "middle", "right")] == [
        0, 0, 125, 250, 500,
    ]  # fmt: skip
    assert Place("2 in", 50.8).along(500) == 50.8
    assert Place("left") == Place("left") != Place("right")
    assert len({Place("left"), Place("left")}) == 1
    assert (Place(20, 20.0).text, repr(Place("left"))) == ("20", "Place('left')")


def test_what_was_perhaps_meant_names_units_that_fit() -> None:
    assert perhaps_meant(127000, "length", 40, 600) == "Did you mean 127000 µm (127 mm)?"
    assert perhaps_meant(1e9, "length", 40, 600) == ""
    assert perhaps_meant(3000, "rotation", 300, 400).startswith("Did you mean 3000 1/min?")
