"""`sparkout visit new | check | schema`."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import pytest
from tests.cli.commands import run

from sparkout.cli.world import DONE, REFUSED
from sparkout.demonstration.listing import demonstration_files

BAD = 'unit.name = "1"\nreel = {blades = 0, diameter = "127 m", length = "20 in"}\n'


def test_new_prints_or_writes_and_what_it_writes_is_a_visit(tmp_path: Path) -> None:
    status, printed, _ = run("visit", "new")
    assert status == DONE
    status, out, _ = run("visit", "new", "my visit.toml", folder=tmp_path)
    assert status == DONE
    assert "sparkout visit check" in out
    assert (tmp_path / "my visit.toml").read_text(encoding="utf-8").strip() == printed.strip()
    assert run("visit", "check", "my visit.toml", folder=tmp_path)[0] == DONE
    assert run("plan", "my visit.toml", folder=tmp_path)[0] == DONE


def test_new_never_overwrites(tmp_path: Path) -> None:
    (tmp_path / "v.toml").write_text("mine")
    status, out, err = run("visit", "new", "v.toml", folder=tmp_path)
    assert (status, out) == (REFUSED, "")
    assert "is there already; nothing was written" in err
    assert (tmp_path / "v.toml").read_text() == "mine"


def test_new_where_there_is_no_folder(tmp_path: Path) -> None:
    status, _, err = run("visit", "new", "nowhere/v.toml", folder=tmp_path)
    assert status == REFUSED
    assert "cannot be written" in err


@pytest.mark.parametrize("name", demonstration_files())
def test_check_of_a_good_file(name: str) -> None:
    status, out, err = run("visit", "check", demonstration_files()[name])
    assert (status, err) == (DONE, "")
    assert "readings, nothing wrong." in out


def test_check_says_all_that_is_wrong_and_leaves_the_file(tmp_path: Path) -> None:
    file = tmp_path / "bad.toml"
    file.write_text(BAD)
    status, out, err = run("visit", "check", "bad.toml", folder=tmp_path)
    assert (status, out) == (REFUSED, "")
    assert "line 2, reel, blades: 0" in err or "blades" in err.splitlines()[0]
    assert "allowed: 2 to 40" in err
    assert "allowed: 40 to 600 mm" in err
    assert "2 things to put right; the file is as you left it" in err
    assert file.read_text() == BAD


def test_check_for_a_program(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text(BAD)
    status, out, err = run("visit", "check", "bad.toml", "--json", folder=tmp_path)
    assert (status, err) == (REFUSED, "")
    found = json.loads(out)
    assert [p["path"] for p in found["problems"]] == ["reel.blades", "reel.diameter"]
    assert found["problems"][1]["allowed"] == "40 to 600"
    assert found["problems"][1]["unit"] == "mm"
    assert found["problems"][1]["line"] == 2
    good = json.loads(run("visit", "check", demonstration_files()["coned"], "--json")[1])
    assert good == {"problems": [], "questions": []}


def test_questions_are_asked_in_words_and_for_a_program(tmp_path: Path) -> None:
    (tmp_path / "v.toml").write_text(
        'unit.name = "1"\nreel = {blades = 5, diameter = "5 in", length = "20 in"}\n'
        "[[limits]]\nquantity = 'cone'\nat_most = '0.2 mm'\n"
    )
    assert "asked back: line 3" in run("visit", "check", "v.toml", folder=tmp_path)[1]
    questions = json.loads(run("visit", "check", "v.toml", "--json", folder=tmp_path)[1])["questions"]
    assert questions[0]["path"] == "limits[0]"
    assert questions[0]["line"] == 3


def test_a_single_problem_is_one_thing(tmp_path: Path) -> None:
    status, _, err = run("visit", "check", "absent.toml", folder=tmp_path)
    assert status == REFUSED
    assert "1 thing to put right" in err


def test_the_schema_printed_is_a_schema() -> None:
    status, out, _ = run("visit", "schema")
    assert status == DONE
    schema = json.loads(out)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert {"unit", "reel"} <= set(schema["required"])
