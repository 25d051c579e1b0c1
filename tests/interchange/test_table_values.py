# ruff: noqa: E501 - tables of cases
"""One cell as what its field takes."""

from __future__ import annotations

import datetime
from typing import Any

import pytest

from sparkout.core.errors import Refusal
from sparkout.interchange.drafts import taken
from sparkout.interchange.headings import spread_of, told
from sparkout.interchange.targets import KINDS
from sparkout.interchange.values import as_text, clock, day, day_orders, pointed, quantity

REEL, READING, EVENT = KINDS["reel type"].by_key, KINDS["reading"].by_key, KINDS["event"].by_key
DAY = datetime.date(2025, 4, 3)


@pytest.mark.parametrize(
    ("text", "order"),
    [
        ("2025-04-03", ""), ("2025/4/3", ""), ("2025-04-03 08:15:00", ""), ("2025-04-03T08:15:00Z", ""),
        ("3 Apr 2025", ""), ("3. April 2025", ""), ("April 3, 2025", ""), ("3-Apr-25", ""), ("03 avr 2025", ""),
        ("03/04/2025", "dmy"), ("3.4.25", "dmy"), ("04/03/2025", "mdy"), ("4-3-2025 7:00 PM", "mdy"),
        (DAY, ""), (datetime.datetime(2025, 4, 3, 9), ""),
    ],
)  # fmt: skip
def test_days(text: Any, order: str) -> None:
    assert day(text, order) == DAY


def test_a_day_that_reads_in_one_way_needs_no_order() -> None:
    assert day("28/04/2025", "") == datetime.date(2025, 4, 28)
    assert day("04/04/2025", "") == datetime.date(2025, 4, 4)


@pytest.mark.parametrize(
    ("text", "order", "why"),
    [
        ("03/04/2025", "", "can be 2025-03-04 or 2025-04-03"),
        ("13/25/2025", "dmy", "is no day"),
        ("28/04/2025", "mdy", "is no day in the order month, day, year"),
        ("31/02/2025", "dmy", "is no day"),
        (45_750, "", "bare number"), ("45750", "", "bare number"), ("soon", "", "allowed: as 2026-11-25"),
        ("30 Feb 2025", "", "is no day"),
    ],
)  # fmt: skip
def test_what_is_no_day_or_two(text: Any, order: str, why: str) -> None:
    with pytest.raises(Refusal, match=why):
        day(text, order)


def test_orders_a_text_could_have() -> None:
    assert day_orders("25/04/03") == {"dmy"}
    assert day_orders("5/4/2025") == {"dmy", "mdy"}
    assert day_orders("127.4") == set()


@pytest.mark.parametrize(
    ("text", "mark", "plain"),
    [
        ("127,4", ",", "127.4"), ("127,4 mm", ",", "127.4 mm"), ("1.234.567,5", ",", "1234567.5"),
        ("1'234.5", ".", "1234.5"), ("1\u202f234,5", ",", "1234.5"), ("-0,05", ",", "-0.05"), ("5 1/2 in", ",", "5 1/2 in"),
        ("1,234", ".", "1234"), ("1,234", ",", "1.234"), (",5", ",", ".5"), ("127,4", "", "127,4"), ("n/a", ",", "n/a"),
    ],
)  # fmt: skip
def test_decimal_marks(text: str, mark: str, plain: str) -> None:
    assert pointed(text, mark) == plain


def test_the_other_mark_in_the_wrong_place_is_no_thousands_mark() -> None:
    for text, mark in (("12.5", ","), ("1,23", "."), ("1,2345.6", ".")):
        with pytest.raises(Refusal, match="marks decimals"):
            pointed(text, mark)


def test_a_thousand_or_one_and_a_bit_is_asked_back() -> None:
    with pytest.raises(Refusal, match=r"can be read as '1200' or as '1\.200'"):
        taken(REEL["length"], "1,200")


