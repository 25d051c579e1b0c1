"""Pictures of whole answers: what is drawn when, under which name."""

from __future__ import annotations

import json
from xml.etree import ElementTree

from tests.reckoning.answers import answer_of
from tests.reckoning.partial import Data, data_of

from sparkout.papers.pictures import pictures
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.visit.reading import read_visit

MM = Showing("mm", "uk")
WHOLE = {
    "unrolled", "cone", "explanations", "passes", "trade", "land", "knife", "on-reel", "stance", "paper-as-found",
    "paper-as-left", "prediction",
}  # fmt: skip


def drawn(data: Data) -> dict[str, str]:
    return pictures(reckon(read_visit(json.dumps(data, default=str))), MM)


def test_the_fullest_unit_has_every_picture_and_each_is_well_formed() -> None:
    made = pictures(answer_of("coned-as-left"), MM)
    assert set(made) == WHOLE
    for svg in made.values():
        root = ElementTree.fromstring(svg)
        assert root.tag == "{http://www.w3.org/2000/svg}svg"


def test_only_what_there_is_something_for_is_drawn() -> None:
    assert set(pictures(answer_of("bent-shaft"), MM)) == WHOLE - {
        "knife",
        "on-reel",
        "stance",
        "paper-as-left",
        "prediction",
    }
    assert set(pictures(answer_of("three-readings"), MM)) == {
        "unrolled", "cone", "explanations", "passes", "trade", "land",
    }  # fmt: skip


def test_two_proofs_of_one_stage_are_two_pictures() -> None:
    data = data_of("coned")
    data["paper"].append({"stations": ["left", "100 mm", "right"], "rows": ["ccc"] * 11, "when": "as found"})
    made = drawn(data)
    assert {"paper-as-found", "paper-as-found-2"} <= set(made)
    assert "100 mm" in made["paper-as-found-2"]
    assert made["paper-as-found"] != made["paper-as-found-2"]


def test_certainty_rounded_over_one_is_still_drawn() -> None:
    """One dial figure mistyped by a factor of a hundred: its explanation takes all the weight there is."""
    data = data_of("coned")
    data["sweeps"][0]["values"][7][2] = -7.000000000000001
    answer = reckon(read_visit(json.dumps(data, default=str)))
    assert answer.diagnosis.state.explanations[0].weight > 0.999999
    assert "explanations" in pictures(answer, MM)
