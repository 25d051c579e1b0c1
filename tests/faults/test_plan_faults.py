"""Hostile and mistaken visit files through `sparkout plan`: refused or asked back in words, and never changed."""

from __future__ import annotations

import copy
import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.cli.commands import run
from tests.reckoning.partial import Data, data_of

from sparkout.cli.world import DONE, REFUSED
from sparkout.core.errors import Refusal
from sparkout.demonstration.listing import demonstration_files
from sparkout.papers.card import card_data
from sparkout.papers.pictures import pictures
from sparkout.reckoning.as_data import as_data
from sparkout.reckoning.reckon import reckon
from sparkout.showing import Showing
from sparkout.telling.whole import tell
from sparkout.visit.reading import read_visit

CONED = demonstration_files()["coned"].read_bytes()
Change = Callable[[Data], object]


def planned(content: bytes, folder: Path, *options: str) -> tuple[int, str, str]:
    """Plan a file of this content; it must be as it was afterwards."""
    file = folder / "a visit.toml"
    file.write_bytes(content)
    answer = run("plan", file, *options, folder=folder)
    assert file.read_bytes() == content
    return answer


def refused(content: bytes, folder: Path) -> str:
    status, out, err = planned(content, folder, "--json")
    assert status == REFUSED
    assert out == ""
    return err


def edited(change: Change, name: str = "coned") -> bytes:
    data = data_of(name)
    change(data)
    return json.dumps(data, default=str).encode()


def plan_of(change: Change, folder: Path, name: str = "coned") -> tuple[int, str, str]:
    file = folder / "edited.json"
    file.write_bytes(edited(change, name))
    before = file.read_bytes()
    answer = run("plan", file, folder=folder)
    assert file.read_bytes() == before
    return answer


def readings(data: Data, of: str) -> list[Data]:
    return [reading for reading in data["readings"] if reading["of"] == of]


@pytest.mark.parametrize(
    ("old", "new", "place", "value", "allowed"),
    [
        (b'diameter = "127 mm"', b'diameter = "127 m"', "reel, diameter", "127 m", "40 to 600 mm"),
        (b'diameter = "127 mm"', b'diameter = "5"', "reel, diameter", "5", "40 to 600 mm"),
        (b"blades = 11", b"blades = 0", "reel, blades", "0", "2 to 40"),
        (b'length = "533 mm"', b'length = "533 km"', "reel, length", "533 km", "50 to 3000 mm"),
        (b'goes = "0.15 mm"', b'goes = "-0.15 mm"', "goes", "-0.15 mm", "0 to 20 mm"),
        (b'value = "123.20 mm"', b'value = "123.20 thou"', "readings number 1, value", "123.20 thou", "40 to 600 mm"),
        (b'value = "123.20 mm"', b"value = nan", "readings number 1, value", "nan", "40 to 600 mm"),
        (b'value = "123.20 mm"', b"value = inf", "readings number 1, value", "inf", "40 to 600 mm"),
        (b'marked_speed = "35 m/s"', b'marked_speed = "35 mm"', "grinder, marked_speed", "35 mm", "5 to 150 m/s"),
        (b'allowance = "0.02 mm"', b'allowance = "20 mm"', "wanted, allowance", "20 mm", "0 to 1 mm"),
    ],
)
def test_an_absurd_entry_is_named_with_line_value_range_and_unit(
    tmp_path: Path, old: bytes, new: bytes, place: str, value: str, allowed: str
) -> None:
    assert CONED.count(old) >= 1
    err = refused(CONED.replace(old, new, 1), tmp_path)
    line = CONED[: CONED.index(old)].count(b"\n") + 1
    assert f"line {line}," in err
    assert place in err
    assert value in err
    assert f"allowed: {allowed}" in err


