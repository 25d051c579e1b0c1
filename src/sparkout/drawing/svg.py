"""The element writer: the only place that turns coordinates into SVG text.

Coordinates carry at most two decimals, never an exponent, never a minus zero, so that the same picture
is always the same bytes. Presentation stands in attributes, because a PDF renderer reads neither style
sheets nor CSS variables.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import TYPE_CHECKING

from sparkout.core.errors import OutOfRange

if TYPE_CHECKING:
    from collections.abc import Iterable

Point = tuple[float, float]
Attribute = str | float | None

_UNPRINTABLE = re.compile("[^\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_PREFIX = re.compile(r"[A-Za-z][A-Za-z0-9_-]*\Z")


@lru_cache(16384)
def number(value: float) -> str:
    """Return a coordinate as text: at most two decimals, no exponent, no minus zero.

    Raises
    ------
    OutOfRange
        When the value is not finite.

    Examples
    --------
    >>> number(12.0), number(-0.001), number(1 / 3)
    ('12', '0', '0.33')
    """
    if not math.isfinite(value):
        raise OutOfRange("coordinate", float(value), "a finite number")
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


@lru_cache(4096)
def escape(text: str) -> str:
    """Return text that is safe inside an element or a quoted attribute; control characters become blanks.

    Examples
    --------
    >>> escape('a < "b" & c')
    'a &lt; &quot;b&quot; &amp; c'
    """
    clean = _UNPRINTABLE.sub(" ", text).replace("\u00a0", " ")
    return clean.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;").replace('"', "&quot;")


def element(name: str, attributes: dict[str, Attribute], inside: str = "") -> str:
    """Return one element; attributes that are None are left out, underscores in names become hyphens.

    Examples
    --------
    >>> element("line", {"x1": 0.0, "stroke_width": 1.5, "fill": None})
    '<line x1="0" stroke-width="1.5"/>'
    """
    written = f"<{name}"
    for key, value in attributes.items():
        if value is not None:
            written += f' {_hyphened(key)}="{escape(value) if isinstance(value, str) else number(value)}"'
    return f"{written}>{inside}</{name}>" if inside else f"{written}/>"


@lru_cache(256)
def _hyphened(key: str) -> str:
    return key.replace("_", "-")


def path_through(points: Iterable[Point], *, closed: bool = False) -> str:
    """Return path data joining the points with straight lines.

    Examples
    --------
    >>> path_through([(0, 0), (10, 2.5)], closed=True)
    'M0 0L10 2.5Z'
    """
    joined = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return f"M{joined}{'Z' if closed else ''}"


def checked_prefix(prefix: str) -> str:
    """Return the prefix of a picture's ids when it can be one.

    Raises
    ------
    OutOfRange
        When it does not begin with a letter or holds anything but letters, digits, hyphen and underscore.

    Examples
    --------
    >>> checked_prefix("unit-7")
    'unit-7'
    """
    if not _PREFIX.match(prefix):
        raise OutOfRange("prefix", prefix, "a letter, then letters, digits, hyphens or underscores")
    return prefix
