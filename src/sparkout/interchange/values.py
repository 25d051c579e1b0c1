"""One cell as what a field takes: quantities with their unit, days in a told order, words in several languages."""

from __future__ import annotations

import datetime
import re
import unicodedata

from sparkout.core.errors import Refusal
from sparkout.core.phrase import AsTyped, phrase
from sparkout.interchange.source import Cell
from sparkout.units import GERMAN, UnitProblem, split

_MONTHS = {
    name: number
    for number, names in enumerate(
        (
            "jan",
            "feb",
            "mar mrz maer mär",
            "apr avr",
            "may mai",
            "jun",
            "jul",
            "aug",
            "sep",
            "oct okt",
            "nov",
            "dec dez",
        ),
        1,
    )
    for name in names.split()
}
ORDERS = {"ymd": ("y", "m", "d"), "dmy": ("d", "m", "y"), "mdy": ("m", "d", "y")}
_ORDER_WORDS = {
    "ymd": phrase("year, month, day"), "dmy": phrase("day, month, year"), "mdy": phrase("month, day, year"),
}  # fmt: skip
_NUMBERS = re.compile(r"(\d{1,4})\s*[-./ ]\s*(\d{1,2})\s*[-./ ]\s*(\d{1,4})")
_AND_TIME = re.compile(r"[T ]\d{1,2}:\d{2}(:\d{2}(\.\d+)?)?( ?[AaPp][Mm])?Z?$")
_NUMBER = re.compile(r"([+\-−]?)\s*(\d[\d.,'’\u00a0\u202f]*|[.,]\d+)(.*)$", re.DOTALL)
_GROUPED = {".": re.compile(r"\d{1,3}(,\d{3})+(\.\d+)?"), ",": re.compile(r"\d{1,3}(\.\d{3})+(,\d+)?")}


class Unreadable(Refusal):
    """A cell that is not what its column is said to hold."""


def told_by(refusal: Refusal) -> str:
    """Return a refusal's text as it was made, so that it can still be told in another language."""
    return refusal.args[0] if refusal.args else str(refusal)


def plain(text: str) -> str:
    """Return text for comparing: small letters, accents and marks off, words one blank apart.

    Examples
    --------
    >>> plain("  Schnitt-Höhe (mm)")
    'schnitt hoehe mm'
    """
    told = text.lower().translate({0xE4: "ae", 0xF6: "oe", 0xFC: "ue", 0xDF: "ss", 0xB5: "u", 0x3BC: "u"})
    bare = "".join(c for c in unicodedata.normalize("NFKD", told) if not unicodedata.combining(c))
    return " ".join(re.sub(r"[^\w%°]+", " ", bare.replace("_", " ")).split())


def as_text(cell: Cell) -> str:  # noqa: PLR0911 - one a kind of cell
    """Return a cell as somebody would have typed it.

    Examples
    --------
    >>> as_text(3.0), as_text(127.4), as_text(datetime.date(2025, 4, 3))
    ('3', '127.4', '2025-04-03')
    """
    match cell:
        case None:
            return ""
        case bool():
            return "yes" if cell else "no"
        case float() if cell.is_integer() and abs(cell) < 1e15:
            return str(int(cell))
        case float():
            return repr(cell)
        case datetime.datetime():
            return cell.isoformat(" ")
        case datetime.date() | datetime.time():
            return cell.isoformat()
        case datetime.timedelta():
            return f"{cell.total_seconds() / 3600:.10g} h"
        case _:
            return str(cell).strip()


def pointed(text: str, decimal: str) -> str:
    """Return a number as typed, decimal point a point and no thousands marks, when the decimal mark is told.

    Raises
    ------
    Unreadable
        When the other mark stands where it cannot be a thousands mark.

    Examples
    --------
    >>> pointed("127,4 mm", ","), pointed("1.234,5", ","), pointed("1,234.5", ".")
    ('127.4 mm', '1234.5', '1234.5')
    >>> pointed("12.5", ",")
    Traceback (most recent call last):
    ...
    sparkout.interchange.values.Unreadable: '12.5' has a '.', but in this table ',' marks decimals
    """
    match = _NUMBER.match(text.strip())
    if match is None or not decimal:
        return text
    digits = re.sub(r"['’\u00a0\u202f]", "", match[2])
    other = "," if decimal == "." else "."
    if other in digits:
        if not _GROUPED[decimal].fullmatch(digits):
            raise Unreadable(
                phrase("'{text}' has a '{other}', but in this table '{mark}' marks decimals",
                       text=AsTyped(text), other=AsTyped(other), mark=AsTyped(decimal))
            )  # fmt: skip
        digits = digits.replace(other, "")
    return f"{match[1]}{digits.replace(',', '.')}{match[3]}"


def quantity(cell: Cell, unit: str, decimal: str) -> str | int | float:
    """Return a quantity as it will be kept: as typed, with the column's unit when the cell has none.

    Raises
    ------
    Unreadable
        When it is neither a number nor a text.

    Examples
    --------
    >>> quantity(127.4, "mm", ""), quantity("5,04 in", "mm", ","), quantity("127.4", "", "")
    ('127.4 mm', '5.04 in', '127.4')
    """
    if isinstance(cell, bool | datetime.date | datetime.time):
        raise Unreadable(phrase("'{text}' is no quantity", text=AsTyped(as_text(cell))))
    if isinstance(cell, datetime.timedelta):
        return as_text(cell)
    if isinstance(cell, int | float):
        return f"{as_text(cell)} {unit}" if unit else cell
    text = pointed(as_text(cell), decimal)
    try:
        _, typed = split(text)
    except UnitProblem:
        return text  # the field itself says what is wrong with it
    if typed.lower() in GERMAN:
        return f"{text.removesuffix(typed).rstrip()} {GERMAN[typed.lower()]}"
    return f"{text} {unit}" if unit and not typed else text