def test_all_that_is_wrong_is_said_at_once(tmp_path: Path) -> None:
    content = CONED.replace(b"blades = 11", b"blades = 0").replace(b'diameter = "127 mm"', b'diameter = "127 m"')
    err = refused(content.replace(b'helix = "20 deg"', b'helix = "200 deg"'), tmp_path)
    assert [word in err for word in ("blades", "diameter", "helix")] == [True] * 3


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty"),
        (CONED[:2000], "not readable as TOML"),
        (CONED.decode().encode("utf-16"), "UTF-16. Save it as UTF-8"),
        (CONED.replace(b"paint dot", b"caf\xe9"), "byte 0xE9 is not UTF-8"),
        (bytes(range(256)), "not a text file"),
        (CONED + b"#" * 2_000_000, "larger than a visit can be"),
        (b"[unit]\nname = '1'\n", "reel"),
    ],
    ids=["empty", "truncated", "utf-16", "latin-1", "bytes", "huge", "no reel"],
)
def test_a_file_that_is_no_visit(tmp_path: Path, content: bytes, words: str) -> None:
    assert words in refused(content, tmp_path)


def test_left_and_right_exchanged_is_asked(tmp_path: Path) -> None:
    other = {"left": "right", "right": "left"}
    _, out, _ = plan_of(
        lambda data: [r.update(at=other.get(r["at"], r["at"])) for r in readings(data, "diameter")], tmp_path
    )
    asked = " ".join(out[out.index("Asked back") : out.index("What the gauges showed")].split())
    assert "Were left and right exchanged" in asked


def test_thou_typed_for_mm_is_asked(tmp_path: Path) -> None:
    def slip(data: Data) -> None:
        for reading in readings(data, "rest gap"):
            reading.update({k: reading[k].replace("mm", "thou") for k in ("goes", "does_not_go") if k in reading})

    _, out, _ = plan_of(slip, tmp_path)
    assert "a leaf of 0.15 thou is thinner than leaves are made. Did you mean 0.15 mm?" in " ".join(out.split())


def _limit(quantity: str, **entry: object) -> Change:
    return lambda data: [limit.update(entry) for limit in data["limits"] if limit["quantity"] == quantity]


def _table(name: str, **entries: object) -> Change:
    return lambda data: data[name].update(entries)


def _each(of: str, **entries: object) -> Change:
    return lambda data: [reading.update(entries) for reading in readings(data, of)]


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_limit("cone", at_most="0 mm"), "limits number 6: at most 0 mm of cone; allowed: above 0 mm"),
        (
            lambda data: [
                gauge.update(resolution=0, calibration_uncertainty=0, repeatability=0) for gauge in data["gauges"]
            ],
            "gauge tape 1: resolution, calibration uncertainty and repeatability are all 0",
        ),
    ],
)
def test_what_makes_the_whole_answer_impossible_is_named(tmp_path: Path, change: Change, words: str) -> None:
    status, out, err = plan_of(change, tmp_path)
    assert (status, out) == (REFUSED, "")
    assert words in err


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (_table("grinder", spark_out_passes=100), "spark_out_passes is 100; allowed: 0 to 50"),
        (_table("knife", top_angle="45 deg"), "No answer yet on a bottom blade plan: top_angle"),
        (_each("lip height", value="0 mm"), "No answer yet on a bottom blade plan: lip_height is 0"),
        (
            _table("knife", lever_ratio=100),
            "adjuster: lever_ratio is 100; allowed: above 0 up to 10",
        ),
        (_table("knife", arm="5 mm"), "pivot as entered does not fit the cylinder"),
        (_limit("diameter", at_least="124.3 mm"), "below its least service diameter of 124.300 mm"),
        (_table("wanted", nick_depth="5 mm"), "or replace the cylinder"),
        (_table("reel", relief_angle="5 deg"), "No answer yet on a spin-grind plan"),
        (_each("gap", at="left"), "Read the set gap at both ends"),
        (_table("grinder", marked_speed="20 m/s"), "The wheel as set runs FASTER THAN ITS MARKING: do not run it."),
        (_table("grinder", marked_speed="20 m/s"), "TOO FAST. Do not run"),
        (_table("grinder", work_rest_gap="20 mm"), "wider than 3.2 mm"),
        (_table("grinder", tongue_gap="30 mm"), "TOO WIDE"),
        (_each("land", value="6 mm"), "gone: land as wide as the blade"),
        (_table("knife", pivot_behind="-20 mm", arm="30 mm"), "ahead of centre"),
        (lambda data: data["paper"][0].update(rows=["-----"] * 11), "No paper proof on file"),
        (_limit("lip height", at_least="3.59 mm"), "No answer yet on a bottom blade plan"),
        (_limit("land", at_most="0.0001 mm"), "Due: the land would stand over the workshop's limit."),
    ],
)
def test_one_part_that_cannot_be_answered_leaves_the_rest(tmp_path: Path, change: Change, words: str) -> None:
    status, out, err = plan_of(change, tmp_path)
    assert (status, err) == (DONE, "")
    assert words in " ".join(out.split())
    assert "Coned cylinder: 93 %" in out


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda data: data["work"][1].update(infeeds=[0, 0]), "cannot be learnt from this grind"),
        (lambda data: data["work"][1].update(infeeds=["2 mm"] * 20), "infeeds[0] is 2 mm; allowed: 0 to 1 mm"),
        (lambda data: data["work"][1].pop("infeeds"), "Enter the infeed of each pass as ground"),
        (lambda data: data["work"][1].update(wheel_diameter_after="151 mm"), "the wheel grew"),
    ],
)
def test_as_left_entries_that_teach_nothing_are_said(tmp_path: Path, change: Change, words: str) -> None:
    status, out, _ = plan_of(change, tmp_path, "coned-as-left")
    assert status == DONE
    assert words in " ".join(out.split())


