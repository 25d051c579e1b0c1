"""Hostile visit files: whatever comes, the answer is a Visit or the problems with it, never another exception."""

from __future__ import annotations

import json
import os
import random
import time
import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.visit.examples import FULL, SMALL

from sparkout.visit.problems import VisitProblems
from sparkout.visit.reading import LARGEST, read_visit, read_visit_file
from sparkout.visit.schema import Visit
from sparkout.visit.writing import to_json


def refused(source: object) -> str:
    with pytest.raises(VisitProblems) as caught:
        read_visit(source)
    for problem in caught.value.problems:
        assert str(problem).encode("utf-8"), "a message can always be written out"
        assert problem.text.isprintable(), "nothing in a message can move a terminal's cursor"
    return str(caught.value)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty"),
        (b" \n\t\n", "the file is empty"),
        (b"\xef\xbb\xbf", "the file is empty"),
        (bytes(range(256)) * 4, "not a text file"),
        (b"PK\x03\x04\x00\x00", "not a text file"),
        (random.Random(1).randbytes(5000), "not a text file"),
        (FULL.encode("utf-16"), "saved as UTF-16. Save it as UTF-8"),
        (FULL.encode("utf-16-be", "strict")[:400], "not a text file"),
        (b'[unit]\nname = "\xb5"', "line 2: byte 0xB5 is not UTF-8"),
        (FULL.encode("latin-1"), "byte 0xB0 is not UTF-8"),
        ("[unit]\nname = '\ud800'", "lone surrogate"),
        ('{"unit": {"name": "\\ud800"}}', "lone surrogate"),
        ('{"\\udc00": 1}', "lone surrogate"),
        (b"name = \x1b[2J", "line 1: not readable as TOML"),
        (FULL.replace("\n", "\r"), "not readable as TOML"),
        (
            FULL[: FULL.index("[sign_off]") + 5],
            f"line {FULL[: FULL.index('[sign_off]')].count(chr(10)) + 1}: not readable as TOML",
        ),
        (FULL[: FULL.index('"0.05 mm", "-"') + 4], "not readable as TOML"),
        ("[reel]\nblades = [1,\n", "cut short"),
        ('{"unit": {"name": "3"}', "cut short"),
        ('{"unit": nonsense}', "line 1: not readable as JSON"),
        ("[reel]\nblades = 11\nblades = 12", "line 3: not readable as TOML: cannot overwrite a value. The same entry"),
        ("[reel]\nblades = 11\n[reel]", "twice"),
        ('{"unit": {"name": "3", "name": "4"}}', "the key 'name' stands in one table twice"),
        ("[reel]\ndiameter = 5 in", "line 2: not readable as TOML"),
        ("[reel]\ndiameter = 2 thou", "not readable as TOML"),
        ("[reel]\ndiameter = thou", "stand in quotes"),
        ("just a line of prose", "not readable as TOML"),
        ("a = " + "[" * 100_000, "nested too deeply"),
        ('{"a": ' + "[" * 200_000, "nested too deeply"),
        ("a = " + "[" * 300 + "]" * 300, "there is no 'a'"),
        ("a" + ".a" * 10_000 + " = 1", "a key of more than 16 parts"),
        ("[" + "'a' . " * 10_000 + "a]", "a key of more than 16 parts"),
        ("a = " + "9" * 10_000, "cannot be read"),
        ('{"a": ' + "9" * 10_000 + "}", "cannot be read"),
        ('{"sparkout": 1e999}', "not a whole number"),
        ("[]", "not readable as TOML"),
        ("unit = 3\nreel = 4", "stands where a table is wanted"),
        ("\x1b[2J = 1", "not readable as TOML"),
        ('"\\u001b[2J" = 1', r"there is no '\x1b[2J'"),
        ('"' + "k" * 10_000 + '" = 1', "there is no 'kkkk"),
        (SMALL + "x" * LARGEST, "larger than a visit can be; allowed: up to 1 MB"),
        (b"#" * 50_000_000, "larger than a visit can be"),
    ],
    ids=lambda value: repr(value[:24]) if isinstance(value, str | bytes) else "",
)
def test_a_file_that_is_no_visit_is_refused_in_words(content, words) -> None:
    assert words in refused(content)


def test_a_byte_order_mark_and_windows_line_ends_do_not_matter() -> None:
    plain = read_visit(FULL)
    assert read_visit(FULL.encode("utf-8-sig")) == plain
    assert read_visit(FULL.replace("\n", "\r\n").encode()) == plain
    assert read_visit("\ufeff" + FULL) == plain


def test_files_that_cannot_be_opened(tmp_path) -> None:
    assert "there is no file" in refused(tmp_path / "absent.toml")
    assert "is a folder" in refused(tmp_path)
    assert "cannot be read" in refused(tmp_path / ("n" * 5000))
    assert "cannot be read" in refused(tmp_path / "a\0b")
    file = tmp_path / "plain.toml"
    file.write_text(SMALL)
    assert "cannot be read" in refused(file / "below")


def test_a_device_is_no_file(tmp_path) -> None:
    if not hasattr(os, "mkfifo"):
        pytest.skip("no pipes here")
    os.mkfifo(tmp_path / "pipe.toml")
    assert "not an ordinary file" in refused(tmp_path / "pipe.toml")


def test_a_file_without_permission(tmp_path, monkeypatch) -> None:
    file = tmp_path / "locked.toml"
    file.write_text(SMALL)
    file.chmod(0)
    if os.access(file, os.R_OK):  # the superuser may read everything: let the system call refuse
        monkeypatch.setattr(type(file), "open", _no_permission)
    assert "may not be read by this user" in refused(file)


