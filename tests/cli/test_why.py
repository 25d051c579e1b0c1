"""`sparkout why`: what is seen in, causes and next check out; every refusal with what would do."""

import json
from pathlib import Path

import pytest
from tests.cli.commands import run

UNITS = Path(__file__).parents[2] / "src" / "sparkout" / "demonstration" / "units"


def test_without_anything_it_lists_what_can_be_seen() -> None:
    status, said, _ = run("why")
    assert status == 0
    assert "torn-one-end" in said
    assert "cone-over" not in said
    assert "cone-over" in run("why", "--all")[1]


def test_causes_checks_cautions_and_where_the_numbers_are_from() -> None:
    status, said, _ = run("why", "torn-one-end", "--not", "rocks", "--words", "us")
    assert status == 0
    assert "One end set wider than the other" in said
    assert "The next check worth doing" in said
    assert "gloves" in said
    assert "no source" in said
    assert "Bedknife" in said
    assert "Bottom blade" in run("why", "torn-one-end", "--words", "uk")[1]


def test_same_numbers_for_a_program() -> None:
    status, said, _ = run("why", "hand-bands", "--cannot-tell", "rattle", "--done", "isolate", "--json")
    assert status == 0
    data = json.loads(said)
    assert data["answers"][1] == {"finding": "rattle", "says": "It rattles", "yes": None, "source": ""}
    chances = [cause["chance"] for cause in data["causes"]]
    assert chances == sorted(chances, reverse=True)
    lever = next(each for each in data["next_checks"] if each["check"] == "lever")
    assert [setup["setup"] for setup in lever["setups"]] == ["raise"]
    assert "blades" in lever["cautions"]


def test_the_readings_of_a_visit_are_answers_and_not_asked_again() -> None:
    status, said, _ = run("why", "hand-bands", "--visit", UNITS / "bent-shaft.toml", "--json")
    assert status == 0
    data = json.loads(said)
    known = {answer["finding"]: answer for answer in data["answers"]}
    assert known["shaft-bent"]["yes"] > 0.95
    assert known["shaft-bent"]["source"]
    assert data["causes"][0]["cause"] == "bent-shaft"
    assert not {ask["finding"] for each in data["next_checks"] for ask in each["asks"]} & set(known)
    coned = json.loads(run("why", "torn-one-end", "--visit", UNITS / "coned.toml", "--not", "paper-uncut-everywhere",
                           "--json")[1])  # fmt: skip
    assert "cone" in [cause["cause"] for cause in coned["causes"][:3]]
    assert [a["yes"] for a in coned["answers"] if a["finding"] == "paper-uncut-everywhere"] == [0.0], "a person's own"


def test_the_workshops_own_tables(tmp_path: Path) -> None:
    own = tmp_path / "ours.toml"
    own.write_text('[[cause]]\nid = "sand"\nweight = 4000\n', encoding="utf-8")
    assert json.loads(run("why", "torn-all", "--tables", own, "--json")[1])["causes"][0]["cause"] == "sand"
    own.write_text('[[cause]]\nid = "sand"\nweight = -1\n', encoding="utf-8")
    status, _, complaint = run("why", "torn-all", "--tables", own)
    assert status == 1
    assert "ours.toml line 3: weight is -1; allowed: above 0" in complaint
    own.write_bytes(b"\xff\xfe\x00")
    assert "not UTF-8" in run("why", "torn-all", "--tables", own)[2]


@pytest.mark.parametrize(
    ("arguments", "status", "told"),
    [
        (["torn-al"], 1, "did you mean torn-all"),
        (["clack", "--not", "clack"], 1, "answered twice"),
        (["clack", "--done", "ladder"], 1, "setup 'ladder'"),
        (["clack", "--tables", "nowhere.toml"], 1, "cannot be read"),
        (["clack", "--nonsense"], 2, ""),
    ],
)
def test_refusals(arguments: list[str], status: int, told: str) -> None:
    found, _, complaint = run("why", *arguments)
    assert found == status
    assert told in complaint