def test_a_reel_that_grew_under_the_wheel_does_not_agree(tmp_path: Path) -> None:
    def grown(data: Data) -> None:
        for reading in readings(data, "diameter"):
            if reading.get("when") == "as left":
                reading["value"] = "124.5 mm"

    _, out, _ = plan_of(grown, tmp_path, "coned-as-left")
    assert "Exchanged?" in out
    assert "do not agree: find out why" in " ".join(out.split())


def test_a_reading_its_gauge_cannot_have_shown_is_named(tmp_path: Path) -> None:
    """A tape over three wide lands cannot show less than the lands alone are long."""
    content = b"""
unit.name = "1"
reel = {blades = 40, diameter = "127 mm", length = "533 mm", land = "9 mm", blade_thickness = "10 mm"}
limits = [{quantity = "diameter", at_least = "120 mm", origin = "house"}]
gauges = [{id = "t", kind = "tape"}]
[[readings]]
of = "diameter"
gauge = "t"
at = "left"
value = "100 mm"
"""
    status, out, err = planned(content, tmp_path)
    assert (status, out) == (REFUSED, "")
    assert err.startswith("readings[0], diameter at left end: land is 9 mm")
    assert "allowed" in err


FRAME_OUT = data_of("frame-out")
_NUMBER = re.compile(r"(-?\d+(?:\.\d+)?)(.*)")


def _numbers(data: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    if isinstance(data, dict | list):
        items = data.items() if isinstance(data, dict) else enumerate(data)
        return [found for key, value in items for found in _numbers(value, (*path, key))]
    return [path] if _NUMBER.fullmatch(str(data)) and path[0] not in ("visit", "sparkout", "unit") else []


PLACES = _numbers(FRAME_OUT)
FACTORS = (0.0, -1.0, 0.01, 0.1, 0.5, 0.9, 1.1, 2.0, 10.0, 100.0)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(st.sampled_from(PLACES), st.sampled_from(FACTORS)), min_size=1, max_size=3))
def test_any_numbers_changed_anywhere_are_refused_in_words_or_answered(
    changes: list[tuple[tuple[str | int, ...], float]],
) -> None:
    """Slips of the pen in a real file: no exception but a refusal, and nothing but numbers where numbers stand."""
    data = copy.deepcopy(FRAME_OUT)
    for path, factor in changes:
        held = data
        for step in path[:-1]:
            held = held[step]  # type: ignore[index]
        number, unit = _NUMBER.fullmatch(str(held[path[-1]])).groups()  # type: ignore[index, union-attr]
        changed = float(number) * factor
        held[path[-1]] = f"{changed:.6g}{unit}" if isinstance(held[path[-1]], str) else changed  # type: ignore[index]
    try:
        answer = reckon(read_visit(json.dumps(data, default=str)))
    except Refusal:
        return
    json.dumps(as_data(answer), allow_nan=False)
    for section in tell(answer, Showing()):
        assert section.title
    assert all("nan" not in svg for svg in pictures(answer, Showing()).values())
    assert card_data(answer, Showing(), "A4")["bench"]["steps"]