def _no_permission(*_: object, **__: object) -> None:
    raise PermissionError(13, "Permission denied")


def test_a_file_is_read_by_path_and_json_by_its_name(tmp_path) -> None:
    toml, jsn = tmp_path / "a b.toml", tmp_path / "visit.JSON"
    toml.write_text(FULL, encoding="utf-8")
    jsn.write_text(to_json(read_visit(FULL)), encoding="utf-8")
    assert read_visit(toml) == read_visit(jsn)
    jsn.write_text("[1]", encoding="utf-8")
    assert "the file must hold one table" in refused(jsn)


def test_fifty_megabytes_are_refused_before_they_are_read(tmp_path) -> None:
    file = tmp_path / "large.toml"
    with file.open("wb") as handle:
        handle.truncate(50_000_000)
    started = time.perf_counter()
    assert "larger than a visit can be" in refused(file)
    assert time.perf_counter() - started < 1.0


@pytest.mark.parametrize(
    "line",
    ["[[readings]]\nof = 'land'\n", "a = 1\n", "a.b.c.d = [[[1]]]\n", '"', "'", "x", "a.", "[a.b]\n", "# \n", "'a'."],
)
def test_the_largest_file_allowed_is_answered_in_seconds(line) -> None:
    text = line * (LARGEST // len(line))
    started = time.perf_counter()
    refused(text)
    assert time.perf_counter() - started < 20.0


def _many(line: str, size: int) -> str:
    return SMALL + "".join(line.format(i) for i in range(size))


READ = "[[readings]]\nof = 'run-out'\nat = 'left'\nblade = 1\nset_up = 's{0}'\nvalue = {0}e-5\n"
UNKNOWN = "[[gauges]]\nid = 'g{0}'\nkind = 'tape'\n[[readings]]\nof = 'land'\ngauge = 'h{0}'\nvalue = 1\n"


@pytest.mark.parametrize(
    "text",
    ["\n".join(f"k{i} = 1" for i in range(50_000)), _many(UNKNOWN, 6_000), _many(READ, 6_000)],
    ids=["keys", "gauges", "readings"],
)
def test_a_flood_of_entries_is_answered_in_seconds(text) -> None:
    started = time.perf_counter()
    answered(text)
    assert time.perf_counter() - started < 20.0


@given(st.integers(0, len(FULL)))
@settings(deadline=None, max_examples=100)
def test_a_file_cut_anywhere(length) -> None:
    answered(FULL[:length])


@given(st.integers(0, len(FULL) - 1), st.binary(max_size=4))
@settings(deadline=None, max_examples=150)
def test_a_file_damaged_anywhere(place, junk) -> None:
    content = FULL.encode()
    answered(content[:place] + junk + content[place + 1 :])


def answered(source: str | bytes) -> None:
    """Either a visit, whose questions can be put, or problems whose text can be written."""
    try:
        file = read_visit_file(source)
    except VisitProblems as refusal:
        problems = refusal
    else:
        assert isinstance(file.visit, Visit)
        for question in file.questions():
            assert str(question).encode("utf-8")
        return
    assert problems.problems
    assert str(problems).encode("utf-8")
    assert all(problem.text.isprintable() for problem in problems.problems), problems.problems


WORDS = ["2 thou", "left", "-", "nan", "1e999", "1/0 in", "٣ mm", "as left", "\x1b[0m", "½ in", "diameter"]
LEAF = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20) | st.sampled_from([*WORDS, 10**400])
)
KEY = st.text(max_size=8) | st.sampled_from(["of", "at", "id"])
ANY = st.recursive(
    LEAF, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEY, inner, max_size=3), max_leaves=6
)
DATA = json.loads(to_json(read_visit(FULL)))


def _paths(data: object, path: tuple[str | int, ...] = ()) -> list[tuple[str | int, ...]]:
    below = data.items() if isinstance(data, dict) else enumerate(data) if isinstance(data, list) else ()
    return [path, *(p for key, value in below for p in _paths(value, (*path, key)))]


PATHS = _paths(DATA)[1:]


@given(st.lists(st.tuples(st.sampled_from(PATHS), ANY), min_size=1, max_size=3))
@settings(deadline=None, max_examples=200)
def test_any_json_value_anywhere_gives_a_visit_or_its_problems(changes) -> None:
    data = json.loads(json.dumps(DATA))
    for path, value in changes:
        _put(data, path, value)
    answered(json.dumps(data))


def _put(data: object, path: tuple[str | int, ...], value: object) -> None:
    for step in path[:-1]:
        try:
            data = data[step]
        except (KeyError, IndexError, TypeError):
            return
    if isinstance(data, dict) or (isinstance(data, list) and isinstance(path[-1], int) and path[-1] < len(data)):
        data[path[-1]] = value


@given(ANY)
@settings(deadline=None, max_examples=100)
def test_any_json_at_all(value) -> None:
    answered(json.dumps({"unit": value, "reel": value, "readings": value, "sparkout": 1}))
    answered(json.dumps(value))


@given(st.text() | st.binary())
@settings(deadline=None, max_examples=100)
def test_any_text_or_bytes_at_all(content) -> None:
    answered(content)


def test_the_reader_for_the_fuzz_is_the_one_for_files() -> None:
    assert tomllib.loads(FULL)["reel"]["blades"] == DATA["reel"]["blades"] == 3
