"""Every calculation's own example, and what must be refused: the same at Python, command line and API."""

import json
import shlex

import pytest
from tests.cli.commands import run
from tests.doors.conftest import Doors

from sparkout.catalogue.as_data import answered_data
from sparkout.catalogue.listing import CATALOGUE, calculate
from sparkout.cli.world import DONE, REFUSED
from sparkout.core.errors import Refusal

BAD = [
    ("cone-from-rest-gap", "gap=-1"),
    ("cone-from-rest-gap", "gap=nonsense"),
    ("cone-from-rest-gap", "gap='2 h'"),
    ("cone-from-rest-gap", "gap=nan"),
    ("cone-from-rest-gap", "gap=1e99"),
    ("cone-from-rest-gap", "gapp=2"),
    ("cone-from-rest-gap", "gap=''"),
    ("clip", "travel_speed=1"),
    ("clip", "travel_speed='1 kg' blade_count=11 reel_speed=2000"),
    ("clip", "travel_speed=1.5 blade_count=eleven reel_speed=2000"),
    ("clip", "travel_speed=1.5 blade_count=2.5 reel_speed=2000"),
    ("clip", "travel_speed=-1 blade_count=0 reel_speed=x"),
    ("wheel-speed", "wheel_diameter=0 spindle_speed=3450"),
    ("straight-line", "x='1, 2' y='2; 4; 6'"),
    ("clp", "travel_speed=1"),
]


def given(typed: str) -> dict[str, str]:
    return dict(pair.split("=", 1) for pair in shlex.split(typed))


def test_every_example_to_the_last_digit(doors: Doors) -> None:
    numbers = 0
    for name, entry in CATALOGUE.items():
        python = json.loads(json.dumps(answered_data(calculate(name, dict(given(entry.example))))))
        status, said, _ = run("calc", name, *shlex.split(entry.example), "--json")
        assert status == DONE, name
        assert json.loads(said) == python, name
        assert doors.api.told("POST", f"calculations/{name}", given(entry.example)) == python, name
        numbers += sum(len(v) if isinstance(v := r["value"], list) else 1 for r in python["results"].values())
    assert numbers > len(CATALOGUE) > 50


@pytest.mark.parametrize(("name", "typed"), BAD)
def test_a_refusal_word_for_word(doors: Doors, name: str, typed: str) -> None:
    with pytest.raises(Refusal) as refused:
        calculate(name, dict(given(typed)))
    status, said, complained = run("calc", name, *shlex.split(typed))
    assert (status, said) == (REFUSED, "")
    assert complained.strip() == str(refused.value)
    if name in CATALOGUE:
        messages = [e["message"] for e in doors.api.refused("POST", f"calculations/{name}", given(typed))]
        assert "\n".join(messages) == str(refused.value)
    else:
        told = doors.api.refused("POST", f"calculations/{name}", given(typed), status=404)
        assert "did you mean clip?" in told[0]["message"]
        assert "did you mean clip?" in complained
