"""Whole visits through every door: the answer exactly, its refusals word for word, the page figure for figure."""

import datetime
import html
import json
import re
from pathlib import Path
from typing import Any

import pytest
from tests.cli.commands import TODAY, run
from tests.doors.conftest import Doors

from sparkout.cli.world import DONE, REFUSED
from sparkout.core.errors import Refusal
from sparkout.demonstration.listing import demonstration_files
from sparkout.reckoning.answer import Answer
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.reckon import reckon
from sparkout.records.models import Visit
from sparkout.records.queries import visit_file
from sparkout.showing import Showing
from sparkout.telling.whole import tell
from sparkout.visit.questions import questions
from sparkout.visit.reading import read_visit

DAY = datetime.date.fromisoformat(TODAY["SPARKOUT_TODAY"])
IN_INCHES = """\
unit = {name = "unit in inches"}
visit = {date = 2026-11-20, technician = "AB", units = "inch", vocabulary = "us"}
reel = {blades = 11, diameter = "5 in", length = "21 in"}
gauges = [{id = "tape 1", kind = "tape"}, {id = "leaves 1", kind = "feeler"}]
readings = [
  {of = "diameter", gauge = "tape 1", at = "left", value = "4.92 in"},
  {of = "diameter", gauge = "tape 1", at = "right", value = "4.91 in"},
  {of = "rest gap", gauge = "leaves 1", at = "right", value = "8 thou"},
]
"""
VISITS = {name: path.read_text(encoding="utf-8") for name, path in demonstration_files().items()}
VISITS["in inches"] = IN_INCHES
LEAST = 'unit.name = "1"\nreel = {blades = 5, diameter = "5 in", length = "20 in"}\n'
BAD = {
    "no blades": LEAST.replace("blades = 5, ", ""),
    "a part of a blade": LEAST.replace("blades = 5", "blades = 5.5"),
    "far too large": LEAST.replace("5 in", "5 m"),
    "another kind of unit": LEAST.replace("20 in", "20 kg"),
    "a word for a number": LEAST.replace("20 in", "long"),
    "a field nobody knows": LEAST.replace("length", "lenght"),
    "no gauge of that name": LEAST + '[[readings]]\nof = "diameter"\ngauge = "x"\nat = "left"\nvalue = "4.9 in"\n',
    "a quantity nobody knows": LEAST + '[[readings]]\nof = "daimeter"\nat = "left"\nvalue = "4.9 in"\n',
    "off the reel": LEAST + '[[readings]]\nof = "diameter"\nat = "99 in"\nvalue = "4.9 in"\n',
    "no file of this kind": "[",
    "nothing": "",
}


def python(text: str) -> Answer:
    visit = read_visit(text)
    return reckon(visit, questions(visit, DAY))


def data(answer: Answer) -> Any:
    return json.loads(json.dumps(as_data(answer), allow_nan=False))


@pytest.mark.parametrize("name", VISITS)
def test_every_number_exactly(doors: Doors, tmp_path: Path, name: str) -> None:
    expected = data(python(VISITS[name]))
    (tmp_path / "visit.toml").write_text(VISITS[name], encoding="utf-8")
    status, said, _ = run("plan", "visit.toml", "--json", folder=tmp_path)
    assert status == DONE
    assert json.loads(said) == expected
    sent = VISITS[name].encode()
    asked = doors.api.ask("POST", f"plan?today={DAY}", sent, **{"Content-Type": "application/toml"})
    assert asked.json() == expected


@pytest.mark.parametrize("name", VISITS)
def test_the_same_from_the_records_and_on_the_page(doors: Doors, name: str) -> None:
    sent = VISITS[name].encode()
    made = doors.api.ask("POST", "visits/from-file", sent, **{"Content-Type": "application/toml"})
    assert made.status_code == 201, made.content
    number = made.json()["id"]
    kept = visit_file(Visit.objects.get(pk=number))
    answer = reckon(kept, questions(kept, DAY))
    assert doors.api.told("GET", f"visits/{number}/plan?today={DAY}") == data(answer)
    told = 0
    for units, words in (("mm", "uk"), ("inch", "us")):
        doors.browser.post("/who/manner/", {"units": units, "vocabulary": words})
        page = re.sub(r"<[^>]+>", " ", doors.browser.get(f"/visits/{number}/").content.decode())
        page = " ".join(html.unescape(page).split()).lower()
        for section in tell(answer, Showing(units, words)):  # type: ignore[arg-type]
            if section.key in ("readings", "questions"):  # readings stand in their boxes, questions beside them
                continue
            cells = [cell for table in section.tables for row in table.rows for cell in row]
            for text in (*section.lines, *cells):
                if not re.search(r"\d", text):  # the page may leave out that there is no figure yet
                    continue
                assert " ".join(text.split()).lower() in page, (name, units, section.key, text)
                told += len(re.findall(r"\d+(?:\.\d+)?", text))
    assert told > 20, "hardly a figure was compared"


@pytest.mark.parametrize("name", BAD)
def test_a_refusal_word_for_word(doors: Doors, tmp_path: Path, name: str) -> None:
    with pytest.raises(Refusal) as refused:
        python(BAD[name])
    (tmp_path / "visit.toml").write_text(BAD[name], encoding="utf-8")
    status, said, complained = run("plan", "visit.toml", folder=tmp_path)
    assert (status, said) == (REFUSED, "")
    assert complained.strip().endswith(str(refused.value).strip())
    asked = doors.api.ask("POST", f"plan?today={DAY}", BAD[name].encode(), **{"Content-Type": "application/toml"})
    assert asked.status_code == 422
    for error in asked.json()["errors"]:
        assert error["message"] in str(refused.value)
