"""`sparkout calc` and the command line's own manners."""

import io
import json
from pathlib import Path

import pytest

from sparkout.cli.main import main
from sparkout.cli.world import DONE, REFUSED, USAGE, World


def run(*arguments: str) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    status = main(list(arguments), World(out, err, {}, Path()))
    return status, out.getvalue(), err.getvalue()


def test_json_is_as_promised() -> None:
    status, out, _ = run("calc", "clip", "travel_speed=2.8 mph", "blade_count=11", "reel_speed=1500", "--json")
    answer = json.loads(out)
    assert status == DONE
    assert set(answer) == {"name", "inputs", "results"}
    assert answer["name"] == "clip"
    assert answer["results"]["clip"]["unit"] == "mm"
    assert answer["results"]["clip"]["value"] == pytest.approx(4.5517, abs=5e-4)


def test_text_names_equation_source_and_caution() -> None:
    status, out, _ = run("calc", "wheel-speed", "wheel_diameter=150", "spindle_speed=3450")
    assert status == DONE
    assert "surface_speed = 27.0962 m/s" in out
    assert "source:" in out
    assert "caution:" in out


def test_listing_and_explanation() -> None:
    assert "land-after-grind" in run("calc")[1]
    assert {entry["name"] for entry in json.loads(run("calc", "--json")[1])} >= {"clip", "balance"}
    assert "may be absent" in run("calc", "conformity")[1]
    assert json.loads(run("calc", "cusp", "--json")[1])["results"]["cusp"]["unit"] == "mm"
    assert run("calc", "--help")[0] == DONE


@pytest.mark.parametrize(
    ("arguments", "status", "says"),
    [
        (("calc", "clp", "a=1"), REFUSED, "did you mean clip?"),
        (("calc", "clp"), REFUSED, "did you mean clip?"),
        (("calc", "clip", "11"), USAGE, "key=value"),
        (("calc", "clip", "travel_speed=1", "travel_speed=2"), REFUSED, "given twice"),
        (("calc", "clip", "travel_speed=1"), REFUSED, "blade_count is missing"),
        (("clac",), USAGE, "did you mean calc?"),
    ],
)
def test_what_goes_wrong_is_said(arguments: tuple[str, ...], status: int, says: str) -> None:
    got, _, err = run(*arguments)
    assert got == status
    assert says in err
    assert "Traceback" not in err


def test_usage_and_version() -> None:
    assert "sparkout COMMAND" in run()[1]
    assert run("version")[1].startswith("sparkout ")


def test_lists_and_plain_numbers_are_told() -> None:
    out = run("calc", "straight-line", "x=1, 2, 3", "y=2;4;6.1", "u_y=0.1 0.1 0.1")[1]
    assert "x = 1, 2, 3" in out
    assert "slope = 2.05" in out
