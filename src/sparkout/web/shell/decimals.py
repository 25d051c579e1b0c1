"""A number as somebody types and reads it whose decimal mark is a comma."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from sparkout.core.phrase import AsTyped, phrase
from sparkout.records.checked import refuse

if TYPE_CHECKING:
    from collections.abc import Callable

_GROUPS = re.compile(r"\s*(\d{1,3}(?:\.\d{3})+)(,\d+)")
_THREE = re.compile(r"\s*[1-9]\d{0,2},\d{3}(?!\d)")
_LEADING = re.compile(r"^([-−]?\d+)\.(\d+)\b")
_EITHER = re.compile(r"\s*([1-9]\d{0,2})\.(\d{3})(?![\d.,])")


def marked(name: str, text: str, decimal: str, fits: Callable[[str], bool]) -> str:
    """Return a quantity typed in box `name` so that it reads the same to everybody.

    Who writes 1,5 means 5,040 as a decimal, for whoever writes 1.5 that could be thousands: it gets a fourth figure.
    1.240 is a thousand, unless one `fits` not what is asked.

    Raises
    ------
    VisitProblems
        When a point may mark thousands or decimals.

    Examples
    --------
    >>> [marked("x", text, ",", lambda text: False) for text in ("5,040 in", "1.240,5 h", "124.586 mm")]
    ['5,0400 in', '1240,5 h', '124.586 mm']
    >>> marked("hours", "1.240", ",", lambda text: True)
    Traceback (most recent call last):
    ...
    sparkout.visit.problems.VisitProblems: hours: '1.240' can be read as 1240 or as 1,240; write one of these.
    """
    if decimal != ",":
        return text
    if grouped := _GROUPS.match(text):
        return grouped[1].replace(".", "") + text[grouped.start(2) :]
    if three := _THREE.match(text):
        return f"{three[0]}0{text[three.end() :]}"
    either = _EITHER.match(text)
    if either is None or not fits(f"{either[1]}{either[2]}{text[either.end() :]}"):
        return text
    whole, decimals = AsTyped(either[1] + either[2]), AsTyped(f"{either[1]},{either[2]}")
    told = phrase(
        "'{text}' can be read as {whole} or as {decimals}; write one of these",
        text=AsTyped(text), whole=whole, decimals=decimals,
    )  # fmt: skip
    raise refuse(name, told, value=text)


def with_comma(text: str) -> str:
    """Return a quantity on file as it is typed with a comma, as `marked` takes it back: three figures get a fourth.

    Examples
    --------
    >>> with_comma("5.04 in"), with_comma("5.040 in"), with_comma("127 mm")
    ('5,04 in', '5,0400 in', '127 mm')
    """
    return _LEADING.sub(lambda found: f"{found[1]},{found[2]}{'0' if len(found[2]) == 3 else ''}", text)