def test_units_in_cells_go_before_the_columns() -> None:
    assert quantity("5.04 in", "mm", "") == "5.04 in"
    assert quantity("5 Zoll", "", "") == "5 in"
    assert quantity(127, "", "") == 127
    assert quantity("1/2", "in", "") == "1/2 in"
    assert quantity(datetime.timedelta(hours=2), "h", "") == "2 h"
    for cell in (True, DAY):
        with pytest.raises(Refusal, match="is no quantity"):
            quantity(cell, "mm", "")


def test_fields_read_as_they_are_declared() -> None:
    assert taken(REEL["diameter"], 5, "in") == "5 in"
    assert taken(REEL["blades"], "11") == 11
    assert taken(READING["at"], "L") == "left"
    assert taken(READING["at"], "Mitte") == "centre"
    assert taken(READING["at"], 120, "mm") == "120 mm"
    assert taken(READING["when"], "Vorher") == "as found"
    assert taken(READING["of"], "Cylinder dia.") == "diameter"
    assert taken(READING["time"], "9:40") == "09:40:00"
    assert taken(EVENT["kind"], "Top-dressing") == "sand"
    assert taken(KINDS["unit"].by_key["active"], "ja") is True
    assert taken(KINDS["gauge"].by_key["kind"], "Messuhr") == "dial"
    assert taken(KINDS["fitting"].by_key["part"], "bottom blade") == "knife"


@pytest.mark.parametrize(
    ("field", "cell", "why"),
    [
        (REEL["diameter"], "5", "counted in mm is too small; allowed: 40 to 600 mm. Did you mean 5 in"),
        (REEL["blades"], 50, "allowed: 2 to 40"), (REEL["blades"], "eleven", "not a whole number"),
        (EVENT["kind"], "flood", "'sand', 'stone', 'other'"), (KINDS["unit"].by_key["active"], "maybe", "neither yes nor no"),
        (READING["at"], "somewhere", "no place along the reel"), (READING["technician"], "x" * 101, "up to 100 characters"),
        (READING["technician"], "a\x07b", "control character"),
    ],
)  # fmt: skip
def test_refusals_say_value_range_and_unit(field: Any, cell: Any, why: str) -> None:
    with pytest.raises(Refusal) as caught:
        taken(field, cell)
    assert why in str(caught.value)


@pytest.mark.parametrize(
    ("heading", "words", "unit"),
    [
        ("Cylinder Diameter (inches)", "reel diameter", "in"), ("Bottom-blade lip height, mm", "knife lip height", "mm"),
        ("Bedknife lip height [mm]", "knife lip height", "mm"), ("Schnitthöhe in mm", "height of cut", "mm"),
        ("Hours (h)", "hours", "h"), ("Dia left", "diameter left", ""), ("Reel speed rpm", "reel speed", "1/min"),
        ("Dia (thou)", "diameter", "thou"), ("Col (C)", "col c", ""),
    ],
)  # fmt: skip
def test_headings(heading: str, words: str, unit: str) -> None:
    assert told(heading) == (words, unit)


@pytest.mark.parametrize(
    ("heading", "known", "of"),
    [
        ("Diameter R (mm)", False, {"of": "diameter", "at": "right"}), ("Rest gap right", False, {"of": "rest gap", "at": "right"}),
        ("Run-out blade 3 left", False, {"of": "run-out", "blade": "3", "at": "left"}), ("Durchmesser rechts nachher", False, {"of": "diameter", "at": "right", "when": "as left"}),
        ("Left", True, {"at": "left"}), ("Left", False, None), ("HOC left", False, {"of": "height of cut", "at": "left"}),
        ("Left-hand comment", True, None),
    ],
)  # fmt: skip
def test_columns_of_many(heading: str, known: bool, of: Any) -> None:
    assert spread_of(heading, known) == of


def test_small_things() -> None:
    assert [as_text(x) for x in (None, True, 2.50, 1e20, datetime.time(9, 5), DAY)] == [
        "",
        "yes",
        "2.5",
        "1e+20",
        "09:05:00",
        "2025-04-03",
    ]
    assert clock("09:40:00") == "09:40"
    assert clock(datetime.datetime(2025, 1, 1, 9, 40)) == "09:40"
