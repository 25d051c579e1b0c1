"""The job card: bench, file, and pictures overleaf where they need it; real text, large enough, whatever the manner."""

from __future__ import annotations

import io
import itertools
import json
import re

import pypdf
import pytest
from tests.reckoning.answers import NAMES, answer_of
from tests.reckoning.partial import PARTIAL, data_of, partial_answer

from sparkout.papers.card import MOST_ASSUMED, MOST_ROWS, card_data, write_card
from sparkout.reckoning.answer import Answer
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.visit.reading import read_visit

MANNERS = list(itertools.product(("A4", "Letter"), ("uk", "us"), ("mm", "inch"), (".", ",")))
SIZES = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}


def card(answer: Answer, paper: str, words: str, units: str, mark: str) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(write_card(answer, Showing(units, words, mark), paper)))


def text_of(pages: pypdf.PdfReader, number: int) -> str:
    return " ".join(pages.pages[number].extract_text().split())


def smallest(pages: pypdf.PdfReader) -> float:
    """The smallest type on the paper in pt, pictures and all: the size asked for, times what the page makes of it."""
    sizes = []

    def seen(text: str, page: list[float], line: list[float], font: object, size: float) -> None:
        if text.strip():
            shrunk = abs(page[0] * page[3] - page[1] * page[2]) * abs(line[0] * line[3] - line[1] * line[2])
            sizes.append(size * shrunk**0.5)

    for page in pages.pages:
        page.extract_text(visitor_text=seen)
    return min(sizes)


def is_a_card(answer: Answer, pages: pypdf.PdfReader, paper: str) -> None:
    """Two pages of the size asked for or three, the bench first, with text to be read, searched and read aloud."""
    assert len(pages.pages) in (2, 3)
    for page in pages.pages:
        assert [float(page.mediabox.width), float(page.mediabox.height)] == pytest.approx(SIZES[paper], abs=0.5)
    assert smallest(pages) >= 6.0, "pt: legible at arm's length"
    bench, file = text_of(pages, 0), text_of(pages, 1)
    assert answer.visit.unit.name in bench
    assert answer.visit.unit.name in file
    assert "Isolated, tried and tagged" in bench
    assert "Signature" in file
    assert "a person decides and signs" in bench
    assert bench.endswith(f"1 / {len(pages.pages)}")
    assert "drawn out along its length" in text_of(pages, -1), "the pictures are on the last page, whichever that is"
    assert pages.trailer["/Root"]["/MarkInfo"]["/Marked"], "tagged, for readers that speak"


FULL = [("coned-as-left", manner) for manner in MANNERS[::5]]
"""The fullest unit, each choice once or twice; the shortest in every manner there is."""


@pytest.mark.parametrize(("name", "manner"), FULL + [("three-readings", manner) for manner in MANNERS])
def test_every_manner_of_telling_is_a_card(name: str, manner: tuple[str, str, str, str]) -> None:
    """Both papers, both vocabularies, both unit systems, both decimal marks."""
    (paper, words, units, mark), answer = manner, answer_of(name)
    pages = card(answer, paper, words, units, mark)
    is_a_card(answer, pages, paper)
    bench = text_of(pages, 0)
    number = r"\d+" + re.escape(mark) + r"\d+"
    assert re.search(rf"{number} (mm|thou|in)\b", bench)
    assert ("cylinder" in bench, "reel" in bench) == ((True, False) if words == "uk" else (False, True))
    assert bool(re.search(r"\bthou\b", bench)) is (units == "inch")


@pytest.mark.parametrize("name", NAMES[:3])
def test_the_other_demonstration_units_on_the_smaller_paper(name: str) -> None:
    is_a_card(answer_of(name), card(answer_of(name), "Letter", "us", "inch", "."), "Letter")


@pytest.mark.parametrize(("name", "manner"), list(zip(PARTIAL, itertools.cycle(MANNERS), strict=False))[::3])
def test_half_entered_visits_fit_too(name: str, manner: tuple[str, str, str, str]) -> None:
    answer = partial_answer(name)
    is_a_card(answer, card(answer, *manner), manner[0])


def test_the_same_answer_gives_the_same_bytes() -> None:
    answer = answer_of("three-readings")
    assert write_card(answer, Showing(), "A4") == write_card(answer, Showing(), "A4")


def crowded() -> Answer:
    """An overfull file: long names, seventy single readings, every stand-in taken."""
    data = data_of()
    for table in ("grinder", "wanted", "work"):
        data.pop(table)
    data["unit"] |= {"name": "W" * 100, "machine": "machine of a very long name " * 3, "position": "far left " * 11}
    data["limits"] = [{**limit, "origin": "a long origin that tells a whole story " * 5} for limit in data["limits"]]
    data["gauges"] = [{"id": gauge["id"], "kind": gauge["kind"]} for gauge in data["gauges"]]
    swept = next(sweep for sweep in data["sweeps"] if sweep.get("when", "as found") == "as found")
    data["readings"] += [
        {"of": "run-out", "gauge": "dial 1", "set_up": "b", "at": at, "blade": blade + 1, "value": f"{value} mm"}
        for blade, row in enumerate(swept["values"])
        for at, value in zip(swept["at"], row, strict=True)
    ]
    many = ("end play", "radial play", "land", "nick depth", "lip height", "edge rounding")
    data["readings"] += [
        {"of": of, "value": "0.5 mm", "gauge": gauge, "at": "left"}
        for of in many
        for gauge in ("depth 1", "loupe 1", "dial 1", "loupe 2", "jaws 1")
        if of != "nick depth" and not (of.endswith("play") and gauge != "dial 1")
    ]
    return reckon(read_visit(json.dumps(data, default=str)))