def day_orders(text: str) -> set[str]:
    """Return in which orders a day could be written: none when it is no day, several when it could be two days.

    Examples
    --------
    >>> sorted(day_orders("03/04/2025")), day_orders("13/04/2025"), day_orders("2025-04-03"), day_orders("x")
    (['dmy', 'mdy'], {'dmy'}, {'ymd'}, set())
    """
    return {order for order in ORDERS if _in_order(_without_time(text), order) is not None}


def day(cell: Cell, order: str) -> datetime.date:
    """Return a day; one that can be read in two ways is only read in the order told.

    Raises
    ------
    Unreadable
        When it is none, or none in that order.

    Examples
    --------
    >>> day("3. April 2025", ""), day("03/04/25", "dmy"), day("Apr 3, 2025", "")
    (datetime.date(2025, 4, 3), datetime.date(2025, 4, 3), datetime.date(2025, 4, 3))
    >>> day("03/04/2025", "")
    Traceback (most recent call last):
    ...
    sparkout.interchange.values.Unreadable: '03/04/2025' can be 2025-03-04 or 2025-04-03; say which order days have
    >>> day("31.02.2025", "dmy")
    Traceback (most recent call last):
    ...
    sparkout.interchange.values.Unreadable: '31.02.2025' is no day; allowed: as 25.11.2026
    """
    if isinstance(cell, datetime.datetime):
        return cell.date()
    if isinstance(cell, datetime.date):
        return cell
    text = _without_time(as_text(cell))
    if isinstance(cell, int | float) or re.fullmatch(r"\d+(\.\d+)?", text):
        raise Unreadable(
            phrase("'{text}' is a bare number, no day; give the column the form of a date", text=AsTyped(text))
        )
    named = _named(text)
    if named is not None:
        return named
    fits = {o: d for o in ORDERS if (d := _in_order(text, o)) is not None}
    if order and order in fits:
        return fits[order]
    if "ymd" in fits and re.match(r"\d{4}", text):
        return fits["ymd"]
    days = sorted(set(fits.values()))
    if order and days:
        told = _ORDER_WORDS[order]
        raise Unreadable(phrase("'{text}' is no day in the order {order}", text=AsTyped(text), order=told))
    if len(days) == 1:
        return days[0]
    if not days:
        example = AsTyped(_example(text, order))
        raise Unreadable(phrase("'{text}' is no day; allowed: as {example}", text=AsTyped(text), example=example))
    raise Unreadable(
        phrase(
            "'{text}' can be {days}; say which order days have",
            text=AsTyped(text),
            days=AsTyped(" or ".join(map(str, days))),
        )
    )


def _example(text: str, order: str) -> str:
    """Return a day as this column writes its days: in its order, with the mark that stands in this text."""
    mark = next((mark for mark in text if mark in "./-"), "-")
    parts = {"y": "2026", "m": "11", "d": "25"}
    return mark.join(parts[part] for part in order or "ymd")


def _without_time(text: str) -> str:
    return _AND_TIME.sub("", text.strip()).strip(" ,")


def _in_order(text: str, order: str) -> datetime.date | None:
    match = _NUMBERS.fullmatch(text)
    if match is None:
        return None
    parts = dict(zip(ORDERS[order], match.groups(), strict=True))
    if len(parts["y"]) not in (2, 4) or max(len(parts["m"]), len(parts["d"])) > 2:
        return None
    if order == "ymd" and len(parts["y"]) == 2:
        return None  # nobody writes 25-04-03 without saying so
    year = int(parts["y"]) + (2000 if len(parts["y"]) == 2 else 0)
    try:
        return datetime.date(year, int(parts["m"]), int(parts["d"]))
    except ValueError:
        return None


def _named(text: str) -> datetime.date | None:
    words = re.findall(r"[^\W\d_]+|\d+", text)
    months = [_MONTHS[w[:3].lower()] for w in words if not w.isdigit() and w[:3].lower() in _MONTHS]
    numbers = [w for w in words if w.isdigit()]
    if len(months) != 1 or len(numbers) != 2:
        return None
    years = [n for n in numbers if len(n) == 4] or numbers[1:]
    rest = [n for n in numbers if n is not years[0]]
    year = int(years[0]) + (2000 if len(years[0]) == 2 else 0)
    try:
        return datetime.date(year, months[0], int(rest[0]))
    except ValueError:
        return None


def clock(cell: Cell) -> str:
    """Return a time of day as 09:40.

    Examples
    --------
    >>> clock("9:40"), clock(datetime.time(9, 40))
    ('09:40', '09:40')
    """
    if isinstance(cell, datetime.datetime):
        cell = cell.time()
    text = cell.isoformat() if isinstance(cell, datetime.time) else as_text(cell)
    told = f"0{text}" if re.match(r"\d:", text) else text
    return told[:5] if told.endswith(":00") and len(told) == 8 else told