def test_an_overfull_file_goes_on_overleaf_and_stays_legible() -> None:
    answer = crowded()
    for paper in SIZES:
        pages = card(answer, paper, "uk", "mm", ".")
        assert len(pages.pages) <= 5, "two for each side and one for the pictures"
        assert smallest(pages) >= 6.0
        assert "Signature" in " ".join(text_of(pages, number) for number in range(1, len(pages.pages)))
    notes = " ".join(card_data(answer, Showing(), "A4")["file"]["notes"])
    assert f"and {len(answer.assumed) - MOST_ASSUMED} more" in notes
    readings = card_data(answer, Showing(), "A4")["file"]["bands"][0][0]["rows"]
    assert len(readings) == MOST_ROWS + 1
    assert "more in the visit file" in readings[-1][0]


def test_forty_blades_are_still_drawn_in_letters_that_can_be_read() -> None:
    data = data_of("three-readings")
    data["reel"]["blades"] = 40
    answer = reckon(read_visit(json.dumps(data, default=str)))
    for paper in SIZES:
        pages = card(answer, paper, "us", "inch", ".")
        assert smallest(pages) >= 6.0
        assert len(pages.pages) == 4, "a page for each picture"
        assert "The reel unrolled" in text_of(pages, 2)


def test_paper_of_another_size_is_refused() -> None:
    with pytest.raises(ValueError, match="allowed: A4, Letter"):
        write_card(answer_of("three-readings"), Showing(), "A5")


def titles(name: str) -> list[str]:
    return [step["title"] for step in card_data(answer_of(name), Showing("mm", "us"), "A4")["bench"]["steps"]]


def test_a_grind_is_on_the_card_only_where_a_limit_asks_for_one() -> None:
    assert "Put right first" not in titles("coned")
    assert any(title.startswith("Spin grind: passes") for title in titles("coned"))
    assert "Relief grind" in titles("coned")
    frame = card_data(answer_of("frame-out"), Showing(), "A4")["bench"]
    steps = {step["title"]: step for step in frame["steps"]}
    assert "No limit asks for a grind." in steps["Spin grind"]["lines"]
    assert not steps["Spin grind"]["passes"]
    assert "frame" in steps["Put right first"]["lines"][0]
    assert [tile["value"] for tile in frame["big"]][1:] == ["none asked"]
    assert not any("Height of cut rises" in line for step in frame["steps"] for line in step["lines"])
    undecided = card_data(answer_of("three-readings"), Showing(), "A4")["bench"]["steps"]
    set_up = next(step for step in undecided if step["title"].startswith("Set up"))
    assert set_up["lines"][0].endswith("Decide first.")
    assert any(line.startswith("Provisional") for line in set_up["lines"])


def test_every_step_that_can_hurt_has_its_caution_beside_it() -> None:
    steps = card_data(answer_of("coned"), Showing(), "A4")["bench"]["steps"]
    assert [step["title"] for step in steps if not step["cautions"]] == []


def test_the_pass_list_counts_up_to_the_infeed_of_the_plan() -> None:
    plan = answer_of("coned").spin.plan
    steps = card_data(answer_of("coned"), Showing("mm", "us"), "A4")["bench"]["steps"]
    ticks = next(step["passes"] for step in steps if step["passes"])
    assert [tick["number"] for tick in ticks] == [str(p.number) for p in plan.passes]
    dialled = [float(tick["depth"]) for tick in ticks if tick["depth"] != "spark"]
    assert dialled == sorted(dialled)
    assert dialled[-1] == pytest.approx(sum(p.infeed for p in plan.passes), abs=5e-4)


def test_a_relief_grind_asked_for_is_on_the_card_though_no_limit_makes_it_due() -> None:
    data = data_of("frame-out")
    data["wanted"]["relief"] = "yes"
    answer = reckon(read_visit(json.dumps(data, default=str)))
    steps = card_data(answer, Showing(), "A4")["bench"]["steps"]
    assert "Spin grind" in [step["title"] for step in steps]


def test_a_reel_with_no_answer_to_the_cone_says_not_known() -> None:
    name = next(reversed(PARTIAL))
    big = card_data(partial_answer(name), Showing(), "A4")["bench"]["big"]
    assert big[0]["value"] == "not known"
    assert big[1]["value"] == "no plan yet"
